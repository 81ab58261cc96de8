"""Draw one set across the rows, to scale: plants, spacing, row units, and the machines above."""

import math
from itertools import pairwise

from matplotlib.axes import Axes
from matplotlib.patches import Ellipse, Rectangle

from striplay.mapbook.scene import Scene
from striplay.mapbook.style import SMALLEST_PT, TEXT_PT
from striplay.plan.machines import Sprayer
from striplay.section.section import Row, Strip
from striplay.units import format_length, format_small

APART_MM = 4.2
"""Numbers of row units stand at least so far apart."""
LANE_MM = 7.0
LABEL_MM = 3.4


def picture_height_mm(scene: Scene, width_mm: float) -> float:
    """Give how high a picture of some width is, the scale being the same both ways."""
    lanes = len(_lanes(scene)) * LANE_MM
    return scene.top_m / scene.section.width_m * width_mm + lanes + 28.0


def draw_section(axes: Axes, scene: Scene, width_mm: float) -> None:
    """Draw a section over axes that are `width_mm` wide and `picture_height_mm` high."""
    width_m = scene.section.width_m
    mm = width_m / width_mm
    axes.set_xlim(0, width_m)
    axes.set_ylim(-17.0 * mm, picture_height_mm(scene, width_mm) * mm - 17.0 * mm)
    axes.set_aspect("equal")
    axes.axis("off")
    axes.plot([0, width_m], [0, 0], color="#333333", linewidth=1.2)
    for row in scene.section.rows:
        _plant(axes, scene, row)
    _number_units(axes, scene, mm)
    _guess_rows(axes, scene, mm)
    for strip in scene.section.strips:
        _strip(axes, scene, strip, mm)
    for number, lane in enumerate(_lanes(scene)):
        _lane(axes, lane, (scene.top_m + (9 + number * LANE_MM) * mm, mm))


def _plant(axes: Axes, scene: Scene, row: Row) -> None:
    """Draw a row end on: a stem and a crown, side by side where several crops share it."""
    count = len(row.sown)
    for index, sown in enumerate(row.sown):
        height_m = scene.height_m(sown.crop)
        x = row.offset_m + (index - (count - 1) / 2) * row.spacing_m * 0.3
        if height_m <= 0:
            axes.plot([x], [0], marker="o", markersize=1.4, color="#333333")
            continue
        wide_m = min(row.spacing_m * 0.8, height_m * 0.6) / count
        axes.plot([x, x], [0, height_m * 0.9], color="#4d5d2b", linewidth=0.7)
        crown = Ellipse((x, height_m * 0.62), wide_m, height_m * 0.76)
        crown.set(facecolor=scene.colour(sown.crop), edgecolor="#333333", linewidth=0.35)
        crown.set_linestyle("-" if row.layer == 0 else ":")
        axes.add_patch(crown)


def _number_units(axes: Axes, scene: Scene, mm: float) -> None:
    """Number row units under the rows, as many as there is room for."""
    last_x = -math.inf
    for row in scene.section.rows:
        if row.layer or row.unit < 1 or row.offset_m - last_x < APART_MM * mm:
            continue
        last_x = row.offset_m
        axes.text(row.offset_m, -LABEL_MM * mm, str(row.unit), fontsize=SMALLEST_PT, ha="center")


def _guess_rows(axes: Axes, scene: Scene, mm: float) -> None:
    """Mark guess rows and strips' borders, each with the gap between its two rows."""
    own = [row for row in scene.section.rows if row.layer == 0]
    for one, other in pairwise(own):
        x = (one.offset_m + other.offset_m) / 2
        if one.strip != other.strip and not scene.section.side_passes:
            x = scene.section.strips[other.strip].left_m
        elif one.planter_pass == other.planter_pass:
            continue
        high_m = scene.top_m + 1.5 * mm
        axes.plot([x, x], [-4.4 * mm, high_m], color="#555555", linewidth=0.6,
                  linestyle=(0, (3, 2)))  # fmt: skip
        gap = format_small(other.offset_m - one.offset_m, scene.plan.units)
        axes.text(x, high_m + 0.6 * mm, gap, fontsize=SMALLEST_PT, ha="center")


def _strip(axes: Axes, scene: Scene, strip: Strip, mm: float) -> None:
    """Write a strip's crop, rows, spacing and width under it, with its width dimensioned."""
    units = scene.plan.units
    low, high, y = strip.left_m, strip.left_m + strip.width_m, -6.6 * mm
    axes.annotate("", (low, y), (high, y), arrowprops={"arrowstyle": "<->", "linewidth": 0.7,
                                                       "shrinkA": 0, "shrinkB": 0})  # fmt: skip
    words = [
        strip.crop,
        f"{strip.rows} rows of {format_small(strip.spacing_m, units)}",
        format_length(strip.width_m, units),
    ]
    room = int(strip.width_m / mm / (SMALLEST_PT * 0.21))
    lines = [", ".join(words)] if len(", ".join(words)) <= room else words
    for number, line in enumerate(lines):
        axes.text((low + high) / 2, y - (LABEL_MM + number * LABEL_MM) * mm,
                  line[: max(room, 1)], fontsize=SMALLEST_PT, ha="center")  # fmt: skip


