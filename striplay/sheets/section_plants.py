"""Draw rows of plants end on, to their true height: tall grasses, small grains, bushes, crowns.

A silhouette is rings of points, x from -0.5 to 0.5, y from 0 at the ground to exactly 1 at its top.
"""

from functools import cache

import numpy as np

from striplay.season.facts import CropFacts
from striplay.section.section import Layer, Row
from striplay.sheets.section_pen import Hatch, Mark, Pen, Points
from striplay.sheets.section_scene import Scene

TALL_M = 1.4
"""Grasses from this height up are drawn as a stalk with arching leaves (our choice)."""
STEPS = 14
"""Points along a leaf's edge."""
MARKS: tuple[Mark, ...] = ("up", "diamond", "square", "down", "dot")
"""Marks under rows between others, by layer."""


def draw_rows(pen: Pen, scene: Scene, mm: float, ends_m: tuple[float, float]) -> None:
    """Draw the rows end on, the tallest behind; side by side where several crops share one.

    Args:
        pen: what draws.
        scene: the rows.
        mm: meters to a millimeter on paper.
        ends_m: from where to where rows are drawn.
    """
    rows = scene.drawn
    listed = []
    for row, wide_m in zip(rows, _widths_m(rows), strict=True):
        for place, layer in enumerate(row.sown):
            across_m = (place - (len(row.sown) - 1) / 2) * wide_m / len(row.sown)
            if ends_m[0] <= row.offset_m <= ends_m[1]:
                listed.append((layer, row.offset_m + across_m, wide_m / len(row.sown)))
    listed.sort(key=lambda one: (-scene.height_m(one[0].crop), one[1]))
    for number, (layer, x_m, room_m) in enumerate(listed):
        height_m = scene.height_m(layer.crop)
        if height_m > 0:
            wide_m = min(room_m, 0.6 * height_m)
            edge_pt = min(EDGE_PT, 0.12 * wide_m / mm)
            name = f"plant-{number}"
            draw_plant(pen, scene, layer, (x_m, 0.0), (wide_m, height_m), edge_pt, name)
        elif scene.state(layer.crop) == "harvested":
            pen.line([(x_m, 0.0), (x_m, 1.2 * mm)], 0.9)
        else:
            pen.mark([x_m], 0.0, "ring", 2.0)
    shown = [row for row in rows if row.layer and ends_m[0] <= row.offset_m <= ends_m[1]]
    for number in sorted({row.layer for row in shown}):
        mark_between(pen, number, [r.offset_m for r in shown if r.layer == number], -1.0 * mm)
    for at_m in scene.section.tramlines_m:
        if ends_m[0] <= at_m <= ends_m[1]:
            mark_tramline(pen, at_m, -1.0 * mm)


EDGE_PT = 0.35


def mark_between(pen: Pen, layer: int, x_m: list[float], y_m: float) -> None:
    """Mark rows between others."""
    pen.mark(x_m, y_m, MARKS[(layer - 1) % len(MARKS)], 2.2)


def mark_tramline(pen: Pen, x_m: float, y_m: float) -> None:
    """Mark where a row is left out for wheels."""
    pen.mark([x_m], y_m, "cross", 3.2)


def _widths_m(rows: tuple[Row, ...]) -> list[float]:
    """Give each row's plants their room: own rows of a strip among these, others among all."""
    widths = []
    for row in rows:
        beside = [o for o in rows if row.layer or (o.layer == 0 and o.strip == row.strip)]
        gaps = (abs(o.offset_m - row.offset_m) for o in beside if o.offset_m != row.offset_m)
        near_m = max(min(gaps, default=row.spacing_m), 0.3 * row.spacing_m)
        widths.append(min(0.95 * near_m, 0.9 * row.spacing_m))
    return widths


def draw_plant(
    pen: Pen,
    scene: Scene,
    layer: Layer,
    foot_m: tuple[float, float],
    size_m: tuple[float, float],
    edge_pt: float = EDGE_PT,
    name: str = "",
) -> None:
    """Draw a plant from the middle of its foot, so wide and high; hatched between other rows."""
    rings = [ring * size_m + foot_m for ring in silhouette(habit_of(scene.facts[layer.crop]))]
    hatch: Hatch = "wide" if layer.number else ""
    pen.area(rings, scene.color(layer.crop), edge_pt, hatch=hatch, name=name)


