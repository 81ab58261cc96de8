"""Hold the path that strips, rows and passes follow: straight, a key line or a ring.

A place on the ground is told by how far along the path it lies and how far across, to its left (out
from a ring's center). Rows and passes are a begin and an end along the path at one distance across.
Along is in meters of a straight path or of a key line itself, and in radians clockwise from north
round a ring, where an end may lie a turn on. Only the path knows the way back to the plane.

Strips are cut on a plane of the path's own: a straight path's is turned so that travel runs along
x, which makes cutting quick; a curve's is the local plane.
"""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.borders import share_borders
from striplay.geometry.curves import STEP_M, Track, track_along
from striplay.geometry.directions import direction_deg
from striplay.geometry.edges import edges_of
from striplay.geometry.frame import Frame
from striplay.geometry.slabs import slabs_of
from striplay.geometry.slivers import real_parts
from striplay.geometry.sweep import Bands, Chords, bands, chords
from striplay.tolerances import LENGTH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

AROUND = 2 * math.pi
"""Once round a ring."""
FREE_RAD = 0.02
"""Ground is taken to reach so much farther round: what leaves hardly more free goes all round."""
DECIMALS = 9
"""Distances are rounded to a nanometer, so that neighbors along a curve have the same border."""


class Path(Protocol):
    """What rows and passes follow."""

    @property
    def frame(self) -> Frame:
        """The direction that pieces of a strip are numbered along."""

    @property
    def around(self) -> float | None:
        """How far along once round is; None where it does not close."""

    def onto(self, areas: Any) -> Geometries:  # noqa: ANN401 - one geometry or an array
        """Bring areas from the local plane onto the path's own."""

    def back(self, areas: Any) -> Geometries:  # noqa: ANN401 - as above
        """Bring areas from the path's own plane onto the local one."""

    def bands(self, ground: shapely.Geometry, low_m: Floats, high_m: Floats) -> Bands:
        """Cut ground into bands between distances across, on the path's own plane."""

    def outside(self, ground: shapely.Geometry, low_m: float, high_m: float) -> Geometries:
        """Give the ground outside all bands, on the path's own plane."""

    def cut(
        self, polygons: Geometries, band: Integers, across_m: Floats, line_band: Integers
    ) -> Chords:
        """Cut lines to the inside of polygons of the same band, on the path's own plane."""

    def cells(self, begin: Floats, end: Floats, low_m: Floats, high_m: Floats) -> Geometries:
        """Give the ground between two places and two distances, on the path's own plane."""

    def reach(self, polygons: Geometries, place: Floats) -> tuple[Floats, Floats]:
        """Tell beyond which places polygons have no ground, each about a place of its own."""

    def share_borders(self, polygons: Geometries) -> Geometries:
        """Give neighbors the same vertices along the borders that they share."""

    def order(self, polygons: Geometries) -> Floats:
        """Give what pieces of one strip are numbered by."""

    def widths_m(self, polygons: Geometries) -> Floats:
        """Give how wide across each piece is at its widest; without end where only rows tell."""

    def located(self, points: Floats, across_m: Floats) -> Floats:
        """Give the places on lines, each at its distance across, that points lie beside."""

    def across_of(self, points: Floats) -> Floats:
        """Give how far across points on the local plane lie."""

    def swaths(self, begin: Floats, end: Floats, low_m: Floats, high_m: Floats) -> Geometries:
        """Give the ground between two places and two distances, on the local plane."""

    def lines(self, begin: Floats, end: Floats, across_m: Floats) -> Geometries:
        """Give lines along the path, on the local plane."""

    def lengths_m(self, begin: Floats, end: Floats, across_m: Floats) -> Floats:
        """Give the true length of such lines."""

    def spans(self, lines: Geometries, across_m: Floats) -> tuple[Floats, Floats]:
        """Give from where to where lines on the local plane run, each at its distance across."""

    def moved(self, place: Floats, across_m: Floats, by_m: Floats) -> Floats:
        """Give the places so many meters on along the lines at some distances across."""

    def headings(self, begin: float, end: float) -> tuple[Floats, Floats, Floats]:
        """Give the direction of its stretches between two places, their lengths and middles."""


