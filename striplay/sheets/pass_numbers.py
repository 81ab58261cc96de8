"""Number an operation's passes on a map: where each starts, and what strips' numbers leave free."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely

from striplay.operations.route import Route
from striplay.sheets.book import Book
from striplay.sheets.fonts import width_pt
from striplay.sheets.ground import View
from striplay.sheets.label_room import INSIDE_PT, Ends, Page, Placed, joined
from striplay.sheets.labels import place
from striplay.sheets.land import planted_on
from striplay.sheets.strip_numbers import (
    NUMBER_PT,
    Numbers,
    chosen_strips,
    crops_at,
    edges_pt,
    numbers_of,
)
from striplay.sheets.style import SMALLEST_PT
from striplay.worksheet import Worksheet

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Geometries = npt.NDArray[np.object_]

RING_PT, FILL_PT = 4.2, 3.4
"""Radius of the ring at the first start, and of the diamond where a machine fills."""
EVERY = 5
"""Where not all passes have room for their numbers, every fifth has."""
ASIDE_PT = 10.0
"""A number claims so much on either side of its pass at most."""


@dataclass(frozen=True)
class Driven:
    """An operation on a view.

    Attributes:
        line: each pass as driven, in points, (n,).
        worked: stretches at work.
        lifted: stretches with the implement up.
        links: ways between passes.
        fills: where it fills or unloads, (k, 2).
        dry: which of these are on the way of a pass, (k,).
    """

    line: Geometries
    worked: Geometries
    lifted: Geometries
    links: Geometries
    fills: Floats
    dry: Bools


def driven_on(sheet: Worksheet, view: View) -> Driven:
    """Put an operation's passes on a view."""
    route = sheet.judged.route
    stretch = np.concatenate([group.stretch for group in route.groups])
    working = np.concatenate([group.working for group in route.groups])
    line = view.on_page(route.line)
    worked, lifted = stretch[working], stretch[~working]
    alike = len(worked) == len(line) and bool(shapely.equals_exact(worked, route.line, 0.0).all())
    fills, dry = fill_places(sheet, (FILL_PT + 1.5) / view.pt_per_m)
    at = view.points(fills) if len(fills) else np.empty((0, 2))
    return Driven(
        line=line,
        worked=line if alike else view.on_page(worked),
        lifted=view.on_page(lifted),
        links=view.on_page(route.links.line),
        fills=at,
        dry=dry,
    )


def fill_places(sheet: Worksheet, inside_m: float = 0.0) -> tuple[Floats, Bools]:
    """Give where an operation fills or unloads on its way, on the local plane, (k, 2).

    Before a pass it is at the end of the pass before it, or at the start of the first; a little
    inside, where no number stands.

    Returns:
        The places, and which of them lie on the way of a pass.
    """
    fills, route = sheet.judged.fills, sheet.judged.route
    if fills is None or not len(route):
        return np.empty((0, 2)), np.empty(0, dtype=bool)
    before = np.flatnonzero(fills.before)
    lines = route.line[np.maximum(before - 1, 0)]
    inside_m = np.minimum(inside_m, 0.4 * shapely.length(lines))
    at = np.where(before > 0, shapely.length(lines) - inside_m, inside_m)
    at_ends = shapely.get_coordinates(shapely.line_interpolate_point(lines, at))
    of, along_m = fills.mid_field()
    dry = shapely.get_coordinates(shapely.line_interpolate_point(route.line[of], along_m))
    places = np.concatenate([at_ends.reshape(-1, 2), dry.reshape(-1, 2)])
    return places, np.append(np.zeros(len(before), dtype=bool), np.ones(len(dry), dtype=bool))


def starts_of(sheet: Worksheet, driven: Driven, edge: shapely.Geometry) -> Ends:
    """Give the starts of passes on the page, each with room for its number."""
    lines = driven.line
    at = shapely.get_coordinates(shapely.get_point(lines, 0))
    step = np.minimum(3.0, 0.3 * shapely.length(lines))
    on = shapely.get_coordinates(shapely.line_interpolate_point(lines, step))
    out = at - on
    closed = np.flatnonzero(shapely.is_closed(lines))  # a round's number stands beside the field
    over = shapely.shortest_line(shapely.points(at[closed]), edge)
    out[closed] = shapely.get_coordinates(shapely.get_point(over, 1)).reshape(-1, 2) - at[closed]
    out = out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)
    at[closed] += INSIDE_PT * out[closed]  # so that its leader begins on the round
    wide = np.array([width_pt(str(one), SMALLEST_PT, bold=True) for one in sheet.number])
    none = np.zeros(len(at))
    ring = np.where(np.arange(len(at)) == 0, RING_PT + 0.6, 0.0)
    return Ends(at, out, none, shapely.length(lines), wide, ring, edges_pt(at, out, edge))


