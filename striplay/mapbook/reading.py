"""Read from plan and section what the sheets show: passes, crops between rows, mixtures."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from striplay.plan.models import Plan
from striplay.plan.systems import Between, Mixture
from striplay.section.section import Operation, Section
from striplay.tolerances import WIDTH_M


@dataclass(frozen=True, slots=True)
class Pass:
    """A machine's pass over the set; places count from the set's first edge.

    Attributes:
        operation: plant, spray or harvest.
        machine: its name in the plan.
        crop: whose rows it works; empty where the strips' own.
        low_m: lower edge of what it takes.
        high_m: upper edge.
        middle_m: where the machine's middle runs.
        strip: index of its strip; None where it runs over several.
    """

    operation: Operation
    machine: str
    crop: str
    low_m: float
    high_m: float
    middle_m: float
    strip: int | None


def passes_of(section: Section) -> Iterator[Pass]:
    """Give every pass over a set, those over several strips first, some of them only in part."""
    for side in section.side_passes:
        first = math.floor(-side.first_m / side.width_m + WIDTH_M)
        last = math.ceil((section.width_m - side.first_m) / side.width_m - WIDTH_M)
        for number in range(first, last):
            low_m = side.first_m + number * side.width_m
            ends_m = (low_m, low_m + side.width_m)
            yield Pass(side.operation, side.machine, "", *ends_m, sum(ends_m) / 2, None)
    for index, strip in enumerate(section.strips):
        for work in strip.works:
            for low_m, high_m in work.spans(strip):
                ends_m = (strip.left_m + low_m, strip.left_m + high_m)
                middle_m = sum(ends_m) / 2 + work.shift_m
                yield Pass(work.operation, work.machine, work.crop, *ends_m, middle_m, index)


def between_of(plan: Plan) -> tuple[Between, ...]:
    """Give what is sown between the rows of others, in the order of the rows' layers."""
    return (*plan.relays, *plan.quick_crops)


def mixtures_of(plan: Plan) -> Mapping[str, Mixture]:
    """Give the plan's mixtures by name."""
    return plan.mixtures


def color_order(section: Section) -> tuple[str, ...]:
    """Order crops and mixtures for their colors: strips' labels first, then what else is sown."""
    labels = [strip.crop for strip in section.strips]
    return tuple(dict.fromkeys([*labels, *section.crops]))
