"""Draw one set across the rows, to scale: plants, spacing, row units, and the machines above."""

import math
from typing import Any

from matplotlib.axes import Axes
from matplotlib.patches import PathPatch, Rectangle

from striplay.accounts.sowings import Sowing
from striplay.mapbook.draw_lanes import draw_lanes
from striplay.mapbook.picture import (
    BETWEEN_MM,
    GAPS_MM,
    KEY_MM,
    LEFT_MM,
    LINE_MM,
    SWATCH_MM,
    Edge,
    Picture,
    room_for,
)
from striplay.mapbook.plants import habit_of, plant_path
from striplay.mapbook.scene import Scene
from striplay.mapbook.style import SMALLEST_PT, text_width_mm
from striplay.section.section import Row
from striplay.units import FOOT_M, format_small, trim

APART_MM = 4.2
"""Numbers of row units stand at least so far apart."""
UNITS_MM = 3.9
TICK_MM = 2.8
INK, PALE = "#333333", "#8a8a8a"
HATCH = "//////"
"""Marks plants between rows of another crop, in grey too."""
MARKS = ("^", "D", "s", "v", "o")
"""Marks under rows between others, by layer."""


def draw_section(axes: Axes, picture: Picture) -> None:
    """Draw a section over axes that are as wide and high on paper as the picture says."""
    mm, scene = picture.mm, picture.scene
    axes.set_xlim(-LEFT_MM * mm, (picture.width_mm - LEFT_MM) * mm)
    axes.set_ylim(-picture.below_mm * mm, (picture.height_mm - picture.below_mm) * mm)
    axes.set_aspect("equal")
    axes.axis("off")
    _heights(axes, picture)
    _standing(axes, picture)
    _strips(axes, picture)
    _key(axes, picture)
    draw_lanes(axes, picture.lanes, (scene.section.width_m, scene.top_m + GAPS_MM * mm, mm))


def _standing(axes: Axes, picture: Picture) -> None:
    """Draw the ground, the rows on it, and what is told of them."""
    axes.plot(picture.ends_m, [0, 0], color=INK, linewidth=1.2)
    _plants(axes, picture)
    _number_units(axes, picture)
    _edges(axes, picture)
    _between(axes, picture)


def draw_detail(axes: Axes, picture: Picture) -> None:
    """Draw the part of a section that a picture's window shows, without machines and strips' words.

    Args:
        axes: as wide on paper as the picture says, and `detail_height_mm` high.
        picture: with a window.
    """
    mm, (low_m, high_m) = picture.mm, picture.ends_m
    below_m = DETAIL_BELOW_MM * mm
    axes.set_xlim(low_m - LEFT_MM * mm, low_m + (picture.width_mm - LEFT_MM) * mm)
    axes.set_ylim(-below_m, detail_height_mm(picture) * mm - below_m)
    axes.set_aspect("equal")
    axes.axis("off")
    _standing(axes, picture)
    high = detail_height_mm(picture) * mm
    shown = Rectangle((low_m, -below_m), high_m - low_m, high, transform=axes.transData)
    for artist in [*axes.patches, *axes.lines]:
        artist.set_clip_path(shown)
    for text in list(axes.texts):
        if not low_m <= text.get_position()[0] <= high_m:
            text.remove()
    _heights(axes, picture)


DETAIL_BELOW_MM = 10.0


def detail_height_mm(picture: Picture) -> float:
    """Give how high a detail is on paper."""
    return picture.plants_mm + GAPS_MM + DETAIL_BELOW_MM


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


def _plants(axes: Axes, picture: Picture) -> None:
    """Draw the rows end on, the tallest behind; side by side where several crops share one."""
    scene, mm = picture.scene, picture.mm
    rows = scene.section.rows
    listed = []
    for row, wide_m in zip(rows, _widths_m(rows), strict=True):
        for place, sown in enumerate(row.sown):
            across_m = (place - (len(row.sown) - 1) / 2) * wide_m / len(row.sown)
            listed.append((row, sown.crop, row.offset_m + across_m, wide_m / len(row.sown)))
    listed.sort(key=lambda one: (-scene.height_m(one[1]), one[2]))
    for number, (row, crop, x_m, wide_m) in enumerate(listed):
        height_m = scene.height_m(crop)
        if height_m > 0:
            size_m = (x_m, min(wide_m, 0.6 * height_m), height_m)
            plant = _plant(scene, Sowing(crop, row.layer), size_m)
            plant.set(gid=f"plant-{number}", linewidth=min(0.35, 0.12 * size_m[1] / mm))
            axes.add_artist(plant)  # limits are set: a patch would have its own looked up
        else:
            _bare(axes, scene, crop, (x_m, mm))
    _mark_between(axes, picture, rows)
    for at_m in picture.scene.section.tramlines_m:
        _tramline(axes, at_m, -1.0 * mm)


