"""Choose the heading: as asked, or the one that needs the fewest passes."""

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.edges import edges_of
from striplay.geometry.frame import direction_deg
from striplay.geometry.width import hull_directions_deg, width_across_m
from striplay.tolerances import EQUAL_WIDTH_M


def fewest_passes_heading_deg(land: shapely.Geometry) -> float:
    """Find the heading across which land is narrowest, and so needs the fewest parallel passes.

    Passes of width p across a width w number ceil(w / p), however p is chosen, so the least width
    gives the fewest. It is exact: see `hull_directions_deg`. A pass interrupted by an obstacle or
    a gap between parts counts once. Of headings equally narrow, the one along most boundary wins,
    then the smallest.

    Args:
        land: polygon or multipolygon on the local plane.

    Returns:
        Degrees clockwise from north, 0 up to 180.
    """
    candidates = hull_directions_deg(land)
    widths_m = width_across_m(land, candidates)
    narrow = candidates[widths_m <= widths_m.min() + EQUAL_WIDTH_M]
    along_m = _boundary_along_m(land, narrow)
    longest = narrow[along_m >= along_m.max() - EQUAL_WIDTH_M]
    return float(longest.min())


def _boundary_along_m(
    land: shapely.Geometry, headings_deg: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Measure the boundary that runs within a tenth of a degree of each heading."""
    edges = edges_of(land)
    steps = edges.end - edges.start
    lengths_m = np.hypot(*steps.T)
    apart_deg = np.abs(direction_deg(steps)[:, None] - headings_deg[None, :])
    near = np.minimum(apart_deg, 180.0 - apart_deg) < 0.1  # noqa: PLR2004 - the tenth above
    return np.asarray(lengths_m @ near, dtype=np.float64)
