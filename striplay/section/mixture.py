"""Say what a crop's name stands for in a row: one crop, or the parts of a mixture; weigh blends."""

from dataclasses import dataclass, replace

from striplay.plan.models import Plan
from striplay.plan.systems import Mixture
from striplay.section.section import Layer
from striplay.units import trim


@dataclass(frozen=True, slots=True)
class Part:
    """A crop's part of a blend.

    Attributes:
        crop: its name.
        share: of its own full rate.
        kg_per_m2: of bulk seed; None where not known by weight.
        by_weight: share of the blend's weight; None as above.
        batch_kg: weight to a batch; None as above, or where no fill is stated.
    """

    crop: str
    share: float
    kg_per_m2: float | None
    by_weight: float | None
    batch_kg: float | None


def sown_of(plan: Plan, name: str) -> tuple[Layer, ...]:
    """Say what is sown in a row of a crop or mixture, each at its share of its full rate."""
    mixture = plan.mixtures.get(name)
    if mixture is None:
        return (_layer(plan, name, Layer(name, name)),)
    denser = 1.0 + mixture.rate_increase
    return tuple(
        _layer(plan, crop, Layer(crop, name, grown="mixed", share=share * denser))
        for crop, share in mixture.parts.items()
    )


def _layer(plan: Plan, crop: str, layer: Layer) -> Layer:
    """Give a layer its rates, at its share of its crop's."""
    seeds, kg = plan.crops[crop].rate_per_m2, plan.crops[crop].rate_kg_per_m2
    return replace(
        layer,
        seed_rate_per_m2=None if seeds is None else seeds * layer.share,
        seed_kg_per_m2=None if kg is None else kg * layer.share,
    )


def mixtures_of(plan: Plan) -> dict[str, tuple[str, ...]]:
    """Name a plan's mixtures and the crops of each."""
    return {name: tuple(mixture.parts) for name, mixture in plan.mixtures.items()}


def is_mixture(plan: Plan, name: str) -> bool:
    """Tell whether a name is a mixture's."""
    return name in plan.mixtures


def crops_named(plan: Plan, name: str) -> tuple[str, ...]:
    """Name the crops that a crop's or mixture's name stands for."""
    return mixtures_of(plan).get(name, (name,))


def batch_kg(plan: Plan, name: str) -> float | None:
    """Give the weight of a mixture's blend that is mixed at a time, where it is stated."""
    return plan.mixtures[name].batch_kg


def blend(plan: Plan, name: str) -> tuple[Part, ...]:
    """Weigh the parts of a mixture.

    Where germination is stated a rate counts live seed, so more is dropped, and what is in the bag
    besides seed weighs too: kg = live seeds / (seeds per kg x purity x germination), the trade's
    pure live seed.
    """
    mixture = plan.mixtures[name]
    weights = {layer.crop: layer.seed_kg_per_m2 for layer in sown_of(plan, name)}
    total = sum(weight or 0.0 for weight in weights.values())
    known = all(weight is not None for weight in weights.values())
    parts = []
    for name_of, share in mixture.parts.items():
        weight = weights[name_of]
        by_weight = weight / total if known and weight is not None else None
        fill = mixture.batch_kg * by_weight if mixture.batch_kg and by_weight is not None else None
        parts.append(Part(name_of, share, weight, by_weight, fill))
    return tuple(parts)


def blend_words(plan: Plan, name: str) -> str:
    """Say what kind of mixture one of the plan's is, as `shares_words`."""
    return shares_words(plan.mixtures[name])


def shares_words(mixture: Mixture) -> str:
    """Say whether a mixture's parts replace or add to each other, and what its rates come to.

    >>> shares_words(Mixture(planter="drill", parts={"oats": 0.5, "pea": 0.6}, rate_increase=0.25))
    'additive, 137.5 % of full rates, sown 25 % closer included'
    """
    share = sum(mixture.parts.values()) * (1 + mixture.rate_increase)
    closer = (
        f", sown {trim(100 * mixture.rate_increase, 1)} % closer included"
        if mixture.rate_increase
        else ""
    )
    return f"{KINDS[mixture.kind]}, {trim(100 * share, 1)} % of full rates{closer}"


KINDS = {
    "replacement": "replacement (shares add up to 1)",
    "additive": "additive",
    "thin": "thin (shares add up to less than 1)",
}
