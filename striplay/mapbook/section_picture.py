"""Lay out and draw one set across the rows, to scale; on its sheet or as a file of its own."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from striplay.errors import OutputError
from striplay.mapbook.fonts import print_boxes, unprinted
from striplay.mapbook.section_machines import Lane, draw_lanes, lane_words, lanes_of
from striplay.mapbook.section_plants import INK, draw_rows, mark_between, mark_tramline, plant_patch
from striplay.mapbook.section_scene import KeyEntry, Scene, caption_of, key_of, strip_words
from striplay.mapbook.sheet import FOOT_MM, Paper, Place, Sheet
from striplay.mapbook.style import LINE_MM, MARGIN_MM, SMALL_LINE_MM, SMALLEST_PT, TEXT_PT, our_look
from striplay.mapbook.text import Lines, fitted, height_mm, paragraphs, text_width_mm
from striplay.notices import Notice
from striplay.section.section import Section
from striplay.tolerances import WIDTH_M
from striplay.units import FOOT_M, format_length, format_small, trim

LEFT_MM, RIGHT_MM = 12.0, 6.5
"""Room beside the set, for the scale of heights and for passes that run on."""
PLANTS_MM = 100.0
"""Plants are drawn at most so high; a narrow set of tall crops is drawn narrower for it."""
GAPS_MM = 8.0
"""Room above the plants for the gaps between rows."""
UNITS_MM, BETWEEN_MM, ARROW_MM = 3.9, 3.8, 6.6
"""Under the ground: row units, each crop between rows, strips' widths."""
KEY_MM, SWATCH_MM, KEY_GAP_MM = 5.0, 6.0, 6.0
DETAIL_BELOW_MM = 10.0
"""Room under the ground where only some of the set is shown."""
APART_MM = 4.2
"""Numbers of row units stand at least so far apart."""
TICK_MM = 2.8
PALE = "#8a8a8a"
ENLARGED_M = 12.2
"""Width of ground that is shown enlarged: 40 ft."""
SUFFIXES = (".svg", ".png", ".pdf")
WIDTH_MM, SIDE_MM, TOP_MM, BOTTOM_MM = 280.0, 10.0, 14.0, 8.0
"""Of a file of its own: width, and room beside, over and under the picture."""
DOTS_PER_INCH = 200


@dataclass(frozen=True, slots=True)
class Edge:
    """Where two strips or two planter passes meet.

    Attributes:
        at_m: from the set's first edge.
        low_m: the last own row before it; before the set where it is the set's first edge.
        high_m: the first own row after it.
        mark: guess where planter passes meet, border where strips meet within a pass.
        known: False where one of the rows is a nominal line, of a drill without openers.
    """

    at_m: float
    low_m: float
    high_m: float
    mark: str
    known: bool = True


def edges_across(section: Section) -> list[Edge]:
    """Find where strips and planter passes meet, the set's own edges included."""
    planted = (
        one for one in section.passes_across() if one.operation == "plant" and one.layer == 0
    )
    passes = [at_m for one in planted for at_m in (one.low_m, one.high_m)
              if -WIDTH_M <= at_m <= section.width_m + WIDTH_M]  # fmt: skip
    borders = [*(strip.left_m for strip in section.strips), section.width_m]
    places: list[float] = []
    for at_m in sorted([*passes, *borders]):
        if not places or at_m - places[-1] > WIDTH_M:
            places.append(at_m)
    own = [(row.offset_m, section.strips[row.strip].counted)
           for row in section.rows if row.layer == 0]  # fmt: skip
    repeated = [(at + turn * section.width_m, known) for turn in (-1, 0, 1) for at, known in own]
    edges = []
    for at_m in places:
        low_m, low_known = max(row for row in repeated if row[0] < at_m)
        high_m, high_known = min(row for row in repeated if row[0] > at_m)
        guess = any(abs(at_m - one) <= WIDTH_M for one in passes)
        mark = "guess" if guess else "border"
        edges.append(Edge(at_m, low_m, high_m, mark, low_known and high_known))
    return edges