Lane = tuple[str, list[tuple[float, float]], list[float], list[tuple[float, float]]]
"""A machine's lane: its name, its passes over the set, marks within them, and wheels."""


def _lanes(scene: Scene) -> list[Lane]:
    """Give each machine's passes over the set: planters lowest, then headers, then booms."""
    lanes: dict[tuple[str, str], tuple[list[tuple[float, float]], list[float]]] = {}
    width_m = scene.section.width_m
    for side in scene.section.side_passes:
        count = round(width_m / side.width_m)
        edges = [side.first_m + i * side.width_m for i in range(-1, count)]
        spans = [(max(e, 0.0), min(e + side.width_m, width_m)) for e in edges]
        lanes[side.operation, side.machine] = ([s for s in spans if s[1] > s[0]], [])
    for strip in scene.section.strips:
        for work in strip.works:
            spans, ticks = lanes.setdefault((work.operation, work.machine), ([], []))
            machine = scene.plan.machines[work.machine]
            listed_spans = work.spans(strip)
            for low, high in listed_spans:
                # a header wider than its strip is drawn as wide as it is
                over_m = 0.0
                if work.operation == "harvest" and len(listed_spans) == 1:
                    over_m = max(0.0, machine.width_m - (high - low)) / 2
                spans.append((strip.left_m + low - over_m, strip.left_m + high + over_m))
                if isinstance(machine, Sprayer) and machine.sections > 1:
                    part_m = machine.width_m / machine.sections
                    count = int((high - low) / part_m + 1e-6)
                    ticks += [strip.left_m + low + i * part_m for i in range(1, count)]
    order = {"plant": 0, "harvest": 1, "spray": 2}
    says = {"plant": "plants", "harvest": "harvests", "spray": "sprays"}
    listed = sorted(lanes.items(), key=lambda item: order[item[0][0]])
    return [
        (f"{name} {says[does]}", spans, ticks, _wheels(scene, name, spans))
        for (does, name), (spans, ticks) in listed
    ]


def _wheels(
    scene: Scene, machine: str, spans: list[tuple[float, float]]
) -> list[tuple[float, float]]:
    """Give where a machine's tyres run, if its track and tyres are stated."""
    track_m, tyre_m = scene.plan.machines[machine].track_m, scene.plan.machines[machine].tyre_m
    if track_m is None or tyre_m is None:
        return []
    middles = [(low + high) / 2 for low, high in spans]
    return [
        (middle + side * track_m / 2 - tyre_m / 2, tyre_m) for middle in middles for side in (-1, 1)
    ]


def _lane(axes: Axes, lane: Lane, place: tuple[float, float]) -> None:
    """Draw a machine's passes as boxes, boom sections ticked, wheels below, its name above."""
    name, spans, ticks, wheels = lane
    y, mm = place
    for low, high in spans:
        box = Rectangle((low, y), high - low, 1.6 * mm)
        box.set(facecolor="#ffffff", edgecolor="black", linewidth=0.7)
        axes.add_patch(box)
    for x in ticks:
        axes.plot([x, x], [y, y + 1.6 * mm], color="black", linewidth=0.4)
    for x, wide_m in wheels:
        axes.add_patch(Rectangle((x, y - 1.5 * mm), wide_m, 1.5 * mm, facecolor="black"))
    axes.text(0, y + 2.3 * mm, name, fontsize=SMALLEST_PT)


def caption(scene: Scene) -> list[str]:
    """Say what the picture shows."""
    when = "at full height" if scene.day is None else f"as on {scene.day.isoformat()}"
    unknown = [
        crop
        for crop in scene.section.crops
        if scene.facts.get(crop) is None or scene.facts[crop].height_m is None
    ]
    width = format_length(scene.section.width_m, scene.plan.units)
    lines = [
        f"One set, {width} across, to scale both ways; plants {when}, looking along the rows.",
        "Numbers: row units. Dashed: guess rows and strips' borders, with the gap between rows.",
        "Boxes: passes; ticks in them: boom sections; black below: wheels.",
    ]
    if unknown:
        lines.append(f"Height of {', '.join(unknown)} not known: drawn at half a metre.")
    return lines


TITLE_PT = TEXT_PT + 2
