"""Give directions: without a sense, as rows run alike either way, and with one."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

HALF_TURN_DEG = 180.0
"""Directions go from 0 up to this."""


def direction_deg(vectors: Floats) -> Floats:
    """Give the undirected direction of vectors (n, 2) as degrees clockwise from north, 0 up to 180.

    >>> direction_deg(np.array([[0.0, 1.0], [1.0, 0.0], [-1.0, -1.0], [0.0, -2.0]]))
    array([ 0., 90., 45.,  0.])
    """
    degrees = np.degrees(np.arctan2(vectors[:, 0], vectors[:, 1])) % HALF_TURN_DEG
    return np.where(degrees >= HALF_TURN_DEG, 0.0, degrees)  # -1e-17 % 180 is 180


def headings_deg(vectors: Floats) -> Floats:
    """Give the headings of vectors (n, 2), degrees clockwise from north, 0 up to 360.

    >>> headings_deg(np.array([[0.0, 1.0], [1.0, 0.0], [0.0, -2.0], [-1.0, 0.0]]))
    array([  0.,  90., 180., 270.])
    """
    return np.asarray(np.degrees(np.arctan2(vectors[:, 0], vectors[:, 1])) % 360.0)


COMPASS = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")


def compass(headings: Floats) -> npt.NDArray[np.object_]:
    """Name headings by the nearest of eight points of the compass.

    >>> compass(np.array([0.0, 44.0, 359.0, 200.0])).tolist()
    ['north', 'northeast', 'north', 'south']
    """
    eighth = np.rint(headings / (2 * HALF_TURN_DEG / len(COMPASS))).astype(np.int64)
    return np.array(COMPASS, dtype=object)[eighth % len(COMPASS)]


def angle_deg(one_deg: float, other_deg: float) -> float:
    """Give the angle between two directions of travel, from 0 to 90."""
    apart = abs(one_deg - other_deg)
    return min(apart, HALF_TURN_DEG - apart)
