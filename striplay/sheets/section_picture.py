"""Lay out and draw one set across the rows, to scale; on a page or as a file of its own."""

import math
from dataclasses import dataclass
from functools import cached_property

from striplay.section.section import Section
from striplay.sheets.fonts import fitted, width_pt
from striplay.sheets.section_machines import Lane, draw_lanes, lane_words, lanes_of
from striplay.sheets.section_pen import SMALL_LINE_MM, SOFT_INK, Pen
from striplay.sheets.section_plants import draw_plant, draw_rows, mark_between, mark_tramline
from striplay.sheets.section_scene import KeyEntry, Scene, caption_of, key_of, strip_words
from striplay.sheets.style import MM, SMALLEST_PT
from striplay.tolerances import WIDTH_M
from striplay.units import FOOT_M, format_small, trim

LEFT_MM, RIGHT_MM = 12.0, 6.5
"""Room beside the set, for the scale of heights and for passes that run on."""
PLANTS_MM = 100.0
"""Plants are drawn at most so high; a narrow set of tall crops is drawn narrower for it."""
GAPS_MM = 8.0
"""Room above the plants for the gaps between rows."""
UNITS_MM, BETWEEN_MM, ARROW_MM = 3.9, 3.8, 6.6
"""Under the ground: row units, each crop between rows, strips' widths."""
KEY_MM, SWATCH_MM, KEY_GAP_MM = 5.0, 6.0, 6.0
APART_MM = 4.2
"""Numbers of row units stand at least so far apart."""
TICK_MM = 2.8
PALE = "#8a8a8a"


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
        part_m: from where to where of the set it shows; all of it when left out.
        least_mm: meters to a millimeter at least, so that parts of a set are as large as others.
        keyed: whether the key stands under it.
    """

    scene: Scene
    width_mm: float
    most_mm: float = PLANTS_MM
    part_m: tuple[float, float] | None = None
    least_mm: float = 0.0
    keyed: bool = True

    @property
    def ends_m(self) -> tuple[float, float]:
        """From where to where of the set it shows."""
        return self.part_m or (0.0, self.scene.section.width_m)

    @property
    def mm(self) -> float:
        """Meters on the ground, and upward, to a millimeter on paper."""
        across_mm = self.width_mm - LEFT_MM - RIGHT_MM
        low_m, high_m = self.ends_m
        tallest = self.scene.top_m / self.most_mm
        return max((high_m - low_m) / across_mm, tallest, self.least_mm)

    @property
    def across_m(self) -> tuple[float, float]:
        """Its left and right edge, from the set's first edge."""
        low_m, mm = self.ends_m[0], self.mm
        return low_m - LEFT_MM * mm, low_m + (self.width_mm - LEFT_MM) * mm

    @property
    def up_m(self) -> tuple[float, float]:
        """Its lower and upper edge, from the ground."""
        return -self.below_mm * self.mm, (self.height_mm - self.below_mm) * self.mm

    def shows(self, at_m: float) -> bool:
        """Tell whether it shows a place."""
        return self.ends_m[0] - WIDTH_M <= at_m <= self.ends_m[1] + WIDTH_M

    @cached_property
    def strips(self) -> dict[int, tuple[float, float]]:
        """What is shown of each strip, by its place in the set: from where to where."""
        low_m, high_m = self.ends_m
        shown = {
            index: (max(strip.left_m, low_m), min(strip.right_m, high_m))
            for index, strip in enumerate(self.scene.section.strips)
        }
        return {index: ends for index, ends in shown.items() if ends[1] - ends[0] > WIDTH_M}

    @cached_property
    def edges(self) -> list[Edge]:
        """Where strips and passes meet."""
        return [edge for edge in edges_across(self.scene.section) if self.shows(edge.at_m)]

    @cached_property
    def lanes(self) -> list[Lane]:
        """The machines above."""
        low_m, high_m = self.ends_m
        return [
            Lane(lane.name, shown)
            for lane in lanes_of(self.scene)
            if (shown := [one for one in lane.boxes
                          if one.low_m < high_m - WIDTH_M and one.high_m > low_m + WIDTH_M])
        ]  # fmt: skip

    @cached_property
    def labels(self) -> dict[int, list[str]]:
        """Words under each strip: on one line or three where there is room, else its number."""
        labels = {}
        for index, (low_m, high_m) in self.strips.items():
            words = strip_words(self.scene, index)
            if self.scene.strips:
                words[0] = f"{self.scene.name_of(index)} {words[0]}"
            if high_m - low_m < self.scene.section.strips[index].width_m - WIDTH_M:
                words[-1] += " in all"
            room_mm = (high_m - low_m) / self.mm - 1.0
            fitting = (lines for lines in ([", ".join(words)], words)
                       if max(map(wide_mm, lines)) <= room_mm)  # fmt: skip
            labels[index] = next(fitting, [self.scene.name_of(index)])
        return labels

    @cached_property
    def key(self) -> list[tuple[float, int, KeyEntry]]:
        """The key's entries, each at a distance from the left in millimeters and on a line."""
        numbered = [i for i, label in self.labels.items() if label == [self.scene.name_of(i)]]
        placed = []
        x_mm, line = 0.0, 0
        for entry in key_of(self.scene, numbered) if self.keyed else []:
            entry_mm = swatch_mm(entry) + wide_mm(entry.said)
            if x_mm > 0 and x_mm + entry_mm > self.width_mm:
                x_mm, line = 0.0, line + 1
            placed.append((x_mm, line, entry))
            x_mm += entry_mm + KEY_GAP_MM
        return placed

    @property
    def arrow_mm(self) -> float:
        """How far under the ground the strips' widths are dimensioned."""
        between = {(row.strip, row.layer) for row in self.scene.section.before_harvest().rows
                   if row.layer}  # fmt: skip
        strips = [strip for strip, _ in between]
        return ARROW_MM + BETWEEN_MM * max((strips.count(strip) for strip in strips), default=0)

    @property
    def key_mm(self) -> float:
        """How far under the ground the key's first line stands."""
        return self.arrow_mm + SMALL_LINE_MM * max(map(len, self.labels.values())) + 6.0

    @property
    def below_mm(self) -> float:
        """Room it takes under the ground."""
        if not self.key:
            return self.key_mm - KEY_MM
        return self.key_mm + KEY_MM * max(line for _, line, _ in self.key) + 1.5

    @property
    def plants_mm(self) -> float:
        """Height of the tallest plant on paper."""
        return self.scene.top_m / self.mm

    @property
    def height_mm(self) -> float:
        """Room it takes in all."""
        lanes_mm = sum(lane.height_mm for lane in self.lanes)
        return self.below_mm + self.plants_mm + GAPS_MM + lanes_mm

    @property
    def caption(self) -> list[str]:
        """The words to stand under it, whatever part of the set it shows: a text a line."""
        machines = lane_words(lanes_of(self.scene), self.scene.section.width_m)
        marks = {edge.mark for edge in edges_across(self.scene.section)}
        return [text for text in caption_of(self.scene, marks, machines) if text]


