"""Put a boundary on a plane true to the ground, and bring results back.

The plane is a transverse Mercator centered on the field with scale 1 there, on the WGS 84
ellipsoid: x east, y true north at the center, in meters. Only this module projects.
"""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import pyproj
import shapely
from pyproj import network
from pyproj.exceptions import ProjError

from striplay.crs import into_degrees, read_crs
from striplay.errors import BoundaryError
from striplay.geometry import overlay
from striplay.geometry.slivers import real_parts
from striplay.kept import Kept
from striplay.limits import MAX_FIELD_EXTENT_M, MIN_FIELD_AREA_M2
from striplay.mend import area_written, mend, written
from striplay.notices import Notice
from striplay.outline import far_off, of_parts
from striplay.tolerances import ROUND_TRIP_M, SLIVER_M2
from striplay.units import UnitSystem

Floats = npt.NDArray[np.float64]
SPOT_DECIMALS = 5
"""Places of degrees where a place is told: about a meter."""


@dataclass(frozen=True)
class Shapes:
    """Shapes as a file, or a table, holds them.

    Attributes:
        source: name of the file, or what else messages call it.
        polygons: polygons, any ring perhaps crossing itself; of obstacles and lines to follow or
            cut by, also points and lines.
        labels: where each stands in the file, such as "feature 3".
        crs: their coordinate reference system, in any form pyproj reads.
        notices: what was noted on reading.
        chosen: whether a condition chose them among the file's.
        names: what the file calls those that it names, by label.
    """

    source: str
    polygons: tuple[shapely.Geometry, ...]
    labels: tuple[str, ...]
    crs: str
    notices: tuple[Notice, ...] = ()
    chosen: bool = False
    names: Mapping[str, str] = field(default_factory=dict)


GEOD = pyproj.Geod(ellps="WGS84")
"""Geodesics on the WGS 84 ellipsoid."""


@dataclass(frozen=True)
class Plane:
    """The local plane of a field.

    Attributes:
        longitude_deg: of its center, WGS 84.
        latitude_deg: of its center, WGS 84.
    """

    longitude_deg: float
    latitude_deg: float

    @cached_property
    def crs(self) -> pyproj.CRS:
        """The plane as a coordinate reference system, named after its center."""
        nameless = pyproj.CRS.from_dict(
            {"proj": "tmerc", "lat_0": self.latitude_deg, "lon_0": self.longitude_deg, "k": 1,
             "x_0": 0, "y_0": 0, "datum": "WGS84", "units": "m", "type": "crs"}
        ).to_json_dict()  # fmt: skip
        nameless["base_crs"]["name"] = "WGS 84"
        center = written((self.longitude_deg, self.latitude_deg))
        return pyproj.CRS.from_json_dict({**nameless, "name": f"Local plane at {center}"})

    @cached_property
    def _projection(self) -> pyproj.Transformer:
        # what `crs` is, in a tenth of the time
        at = f"+lat_0={_as_read(self.latitude_deg)} +lon_0={_as_read(self.longitude_deg)}"
        return pyproj.Transformer.from_pipeline(f"+proj=tmerc {at} +k=1 +x_0=0 +y_0=0 +ellps=WGS84")

    def to_plane(self, lonlat_deg: Floats) -> Floats:
        """Turn (longitude, latitude) in degrees, (n, 2), into meters east and north."""
        return np.column_stack(self._projection.transform(lonlat_deg[:, 0], lonlat_deg[:, 1]))

    def to_lonlat(self, points_m: Floats) -> Floats:
        """Turn meters east and north, (n, 2), into (longitude, latitude) in degrees, WGS 84."""
        there = self._projection
        return np.column_stack(there.transform(points_m[:, 0], points_m[:, 1], direction="INVERSE"))

    def geometries_to_lonlat(self, geometries: Any) -> Any:  # noqa: ANN401 - one or an array
        """Turn a geometry on the plane, or an array of them, into longitude and latitude.

        Longitudes run on past 180, or below -180, across the 180th meridian.
        """
        return shapely.transform(geometries, self._to_running_lonlat)

    def _to_running_lonlat(self, points_m: Floats) -> Floats:
        lonlat = self.to_lonlat(points_m)
        off = lonlat[:, 0] - self.longitude_deg
        lonlat[:, 0] -= 360 * np.round(off / 360)
        return lonlat

    def bearings_deg(self, begin_m: Floats, end_m: Floats) -> Floats:
        """Give the true headings from points to others, clockwise from north, 0 up to 360, (k,).

        Along the geodesic on the ellipsoid: on the plane they are off by up to a hundredth of a
        degree half a mile from its center.

        Args:
            begin_m: on the local plane, (k, 2).
            end_m: likewise.
        """
        begin, end = self.to_lonlat(begin_m), self.to_lonlat(end_m)
        ahead_deg, _, _ = GEOD.inv(*begin.T, *end.T)
        return np.asarray(ahead_deg, dtype=np.float64) % 360.0

    def place(self, point_m: Floats) -> str:
        """Write a place on the plane as longitude and latitude, to about a meter.

        >>> Plane(-93.5, 42.0).place(np.array([0.0, 0.0]))
        '-93.50000, 42.00000'
        """
        return written(self.spot(point_m))

    def spot(self, point_m: Floats) -> tuple[float, float]:
        """Give a place on the plane as (longitude, latitude) in degrees, to about a meter.

        >>> Plane(-93.5, 42.0).spot(np.array([0.0, 0.0]))
        (-93.5, 42.0)
        """
        longitude, latitude = self.to_lonlat(np.atleast_2d(point_m))[0]
        return round(float(longitude), SPOT_DECIMALS), round(float(latitude), SPOT_DECIMALS)


