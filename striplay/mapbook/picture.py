"""Settle how a section's picture is laid out: its scale, edges between rows, labels, key, lanes."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from striplay.mapbook.lanes import Lane, lanes_of
from striplay.mapbook.scene import Scene
from striplay.mapbook.section_words import KeyEntry, caption, key_of, rows_words, tramline_machines
from striplay.mapbook.style import SMALLEST_PT, text_width_mm, wrapped
from striplay.section.section import Section
from striplay.tolerances import WIDTH_M
from striplay.units import format_length

LEFT_MM, RIGHT_MM = 12.0, 6.5
"""Room beside the set, for the scale of heights and for passes that run on."""
PLANTS_MM = 100.0
"""Plants are drawn at most so high; a narrow set of tall crops is drawn narrower for it."""
GAPS_MM = 8.0
"""Room above the plants for the gaps between rows."""
LINE_MM = 3.4
BETWEEN_MM = 3.8
ARROW_MM = 6.6
KEY_MM, SWATCH_MM, KEY_GAP_MM = 5.0, 6.0, 6.0


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
    passes = list(_pass_edges(section))
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


def _pass_edges(section: Section) -> Iterator[float]:
    """Give the edges of planters' passes over the strips' own rows, within the set."""
    for side in section.side_passes:
        if side.operation != "plant":
            continue
        count = round(section.width_m / side.width_m)
        for number in range(-1, count + 1):
            at_m = side.first_m + number * side.width_m
            if -WIDTH_M <= at_m <= section.width_m + WIDTH_M:
                yield at_m
    for strip in section.strips:
        for work in strip.works:
            if work.operation == "plant" and work.layer == 0:
                for low, high in work.spans(strip):
                    yield strip.left_m + low
                    yield strip.left_m + high


@dataclass(frozen=True)
class Picture:
    """A section's picture at a width on paper.

    Attributes:
        scene: what it shows.
        width_mm: its width, margins included.
        most_mm: height that plants may take.
        window_m: from where to where of the set it shows; all of it when left out.
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
        """Metres on the ground, and upward, to a millimetre on paper."""
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

    @property
    def layers(self) -> int:
        """How many crops are sown between the rows of a strip, at most."""
        pairs = {(row.strip, row.layer) for row in self.scene.section.rows if row.layer}
        strips = [strip for strip, _ in pairs]
        return max((strips.count(strip) for strip in strips), default=0)

    @cached_property
    def labels(self) -> list[list[str]]:
        """Words under each strip: on one line or three where there is room, else its number."""
        units = self.scene.plan.units
        labels = []
        for index, strip in enumerate(self.scene.section.strips):
            rows = rows_words(self.scene.section, index, units)
            words = [strip.crop, rows, format_length(strip.width_m, units)]
            room_mm = strip.width_m / self.mm - 1.0
            if text_width_mm(", ".join(words)) <= room_mm:
                labels.append([", ".join(words)])
            elif max(text_width_mm(word) for word in words) <= room_mm:
                labels.append(words)
            else:
                labels.append([str(index + 1)])
        return labels

    @cached_property
    def key(self) -> list[tuple[float, int, KeyEntry]]:
        """The key's entries, each at a distance from the left in millimetres and on a line."""
        numbered = [i for i, label in enumerate(self.labels) if label == [str(i + 1)]]
        entries = key_of(self.scene, numbered)
        if self.scene.section.tramlines_m:
            said = f"tramline: a row left out for wheels of {tramline_machines(self.scene)}"
            entries.append(KeyEntry(None, said, tramline=True))
        placed = []
        x_mm, line = 0.0, 0
        for entry in entries:
            swatch_mm = SWATCH_MM if entry.drawn else 0.0
            wide_mm = swatch_mm + text_width_mm(entry.said)
            if x_mm > 0 and x_mm + wide_mm > self.width_mm:
                x_mm, line = 0.0, line + 1
            placed.append((x_mm, line, entry))
            x_mm += wide_mm + KEY_GAP_MM
        return placed

    @property
    def arrow_mm(self) -> float:
        """How far under the ground the strips' widths are dimensioned."""
        return ARROW_MM + self.layers * BETWEEN_MM

    @property
    def key_mm(self) -> float:
        """How far under the ground the key's first line stands."""
        return self.arrow_mm + LINE_MM * max(len(label) for label in self.labels) + 6.0

    @property
    def below_mm(self) -> float:
        """Room it takes under the ground."""
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
        """The words to stand under it."""
        told = caption(self.scene, [edge.mark for edge in self.edges], self.lanes)
        return [line for text in told for line in wrapped(text, self.width_mm)]


def room_for(text: str, size_pt: float = SMALLEST_PT) -> float:
    """Half the room a text takes about its middle, in millimetres, with some air."""
    return text_width_mm(text, size_pt) / 2 + 0.6
