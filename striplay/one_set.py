"""Tell how one set is planted, as its operator sees it: which unit works which row."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from striplay.laid import Laid, LaidBlock
from striplay.operations.passes import Passes
from striplay.operations.under import parts_of, parts_over
from striplay.plan.models import Plan
from striplay.section.section import Pass, Section
from striplay.section.tramlines import pass_on
from striplay.tolerances import WIDTH_M
from striplay.worksheet import Worksheet

Integers = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class DrivenPass:
    """A planter's pass, left and right as its operator sees them.

    Attributes:
        job: the operation's name.
        machine: the planter.
        crop: what it plants.
        number: of the pass, as in the layer `passes`.
        heading_deg: which way it is driven, where it begins.
        back: whether it is driven against the way the set is looked along.
        parts: what the planter's parts are called: units or openers; width where it has none.
        rows: the row of the section that each part works, from its left; -1 where it is off.
        strip_of: number of the strip that each part works in, likewise; 0 where it is off.
        rows_on: the same in words, as in the layer `passes`.
        left: number of the strip beside it at the left; None where there is none.
        right: likewise.
        first: whether it lies in the set that is looked at, not in another driven the other way.
    """

    job: str
    machine: str
    crop: str
    number: int
    heading_deg: float
    back: bool
    parts: str
    rows: tuple[int, ...]
    strip_of: tuple[int, ...]
    rows_on: str
    left: int | None
    right: int | None
    first: bool = True


@dataclass(frozen=True)
class OneSet:
    """The first whole set of a field, or the one that is nearest to whole.

    Attributes:
        section: the set as it is seen looking along the rows, what lies left at the left.
        strips: the number of each of its strips.
        number: of the set.
        heading_deg: which way is looked; of rings, none.
        curved: whether rows follow a curve, so that the heading is only about right.
        around: whether they are rings, and the look is clockwise.
        passes: of its planters, in the order driven; of each operation the first that is driven
            the other way too.
        whole: whether all its rows stand somewhere.
        booms: passes over it of booms over several strips, where they are driven, a pass for each
            operation; places as in the section.
    """

    section: Section
    strips: tuple[int, ...]
    number: int
    heading_deg: float
    curved: bool
    around: bool
    passes: tuple[DrivenPass, ...]
    whole: bool
    booms: tuple[Pass, ...] = ()


def one_set(plan: Plan, laid: Laid, sheets: Sequence[Worksheet]) -> OneSet:
    """Look at the first whole set of the first block with strips, from behind its planters.

    Args:
        plan: the machines.
        laid: the strips.
        sheets: the season's operations, as their operators are told of them.
    """
    at = next(i for i, block in enumerate(laid.blocks) if len(block.pieces.strips.strip))
    block, section = laid.blocks[at], laid.section
    right = block.path.around is not None or plan.direction.start == "right"
    number, whole = _set_of(block, section)
    strips = block.pieces.strips
    mine = block.across.set_number[strips.strip] == number
    names = dict(zip(strips.kind[mine].tolist(), block.strip_number[mine].tolist(), strict=True))
    bounds_m = _bounds_m(block, section, number, right=right)
    passes = _passes(plan, laid, sheets, at, bounds_m)
    seen = section.from_first_strip()
    ordered = [names.get(kind, 0) for kind in range(len(section.strips))]
    seen = _numbered(seen, passes)
    low_m, high_m = bounds_m
    left_m = low_m + section.left_m + section.width_m if right else high_m - section.left_m
    return OneSet(
        seen.mirrored() if right else seen,
        tuple(ordered[::-1] if right else ordered),
        int(block.set_number[np.flatnonzero(mine)[0]]),
        block.heading_deg,
        plan.curved,
        block.path.around is not None,
        tuple(passes),
        whole,
        tuple(_booms(section, sheets, at, left_m)),
    )


def _set_of(block: LaidBlock, section: Section) -> tuple[int, bool]:
    """Choose the first set with most of its strips whole; say whether all are."""
    strips = block.pieces.strips
    sets = block.across.set_number[strips.strip]
    found = np.unique(sets)
    counts = [len(np.unique(strips.kind[(sets == one) & strips.whole])) for one in found]
    best = int(np.argmax(counts))
    return int(found[best]), counts[best] == len(section.strips)


def _bounds_m(
    block: LaidBlock, section: Section, number: int, *, right: bool
) -> tuple[float, float]:
    """Give from where to where across the passes of a set lie: from its own first edge on."""
    across = block.across
    (strips,) = np.nonzero(across.set_number == number)
    strip = strips[0]
    off_m = section.strips[int(across.kind[strip])].left_m
    if right:
        low_m = float(across.low_m[strip]) - off_m
        return low_m, low_m + section.width_m
    high_m = float(across.high_m[strip]) + off_m
    return high_m - section.width_m, high_m


def _passes(
    plan: Plan,
    laid: Laid,
    sheets: Sequence[Worksheet],
    at: int,
    bounds_m: tuple[float, float],
) -> list[DrivenPass]:
    """List the planters' passes over a set in the order driven, operation by operation."""
    block, section, found = laid.blocks[at], laid.section, list[DrivenPass]()
    rows = block.pieces.rows
    for sheet in (one for one in sheets if one.judged.job.does == "plant"):
        name, driven = sheet.judged.job.machine, 0
        machine = plan.machines[name]
        for group in sheet.judged.route.groups:
            if group.place == "strips" and group.block == at and group.runs is not None:
                over = parts_over(group, machine, rows, section, block.path)
                kind = np.where(over >= 0, rows.kind[over], -1)
                strip = np.where(over >= 0, block.strip_number[rows.owner[over]], 0)
                for index, is_first in _shown(group, kind, bounds_m):
                    left, right = _beside(group, index, block)
                    found.append(
                        DrivenPass(
                            job=sheet.name,
                            machine=name,
                            crop=group.crop,
                            number=int(sheet.number[driven + index]),
                            heading_deg=float(sheet.heading_deg[driven + index]),
                            back=bool(group.back[index]),
                            parts=parts_of(machine)[0],
                            rows=tuple(kind[index].tolist()),
                            strip_of=tuple(strip[index].tolist()),
                            rows_on=str(sheet.rows_on[driven + index]),
                            left=left,
                            right=right,
                            first=is_first,
                        )
                    )
            driven += len(group)
    return found