@dataclass(frozen=True)
class Picture:
    """A section's picture at a width on paper.

    Attributes:
        scene: what it shows.
        width_mm: its width, margins included.
        most_mm: height that plants may take.
        window_m: from where to where of the set it shows, without machines and words; all of the
            set with them when left out.
    """

    scene: Scene
    width_mm: float
    most_mm: float = PLANTS_MM
    window_m: tuple[float, float] | None = None

    @property
    def ends_m(self) -> tuple[float, float]:
        """From where to where of the set it shows."""
        return self.window_m or (0.0, self.scene.section.width_m)

    @property
    def mm(self) -> float:
        """Meters on the ground, and upward, to a millimeter on paper."""
        across_mm = self.width_mm - LEFT_MM - RIGHT_MM
        low_m, high_m = self.ends_m
        return max((high_m - low_m) / across_mm, self.scene.top_m / self.most_mm)

    @cached_property
    def edges(self) -> list[Edge]:
        """Where strips and passes meet."""
        return edges_across(self.scene.section)

    @cached_property
    def lanes(self) -> list[Lane]:
        """The machines above."""
        return lanes_of(self.scene)

    @cached_property
    def labels(self) -> list[list[str]]:
        """Words under each strip: on one line or three where there is room, else its number."""
        labels = []
        for index, strip in enumerate(self.scene.section.strips):
            words = strip_words(self.scene, index)
            room_mm = strip.width_m / self.mm - 1.0
            fitting = (lines for lines in ([", ".join(words)], words)
                       if max(map(text_width_mm, lines)) <= room_mm)  # fmt: skip
            labels.append(next(fitting, [str(index + 1)]))
        return labels

    @cached_property
    def key(self) -> list[tuple[float, int, KeyEntry]]:
        """The key's entries, each at a distance from the left in millimeters and on a line."""
        numbered = [i for i, label in enumerate(self.labels) if label == [str(i + 1)]]
        placed = []
        x_mm, line = 0.0, 0
        for entry in key_of(self.scene, numbered):
            wide_mm = swatch_mm(entry) + text_width_mm(entry.said)
            if x_mm > 0 and x_mm + wide_mm > self.width_mm:
                x_mm, line = 0.0, line + 1
            placed.append((x_mm, line, entry))
            x_mm += wide_mm + KEY_GAP_MM
        return placed

    @property
    def arrow_mm(self) -> float:
        """How far under the ground the strips' widths are dimensioned."""
        between = {(row.strip, row.layer) for row in self.scene.section.rows if row.layer}
        strips = [strip for strip, _ in between]
        return ARROW_MM + BETWEEN_MM * max((strips.count(strip) for strip in strips), default=0)

    @property
    def key_mm(self) -> float:
        """How far under the ground the key's first line stands."""
        return self.arrow_mm + SMALL_LINE_MM * max(len(label) for label in self.labels) + 6.0

    @property
    def below_mm(self) -> float:
        """Room it takes under the ground."""
        if self.window_m is not None:
            return DETAIL_BELOW_MM
        return self.key_mm + KEY_MM * max(line for _, line, _ in self.key) + 1.5

    @property
    def plants_mm(self) -> float:
        """Height of the tallest plant on paper."""
        return self.scene.top_m / self.mm

    @property
    def height_mm(self) -> float:
        """Room it takes in all."""
        lanes_mm = 0.0 if self.window_m else sum(lane.height_mm for lane in self.lanes)
        return self.below_mm + self.plants_mm + GAPS_MM + lanes_mm

    @property
    def caption(self) -> Lines:
        """The words to stand under it."""
        machines = lane_words(self.lanes, self.scene.section.width_m)
        marks = {edge.mark for edge in self.edges}
        return paragraphs(self.width_mm, *caption_of(self.scene, marks, machines))


def swatch_mm(entry: KeyEntry) -> float:
    """Give the room for what is drawn beside an entry's words."""
    return SWATCH_MM if entry.layer is not None or entry.tramline else 0.0