def wide_mm(said: str) -> float:
    """Measure a line of the smallest type."""
    return width_pt(said, SMALLEST_PT) / MM


def swatch_mm(entry: KeyEntry) -> float:
    """Give the room for what is drawn beside an entry's words."""
    return SWATCH_MM if entry.layer is not None or entry.tramline else 0.0


def draw_section(pen: Pen, picture: Picture) -> None:
    """Draw a section with what draws on a page or on axes."""
    mm, scene, (low_m, high_m) = picture.mm, picture.scene, picture.ends_m
    pen.line([(low_m, 0.0), (high_m, 0.0)], 1.2)
    draw_rows(pen, scene, mm, picture.ends_m)
    _number_units(pen, picture)
    _edges(pen, picture)
    _between(pen, picture)
    _strips(pen, picture)
    _key(pen, picture)
    draw_lanes(pen, picture.lanes, picture.ends_m, scene.top_m + GAPS_MM * mm, mm)
    _heights(pen, picture)


def _heights(pen: Pen, picture: Picture) -> None:
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
    pen.line([(x, 0.0), (x, max(top_m, step * unit_m))], 0.6)
    for number in range(count + 1):
        y = number * step * unit_m
        pen.line([(x - 1.0 * mm, y), (x, y)], 0.6)
        if number:
            pen.text(x - 1.6 * mm, y, f"{trim(number * step, 2)} {name}", 1.0, amid=True)


def _number_units(pen: Pen, picture: Picture) -> None:
    """Number row units under the rows: all, or every second, third ... where they are close."""
    section, mm = picture.scene.section, picture.mm
    last_x = -math.inf
    for row in section.rows:
        strip = section.strips[row.strip]
        step = max(1, math.ceil(APART_MM * mm / strip.spacing_m - 1e-9))
        known = row.layer == 0 and row.unit > 0 and strip.counted and picture.shows(row.offset_m)
        near = row.offset_m - last_x < (APART_MM - 1e-9) * mm
        if not known or near or (row.unit - 1) % step:
            continue
        last_x = row.offset_m
        pen.text(row.offset_m, -UNITS_MM * mm, str(row.unit), 0.5)


