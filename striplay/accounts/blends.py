"""Account for the blends that an operation sows: what is in the box is all parts of a mixture."""

import numpy as np

from striplay.accounts.loads import Load, Measure, at_fills
from striplay.accounts.words import rate_words
from striplay.operations.judged import Judged
from striplay.operations.standing import HEADLAND
from striplay.plan.models import Plan
from striplay.section.mixture import blend, mixtures_of
from striplay.section.section import Section
from striplay.tolerances import SEED_COUNT
from striplay.units import measured_in


def operation_blends(
    plan: Plan, section: Section, judged: Judged, twice_m2: np.ndarray
) -> tuple[Load, ...]:
    """List the blends that an operation sows, each as one load by weight.

    A blend whose parts are not all known by weight is left out.

    Args:
        plan: rates, units and machines.
        section: the set.
        judged: the operation.
        twice_m2: ground planted twice, by layer of the section, (layers,).
    """
    if judged.job.does != "plant":
        return ()
    weight, one_kg = measured_in("kg", plan.units)
    found = []
    for name in mixtures_of(plan):
        parts = blend(plan, name)
        rates = [part.kg_per_m2 for part in parts if part.kg_per_m2 is not None]
        if len(rates) < len(parts):
            continue
        # the parts of a mixture share their ground, so that of the first is that of all
        layers = [
            number
            for number, layer in enumerate(section.layers)
            if (layer.label, layer.crop) == (name, parts[0].crop)
        ]
        route = judged.route
        around = (route.place == HEADLAND) & (route.crop == name)
        ground_m2 = route.sown_m2[:, layers].sum(axis=1) + np.where(around, route.area_m2, 0.0)
        planted = [number for number in layers if route.sown_m2[:, number].any()]
        if ground_m2.sum() <= SEED_COUNT:
            continue
        rate = sum(rates) / one_kg
        used = ground_m2 * rate
        found.append(
            Load(
                what=f"{name} blend",
                crop="",
                rate=rate_words(sum(rates), "kg", plan.units),
                measure=Measure(weight, one_kg, "kg"),
                brought_in=False,
                used=used,
                twice=float(twice_m2[planted].sum()) * rate,
                at_fills=at_fills(plan, judged, "seed", used),
                blend=True,
            )
        )
    return tuple(found)
