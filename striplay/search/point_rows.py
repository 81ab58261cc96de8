"""Measure point rows: ground that a machine works besides its own, for want of shutting off."""

from dataclasses import dataclass

from striplay.geometry.fold import profile_of, summed
from striplay.plan.machines import Boom, Machine, Planter, Sprayer
from striplay.plan.models import Plan
from striplay.search.cost import fold_at, worked_twice_m2
from striplay.search.lines import covered_twice
from striplay.search.priced_set import priced_set
from striplay.search.prices import shut_off_m, shut_passes
from striplay.search.turned import LandToWeigh, turned
from striplay.section.section import Section


@dataclass(frozen=True)
class PointRows:
    """Ground that one machine works twice, on slanting ends and on strips cut along their length.

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

    def __add__(self, other: "PointRows") -> "PointRows":
        return PointRows(
            self.machine,
            self.area_m2 + other.area_m2,
            self.without_m2 + other.without_m2,
            self.with_m2 + other.with_m2,
        )


def shut_offs_m(machine: Machine) -> tuple[float, float, float]:
    """Give what shuts off at once: as the plan says, all of the width, and the least there is."""
    own_m = shut_off_m(machine)
    return own_m, machine.width_m, machine.row_m if isinstance(machine, Planter) else own_m


def point_rows(
    plan: Plan, section: Section, ground: LandToWeigh, heading_deg: float, offset_m: float
) -> tuple[PointRows, ...]:
    """Measure the ground worked twice, for each planter and sprayer of a straight layout.

    Of a boom on tramlines that is a mean over all places across, as in the search.

    Args:
        plan: the machines.
        section: the set.
        ground: at the heading.
        heading_deg: degrees clockwise from true north.
        offset_m: how far outside the land the first set begins.
    """
    own = priced_set(plan, section)
    prices = own.prices
    land = fold_at(plan, prices, own.sides, ground, heading_deg, offset_m)
    way = turned(plan, [ground], [heading_deg])
    whole = summed(profile_of(way.planted, way.bottom_m))
    used = dict.fromkeys(one.machine for one in section.passes)
    found: dict[str, PointRows] = {}
    for name in used:
        machine = plan.machines[name]
        if not isinstance(machine, Planter | Sprayer):
            continue
        areas = []
        for part_m in shut_offs_m(machine):
            listed = shut_passes(plan, section, prices.step_m, {name: part_m})
            its = [one for one in listed if one.machine == name]
            areas.append(worked_twice_m2(land, prices, its))
        found[name] = PointRows(name, *areas)
    for one in section.tramlines:
        if not isinstance(plan.machines[one.machine], Planter | Boom):
            continue
        each = [covered_twice(section, one, part_m, prices.step_m)
                for part_m in shut_offs_m(plan.machines[one.machine])]  # fmt: skip
        lined = PointRows(
            one.machine,
            *(
                float(shift * whole.shift_m[0] + steady * whole.steady_m[0])
                for shift, steady in each
            ),
        )
        # a machine may go strip by strip over strips' own crops and on lines over what follows
        by_strip = found.get(one.machine)
        found[one.machine] = lined if by_strip is None else by_strip + lined
    return tuple(found.values())