def _as_read(angle_deg: float) -> str:
    """Write an angle as `Plane.crs` has it: whole where it is within a millimeter, 15 digits.

    >>> _as_read(40.99999999788841), _as_read(-95.34000010461318), _as_read(41.500000000000007)
    ('41', '-95.3400001046132', '41.5')
    """
    for parts in (1, 10):  # PROJ reads near whole degrees as those, and writes near tenths as those
        if abs(angle_deg * parts - round(angle_deg * parts)) < 1e-8:  # noqa: PLR2004 - PROJ's own
            return f"{round(angle_deg * parts) / parts:.15g}"
    return f"{angle_deg:.15g}"


@dataclass(frozen=True)
class Ground:
    """A field on its local plane.

    Attributes:
        plane: the plane.
        outline: the field, holes filled: one polygon or several.
        land: what may be cropped: the outline less its obstacles.
        obstacles: what may not be cropped inside the outline.
        notices: what the user should know about the boundary.
        through: obstacles that machines lift through without turning.
        clearance: land kept clear round obstacles given as points or lines.
        beside: small obstacles with their clearance, in the field or not: passes stop before them
            and begin again behind, without end rows round them.
        beside_labels: where each stands in its file.
        named: the obstacles of files as they lie there, points and lines too, each with its name,
            else with where it stands in its file; those out of the field are left out.
        holes: what the boundary itself leaves out inside the outline.
        kept: what later stages found of it, each by all of a plan that it is found from.
    """

    plane: Plane
    outline: shapely.Geometry = field(repr=False)
    land: shapely.Geometry = field(repr=False)
    obstacles: shapely.Geometry = field(repr=False)
    notices: tuple[Notice, ...] = ()
    through: shapely.Geometry = field(default=shapely.MultiPolygon(), repr=False)
    clearance: shapely.Geometry = field(default=shapely.MultiPolygon(), repr=False)
    beside: tuple[shapely.Geometry, ...] = field(default=(), repr=False)
    beside_labels: tuple[str, ...] = field(default=(), repr=False)
    named: tuple[tuple[str, shapely.Geometry], ...] = field(default=(), repr=False)
    holes: shapely.Geometry = field(default=shapely.MultiPolygon(), repr=False)
    kept: Kept = field(default_factory=Kept, init=False, repr=False, compare=False)

    @cached_property
    def driven_on(self) -> shapely.Geometry:
        """The land, and the obstacles that machines lift through."""
        return _polygons_only(overlay.union(self.land, self.through))

    @cached_property
    def rowed(self) -> shapely.Geometry:
        """The same with small obstacles: what headland is set round, and rows begin from."""
        inside = overlay.intersection(overlay.union_all(self.beside), self.outline)
        return _polygons_only(overlay.union_all([self.driven_on, inside]))


