"""Say what compared treatments come to, and plainly what such a trial can't tell."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from striplay.operations.amounts import bushel_kg
from striplay.plan.models import Plan
from striplay.records.analysis import Compared, Difference, How, Interval, Line
from striplay.records.edge_gains import EdgeGain
from striplay.records.land_ratio import LandRatio
from striplay.records.measures import format_yield
from striplay.units import percent

FEW_BLOCKS = 4
"""Fewer blocks than are usual in strip trials (common practice, no source)."""
ONE_SEASON = (
    "one field in one season: it can't tell of another year, another soil, or another hybrid"
)
MOST_PAIRS = 6
"""So many differences of a crop are told, the surest first; all are in the JSON."""


HOW: Mapping[How, str] = {
    "blocks": "",
    "random blocks": ", blocks not all whole and taken as drawn at random",
    "uneven blocks": ", blocks not all whole, compared within each",
}


@dataclass(frozen=True)
class Findings:
    """All that a table of plots comes to.

    Attributes:
        source: name of the file.
        crops: treatments compared, crop by crop.
        ratios: of land, treatment by treatment.
        edges: gains of rows at edges, by crop.
        untold: what could not be reckoned, and why.
        drawn: whether it is known that treatments were drawn by lot, as those of a plan's trial.
    """

    source: str
    crops: tuple[Compared, ...]
    ratios: tuple[LandRatio, ...]
    edges: Mapping[str, tuple[EdgeGain, ...]]
    untold: tuple[str, ...]
    drawn: bool = False


def findings_report(found: Findings, plan: Plan) -> Iterator[str]:
    """Say it line by line, for people; intervals hold the true figure 19 times out of 20."""
    yield f"{found.source}: in brackets, where the true figure lies 19 times out of 20"
    for one in found.crops:
        yield from _crop_lines(one, plan)
    for ratio in found.ratios:
        span = f"({ratio.ratio.low:.2f} to {ratio.ratio.high:.2f})"
        parts = " + ".join(f"{crop} {part:.2f}" for crop, part in ratio.parts.items())
        said = (
            f"land equivalent ratio of {ratio.treatment}: {ratio.ratio.value:.2f} {span}, {parts}"
        )
        yield f"{said}; {ratio.blocks} blocks"
    for crop, gains in found.edges.items():
        told = "; ".join(_gain_words(gain) for gain in gains)
        yield f"{crop}, rows at the edge against those inside: {told}"
    yield f"can't be told: {'; '.join(cannot_tell(found))}"


def _crop_lines(one: Compared, plan: Plan) -> Iterator[str]:
    bushel = bushel_kg(plan, one.crop)

    def said(kg_per_m2: float) -> str:
        return format_yield(kg_per_m2, bushel, plan.units)

    how = HOW[one.how]
    if len(one.differences) > 1:
        how += "; p of all differences together (Holm)"
    yield f"{one.crop}: {one.plots} plots in {one.blocks} blocks{how}"
    means = "; ".join(f"{name} {said(mean.value)}" for name, mean in one.means.items())
    yield f"  means: {means}"
    for pair in surest(one.differences):
        low, high = said(pair.kg_per_m2.low), said(pair.kg_per_m2.high)
        seen = "" if pair.seen else ", so it may be none"
        yield (
            f"  {pair.one} less {pair.other}: {said(pair.kg_per_m2.value)} ({low} to {high}), "
            f"{percent(pair.share)}{seen}; p {_p(pair.p)}"
        )
    for line in one.lines:
        if line.source == "treatment" and line.f is not None and line.p is not None:
            error = one.lines[-1].df
            yield f"  treatments: F({line.df:g}, {error:g}) {line.f:.2f}, p {_p(line.p)}"
    least = max(pair.least_kg_per_m2 for pair in one.differences)
    mean = sum(each.value for each in one.means.values()) / len(one.means)
    yield (
        f"  a plot strays {100 * one.spread:.1f} % by chance; a difference of {said(least)} "
        f"({percent(least / mean).removeprefix('+')}) would have been seen 4 times out of 5"
    )


def surest(pairs: Sequence[Difference]) -> list[Difference]:
    """Give the differences that are told, of several the surest first."""
    return sorted(pairs, key=lambda pair: pair.p)[:MOST_PAIRS] if len(pairs) > 1 else list(pairs)


def _gain_words(gain: EdgeGain) -> str:
    where = f"{gain.side} row {gain.row}" if gain.side else f"row {gain.row}"
    span = f"({percent(gain.gain.low)} to {percent(gain.gain.high)})"
    return f"{where} {percent(gain.gain.value)} {span}, {gain.strips} strips"


def _p(p: float) -> str:
    return "below 0.001" if p < 0.001 else f"{p:.3f}"  # noqa: PLR2004 - as papers write it


def cannot_tell(found: Findings) -> list[str]:
    """Say what such figures can't tell."""
    told = [ONE_SEASON]
    blocks = min((one.blocks for one in found.crops), default=FEW_BLOCKS)
    if blocks < FEW_BLOCKS:
        told.append(f"{blocks} blocks are few, so a difference that is not seen may well be there")
    if any(not pair.seen for one in found.crops for pair in one.differences):
        told.append("a difference that may be none is not shown to be none")
    if found.crops and not found.drawn:
        told.append("treatments that were not drawn by lot may differ by their ground")
    return [*told, *found.untold]


def findings_data(found: Findings) -> dict[str, Any]:
    """Give the same for scripts: all values SI."""
    return {
        "source": found.source,
        "crops": [
            {
                "crop": one.crop,
                "plots": one.plots,
                "blocks": one.blocks,
                "how": one.how,
                "spread": one.spread,
                "means": {name: _interval(mean) for name, mean in one.means.items()},
                "lines": [_line(line) for line in one.lines],
                "differences": [
                    {**asdict(pair), "kg_per_m2": _interval(pair.kg_per_m2), "seen": pair.seen}
                    for pair in one.differences
                ],
            }
            for one in found.crops
        ],
        "land_equivalent_ratios": [
            {**asdict(ratio), "ratio": _interval(ratio.ratio)} for ratio in found.ratios
        ],
        "edges": {
            crop: [{**asdict(gain), "gain": _interval(gain.gain)} for gain in gains]
            for crop, gains in found.edges.items()
        },
        "cannot_tell": cannot_tell(found),
    }


def _interval(one: Interval) -> dict[str, float | None]:
    return {"value": one.value, "low": _finite(one.low), "high": _finite(one.high)}


def _finite(value: float) -> float | None:
    return value if abs(value) < float("inf") else None


def _line(line: Line) -> dict[str, Any]:
    return {**asdict(line), "mean_square": line.mean_square}
