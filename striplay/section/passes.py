"""Work out the passes of one set: how machines divide the ground of its rows."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

from striplay.plan.machines import Cultivator
from striplay.plan.models import Plan
from striplay.section.section import Operation, Pass, Row, Section, Strip, Tramlines
from striplay.section.tramlines import tramlines_of
from striplay.tolerances import WHOLE_NUMBER


@dataclass(frozen=True, slots=True)
class Work:
    """An operation by a machine, and how its passes divide ground.

    Attributes:
        operation: plant, spray, harvest or another kind of work.
        machine: its name in the plan.
        width_m: how wide the machine is.
        rows: rows one pass takes; None where passes share ground evenly, overlapping if need be.
        step_m: its middle may only shift by whole steps, for units to meet rows; 0 where by any.
        whole: whether it works all its width, so that it keeps within the ground; harvest does.
    """

    operation: Operation
    machine: str
    width_m: float
    rows: int | None
    step_m: float = 0.0
    whole: bool = False

    @property
    def kept_in(self) -> bool:
        """Whether its machine keeps within the ground, as far as it is no wider."""
        return self.rows is not None or self.whole or self.operation == "harvest"


def works_on(plan: Plan, label: str) -> tuple[Work, ...]:
    """List the operations on a crop or mixture, in the order of the season."""
    asked, planter, harvester = plan.crops[label], plan.planter(label), plan.harvester(label)
    units = round(planter.width_m / planter.row_m)
    works = [Work("plant", asked.planter, planter.width_m, units, planter.row_m)]
    for one in plan.treatments((label,)):
        machine = plan.machines[one.machine]
        rows = machine.rows if isinstance(machine, Cultivator) else None
        step_m = machine.spacing_m if isinstance(machine, Cultivator) else 0.0
        whole = machine.covers in {"header", "strip"}
        works.append(Work(one.does, one.machine, machine.width_m, rows, step_m, whole))
    if harvester is not None and asked.harvester is not None:
        step_m = harvester.spacing_m or 0.0
        works.append(Work("harvest", asked.harvester, harvester.width_m, harvester.rows, step_m))
    return tuple(works)


@dataclass(frozen=True, slots=True)
class Share:
    """What one pass takes of some ground, from the ground's first edge.

    Attributes:
        low_m: its lower edge.
        high_m: its upper edge.
        middle_m: where the machine's middle runs.
    """

    low_m: float
    high_m: float
    middle_m: float


def shares(work: Work, ground_m: float, spacing_m: float) -> list[Share]:
    """Divide ground among passes, each within it as far as the machine is no wider than it.

    Passes that count rows take so many each, and the last comes back over rows already taken
    rather than leave the ground. The others share it evenly. A boom shuts off beyond its share, so
    it keeps to the share's middle; a header can't, so it keeps within the ground.

    Args:
        work: what is done.
        ground_m: width of the ground.
        spacing_m: distance between rows.

    >>> [s.middle_m for s in shares(Work("harvest", "platform", 9.0, None), 24.0, 0.75)]
    [4.5, 12.0, 19.5]
    >>> [s.middle_m for s in shares(Work("harvest", "head", 6.0, 8, 0.75), 9.0, 0.75)]
    [3.0, 6.0]
    """
    if work.rows is not None:
        take_m = work.rows * spacing_m
    else:
        take_m = ground_m / max(1, math.ceil(ground_m / work.width_m - WHOLE_NUMBER))
    count = max(1, math.ceil(ground_m / take_m - WHOLE_NUMBER))
    found = []
    for number in range(count):
        low_m, high_m = number * take_m, min((number + 1) * take_m, ground_m)
        middle_m = (number + 0.5) * take_m
        if work.kept_in:
            middle_m = within(middle_m, work.width_m, 0.0, ground_m, work.step_m)
        found.append(Share(low_m, high_m, middle_m))
    return found


def within(
    middle_m: float, width_m: float, low_m: float, high_m: float, step_m: float = 0.0
) -> float:
    """Shift a machine's middle until it lies within ground, or about its middle if it is wider.

    Args:
        middle_m: where it runs.
        width_m: how wide the machine is.
        low_m: lower edge of the ground.
        high_m: upper edge.
        step_m: it shifts by whole steps; 0 where by any distance.

    >>> within(1.0, 4.0, 0.0, 10.0), within(9.5, 4.0, 0.0, 10.0), within(5.0, 4.0, 4.0, 5.0)
    (2.0, 8.0, 4.5)
    """
    least_m, most_m = low_m + width_m / 2, high_m - width_m / 2
    wider = least_m > most_m
    wanted_m = (low_m + high_m) / 2 if wider else min(max(middle_m, least_m), most_m)
    if step_m == 0.0:
        return wanted_m
    steps = (wanted_m - middle_m) / step_m
    whole = round(steps)
    if abs(steps - whole) > WHOLE_NUMBER:
        whole = int(steps) if wider else math.floor(steps) if steps < 0 else math.ceil(steps)
    return middle_m + whole * step_m


def least_planted_m(one: Pass, section: Section) -> float:
    """Give how wide the rows under a planter pass over several strips must be for it to be made.

    Half of the rows that it plants, whatever of its units is empty.
    """
    return sum(section.rows[row].spacing_m for row in one.rows) / 2


def passes_over(
    plan: Plan,
    strip: Strip,
    index: int,
    rows: Sequence[tuple[int, Row]],
    tramlines: Sequence[Tramlines] = (),
) -> list[Pass]:
    """List the passes over a strip's own rows: planters, booms, and headers run by run.

    Neighboring rows of one label make a run, which its own header takes. Rows that one machine
    plants are planted together, whatever they carry.

    Args:
        plan: the machines.
        strip: the strip.
        index: which of the set it is.
        rows: its own rows, each with its index in the section, by offset.
        tramlines: lines on which machines pass over several strips at once.
    """
    ground = _grounds(strip, rows)
    lined = {(one.machine, label) for one in tramlines for label in one.labels}
    found: list[Pass] = []
    for name, run in _runs(rows, [row.planter for _, row in rows]):
        low_m, high_m = ground[run[0][0]][0], ground[run[-1][0]][1]
        crop = " + ".join(dict.fromkeys(row.label for _, row in run))
        label = run[0][1].label
        if (name, label) in lined:
            continue
        work = next(one for one in works_on(plan, label) if one.operation == "plant")
        work = replace(work, machine=name)
        found += divided(work, crop, strip, index, run, (low_m, high_m))
    for work in works_on(plan, strip.crop):
        treats = work.operation not in {"plant", "harvest"}
        covers = plan.machines[work.machine].covers
        if treats and covers != "header" and (work.machine, strip.crop) not in lined:
            found += divided(work, strip.crop, strip, index, rows)
    for label, run in _runs(rows, [row.label for _, row in rows]):
        low_m, high_m = ground[run[0][0]][0], ground[run[-1][0]][1]
        for work in works_on(plan, label):
            if (
                plan.machines[work.machine].covers == "header"
                and (work.machine, label) not in lined
            ):
                found += divided(work, label, strip, index, run, (low_m, high_m))
    return found


def _runs(
    rows: Sequence[tuple[int, Row]], keys: Sequence[str]
) -> Iterable[tuple[str, list[tuple[int, Row]]]]:
    """Give runs of neighboring rows with one key."""
    keyed = zip(keys, rows, strict=True)
    for key, group in groupby(keyed, key=lambda pair: pair[0]):
        yield key, [row for _, row in group]


def _grounds(strip: Strip, rows: Sequence[tuple[int, Row]]) -> dict[int, tuple[float, float]]:
    """Give the ground of each row by its index: half-way to its neighbors, the strip's at ends."""
    begin_m, wide_m = strip.rows_span_m
    at_m = [row.offset_m for _, row in rows]
    between = [(one + other) / 2 for one, other in pairwise(at_m)]
    edges = [strip.left_m + begin_m, *between, strip.left_m + begin_m + wide_m]
    return {index: span for (index, _), span in zip(rows, pairwise(edges), strict=True)}


