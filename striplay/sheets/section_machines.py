"""Lay out and draw the machines above a section: true passes, booms with every section, wheels."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from itertools import pairwise

from striplay.operations.jobs import jobs_of
from striplay.operations.wheels import paths_of, sets_of, traffic
from striplay.plan.machines import Sprayer
from striplay.section.section import Pass, Section
from striplay.section.tramlines import pass_on
from striplay.sheets.fonts import fitted
from striplay.sheets.section_pen import BLACK, Hatch, Mark, Pen, box
from striplay.sheets.section_scene import Scene
from striplay.sheets.style import MM, SMALLEST_PT
from striplay.tolerances import WIDTH_M

NAME_ROOM_MM = 110.0
"""Room for a lane's name, what it says of passes left out not included."""
LEVELS = 4
"""Lines of boxes drawn of a machine whose passes overlap; the others are alike."""
NAME_MM, BOX_MM, WHEEL_MM, APART_MM = 3.4, 1.8, 1.4, 0.9
BEYOND_MM = 1.5
"""How far past the set a pass is drawn that runs on."""
SAYS = {
    "plant": "plants", "harvest": "harvests", "spray": "sprays", "spread": "spreads on",
    "cultivate": "cultivates", "mow": "mows", "till": "tills", "haul": "hauls from",
}  # fmt: skip
"""What machines do, those drawn lowest first."""
FACES = {"on": "#b9b9b9", "off": "#ffffff", "edge": "#ffffff"}


@dataclass(frozen=True, slots=True)
class Part:
    """A boom's section: its edges from the set's first edge, and whether it sprays the strip.

    It is "on" within its strip, "off" outside, "edge" where it lies over the strip's edge; of a
    boom over several strips, likewise with all strips of the crops that its pass sprays.
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
        wheels: lower edge and width of each tire.
        outlined: whether it is a pass; else only its wheels are drawn.
    """

    low_m: float
    high_m: float
    level: int = 0
    parts: tuple[Part, ...] = ()
    wheels: tuple[tuple[float, float], ...] = ()
    outlined: bool = True


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
        if not any(box.outlined for box in self.boxes):
            return WHEEL_MM + APART_MM
        return BOX_MM + APART_MM + (WHEEL_MM if any(box.wheels for box in self.boxes) else 0.0)

    @property
    def height_mm(self) -> float:
        """Height of the lane, its name included."""
        return NAME_MM + self.levels * self.line_mm


def lanes_of(scene: Scene) -> list[Lane]:
    """Give each machine's passes over the set: planters lowest, then headers, then booms.

    A boom over several strips has a lane for each of its operations: in each its sections are shut
    over other crops. All wheels together come below, where those of several machines are known.
    """
    booms = _on_tramlines(scene.section) if scene.booms is None else scene.booms
    found: dict[tuple[str, str, str], list[Pass]] = {}
    for one in [*scene.section.passes_across(), *booms]:
        apart = one.layer or (one.strip is None and one.operation != "plant")
        found.setdefault((one.operation, one.machine, one.crop if apart else ""), []).append(one)
    ordered = sorted(found.values(), key=lambda passes: list(SAYS).index(passes[0].operation))
    lanes = [_lane(scene, passes) for passes in ordered]
    wheels = {one for passes in ordered for each in passes for one in _wheels(scene, each)}
    if sum(any(box.wheels for box in lane.boxes) for lane in lanes) > 1:
        share = _tracked(scene)
        name = f"known wheels together, on {100 * share:.0f} % of the ground"
        width_m = scene.section.width_m
        together = Box(0.0, width_m, wheels=tuple(sorted(wheels)), outlined=False)
        lanes.insert(0, Lane(name, [together]))
    return lanes


def _tracked(scene: Scene) -> float:
    """Give the share of the ground that wheels run on at least once in the season."""
    plan, section = scene.plan, scene.section
    jobs = jobs_of(plan, section, {})
    sets = sets_of(section, jobs)
    paths = (paths_of(plan, section, job, sets) for job in jobs)
    return traffic([one for one in paths if one is not None])[-1].share


