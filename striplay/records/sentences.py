"""Say in sentences what compared treatments come to, with what is sure of it, as a farmer reads."""

from collections.abc import Callable, Iterator

from striplay.operations.amounts import bushel_kg
from striplay.plan.models import Plan
from striplay.records.analysis import Compared, Difference
from striplay.records.analysis_report import Findings, cannot_tell, surest
from striplay.records.edge_gains import EdgeGain
from striplay.records.land_ratio import LandRatio
from striplay.records.measures import format_yield

OFTEN = "19 times out of 20"


def sentences(found: Findings, plan: Plan) -> Iterator[str]:
    """Say each difference, ratio of land and gain at edges; then what such figures can't tell.

    A difference has its interval, its share of the yield, and how many times it is what a plot
    strays by chance, which is its size as an effect.

    Args:
        found: what plots come to.
        plan: its units and bushels.
    """
    for one in found.crops:
        yield from _crop(one, plan)
    for ratio in found.ratios:
        yield _ratio(ratio)
    for crop, gains in found.edges.items():
        yield _edges(crop, gains)
    yield f"What this can't tell: {'; '.join(cannot_tell(found))}."


def _crop(one: Compared, plan: Plan) -> Iterator[str]:
    """Say the means of a crop's treatments, and each difference."""
    bushel = bushel_kg(plan, one.crop)

    def said(kg_per_m2: float) -> str:
        return format_yield(kg_per_m2, bushel, plan.units)

    means = ", ".join(f"{name} {said(mean.value)}" for name, mean in one.means.items())
    yield f"{_begun(one.crop)}: {means}, of {one.plots} plots in {one.blocks} blocks."
    average = sum(mean.value for mean in one.means.values()) / len(one.means)
    for pair in surest(one.differences):
        yield _pair(one, pair, average, said)


def _pair(one: Compared, pair: Difference, average: float, said: Callable[[float], str]) -> str:
    """Say one difference, how sure it is and how large."""
    value, low, high = pair.kg_per_m2.value, pair.kg_per_m2.low, pair.kg_per_m2.high
    more = "more" if value >= 0 else "less"
    begun = (
        f"{_begun(one.crop)}, {pair.one}: {said(abs(value))} {more} than {pair.other} "
        f"({100 * abs(pair.share):.1f} %)"
    )
    stray = one.spread * average
    size = f"{abs(value) / stray:.1f} times what a plot strays by chance" if stray else ""
    if pair.seen:
        near, far = sorted((abs(low), abs(high)))
        sure = f"the true difference lies between {said(near)} and {said(far)} {more}, {OFTEN}"
        return f"{begun}; {sure}.{f' That is {size}.' if size else ''}"
    ends = f"from {said(-low)} less to {said(high)} more"
    least = f"{said(pair.least_kg_per_m2)} ({100 * pair.least_kg_per_m2 / average:.0f} %)"
    told = [
        f"{begun}, which may be chance: the true difference lies anywhere {ends}, {OFTEN}.",
        *([f"It is {size}."] if size else []),
        f"A difference of {least} would have been seen 4 times out of 5.",
    ]
    return " ".join(told)


def _ratio(ratio: LandRatio) -> str:
    """Say what land the crops alone would have taken."""
    low, value, high = ratio.ratio.low, ratio.ratio.value, ratio.ratio.high
    what = "land is saved" if low > 1 else "land is lost" if high < 1 else "it may be either"
    parts = ", ".join(f"{crop} {part:.2f}" for crop, part in ratio.parts.items())
    return (
        f"Land equivalent ratio of {ratio.treatment}: {value:.2f} ({low:.2f} to {high:.2f}, "
        f"{OFTEN}). For what they yielded, the crops alone would have needed {value:.2f} times the "
        f"land ({parts}); above 1 land is saved, below it lost: here {what}."
    )


def _edges(crop: str, gains: tuple[EdgeGain, ...]) -> str:
    """Say what rows at edges yielded more than those inside."""
    told = []
    for one in gains:
        more = "more" if one.gain.value >= 0 else "less"
        side = f" on the {one.side} side" if one.side else ""
        ends = f"{100 * one.gain.low:+.0f} to {100 * one.gain.high:+.0f} %"
        told.append(
            f"row {one.row} from the edge{side} yielded {100 * abs(one.gain.value):.0f} % {more} "
            f"than rows inside ({ends}, {OFTEN}), on {one.strips} strips"
        )
    return f"{_begun(crop)}: {'; '.join(told)}."


def _begun(text: str) -> str:
    return text[:1].upper() + text[1:]
