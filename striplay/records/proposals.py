"""Propose what to change next season, from what was counted and weighed; nothing is changed."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from striplay.errors import YieldError
from striplay.operations.amounts import bushel_kg
from striplay.plan.models import Plan
from striplay.plan.money import EdgeWish
from striplay.records.analysis import LEVEL
from striplay.records.edge_gains import edge_gains
from striplay.records.edition import Edition
from striplay.records.land_ratio import LandRatio
from striplay.records.plots_recorded import plots_of_rows
from striplay.records.yields import StandOf, YieldOf
from striplay.section.mixture import is_mixture, mixtures_of, sown_of
from striplay.units import said, said_rate, trim

FEWEST = 3
"""Strips that something is proposed from at least: of two the interval says next to nothing."""
DRAWS, SEED = 2000, 1
"""Samples drawn anew for the interval of a ratio, and where their chances begin."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A change that next season's plan might have.

    Attributes:
        change: what to change, in words with the plan's keys.
        reason: why.
        evidence: what was measured, on how many strips, with its interval.
    """

    change: str
    reason: str
    evidence: str

    def __str__(self) -> str:
        return f"{self.change}: {self.reason} ({self.evidence})"


def proposals(
    plan: Plan,
    edition: Edition,
    stands: Sequence[StandOf],
    yields: Sequence[YieldOf],
    ratio: LandRatio | None = None,
) -> tuple[Proposal, ...]:
    """Give what records speak for; none where they are few, or agree with the plan.

    Args:
        plan: this season's.
        edition: its edition, which says what is sown in each strip.
        stands: how crops stood, strip by strip.
        yields: what strips yielded, those of some rows too.
        ratio: the land equivalent ratio of the plan's trial; None where it tells none.
    """
    apart = _trial(ratio) if plan.trial is not None else _pair(plan, yields)
    return (*_rates(plan, edition, stands), *_edges(measured_edges(plan, yields)), *apart)


@dataclass(frozen=True, slots=True)
class Measured:
    """Gains at the edges of a crop's strips, as a plan states them, and of how many strips."""

    edges: EdgeWish
    strips: int
    by_chance: bool


def measured_edges(plan: Plan, yields: Sequence[YieldOf]) -> list[Measured]:
    """Give the gains at edges that enough strips were weighed for, where two crops are grown."""
    crops = list(dict.fromkeys(wish.crop for wish in plan.strips))
    if len(crops) != 2:  # noqa: PLR2004 - what stands beside a crop is then not told
        return []
    measured: list[Measured] = []
    plots = plots_of_rows(yields)
    for crop, beside in (crops, crops[::-1]):
        try:
            found = [one for one in edge_gains(plots, crop) if one.strips >= FEWEST]
        except YieldError:
            continue
        rows = [one for place, one in enumerate(found, start=1) if one.row == place]
        if not rows:
            continue
        gain, low, high = (
            [round(getattr(one.gain, at), GAIN_DIGITS) for one in rows]
            for at in ("value", "low", "high")
        )
        wish = EdgeWish.model_validate(
            {"crop": crop, "beside": beside, "gain": gain, "low": low, "high": high,
             "source": "the records"}
        )  # fmt: skip
        sure = any(one.gain.low > 0.0 or one.gain.high < 0.0 for one in rows)
        measured.append(Measured(wish, rows[0].strips, not sure))
    return measured


GAIN_DIGITS = 2
"""Gains are told to the whole per cent."""


def _edges(found: Iterable[Measured]) -> Iterator[Proposal]:
    """Propose the gains at edges that were measured, by which `pay` finds the best width."""
    for one in found:
        if one.by_chance:
            continue
        edges = one.edges
        told = ", ".join(
            f"{name} = [{', '.join(f'{gain:.2f}' for gain in gains)}]"
            for name, gains in (("gain", edges.gain), ("low", edges.low), ("high", edges.high))
            if gains is not None
        )
        yield Proposal(
            f'[[edges]] crop = "{edges.crop}", beside = "{edges.beside}", {told}; striplay pay '
            "then says which width of strip pays best",
            "rows at the edge yielded otherwise than those inside their strips by more than chance",
            f"rows weighed in {one.strips} strips; low and high are the {LEVEL:.0%} interval",
        )


def _trial(ratio: LandRatio | None) -> Iterator[Proposal]:
    """Propose to grow crops apart where a trial is sure that they need more land together."""
    if ratio is None or ratio.ratio.high >= 1.0 or ratio.blocks < FEWEST:
        return
    found = ratio.ratio
    yield Proposal(
        f"grow {' and '.join(ratio.parts)} apart, or other strips: striplay compare and pay say "
        "which",
        f"the land equivalent ratio of the trial is {trim(found.value, 2)}",
        f"{ratio.blocks} replicates with check strips, {LEVEL:.0%} interval {found.low:.2f} to "
        f"{found.high:.2f}; of one field in one year",
    )


