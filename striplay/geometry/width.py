"""Find the direction in which a shape is narrowest across."""

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.directions import direction_deg

Floats = npt.NDArray[np.float64]


def hull_directions_deg(ground: shapely.Geometry) -> Floats:
    """List the directions of the convex hull's edges, degrees clockwise from north, 0 up to 180.

    The least distance between two parallel lines that hold a convex polygon between them is
    reached with one line on an edge (Houle & Toussaint, Computing the width of a set, IEEE PAMI
    10:761-765, 1988; cited from memory). A shape and its convex hull have the same width across any
    direction, so the hull's edges are the only candidates for the least.
    """
    points = shapely.get_coordinates(ground.convex_hull)
    steps = np.diff(points, axis=0)
    return np.unique(direction_deg(steps[np.any(steps != 0, axis=1)]))


def width_across_m(ground: shapely.Geometry, headings_deg: Floats) -> Floats:
    """Measure a shape at right angles to each heading, in meters, (k,)."""
    points = shapely.get_coordinates(ground.convex_hull)
    heading_rad = np.radians(headings_deg)
    left = np.stack([-np.cos(heading_rad), np.sin(heading_rad)])
    return np.asarray(np.ptp(points @ left, axis=0), dtype=np.float64)
