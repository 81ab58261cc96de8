"""Lay a plan on its ground, block by block: choose a heading, sweep, and drive it."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.frame import Frame
from striplay.geometry.path import Path, Straight
from striplay.geometry.slivers import real_parts
from striplay.ground import Ground
from striplay.layout.across import Across, repeat_section
from striplay.layout.blocks import FieldBlock, one_block
from striplay.layout.course import Course
from striplay.layout.numbers import numbers_carried
from striplay.layout.pieces import Pieces, sweep_section
from striplay.notices import Notice
from striplay.operations.clear import barred, extents, may_be_barred
from striplay.operations.passes import (
    field_of,
)
from striplay.operations.round import Verge
from striplay.operations.travel import travels
from striplay.plan.models import Plan
from striplay.room import no_strip
from striplay.search.choice import Choice
from striplay.search.cost import PARTS
from striplay.search.headings import (
    Searched,
    from_side,
    search,
    stated,
    to_draw,
    usual,
    weigh_sets,
)
from striplay.search.land import has_long_edge
from striplay.section.section import Section
from striplay.section.strips import narrowest_m
from striplay.tolerances import BORDERS_SHARE, TOLD_M2
from striplay.units import format_area, format_length

Geometries = npt.NDArray[np.object_]

MOST_SWEEPS = 4
"""Ground that no pass can reach is taken off so often."""


@dataclass(frozen=True)
class LaidBlock:
    """A block of the field, all of it where there is one, with strips along one path.

    Attributes:
        path: what strips follow.
        inner: the land inside the headland, on the local plane.
        across: the set repeated over the land.
        pieces: strips, rows and leftover, on the path's own plane.
        choice: the heading and offset, and their cost; None along a curve.
        searched: what the search found; None where the heading was stated.
        first_strip: strips in the blocks before this one.
        first_set: sets in the blocks before this one.
        first_piece: pieces of strips in the blocks before this one.
        numbers: of each place across, where a plan carries numbers on; None where strips that are
            planted are counted.
    """

    path: Path
    inner: shapely.Geometry = field(repr=False)
    across: Across = field(repr=False)
    pieces: Pieces = field(repr=False)
    choice: Choice | None = None
    searched: Searched | None = field(default=None, repr=False)
    first_strip: int = 0
    first_set: int = 0
    first_piece: int = 0
    numbers: tuple[int, ...] | None = None

    @property
    def heading_deg(self) -> float:
        """Direction of travel; of a curve, from its one end to the other."""
        return self.path.frame.heading_deg

    @property
    def strip_number(self) -> npt.NDArray[np.int64]:
        """Number of each piece's strip, from 1 over all blocks; strips without land have none."""
        if self.numbers is not None:
            return np.array(self.numbers, dtype=np.int64)[self.pieces.strips.strip]
        present, rank = np.unique(self.pieces.strips.strip, return_inverse=True)
        return np.asarray(rank + self.first_strip + 1 if len(present) else rank, dtype=np.int64)

    @property
    def set_number(self) -> npt.NDArray[np.int64]:
        """Number of the set of each piece, counted likewise."""
        sets = self.across.set_number[self.pieces.strips.strip]
        _, rank = np.unique(sets, return_inverse=True)
        return np.asarray(rank + self.first_set + 1, dtype=np.int64)


@dataclass(frozen=True)
class Laid:
    """A plan laid on its ground.

    Attributes:
        section: the set.
        blocks: the blocks, in order.
        headland: polygons of the headland, on the local plane.
        verges: pieces of strips too narrow to be planted as such, which joined the headland.
        whole: the field as one block, to weigh the usual heading on; None along a curve, or where
            no edge is long.
        notices: what the user should know.
    """

    section: Section
    blocks: tuple[LaidBlock, ...]
    headland: Geometries = field(repr=False)
    verges: tuple[Verge, ...] = field(default=(), repr=False)
    whole: FieldBlock | None = field(default=None, repr=False)
    notices: tuple[Notice, ...] = ()

    @cached_property
    def usual(self) -> Choice | None:
        """Along the field's longest edge, at the best offset there; None as `whole`."""
        whole, searched = self.whole, self.blocks[0].searched
        if whole is None:
            return None
        if searched is not None and len(self.blocks) == 1:
            return searched.usual
        return usual(whole.plan, self.section, whole)

    @property
    def parts(self) -> dict[str, float] | None:
        """Money a year by part, of all blocks; None along a curve."""
        choices = [block.choice for block in self.blocks]
        if any(choice is None for choice in choices):
            return None
        each = [choice.parts for choice in choices if choice is not None]
        return dict(zip(PARTS, map(sum, zip(*each, strict=True)), strict=True))

    @property
    def leftover(self) -> Geometries:
        """Land that no strip covers, on the local plane."""
        parts = [block.path.back(block.pieces.leftover) for block in self.blocks]
        return np.concatenate(parts)


