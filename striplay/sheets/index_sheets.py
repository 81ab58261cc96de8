"""List the strips by number across the field: crop, rows, width, lengths, acres, seed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from reportlab.platypus import Flowable, PageBreak

from striplay.accounts.sowings import NO_SEED, Seed
from striplay.accounts.strip_lines import SownLine, StripLine, piece_lines, strip_lines
from striplay.accounts.told import told_areas
from striplay.accounts.words import amount_words
from striplay.operations.under import ranges
from striplay.plan.models import Plan
from striplay.section.mixture import is_mixture
from striplay.section.section import Layer
from striplay.section.trial import STRIPS
from striplay.sheets.book import Book
from striplay.sheets.flow import (
    CELL_PT,
    Column,
    Story,
    begin,
    gap,
    heading,
    high_mm,
    paragraph,
    side_by_side,
    table,
)
from striplay.sheets.fonts import width_pt
from striplay.sheets.style import HAIR_PT, LEADING, MM, RULE, SMALLEST_PT, TEXT_PT
from striplay.units import ACRE_M2, FOOT_M, HECTARE_M2, UnitSystem, format_area, trim

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

GAP_MM = 5.0
"""Between two tables beside each other."""
LARGEST_PT = 9.5
"""A short list is set in larger type, its rows as high as fill the page."""
SIZES_PT = (8.0, 7.5, SMALLEST_PT)
"""Type of a longer list, the largest that takes no more rows and pages."""
ROOMY_MM, STEP_MM = 6.5, 0.05
"""Rows are at most so high, and lower by so much until they have room."""
RULED = 5
"""A thin line stands under every strip whose number is a multiple of this."""
WIDTHS_MM = (10.8, 17.2, 11.0, 14.0, 18.6, 9.4, 12.4)
WIDE_MM = (16.0, 54.0, 18.0, 22.0, 32.0, 22.0, 27.0)
"""Columns of a table that takes half a page, and of one that takes all of it, in proportion."""


def index_story(book: Book, layout: "Layout") -> Story:
    """List the strips by number across the field."""
    plan = layout.plan
    strips = strip_lines(plan, layout.laid, layout.figures)
    pieces = piece_lines(plan, layout.laid, layout.figures)
    words = [paragraph(one, TEXT_PT, below_mm=0.8) for one in _intro(layout, strips)]
    totals = [gap(3.0), *_totals(book, layout, strips)]
    first_mm = book.room_mm - high_mm(words, book.inner_mm)
    last_mm = high_mm(totals, book.inner_mm)
    story = [*begin("Strips by number"), *words]
    wide = _groups(book, plan, strips, pieces, book.inner_mm, TEXT_PT)
    count = sum(len(one.rows) for one in wide)
    free_mm = first_mm - last_mm - _head_mm(LARGEST_PT)
    if count * _row_mm(TEXT_PT) <= free_mm:
        row_mm = min(free_mm / count, ROOMY_MM)
        size_pt = min(LARGEST_PT, (row_mm * MM - 1.6) / LEADING)
        return [*story, _table(plan, wide, book.inner_mm, size_pt, row_mm), *totals]
    half_mm = (book.inner_mm - GAP_MM) / 2
    rooms_mm = (first_mm, book.room_mm, last_mm)
    tried = []
    for size_pt in SIZES_PT:
        groups = _groups(book, plan, strips, pieces, half_mm, size_pt)
        pages, row_mm = _paged(groups, rooms_mm, size_pt)
        widths_mm = [one.width_mm for one in _heads(plan.units, half_mm)]
        cut = sum(not _fits(one.rows, widths_mm, size_pt) for one in groups)
        # larger type where no more is cut, and it takes no more rows nor pages
        worth = (cut, sum(len(one.rows) for one in groups), len(pages))
        tried.append((worth, size_pt, pages, row_mm))
    _, size_pt, pages, row_mm = min(tried, key=lambda one: one[0])
    for number, page in enumerate(pages):
        tables = [_table(plan, part, half_mm, size_pt, row_mm) for part in page if part]
        story += [PageBreak()] * (number > 0)
        if tables:
            story.append(side_by_side(tables, half_mm, GAP_MM))
    return [*story, *totals]


@dataclass(frozen=True)
class Group:
    """The rows of a strip, which stay together."""

    number: int
    rows: tuple[tuple[str, ...], ...]


def _intro(layout: "Layout", strips: Sequence[StripLine]) -> list[str]:
    """Say where the count begins, and what marks mean."""
    laid, plan = layout.laid, layout.plan
    side = plan.direction.start
    if laid.blocks[0].path.around is not None:
        begins = "Strip 1 lies at the center; numbers run outward."
    elif len(laid.blocks) == 1:
        facing = f"{round(laid.blocks[0].heading_deg) % 360:03d}°"
        begins = f"Strip 1 is the first at the {side}, facing {facing}."
    else:
        each = []
        for index, block in enumerate(laid.blocks):
            mine = [one.number for one in strips if one.block == index]
            if mine:
                facing = f"{round(block.heading_deg) % 360:03d}°"
                each.append(f"block {index + 1}, facing {facing}: strips {ranges(mine)}")
        begins = f"Strips are counted from the {side} in each block. {'; '.join(each)}."
    said = ["Length: mean of the rows. Seed in u: units as sold; in k: thousand seeds."]
    if any(len(one.pieces) > 1 for one in strips):
        said.append(
            "A strip in pieces has a figure for each, along travel: 48 / 31; or a line: 12.1, 12.2."
        )
    if not all(one.whole for one in strips):
        said.append("* a piece is cut along its length by the boundary and planted with rows off.")
    return [begins, " ".join(said), *_trial(layout)]


def _trial(layout: "Layout") -> list[str]:
    """Say which strips are checks, and which make each replicate of a trial; none without one."""
    strips = layout.strips
    if "treatment" not in strips:
        return []
    checks = strips[strips["treatment"] != STRIPS].groupby("crop", sort=False)["strip"]
    listed = "; ".join(f"{crop} {ranges(sorted(set(mine)))}" for crop, mine in checks)
    each = strips.groupby("replicate")["strip"]
    parts = "; ".join(f"{number}: strips {ranges(sorted(set(mine)))}" for number, mine in each)
    return [f"Trial. Checks: {listed}. Replicate {parts}."]


def _groups(
    book: Book,
    plan: Plan,
    strips: Sequence[StripLine],
    pieces: Sequence[StripLine],
    wide_mm: float,
    size_pt: float,
) -> list[Group]:
    """Write each strip in a row, its pieces side by side; where they have no room, a row each."""
    widths_mm = [one.width_mm for one in _heads(plan.units, wide_mm)]
    found = []
    for strip in strips:
        rows = _rows(book, plan, strip)
        if not _fits(rows, widths_mm, size_pt):
            mine = [one for one in pieces if one.number == strip.number]
            rows = [row for one in mine for row in _rows(book, plan, one, alone=len(mine) == 1)]
        found.append(Group(strip.number, tuple(rows)))
    return found


def _fits(rows: Iterable[Sequence[str]], widths_mm: Sequence[float], size_pt: float) -> bool:
    """Tell whether all figures have room; a crop's name may be cut."""
    return all(
        width_pt(cell, size_pt) <= wide_mm * MM - 2 * CELL_PT
        for row in rows
        for place, (cell, wide_mm) in enumerate(zip(row, widths_mm, strict=True))
        if place != 1
    )