def draw_section(axes: Axes, picture: Picture) -> None:
    """Draw a section over axes that are as wide and high on paper as the picture says."""
    mm, scene, (low_m, high_m) = picture.mm, picture.scene, picture.ends_m
    axes.set_xlim(low_m - LEFT_MM * mm, low_m + (picture.width_mm - LEFT_MM) * mm)
    axes.set_ylim(-picture.below_mm * mm, (picture.height_mm - picture.below_mm) * mm)
    axes.set_aspect("equal")
    axes.axis("off")
    axes.plot(picture.ends_m, [0, 0], color=INK, linewidth=1.2)
    draw_rows(axes, scene, mm)
    _number_units(axes, picture)
    _edges(axes, picture)
    _between(axes, picture)
    if picture.window_m is None:
        _strips(axes, picture)
        _key(axes, picture)
        draw_lanes(axes, picture.lanes, scene.section.width_m, scene.top_m + GAPS_MM * mm, mm)
    else:
        bottom, top = axes.get_ylim()
        shown = Rectangle((low_m, bottom), high_m - low_m, top - bottom, transform=axes.transData)
        for artist in [*axes.patches, *axes.lines]:
            artist.set_clip_path(shown)
        for text in list(axes.texts):
            if not low_m <= text.get_position()[0] <= high_m:
                text.remove()
    _heights(axes, picture)


def _text(axes: Axes, x: float, y: float, said: str, **how: Any) -> None:  # noqa: ANN401 - matplotlib's own
    axes.text(x, y, said, fontsize=SMALLEST_PT, parse_math=False, **how)


def _heights(axes: Axes, picture: Picture) -> None:
    """Draw a scale of heights beside the set."""
    mm, top_m = picture.mm, picture.scene.top_m
    us = picture.scene.plan.units == "us"
    unit_m, name = (FOOT_M, "ft") if us else (1.0, "m")
    steps = (1, 2, 5, 10) if us else (0.25, 0.5, 1, 2, 5)
    step = next((s for s in steps if s * unit_m / mm >= TICK_MM), steps[-1])
    count = int(top_m / (step * unit_m) + 1e-9)
    if count == 0:
        step, count = max((s for s in steps if s * unit_m <= top_m), default=steps[0]), 1
    x = picture.ends_m[0] - 3.0 * mm
    axes.plot([x, x], [0, max(top_m, step * unit_m)], color=INK, linewidth=0.6)
    for number in range(count + 1):
        y = number * step * unit_m
        axes.plot([x - 1.0 * mm, x], [y, y], color=INK, linewidth=0.6)
        if number:
            _text(axes, x - 1.6 * mm, y, f"{trim(number * step, 2)} {name}", ha="right",
                  va="center_baseline")  # fmt: skip


def _number_units(axes: Axes, picture: Picture) -> None:
    """Number row units under the rows: all, or every second, third ... where they are close."""
    section, mm = picture.scene.section, picture.mm
    last_x = -math.inf
    for row in section.rows:
        strip = section.strips[row.strip]
        step = max(1, math.ceil(APART_MM * mm / strip.spacing_m - 1e-9))
        known = row.layer == 0 and row.unit > 0 and strip.counted
        near = row.offset_m - last_x < (APART_MM - 1e-9) * mm
        if not known or near or (row.unit - 1) % step:
            continue
        last_x = row.offset_m
        _text(axes, row.offset_m, -UNITS_MM * mm, str(row.unit), ha="center")


