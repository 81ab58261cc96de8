"""Number the pieces of strips on a map: where each begins and ends, what is written, and where."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.geometry.path import Straight
from striplay.laid import LaidBlock
from striplay.looks import Fill
from striplay.operations.jobs import Job, crops_of
from striplay.section.trial import STRIPS
from striplay.sheets.book import Book
from striplay.sheets.fonts import width_pt, write
from striplay.sheets.ground import View
from striplay.sheets.label_room import Ends, Page, Placed, gaps, joined
from striplay.sheets.labels import LEADERS_PT, place
from striplay.sheets.paint import HIGH, draw_dots, draw_lines, fill_shape
from striplay.sheets.style import INK, SMALLEST_PT

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Geometries = npt.NDArray[np.object_]

NUMBER_PT = HIGH * SMALLEST_PT
"""Height of digits and capitals."""
LEADER_PT, CASING_PT, DOT_PT = 0.35, 1.0, 0.6
"""Width of a leader and of the white under it, and radius of the dot it begins with."""
SLANT = 6.0
"""A slanting end is taken to reach out so many half widths at most."""


@dataclass(frozen=True)
class Numbers:
    """Numbers of pieces of strips, at both ends of each.

    Attributes:
        text: of each piece, such as "37 C" or, of a strip in several pieces, "37.1 C", (n,).
        strip: its strip, (n,).
        begin: where each begins, (n,).
        end: where each ends, (n,).
    """

    text: list[str]
    strip: Integers
    begin: Ends
    end: Ends

    def chosen(self, those: Bools) -> "Numbers":
        """Give some of them."""
        text = [one for one, is_one in zip(self.text, those, strict=True) if is_one]
        return Numbers(text, self.strip[those], self.begin.chosen(those), self.end.chosen(those))


def crops_at(layout: "Layout", job: Job) -> Geometries:
    """Name what each piece of strip grows when a job is done: what follows in it, else its own."""
    section = layout.section
    worked = [one for one in section.following if one in crops_of(job)]
    at_work = [next((one for one in worked if one in grown), strip.crop)
               for strip, grown in zip(section.strips, section.grown, strict=True)]  # fmt: skip
    kinds = np.concatenate([block.pieces.strips.kind for block in layout.laid.blocks])
    return np.asarray(np.array(at_work, dtype=object)[kinds], dtype=object)


def texts_of(layout: "Layout", book: Book, crops: Geometries | None = None) -> list[str]:
    """Write the number of each piece of a strip, its crop's letter, and whether it is a check.

    Args:
        layout: the strips.
        book: how crops are shown.
        crops: what each piece grows, (n,); its strip's own where left out.
    """
    strips = layout.strips
    strip, piece = strips["strip"].to_numpy(), strips["piece"].to_numpy()
    several = np.isin(strip, strip[piece > 1])
    letters = [book.looks[crop].letter for crop in (strips["crop"] if crops is None else crops)]
    if "treatment" in strips:
        letters = [
            letter if treatment == STRIPS else f"{letter} check"
            for letter, treatment in zip(letters, strips["treatment"], strict=True)
        ]
    return [
        f"{number}.{part} {letter}" if more else f"{number} {letter}"
        for number, part, letter, more in zip(strip, piece, letters, several, strict=True)
    ]


def numbers_of(
    layout: "Layout", book: Book, view: View, crops: Geometries | None = None
) -> Numbers:
    """Give the numbers of a layout's pieces and the ends on a view that they stand at.

    Args:
        layout: the strips.
        book: how crops are shown.
        view: of the page.
        crops: what each piece grows, (n,); its strip's own where left out.
    """
    text = texts_of(layout, book, crops)
    wide = np.array([width_pt(one, SMALLEST_PT) for one in text])
    each = book.kept.of(
        layout, ("ends",), lambda: [_block_ends(block) for block in layout.laid.blocks]
    )
    begin_m, begin_out, end_m, end_out, aside_m, long_m, begin_more, end_more = (
        np.concatenate(values) for values in zip(*each, strict=True)
    )
    scale = view.pt_per_m

    edge = shapely.boundary(view.on_page(layout.ground.outline))

    def ends(at_m: Floats, out_m: Floats, more_m: Floats) -> Ends:
        at, out = view.points(at_m), view.directions(out_m)
        aside = aside_m * scale
        beyond = np.minimum(more_m * scale, SLANT * aside)
        return Ends(at, out, aside, long_m * scale, wide, beyond, edges_pt(at, out, edge))

    strip = layout.strips["strip"].to_numpy()
    return Numbers(
        text, strip, ends(begin_m, begin_out, begin_more), ends(end_m, end_out, end_more)
    )


NEAR_PT = 60.0
"""A boundary farther from an end than this has no say in where its number stands."""


def edges_pt(at: Floats, out: Floats, edge: shapely.Geometry) -> Floats:
    """Measure how far out of each end the field's boundary runs; infinite where far off, (n,)."""
    rays = shapely.linestrings(np.stack([at, at + NEAR_PT * out], axis=1))
    met = shapely.intersection(rays, edge)
    far = shapely.hausdorff_distance(shapely.points(at), met)
    return np.where(np.isnan(far), np.inf, far)