def _rows(book: Book, plan: Plan, strip: StripLine, *, alone: bool = True) -> list[tuple[str, ...]]:
    """Write a strip, or a piece of one, and what is sown between its rows."""
    foot_m, area_m2 = (FOOT_M, ACRE_M2) if plan.units == "us" else (1.0, HECTARE_M2)
    name = str(strip.number) if alone or len(strip.pieces) > 1 else _piece(strip)
    one = (
        f"{name}{'' if strip.whole else ' *'}",
        f"{book.looks[strip.label].letter} {strip.label}",
        _joined("-" if rows is None else f"{rows}" for rows in strip.rows),
        _joined(trim(wide_m / foot_m, 1 if plan.units == "us" else 2) for wide_m in strip.width_m),
        " / ".join(f"{long_m / foot_m:,.0f}" for long_m in strip.length_m),
        f"{strip.area_m2 / area_m2:,.2f}",
    )
    own = _own_words(plan, strip)
    more = [("", f"· {crop}", "", "", "", "", words) for crop, words in own[1:]]
    first = own[0][1] if len(own) == 1 else ""
    if len(own) > 1:
        more = [("", f"· {crop}", "", "", "", "", words) for crop, words in own]
    for sown in strip.between:
        rows = _joined("-" if each is None else f"{each}" for each in sown.rows)
        crop = sown.layer.crop
        letter = book.looks[sown.layer.label].letter
        words = amount_words(plan, crop, sown.seed)
        more.append(("", f"+ {letter} {crop}", rows, "", "", "", words))
    return [(*one, first), *more]


