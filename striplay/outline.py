"""Say what of a boundary may not be meant, and of obstacles: overlaps, a place far off."""

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from striplay.geometry import overlay
from striplay.mend import Spot, written
from striplay.notices import Notice
from striplay.tolerances import LARGE_FIELD_M2, TOLD_M2, TOUCH_M
from striplay.units import UnitSystem, format_area, format_length


def of_parts(
    source: str,
    labels: Sequence[str],
    parts: list[shapely.Geometry],
    land: shapely.Geometry,
    spot: Spot,
    *,
    chosen: bool,
    units: UnitSystem,
) -> list[Notice]:
    """Say what of a boundary may not be meant: several features, overlaps, a very large field.

    Args:
        source: the file, for messages.
        labels: where in it each polygon stands.
        parts: the polygons, mended, in meters.
        land: all of them together.
        spot: gives a point as longitude and latitude in degrees.
        chosen: whether a condition chose the features; that there are several is then no news.
        units: how lengths and areas are written.
    """
    told: list[Notice] = []
    if land.area > LARGE_FIELD_M2:
        said = (
            f"{source}: the field has {format_area(land.area, units)}, more than most; are its "
            "file, its crs and `where` right?"
        )
        told.append(Notice("boundary", "mind", None, said))
    if len(set(labels)) > 1 and not chosen:
        by_feature = _by_feature(labels, parts)
        tree = shapely.STRtree(by_feature)
        _, away_m = tree.query_nearest(by_feature, exclusive=True, return_distance=True)
        farthest_m = float(away_m.max(initial=0.0))
        farthest = format_length(farthest_m, units)
        apart = f"up to {farthest} apart" if farthest_m > TOUCH_M else "side by side"
        said = (
            f"{source}: {len(by_feature)} features are taken as one field, {apart}; "
            "field.where chooses among them"
        )
        told.append(Notice("boundary", "mind", None, said))
    if len(parts) > 1:
        told += _overlaps(source, labels, parts, spot, units)
    return told


def _by_feature(labels: Sequence[str], parts: list[shapely.Geometry]) -> list[shapely.Geometry]:
    """Put together the polygons of each feature."""
    of_one: dict[str, list[shapely.Geometry]] = {}
    for label, part in zip(labels, parts, strict=True):
        of_one.setdefault(label, []).append(part)
    return [overlay.union_all(own) for own in of_one.values()]


def _overlaps(
    source: str,
    labels: Sequence[str],
    parts: list[shapely.Geometry],
    spot: Spot,
    units: UnitSystem,
) -> Iterator[Notice]:
    """Say where polygons of a boundary overlap each other, by more than is worth a word."""
    one, other = shapely.STRtree(parts).query(parts, predicate="intersects")
    one, other = one[one < other], other[one < other]
    each = np.array(parts, dtype=object)
    shared = overlay.intersection(each[one], each[other])
    areas_m2 = shapely.area(shared)
    if not (areas_m2 > TOLD_M2).any():
        return
    most = int(np.argmax(areas_m2))
    center = shapely.get_coordinates(shapely.point_on_surface(shared[most]))[0]
    area = format_area(areas_m2[most], units)
    names = " and ".join(labels[index] for index in (one[most], other[most]))
    count = int((areas_m2 > TOLD_M2).sum())
    more = f", and {count - 1} more pairs overlap" if count > 1 else ""
    said = (
        f"{source}: {names} overlap by {area} at {written(spot(center))}"
        f"{more}; ground of both is taken once: see whose it is"
    )
    yield Notice("boundary", "mind", spot(center), said)


def far_off(
    source: str,
    labels: Sequence[str],
    placed: list[shapely.Geometry],
    outline: shapely.Geometry,
    spot: Spot,
) -> list[Notice]:
    """Tell of obstacles far from the field, where others lie in it: a slip in a coordinate?

    Args:
        source: the file, for messages.
        labels: where in it each obstacle stands.
        placed: the obstacles, in meters.
        outline: the field.
        spot: gives a point as longitude and latitude in degrees.
    """
    away_m = shapely.distance(placed, outline)
    far = np.flatnonzero(away_m > FAR_OFF_M)
    if not len(far) or len(far) == len(placed):
        return []
    first = labels[int(far[0])]
    center = shapely.get_coordinates(shapely.point_on_surface(placed[far[0]]))[0]
    said = (
        f"{source}: {len(far)} of {len(placed)} obstacles lie more than {FAR_OFF_M:.0f} m "
        f"from the field and are left out, as {first} at {written(spot(center))}"
    )
    return [Notice("obstacle", "know", spot(center), said)]


FAR_OFF_M = 100.0
"""No machine in the field meets an obstacle so far outside (our choice)."""
