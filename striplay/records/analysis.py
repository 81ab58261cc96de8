"""Compare treatments that stood in blocks: means, differences with intervals, what can't be told.

All statistics are statsmodels' and scipy's; nothing of them is reckoned here.
"""

import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any, Literal

import numpy as np

from striplay.records.plots import Plot, blocks_of, check_plots, is_complete, treatments_of

LEVEL = 0.95
"""Intervals hold what is true 19 times out of 20."""
POWER = 0.8
"""A difference is counted as one to be seen where it would be 4 times out of 5."""
TWO = 2


@dataclass(frozen=True, slots=True)
class Line:
    """A line of an analysis of variance.

    Attributes:
        source: block, treatment or error.
        df: degrees of freedom.
        sum_of_squares: in (kg/m2)2.
        f: ratio of its mean square to the error's; None of the error.
        p: how often chance alone gives such a ratio; likewise.
    """

    source: str
    df: float
    sum_of_squares: float
    f: float | None
    p: float | None

    @property
    def mean_square(self) -> float:
        """Sum of squares by degree of freedom."""
        return self.sum_of_squares / self.df


@dataclass(frozen=True, slots=True)
class Interval:
    """A figure with the interval that holds the true one 19 times out of 20."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Difference:
    """A treatment less another.

    Attributes:
        one: the treatment.
        other: what it is held against.
        kg_per_m2: by how much it yields more.
        share: the same as a share of the other's mean.
        p: how often chance alone gives such a difference, of several comparisons together (Holm).
        least_kg_per_m2: the smallest difference that these plots would show 4 times out of 5.
    """

    one: str
    other: str
    kg_per_m2: Interval
    share: float
    p: float
    least_kg_per_m2: float

    @property
    def seen(self) -> bool:
        """Whether the interval leaves out no difference at all."""
        return not self.kg_per_m2.low <= 0.0 <= self.kg_per_m2.high


@dataclass(frozen=True, slots=True)
class Compared:
    """Treatments of one crop, compared.

    Attributes:
        crop: whose yields they are.
        plots: how many.
        blocks: in how many blocks.
        how: blocks as they are where every treatment stands in each, else blocks at random.
        means: of each treatment, its own plots' spread alone.
        lines: of the analysis of variance; none where blocks are taken at random.
        differences: of each pair of treatments.
        spread: standard deviation of a plot about what treatment and block make of it, as a share
            of the mean.
    """

    crop: str
    plots: int
    blocks: int
    how: Literal["blocks", "random blocks"]
    means: Mapping[str, Interval]
    lines: tuple[Line, ...]
    differences: tuple[Difference, ...]
    spread: float


def compare(plots: Sequence[Plot], crop: str) -> Compared:
    """Compare the treatments of a crop.

    Where every treatment stands in every block it is the analysis of variance of randomized
    complete blocks; of two treatments, that is the paired t-test. Else blocks are taken as drawn at
    random, by restricted maximum likelihood.

    Args:
        plots: of one crop, whole strips.
        crop: its name, for messages.

    Raises:
        YieldError: plots that can't be compared.
    """
    check_plots(plots, crop)
    means = {
        name: mean_of([one.kg_per_m2 for one in plots if one.treatment == name])
        for name in treatments_of(plots)
    }
    whole = is_complete(plots)
    average = float(np.mean([one.kg_per_m2 for one in plots]))
    unit = 1.0 if whole else average or 1.0
    fit = _least_squares(plots) if whole else _random_blocks(plots, unit)
    variance = fit.mse_resid if whole else fit.scale
    return Compared(
        crop=crop,
        plots=len(plots),
        blocks=len(blocks_of(plots)),
        how="blocks" if whole else "random blocks",
        means=means,
        lines=variance_lines(plots) if whole else (),
        differences=_differences(plots, fit, unit),
        spread=float(np.sqrt(variance)) * unit / average if average else np.nan,
    )


def mean_of(values: Sequence[float]) -> Interval:
    """Give a mean with its interval, by Student's t; without end where there is one value."""
    from statsmodels.stats.weightstats import DescrStatsW  # noqa: PLC0415 - slow to load

    mean = float(np.mean(values))
    if len(values) < TWO:
        return Interval(mean, -np.inf, np.inf)
    low, high = DescrStatsW(np.asarray(values)).tconfint_mean(alpha=1 - LEVEL)
    return Interval(mean, float(low), float(high))


def variance_lines(plots: Sequence[Plot]) -> tuple[Line, ...]:
    """Give the analysis of variance: block, treatment, error."""
    from statsmodels.stats.anova import anova_lm  # noqa: PLC0415 - slow to load

    table = anova_lm(_least_squares(plots), typ=1)
    names = {"C(block)": "block", "C(treatment)": "treatment", "Residual": "error"}
    return tuple(
        Line(
            names[str(name)],
            float(row["df"]),
            float(row["sum_sq"]),
            None if np.isnan(row["F"]) else float(row["F"]),
            None if np.isnan(row["PR(>F)"]) else float(row["PR(>F)"]),
        )
        for name, row in table.iterrows()
    )