def lay_straight(
    plan: Plan,
    section: Section,
    ground: Ground,
    blocks: list[FieldBlock] | None = None,
    notices: tuple[Notice, ...] = (),
) -> Laid:
    """Lay a plan on its ground in straight strips.

    Args:
        plan: what was asked.
        section: the set.
        ground: the field.
        blocks: its blocks; one where None.
        notices: what the user should know of the blocks.

    Raises:
        NoStripError: no strip can be laid, on the field or on a block of it.
    """
    whole = one_block(plan, ground)
    blocks = blocks or [whole]
    swept = [_lay_block(plan, section, ground, block) for block in blocks]
    if not any(len(one.block.pieces.strips.strip) for one in swept):
        raise no_strip(plan, section, land=True)
    long = whole.kept.once("long edge", None, lambda: has_long_edge(whole.part))
    compared = section.usual is None and long
    laid = _together(section, swept, whole if compared else None, notices)
    return _numbered_on(plan, laid)


def sweep_by(block: FieldBlock, choice: Choice) -> Laid:
    """Sweep a set over a block by a choice, with no other layout beside it.

    Args:
        block: the land; what it leaves inside its headland is kept for the next choice.
        choice: heading, offset and set.

    Raises:
        NoStripError: no strip can be laid by it.
    """
    plan, section = block.plan, choice.section
    swept = _first_drawn(plan, block.ground, block, [choice])
    if swept is None:
        land = not block.inner_at(Frame(choice.heading_deg))[0].is_empty
        raise no_strip(plan, section, land=land, block=block.number)
    return _together(section, [swept], None, ())


def best_of(block: FieldBlock, section: Section) -> Choice | None:
    """Search a block for the choice that `lay_straight` takes; None where none gives a strip."""
    plan = block.plan
    choices = to_draw(plan, section, block, search(plan, section, block))
    swept = _first_drawn(plan, block.ground, block, choices)
    return None if swept is None else swept.block.choice


def _first_drawn(
    plan: Plan, ground: Ground, block: FieldBlock, choices: Iterable[Choice]
) -> "_SweptBlock | None":
    """Sweep a block by the first of some choices that gives a strip."""
    for choice in choices:
        swept = _draw(plan, ground, block, choice)
        if swept is not None:
            return replace(swept, block=replace(swept.block, choice=choice))
    return None


def _lay_block(plan: Plan, section: Section, ground: Ground, block: FieldBlock) -> "_SweptBlock":
    """Lay a block by the first of its choices that gives a strip; one of several may be bare.

    Nearly always that is the first of all: the search knows of most ground that no strip fits on.
    """
    searched = search(plan, section.plain, block) if block.heading == "best" else None
    choices: Iterable[Choice]
    if searched is not None and section.usual is None:
        choices = to_draw(plan, section, block, searched)
    elif searched is not None:
        # a trial's first plot begins at the side: an offset of its set alone would cut it
        found_deg = dict.fromkeys(
            one.heading_deg for one in to_draw(plan, section.plain, block, searched)
        )
        choices = (from_side(plan, section, block, one_deg) for one_deg in found_deg)
        searched = None
    elif section.usual is not None:
        choices = [from_side(plan, section, block, float(block.heading))]
    else:
        choices = [stated(plan, section, block, float(block.heading))]
    found = _first_drawn(plan, ground, block, choices)
    if found is not None:
        return replace(found, block=replace(found.block, searched=searched))
    heading_deg = 0.0 if block.heading == "best" else float(block.heading)
    land = not block.inner_at(Frame(heading_deg))[0].is_empty
    bare = stated(plan, section, block, heading_deg)
    swept = _draw(plan, ground, block, bare, or_bare=True) if block.number else None
    if swept is None:
        raise no_strip(plan, section, land=land, block=block.number)
    return replace(swept, block=replace(swept.block, choice=bare, searched=searched))


def _draw(
    plan: Plan, ground: Ground, block: FieldBlock, choice: Choice, *, or_bare: bool = False
) -> "_SweptBlock | None":
    """Sweep a block by a choice; None where that gives no strip, unless it may be bare."""
    path = Straight(Frame(choice.heading_deg))
    inner, headland = block.inner_at(path.frame)
    if inner.is_empty:
        return None
    _, bottom_m, _, top_m = path.onto(inner)[0].bounds
    start = plan.direction.start
    across = repeat_section(choice.section, bottom_m, top_m, start, choice.offset_m)
    swept = _sweep(plan, choice.section, ground, path, across, start, inner, headland)
    return swept if or_bare or len(swept.block.pieces.strips.strip) else None


