"""Put check strips between sets, replicate by replicate, in an order drawn at random."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from random import Random

from striplay.errors import PlanError
from striplay.notices import Notice
from striplay.plan.crops import StripWish
from striplay.plan.models import Plan
from striplay.plan.trial import Trial
from striplay.section.fit import StripFit, judge_strip, widths_to_judge
from striplay.section.section import Section
from striplay.section.sets import SetFit, near_any_m
from striplay.tolerances import WHOLE_NUMBER
from striplay.units import format_length

STRIPS, ALONE, USUAL = "strips", "alone", "usual"
"""The treatments: of the set itself; of a crop in a check strip, as in the strips or as the farm
usually grows it; its crop stands beside."""
FEWEST_PASSES = 3
"""Passes of a harvester over a check strip: the outer two run beside a neighbor, whose edge they
share (our choice)."""

Wish = tuple[StripWish, StripFit]


@dataclass(frozen=True, slots=True)
class Plot:
    """One treatment in one replicate.

    Attributes:
        replicate: its number, from 1.
        treatment: strips, alone or usual.
        wishes: its strips, each with its verdict.
    """

    replicate: int
    treatment: str
    wishes: tuple[Wish, ...]

    @property
    def named(self) -> str:
        """What it holds, in words."""
        return (
            self.treatment
            if self.treatment == STRIPS
            else f"{self.wishes[0][0].crop} {'alone' if self.treatment == ALONE else 'as usual'}"
        )


def checks_of(plan: Plan, trial: Trial) -> tuple[str, ...]:
    """Name the crops that stand alone: those stated, else all of the set."""
    return trial.checks or tuple(dict.fromkeys(wish.crop for wish in plan.strips))


def plots_of(plan: Plan, trial: Trial, chosen: SetFit) -> list[Plot]:
    """Give a trial's plots, from the start side on.

    Every replicate has every treatment once, in an order drawn from the trial's seed.

    Args:
        plan: the machines.
        trial: what is asked.
        chosen: the set.

    Raises:
        PlanError: no width of a check strip that its machines cover in whole passes.
    """
    alone, usual = checks_of(plan, trial), tuple(trial.usual.values())
    width_m = _check_width_m(plan, trial, (*alone, *usual))
    treatments = [(STRIPS, tuple(zip(plan.strips, chosen.strips, strict=True)) * trial.sets)]
    checks = [*((ALONE, crop) for crop in alone), *((USUAL, crop) for crop in usual)]
    for treatment, crop in checks:
        own = next((wish for wish in plan.strips if wish.crop == crop), None)
        pattern = {} if own is None else {"pattern_m": own.pattern_m, "period_m": own.period_m}
        wish = StripWish(crop=crop, passes=1).model_copy(
            update={"passes": None, "width_m": width_m, **pattern}
        )
        fit = judge_strip(plan, crop, width_m, near_any_m(plan, crop, plan.widest_m))
        treatments.append((treatment, ((wish, fit),)))
    # the order hangs on the draws alone, which every version of Python makes alike
    draws = Random(trial.seed)  # noqa: S311 - no secret
    return [
        Plot(number, treatment, wishes)
        for number in range(1, trial.replicates + 1)
        for _, (treatment, wishes) in sorted(
            ((draws.random(), one) for one in treatments), key=lambda drawn: drawn[0]
        )
    ]


def spread_out(plots: Sequence[Plot]) -> tuple[tuple[StripWish, ...], SetFit]:
    """Give the strips of all plots, one after the other, as wishes and as a set."""
    each = [one for plot in plots for one in plot.wishes]
    wishes, fits = zip(*each, strict=True)
    crops = tuple(wish.crop for wish in wishes)
    return tuple(wishes), SetFit(crops, tuple(fits), {}, 0.0)


def as_trial(section: Section, plots: Sequence[Plot], usual: Section, trial: Trial) -> Section:
    """Give a section of a trial's strips with the plot that each belongs to.

    Args:
        section: of all strips.
        plots: of the trial.
        usual: the set without checks.
        trial: what is asked.
    """
    named = [(plot.replicate, plot.treatment) for plot in plots for _ in plot.wishes]
    stands_for = {usual: crop for crop, usual in trial.usual.items()}
    strips = tuple(
        replace(
            strip,
            replicate=replicate,
            treatment=treatment,
            stands_for=stands_for.get(strip.crop, "") if treatment == USUAL else "",
        )
        for strip, (replicate, treatment) in zip(section.strips, named, strict=True)
    )
    orders = "; ".join(
        f"{number}: {', '.join(plot.named for plot in plots if plot.replicate == number)}"
        for number in range(1, trial.replicates + 1)
    )
    told = (
        f"trial: {trial.replicates} replicates, each in an order drawn at random (seed "
        f"{trial.seed}): {orders}; heading is chosen for the set without checks"
    )
    notices = (*section.notices, Notice("fit", "know", None, told))
    return replace(section, strips=strips, usual=usual, notices=notices)


def _check_width_m(plan: Plan, trial: Trial, checks: Sequence[str]) -> float:
    """Give the width of check strips.

    Raises:
        PlanError: none fits, or the one stated is not whole passes.
    """
    if trial.width_m is not None:
        faults = list(_not_whole(plan, trial.width_m, checks))
        if faults:
            raise PlanError(plan.path.name, faults)
        return trial.width_m
    for width_m in widths_to_judge(plan, checks[0], plan.widest_m):
        if not list(_not_whole(plan, width_m, checks)) and all(
            _serves(plan, crop, width_m) for crop in checks
        ):
            return width_m
    limit = format_length(plan.widest_m, plan.units)
    told = (
        f"trial.width: no width up to {limit} is whole passes of all machines of "
        f"{' and '.join(checks)}, {FEWEST_PASSES} of each harvester at least; state the width"
    )
    raise PlanError(plan.path.name, [told])


def _serves(plan: Plan, crop: str, width_m: float) -> bool:
    """Tell whether a check strip fits all machines, and a harvester runs beside no neighbor."""
    fit = judge_strip(plan, crop, width_m, near_any_m(plan, crop, plan.widest_m))
    return fit.fits and (plan.harvester(crop) is None or fit.harvest_passes >= FEWEST_PASSES)


def _not_whole(plan: Plan, width_m: float, checks: Sequence[str]) -> Iterator[str]:
    """Say of which crops a width is no whole number of planter passes."""
    for crop in checks:
        passes = width_m / plan.planter(crop).width_m
        if round(passes) < 1 or abs(passes - round(passes)) > WHOLE_NUMBER:
            wide = format_length(width_m, plan.units)
            one = format_length(plan.planter(crop).width_m, plan.units)
            yield (
                f"trial.width: {wide} is {passes:.2f} passes of {plan.crops[crop].planter}, {one} "
                f"wide, for the check of {crop}; whole passes would do"
            )
