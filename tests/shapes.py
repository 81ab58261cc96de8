"""One drawer of named test shapes, in meters: the ordinary field and the odd one."""

import math

import numpy as np
import shapely

FOOT_M = 0.3048
QUARTER_M = 2640 * FOOT_M


def _ring(radius_m: np.ndarray, count: int) -> shapely.Polygon:
    angle = np.arange(count) / count * 2 * math.pi
    return shapely.Polygon(np.column_stack([radius_m * np.cos(angle), radius_m * np.sin(angle)]))


def _ragged(count: int = 720) -> shapely.Polygon:
    turn = np.arange(count) / count * 2 * math.pi
    return _ring(
        300 + 60 * np.sin(3 * turn) + 9 * np.sin(61 * turn) + 3 * np.cos(149 * turn), count
    )


SQUARE = shapely.box(0, 0, QUARTER_M, QUARTER_M)
"""A quarter section."""

_L = [(0, 0), (400, 0), (400, 180), (150, 180), (150, 500), (0, 500)]
_POND = [(40, 40), (90, 40), (100, 80), (60, 110), (30, 70)]

SHAPES: dict[str, shapely.Geometry] = {
    "square": SQUARE,
    "L with pond": shapely.Polygon(_L, [_POND]),
    "triangle": shapely.Polygon([(0, 0), (500, 100), (120, 420)]),
    "ragged": _ragged(),
    "circle": _ring(np.full(360, 1320 * FOOT_M), 360),
    "two parts": shapely.MultiPolygon(
        [shapely.box(0, 0, 200, 300), shapely.box(230, 40, 420, 260)]
    ),
    "sliver": shapely.box(0, 0, 400, 0.5),
    "duplicate vertices": shapely.Polygon(
        [(0, 0), (0, 0), (300, 0), (300, 0), (300, 0), (300, 200), (0, 200), (0, 200)]
    ),
    "collinear vertices": shapely.Polygon(
        [(0, 0), (100, 0), (200, 0), (300, 0), (300, 100), (300, 200), (150, 200), (0, 200)]
    ),
}
"""Every shape by name; the last two are one rectangle of 300 m by 200 m."""
