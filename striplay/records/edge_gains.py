"""Reckon by how much rows at a strip's edge yielded more than those inside it, as measured."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from striplay.errors import YieldError
from striplay.records.analysis import LEVEL, Interval
from striplay.records.plots import Plot


@dataclass(frozen=True, slots=True)
class EdgeGain:
    """What rows at one place from a strip's edge yielded more than those inside.

    Attributes:
        row: their place from the edge, from 1.
        side: side of the strip; empty where sides are not told apart.
        gain: as a share, with its interval.
        p: how often chance alone gives as much.
        strips: that it is of.
    """

    row: int
    side: str
    gain: Interval
    p: float
    strips: int


def edge_gains(plots: Sequence[Plot], crop: str) -> tuple[EdgeGain, ...]:
    """Reckon the gains of rows at edges, place by place.

    Least squares of the logarithm of yield on strip and place: a gain is a ratio within a strip,
    the same in a good strip and a poor one. Intervals by Student's t.

    Args:
        plots: rows of strips, those inside included.
        crop: whose rows.

    Raises:
        YieldError: no rows inside, no strip with both, or a yield that is not above 0.
    """
    import pandas as pd  # noqa: PLC0415 - slow to load
    from statsmodels.formula.api import ols  # noqa: PLC0415 - likewise

    mine = [one for one in plots if one.crop == crop and (one.inner or one.row is not None)]
    if not any(one.inner for one in mine):
        raise YieldError(f"{crop}: has no rows inside, that rows at edges are held against")
    if not all(one.kg_per_m2 > 0.0 for one in mine):
        raise YieldError(f"{crop}: a yield of rows is not above 0; there is no ratio to it")
    inside = {_strip(one) for one in mine if one.inner}
    mine = [one for one in mine if _strip(one) in inside]
    places = sorted({(one.side, one.row) for one in mine if one.row is not None and not one.inner})
    strips = len({_strip(one) for one in mine})
    if not places or len(mine) - strips - len(places) < 1:
        raise YieldError(f"{crop}: too few rows to tell places from strips; measure another strip")
    names = [f"place {at}" for at in range(len(places))]
    named = dict(zip(places, names, strict=True))
    frame = pd.DataFrame(
        {
            "strip": [_strip(one) for one in mine],
            "place": pd.Categorical(
                ["inside" if one.inner else named[one.side, one.row or 0] for one in mine],
                ["inside", *names],
            ),
            "size": np.log([one.kg_per_m2 for one in mine]),
        }
    )
    fit = ols("size ~ C(strip) + C(place)", frame).fit()
    reach = fit.conf_int(1 - LEVEL)
    found = []
    for (side, row), name in zip(places, names, strict=True):
        key = f"C(place)[T.{name}]"
        ends = np.expm1(reach.loc[key].to_numpy())
        gain = Interval(float(np.expm1(fit.params[key])), float(ends[0]), float(ends[1]))
        with_it = {
            _strip(one) for one in mine if not one.inner and (one.side, one.row) == (side, row)
        }
        found.append(EdgeGain(row or 0, side, gain, float(fit.pvalues[key]), len(with_it)))
    return tuple(found)


def _strip(plot: Plot) -> str:
    """Name the strip that rows are compared within."""
    return f"{plot.block}, {plot.strip}"