def _piece(strip: StripLine) -> str:
    return f"{strip.number}.{strip.pieces[0]}"


def _own_words(plan: Plan, strip: StripLine) -> list[tuple[str, str]]:
    """Say the seed of a strip's own rows: a blend's weight, else each crop's."""
    own = strip.own
    if len(own) > 1 and all(one.seed.data["seed_kg"] is not None for one in own):
        whole = Seed(float("nan"), float("nan"), sum(one.seed.seed_kg for one in own))
        return [(strip.label, amount_words(plan, own[0].layer.crop, whole))]
    return [(one.layer.crop, amount_words(plan, one.layer.crop, one.seed)) for one in own]


def _joined(each: Iterable[str]) -> str:
    """Join the figures of pieces: one where they are all alike, as widths are; else each."""
    said = list(each)
    return said[0] if len(set(said)) == 1 else " / ".join(said)


def _heads(units: UnitSystem, wide_mm: float) -> list[Column]:
    foot, area = ("ft", "acres") if units == "us" else ("m", "ha")
    names = ("strip", "crop", "rows", f"width\n{foot}", f"length\n{foot}", area, "seed")
    widths_mm = WIDE_MM if wide_mm > sum(WIDTHS_MM) + GAP_MM else WIDTHS_MM
    scale = wide_mm / sum(widths_mm)
    return [
        Column(name, scale * each_mm, right=name not in {"strip", "crop"})
        for name, each_mm in zip(names, widths_mm, strict=True)
    ]


def _head_mm(size_pt: float) -> float:
    return (2 * size_pt * LEADING + 2.4) / MM


def _row_mm(size_pt: float) -> float:
    return (size_pt * LEADING + 1.6) / MM


def _table(
    plan: Plan, groups: Sequence[Group], wide_mm: float, size_pt: float, row_mm: float
) -> Flowable:
    """Set strips as a table, a thin line under every fifth strip."""
    style: list[tuple[Any, ...]] = []
    at = 0
    for group in groups:
        at += len(group.rows)
        if group.number % RULED == 0:
            style.append(("LINEBELOW", (0, at), (-1, at), HAIR_PT, RULE))
    rows = [row for group in groups for row in group.rows]
    columns = _heads(plan.units, wide_mm)
    return table(columns, rows, size_pt=size_pt, ruled=0, style=style, row_mm=row_mm)


Page = tuple[list[Group], list[Group]]


def _paged(
    groups: Sequence[Group], room_mm: tuple[float, float, float], size_pt: float
) -> tuple[list[Page], float]:
    """Set strips in two tables beside each other on as few pages as can be.

    Args:
        groups: the strips.
        room_mm: height there is on the first page, on the others, and what comes after the last.
        size_pt: of their type.

    Returns:
        The strips in each page's tables, and how high rows are: as much as those pages have room.
    """
    first_mm, other_mm, after_mm = room_mm
    heights_mm = np.arange(ROOMY_MM, _row_mm(size_pt) - STEP_MM / 2, -STEP_MM).tolist()
    least_mm = min(first_mm, other_mm) - after_mm - _head_mm(size_pt)
    groups = _parted(groups, max(1, int(least_mm / heights_mm[-1])))
    most = sum(len(one.rows) for one in groups)
    for count in range(1, most + 2):
        free_mm = [first_mm, *[other_mm] * (count - 1)]
        free_mm[-1] -= after_mm
        for row_mm in heights_mm:
            rows = [int((one - _head_mm(size_pt)) / row_mm) for one in free_mm]
            pages = _packed(groups, rows)
            if pages is not None:
                return pages, row_mm
    raise AssertionError("a row has no room on a page")