def locate(
    boundary: Shapes,
    obstacles: Shapes | None = None,
    through: Shapes | None = None,
    clearance_m: float | None = None,
    beside_m: float = 0.0,
    *,
    units: UnitSystem = "us",
) -> Ground:
    """Put a field on its local plane.

    Args:
        boundary: the field's polygons; several are one field in several parts.
        obstacles: polygons, lines and points not to be cropped, besides the boundary's holes.
        through: those that machines lift through without turning.
        clearance_m: ground kept clear round obstacles, but not polygons that are lifted through.
        beside_m: how far across obstacles are small.
        units: how lengths and areas are written in notices.

    Raises:
        BoundaryError: coordinates or size that can't be a field's, or a ring past mending.
    """
    lonlat = _to_lonlat(boundary)
    plane = _centered_on(lonlat)
    parts, labels_of, notices = _on_plane(boundary, lonlat, plane, units)
    land = overlay.union_all(parts)
    _check_size(boundary.source, plane, land, units)
    of_whole = of_parts(
        boundary.source, labels_of, parts, land, plane.spot, chosen=boundary.chosen, units=units
    )
    notices = [*of_whole, *notices]
    outline = _filled(land)
    passed = clear = barred = holes = shapely.MultiPolygon()
    if shapely.get_num_interior_rings(shapely.get_parts(land)).any():
        barred = holes = _polygons_only(overlay.difference(outline, land))
    small: list[shapely.Geometry] = []
    labels: list[str] = []
    named: list[tuple[str, shapely.Geometry]] = []
    for shapes in (obstacles, through):
        if shapes is None:
            continue
        limit_m = beside_m if shapes is obstacles else -1.0  # lifted through, none is small
        found = _obstacles(shapes, plane, outline, clearance_m, limit_m, units)
        small += [shape for shape, _ in found.beside]
        labels += [label for _, label in found.beside]
        named += found.named
        notices += found.notices
        inside = overlay.intersection(found.barred, land)
        if inside.area <= SLIVER_M2:
            way = "lifted through" if shapes is through else "gone around"
            told = f"{shapes.source}: none of its obstacles to be {way} lies in the field"
            notices.append(Notice("obstacle", "mind", None, told))
        clear = overlay.union(clear, overlay.intersection(found.clearance, land))
        land = _polygons_only(overlay.difference(land, found.barred))
        barred = _polygons_only(overlay.union(barred, inside))
        if shapes is through:
            passed = _polygons_only(inside)
        if land.area < MIN_FIELD_AREA_M2:
            raise BoundaryError(f"{shapes.source}: the obstacles leave no land to crop")
    read = [*boundary.notices]
    read += [n for shapes in (obstacles, through) if shapes for n in _of_obstacles(shapes.notices)]
    every = tuple(dict.fromkeys([*read, *notices]))
    return Ground(
        plane, outline, land, barred, every, passed, clear, tuple(small), tuple(labels),
        tuple(named), holes,
    )  # fmt: skip


def place_lines(shapes: Shapes, plane: Plane, units: UnitSystem) -> list[shapely.Geometry]:
    """Put shapes of any kind on a field's plane, polygons mended; errors as in `locate`."""
    return _on_plane(shapes, _to_lonlat(shapes), plane, units)[0]


@dataclass(frozen=True)
class _Obstacles:
    """Obstacles on the plane.

    Attributes:
        barred: all that is not cropped.
        clearance: what of it is clearance.
        beside: the small ones with their clearance, and where each stands in its file.
        named: each as it lies there, with its name.
        notices: what was found of them.
    """

    barred: shapely.Geometry
    clearance: shapely.Geometry
    beside: list[tuple[shapely.Geometry, str]]
    named: list[tuple[str, shapely.Geometry]]
    notices: list[Notice]


