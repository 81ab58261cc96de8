"""Make plots of what the season's records hold: a trial's strips, rows weighed by themselves."""

from collections.abc import Iterable, Mapping, Sequence

from striplay.laid import Laid
from striplay.limits import EDGE_ROWS
from striplay.records.plots import Plot
from striplay.records.yields import YieldOf
from striplay.replicates import replicates_of, whole_replicates
from striplay.section.section import Section
from striplay.section.trial import STRIPS

RECORDED = "recorded"
"""The treatment and block of plots that no trial tells apart."""


def plots_of(
    yields: Sequence[YieldOf], laid: Laid
) -> tuple[list[Plot], Mapping[str, Mapping[str, float]]]:
    """Give the plots that records hold, a trial's strips first, and crops' shares of strips' land.

    Args:
        yields: what is recorded.
        laid: the plan's strips; those of no trial make no plots.
    """
    return [*plots_of_trial(yields, laid), *plots_of_rows(yields)], shares_of_trial(laid.section)


def plots_of_rows(yields: Iterable[YieldOf]) -> list[Plot]:
    """Give the plots of rows that were weighed by themselves.

    A row up to three from an edge is at its place from there; rows farther in are inside. Several
    rows weighed together that lie in both tell nothing of either, and are left out.
    """
    found = []
    for one in yields:
        if one.rows is None or one.rows_of is None:
            continue
        first, last = one.rows
        place = min(first, one.rows_of + 1 - last)
        inner = place > EDGE_ROWS
        if not inner and first != last:
            continue
        row = None if inner else min(first, one.rows_of + 1 - first)
        plot = Plot(
            RECORDED, RECORDED, one.crop, one.kg_per_m2, strip=one.strip, row=row, inner=inner
        )
        found.append(plot)
    return found


def plots_of_trial(yields: Iterable[YieldOf], laid: Laid) -> list[Plot]:
    """Give the plots of a trial's strips: a replicate is a block, a check strip its crop alone.

    A check of the farm's usual is a plot of the crop that it stands for.

    Strips of one crop and treatment in one replicate are one plot, their grain and ground added up;
    what is recorded of some of them alone stands for that plot. Replicates that do not lie whole on
    the field are left out.
    """
    places: dict[int, tuple[int, str, str]] = {}
    whole = set(whole_replicates(laid))
    for block, replicate_of in zip(laid.blocks, replicates_of(laid), strict=True):
        of = [laid.section.strips[kind] for kind in block.pieces.strips.kind]
        each = zip(block.strip_number.tolist(), replicate_of.tolist(), of, strict=True)
        places |= {
            number: (replicate, strip.treatment, strip.stands_for)
            for number, replicate, strip in each
        }
    sums: dict[tuple[int, str, str], tuple[float, float]] = {}
    for one in yields:
        replicate, treatment, stands_for = places.get(one.strip, (0, "", ""))
        if one.rows is not None or replicate not in whole:
            continue
        key = (replicate, treatment, stands_for or one.crop)
        grain_kg, area_m2 = sums.get(key, (0.0, 0.0))
        sums[key] = (grain_kg + one.grain_kg, area_m2 + one.area_m2)
    return [
        Plot(f"replicate {replicate}", treatment, crop, grain_kg / area_m2)
        for (replicate, treatment, crop), (grain_kg, area_m2) in sorted(
            sums.items(), key=lambda one: (one[0][2], one[0][1], one[0][0])
        )
    ]


def shares_of_trial(section: Section) -> Mapping[str, Mapping[str, float]]:
    """Give each crop's share of the land of the strips of a trial, by treatment.

    What is sown between a strip's rows shares its land, so shares may add up to more than 1.
    """
    widths_m: dict[str, float] = {}
    whole_m = 0.0
    for index, strip in enumerate(section.strips):
        if strip.treatment == STRIPS:
            whole_m += strip.width_m
            rows = (row for row in section.rows if row.strip == index and row.layer)
            between = (row.label for row in rows if not row.sown[0].follows)
            for crop in dict.fromkeys([strip.crop, *between]):
                widths_m[crop] = widths_m.get(crop, 0.0) + strip.width_m
    return {STRIPS: {crop: width_m / whole_m for crop, width_m in widths_m.items()}}