def divided(
    work: Work,
    crop: str,
    strip: Strip,
    index: int,
    rows: Sequence[tuple[int, Row]],
    ground_m: tuple[float, float] | None = None,
) -> list[Pass]:
    """Divide the ground of some rows of a strip among a work's passes.

    Args:
        work: what is done.
        crop: to what.
        strip: where.
        index: which strip of the set it is.
        rows: those to work, each with its index in the section.
        ground_m: lower and upper edge of the ground; that of all the strip's rows where None.
    """
    if ground_m is None:
        begin_m, wide_m = strip.rows_span_m
        ground_m = strip.left_m + begin_m, strip.left_m + begin_m + wide_m
    low_m, high_m = ground_m
    found = shares(work, high_m - low_m, strip.spacing_m)
    take_m = found[0].high_m
    mine: list[list[int]] = [[] for _ in found]
    for place, row in rows:
        mine[min(int((row.offset_m - low_m) / take_m + WHOLE_NUMBER), len(found) - 1)].append(place)
    return [
        Pass(
            operation=work.operation,
            machine=work.machine,
            crop=crop,
            width_m=work.width_m,
            low_m=low_m + share.low_m,
            high_m=low_m + share.high_m,
            middle_m=low_m + share.middle_m,
            rows=tuple(own),
            strip=index,
            step_m=work.step_m,
            shared=work.rows is None,
        )
        for share, own in zip(found, mine, strict=True)
    ]


def with_passes(plan: Plan, section: Section) -> Section:
    """Give a section tramlines, and passes over its strips' own rows; those it has are replaced.

    A new system that changes rows calls this, and every machine's passes follow.
    """
    indexed = [*enumerate(section.rows)]
    passes, tramlines = [], tramlines_of(plan, section)
    for index, strip in enumerate(section.strips):
        own = [(i, row) for i, row in indexed if row.strip == index and row.layer == 0]
        passes += passes_over(plan, strip, index, own, tramlines)
    return replace(section, passes=tuple(passes), tramlines=tramlines)