def beside(ends: Ends) -> Floats:
    """Give half of how far each end is from the nearest that looks the same way, across, (n,)."""
    found = np.full(len(ends), ASIDE_PT)
    for axis in (0, 1):
        for sign in (-1.0, 1.0):
            mine = np.flatnonzero(ends.out[:, axis] * sign > ALIGNED)
            if len(mine) < 2:  # noqa: PLR2004 - a pair
                continue
            across = ends.at[mine, 1 - axis]
            places, of = np.unique(np.round(across, 1), return_inverse=True)
            gap = np.diff(places, prepend=-np.inf, append=np.inf)
            near = np.minimum(gap[:-1], gap[1:]) / 2
            found[mine] = np.minimum(near[of], ASIDE_PT)
    return found


ALIGNED = 0.9999
"""Cosine from which on an end looks along an axis of the page."""


def free_ends(
    layout: "Layout", book: Book, view: View, starts: Ends, sheet: Worksheet
) -> tuple[Numbers, Bools]:
    """Give the numbers of strips, and whether each stands at its end: where no pass starts.

    They stand outside their strips alone, not on passes; at the field's edge rather than at a pond,
    where passes' numbers need all the room there is.
    """
    numbers = numbers_of(layout, book, view, crops_at(layout, sheet.judged.job))
    half_pt = sheet.judged.route.width_m / 2 * view.pt_per_m
    tree = shapely.STRtree(shapely.points(starts.at))

    def started(ends: Ends) -> Bools:
        of, near = tree.query(shapely.points(ends.at), "dwithin", ends.aside + CLOSE_BY_PT)
        away, out = starts.at[near] - ends.at[of], ends.out[of]
        across = np.abs(away[:, 0] * out[:, 1] - away[:, 1] * out[:, 0])
        # else it starts at the strip beside
        own = across <= np.maximum(ends.aside[of], half_pt) + ON_EDGE_PT
        return np.asarray(np.isin(np.arange(len(ends)), of[own]))

    none = np.zeros(len(numbers.text))
    outside = replace(
        numbers,
        begin=replace(numbers.begin, inward=none),
        end=replace(numbers.end, inward=none),
    )
    free = started(numbers.begin) & ~started(numbers.end)
    if shapely.is_empty(layout.ground.obstacles).all():
        return outside, free
    parts = shapely.get_parts(layout.ground.outline)
    rim = shapely.multilinestrings(shapely.get_exterior_ring(view.on_page(parts)))
    begins, ends = (
        np.isfinite(edges_pt(one.at, one.out, rim)) for one in (numbers.begin, numbers.end)
    )
    return outside, np.where(begins == ends, free, ends)


CLOSE_BY_PT = 6.0
"""A pass that starts so near to a strip's end, beside half its width, starts there, where it goes
over the strip."""
ON_EDGE_PT = 0.5
"""One whose edge is on a strip's middle, or its middle on a strip's edge, goes over it: so far off
it is on it."""


def picked(numbers: Numbers, at_end: Bools) -> Ends:
    """Give of each piece its end or its beginning."""
    both = joined(numbers.begin, numbers.end)
    count = len(numbers.text)
    return both.chosen(np.arange(count) + count * at_end)


@dataclass(frozen=True)
class PassNumbers:
    """Numbers on an operation's map.

    Attributes:
        passes: where passes' numbers stand, (n,).
        strips: where strips' do, (m,).
        strip_text: these, (m,).
        pieces: strip and piece that each is of, (m, 2).
        thinned: whether only every fifth pass, and those at the ends of runs, were to have one.
        every: of strips, every so many has one.
        view: the ground they stand on.
    """

    passes: Placed
    strips: Placed
    strip_text: list[str]
    pieces: Integers
    thinned: bool
    every: int
    view: View


