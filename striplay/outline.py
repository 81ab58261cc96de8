"""Say what of a boundary may not be meant: several features, overlaps, a very large field."""

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
        spot: gives a point as longitude and latitude in degrees.
        chosen: whether a condition chose the features; that there are several is then no news.
        units: how lengths and areas are written.
    """
    land = overlay.union_all(parts)
    told: list[Notice] = []
    if land.area > LARGE_FIELD_M2:
        said = (
            f"{source}: the field has {format_area(land.area, units)}, more than most; are its "
            "file, its crs and `where` right?"
        )
        told.append(Notice("boundary", "mind", None, said))
    by_feature = _by_feature(labels, parts)
    if len(by_feature) > 1 and not chosen:
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
    return [*told, *_overlaps(source, labels, parts, spot, units)]


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