def _lane(scene: Scene, passes: list[Pass]) -> Lane:
    """Make a lane of as many lines as are drawn; its name says if that is not all."""
    boxes = _boxes(scene, passes)
    shown = [box for box in boxes if box.level < LEVELS]
    name = _name(passes)
    if len(shown) < len(boxes):
        name = f"{name}, {len(shown)} of its {len(boxes)} passes shown"
    return Lane(name, shown)


def _name(passes: list[Pass]) -> str:
    """Name a lane by its machine, what it does, and the crops it does it to, cut if too long."""
    done = [crop for one in passes for crop in one.crop.split(" + ")]
    said = f"{passes[0].machine} {SAYS[passes[0].operation]} {', '.join(dict.fromkeys(done))}"
    return fitted(said, NAME_ROOM_MM * MM, SMALLEST_PT)


def _boxes(scene: Scene, passes: list[Pass]) -> list[Box]:
    """Set passes above one another where they overlap."""
    covered = []
    for one in passes:
        alone = [other.strip for other in passes].count(one.strip) == 1
        half_m = _covered_m(one, alone=alone) / 2
        covered.append((one.middle_m - half_m, one.middle_m + half_m, one))
    ends: list[float] = []
    boxes = []
    for low_m, high_m, one in sorted(covered, key=lambda each: each[:2]):
        level = next((i for i, end in enumerate(ends) if end <= low_m + WIDTH_M), len(ends))
        ends[level : level + 1] = [high_m]
        parts, wheels = _parts(scene, one, low_m), _wheels(scene, one)
        boxes.append(Box(low_m, high_m, level, parts, wheels))
    return boxes


def _covered_m(one: Pass, *, alone: bool) -> float:
    """Give how wide a pass covers: a boom, or a header alone on a strip, at least its own width."""
    taken_m = one.high_m - one.low_m
    whole = one.operation == "spray" or (one.operation == "harvest" and alone)
    return max(taken_m, one.width_m) if whole and one.strip is not None else taken_m


def _on_tramlines(section: Section) -> list[Pass]:
    """List the passes of booms over several strips that lie over the pattern's first set.

    A line is driven once for each operation that treats a crop under it.
    """
    every = (
        replace(pass_on(one, at_m + turn * one.pattern_m), crop=crop)
        for one in section.tramlines
        for crop in one.crops
        for turn in (-1, 0, 1)
        for at_m in one.middles_m
    )
    low_m, high_m = section.left_m + WIDTH_M, section.left_m + section.width_m - WIDTH_M
    return [one for one in every if one.low_m < high_m and one.high_m > low_m]


def _parts(scene: Scene, one: Pass, low_m: float) -> tuple[Part, ...]:
    """Give a boom's sections, all of equal width."""
    machine = scene.plan.machines[one.machine]
    if not isinstance(machine, Sprayer):
        return ()
    each_m = machine.width_m / machine.sections
    edges_m = [low_m + number * each_m for number in range(machine.sections + 1)]
    return tuple(Part(*edges, _state(scene.section, one, *edges)) for edges in pairwise(edges_m))


def _state(section: Section, one: Pass, low_m: float, high_m: float) -> str:
    """Say whether a section of a boom lies over what it sprays, an edge of it, or elsewhere."""
    if one.strip is None:
        return _state_over(section, one, low_m, high_m)
    strip = section.strips[one.strip]
    if low_m >= strip.left_m - WIDTH_M and high_m <= strip.right_m + WIDTH_M:
        return "on"
    beside = high_m <= strip.left_m + WIDTH_M or low_m >= strip.right_m - WIDTH_M
    return "off" if beside else "edge"


def _state_over(section: Section, one: Pass, low_m: float, high_m: float) -> str:
    """Say it of a boom over several strips, those of sets beside included."""
    sprayed, first = set(one.crop.split(" + ")), section.left_m
    turns = range(
        math.floor((low_m - first) / section.width_m), math.ceil((high_m - first) / section.width_m)
    )
    under = {
        bool(sprayed & labels)
        for strip, labels in zip(section.strips, section.grown, strict=True)
        for by_m in (turn * section.width_m for turn in turns)
        if min(high_m, strip.right_m + by_m) - max(low_m, strip.left_m + by_m) > WIDTH_M
    }
    if len(under) > 1:
        return "edge"
    return "on" if under == {True} else "off"


