"""Miters of lines: corners to a point, ends cut flat, and no fault at edges without length."""

import numpy as np
import pytest
import shapely

from striplay.geometry.inset import mitered

WIDE_M = 24.0


def test_corners_run_on_to_a_point_and_ends_are_cut_flat():
    line = shapely.LineString([(0, 0), (100, 0), (100, 100)])
    found = mitered(line, WIDE_M, ends="flat")
    assert found.area == pytest.approx(2 * WIDE_M * 200, rel=1e-12)
    assert found.covers(shapely.Point(100 + WIDE_M, -WIDE_M))


@pytest.mark.filterwarnings("error")
def test_edges_of_a_nanometer_that_turn_back_are_no_fault():
    """The library divides by nothing there, and says so in a warning."""
    back = [(-5.827132522511701, 52.82574547755798), (-5.827132522511699, 52.82574548039044),
            (-5.827132522511699, 52.825745479682325)]  # fmt: skip
    found = mitered(shapely.LineString(back), WIDE_M, ends="flat")
    assert np.isfinite(shapely.get_coordinates(found)).all()