def _edges(axes: Axes, picture: Picture) -> None:
    """Draw guess rows and strips' borders, each with the true gap between its two rows."""
    mm, width_m = picture.mm, picture.scene.section.width_m
    bracket = picture.scene.top_m + 2.0 * mm
    free_m = -math.inf
    for edge in picture.edges:
        guess = edge.mark == "guess"
        axes.plot([edge.at_m] * 2, [-1.5 * mm, bracket], color=INK if guess else PALE,
                  linewidth=0.7 if guess else 0.8, linestyle=(0, (4, 2.2) if guess else (1, 1.6)),
                  )  # fmt: skip
        if not edge.known:
            continue
        ends = (max(edge.low_m, -1.5 * mm), min(edge.high_m, width_m + 1.5 * mm))
        axes.plot(ends, [bracket, bracket], color=INK, linewidth=0.6)
        for row in (edge.low_m, edge.high_m):
            if row in ends:
                _tick(axes, row, bracket, 0.7 * mm)
        said = format_small(edge.high_m - edge.low_m, picture.scene.plan.units)
        half_m = (text_width_mm(said) / 2 + 0.6) * mm
        if edge.at_m - half_m >= free_m:
            _text(axes, edge.at_m, bracket + 1.2 * mm, said, ha="center")
            free_m = edge.at_m + half_m


def _tick(axes: Axes, x: float, y: float, half_m: float) -> None:
    axes.plot([x, x], [y - half_m, y + half_m], color=INK, linewidth=0.6)


def _between(axes: Axes, picture: Picture) -> None:
    """Dimension, once a strip, from a row of its own to the nearest of each crop between."""
    section, mm = picture.scene.section, picture.mm
    for index, strip in enumerate(section.strips):
        own = [r.offset_m for r in section.rows if r.strip == index and r.layer == 0]
        layers = sorted({r.layer for r in section.rows if r.strip == index and r.layer})
        for lane, layer in enumerate(layers):
            rows = [r.offset_m for r in section.rows if r.strip == index and r.layer == layer]
            row = min(rows, key=lambda at: abs(at - strip.left_m - strip.width_m * 0.4))
            host = min(own, key=lambda at: abs(at - row))
            y = -(UNITS_MM + 2.4 + lane * BETWEEN_MM) * mm
            _tick(axes, host, y, 0.8 * mm)
            _tick(axes, row, y, 0.8 * mm)
            axes.plot([host, row], [y, y], color=INK, linewidth=0.6)
            said = format_small(abs(row - host), picture.scene.plan.units)
            x = max(host, row) + 1.0 * mm
            if x + text_width_mm(said) * mm <= strip.left_m + strip.width_m:
                _text(axes, x, y, said, va="center_baseline")


def _strips(axes: Axes, picture: Picture) -> None:
    """Dimension each strip, with its words or its number."""
    mm, y = picture.mm, -picture.arrow_mm * picture.mm
    for strip, lines in zip(picture.scene.section.strips, picture.labels, strict=True):
        low, high = strip.left_m, strip.left_m + strip.width_m
        size = 6 if strip.width_m > 6 * mm else 3
        axes.annotate("", (low, y), (high, y), arrowprops={
            "arrowstyle": "<->", "linewidth": 0.7, "shrinkA": 0, "shrinkB": 0,
            "mutation_scale": size,
        })  # fmt: skip
        for number, line in enumerate(lines):
            line_y = y - (number + 1) * SMALL_LINE_MM * mm
            _text(axes, (low + high) / 2, line_y, line, ha="center")


def _key(axes: Axes, picture: Picture) -> None:
    """Say what each plant is; the key's plants are not to scale."""
    mm = picture.mm
    for x_mm, line, entry in picture.key:
        x = (x_mm - LEFT_MM) * mm
        y = -(picture.key_mm + line * KEY_MM) * mm
        if entry.layer is not None:
            axes.add_patch(
                plant_patch(picture.scene, entry.layer, x + 2.0 * mm, 3.0 * mm, 3.6 * mm,
                            y - 0.4 * mm)
            )  # fmt: skip
            if entry.layer.number:
                mark_between(axes, entry.layer.number, [x + 4.6 * mm], y + 0.3 * mm)
        if entry.tramline:
            mark_tramline(axes, x + 2.6 * mm, y + 0.7 * mm)
        room_mm = picture.width_mm - x_mm - swatch_mm(entry)
        _text(axes, x + swatch_mm(entry) * mm, y, fitted(entry.said, room_mm, SMALLEST_PT))


