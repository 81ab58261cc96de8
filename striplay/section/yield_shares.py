"""Say what crops that share ground yield there, as shares of what they yield alone."""

from striplay.plan.models import Plan
from striplay.plan.systems import AfterHarvest
from striplay.section.section import Layer, Section


def yield_shares(plan: Plan, section: Section) -> dict[Layer, float | None]:
    """Give the yield of each layer as a share of its crop's alone on the same ground.

    A crop that has its strip to itself yields as it does alone. What relays, quick crops,
    mixtures and crops after a harvest yield the plan states. A crop that is not harvested, such
    as a cover crop, yields nothing, and is taken to cost its host nothing where the plan does not
    say.

    Returns:
        By layer; None where the plan does not state it.
    """
    shares = {layer: yield_share(plan, layer) for layer in section.layers}
    for number, one in enumerate(plan.layered, start=1):
        if isinstance(one, AfterHarvest) or all(each.number != number for each in section.layers):
            continue  # what comes after costs what was harvested nothing; or it is sown nowhere
        lost = one.host_yield_share
        if lost is None and not plan.crops[one.crop].reaped:
            lost = 1.0
        for layer in section.layers:
            if layer.number == 0 and one.into in {layer.label, layer.crop}:
                own = shares[layer]
                shares[layer] = None if own is None or lost is None else own * lost
    return shares


def yield_share(plan: Plan, layer: Layer) -> float | None:
    """Give the yield of a layer likewise, whatever is sown between its rows."""
    if not plan.crops[layer.crop].reaped:
        return 0.0
    share: float | None = 1.0
    if layer.number:
        asked = plan.layered
        share = asked[layer.number - 1].yield_share if layer.number <= len(asked) else None
    mixture = plan.mixtures.get(layer.label)
    if mixture is None or share is None:
        return share
    part = (mixture.yield_shares or {}).get(layer.crop)
    return None if part is None else share * part
