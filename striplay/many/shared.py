"""Say which fields of a file share ground, or a name: each is laid as if there were no other."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import islice

import numpy as np
import numpy.typing as npt
import shapely

from striplay.crs import into_degrees
from striplay.errors import BoundaryError
from striplay.files.shapes import checked_shapes
from striplay.geometry import overlay
from striplay.ground import Plane
from striplay.limits import MOST_FIELDS_COMPARED, MOST_OVERLAPS, MOST_TOLD_PAIRS
from striplay.many.field import Feature
from striplay.many.template import Template
from striplay.notices import Notice
from striplay.plain import shortened
from striplay.tolerances import DRAWN_M, TOLD_M2
from striplay.units import format_area

Geometries = npt.NDArray[np.object_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

POLE_DEG = 89.0
"""No plane of fields is centered nearer to a pole."""
AT_A_TIME = 200
"""So many fields are held against all others at a time: all others may be neighbors."""
PAIRS_AT_A_TIME = 1_000
"""So many pairs are measured at a time."""


class Shared:
    """The fields of a file, held beside each other as far as there are not too many.

    A field that can't be read is refused for itself, and no neighbor of any.

    Attributes:
        full: whether there are too many, so that none is held.
    """

    def __init__(self, template: Template, most: int = MOST_FIELDS_COMPARED) -> None:
        self._template, self._most = template, most
        self._count = 0
        self._called: dict[str, list[int]] = defaultdict(list)
        self._fields: list[tuple[int, str]] = []
        self._shapes: list[shapely.Geometry] = []

    @property
    def full(self) -> bool:
        """Whether there are too many fields to hold them beside each other."""
        return self._count > self._most

    def add(self, feature: Feature) -> None:
        """Hold one more field beside the others."""
        self._count += 1
        if self.full:
            self._called.clear()
            self._fields.clear()
            self._shapes.clear()
            return
        template = self._template
        name = template.name_of(feature.number, feature.values)
        self._called[name].append(feature.number)
        try:
            found = checked_shapes(template.source, [("", feature.geometry)], template.crs).polygons
        except BoundaryError:
            return
        self._fields.append((feature.number, name))
        self._shapes.append(found[0] if len(found) == 1 else shapely.MultiPolygon(found))

    def notices(self) -> list[Notice]:
        """Say which share a name, and which share ground; each once."""
        if self.full:
            told = (
                f"{self._template.source}: has more than {self._most:,} fields; whether some "
                "overlap, or share a name, was not looked for"
            )
            return [Notice("boundary", "know", None, told)]
        return [*self._of_names(), *self._of_ground()]

    def of_each(self) -> dict[int, tuple[Notice, ...]]:
        """Give what there is to mind of each field beside the others, by its number."""
        told: dict[int, list[Notice]] = defaultdict(list)
        one, other, area_m2, spots = self._overlaps
        most = np.argsort(-area_m2, kind="stable")
        beside: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for at in most:
            beside[one[at]].append((other[at], at))
            beside[other[at]].append((one[at], at))
        for field, pairs in beside.items():
            each = [
                f"{_named(*self._fields[neighbor])} by {self._area(area_m2[at])}"
                for neighbor, at in pairs[:MOST_TOLD_PAIRS]
            ]
            said = (
                f"overlaps {_listed(each, len(pairs))}; ground of both is laid, counted and seeded "
                "twice: see whose it is"
            )
            spot = float(spots[pairs[0][1], 0]), float(spots[pairs[0][1], 1])
            told[self._fields[field][0]].append(Notice("boundary", "mind", spot, said))
        for those in self._called.values():
            for number in those if len(those) > 1 else ():
                first = [one for one in those[: MOST_TOLD_PAIRS + 1] if one != number]
                others = _listed([*map(str, first[:MOST_TOLD_PAIRS])], len(those) - 1)
                said = f"has the name of {others} too; tell them apart by number, or with --id"
                told[number].append(Notice("boundary", "mind", None, said))
        return {number: tuple(notices) for number, notices in told.items()}

    def _area(self, area_m2: float) -> str:
        return format_area(float(area_m2), self._template.plan.units)

    @cached_property
    def _overlaps(self) -> tuple[Integers, Integers, Floats, Floats]:
        """What the fields share, once all are there, as `overlaps` gives it."""
        return overlaps(self._in_degrees())

    def _of_names(self) -> Iterator[Notice]:
        """Say which names are given more than once."""
        twice = {name: those for name, those in self._called.items() if len(those) > 1}
        if not twice:
            return
        each = [
            f'"{shortened(name)}" to {_listed([*map(str, those[:MOST_TOLD_PAIRS])], len(those))}'
            for name, those in islice(twice.items(), MOST_TOLD_PAIRS)
        ]
        said = (
            f"{self._template.source}: the same name is given to several fields: "
            f"{_listed(each, len(twice))}; tell them apart by number, or name another column with "
            "--id"
        )
        yield Notice("boundary", "mind", None, said)

    def _of_ground(self) -> Iterator[Notice]:
        """Say which fields overlap, those that share most ground first."""
        one, other, area_m2, spots = self._overlaps
        if not len(one):
            return
        most = np.argsort(-area_m2, kind="stable")
        each = [
            f"{_named(*self._fields[one[at]])} and {_named(*self._fields[other[at]])} by "
            f"{self._area(area_m2[at])}"
            for at in most[:MOST_TOLD_PAIRS]
        ]
        spot = float(spots[most[0], 0]), float(spots[most[0], 1])
        rest = ", and others that were not looked for" if len(most) > MOST_OVERLAPS else ""
        said = (
            f"{self._template.source}: fields overlap: {_listed(each, len(most))}{rest}; ground of "
            "both is laid, counted and seeded twice: see whose it is"
        )
        yield Notice("boundary", "mind", spot, said)

    def _in_degrees(self) -> Geometries:
        """Give the shapes in longitude and latitude, valid; what can't be is empty."""
        shapes = np.array(self._shapes, dtype=object)
        there = into_degrees(self._template.crs)
        turned = shapely.transform(
            shapes, lambda points: np.column_stack(there.transform(points[:, 0], points[:, 1]))
        )
        points, of = shapely.get_coordinates(turned, return_index=True)
        bad = np.unique(of[~(np.abs(points) <= (360.0, 90.0)).all(axis=1)])  # or no numbers
        turned[bad] = shapely.MultiPolygon()
        folded = ~shapely.is_valid(turned)
        turned[folded] = shapely.make_valid(
            turned[folded], method="structure", keep_collapsed=False
        )
        return np.asarray(turned, dtype=object)