def section_sheets(paper: Paper, scene: Scene) -> Iterator[Sheet]:
    """Draw the section over a sheet, its words under it."""
    sheet = paper.sheet("Across one set")
    picture = Picture(scene, paper.inner_mm)
    room_mm = sheet.top_mm - FOOT_MM - height_mm(picture.caption) - 1.5 * LINE_MM
    over_mm = picture.height_mm - room_mm
    if over_mm > 0:
        picture = Picture(scene, paper.inner_mm, min(PLANTS_MM, picture.plants_mm) - over_mm)
    foot_mm = _write(sheet, picture, sheet.top_mm, MARGIN_MM)
    _enlarged(sheet, picture, foot_mm - 6.0 - LINE_MM)
    yield sheet


def _write(sheet: Sheet, picture: Picture, top_mm: float, left_mm: float) -> float:
    """Draw a picture from a height down, its words under it; give where these end."""
    bottom_mm = top_mm - picture.height_mm
    draw_section(
        sheet.axes(Place(left_mm, bottom_mm, picture.width_mm, picture.height_mm)), picture
    )
    return sheet.write(picture.caption, bottom_mm - 6.0 + LINE_MM, left_mm)


def _enlarged(sheet: Sheet, whole: Picture, top_mm: float) -> None:
    """Show where strips meet in a wide set again, larger, as far as there is room.

    A set of one strip shows where planter passes meet.
    """
    section = whole.scene.section
    starts = [strip.left_m for strip in section.strips[1:]]
    passes = [edge.at_m for edge in whole.edges if 0 < edge.at_m < section.width_m]
    if section.width_m < 2 * ENLARGED_M:
        return
    shown_m = -ENLARGED_M
    for about_m in starts or passes[:1]:
        low_m = min(max(0.0, about_m - ENLARGED_M / 2), section.width_m - ENLARGED_M)
        if low_m < shown_m + ENLARGED_M / 2:
            continue
        detail = Picture(whole.scene, whole.width_mm, window_m=(low_m, low_m + ENLARGED_M))
        if detail.height_mm + 8 > top_mm - FOOT_MM:
            return
        width, times = format_length(ENLARGED_M, whole.scene.plan.units), whole.mm / detail.mm
        said = f"{width} of the set, {trim(times, 1)} times as large"
        sheet.text(MARGIN_MM, top_mm - 4, said, SMALLEST_PT)
        bottom_mm = top_mm - 8 - detail.height_mm
        place = Place(MARGIN_MM, bottom_mm, detail.width_mm, detail.height_mm)
        draw_section(sheet.axes(place), detail)
        top_mm, shown_m = bottom_mm - 4, low_m


def check_ending(path: Path) -> None:
    """Check that a file's ending is one of a picture.

    Raises:
        OutputError: it is not.
    """
    if path.suffix.lower() not in SUFFIXES:
        raise OutputError(f"{path.name}: must end in {', '.join(SUFFIXES)}")


def write_section(scene: Scene, path: Path) -> list[Notice]:
    """Write a picture of a section as a file of its own: SVG, PNG or PDF by the file's ending.

    Returns:
        What the user should know: characters that can't be printed.

    Raises:
        OSError: a file that can't be written.
    """
    # dates are left out, so that the same plan gives the same bytes
    undated = {".svg": ["Date"], ".pdf": ["CreationDate", "ModDate"]}
    metadata = dict.fromkeys(undated.get(path.suffix.lower(), []))
    with our_look():
        picture = Picture(scene, WIDTH_MM - 2 * SIDE_MM)
        words_mm = height_mm(picture.caption)
        sheet = Sheet(WIDTH_MM, TOP_MM + picture.height_mm + words_mm + BOTTOM_MM)
        title = fitted(scene.plan.title, WIDTH_MM - 2 * SIDE_MM, TEXT_PT + 2, bold=True)
        sheet.text(SIDE_MM, sheet.height_mm - 8.0, title, TEXT_PT + 2, weight="bold")
        _write(sheet, picture, sheet.height_mm - TOP_MM, SIDE_MM)
        written = print_boxes(sheet.figure)
        sheet.figure.savefig(path, dpi=DOTS_PER_INCH, metadata=metadata)
    return unprinted(written)