def _edges(pen: Pen, picture: Picture) -> None:
    """Draw guess rows and strips' borders, each with the true gap between its two rows."""
    mm, (first_m, last_m) = picture.mm, picture.ends_m
    bracket = picture.scene.top_m + 2.0 * mm
    free_m = -math.inf
    for edge in picture.edges:
        guess = edge.mark == "guess"
        pen.line([(edge.at_m, -1.5 * mm), (edge.at_m, bracket)], 0.7 if guess else 0.8,
                 SOFT_INK if guess else PALE, (4, 2.2) if guess else (1, 1.6))  # fmt: skip
        if not edge.known:
            continue
        ends = (max(edge.low_m, first_m - 1.5 * mm), min(edge.high_m, last_m + 1.5 * mm))
        pen.line([(end, bracket) for end in ends], 0.6)
        for row in (edge.low_m, edge.high_m):
            if row in ends:
                _tick(pen, row, bracket, 0.7 * mm)
        said = format_small(edge.high_m - edge.low_m, picture.scene.plan.units)
        half_m = (wide_mm(said) / 2 + 0.6) * mm
        if edge.at_m - half_m >= free_m:
            pen.text(edge.at_m, bracket + 1.2 * mm, said, 0.5)
            free_m = edge.at_m + half_m


def _tick(pen: Pen, x: float, y: float, half_m: float) -> None:
    pen.line([(x, y - half_m), (x, y + half_m)], 0.6)


def _between(pen: Pen, picture: Picture) -> None:
    """Dimension, once a strip, from a row of its own to the nearest of each crop between."""
    section, mm = picture.scene.section, picture.mm
    for index, (low_m, high_m) in picture.strips.items():
        own = [r.offset_m for r in section.rows if r.strip == index and r.layer == 0]
        between = (r for r in section.rows if r.strip == index and r.layer)
        layers = sorted({r.layer for r in between if not r.sown[0].follows})
        for lane, layer in enumerate(layers):
            rows = [r.offset_m for r in section.rows if r.strip == index and r.layer == layer]
            row = min(rows, key=lambda at: abs(at - low_m - (high_m - low_m) * 0.4))
            host = min(own, key=lambda at: abs(at - row))
            y = -(UNITS_MM + 2.4 + lane * BETWEEN_MM) * mm
            _tick(pen, host, y, 0.8 * mm)
            _tick(pen, row, y, 0.8 * mm)
            pen.line([(host, y), (row, y)], 0.6)
            said = format_small(abs(row - host), picture.scene.plan.units)
            x = max(host, row) + 1.0 * mm
            if x + wide_mm(said) * mm <= high_m:
                pen.text(x, y, said, amid=True)


def _strips(pen: Pen, picture: Picture) -> None:
    """Dimension each strip, with its words or its number."""
    mm, y = picture.mm, -picture.arrow_mm * picture.mm
    for index, (low, high) in picture.strips.items():
        pen.span(low, high, y, 6 if high - low > 6 * mm else 3)
        for number, line in enumerate(picture.labels[index]):
            pen.text((low + high) / 2, y - (number + 1) * SMALL_LINE_MM * mm, line, 0.5)


def _key(pen: Pen, picture: Picture) -> None:
    """Say what each plant is; the key's plants are not to scale."""
    mm, left_m = picture.mm, picture.across_m[0]
    for x_mm, line, entry in picture.key:
        x = left_m + x_mm * mm
        y = -(picture.key_mm + line * KEY_MM) * mm
        if entry.layer is not None:
            foot_m, size_m = (x + 2.0 * mm, y - 0.4 * mm), (3.0 * mm, 3.6 * mm)
            draw_plant(pen, picture.scene, entry.layer, foot_m, size_m)
            if entry.layer.number:
                mark_between(pen, entry.layer.number, [x + 4.6 * mm], y + 0.3 * mm)
        if entry.tramline:
            mark_tramline(pen, x + 2.6 * mm, y + 0.7 * mm)
        room_mm = picture.width_mm - x_mm - swatch_mm(entry)
        pen.text(x + swatch_mm(entry) * mm, y, fitted(entry.said, room_mm * MM, SMALLEST_PT))