def habit_of(facts: CropFacts) -> str:
    """Say how a crop is drawn, by its family and height: tall, grain, bush or round."""
    if facts.family == "grasses":
        return "tall" if (facts.height_m or 0.0) >= TALL_M else "grain"
    return "bush" if facts.family == "legumes" else "round"


@cache
def silhouette(habit: str) -> tuple[Points, ...]:
    """Give the closed rings of a habit."""
    shapes = {"tall": _tall, "grain": _grain, "bush": _bush, "round": _round}
    rings = [np.vstack([ring, ring[:1]]) for ring in map(_wound, shapes[habit]())]
    top = max(ring[:, 1].max() for ring in rings)
    half = max(np.abs(ring[:, 0]).max() for ring in rings)
    return tuple(ring * (0.5 / half, 1.0 / top) for ring in rings)


def _wound(ring: Points) -> Points:
    """Wind a ring one way, so that rings that overlap fill alike."""
    x, y = ring.T
    area = float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    return ring if area > 0 else ring[::-1]


def _blade(root: tuple[float, float], bend: tuple[float, float], tip: tuple[float, float],
           thick: float) -> Points:  # fmt: skip
    """Give a leaf that leaves `root`, arches toward `bend` and hangs to `tip`."""
    along = np.linspace(0.0, 1.0, STEPS)[:, None]
    middle = (
        (1 - along) ** 2 * np.array(root)
        + 2 * along * (1 - along) * np.array(bend)
        + along**2 * np.array(tip)
    )
    half = thick / 2 * np.sin(np.pi * (0.15 + 0.85 * along[:, 0]))
    upper, lower = middle.copy(), middle.copy()
    upper[:, 1] += half
    lower[:, 1] -= half
    return np.vstack([upper, lower[::-1]])


def _stem(foot: float, head: tuple[float, float], wide: float) -> Points:
    x, y = head
    return np.array([(foot - wide / 2, 0.0), (x - wide / 3, y), (x + wide / 3, y),
                     (foot + wide / 2, 0.0)])  # fmt: skip


def _oval(center: tuple[float, float], radii: tuple[float, float], lobes: int = 0,
          depth: float = 0.0) -> Points:  # fmt: skip
    """Give an oval, scalloped in lobes where asked, with a point at its very top."""
    angle = np.pi / 2 + np.linspace(0.0, 2 * np.pi, 42, endpoint=False)
    reach = 1.0 - depth * (1 - np.abs(np.cos(lobes * (angle - np.pi / 2) / 2))) if lobes else 1.0
    return np.column_stack([
        center[0] + radii[0] * reach * np.cos(angle), center[1] + radii[1] * reach * np.sin(angle)
    ])  # fmt: skip


def _tall() -> list[Points]:
    rings = [_stem(0.0, (0.0, 0.9), 0.07)]
    for number, low in enumerate((0.14, 0.27, 0.40, 0.53, 0.65, 0.75)):
        side = 1 if number % 2 else -1
        reach = 0.5 - 0.05 * abs(number - 2)
        rings.append(
            _blade((0.0, low), (side * 0.32, low + 0.26), (side * reach, low + 0.03), 0.07)
        )
    rings += [_blade((0.0, 0.84), (x * 0.3, 0.97), (x, 0.93), 0.05) for x in (-0.16, 0.16)]
    return [*rings, _oval((0.0, 0.93), (0.035, 0.07))]


def _grain() -> list[Points]:
    rings = []
    for lean, high in ((-0.38, 0.9), (0.38, 0.9), (0.0, 1.0)):
        rings += [
            _stem(lean * 0.2, (lean, high - 0.2), 0.05),
            _oval((lean, high - 0.12), (0.1, 0.12)),
        ]
    for side in (-1, 1):
        rings.append(_blade((0.0, 0.1), (side * 0.3, 0.55), (side * 0.5, 0.38), 0.06))
    return rings


def _bush() -> list[Points]:
    return [_stem(0.0, (0.0, 0.4), 0.08), _oval((0.0, 0.58), (0.5, 0.42), lobes=9, depth=0.16)]


def _round() -> list[Points]:
    return [_stem(0.0, (0.0, 0.4), 0.08), _oval((0.0, 0.62), (0.5, 0.38))]