@dataclass(frozen=True)
class Straight:
    """A straight path; along is x and across is y of the turned plane."""

    frame: Frame

    @property
    def around(self) -> float | None:
        """It does not close."""
        return None

    def onto(self, areas: Any) -> Geometries:  # noqa: ANN401 - one geometry or an array
        """Turn areas so that travel runs along x."""
        return self.frame.turn_areas(areas)

    def back(self, areas: Any) -> Geometries:  # noqa: ANN401 - as above
        """Undo `onto`."""
        return self.frame.turn_areas_back(areas)

    def bands(self, ground: shapely.Geometry, low_m: Floats, high_m: Floats) -> Bands:
        """Cut ground into bands."""
        return bands(ground, low_m, high_m)

    def outside(self, ground: shapely.Geometry, low_m: float, high_m: float) -> Geometries:  # noqa: ARG002 - bands cover all ground
        """Give nothing: bands cover all ground."""
        return np.empty(0, dtype=object)

    def cut(
        self,
        polygons: Geometries,
        band: Integers,  # noqa: ARG002 - a line meets the polygons of its band only
        across_m: Floats,
        line_band: Integers,  # noqa: ARG002 - as above
    ) -> Chords:
        """Cut lines to the inside of polygons."""
        return chords(edges_of(polygons), across_m)

    def cells(self, begin: Floats, end: Floats, low_m: Floats, high_m: Floats) -> Geometries:
        """Give rectangles."""
        return np.asarray(shapely.box(begin, low_m, end, high_m), dtype=object)

    def reach(self, polygons: Geometries, place: Floats) -> tuple[Floats, Floats]:  # noqa: ARG002 - as far as any
        """Take all to reach without end: what is cut there is cut at no cost."""
        return np.full(len(place), -np.inf), np.full(len(place), np.inf)

    def share_borders(self, polygons: Geometries) -> Geometries:
        """Give neighbors the same vertices along their borders."""
        return share_borders(polygons)

    def widths_m(self, polygons: Geometries) -> Floats:
        """Give the longest chord of each along y."""
        return np.array([_longest_across_m(polygon) for polygon in polygons])

    def order(self, polygons: Geometries) -> Floats:
        """Give the least x of each."""
        return np.asarray(shapely.bounds(polygons).reshape(-1, 4)[:, 0])

    def located(self, points: Floats, across_m: Floats) -> Floats:  # noqa: ARG002 - told by along alone
        """Give the x of points."""
        return self.frame.turn_points(points)[:, 0]

    def across_of(self, points: Floats) -> Floats:
        """Give the y of points."""
        return self.frame.turn_points(points)[:, 1]

    def swaths(self, begin: Floats, end: Floats, low_m: Floats, high_m: Floats) -> Geometries:
        """Give rectangles on the local plane."""
        x = np.stack([begin, end, end, begin, begin], axis=1)
        y = np.stack([low_m, low_m, high_m, high_m, low_m], axis=1)
        return self._polygons(np.stack([x, y], axis=2))

    def _polygons(self, rings: Floats) -> Geometries:
        points = self.frame.turn_points_back(rings.reshape(-1, 2)).reshape(rings.shape)
        return np.asarray(shapely.polygons(points), dtype=object)

    def lines(self, begin: Floats, end: Floats, across_m: Floats) -> Geometries:
        """Give straight lines on the local plane."""
        points = np.column_stack([begin, across_m, end, across_m]).reshape(-1, 2)
        turned = self.frame.turn_points_back(points).reshape(-1, 2, 2)
        return np.asarray(shapely.linestrings(turned), dtype=object)

    def lengths_m(self, begin: Floats, end: Floats, across_m: Floats) -> Floats:  # noqa: ARG002 - as far as along
        """Give how far along each reaches."""
        return np.asarray(end - begin)

    def spans(self, lines: Geometries, across_m: Floats) -> tuple[Floats, Floats]:  # noqa: ARG002 - told by along alone
        """Give the least and greatest x of each."""
        points, line = shapely.get_coordinates(lines, return_index=True)
        x = self.frame.turn_points(points)[:, 0]
        begin, end = np.full(len(lines), np.inf), np.full(len(lines), -np.inf)
        np.minimum.at(begin, line, x)
        np.maximum.at(end, line, x)
        return begin, end

    def moved(self, place: Floats, across_m: Floats, by_m: Floats) -> Floats:  # noqa: ARG002 - as far as along
        """Go so far on."""
        return np.asarray(place + by_m)

    def headings(self, begin: float, end: float) -> tuple[Floats, Floats, Floats]:
        """Give its one direction."""
        middle = self.frame.turn_points_back(np.array([[(begin + end) / 2, 0.0]]))
        return np.array([self.frame.heading_deg]), np.array([end - begin]), middle


