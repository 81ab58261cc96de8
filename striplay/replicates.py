"""Tell a trial's replicates on the ground, and how surely they show a difference."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from striplay.laid import Laid
from striplay.notices import Notice
from striplay.plan.models import Plan

Integers = npt.NDArray[np.int64]
SURE, CHANCE = 0.05, 0.8
"""Level of the test, and the power that trials are laid out for: Cohen, Statistical Power Analysis
for the Behavioral Sciences, 1988 (from memory)."""
WHOLE_PERCENT = 0.1
"""Shares above are told to the whole per cent."""
TWO = 2
"""Treatments that a crop has, in strips and alone; and the fewest replicates that tell a spread."""
MOST = 60
"""Replicates looked at to find how many would do."""


def replicates_of(laid: Laid) -> list[Integers]:
    """Number the replicate of each piece of strip, block by block; 0 where there is no trial.

    Where the field is wider than the trial, the trial begins anew and the count goes on, as it does
    from block to block.
    """
    own = np.array([strip.replicate for strip in laid.section.strips])
    found: list[Integers] = []
    before = 0
    for block in laid.blocks:
        mine = own[block.pieces.strips.kind]
        again = block.across.set_number[block.pieces.strips.strip] - 1
        found.append(np.where(mine > 0, before + mine + again * own.max(), 0))
        before = max(before, int(found[-1].max(initial=0)))
    return found


def whole_replicates(laid: Laid) -> list[int]:
    """List the replicates that lie whole on the field: every strip of them with a whole piece."""
    own = np.array([strip.replicate for strip in laid.section.strips])
    found = []
    for block, numbers in zip(laid.blocks, replicates_of(laid), strict=True):
        strips = block.pieces.strips
        for number in np.unique(numbers[numbers > 0]):
            mine = numbers == number
            wanted = np.count_nonzero(own == own[strips.kind[mine][0]])
            if len(np.unique(strips.strip[mine & strips.whole])) == wanted:
                found.append(int(number))
    return found


def _percent(share: float) -> str:
    return f"{100 * share:.2g} %" if share < WHOLE_PERCENT else f"{100 * share:.0f} %"


def chance_to_see(
    difference: float, spread: float, replicates: int, treatments: int = TWO
) -> float:
    """Give how surely a trial shows a difference between two of its treatments, from 0 to 1.

    It is the power of the two-sided t-test at the level of 5 % between two means of as many
    replicates, with the error of randomized complete blocks: (replicates - 1) x (treatments - 1)
    degrees of freedom.

    Args:
        difference: true difference of the means, as a share of the yield.
        spread: standard deviation of plots treated alike in a replicate, likewise.
        replicates: two or more.
        treatments: of one crop; two where it stands in strips and alone.

    >>> round(chance_to_see(0.1, 0.08, 4), 2)
    0.24
    """
    error = spread * (2.0 / replicates) ** 0.5
    return power(difference / error, (replicates - 1) * (treatments - 1))


def power(times: float, df: float) -> float:
    """Give how surely the two-sided t-test at the level of 5 % shows a difference, from 0 to 1.

    As the F-test of one degree, whose distribution scipy knows for effects of any size.

    Args:
        times: the true difference, in standard errors of the one found.
        df: degrees of freedom that those are known by.
    """
    from scipy import stats  # noqa: PLC0415 - slow to load, and only for trials

    return float(stats.ncf.sf(stats.f.isf(SURE, 1, df), 1, df, times**2))


def replicate_notices(plan: Plan, laid: Laid) -> Iterator[Notice]:
    """Say how many replicates of a trial lie whole, and how surely they show what is wished."""
    trial = plan.trial
    if trial is None:
        return
    whole = len(whole_replicates(laid))
    lie = "replicate lies" if whole == 1 else "replicates lie"
    told = f"trial: {whole} {lie} whole on the field, of {trial.replicates} asked for"
    if whole < trial.replicates:
        cure = "fewer sets, narrower checks or fewer replicates would do; compare whole ones alone"
        yield Notice("fit", "mind", None, f"{told}: {cure}")
    elif whole > trial.replicates:
        told += ": the field is wider than the trial, which begins anew beside itself"
        yield Notice("fit", "know", None, told)
    if trial.difference is None or trial.spread is None:
        return
    if whole < TWO:  # one replicate has no spread
        return
    chance = chance_to_see(trial.difference, trial.spread, whole)
    said = (
        f"trial: {whole} whole replicates would show a true difference of "
        f"{_percent(trial.difference)} between a crop in strips and alone in {_percent(chance)} of "
        f"such trials, where plots treated alike differ by {_percent(trial.spread)} (5 % level)"
    )
    enough = next(
        (
            count
            for count in range(TWO, MOST + 1)
            if chance_to_see(trial.difference, trial.spread, count) >= CHANCE
        ),
        None,
    )
    if chance < CHANCE:
        need = f"more than {MOST}" if enough is None else f"{enough}"
        said += f"; {need} replicates would in {_percent(CHANCE)}"
    yield Notice("fit", "know" if chance >= CHANCE else "mind", None, said)