def _wheels(scene: Scene, one: Pass) -> tuple[tuple[float, float], ...]:
    """Give where a machine's tires run, if its tread and tires are stated."""
    machine = scene.plan.machines[one.machine]
    tread_m, tire_m = machine.tread_m, machine.tire_m
    if tread_m is None or tire_m is None:
        return ()
    return tuple((one.middle_m + side * tread_m / 2 - tire_m / 2, tire_m) for side in (-1, 1))


def lane_words(lanes: Iterable[Lane], width_m: float) -> list[str]:
    """Say what is drawn of machines over a set so wide."""
    boxes = [box for lane in lanes for box in lane.boxes]
    if not boxes:
        return []
    said = ["Boxes: passes."]
    if any(box.low_m < -WIDTH_M or box.high_m > width_m + WIDTH_M for box in boxes):
        said.append("Arrow: a pass runs on beyond the set.")
    states = {part.state for box in boxes for part in box.parts}
    if "on" in states:
        said.append(
            "Booms: gray sections spray" + (", white are shut off." if "off" in states else ".")
        )
    if "edge" in states:
        said.append("Hatched: a section over an edge of what it sprays.")
    wheels = [wheel for box in boxes for wheel in box.wheels]
    if any(at_m >= 0.0 and at_m + wide_m <= width_m for at_m, wide_m in wheels):
        said.append("Black: wheels.")
    return said


def draw_lanes(
    pen: Pen, lanes: list[Lane], ends_m: tuple[float, float], foot_m: float, mm: float
) -> None:
    """Draw lanes one above the other.

    Args:
        pen: what draws.
        lanes: from the lowest.
        ends_m: from where to where of the set.
        foot_m: where the lowest lane begins, above the ground.
        mm: meters to a millimeter on paper.
    """
    y = foot_m
    edges_m = (ends_m[0] - BEYOND_MM * mm, ends_m[1] + BEYOND_MM * mm)
    for lane in lanes:
        for one in lane.boxes:
            wheels_mm = WHEEL_MM if one.wheels else 0.0
            _draw(pen, one, y + (one.level * lane.line_mm + wheels_mm) * mm, edges_m, mm)
        top = y + lane.levels * lane.line_mm * mm
        pen.text(ends_m[0], top + (NAME_MM - APART_MM - 1.9) * mm, lane.name)
        y = top + NAME_MM * mm


def _draw(pen: Pen, one: Box, y: float, edges_m: tuple[float, float], mm: float) -> None:
    """Draw a pass as far as the picture goes, an arrow where it runs on."""
    first, last = edges_m
    if one.high_m <= first or one.low_m >= last:
        return
    if one.outlined:
        _outline(pen, one, y, edges_m, mm)
    for x, wide_m in one.wheels:
        if first <= x and x + wide_m <= last:
            pen.area(box(x, y - WHEEL_MM * mm, wide_m, WHEEL_MM * mm), BLACK)


def _outline(pen: Pen, one: Box, y: float, edges_m: tuple[float, float], mm: float) -> None:
    """Draw what a pass covers, its sections, and whether it runs on."""
    first, last = edges_m
    low, high, tall = max(one.low_m, first), min(one.high_m, last), BOX_MM * mm
    pen.area(box(low, y, high - low, tall), "#ffffff")
    for part in one.parts:
        begin, end = max(part.low_m, first), min(part.high_m, last)
        if end > begin:
            hatch: Hatch = "close" if part.state == "edge" else ""
            shape = box(begin, y, end - begin, tall)
            pen.area(shape, FACES[part.state], 0.35, BLACK, hatch=hatch)
    for level in (y, y + tall):
        pen.line([(low, level), (high, level)], 0.7, BLACK)
    for end, runs_on, mark, side in (
        (low, one.low_m < first, LEFT, -1), (high, one.high_m > last, RIGHT, 1),
    ):  # fmt: skip
        if runs_on:
            pen.mark([end + side * 1.1 * mm], y + tall / 2, mark, 2.6)
        else:
            pen.line([(end, y), (end, y + tall)], 0.7, BLACK)


LEFT: Mark = "left"
RIGHT: Mark = "right"