def _obstacles(
    shapes: Shapes,
    plane: Plane,
    outline: shapely.Geometry,
    clearance_m: float | None,
    beside_m: float,
    units: UnitSystem,
) -> _Obstacles:
    """Put obstacles on the plane with their clearance, but for polygons that are lifted through."""
    placed, labels, notices = _on_plane(shapes, _to_lonlat(shapes), plane, units)
    kinds = shapely.get_dimensions(placed)
    thin = [shape for shape, kind in zip(placed, kinds, strict=True) if kind < AREA]
    if thin and clearance_m is None:
        raise BoundaryError(
            f"{shapes.source}: holds points or lines; state how far to keep off them under "
            '[obstacles], such as clearance = "10 ft"'
        )
    small = 2 * shapely.minimum_bounding_radius(placed) <= beside_m
    kept_off = (kinds < AREA) | (beside_m >= 0.0)
    # so many straight pieces keep a clearance of 15 ft to a twentieth of an inch
    wide = shapely.buffer(placed, np.where(kept_off, clearance_m or 0.0, 0.0), quad_segs=32)
    solid = [shape for shape, kind in zip(placed, kinds, strict=True) if kind == AREA]
    cleared = overlay.difference(overlay.union_all(wide[kept_off]), overlay.union_all(solid))
    beside = [
        (shape, labels[index])
        for index in np.flatnonzero(small)
        for shape in shapely.get_parts(wide[index])
    ]
    far = far_off(shapes.source, labels, placed, outline, plane.spot)
    told = [*_of_obstacles(notices), *far]
    inside = shapely.intersects(placed, outline)
    named = [
        (shapes.names.get(label, label), shape)
        for label, shape, met in zip(labels, placed, inside, strict=True)
        if met
    ]
    return _Obstacles(overlay.union_all(wide), cleared, beside, named, told)


def _of_obstacles(notices: Iterable[Notice]) -> list[Notice]:
    """Say of what was noted on reading shapes that they are obstacles."""
    return [replace(notice, kind="obstacle") for notice in notices]


AREA = 2
"""The dimension of polygons."""


@contextmanager
def _network_off() -> Iterator[None]:
    """Keep projections from fetching grids, whatever the computer is set to."""
    on = network.is_network_enabled()  # type: ignore[attr-defined]  # its names are not listed
    network.set_network_enabled(active=False)  # type: ignore[attr-defined]  # as above
    try:
        yield
    finally:
        network.set_network_enabled(active=on)  # type: ignore[attr-defined]  # as above


def _to_lonlat(shapes: Shapes) -> Floats:
    """Give every vertex of the shapes, in order, as WGS 84 longitude and latitude in degrees.

    Longitudes of shapes across the 180th meridian run on past 180.
    """
    crs = read_crs(shapes.source, shapes.crs)
    points = shapely.get_coordinates(shapes.polygons)
    if crs.is_geographic:
        _check_degrees(shapes, points, crs)
    try:
        with _network_off():
            there = into_degrees(shapes.crs)
            lonlat = np.column_stack(there.transform(points[:, 0], points[:, 1]))
            back = np.column_stack(there.transform(lonlat[:, 0], lonlat[:, 1], direction="INVERSE"))
    except ProjError as error:
        raise BoundaryError(
            f"{shapes.source}: coordinates in {crs.name} can't be turned into degrees; state "
            "another crs"
        ) from error
    if crs.is_geographic:  # longitude 181 comes back as -179
        back[:, 0] = points[:, 0] + (back[:, 0] - points[:, 0] + 180) % 360 - 180
    slip = np.max(np.abs(back - points), axis=1)
    bad = ~np.isfinite(lonlat).all(axis=1) | ~(slip <= ROUND_TRIP_M)
    if bad.any():
        index = int(np.flatnonzero(bad)[0])
        raise BoundaryError(
            f"{shapes.source}: {vertex_label(shapes, index)}: {points[index, 0]:g}, "
            f"{points[index, 1]:g} is out of range for {crs.name}; state the right crs"
        )
    if np.ptp(lonlat[:, 0]) > 180:  # noqa: PLR2004 - the field lies across the 180th meridian
        lonlat[:, 0] %= 360
    return lonlat


def _check_degrees(shapes: Shapes, points: Floats, crs: pyproj.CRS) -> None:
    bad = (np.abs(points[:, 0]) > 360) | (np.abs(points[:, 1]) > 90)  # noqa: PLR2004 - degrees
    if bad.any():
        index = int(np.flatnonzero(bad)[0])
        raise BoundaryError(
            f"{shapes.source}: {vertex_label(shapes, index)}: longitude {points[index, 0]:g}, "
            f"latitude {points[index, 1]:g} is out of range for {crs.name}; longitude comes first, "
            'and coordinates in meters need their crs, such as crs = "EPSG:26915" in the plan'
        )


def vertex_label(shapes: Shapes, index: int) -> str:
    """Say where in the file the vertex with this index, counted over all shapes, stands."""
    counts = np.cumsum(shapely.get_num_coordinates(shapes.polygons))
    shape = int(np.searchsorted(counts, index, side="right"))
    before = int(counts[shape - 1]) if shape else 0
    return f"{shapes.labels[shape]}, vertex {index - before + 1}"