@dataclass(frozen=True)
class Curved:
    """A key line, or rings about a center.

    Attributes:
        track: the line that all others run beside.
        frame: the direction that pieces of a strip are numbered along.
    """

    track: Track
    frame: Frame

    @property
    def around(self) -> float | None:
        """Once round a ring."""
        return AROUND if self.track.closed else None

    @cached_property
    def _places(self) -> Floats:
        return self.track.places

    def onto(self, areas: Any) -> Geometries:  # noqa: ANN401 - one geometry or an array
        """Give the areas as they are."""
        return np.atleast_1d(np.asarray(areas, dtype=object))

    def back(self, areas: Any) -> Geometries:  # noqa: ANN401 - as above
        """Give the areas as they are."""
        return np.atleast_1d(np.asarray(areas, dtype=object))

    def bands(self, ground: shapely.Geometry, low_m: Floats, high_m: Floats) -> Bands:
        """Cut ground into bands; neighbors share every vertex of the track."""
        shapely.prepare(ground)
        every = self.track.bands(np.round(low_m, DECIMALS), np.round(high_m, DECIMALS))
        cut = overlay.intersection(every, ground)
        return Bands(*real_parts(cut, ground.area))

    def outside(self, ground: shapely.Geometry, low_m: float, high_m: float) -> Geometries:
        """Give the ground before the first and beyond the last distance."""
        reached = self.track.bands(np.array([low_m]), np.array([high_m]))[0]
        return real_parts(overlay.difference(ground, reached), ground.area)[0]

    def cut(
        self, polygons: Geometries, band: Integers, across_m: Floats, line_band: Integers
    ) -> Chords:
        """Cut lines to the inside of polygons of the same band."""
        order = np.argsort(band, kind="stable")
        first = np.searchsorted(band[order], line_band, side="left")
        count = np.searchsorted(band[order], line_band, side="right") - first
        level = np.repeat(np.arange(len(across_m)), count)
        step = np.arange(len(level)) - np.repeat(np.cumsum(count) - count, count)
        owner = order[first[level] + step]
        lines = self.track.lines(across_m)
        shapely.prepare(polygons)
        found = shapely.line_merge(overlay.intersection(lines[level], polygons[owner]))
        parts, source = shapely.get_parts(found, return_index=True)
        real = shapely.length(parts) > LENGTH_M
        parts, level, owner = parts[real], level[source[real]], owner[source[real]]
        begin, end = self.spans(parts, across_m[level])
        by_line = np.lexsort((begin, owner, level))
        return Chords(level[by_line], begin[by_line], end[by_line], owner[by_line])

    def cells(self, begin: Floats, end: Floats, low_m: Floats, high_m: Floats) -> Geometries:
        """Give the ground between two places and two distances."""
        return self.swaths(begin, end, np.round(low_m, DECIMALS), np.round(high_m, DECIMALS))

    def reach(self, polygons: Geometries, place: Floats) -> tuple[Floats, Floats]:
        """Tell beyond which places polygons have no ground; of those that go round, without end."""
        begin, end = np.full(len(place), -np.inf), np.full(len(place), np.inf)
        if not self.track.closed:
            return begin, end
        for index, polygon in enumerate(polygons):
            turned = self._turned(polygon)
            low, high = float(turned.min()), float(turned.max())
            if high - low < AROUND - 4 * FREE_RAD:
                turns = AROUND * np.rint((place[index] - (low + high) / 2) / AROUND)
                begin[index], end[index] = low + turns - FREE_RAD, high + turns + FREE_RAD
        return begin, end

    def share_borders(self, polygons: Geometries) -> Geometries:
        """Give the polygons as they are: they share the track's vertices."""
        return polygons

    def widths_m(self, polygons: Geometries) -> Floats:
        """Give the longest stretch of each at right angles to the track; of whole rings nothing."""
        return np.array([_longest_across_m(self._unrolled(polygon)) for polygon in polygons])

    def _unrolled(self, polygon: shapely.Geometry) -> shapely.Geometry:
        """Lay a piece out straight: how far along and how far across its vertices are.

        A whole ring has no ends, and comes to nothing.
        """
        if self.track.closed:
            turned = self._turned(polygon)
            if abs(turned[-1] - turned[0]) > AROUND / 2:
                return shapely.Polygon()
        middle = shapely.get_coordinates(polygon.centroid)

        def straight(points: Floats) -> Floats:
            across_m = self.across_of(points)
            along = self.located(points, np.zeros(len(points)))
            if self.track.closed:
                at = self.located(middle, np.zeros(1))[0]
                along = (along - at + AROUND / 2) % AROUND * max(across_m.max(), 1.0)
            return np.column_stack([along, across_m])

        laid_out = shapely.transform(shapely.segmentize(polygon, STEP_M), straight)
        mended = laid_out
        if not shapely.is_valid(laid_out):
            mended = shapely.make_valid(laid_out, method="structure", keep_collapsed=False)
        return mended if mended.area > polygon.area / 2 else shapely.Polygon()

    def _turned(self, polygon: shapely.Polygon) -> Floats:
        """Give how far round the center a polygon's outline has gone at each of its vertices."""
        points = shapely.get_coordinates(shapely.get_exterior_ring(polygon))
        return np.unwrap(self.located(points, np.zeros(len(points))))

    def order(self, polygons: Geometries) -> Floats:
        """Give how far along the overall direction a point of each lies."""
        points = shapely.get_coordinates(shapely.point_on_surface(polygons)).reshape(-1, 2)
        return self.frame.turn_points(points)[:, 0]

    def across_of(self, points: Floats) -> Floats:
        """Give how far to the left of the key line points lie, or from the center."""
        if self.track.closed:
            return np.asarray(np.hypot(*(points - self.track.base[0]).T))
        return self.track.left_of(points)

    def swaths(self, begin: Floats, end: Floats, low_m: Floats, high_m: Floats) -> Geometries:
        """Give the ground between two places and two distances."""
        found = np.empty(len(begin), dtype=object)
        for index in range(len(begin)):
            low = self._stretch(low_m[index], begin[index], end[index])
            high = self._stretch(high_m[index], begin[index], end[index])
            whole = self.track.closed and end[index] - begin[index] >= AROUND - LENGTH_M
            if whole:
                holes = [low] if low_m[index] > LENGTH_M else []
                found[index] = shapely.Polygon(high, holes)
            else:
                found[index] = shapely.Polygon(np.concatenate([low, high[::-1]]))
        bad = ~shapely.is_valid(found)
        found[bad] = shapely.make_valid(found[bad])
        return found

    def _stretch(self, across_m: float, begin: float, end: float) -> Floats:
        """Give the points of the line at a distance between two places."""
        places, base, way = self._places, self.track.base, self.track.way
        if self.track.closed:
            across_m = max(across_m, 0.0)
            if end > AROUND or begin < 0.0:
                places = np.concatenate([places[:-1] - AROUND, places[:-1], places + AROUND])
                base = np.concatenate([base[:-1], base[:-1], base])
                way = np.concatenate([way[:-1], way[:-1], way])
        first = int(np.searchsorted(places, begin + LENGTH_M, side="right"))
        last = int(np.searchsorted(places, end - LENGTH_M, side="left"))
        near = slice(max(first - 1, 0), last + 1)
        points = base[near] + across_m * way[near]
        at = np.concatenate([[begin], places[first:last], [end]])
        return np.column_stack([np.interp(at, places[near], axis) for axis in points.T])

    def lines(self, begin: Floats, end: Floats, across_m: Floats) -> Geometries:
        """Give lines along the path."""
        found = np.empty(len(begin), dtype=object)
        for index in range(len(begin)):
            points = self._stretch(across_m[index], begin[index], end[index])
            found[index] = shapely.LineString(points)
        return found

    def lengths_m(self, begin: Floats, end: Floats, across_m: Floats) -> Floats:
        """Give the true length of such lines."""
        return np.asarray(shapely.length(self.lines(begin, end, across_m)), dtype=np.float64)

    def spans(self, lines: Geometries, across_m: Floats) -> tuple[Floats, Floats]:
        """Give from where to where lines run, each at its distance across."""
        shares = np.array([0.0, 1.0, 0.5] if self.track.closed else [0.0, 1.0])[:, None]
        points = shapely.line_interpolate_point(lines, shares, normalized=True)
        across_m = np.broadcast_to(across_m, points.shape).ravel()
        first, last, *middles = self.located(
            shapely.get_coordinates(points.ravel()), across_m
        ).reshape(points.shape)
        if not self.track.closed:
            return np.minimum(first, last), np.maximum(first, last)
        (middle,) = middles
        forward = (middle - first) % AROUND <= (last - first) % AROUND
        begin, end = np.where(forward, first, last), np.where(forward, last, first)
        whole = shapely.is_closed(lines)
        begin = np.where(whole, 0.0, begin)
        return begin, np.where(whole, AROUND, begin + (end - begin) % AROUND)

    def located(self, points: Floats, across_m: Floats) -> Floats:
        """Give the places of points, each on the line at its distance across."""
        if not len(points):
            return np.empty(0)
        if self.track.closed:
            east, north = (points - self.track.base[0]).T
            return np.asarray(np.arctan2(east, north) % AROUND)
        levels_m, level = np.unique(across_m, return_inverse=True)
        level = level.reshape(-1)
        vertices = self.track.points(levels_m)
        steps_m = np.hypot(*np.moveaxis(np.diff(vertices, axis=1), 2, 0))
        run_m = np.concatenate([np.zeros((len(levels_m), 1)), np.cumsum(steps_m, axis=1)], axis=1)
        lines = shapely.linestrings(vertices)
        at_m = shapely.line_locate_point(lines[level], shapely.points(points))
        far_m = run_m[:, -1].max() + 1.0
        shift_m = np.arange(len(levels_m))[:, None] * far_m
        places = np.tile(self._places, len(levels_m))
        found = np.interp(at_m + level * far_m, (run_m + shift_m).ravel(), places)
        return np.asarray(found, dtype=np.float64)

    def moved(self, place: Floats, across_m: Floats, by_m: Floats) -> Floats:
        """Give the places so many meters on."""
        if self.track.closed:
            return np.asarray(place + by_m / np.maximum(across_m, 1.0))
        index = np.clip(
            np.searchsorted(self._places, place, side="right") - 1, 0, len(self._places) - 2
        )
        base, way = self.track.base, self.track.way
        step = base[index + 1] - base[index] + across_m[:, None] * (way[index + 1] - way[index])
        scale = np.hypot(*step.T) / np.diff(self._places)[index]
        return np.asarray(place + by_m / np.maximum(scale, 1e-3))

    def headings(self, begin: float, end: float) -> tuple[Floats, Floats, Floats]:
        """Give the direction of its stretches; of rings, of one a meter from their center."""
        places = self._places
        points = self.track.points(np.array([1.0 if self.track.closed else 0.0]))[0]
        step = np.diff(points, axis=0)
        near = (places[1:] > begin) & (places[:-1] < end)
        near |= (places[1:] + AROUND > begin) & (places[:-1] + AROUND < end) & self.track.closed
        middle = (points[:-1] + points[1:]) / 2
        return direction_deg(step)[near], np.hypot(*step.T)[near], middle[near]


def _longest_across_m(polygon: shapely.Geometry) -> float:
    """Measure the longest chord of a polygon along y; without end where it has none."""
    edges = edges_of(shapely.transform(polygon, lambda points: points[:, ::-1]))
    if not len(edges):
        return math.inf
    slabs = slabs_of(edges.start, edges.end)
    return float(max(slabs.low_length_m.max(), slabs.high_length_m.max()))


def along_line(line: shapely.LineString) -> Curved:
    """Make the path that a single line is, driven at its own place: a pass round a headland."""
    points = shapely.get_coordinates(shapely.remove_repeated_points(line, LENGTH_M))
    first = direction_deg((points[1] - points[0])[None, :])[0]
    return Curved(track_along(points), Frame(float(first)))
