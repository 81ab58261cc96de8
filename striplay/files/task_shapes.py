"""Make the points, lines and polygons of task data, and the groups of lines to steer by."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from striplay.files.task_editions import Edition
from striplay.files.task_names import Ids, designator
from striplay.ground import Plane
from striplay.operations.guidance import GuideLine

DECIMALS = 9
"""Places of degrees, the most of the standard: a tenth of a millimeter."""
HALF_ROUND_DEG = 180.0

Floats = npt.NDArray[np.float64]


def points(edition: Edition, lonlat_deg: Floats, kinds: Sequence[Any]) -> list[Any]:
    """Give points, each of its type.

    Args:
        edition: the version of the standard.
        lonlat_deg: longitude and latitude, (n, 2); longitudes may run on past 180.
        kinds: type of each, (n,).
    """
    east_deg, north_deg = lonlat_deg.T
    turns = np.round(east_deg / (2 * HALF_ROUND_DEG))
    east_deg = np.where(np.abs(east_deg) > HALF_ROUND_DEG, east_deg - 360.0 * turns, east_deg)
    rounded = np.round(np.column_stack([north_deg, east_deg]), DECIMALS) + 0.0
    return [
        edition.iso.Point(type=kind, north=_decimal(north), east=_decimal(east))
        for kind, (north, east) in zip(kinds, rounded.tolist(), strict=True)
    ]


def _decimal(degrees: float) -> Decimal:
    return Decimal(f"{degrees:.{DECIMALS}f}")


def gate(edition: Edition, lonlat_deg: tuple[float, float]) -> Any:  # noqa: ANN401 - of a version
    """Give the point that machines come by."""
    (point,) = points(edition, np.array([lonlat_deg]), [edition.gate])
    point.designator = "gate"
    return point


def polygons(edition: Edition, shape: shapely.Geometry, kind: Any, name: str = "") -> list[Any]:  # noqa: ANN401 - of a version
    """Give a polygon, or each part of several, in longitude and latitude, its rings closed."""
    iso = edition.iso
    found = []
    parts = shapely.get_parts(shape)
    for part in parts[~shapely.is_empty(parts)]:
        outer = _ring(edition, part.exterior, iso.LineStringType.PolygonExterior)
        inner = [
            _ring(edition, ring, iso.LineStringType.PolygonInterior) for ring in part.interiors
        ]
        named = designator(name) or None
        found.append(iso.Polygon(type=kind, designator=named, line_strings=[outer, *inner]))
    return found


def _ring(edition: Edition, ring: shapely.LinearRing, kind: Any) -> Any:  # noqa: ANN401 - of a version
    at = shapely.get_coordinates(ring)
    other = edition.iso.PointType.Other
    return edition.iso.LineString(type=kind, points=points(edition, at, [other] * len(at)))


def guidance_line(edition: Edition, plane: Plane, guide: GuideLine, name: str | None = None) -> Any:  # noqa: ANN401 - of a version
    """Give the points of a guide line: a curve's, a straight line's ends, or a circle's center.

    Part of a circle has both its ends as well. Where the version has no groups of lines, circles
    are drawn out.
    """
    at_m = shapely.get_coordinates(guide.line)
    kinds = [edition.begins, *[edition.between] * (len(at_m) - 2), edition.ends]
    if guide.center_m is not None and edition.groups:
        ends_m = at_m[:0] if guide.closed else at_m[[0, -1]]
        at_m = np.concatenate([[guide.center_m], ends_m])
        kinds = [edition.center, edition.begins, edition.ends][: len(at_m)]
    return edition.iso.LineString(
        type=edition.guidance,
        designator=None if name is None else designator(name),
        width=round(1000 * guide.width_m),
        points=points(edition, plane.to_lonlat(at_m), kinds),
    )


def guidance_pattern(
    edition: Edition, plane: Plane, guide: GuideLine, number: str, name: str
) -> Any:  # noqa: ANN401 - of a version
    """Give a guide line with how it is steered: the standard's guidance pattern, of version 4.

    Args:
        edition: the version.
        plane: the field's.
        guide: the line, and how often it is repeated.
        number: its id.
        name: what the terminal lists it by.
    """
    iso = edition.iso
    kinds = {
        "straight": iso.GuidancePatternType.AB,
        "curve": iso.GuidancePatternType.Curve,
        "circle": iso.GuidancePatternType.Pivot,
    }
    spread, extension = iso.GuidancePatternPropagationDirection, iso.GuidancePatternExtension
    made = iso.GuidancePattern(
        id=number,
        designator=designator(name),
        type=kinds[guide.kind],
        propagation_direction=spread.NoPropagation,
        extension=extension.NoExtensions,
        gnss_method=iso.GuidancePatternGNSSMethod.DesktopGeneratedData,
        line_strings=[guidance_line(edition, plane, guide)],
    )
    if guide.repeated:
        sides = (guide.left > 0, guide.right > 0)
        made.propagation_direction = {
            (True, True): spread.BothDirections,
            (True, False): spread.LeftDirectionOnly,
            (False, True): spread.RightDirectionOnly,
        }[sides]
        made.extension = extension.FromBothFirstAndLastPoint
        made.number_of_swaths_left, made.number_of_swaths_right = guide.left, guide.right
    if guide.kind == "circle":
        options = iso.GuidancePatternOptions
        way = options.ClockwiseForPivot if guide.clockwise else options.CounterClockwiseForPivot
        made.options = options.FullCircleForPivot if guide.closed else way
        made.radius = round(1000 * guide.radius_m)
    return made


def names_of(guides: Sequence[GuideLine], columns: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Name guides by the numbers of their passes: the number alone, and with what they are over.

    Args:
        guides: of one operation.
        columns: of its passes, as in the table of passes.
    """
    digits = len(str(max(columns["number"], default=0)))
    found = []
    for one in guides:
        each = [int(columns["number"][index]) for index in one.passes]
        first, last = (f"{number:0{digits}d}" for number in (min(each), max(each)))
        if one.repeated:
            found.append((f"{first}-{last}", f"{first}-{last} side by side"))
            continue
        strip, piece = (columns[name][one.passes[0]] for name in ("strip", "piece"))
        place = columns["place"][one.passes[0]]
        over = f"strip {strip}/{piece}" if place != "headland" else "headland"
        found.append((first, f"{first} {over} {columns['crop'][one.passes[0]]}"))
    return found


def guidance_group(
    edition: Edition,
    ids: Ids,
    plane: Plane,
    guides: Sequence[GuideLine],
    names: Sequence[tuple[str, str]],
    operation: tuple[str, str],
) -> Any:  # noqa: ANN401 - of a version
    """Give the group of lines to steer by for one operation, as version 4 of the standard has it.

    Args:
        edition: the version.
        ids: gives ids.
        plane: the field's.
        guides: the lines, in the order driven.
        names: of each, as `names_of` gives them.
        operation: its name, and the same as the terminal lists it.
    """
    return edition.iso.GuidanceGroup(
        id=ids.new("GGP", operation[0]),
        designator=operation[1],
        guidance_patterns=[
            guidance_pattern(edition, plane, one, ids.new("GPN", operation[0], number), name)
            for one, (number, name) in zip(guides, names, strict=True)
        ],
    )
