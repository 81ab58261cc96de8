"""Lay out the machines above a section: true passes, booms with every section, wheels."""

import math
from dataclasses import dataclass, field

from striplay.mapbook.scene import Scene
from striplay.mapbook.style import SMALLEST_PT, fitted
from striplay.plan.machines import Sprayer
from striplay.section.section import SidePasses, Strip, Work
from striplay.tolerances import WIDTH_M

NAME_ROOM_MM = 110.0
"""Room for a lane's name, what it says of passes left out not included."""
LEVELS = 4
"""Lines of boxes drawn of a machine whose passes overlap; the others are alike."""
NAME_MM, BOX_MM, WHEEL_MM, APART_MM = 3.4, 1.8, 1.4, 0.9
ORDER = {"plant": 0, "harvest": 1, "spray": 2}
SAYS = {"plant": "plants", "harvest": "harvests", "spray": "sprays"}


@dataclass(frozen=True, slots=True)
class Part:
    """A boom's section: its edges from the set's first edge, and whether it sprays the strip.

    It is "on" within its strip, "off" outside, "edge" where it lies over the strip's edge.
    """

    low_m: float
    high_m: float
    state: str


@dataclass(frozen=True)
class Box:
    """A pass: what the machine covers, from the set's first edge.

    Attributes:
        low_m: its lower edge.
        high_m: its upper edge.
        level: lines above the lane's lowest, where passes overlap.
        parts: a boom's sections.
        wheels: lower edge and width of each tyre.
        open_low: whether it begins before the set.
        open_high: whether it ends beyond the set.
    """

    low_m: float
    high_m: float
    level: int = 0
    parts: tuple[Part, ...] = ()
    wheels: tuple[tuple[float, float], ...] = ()
    open_low: bool = False
    open_high: bool = False


@dataclass(frozen=True)
class Lane:
    """One machine's work over the set: its name and its passes."""

    name: str
    boxes: list[Box] = field(default_factory=list)

    @property
    def levels(self) -> int:
        """How many lines of boxes it takes."""
        return 1 + max((box.level for box in self.boxes), default=0)

    @property
    def line_mm(self) -> float:
        """Height of a line of boxes, with wheels where there are any."""
        return BOX_MM + APART_MM + (WHEEL_MM if any(box.wheels for box in self.boxes) else 0.0)

    @property
    def height_mm(self) -> float:
        """Height of the lane, its name included."""
        return NAME_MM + self.levels * self.line_mm


def lanes_of(scene: Scene) -> list[Lane]:
    """Give each machine's passes over the set: planters lowest, then headers, then booms."""
    found: dict[tuple[str, str, str], list[tuple[float, float, Strip | None]]] = {}
    for side in scene.section.side_passes:
        spans = _side_spans(side, scene.section.width_m)
        found[side.operation, side.machine, ""] = [(low, high, None) for low, high in spans]
    for strip in scene.section.strips:
        for work in strip.works:
            of = found.setdefault((work.operation, work.machine, work.crop), [])
            of += [(low, high, strip) for low, high in _strip_spans(scene, strip, work)]
    listed = sorted(found.items(), key=lambda item: ORDER[item[0][0]])
    return [
        _lane(_name(scene, does, machine, crop), _boxes(scene, machine, spans))
        for (does, machine, crop), spans in listed
    ]


def _name(scene: Scene, does: str, machine: str, crop: str) -> str:
    """Name a lane by its machine, what it does, and the crops it does it to, cut if too long."""
    strips = scene.section.strips
    done = [
        strip.crop
        for strip in strips
        for work in strip.works
        if (work.operation, work.machine, work.crop) == (does, machine, "")
    ]
    if any((side.operation, side.machine) == (does, machine) for side in scene.section.side_passes):
        done += [strip.crop for strip in strips]
    crops = crop or ", ".join(dict.fromkeys(done))
    return fitted(f"{machine} {SAYS[does]} {crops}".rstrip(), NAME_ROOM_MM, SMALLEST_PT)


def _lane(name: str, boxes: list[Box]) -> Lane:
    """Make a lane of as many lines as are drawn; its name says if that is not all."""
    shown = [box for box in boxes if box.level < LEVELS]
    if len(shown) < len(boxes):
        name = f"{name}, {len(shown)} of its {len(boxes)} passes shown"
    return Lane(name, shown)


def _side_spans(side: SidePasses, width_m: float) -> list[tuple[float, float]]:
    """Give the passes that lie over the set, some of them only in part."""
    first = math.floor(-side.first_m / side.width_m + WIDTH_M)
    last = math.ceil((width_m - side.first_m) / side.width_m - WIDTH_M)
    edges = [side.first_m + number * side.width_m for number in range(first, last)]
    return [(edge, edge + side.width_m) for edge in edges]


def _strip_spans(scene: Scene, strip: Strip, work: Work) -> list[tuple[float, float]]:
    """Give a work's passes over a strip; a boom, or a single header, at its own width."""
    machine = scene.plan.machines[work.machine]
    spans = work.spans(strip)
    true_width = isinstance(machine, Sprayer) or (work.operation == "harvest" and len(spans) == 1)
    listed = []
    for low, high in spans:
        over_m = max(0.0, machine.width_m - (high - low)) / 2 if true_width else 0.0
        at_m = strip.left_m + work.shift_m
        listed.append((at_m + low - over_m, at_m + high + over_m))
    return listed


def _boxes(scene: Scene, name: str, spans: list[tuple[float, float, Strip | None]]) -> list[Box]:
    """Set passes above one another where they overlap."""
    ends: list[float] = []
    boxes = []
    for low, high, strip in sorted(spans, key=lambda span: span[:2]):
        level = next((i for i, end in enumerate(ends) if end <= low + WIDTH_M), len(ends))
        ends[level : level + 1] = [high]
        boxes.append(
            Box(
                low, high, level,
                parts=_parts(scene, name, low, strip),
                wheels=_wheels(scene, name, (low + high) / 2),
                open_low=low < -WIDTH_M,
                open_high=high > scene.section.width_m + WIDTH_M,
            )
        )  # fmt: skip
    return boxes


def _parts(scene: Scene, name: str, low_m: float, strip: Strip | None) -> tuple[Part, ...]:
    """Give a boom's sections, all of equal width."""
    machine = scene.plan.machines[name]
    if not isinstance(machine, Sprayer) or strip is None:
        return ()
    each_m = machine.width_m / machine.sections
    begin_m, end_m = strip.left_m, strip.left_m + strip.width_m
    parts = []
    for number in range(machine.sections):
        low, high = low_m + number * each_m, low_m + (number + 1) * each_m
        state = "edge"
        if low >= begin_m - WIDTH_M and high <= end_m + WIDTH_M:
            state = "on"
        elif high <= begin_m + WIDTH_M or low >= end_m - WIDTH_M:
            state = "off"
        parts.append(Part(low, high, state))
    return tuple(parts)


def _wheels(scene: Scene, name: str, middle_m: float) -> tuple[tuple[float, float], ...]:
    """Give where a machine's tyres run, if its track and tyres are stated."""
    machine = scene.plan.machines[name]
    track_m, tyre_m = machine.track_m, machine.tyre_m
    if track_m is None or tyre_m is None:
        return ()
    return tuple((middle_m + side * track_m / 2 - tyre_m / 2, tyre_m) for side in (-1, 1))