def _tramline(axes: Axes, x: float, y: float) -> None:
    """Mark where a row is left out for wheels."""
    axes.plot([x], [y], marker="x", markersize=3.2, markeredgewidth=0.9, color="black")


def _widths_m(rows: tuple[Row, ...]) -> list[float]:
    """Give each row's plants their room: own rows of a strip among these, others among all."""
    widths = []
    for row in rows:
        beside = [o for o in rows if row.layer or (o.layer == 0 and o.strip == row.strip)]
        gaps = (abs(o.offset_m - row.offset_m) for o in beside if o.offset_m != row.offset_m)
        near_m = max(min(gaps, default=row.spacing_m), 0.3 * row.spacing_m)
        widths.append(min(0.95 * near_m, 0.9 * row.spacing_m))
    return widths


def _plant(
    scene: Scene, sowing: Sowing, size_m: tuple[float, float, float], foot_m: float = 0.0
) -> PathPatch:
    """Make a plant: where it stands, how wide and how high, and its foot above the ground."""
    habit = habit_of(scene.facts.get(sowing.crop))
    patch = PathPatch(plant_path(habit, *size_m, foot_m), linewidth=0.35, edgecolor=INK)
    patch.set(facecolor=scene.colour(sowing.crop), hatch=HATCH if sowing.layer else None)
    return patch


def _bare(axes: Axes, scene: Scene, crop: str, place: tuple[float, float]) -> None:
    """Mark a row that does not stand: a ring before it is sown, a stroke once it is harvested."""
    x, mm = place
    if scene.state(crop) == "harvested":
        axes.plot([x, x], [0, 1.2 * mm], color=INK, linewidth=0.9)
    else:
        axes.plot([x], [0], marker="o", markersize=2.0, markerfacecolor="white",
                  markeredgecolor=INK, markeredgewidth=0.5)  # fmt: skip


def _mark_between(axes: Axes, picture: Picture, rows: tuple[Row, ...]) -> None:
    """Mark rows between others under the ground."""
    for layer in sorted({row.layer for row in rows if row.layer}):
        x = [row.offset_m for row in rows if row.layer == layer]
        axes.plot(x, [-1.0 * picture.mm] * len(x), linestyle="none", color="black",
                  marker=MARKS[(layer - 1) % len(MARKS)], markersize=2.2)  # fmt: skip


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
        _bracket(axes, edge, bracket, (width_m, mm))
        said = format_small(edge.high_m - edge.low_m, picture.scene.plan.units)
        half_m = room_for(said) * mm
        if edge.at_m - half_m >= free_m:
            _text(axes, edge.at_m, bracket + 1.2 * mm, said, ha="center")
            free_m = edge.at_m + half_m


def _bracket(axes: Axes, edge: Edge, y: float, sizes: tuple[float, float]) -> None:
    """Draw from row to row over an edge, as far as the picture goes."""
    width_m, mm = sizes
    ends = (max(edge.low_m, -1.5 * mm), min(edge.high_m, width_m + 1.5 * mm))
    axes.plot(ends, [y, y], color=INK, linewidth=0.6)
    for end, row in zip(ends, (edge.low_m, edge.high_m), strict=True):
        if end == row:
            axes.plot([end, end], [y - 0.7 * mm, y + 0.7 * mm], color=INK, linewidth=0.6)


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
            for end in (host, row):
                axes.plot([end, end], [y - 0.8 * mm, y + 0.8 * mm], color=INK, linewidth=0.6)
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
            _text(axes, (low + high) / 2, y - (number + 1) * LINE_MM * mm, line, ha="center")


def _key(axes: Axes, picture: Picture) -> None:
    """Say what each plant is; the key's plants are not to scale."""
    mm = picture.mm
    for x_mm, line, entry in picture.key:
        x = (x_mm - LEFT_MM) * mm
        y = -(picture.key_mm + line * KEY_MM) * mm
        if entry.sowing is not None:
            size_m = (x + 2.0 * mm, 3.0 * mm, 3.6 * mm)
            axes.add_patch(_plant(picture.scene, entry.sowing, size_m, y - 0.4 * mm))
            if entry.sowing.layer:
                mark = MARKS[(entry.sowing.layer - 1) % len(MARKS)]
                axes.plot(
                    [x + 4.6 * mm], [y + 0.3 * mm], marker=mark, markersize=2.2, color="black"
                )
        if entry.tramline:
            _tramline(axes, x + 2.6 * mm, y + 0.7 * mm)
        _text(axes, x + (SWATCH_MM * mm if entry.drawn else 0.0), y, entry.said)