def _parted(groups: Sequence[Group], most: int) -> list[Group]:
    """Part strips of more rows than have room on a page; the others stay whole."""
    return [
        Group(group.number, group.rows[at : at + most])
        for group in groups
        for at in range(0, len(group.rows), most)
    ]


def _packed(groups: Sequence[Group], rows: Sequence[int]) -> list[Page] | None:
    """Fill pages of two tables with so many rows each; None where strips are left.

    The last two tables are as high as each other, as far as strips stay whole.
    """
    pages: list[Page] = []
    left = list(groups)
    for number, most in enumerate(rows, start=1):
        if number == len(rows):
            half = -(-sum(len(one.rows) for one in left) // 2)
            for even in range(half, most + 1):
                one, rest = _taken(left, even)
                other, rest = _taken(rest, even)
                if not rest:
                    return [*pages, (one, other)]
            return None
        one, left = _taken(left, most)
        other, left = _taken(left, most)
        pages.append((one, other))
    return None


def _taken(groups: Sequence[Group], most: int) -> tuple[list[Group], list[Group]]:
    """Take strips from the first on as long as their rows are so many at most."""
    count = taken = 0
    for group in groups:
        if taken + len(group.rows) > most:
            break
        taken += len(group.rows)
        count += 1
    return list(groups[:count]), list(groups[count:])


def _totals(book: Book, layout: "Layout", strips: Sequence[StripLine]) -> Story:
    """Add the strips up crop by crop; the same as the accounts."""
    plan, units = layout.plan, layout.plan.units
    rows: list[list[str]] = []
    labels = list(dict.fromkeys(one.label for one in strips))
    told_m2 = told_areas(plan, layout.accounts).crops_m2
    for label in labels:
        mine = [one for one in strips if one.label == label]
        area = format_area(told_m2[label], units)
        counted = f"{len(mine)}"
        crops = [one.layer.crop for one in mine[0].own]
        seeds = [_seed_of(mine, crop) for crop in crops]
        named = is_mixture(plan, label)
        words = [amount_words(plan, crop, seed, whole=True)
                 for crop, seed in zip(crops, seeds, strict=True)]  # fmt: skip
        seed = ", ".join(
            f"{crop} {each}" if named else each for crop, each in zip(crops, words, strict=True)
        )
        rows.append([f"{book.looks[label].letter} {label}", counted, area, seed])
    between = dict.fromkeys((sown.layer, one.label) for one in strips for sown in one.between)
    for layer, host in between:
        label, crop, how = layer.label, layer.crop, "after" if layer.follows else "between"
        mine = [one for one in strips if one.label == host]
        seed = amount_words(plan, crop, _seed_of(mine, crop, of=layer), whole=True)
        area = format_area(sum(one.area_m2 for one in mine), units)
        rows.append(
            [f"+ {book.looks[label].letter} {crop} {how} {host}", f"{len(mine)}", area, seed]
        )
    area = format_area(sum(told_m2[label] for label in labels), units)
    rows.append(["all strips", f"{len(strips)}", area, ""])
    columns = [Column("crop", 62.0), Column("strips", 16.0, right=True),
               Column("area", 24.0, right=True),
               Column("seed for these strips", book.inner_mm - 102.0, right=True)]  # fmt: skip
    note = (
        "Seed of the headland, and of ground planted twice, comes besides: see the seed and loads."
    )
    return [
        heading("In all"),
        table(columns, rows, size_pt=TEXT_PT, ruled=0, foot=1),
        paragraph(note, above_mm=1.0),
    ]


def _seed_of(strips: Iterable[StripLine], crop: str, of: Layer | None = None) -> Seed:
    """Add up the seed of a crop in strips' own rows, or in those of a layer besides them."""
    lines: list[SownLine] = [
        sown
        for one in strips
        for sown in (one.own if of is None else one.between)
        if sown.layer.crop == crop and (of is None or sown.layer.number == of.number)
    ]
    return sum((one.seed for one in lines), NO_SEED)