def _block_ends(block: LaidBlock) -> tuple[Floats, ...]:
    """Give of a block's pieces both ends and the ways out there, in meters on the local plane.

    Returns:
        Begins, (n, 2), their ways out, (n, 2), ends, likewise; half widths, lengths, and how far
        the ground reaches beyond either end, (n,).
    """
    straight = isinstance(block.path, Straight)
    return _straight_ends(block) if straight else _curved_ends(block)


def _straight_ends(block: LaidBlock) -> tuple[Floats, ...]:
    polygons = block.pieces.strips.polygon
    bounds = shapely.bounds(polygons).reshape(-1, 4)
    middle = (bounds[:, 1] + bounds[:, 3]) / 2
    across = np.stack(
        [np.column_stack([bounds[:, 0] - 1, middle]), np.column_stack([bounds[:, 2] + 1, middle])],
        axis=1,
    )
    met = shapely.bounds(shapely.intersection(shapely.linestrings(across), polygons))
    met = met.reshape(-1, 4)
    inner = shapely.get_coordinates(shapely.point_on_surface(polygons)).reshape(-1, 2)
    missed = np.isnan(met[:, 0])
    low, high = (np.where(missed, inner[:, 0], met[:, at]) for at in (0, 2))
    y = np.where(missed, inner[:, 1], middle)
    frame = block.path.frame
    way = np.tile(frame.turn_points_back(np.array([[1.0, 0.0]])), (len(y), 1))
    aside = (bounds[:, 3] - bounds[:, 1]) / 2
    return (
        frame.turn_points_back(np.column_stack([low, y])), -way,
        frame.turn_points_back(np.column_stack([high, y])), way,
        aside, high - low, low - bounds[:, 0], bounds[:, 2] - high,
    )  # fmt: skip