def overlaps(shapes: Geometries) -> tuple[Integers, Integers, Floats, Floats]:
    """Give which shapes overlap by more than boundaries are drawn to, the lesser index first.

    Args:
        shapes: polygons in longitude and latitude, valid, (n,).

    Returns:
        Of each pair the one, the other, the area that they share in m2, and a place of it as
        longitude and latitude, (k, 2); of no more pairs than one past `MOST_OVERLAPS`.
    """
    found = [(np.empty((0, 2), dtype=np.int64), np.empty(0), np.empty((0, 2)))]
    count = 0
    for pairs in _neighbors(shapes):
        # a plane a degree across is true to a few parts in a hundred thousand
        cell = np.floor(shapely.bounds(shapes[pairs[:, 0]])[:, :2])
        for corner in np.unique(cell, axis=0):
            here = pairs[(cell == corner).all(axis=1)]
            longitude, latitude = (corner + 0.5).tolist()
            plane = Plane(longitude, min(latitude, POLE_DEG))
            found.append(_shared(shapes, here, plane))
            count += len(found[-1][0])
        if count > MOST_OVERLAPS:
            break
    pairs, area_m2, spots = (
        np.concatenate(each)[: MOST_OVERLAPS + 1] for each in zip(*found, strict=True)
    )
    return pairs[:, 0], pairs[:, 1], area_m2, spots


def _neighbors(shapes: Geometries) -> Iterator[Integers]:
    """Give which shapes meet, the lesser index first, some at a time, (k, 2) each."""
    tree = shapely.STRtree(shapes)
    for begin in range(0, len(shapes), AT_A_TIME):
        one, other = tree.query(shapes[begin : begin + AT_A_TIME])
        pairs = np.column_stack([one + begin, other])
        pairs = pairs[pairs[:, 0] < pairs[:, 1]]
        for first in range(0, len(pairs), PAIRS_AT_A_TIME):
            some = pairs[first : first + PAIRS_AT_A_TIME]
            yield some[shapely.intersects(*shapes[some.T])]


def _shared(shapes: Geometries, pairs: Integers, plane: Plane) -> tuple[Integers, Floats, Floats]:
    """Measure on a plane what pairs share, and keep those that share more than is drawn."""
    one, other = (shapely.transform(shapes[each], plane.to_plane) for each in pairs.T)
    common = overlay.intersection(one, other)
    area_m2 = shapely.area(common)
    around_m = shapely.length(common)
    wide_m = np.divide(2 * area_m2, around_m, out=np.zeros(len(pairs)), where=around_m > 0)
    real = (area_m2 > TOLD_M2) & (wide_m > DRAWN_M)
    points = shapely.get_coordinates(shapely.point_on_surface(common[real]))
    spots = np.array([plane.spot(point) for point in points]).reshape(-1, 2)
    return pairs[real], area_m2[real], spots


def _named(number: int, name: str) -> str:
    """Name a field by its number, and what else it is called."""
    return str(number) if name == f"feature {number}" else f'{number} "{shortened(name)}"'


def _listed(first: Sequence[str], count: int) -> str:
    """List the first of some words, and how many more there are."""
    if count > len(first):
        return f"{', '.join(first)} and {count - len(first):,} more"
    *before, last = first
    return f"{', '.join(before)} and {last}" if before else last