def number_passes(
    layout: "Layout", book: Book, view: View, sheet: Worksheet, driven: Driven,
    taken: Floats, axis: int,
) -> PassNumbers:  # fmt: skip
    """Place the numbers of passes at their starts, and of strips where no pass starts.

    Args:
        layout: the layout.
        book: how its crops look.
        view: the ground on the page.
        sheet: the operation.
        driven: its passes on the view.
        taken: boxes of what is there.
        axis: of rows, as `turns_of` gives it.
    """
    edge = shapely.boundary(view.on_page(layout.ground.outline))
    starts = starts_of(sheet, driven, edge)
    numbers, at_end = free_ends(layout, book, view, starts, sheet)
    pitch_pt = float(np.median(layout.strips["width_m"])) * view.pt_per_m
    every = 1 if pitch_pt >= NARROW_PT else EVERY
    own = chosen_strips(layout, every)
    numbers, at_end = numbers.chosen(own), at_end[own]
    left, bottom, right, top = view.frame_pt
    page = Page(
        (left + 2.0, bottom + 2.0, right - 2.0, top - 2.0), NUMBER_PT, taken,
        lines=np.array([shapely.Point(starts.at[0]).buffer(RING_PT)], dtype=object),
        land=planted_on(layout, book, view),
    )  # fmt: skip
    thinned = bool(2 * np.median(beside(starts)) < CROWDED_PT)
    if not thinned:
        passes, strips = _placed(starts, numbers, at_end, page, axis, few=FEW)
        thinned = bool((~passes.found).mean() > FEW)
        if not thinned and not passes.found.all():
            again = _placed(starts, numbers, at_end, page, axis, together=False)
            if again[0].found.sum() > passes.found.sum():
                passes, strips = again
    shown = np.ones(len(starts), dtype=bool)
    if thinned:
        shown = kept_numbers(sheet.judged.route, sheet.number)
        passes, strips = _placed(starts.chosen(shown), numbers, at_end, page, axis)
    box = np.full((len(starts), 4), np.nan)
    leader = np.full((len(starts), *passes.leader.shape[1:]), np.nan)
    box[shown], leader[shown] = passes.box, passes.leader
    own_places = Placed(box, leader, passes.angle_deg)
    pieces = layout.strips[["strip", "piece"]].to_numpy()[own]
    return PassNumbers(own_places, strips, numbers.text, pieces, thinned, every, view)


NARROW_PT = 3.2
"""Of strips narrower on paper only every fifth is numbered, beside the passes."""
CROWDED_PT = 2.1
"""Of passes that start closer together on one side than this only some are numbered: more than four
numbers one behind the other can't be told apart at the wheel."""
FEW = 0.1
"""Where more passes than this share have no room for their number, only some are numbered."""


def _placed(
    starts: Ends, numbers: Numbers, at_end: Bools, page: Page, axis: int, *,
    together: bool = True, few: float = 1.0,
) -> tuple[Placed, Placed]:  # fmt: skip
    """Place numbers of passes and strips in lanes together; then those of passes left, and strips.

    A strip's number that has no room at its end is tried at the other. Not together, all passes
    have theirs before the first strip, whose numbers then find less room. Where more passes than a
    share `few` have no room, strips' numbers are not looked for.
    """
    own = picked(numbers, at_end)
    every = joined(starts, own if together else own.chosen(np.empty(0, dtype=np.int64)))
    placed = place(replace(every, aside=beside(every)), page, axis, far_pt=0.0)
    count = len(starts)
    passes = Placed(placed.box[:count], placed.leader[:count], placed.angle_deg)
    strips = Placed(placed.box[count:], placed.leader[count:], placed.angle_deg)
    if not together:
        leader = np.full((len(own), *placed.leader.shape[1:]), np.nan)
        strips = Placed(np.full((len(own), 4), np.nan), leader, placed.angle_deg)
    for ends, kept, far_pt in (
        (starts, passes, FAR_PT),
        (picked(numbers, at_end), strips, STRIP_FAR_PT),
        (picked(numbers, ~at_end), strips, STRIP_FAR_PT),
    ):
        left = np.flatnonzero(~kept.found)
        there = np.concatenate([passes.box[passes.found], strips.box[strips.found]])
        leaders = np.concatenate([passes.leader[passes.found], strips.leader[strips.found]])
        lines = np.asarray(shapely.linestrings(leaders), dtype=object).reshape(-1)
        busy = replace(
            page,
            taken=np.concatenate([page.taken, there]),
            lines=np.concatenate([page.lines, lines]),
        )
        most = few * count if kept is passes else np.inf
        again = place(ends.chosen(left), busy, axis, far_pt, most)
        kept.box[left], kept.leader[left] = again.box, again.leader
        if (~passes.found).mean() > few:
            break
    return passes, strips


FAR_PT, STRIP_FAR_PT = 110.0, 26.0
"""How far off its end a pass's number, and a strip's, may stand."""


def kept_numbers(route: Route, number: Integers) -> Bools:
    """Choose every fifth pass, and the first and last of each run from turn to turn."""
    turned = np.isin(route.links.kind, TURNS)
    first, last = ~turned[:-1], ~turned[1:]
    first[0] = last[-1] = True
    return np.asarray((number % EVERY == 0) | first | last)


TURNS = ("flat", "bulb", "loop", "fishtail")
"""Ways between passes that are turns."""