def _frame(plots: Sequence[Plot]) -> Any:  # noqa: ANN401 - a DataFrame
    import pandas as pd  # noqa: PLC0415 - slow to load

    order = treatments_of(plots)
    return pd.DataFrame(
        {
            "block": [one.block for one in plots],
            "treatment": pd.Categorical([one.treatment for one in plots], order),
            "amount": [one.kg_per_m2 for one in plots],
        }
    )


def _least_squares(plots: Sequence[Plot]) -> Any:  # noqa: ANN401 - the library's own
    from statsmodels.formula.api import ols  # noqa: PLC0415 - slow to load

    return ols("amount ~ C(block) + C(treatment)", _frame(plots)).fit()


def _random_blocks(plots: Sequence[Plot], unit: float) -> Any:  # noqa: ANN401 - as above
    """Fit treatments with blocks drawn at random, by restricted maximum likelihood."""
    from statsmodels.formula.api import mixedlm  # noqa: PLC0415 - slow to load

    frame = _frame(plots)
    frame["amount"] = frame["amount"] / unit  # near 1, where the search is at its best
    model = mixedlm("amount ~ C(treatment)", frame, groups=frame["block"])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # told where blocks hardly differ, which is no fault
        return model.fit(reml=True)


def _differences(plots: Sequence[Plot], fit: Any, unit: float) -> tuple[Difference, ...]:  # noqa: ANN401 - as above
    """Give the difference of each pair of treatments, the later one less the earlier.

    Args:
        plots: what was measured.
        fit: what a model makes of them.
        unit: what one of its figures is in kg/m2.
    """
    from statsmodels.stats.multitest import multipletests  # noqa: PLC0415 - slow to load

    names = treatments_of(plots)
    pairs = list(combinations(range(len(names)), 2))
    fixed = list(fit.params.index if hasattr(fit, "mse_resid") else fit.fe_params.index)
    column = [
        fixed.index(f"C(treatment)[T.{name}]") if at else None for at, name in enumerate(names)
    ]
    contrast = np.zeros((len(pairs), len(fixed)))
    for row, (other, one) in enumerate(pairs):
        for which, sign in ((one, 1.0), (other, -1.0)):
            at = column[which]
            if at is not None:  # the first treatment stands at nought
                contrast[row, at] = sign
    test = fit.t_test(contrast)
    reach = np.asarray(test.conf_int(1 - LEVEL)) * unit
    together = multipletests(np.atleast_1d(test.pvalue), method="holm")[1]
    df = float(fit.df_resid) if hasattr(fit, "mse_resid") else None
    mean = {
        name: float(np.mean([one.kg_per_m2 for one in plots if one.treatment == name]))
        for name in names
    }
    found = []
    for row, (other, one) in enumerate(pairs):
        value = float(np.atleast_1d(test.effect)[row]) * unit
        beside = mean[names[other]]
        found.append(
            Difference(
                one=names[one],
                other=names[other],
                kg_per_m2=Interval(value, float(reach[row, 0]), float(reach[row, 1])),
                share=value / beside if beside else np.nan,
                p=float(together[row]),
                least_kg_per_m2=least_seen(float(np.atleast_1d(test.sd.ravel())[row]) * unit, df),
            )
        )
    return tuple(found)


def least_seen(error: float, df: float | None) -> float:
    """Give the smallest true difference that would be seen 4 times out of 5, at 1 in 20.

    Args:
        error: standard error of the difference.
        df: degrees of freedom it is known by; None for very many.
    """
    from scipy.optimize import brentq  # noqa: PLC0415 - slow to load
    from statsmodels.stats.power import TTestPower  # noqa: PLC0415 - likewise

    freedom = 1e6 if df is None else df
    test = TTestPower()

    def short(times: float) -> float:
        # one difference of so many standard errors, seen on its own side: the library's power of
        # both sides has no number where the other side's is next to nought
        side = (1 - LEVEL) / 2
        return float(test.power(times, 1, side, df=freedom, alternative="larger")) - POWER

    enough = 1.0
    while short(enough) < 0.0:
        enough *= 1.5
    return error * float(brentq(short, enough / 2, enough))


def paired(plots: Sequence[Plot], one: str, other: str) -> tuple[Interval, float]:
    """Hold two treatments against each other strip by strip, block by block: the paired t-test.

    Returns:
        By how much `one` yields more, and p.
    """
    from scipy.stats import ttest_rel  # noqa: PLC0415 - slow to load

    each = {(plot.block, plot.treatment): plot.kg_per_m2 for plot in plots}
    blocks = [block for block in blocks_of(plots) if {(block, one), (block, other)} <= set(each)]
    first, second = ([each[block, name] for block in blocks] for name in (one, other))
    found = ttest_rel(first, second)
    reach = found.confidence_interval(LEVEL)
    value = float(np.mean(np.subtract(first, second)))
    return Interval(value, float(reach.low), float(reach.high)), float(found.pvalue)
