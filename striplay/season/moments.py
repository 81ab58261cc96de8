"""Tell which crops stand in and beside a strip when each operation on it happens."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from striplay.plan.models import Plan
from striplay.season.calendar import Window, standing
from striplay.section.mixture import is_mixture
from striplay.section.section import Layer, Pass, Row, Section
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
        day: when.
        passes: of the machine over the ground of the rows it works, or over the strip.
        strip: index of the strip in the set.
        crop: what is planted or harvested.
        reach_m: how far the machine reaches past that ground, before and after it.
        within: layers that stand on that ground, besides what is worked.
        beside: crops that stand on either side, the nearest row of each.
    """

    day: date
    passes: tuple[Pass, ...]
    strip: int
    crop: str
    reach_m: tuple[float, float]
    within: tuple[Layer, ...]
    beside: tuple[Beside, ...]

    @property
    def work(self) -> Pass:
        """One of the passes, for what they have in common."""
        return self.passes[0]


def moments(plan: Plan, section: Section, settled: Mapping[str, Window]) -> list[Moment]:
    """List the plantings and harvests of a set whose day is known, with what stands then.

    This is the one place that says which neighbor stands when an operation happens.

    Args:
        plan: the machines.
        section: the set; it repeats, so its last strip lies beside its first.
        settled: when each crop stands.
    """
    found = []
    for passes, strip, crop in _works(section):
        window = settled.get(crop)
        day = None if window is None else _day_of(passes[0], window)
        if window is None or day is None:
            continue
        stands = set(standing(settled, day)) - {window.crop}
        low_m, high_m = ground_of(passes, section, strip)
        found.append(
            Moment(
                day=day,
                passes=passes,
                strip=strip,
                crop=window.crop,
                reach_m=_reach_m(passes, low_m, high_m),
                within=tuple(
                    layer
                    for row, _ in _rows_near(section, low_m, high_m)
                    for layer in row.sown
                    if name_of(plan, settled, layer) in stands
                ),
                beside=_beside(plan, section, settled, stands, strip, low_m, high_m),
            )
        )
    return found


def _works(section: Section) -> Iterator[tuple[tuple[Pass, ...], int, str]]:
    """Give each work's passes, the strip, and the crop whose day is its own.

    A planter over several strips is looked at strip by strip, for each crop it carries.
    """
    works: dict[tuple[object, ...], list[Pass]] = {}
    for one in section.passes:
        works.setdefault(one.work, []).append(one)
    for passes in works.values():
        first = passes[0]
        if first.strip is not None:
            for run in _beside_each_other(passes):
                yield tuple(run), first.strip, first.crop
            continue
        worked = {section.rows[index].strip for one in passes for index in one.rows}
        for strip in sorted(worked):
            yield tuple(passes), strip, section.strips[strip].crop


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


def _day_of(one: Pass, window: Window) -> date | None:
    return {"plant": window.sown, "harvest": window.harvested}.get(one.operation)


def _reach_m(passes: Sequence[Pass], low_m: float, high_m: float) -> tuple[float, float]:
    """Give how far a machine reaches past the ground it takes; over several strips nowhere."""
    if passes[0].strip is None:
        return 0.0, 0.0
    least_m = min(one.middle_m - one.width_m / 2 for one in passes)
    most_m = max(one.middle_m + one.width_m / 2 for one in passes)
    return max(0.0, low_m - least_m), max(0.0, most_m - high_m)


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
    stands: set[str],
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
