"""Make all that a table of plots comes to: crop by crop, ratios of land, rows at edges."""

from collections.abc import Mapping, Sequence

from striplay.errors import YieldError
from striplay.records.analysis import compare
from striplay.records.analysis_report import Findings
from striplay.records.edge_gains import edge_gains
from striplay.records.land_ratio import land_ratio
from striplay.records.plots import ALONE, Plot, treatments_of, whole_strips


def findings_of(
    source: str, plots: Sequence[Plot], shares: Mapping[str, Mapping[str, float]]
) -> Findings:
    """Compare all that plots allow.

    Args:
        source: name of the file.
        plots: of all crops.
        shares: by treatment, each crop's share of the land there, as far as known.

    Raises:
        YieldError: plots of a crop that can't be compared, or nothing to compare at all.
    """
    crops = list(dict.fromkeys(one.crop for one in plots))
    whole = {crop: whole_strips(plots, crop) for crop in crops}
    compared = tuple(compare(whole[crop], crop) for crop in crops if whole[crop])
    edges, untold = {}, []
    for crop in crops:
        if any(one.row is not None for one in plots if one.crop == crop):
            edges[crop] = edge_gains(plots, crop)
    together = [
        name
        for name in treatments_of(plots)
        if name != ALONE and any(one.treatment == ALONE for one in plots)
    ]
    ratios = []
    for name in together:
        grown = [crop for crop in crops if any(one.treatment == name for one in whole[crop])]
        known = shares.get(name, {})
        if set(grown) <= set(known):
            ratios.append(land_ratio(plots, name, {crop: known[crop] for crop in grown}))
        elif grown:
            untold.append(f"the ratio of land of {name}, for want of land_share")
    if not compared and not edges:
        raise YieldError(
            f"{source}: nothing to compare: no plots in blocks, and no rows weighed by themselves"
        )
    return Findings(source, compared, tuple(ratios), edges, tuple(untold))