def lay_along(plan: Plan, section: Section, ground: Ground, course: Course) -> Laid:
    """Lay a plan on its ground along a curve; arguments and errors as in `lay_straight`.

    A set begins at a key line, or at the center of rings.
    """
    path, block = course.path, one_block(plan, ground)
    inner, headland = block.inner_at(path.frame)
    if inner.is_empty:
        raise no_strip(plan, section, land=False)
    start, offset_m = plan.direction.start, 0.0
    if path.around is not None:
        start = "right"
    else:
        end_m = course.high_m if start == "left" else -course.low_m
        offset_m = (section.width_m - end_m % section.width_m) % section.width_m
    across = repeat_section(section, course.low_m, course.high_m, start, offset_m)
    swept = _sweep(plan, section, ground, path, across, start, inner, headland, course.hub)
    if not len(swept.block.pieces.strips.strip):
        raise no_strip(plan, section, land=True)
    return _numbered_on(plan, _together(section, [swept], None, course.notices))


def search_whole(plan: Plan, sections: list[Section], ground: Ground) -> Searched:
    """Search the whole field as one block for a set, and weigh other sets beside it.

    What comes before the first of the best that gives a strip when it is drawn is left out.

    Args:
        plan: what was asked.
        sections: the set, then the others.
        ground: the field.

    Raises:
        NoStripError: no strip can be laid.
    """
    block = one_block(plan, ground)
    found = search(plan, sections[0], block)
    drawn = _first_drawn(plan, ground, block, to_draw(plan, sections[0], block, found))
    choice = None if drawn is None else drawn.block.choice
    if choice is not None:
        first = found.best.index(choice) if choice in found.best else None
        best = (choice,) if first is None else found.best[first:]
        sets = weigh_sets(plan, sections, block, best)
        return replace(found, drawn=best, sets=tuple(sets))
    land = not block.inner_at(Frame(0.0))[0].is_empty
    raise no_strip(plan, sections[0], land=land)


@dataclass(frozen=True)
class _SweptBlock:
    """A block, its headland, and what joined it."""

    block: LaidBlock
    headland: Geometries
    verges: tuple[Verge, ...]
    notices: tuple[Notice, ...]


def _sweep(
    plan: Plan,
    section: Section,
    ground: Ground,
    path: Path,
    across: Across,
    start: str,
    inner: shapely.Geometry,
    headland: Geometries,
    hub: shapely.Geometry | None = None,
) -> _SweptBlock:
    """Sweep a set over a block; ground that no pass can reach is left over."""
    land = path.onto(inner)[0]
    bare = np.empty(0, dtype=object)
    if hub is not None and not hub.is_empty:
        bare = real_parts(overlay.intersection(land, path.onto(hub)[0]), land.area)[0]
        land = overlay.difference(land, path.onto(hub)[0])
    field_to_drive = field_of(ground, path)
    beside = np.array(ground.beside, dtype=object)
    slender = np.empty(0, dtype=object)
    lost = np.empty(0, dtype=object)
    for turn in range(MOST_SWEEPS + 1):
        pieces = sweep_section(
            land,
            section,
            across,
            path,
            shortest_m=plan.direction.shortest_m or 0.0,
            narrowest_m=narrowest_m(plan, section),
            bare=bare,
        )
        if turn == MOST_SWEEPS:
            break
        driven = travels(section, across, pieces, start, lambda one: may_be_barred(one, beside))
        found = barred(section, driven, field_to_drive, beside)
        if not len(found.unreached) and not len(found.narrow):
            break
        thin = overlay.union_all(found.narrow)
        cells = overlay.difference(overlay.union_all(found.unreached), thin)
        gone, few = (
            real_parts(overlay.intersection(land, ground), land.area)[0] for ground in (cells, thin)
        )
        if not len(gone) and not len(few):
            break
        lost = np.concatenate([lost, gone])
        bare, slender = np.concatenate([bare, gone]), np.concatenate([slender, few])
        land = shapely.multipolygons(
            real_parts(overlay.difference(land, overlay.union_all([cells, thin])), land.area)[0]
        )
    notices: list[Notice] = []
    lost_m2 = float(shapely.area(lost).sum())
    if lost_m2 > TOLD_M2:
        area, spot, place = _biggest(plan, ground, path.back(lost))
        said = (
            f"{area} beside obstacles and slanting ends can't be reached by a machine and is left "
            f"over, the most of it at {place}"
        )
        notices.append(Notice("passes", "mind", spot, said))
    pieces = replace(pieces, narrow=np.concatenate([pieces.narrow, slender]))
    narrow = path.back(pieces.narrow)
    beside_edge = _borders(narrow, headland)
    verges = tuple(
        Verge(path, *_extent(path, polygon, headland)) for polygon in narrow[beside_edge]
    )
    left = pieces.narrow[~beside_edge]
    if shapely.area(left).sum() > TOLD_M2:
        area, spot, place = _biggest(plan, ground, narrow[~beside_edge])
        if any(one.strip is None for one in section.passes):
            said = (
                f"{area} where fewer than half the rows of a planter pass fit are left over, the "
                f"most of it at {place}: no headland lies beside them"
            )
        else:
            said = (
                f"{area} in strips too narrow to plant (under {_narrowest(plan, section)}) are "
                f"left over, the most of it at {place}: no headland lies beside them, and the next "
                "strip's machines would need a pass more"
            )
        notices.append(Notice("passes", "mind", spot, said))
    pieces = replace(pieces, leftover=np.concatenate([pieces.leftover, left]))
    return _SweptBlock(
        LaidBlock(path, inner, across, pieces),
        np.concatenate([headland, narrow[beside_edge]]),
        verges,
        tuple(notices),
    )


