"""Compare treatments that stood in blocks: means, differences with intervals, what can't be told.

All statistics are statsmodels' and scipy's; nothing of them is reckoned here.
"""

import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any, Literal

import numpy as np

from striplay.errors import YieldError
from striplay.records.plots import (
    TWO,
    Plot,
    blocks_of,
    check_plots,
    is_complete,
    spare_of,
    treatments_of,
)
from striplay.replicates import CHANCE, SURE, power
from striplay.tolerances import NO_SPREAD

LEVEL = 1.0 - SURE
"""Intervals hold what is true 19 times out of 20."""


How = Literal["blocks", "random blocks", "uneven blocks"]


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
        how: blocks as they are where every treatment stands in each, else blocks at random, or
            where that finds no errors, uneven blocks, treatments held against each other in each.
        means: of each treatment, its own plots' spread alone.
        lines: of the analysis of variance; none where blocks are taken at random.
        differences: of each pair of treatments.
        spread: standard deviation of a plot about what treatment and block make of it, as a share
            of the mean.
    """

    crop: str
    plots: int
    blocks: int
    how: How
    means: Mapping[str, Interval]
    lines: tuple[Line, ...]
    differences: tuple[Difference, ...]
    spread: float


def compare(plots: Sequence[Plot], crop: str) -> Compared:
    """Compare the treatments of a crop.

    Where every treatment stands in every block it is the analysis of variance of randomized
    complete blocks; of two treatments, that is the paired t-test. Else blocks are taken as drawn at
    random, by restricted maximum likelihood; where that fails, least squares again. Intervals are
    Student's in all.

    Args:
        plots: of one crop, whole strips.
        crop: its name, for messages.

    Raises:
        YieldError: plots that can't be compared, or that chance did nothing to.
    """
    check_plots(plots, crop)
    means = {
        name: mean_of([one.kg_per_m2 for one in plots if one.treatment == name])
        for name in treatments_of(plots)
    }
    whole = is_complete(plots)
    average = float(np.mean([one.kg_per_m2 for one in plots]))
    squares = _least_squares(plots)
    if np.sqrt(squares.mse_resid) <= NO_SPREAD * average:
        raise YieldError(
            f"{crop}: differs by treatment and block alone, to the last digit, so nothing tells "
            "what chance does; give yields as they were weighed"
        )
    random = None if whole else _random_blocks(plots, average)
    how: How = "blocks" if whole else "random blocks" if random else "uneven blocks"
    if how == "uneven blocks" and squares.model.rank < squares.model.exog.shape[1]:
        raise YieldError(
            f"{crop}: some treatments stand in no block with the others; compare them by themselves"
        )
    fit, unit = (random, average) if random else (squares, 1.0)
    variance = random.scale if random else squares.mse_resid
    return Compared(
        crop=crop,
        plots=len(plots),
        blocks=len(blocks_of(plots)),
        how=how,
        means=means,
        lines=variance_lines(plots) if whole else (),
        differences=_differences(plots, fit, unit),
        spread=float(np.sqrt(variance)) * unit / average,
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
    """Fit treatments with blocks drawn at random, by restricted maximum likelihood.

    None where the search ends without errors, as it may where blocks hardly differ.
    """
    from statsmodels.formula.api import mixedlm  # noqa: PLC0415 - slow to load

    frame = _frame(plots)
    frame["amount"] = frame["amount"] / unit  # near 1, where the search is at its best
    model = mixedlm("amount ~ C(treatment)", frame, groups=frame["block"])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # told where blocks hardly differ, which is no fault
        try:
            fit = model.fit(reml=True)
        except np.linalg.LinAlgError:
            return None
        return fit if np.isfinite(fit.bse_fe).all() else None


def _differences(plots: Sequence[Plot], fit: Any, unit: float) -> tuple[Difference, ...]:  # noqa: ANN401 - as above
    """Give the difference of each pair of treatments, the later one less the earlier.

    Args:
        plots: what was measured.
        fit: what a model makes of them.
        unit: what one of its figures is in kg/m2.
    """
    from statsmodels.stats.contrast import ContrastResults  # noqa: PLC0415 - slow to load
    from statsmodels.stats.multitest import multipletests  # noqa: PLC0415 - likewise

    names = treatments_of(plots)
    pairs = list(combinations(range(len(names)), 2))
    fixed = list(getattr(fit, "fe_params", fit.params).index)
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
    value, error = np.ravel(test.effect) * unit, np.ravel(test.sd) * unit
    # where blocks are random the library takes errors as known without end; they are not
    df = spare_of(plots)
    test = ContrastResults(effect=value, t=value / error, sd=error, df_denom=df)
    reach = test.conf_int(1 - LEVEL)
    together = multipletests(test.pvalue, method="holm")[1]
    mean = {
        name: float(np.mean([one.kg_per_m2 for one in plots if one.treatment == name]))
        for name in names
    }
    return tuple(
        Difference(
            one=names[one],
            other=names[other],
            kg_per_m2=Interval(float(value[row]), float(reach[row, 0]), float(reach[row, 1])),
            share=float(value[row]) / mean[names[other]],
            p=float(together[row]),
            least_kg_per_m2=least_seen(float(error[row]), df),
        )
        for row, (other, one) in enumerate(pairs)
    )


def least_seen(error: float, df: float) -> float:
    """Give the smallest true difference that would be seen 4 times out of 5, at 1 in 20.

    Args:
        error: standard error of the difference.
        df: degrees of freedom it is known by.
    """
    from scipy.optimize import brentq  # noqa: PLC0415 - slow to load

    def short(times: float) -> float:
        return power(times, df) - CHANCE

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
