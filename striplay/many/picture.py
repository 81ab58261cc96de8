"""Draw a field small, as paths of a vector picture: its outline, and its strips crop by crop."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

Geometries = npt.NDArray[np.object_]

SIDE = 120
"""Units of the picture's longer side: half a pixel where it is shown."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A field drawn small, north up.

    Attributes:
        width: units across.
        height: units up and down.
        outline: its path.
        crops: each crop's or mixture's strips as one path, by its name.
    """

    width: int
    height: int
    outline: str
    crops: tuple[tuple[str, str], ...]


def picture_of(outline: shapely.Geometry, strips: Geometries, crops: Sequence[str]) -> Picture:
    """Draw a field.

    Args:
        outline: on the local plane.
        strips: pieces of strips, likewise.
        crops: what each piece is of.
    """
    left, bottom, right, top = outline.bounds
    per_m = SIDE / max(right - left, top - bottom)

    def drawn(shapes: Iterable[shapely.Geometry]) -> str:
        flat = shapely.simplify(list(shapes), 0.5 / per_m, preserve_topology=False)
        rings = shapely.get_parts(shapely.get_exterior_ring(shapely.get_parts(flat)))
        return "".join(_path((ring - [left, top]) * [per_m, -per_m]) for ring in _points(rings))

    names = dict.fromkeys(crops)
    of = np.asarray(crops, dtype=object)
    return Picture(
        width=round((right - left) * per_m),
        height=round((top - bottom) * per_m),
        outline=drawn([outline]),
        crops=tuple((name, drawn(strips[of == name])) for name in names),
    )


def bare(outline: shapely.Geometry) -> Picture:
    """Draw a field in which nothing is laid."""
    return picture_of(outline, np.empty(0, dtype=object), ())


def _points(rings: Sequence[shapely.Geometry]) -> list[npt.NDArray[np.float64]]:
    """Give the vertices of rings, ring by ring."""
    points, of = shapely.get_coordinates(rings, return_index=True)
    starts = np.searchsorted(of, np.arange(1, len(rings)))
    return list(np.split(points, starts)) if len(rings) else []


def _path(ring: npt.NDArray[np.float64]) -> str:
    """Write a ring as a path, in whole units; nothing of one without width."""
    points = np.rint(ring).astype(np.int64)[:-1]
    moved = np.diff(points, axis=0)
    kept = moved[(moved != 0).any(axis=1)]
    if len(kept) < 2:  # noqa: PLR2004 - a triangle
        return ""
    steps = " ".join(f"{x},{y}" for x, y in kept.tolist())
    return f"M{points[0, 0]},{points[0, 1]}l{steps}z"
