"""Say which rows carry each layer of a section, and weigh its seed."""

from typing import Any

import numpy as np
import numpy.typing as npt

from striplay.plan.models import Plan
from striplay.section.section import Section


def rows_sown(
    section: Section,
) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.float64]]:
    """Tell which rows carry each layer, and at what rate to the square meter.

    Returns:
        Both (layers, rows); a rate is NaN where none is stated, and 0 in other rows.
    """
    layers, rows = section.layers, section.rows
    sown = np.array([[layer in row.sown for row in rows] for layer in layers], dtype=bool)
    rates = [layer.seed_rate_per_m2 for layer in layers]
    rate_per_m2 = np.array([np.nan if rate is None else rate for rate in rates])
    return sown, np.where(sown, rate_per_m2[:, None], 0.0)


def seed_kg(plan: Plan, crop: str, seeds: Any) -> Any:  # noqa: ANN401 - a number or an array
    """Weigh seed as it stands in the bag; NaN where its size is not stated."""
    asked = plan.crops[crop]
    if asked.seed_size_per_kg is None:
        return seeds * np.nan
    return seeds / (asked.seed_size_per_kg * asked.purity)