def _booms(section: Section, sheets: Sequence[Worksheet], at: int, left_m: float) -> Iterator[Pass]:
    """Give the booms' passes over a set where they are driven; a line in one operation once.

    Lines need not lie alike over all sets, and beside a boundary a boom shifts inward.

    Args:
        section: the set.
        sheets: the season's operations.
        at: index of the block.
        left_m: distance across, on the block's path, of the edge that is seen at the left.
    """
    for lines in section.tramlines:
        found = dict[str, list[Passes]]()
        for group in (group for sheet in sheets for group in sheet.judged.route.groups):
            mine = (group.machine, group.operation) == (lines.machine, lines.operation)
            if mine and group.block == at and group.runs is not None:
                found.setdefault(group.crop, []).append(group)
        least_m = lines.pattern_m / len(lines.middles_m) / 2
        for crop, groups in found.items():
            middles_m = left_m - np.concatenate([one.runs.across_m for one in groups if one.runs])
            long_m = np.concatenate([one.worked_m for one in groups])
            off_m = np.abs(middles_m - section.width_m / 2)
            over = off_m < (section.width_m + lines.width_m) / 2 - WIDTH_M
            kept: list[float] = []
            for middle_m in middles_m[over][np.argsort(-long_m[over], kind="stable")].tolist():
                if all(abs(middle_m - other_m) > least_m for other_m in kept):
                    kept.append(middle_m)
            yield from (replace(pass_on(lines, one_m), crop=crop) for one_m in sorted(kept))


def _shown(group: Passes, kind: Integers, bounds_m: tuple[float, float]) -> list[tuple[int, bool]]:
    """Choose the passes of a set: of each line that with most parts on, and one the other way."""
    assert group.runs is not None  # noqa: S101 - over strips
    middle_m = (group.runs.low_m + group.runs.high_m) / 2
    mine = np.flatnonzero((middle_m > bounds_m[0]) & (middle_m < bounds_m[1]))
    on = (kind >= 0).sum(axis=1)
    lines = np.rint(group.runs.across_m / SAME_LINE_M).astype(np.int64)
    of_lines = (mine[lines[mine] == line] for line in np.unique(lines[mine]))
    chosen = sorted(int(same[np.argmax(on[same])]) for same in of_lines)
    found = [(index, True) for index in chosen]
    if chosen and len({bool(group.back[index]) for index in chosen}) == 1:
        like = set(kind[chosen[0]].tolist())
        others = np.flatnonzero((group.back != group.back[chosen[0]]) & (on == on[chosen[0]]))
        same = [index for index in others.tolist() if set(kind[index].tolist()) == like]
        found += [(index, False) for index in same[:1]]
    return sorted(found)


SAME_LINE_M = 0.01
"""Passes nearer to each other across than that are on one line."""
BESIDE_M = 1e-3
"""So far beyond a strip's edge lies what is beside it."""


def _beside(group: Passes, index: int, block: LaidBlock) -> tuple[int | None, int | None]:
    """Give the strips at the left and right of a pass; y runs to the left of the path."""
    runs = group.runs
    assert runs is not None  # noqa: S101 - over strips
    # rows may end short of their strip's edge, where a planter is not as wide as its strip
    across = block.across
    high_m, low_m = float(runs.high_m[index]), float(runs.low_m[index])
    under = (across.low_m < high_m - BESIDE_M) & (across.high_m > low_m + BESIDE_M)
    above = _strip_at(block, float(across.high_m[under].max(initial=high_m)) + BESIDE_M)
    below = _strip_at(block, float(across.low_m[under].min(initial=low_m)) - BESIDE_M)
    return (below, above) if group.back[index] else (above, below)


def _strip_at(block: LaidBlock, at_m: float) -> int | None:
    """Give the number of the strip at a distance across; None where none is laid."""
    across = block.across
    (there,) = np.nonzero((across.low_m < at_m) & (across.high_m > at_m))
    pieces = np.flatnonzero(np.isin(block.pieces.strips.strip, there))
    return int(block.strip_number[pieces[0]]) if len(pieces) else None


def _numbered(section: Section, passes: Sequence[DrivenPass]) -> Section:
    """Number a section's rows by the unit that is over each as driven; 0 where two ways differ."""
    unit = {
        row: place for one in passes if one.first for place, row in enumerate(one.rows, start=1)
    }
    several = any(one.strip is None and one.turned is None and one.operation == "plant"
                  for one in section.passes)  # fmt: skip
    rows = tuple(
        replace(row, unit=0 if several else unit.get(index, 0))
        for index, row in enumerate(section.rows)
    )
    return replace(section, rows=rows)
