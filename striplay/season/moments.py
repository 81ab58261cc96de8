"""Tell which crops stand in and beside a strip when each operation on it happens."""

from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date

from striplay.plan.machines import Boom, Machine
from striplay.plan.models import Plan
from striplay.season.calendar import Window, standing
from striplay.section.mixture import is_mixture
from striplay.section.section import Layer, Pass, Row, Section
from striplay.section.tramlines import pass_on
from striplay.tolerances import WIDTH_M


@dataclass(frozen=True, slots=True)
class Beside:
    """A crop that stands beside the rows that a machine works.

    Attributes:
        crop: its name.
        near_m: how far its nearest row is from the edge of their ground.
        side: 0 where it stands before them, 1 where after them.
    """

    crop: str
    near_m: float
    side: int


@dataclass(frozen=True, slots=True)
class Moment:
    """An operation on a strip, and what stands there that day.

    Attributes:
        day: when; None where that is not known.
        passes: of the machine over the ground of the rows it works, or over the strip.
        strip: index of the strip in the set.
        crop: what is planted, harvested or treated.
        reach_m: how far the machine works past that ground, before and after it.
        within: layers that stand on that ground, besides what is worked.
        beside: crops that stand on either side, the nearest row of each.
        unsure: crops among these that only may stand then.
        asked: number of the [[operations]] table that asks for it, from 1; 0 for none.
    """

    day: date | None
    passes: tuple[Pass, ...]
    strip: int
    crop: str
    reach_m: tuple[float, float]
    within: tuple[Layer, ...]
    beside: tuple[Beside, ...]
    unsure: frozenset[str] = frozenset()
    asked: int = 0

    @property
    def work(self) -> Pass:
        """One of the passes, for what they have in common."""
        return self.passes[0]


@dataclass(frozen=True, slots=True)
class _Time:
    """When an operation happens, and what stands then.

    Attributes:
        day: when; None where that is not known.
        sure: crops that stand then.
        unsure: crops that may.
        asked: number of the [[operations]] table that asks for it; 0 for none.
        treated: crops that the operation is done to as well, so that it may reach over them.
    """

    day: date | None
    sure: frozenset[str]
    unsure: frozenset[str] = frozenset()
    asked: int = 0
    treated: frozenset[str] = frozenset()


def moments(plan: Plan, section: Section, settled: Mapping[str, Window]) -> list[Moment]:
    """List the operations of a set with what stands then, in and beside each strip.

    Plantings and harvests whose day is known, and all other work that a table asks for. Such work
    without a day is done while its crop stands, tillage before it is sown.

    This is the one place that says which neighbor stands when an operation happens.

    Args:
        plan: the machines.
        section: the set; it repeats, so its last strip lies beside its first.
        settled: when each crop stands.
    """
    found = []
    for passes, strip, crop in _works(section):
        low_m, high_m = ground_of(passes, section, strip)
        own = crop if passes[0].operation != "till" else ""  # a tool leaves nothing standing
        for time in _times(plan, section, settled, passes[0], crop):
            stands = (time.sure | time.unsure) - time.treated
            found.append(
                Moment(
                    day=time.day,
                    passes=passes,
                    strip=strip,
                    crop=crop,
                    reach_m=_reach_m(plan, passes, low_m, high_m),
                    within=tuple(
                        layer
                        for row, _ in _rows_near(section, low_m, high_m)
                        for layer in row.sown
                        if name_of(plan, settled, layer) in stands - {own}
                    ),
                    beside=_beside(plan, section, settled, stands - {crop}, strip, low_m, high_m),
                    unsure=time.unsure,
                    asked=time.asked,
                )
            )
    return found


def _times(
    plan: Plan, section: Section, settled: Mapping[str, Window], one: Pass, crop: str
) -> Iterator[_Time]:
    """Give each time that a work is done to a crop, with what stands then.

    A boom that no table asks for is left out: whether its sections end where strips do is told of
    the set.
    """
    window = settled.get(crop)
    own = _day_of(one, window)
    asked = [
        (number, wish)
        for number, wish in enumerate(plan.operations, start=1)
        if (wish.does, wish.machine) == (one.operation, one.machine) and plan.is_done_to(wish, crop)
    ]
    if one.operation in {"plant", "harvest"}:
        for number, day in [(number, wish.day or own) for number, wish in asked] or [(0, own)]:
            if day is not None:
                yield _Time(day, frozenset(standing(settled, day)), asked=number)
        return
    for number, wish in asked:
        also = section.labels if wish.crops == "all" else wish.crops
        treated = frozenset(name for name in also if _alike(plan, one, name)) - {crop}
        unknown = {layer.label for layer in section.layers if layer.label not in settled}
        if wish.day is not None:
            sure = frozenset(standing(settled, wish.day))
            may = frozenset(unknown - {crop})
        elif one.operation == "till":
            sure = frozenset[str]()
            may = sure if window is None else frozenset(standing(settled, window.sown))
        else:
            sure, may = _while_standing(settled, window)
            may |= unknown - {crop}
        yield _Time(wish.day, sure, may, number, treated)


def _alike(plan: Plan, one: Pass, crop: str) -> bool:
    """Tell whether what works one crop may work another too: a cultivator if its rows match."""
    return one.step_m in {0.0, plan.planter(crop).row_m}


