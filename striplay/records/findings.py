"""Make all that a table of plots comes to: crop by crop, ratios of land, rows at edges."""

from collections.abc import Mapping, Sequence

from striplay.errors import YieldError
from striplay.records.analysis import compare
from striplay.records.analysis_report import Findings
from striplay.records.edge_gains import EdgeGain, edge_gains
from striplay.records.land_ratio import land_ratio
from striplay.records.plots import Plot, treatments_of, whole_strips
from striplay.section.trial import ALONE, USUAL


def findings_of(
    source: str,
    plots: Sequence[Plot],
    shares: Mapping[str, Mapping[str, float]],
    *,
    drawn: bool = False,
) -> Findings:
    """Compare all that plots allow.

    Args:
        source: name of the file.
        plots: of all crops.
        shares: by treatment, each crop's share of the land there, as far as known.
        drawn: whether it is known that treatments were drawn by lot.

    Raises:
        YieldError: plots of a crop that can't be compared, or nothing to compare at all.
    """
    crops = list(dict.fromkeys(one.crop for one in plots))
    whole = {crop: whole_strips(plots, crop) for crop in crops}
    several = [crop for crop in crops if len(treatments_of(whole[crop])) > 1]
    named = several or [crop for crop in crops if whole[crop]]
    compared = tuple(compare(whole[crop], crop) for crop in named)
    edges: dict[str, tuple[EdgeGain, ...]] = {}
    untold: list[str] = []
    untold += [
        f"{crop}, for want of a second treatment"
        for crop in crops
        if whole[crop] and crop not in named
    ]
    for crop in crops:
        if any(one.row is not None for one in plots if one.crop == crop):
            try:
                edges[crop] = edge_gains(plots, crop)
            except YieldError as error:
                if not compared:
                    raise
                untold.append(f"rows at edges of {error}")  # what strips tell stands
    measured = [one for own in whole.values() for one in own]
    alone = {one.crop for one in measured if one.treatment == ALONE}
    ratios = []
    for name in treatments_of(measured):
        if name in {ALONE, USUAL} or not alone:
            continue
        grown = [crop for crop in crops if any(one.treatment == name for one in whole[crop])]
        known = shares.get(name, {})
        wanted = set(known) | set(grown)
        if not wanted <= alone & set(grown):
            untold.append(f"the ratio of land of {name}, for want of every crop both so and alone")
        elif not wanted <= set(known):
            untold.append(f"the ratio of land of {name}, for want of land_share")
        else:
            ratios.append(land_ratio(plots, name, {crop: known[crop] for crop in grown}))
    if not compared and not edges:
        raise YieldError(
            f"{source}: nothing to compare: no plots in blocks, and no rows weighed by themselves"
        )
    return Findings(source, compared, tuple(ratios), edges, tuple(untold), drawn)