def _rates(plan: Plan, edition: Edition, stands: Iterable[StandOf]) -> Iterator[Proposal]:
    """Propose another emergence, and the rate for the same stand, where counts are off it.

    A crop that is part of a mixture in some strips and alone in others is held, strip by strip,
    against the stand planned there; the rate proposed is its full one.
    """
    from scipy import stats  # noqa: PLC0415 - slow to load, and only for records

    stood: dict[str, list[float]] = {}
    for one in stands:
        planned = stand_planned_per_m2(plan, edition, one.strip, one.crop)
        if planned is not None:
            stood.setdefault(one.crop, []).append(one.plants_per_m2 / planned)
    for name, each in stood.items():
        crop = plan.crops[name]
        if crop.emergence is None or crop.standing is None or crop.rate_per_m2 is None:
            continue
        if len(each) < FEWEST or np.ptp(each) == 0.0:
            continue  # counted all alike, they have no spread to tell by
        found = stats.ttest_1samp(each, 1.0).confidence_interval(LEVEL)
        if found.low <= 1.0 <= found.high:
            continue
        wished, mean = crop.rate_per_m2 * crop.standing, float(np.mean(each))
        emergence = min(crop.emergence * mean, 1.0)
        expected, counted, low, high = (
            said_rate(wished * share, "seeds_per_m2", plan.units).split()
            for share in (1.0, mean, found.low, found.high)
        )
        area = expected[1].removeprefix("seeds/")
        need = said_rate(wished / emergence, "seeds_per_m2", plan.units)
        full = ", all told at the crop's full rate" if _mixed(plan, name) else ""
        yield Proposal(
            f'[crops.{name}] emergence = {emergence:.2f}, rate = "{need}"',
            f"{said(100 * crop.emergence * mean)} % of the seeds stood, where the plan has "
            f"{said(100 * crop.emergence)} %; the rate is that for the stand planned",
            f"{len(each)} strips counted: {counted[0]} plants/{area} where {expected[0]} were "
            f"expected, {LEVEL:.0%} interval {low[0]} to {high[0]}{full}",
        )


def _mixed(plan: Plan, crop: str) -> bool:
    """Tell whether a crop is part of a mixture that is planted."""
    grown = {wish.crop for wish in plan.strips}
    return any(crop in parts for name, parts in mixtures_of(plan).items() if name in grown)


def stand_planned_per_m2(plan: Plan, edition: Edition, strip: int, name: str) -> float | None:
    """Give the plants of a crop that are to stand in a strip, by area of its rows' ground.

    Args:
        plan: its rates; of a mixture each part has its share.
        edition: which crop or mixture the strip's own rows carry.
        strip: number of the strip.
        name: the crop, of the strip's own rows or between them.

    Returns:
        Plants/m2; None where rate or emergence is not stated, or the strip is not known.
    """
    crop = plan.crops.get(name)
    if crop is None or crop.rate_per_m2 is None or crop.standing is None:
        return None
    return crop.rate_per_m2 * crop.standing * share_sown(plan, edition, strip, name)


def share_sown(plan: Plan, edition: Edition, strip: int | None, name: str) -> float:
    """Give the share of its full rate that a crop is sown at in a strip; 1 but in a mixture."""
    own = set() if strip is None else {piece.crop for piece in edition.of_strip(strip)}
    return next(
        (
            layer.share
            for grown in sorted(own)
            if is_mixture(plan, grown)
            for layer in sown_of(plan, grown)
            if layer.crop == name
        ),
        1.0,
    )


def _pair(plan: Plan, yields: Iterable[YieldOf]) -> Iterator[Proposal]:
    """Propose to grow crops apart where strips are sure to yield less than the same land alone."""
    from scipy import stats  # noqa: PLC0415 - slow to load, and only for records

    ratios: dict[str, list[float]] = {}
    ground_m2: dict[str, float] = {}
    for one in yields:
        alone = stated_kg_per_m2(plan, one.crop)
        if one.rows is None and alone is not None:
            ratios.setdefault(one.crop, []).append(one.kg_per_m2 / alone)
            ground_m2[one.crop] = ground_m2.get(one.crop, 0.0) + one.area_m2
    grown = {wish.crop for wish in plan.strips}
    if len(grown) < 2 or set(ratios) != grown:  # noqa: PLR2004 - a pair
        return
    if any(len(each) < FEWEST or is_mixture(plan, crop) for crop, each in ratios.items()):
        return
    shares = np.array([ground_m2[crop] for crop in ratios]) / sum(ground_m2.values())

    def ratio(*samples: np.ndarray, axis: int = -1) -> np.ndarray:
        means = [np.mean(sample, axis=axis) for sample in samples]
        return np.tensordot(shares, np.array(means), axes=1)

    found = stats.bootstrap(
        tuple(np.array(each) for each in ratios.values()), ratio, vectorized=True,
        confidence_level=LEVEL, n_resamples=DRAWS, method="percentile", rng=SEED,
    ).confidence_interval  # fmt: skip
    mean = float(ratio(*(np.array(each) for each in ratios.values())))
    if found.high >= 1.0:
        return
    each = ", ".join(f"{crop} {np.mean(one):.2f} on {len(one)}" for crop, one in ratios.items())
    names = " and ".join(ratios)
    yield Proposal(
        f"grow {names} apart, or other strips: striplay compare and pay say which",
        f"the strips yielded {trim(mean, 2)} of what the same land yields with each crop alone",
        f"of the yields that the plan states alone, by strips: {each}; {LEVEL:.0%} interval "
        f"{found.low:.2f} to {found.high:.2f}, drawn anew from the strips; check strips of each "
        "crop alone, in the same field and year, would tell it better",
    )


def stated_kg_per_m2(plan: Plan, crop: str) -> float | None:
    """Give a crop's yield alone that the plan states; None where it states none by weight."""
    told = plan.crops[crop].yield_rate if crop in plan.crops else None
    if told is None or told.si_unit == "kg_per_m2":
        return None if told is None else told.value
    bushel = bushel_kg(plan, crop)
    return None if bushel is None else told.value * bushel