def _while_standing(
    settled: Mapping[str, Window], own: Window | None
) -> tuple[frozenset[str], frozenset[str]]:
    """Name the crops that stand as long as another does, and those that stand with it for a time.

    All may where it is not known when that one stands.
    """
    if own is None:
        return frozenset(), frozenset(settled)
    sure, may = set[str](), set[str]()
    for name, window in settled.items():
        till, own_till = window.harvested or date.max, own.harvested or date.max
        if window.sown <= own.sown and till >= own_till:
            sure.add(name)
        elif window.sown < own_till and till > own.sown:
            may.add(name)
    return frozenset(sure), frozenset(may)


def _works(section: Section) -> Iterator[tuple[tuple[Pass, ...], int, str]]:
    """Give each work's passes, the strip, and the crop it is done to.

    What goes over several strips at once is looked at strip by strip, for each crop.
    """
    for line in section.tramlines:
        for index, labels in enumerate(section.grown):
            for label in sorted(labels & line.labels):
                yield (pass_on(line, line.middles_m[0]),), index, label
    works: dict[tuple[object, ...], list[Pass]] = {}
    for one in section.passes:
        works.setdefault(one.work, []).append(one)
    for passes in works.values():
        first = passes[0]
        if first.strip is not None:
            for run in _beside_each_other(passes):
                yield tuple(run), first.strip, first.crop
            continue
        for index in sorted({section.rows[row].strip for one in passes for row in one.rows}):
            yield tuple(passes), index, section.strips[index].crop


def _beside_each_other(passes: Sequence[Pass]) -> Iterator[list[Pass]]:
    """Part passes where other rows lie between what they take."""
    run = [passes[0]]
    for one in passes[1:]:
        if one.low_m > run[-1].high_m + WIDTH_M:
            yield run
            run = []
        run.append(one)
    yield run


def ground_of(passes: Sequence[Pass], section: Section, strip: int) -> tuple[float, float]:
    """Give the edges of the ground that a work's passes take; of several strips, one's."""
    if passes[0].strip is None:
        return section.strips[strip].left_m, section.strips[strip].right_m
    return min(one.low_m for one in passes), max(one.high_m for one in passes)


def _day_of(one: Pass, window: Window | None) -> date | None:
    """Give the crop's own day of a planting or harvest."""
    if window is None:
        return None
    return {"plant": window.sown, "harvest": window.harvested}.get(one.operation)


def _reach_m(
    plan: Plan, passes: Sequence[Pass], low_m: float, high_m: float
) -> tuple[float, float]:
    """Give how far a machine works past the ground it takes; over several strips nowhere."""
    if passes[0].strip is None:
        return 0.0, 0.0
    machine = plan.machines[passes[0].machine]
    worked_m = [_worked_m(machine, one) for one in passes]
    least_m, most_m = min(low for low, _ in worked_m), max(high for _, high in worked_m)
    return max(0.0, low_m - least_m), max(0.0, most_m - high_m)


def _worked_m(machine: Machine, one: Pass) -> tuple[float, float]:
    """Give from where to where a pass works: all its width, a boom as far as sections are open."""
    low_m, high_m = one.middle_m - one.width_m / 2, one.middle_m + one.width_m / 2
    if not isinstance(machine, Boom):
        return low_m, high_m
    section_m = one.width_m / machine.sections
    shut = [max(0, int((off_m + WIDTH_M) / section_m))
            for off_m in (one.low_m - low_m, high_m - one.high_m)]  # fmt: skip
    return low_m + shut[0] * section_m, high_m - shut[1] * section_m


def name_of(plan: Plan, settled: Mapping[str, Window], layer: Layer) -> str:
    """Name what stands in a layer as its window does: a mixture's, before its parts'."""
    mixed = is_mixture(plan, layer.label) and layer.label in settled
    return layer.label if mixed else layer.crop


def _rows_near(
    section: Section, low_m: float, high_m: float, beyond_m: float = 0.0
) -> Iterator[tuple[Row, float]]:
    """Give the rows between two distances, or so far beyond them, with where each stands."""
    for turn in (-1, 0, 1):
        for row in section.rows:
            at_m = row.offset_m + turn * section.width_m
            if low_m - beyond_m < at_m < high_m + beyond_m:
                yield row, at_m


def _beside(
    plan: Plan,
    section: Section,
    settled: Mapping[str, Window],
    stands: AbstractSet[str],
    strip: int,
    low_m: float,
    high_m: float,
) -> tuple[Beside, ...]:
    """List the crops that stand on either side of some ground, the nearest row of each."""
    nearest: dict[tuple[str, int], float] = {}
    for row, at_m in _rows_near(section, low_m, high_m, section.width_m):
        side, near_m = (0, low_m - at_m) if at_m < low_m else (1, at_m - high_m)
        if near_m < 0 or (row.strip == strip and at_m != row.offset_m):
            continue  # what is worked, and the same strip of the next set
        for layer in row.sown:
            name = name_of(plan, settled, layer)
            if name in stands:
                nearest[name, side] = min(near_m, nearest.get((name, side), near_m))
    return tuple(Beside(name, near_m, side) for (name, side), near_m in nearest.items())