def _curved_ends(block: LaidBlock) -> tuple[Floats, ...]:
    """Take the ends of each piece's middle row; of closed rings, their beginning and half-way."""
    rows, count = block.pieces.rows, len(block.pieces.strips.strip)
    order = np.lexsort((rows.across_m, rows.owner))
    size = np.bincount(rows.owner, minlength=count)
    first = np.cumsum(size) - size
    chosen = order[np.minimum(first + size // 2, len(order) - 1)]
    begin, end, across_m = rows.begin[chosen], rows.end[chosen], rows.across_m[chosen]
    around = block.path.around
    closed = np.zeros(count, dtype=bool) if around is None else end - begin >= around - 1e-6
    lines = block.path.lines(begin, np.where(closed, (begin + end) / 2, end), across_m)
    long_m = block.path.lengths_m(begin, end, across_m)
    step = np.minimum(2.0, 0.2 * shapely.length(lines))
    a, b = (shapely.get_coordinates(shapely.get_point(lines, index)) for index in (0, -1))
    a2, b2 = (
        shapely.get_coordinates(shapely.line_interpolate_point(lines, at)) for at in (step, -step)
    )
    aside = block.pieces.strips.width_m / 2
    none = np.zeros(count)
    return a, _unit(a - a2), b, _unit(b - b2), aside, long_m, none, none


def _unit(vectors: Floats) -> Floats:
    long = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.asarray(vectors / np.maximum(long, 1e-9))


@dataclass(frozen=True)
class Numbered:
    """Numbers placed on a page.

    Attributes:
        text: what is written, (k,).
        piece: the piece each tells of, (k,).
        placed: where, all found.
        lacking: pieces without any number, (m,).
    """

    text: list[str]
    piece: Integers
    placed: Placed
    lacking: Integers


DEEPEST = 2
"""Where more numbers would stand one behind the other, only some strips are numbered: the rest
would cover the crop at both ends."""
EVERY = (1, 5, 10, 20, 50, 100, 200, 500, 1000)


def numbered_every(layout: "Layout", view: View) -> int:
    """Say which strips are narrow enough on a view that only every so many can be numbered."""
    return numbered_at(float(np.median(layout.strips["width_m"])) * view.pt_per_m)


def numbered_at(pitch: float) -> int:
    """Say the same of strips so far apart on paper, in points.

    >>> numbered_at(6.9), numbered_at(2.6)
    (1, 5)
    """
    most = (NUMBER_PT + LEADERS_PT * DEEPEST) / DEEPEST
    return next((every for every in EVERY if every * pitch >= most), EVERY[-1])


def chosen_strips(layout: "Layout", every: int) -> Bools:
    """Choose the pieces of every so many strips, of the first and of the last."""
    strip = layout.strips["strip"].to_numpy()
    return np.asarray((strip % every == 0) | (strip == 1) | (strip == strip.max()))


BOTH_ENDS_PT = 6.0
"""A piece has a number at either end where it is longer than both by so much."""


def place_numbers(
    numbers: Numbers, page: Page, axis: int, shown: Bools | None = None, *, both: bool = True
) -> Numbered:
    """Place the numbers of pieces at both their ends; of those too short for two, at one.

    Args:
        numbers: the numbers and ends.
        page: what they keep to.
        axis: as in `place`.
        shown: which pieces; all when left out.
        both: whether at both ends, else at one.
    """
    which = np.arange(len(numbers.text)) if shown is None else np.flatnonzero(shown)
    begin, end = numbers.begin.chosen(which), numbers.end.chosen(which)
    two = both & (begin.inward >= 2 * begin.wide + BOTH_ENDS_PT)
    first = joined(begin, end.chosen(two))
    piece = np.concatenate([which, which[two]])
    placed = place(first, page, axis)
    found = placed.found
    box, leader, pieces = placed.box[found], placed.leader[found], piece[found]
    # what has no number yet is tried at its other end
    without = ~np.isin(which, pieces) & ~two
    if without.any():
        busy = replace(page, taken=np.concatenate([page.taken, box]),
                       lines=np.concatenate([page.lines, _lines_of(leader)]))  # fmt: skip
        again = place(end.chosen(without), busy, axis)
        box = np.concatenate([box, again.box[again.found]])
        leader = np.concatenate([leader, again.leader[again.found]])
        pieces = np.concatenate([pieces, which[without][again.found]])
    lacking = which[~np.isin(which, pieces)]
    text = [numbers.text[index] for index in pieces.tolist()]
    return Numbered(text, pieces, Placed(box, leader, placed.angle_deg), lacking)


def _lines_of(leader: Floats) -> Geometries:
    return np.asarray(shapely.linestrings(leader), dtype=object).reshape(-1)


def draw_numbers(
    canvas: Canvas,
    text: list[str],
    placed: Placed,
    *,
    color: str = INK,
    bold: bool = False,
    ground: bool = True,
) -> None:
    """Write numbers where they were placed, with their leaders.

    Args:
        canvas: the page.
        text: the numbers.
        placed: where, all found.
        color: of type and leaders.
        bold: whether in bold.
        ground: whether each stands on a white ground of its own.
    """
    box, leader = placed.box, placed.leader
    if ground and len(box):
        # a line that shows between two numbers would read as a dash
        grounds = np.concatenate([box, gaps(box)]) + np.array([-0.5, -0.4, 0.5, 0.4])
        white = shapely.box(*grounds.T)
        fill_shape(canvas, white, WHITE, 0.0)
    long = np.linalg.norm(leader[:, 1:] - leader[:, :-1], axis=2).sum(axis=1) > 1.0
    if long.any():
        lines = shapely.linestrings(leader[long])
        draw_lines(canvas, lines, CASING_PT, "#ffffff")
        draw_lines(canvas, lines, LEADER_PT, color)
        draw_dots(canvas, leader[long, 0], DOT_PT, color)
    canvas.saveState()
    if placed.angle_deg:  # all turned at once; each then stands at its height and minus its right
        canvas.rotate(placed.angle_deg)
        at = np.column_stack([box[:, 1], -box[:, 2]])
    else:
        at = box[:, :2]
    for said, (x, y) in zip(text, at.tolist(), strict=True):
        write(canvas, x, y, said, SMALLEST_PT, bold=bold, color=color)
    canvas.restoreState()


WHITE = Fill("#ffffff")
