"""Say what seed to buy of each crop: strips, headland and ground planted twice, rounded up once."""

from typing import Any

import numpy as np
import numpy.typing as npt

from striplay.accounts.count import PieceFigures, rounded_up, strip_ground
from striplay.accounts.sowings import added
from striplay.laid import Laid
from striplay.plan.models import Plan
from striplay.section.mixture import sown_of

Floats = npt.NDArray[np.float64]


def seed_to_buy(
    plan: Plan, laid: Laid, figures: PieceFigures, headland_m2: float, twice_m2: Floats
) -> dict[str, dict[str, Any]]:
    """Say what seed to buy, by crop; each crop of a mixture has its own.

    Args:
        plan: rates and units.
        laid: the plan laid on its ground.
        figures: of each piece of strip.
        headland_m2: area of the headland.
        twice_m2: ground planted twice, by layer of the section, (layers,).

    Returns:
        Of each crop: whole seeds and whole units, and the weight; what of it is for strips,
        headland and overlap, not rounded; the ground planted twice. None where not known.
    """
    section, name = laid.section, plan.headland_crop
    around = sown_of(plan, name) if name is not None and headland_m2 > 0.0 else ()
    found: dict[str, dict[str, Any]] = {}
    for crop in dict.fromkeys([*section.crops, *(layer.crop for layer in around)]):
        twice = [(one, m2) for one, m2 in zip(section.layers, twice_m2.tolist(), strict=True)
                 if one.crop == crop]  # fmt: skip
        parts = {
            "strips": added(plan, strip_ground(section, figures, crop)),
            "headland": added(plan, [(one, headland_m2) for one in around if one.crop == crop]),
            "overlap": added(plan, twice),
        }
        whole = parts["strips"] + parts["headland"] + parts["overlap"]
        found[crop] = {
            **rounded_up(whole),
            **{f"for_{part}": seed.data for part, seed in parts.items()},
            "overlap_m2": sum(m2 for _, m2 in twice),
        }
    return found
