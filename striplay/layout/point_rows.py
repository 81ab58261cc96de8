"""Measure point rows: ground worked twice where ends of rows slant, machine by machine."""

from dataclasses import dataclass

from striplay.plan.machines import Planter, Sprayer
from striplay.plan.models import Plan
from striplay.section.section import Section


@dataclass(frozen=True)
class PointRows:
    """Ground that one machine works twice on ends that slant.

    Attributes:
        machine: its name in the plan.
        area_m2: as the plan says it shuts off.
        without_m2: shutting off its whole width at once.
        with_m2: shutting off row by row, or a sprayer its sections.
    """

    machine: str
    area_m2: float
    without_m2: float
    with_m2: float


def point_rows(plan: Plan, section: Section, slant_m: float) -> list[PointRows]:
    """Measure the ground worked twice, for each planter and sprayer.

    Over an end that slants by x along travel, a machine that shuts off a width w at once covers
    triangles of w x / 2 in all, whatever the angle: n passes share the slant, each a triangle as
    wide as w and as long as its part of x.

    Args:
        plan: the machines.
        section: the set; a planter meets the share of the ends that its strips have.
        slant_m: how far ends slant along travel, in all.
    """
    shares: dict[str, float] = {}
    for strip in section.strips:
        share = strip.width_m / section.width_m
        planter = plan.crops[strip.crop].planter
        for name in (planter, *plan.sprayers):
            shares[name] = shares.get(name, 0.0) + share
    return [_of_machine(plan, name, slant_m * share / 2) for name, share in shares.items()]


def _of_machine(plan: Plan, name: str, half_slant_m: float) -> PointRows:
    machine = plan.machines[name]
    if isinstance(machine, Planter):
        shut_m = (machine.shut_off_m, machine.width_m, machine.row_m)
    else:
        assert isinstance(machine, Sprayer)  # noqa: S101 - only these two work the ends twice
        section_m = machine.width_m / machine.sections
        shut_m = (section_m, machine.width_m, section_m)
    return PointRows(name, *(width_m * half_slant_m for width_m in shut_m))
