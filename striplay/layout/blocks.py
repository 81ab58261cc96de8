"""Split a field into blocks, each with its own heading."""

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Generic, TypeVar

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.edges import edges_of
from striplay.geometry.frame import Frame
from striplay.geometry.inset import EndLines, Ends
from striplay.geometry.needles import without_needles
from striplay.geometry.slivers import real_parts
from striplay.ground import Ground
from striplay.kept import Kept
from striplay.layout.headland import ends_of, headland_beside, inside_headland, widest_pass_m
from striplay.plan.models import Plan
from striplay.tolerances import SLIVER_M2

Polygons = npt.NDArray[np.object_]
Found = TypeVar("Found")


HEADINGS_KEPT = 1000
"""Of so many headings that differ in their headland, a block's land is kept."""
OWN_KEPT = 2
"""Of so many headings that no other shares its headland with: the latest is asked for again."""


class _once(Generic[Found]):  # noqa: N801 - used as a decorator
    """A property that is found once for all blocks alike."""

    def __init__(self, find: "Callable[[FieldBlock], Found]") -> None:
        self.find = find
        self.__doc__ = find.__doc__

    def __get__(self, block: "FieldBlock", _: "type[FieldBlock]") -> Found:
        return block.kept.once(self.find.__name__, None, lambda: self.find(block))


@dataclass(frozen=True)
class FieldBlock:
    """A block of a field.

    Attributes:
        plan: its headland.
        ground: the whole field.
        part: the block, a polygon or several; the whole outline where there is one block.
        cuts: where it borders on other blocks.
        heading: "best", or degrees clockwise from true north.
        number: which block it is, from 1; 0 where it is the whole field.
    """

    plan: Plan
    ground: Ground
    part: shapely.Geometry
    cuts: shapely.Geometry
    heading: str | float
    number: int = 0

    @property
    def whole(self) -> bool:
        """Whether it is the whole field."""
        return self.number == 0

    @property
    def clearance_m2(self) -> float:
        """Its ground kept clear round obstacles given as points or lines."""
        clearance = self.ground.clearance
        return float((clearance if self.whole else overlay.intersection(clearance, self.part)).area)

    @property
    def steady(self) -> bool:
        """Whether the headland is the same whatever the heading."""
        return self.plan.headland.where != "ends" and (
            self.whole or self.plan.headland.where == "none"
        )

    def inner_at(self, frame: Frame) -> tuple[shapely.Geometry, Polygons]:
        """Give the land inside the headland, and the headland's polygons.

        Along a border with another block there is headland only where rows end on it.
        """
        return self._at(self._inner_at, frame)

    def _inner_at(self, frame: Frame) -> tuple[shapely.Geometry, Polygons]:
        runs, headland = self.runs_at(frame)
        if self._passed.is_empty:
            return runs, headland
        met = shapely.intersects(headland, self._passed)
        beside = self.land_of(shapely.multipolygons(headland[met]))
        return self.land_at(frame), np.append(headland[~met], shapely.get_parts(beside))

    def land_at(self, frame: Frame) -> shapely.Geometry:
        """Give the same land, without the headland's polygons."""
        return self._at(self._land_at, frame)

    def _land_at(self, frame: Frame) -> shapely.Geometry:
        return self.land_of(self.inside_at(frame))

    def land_of(self, ground: shapely.Geometry) -> shapely.Geometry:
        """Take what is lifted through or passed beside off ground."""
        passed = self._passed
        return ground if passed.is_empty else _areas(overlay.difference(ground, passed))

    @_once
    def steady_land(self) -> shapely.Geometry:
        """Its land, but for headland that is there whatever the heading."""
        if self.plan.headland.where == "ends":
            land = self.ground.land
            return land if self.whole else overlay.intersection(land, self.part)
        return self.land_of(self._inside)

    @_once
    def land_m2(self) -> float:
        """Area of its land, headland and all."""
        land = self.ground.land
        return float((land if self.whole else overlay.intersection(land, self.part)).area)

    def ends_m(self, frame: Frame) -> float:
        """Measure the boundary or borders that have headland because rows end on them."""
        at = self._ends if self.plan.headland.where == "ends" else self._cut_ends
        return at.length_m(frame)

    @_once
    def _passed(self) -> shapely.Geometry:
        """What is not cropped and has no headland round it: lifted through, or passed beside."""
        return overlay.union_all([self.ground.through, *self.ground.beside])

    @_once
    def _runs_over(self) -> shapely.Geometry:
        """The block's part of the ground that the headland is set round."""
        land = self.ground.land if self._passed.is_empty else self.ground.rowed
        return land if self.whole else _areas(overlay.intersection(land, self.part))

    @_once
    def _ends(self) -> Ends:
        """Where rows end on it."""
        return ends_of(self._runs_over, self.plan)

    @_once
    def _cut_ends(self) -> EndLines:
        """Where rows end on its borders with other blocks."""
        return EndLines(self.cuts, self.plan.headland_width_m, widest_pass_m(self.plan))

    @cached_property
    def kept(self) -> Kept:
        """What was found of this block, or of one alike in all that its land goes by.

        That is the ground, the part of it, and where headland lies and how wide, and nothing else
        of a plan: whatever else of it changes, the land is found once.
        """
        plan = self.plan
        by = (plan.headland.where, plan.headland_width_m, widest_pass_m(plan))
        key = (self.whole, self.part, self.cuts, by)
        return self.ground.kept.once("block", key, lambda: Kept(HEADINGS_KEPT))

    def _at(self, find: Callable[[Frame], Found], frame: Frame) -> Found:
        """Give what is found at a heading, once for all headings that are alike."""
        like = self.alike(frame)
        if like is None:
            return self._own.once(find.__name__, frame, lambda: find(frame))
        return self.kept.once(find.__name__, like, lambda: find(frame))

    @_once
    def _own(self) -> Kept:
        """What was found at the last headings that have a headland of their own."""
        return Kept(OWN_KEPT)

    def alike(self, frame: Frame) -> Hashable | None:
        """Give a key that headings with the very same headland share; None where it has its own."""
        if self.steady:
            return True
        if self.plan.headland.where == "ends":
            return self._ends.alike(frame)
        return self._cut_ends.met(frame).tobytes()

    def runs_at(self, frame: Frame) -> tuple[shapely.Geometry, Polygons]:
        """Give the same as if the obstacles that machines lift through were land."""
        return self._at(self._found_at, frame)

    def _found_at(self, frame: Frame) -> tuple[shapely.Geometry, Polygons]:
        own, inner = self._runs_over, self.inside_at(frame)
        if self.whole or self.plan.headland.where == "ends":
            ends = self._ends if self.plan.headland.where == "ends" else None
            return inner, headland_beside(own, inner, self.plan, frame, ends)
        return inner, shapely.get_parts(_areas(overlay.difference(own, inner)))

    def inside_at(self, frame: Frame) -> shapely.Geometry:
        """Give what `runs_at` gives of land, without the headland's polygons."""
        return self._at(self._inside_at, frame)

    def _inside_at(self, frame: Frame) -> shapely.Geometry:
        if self.plan.headland.where == "ends":
            return inside_headland(self._runs_over, self.plan, frame, self._ends)
        if self.whole:
            return inside_headland(self._runs_over, self.plan, frame)
        beside = self._beside_cuts(frame)
        inner = self._inside
        return inner if beside.is_empty else _areas(overlay.difference(inner, beside))

    def _beside_cuts(self, frame: Frame) -> shapely.Geometry:
        """Give the ground within a headland's width of the cuts that rows end on."""
        ends, width_m = self._cut_ends, self.plan.headland_width_m
        met = ends.met(frame)
        if width_m == 0.0 or not met.any():
            return shapely.Polygon()
        segments = shapely.linestrings(np.stack([ends.start[met], ends.end[met]], axis=1))
        return overlay.union_all(shapely.buffer(segments, width_m, cap_style="square"))

    @_once
    def _inside(self) -> shapely.Geometry:
        """What lies inside the field's headland all round."""
        inner = inside_headland(self.ground.rowed, self.plan, None)
        return _areas(overlay.intersection(inner, self.part))