def _biggest(plan: Plan, ground: Ground, areas: Geometries) -> tuple[str, tuple[float, float], str]:
    """Measure areas on the local plane together, and say where the largest lies, twice."""
    center = shapely.get_coordinates(
        shapely.point_on_surface(areas[int(np.argmax(shapely.area(areas)))])
    )[0]
    area = format_area(float(shapely.area(areas).sum()), plan.units)
    return area, ground.plane.spot(center), ground.plane.place(center)


def _narrowest(plan: Plan, section: Section) -> str:
    """Say how wide a strip must be."""
    return format_length(float(np.max(narrowest_m(plan, section))), plan.units)


def _borders(narrow: Geometries, headland: Geometries) -> npt.NDArray[np.bool_]:
    """Tell which narrow pieces lie beside the headland with their long side."""
    if not len(narrow) or not len(headland):
        return np.zeros(len(narrow), dtype=bool)
    # as parts of one geometry they lie apart; corners need no rounding by so little
    near = shapely.buffer(shapely.multipolygons(headland), 1e-3, quad_segs=1)
    edges = shapely.boundary(narrow)
    shared = shapely.length(overlay.intersection(edges, near))
    return np.asarray(shared > BORDERS_SHARE * shapely.length(edges), dtype=bool)


def _extent(
    path: Path, polygon: shapely.Geometry, headland: Geometries
) -> tuple[float, float, float, float, bool]:
    """Give from where to where a narrow piece lies, and whether headland lies to its left."""
    points = shapely.get_coordinates(polygon)
    across = path.across_of(points)
    low, high = float(across.min()), float(across.max())
    begin, end = extents(np.array([polygon]), path, np.array([(low + high) / 2]))
    near = shapely.dwithin(shapely.multipolygons(headland), shapely.points(points), 1e-3)
    left = bool(across[near].mean() > (low + high) / 2) if near.any() else False
    return float(begin[0]), float(end[0]), low, high, left


def _numbered_on(plan: Plan, laid: Laid) -> Laid:
    """Give strips the numbers that their places had before, where the plan carries them on."""
    planted = [np.unique(block.pieces.strips.strip).tolist() for block in laid.blocks]
    numbers = numbers_carried(plan, planted, [len(block.across.kind) for block in laid.blocks])
    if numbers is None:
        return laid
    each = zip(laid.blocks, numbers, strict=True)
    return replace(laid, blocks=tuple(replace(block, numbers=own) for block, own in each))


def _together(
    section: Section,
    swept: list[_SweptBlock],
    whole: FieldBlock | None,
    notices: tuple[Notice, ...],
) -> Laid:
    """Number strips, sets and pieces on from block to block."""
    laid: list[LaidBlock] = []
    for one in swept:
        before = laid[-1] if laid else None
        laid.append(
            replace(
                one.block,
                first_strip=int(before.strip_number.max(initial=0)) if before else 0,
                first_set=int(before.set_number.max(initial=0)) if before else 0,
                first_piece=before.first_piece + len(before.pieces.strips.strip) if before else 0,
            )
        )
    told = [notice for one in swept for notice in one.notices]
    bare = [not len(one.block.pieces.strips.strip) for one in swept]
    said = (
        "block {} has no strip: inside its headland there is too little width, or no row long "
        "enough; join it to another, or make [direction] shortest shorter"
    )
    numbers = [number for number, without in enumerate(bare, start=1) if without]
    told += [Notice("blocks", "mind", None, said.format(number)) for number in numbers]
    return Laid(
        section,
        tuple(laid),
        np.concatenate([one.headland for one in swept]),
        tuple(verge for one in swept for verge in one.verges),
        whole,
        (*notices, *told),
    )
