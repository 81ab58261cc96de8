"""Draw plants end on to their true height: tall grasses, small grains, bushes, round crowns.

A silhouette is rings of points, x from -0.5 to 0.5, y from 0 at the ground to exactly 1 at its top.
"""

from functools import cache

import numpy as np
import numpy.typing as npt
from matplotlib.path import Path

from striplay.season.facts import CropFacts

Points = npt.NDArray[np.float64]

TALL_M = 1.4
"""Grasses from this height up are drawn as a stalk with arching leaves (our choice)."""
STEPS = 14
"""Points along a leaf's edge."""


def habit_of(facts: CropFacts | None) -> str:
    """Say how a crop is drawn, by its family and height: tall, grain, bush or round."""
    if facts is None or facts.family is None:
        return "round"
    if facts.family == "grasses":
        return "tall" if (facts.height_m or 0.0) >= TALL_M else "grain"
    return "bush" if facts.family == "legumes" else "round"


def plant_path(habit: str, x_m: float, wide_m: float, height_m: float, foot_m: float = 0.0) -> Path:
    """Give a plant's outline, standing at `x_m` with its foot at `foot_m`, as high as it is."""
    rings = silhouette(habit)
    placed = [ring * (wide_m, height_m) + (x_m, foot_m) for ring in rings]
    codes = [
        np.array([Path.MOVETO, *[Path.LINETO] * (len(ring) - 2), Path.CLOSEPOLY]) for ring in placed
    ]
    return Path(np.concatenate(placed), np.concatenate(codes).astype(np.uint8))


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
    """Give a leaf that leaves `root`, arches towards `bend` and hangs to `tip`."""
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


def _oval(centre: tuple[float, float], radii: tuple[float, float], lobes: int = 0,
          depth: float = 0.0) -> Points:  # fmt: skip
    """Give an oval, scalloped in lobes where asked, with a point at its very top."""
    angle = np.pi / 2 + np.linspace(0.0, 2 * np.pi, 42, endpoint=False)
    reach = 1.0 - depth * (1 - np.abs(np.cos(lobes * (angle - np.pi / 2) / 2))) if lobes else 1.0
    return np.column_stack([
        centre[0] + radii[0] * reach * np.cos(angle), centre[1] + radii[1] * reach * np.sin(angle)
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