def _areas(geometry: shapely.Geometry) -> shapely.Geometry:
    return shapely.multipolygons(without_needles(real_parts(geometry)[0]))


def one_block(plan: Plan, ground: Ground) -> FieldBlock:
    """Take the whole field as one block."""
    nothing = shapely.MultiLineString()
    return FieldBlock(plan, ground, ground.outline, nothing, plan.direction.heading)


def split_blocks(
    plan: Plan, ground: Ground, parts: Iterable[tuple[shapely.Geometry, str | float]]
) -> list[FieldBlock]:
    """Make blocks of parts that cover the field; each borders on the others."""
    listed = list(parts)
    if len(listed) == 1:
        return [replace(one_block(plan, ground), heading=listed[0][1])]
    blocks = []
    for index, (part, heading) in enumerate(listed):
        others = overlay.union_all([other for i, (other, _) in enumerate(listed) if i != index])
        shared = overlay.intersection(part, others)
        pieces = shapely.get_parts(shared)
        lines = pieces[shapely.get_dimensions(pieces) == 1]
        cuts = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(lines)))
        border = shapely.multilinestrings(cuts)
        blocks.append(FieldBlock(plan, ground, part, border, heading, index + 1))
    return blocks


def cut_outline(
    outline: shapely.Geometry, lines: shapely.Geometry | None, polygons: Iterable[shapely.Geometry]
) -> list[shapely.Geometry]:
    """Cut a field's outline by polygons, first come first served, and what is left by lines.

    Returns:
        The parts, polygons first, each with some of the field.
    """
    parts, rest = [], outline
    for polygon in polygons:
        own = _areas(overlay.intersection(rest, polygon))
        if own.area > SLIVER_M2:
            parts.append(own)
            rest = _areas(overlay.difference(rest, polygon))
    if lines is not None and not lines.is_empty:
        rings = shapely.boundary(rest)
        faces = shapely.get_parts(shapely.polygonize([*_noded(rings, lines)]))
        inside = shapely.contains_xy(rest, *shapely.get_coordinates(
            shapely.point_on_surface(faces)).T) if len(faces) else []  # fmt: skip
        parts += list(faces[np.asarray(inside, dtype=bool)])
    elif not rest.is_empty:
        parts.append(rest)
    return parts


def _noded(rings: shapely.Geometry, lines: shapely.Geometry) -> Polygons:
    return np.asarray(shapely.get_parts(overlay.union_all([rings, lines])), dtype=object)


def reflex_points(outline: shapely.Geometry, least_deg: float = 20.0) -> npt.NDArray[np.float64]:
    """Give the vertices at which a field bends inward by more than an angle, (n, 2)."""
    edges = edges_of(outline)
    found = []
    for ring in np.unique(edges.ring):
        own = edges.ring == ring
        start, step = edges.start[own], (edges.end - edges.start)[own]
        before = np.roll(step, 1, axis=0)
        cross = before[:, 0] * step[:, 1] - before[:, 1] * step[:, 0]
        turn_deg = np.degrees(np.arctan2(cross, np.einsum("ij,ij->i", before, step)))
        found.append(start[turn_deg < -least_deg])
    return np.concatenate(found) if found else np.empty((0, 2))