def _centered_on(lonlat_deg: Floats) -> Plane:
    """Center a plane on the middle of the bounds, which repeated vertices do not move."""
    middle = (lonlat_deg[:, 0].min() + lonlat_deg[:, 0].max()) / 2
    latitude = (lonlat_deg[:, 1].min() + lonlat_deg[:, 1].max()) / 2
    return Plane(float((middle + 180) % 360 - 180), float(latitude))


def _on_plane(
    shapes: Shapes, lonlat_deg: Floats, plane: Plane, units: UnitSystem
) -> tuple[list[shapely.Geometry], tuple[str, ...], list[Notice]]:
    """Put shapes on the plane, mended; give also their labels, and what was mended."""
    points = plane.to_plane(lonlat_deg)
    extent_m = np.ptp(points, axis=0).max() if np.isfinite(points).all() else np.inf
    if extent_m > MAX_FIELD_EXTENT_M:
        across = f"{extent_m / 1000:,.0f} km" if np.isfinite(extent_m) else "half the earth"
        raise BoundaryError(
            f"{shapes.source}: is {across} across, centered on "
            f"{plane.place(np.zeros(2))}; a field is at most {MAX_FIELD_EXTENT_M / 1000:.0f} km "
            "across (is the crs right, and does `where` choose one field?)"
        )
    shapes = _joined(shapes, lonlat_deg)
    raw = shapely.transform(np.array(shapes.polygons, dtype=object), plane.to_plane)
    mended: list[shapely.Geometry] = []
    notices: list[Notice] = []
    faults: list[str] = []
    for shape, label in zip(raw, shapes.labels, strict=True):
        if shapely.get_dimensions(shape) < AREA:
            mended.append(shape)
            continue
        try:
            polygon, told = mend(shape, shapes.source, label, plane.spot, units)
        except BoundaryError as error:
            faults += error.faults
            continue
        mended.append(polygon)
        notices += told
    if faults:
        raise BoundaryError.of(shapes.source, faults)
    return mended, tuple(shapes.labels), notices


def _joined(shapes: Shapes, lonlat_deg: Floats) -> Shapes:
    """Give shapes in longitude and latitude, those cut at the 180th meridian joined again.

    RFC 7946 (3.1.9) cuts there what lies across; the cut is a straight line in degrees, so that
    it closes without a gap.
    """
    lonlat = lonlat_deg.copy()
    on = np.abs(np.abs(lonlat[:, 0]) - 180) < AT_180_DEG
    lonlat[on, 0] = np.copysign(180.0, lonlat[on, 0])
    placed = shapely.set_coordinates(np.array(shapes.polygons, dtype=object), lonlat)
    longest = np.array([shapely.get_coordinates(shape)[:, 0].max() for shape in placed])
    least = np.array([shapely.get_coordinates(shape)[:, 0].min() for shape in placed])
    areas = (shapely.get_dimensions(placed) == AREA) & shapely.is_valid(placed)
    west, east = (areas & (longest == 180), areas & (least == 180))  # noqa: PLR2004 - degrees
    if not (west.any() and east.any()):
        return replace(shapes, polygons=tuple(placed))
    cut = west | east
    whole = shapely.get_parts(overlay.union_all(placed[cut]))
    first = shapes.labels[int(np.flatnonzero(cut)[0])]
    kept = [label for label, gone in zip(shapes.labels, cut, strict=True) if not gone]
    labels = (*[first] * len(whole), *kept)
    return replace(shapes, polygons=(*whole, *placed[~cut]), labels=labels)


AT_180_DEG = 1e-9
"""So near to the 180th meridian, a tenth of a millimeter, a vertex lies on it."""


def _check_size(source: str, plane: Plane, land: shapely.Geometry, units: UnitSystem) -> None:
    if land.area < MIN_FIELD_AREA_M2:
        has, least = (area_written(m2, units) for m2 in (land.area, MIN_FIELD_AREA_M2))
        at = plane.place(np.zeros(2))
        raise BoundaryError(f"{source}: has {has} at {at}; a field has at least {least}")


def _filled(land: shapely.Geometry) -> shapely.Geometry:
    exteriors = shapely.get_exterior_ring(shapely.get_parts(land))
    return overlay.union_all(shapely.polygons(exteriors))


def _polygons_only(geometry: shapely.Geometry) -> shapely.Geometry:
    return shapely.multipolygons(real_parts(geometry)[0])
