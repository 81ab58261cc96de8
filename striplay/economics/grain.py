"""Turn weighed grain into yield at the moisture it is sold at, and back.

Shares of weight, such as 0.155, stand for moisture; weights are in kilograms.
"""

import numpy as np
import numpy.typing as npt

from striplay.errors import YieldError

Floats = npt.NDArray[np.float64]


def _check(moisture: float, what: str) -> None:
    if not 0.0 <= moisture < 1.0:
        raise YieldError(f"{what}: {moisture:g} is no share of weight; it must be 0 to 1")


def dry_share(moisture: float, base: float) -> float:
    """Give the weight at base moisture that a kilogram of grain dries, or wets, to.

    The dry matter stays: (1 - moisture) / (1 - base).

    Args:
        moisture: of the grain as weighed.
        base: that it is sold at.

    Raises:
        YieldError: a moisture that is no share of weight.

    >>> round(1 - dry_share(0.25, 0.155), 4)
    0.1124
    """
    _check(moisture, "moisture")
    return float(dry_shares(np.array([moisture]), base)[0])


def dry_shares(moisture: Floats, base: float) -> Floats:
    """Give `dry_share` of many moistures at once, each a share of weight, (n,).

    Raises:
        YieldError: a base moisture that is no share of weight.
    """
    _check(base, "base moisture")
    return (1.0 - moisture) / (1.0 - base)


def wet_kg(dry_kg: float, moisture: float, base: float) -> float:
    """Give the weight of grain as harvested that dries to so much at base moisture.

    Raises:
        YieldError: a moisture that is no share of weight.
    """
    return dry_kg / dry_share(moisture, base)
