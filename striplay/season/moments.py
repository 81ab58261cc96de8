"""Tell which crops stand in and beside a strip when each operation on it happens."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from striplay.plan.models import Plan
from striplay.season.calendar import Window, standing
from striplay.section.section import Row, Section, Strip, Work


@dataclass(frozen=True, slots=True)
class Beside:
    """A crop that stands in a neighbouring strip.

    Attributes:
        crop: its name.
        near_m: how far its nearest row is from the strip's edge.
        side: 0 where it stands before the strip, 1 where after it.
    """

    crop: str
    near_m: float
    side: int


@dataclass(frozen=True, slots=True)
class Moment:
    """An operation on a strip, and what stands there that day.

    Attributes:
        day: when.
        work: the operation.
        strip: index of the strip in the set.
        crop: what is planted or harvested.
        reach_m: how far the machine reaches past the strip, before and after it; 0 within it.
        within: other crops that stand in the strip.
        beside: crops that stand in the strips on either side, the nearest row of each.
    """

    day: date
    work: Work
    strip: int
    crop: str
    reach_m: tuple[float, float]
    within: tuple[str, ...]
    beside: tuple[Beside, ...]


def moments(plan: Plan, section: Section, settled: Mapping[str, Window]) -> list[Moment]:
    """List the plantings and harvests of a set whose day is known, with what stands then.

    This is the one place that says which neighbour stands when an operation happens.

    Args:
        plan: the machines.
        section: the set; it repeats, so its last strip lies beside its first.
        settled: when each crop stands.
    """
    found = []
    for index, strip in enumerate(section.strips):
        together = [  # one pass plants all crops of a row set
            Work(side.operation, side.machine, side.width_m, None) for side in section.side_passes
        ]
        for work in (*together, *strip.works):
            window = settled.get(work.crop or strip.crop)
            day = None if window is None else _day_of(work, window)
            if window is None or day is None:
                continue
            stands = set(standing(settled, day)) - {window.crop}
            found.append(
                Moment(
                    day=day,
                    work=work,
                    strip=index,
                    crop=window.crop,
                    reach_m=(0.0, 0.0) if work in together else _reach_m(plan, work, strip),
                    within=tuple(sorted(_crops_in(plan, section, settled, index) & stands)),
                    beside=_beside(plan, section, settled, (index, stands)),
                )
            )
    return found


def _day_of(work: Work, window: Window) -> date | None:
    return {"plant": window.sown, "harvest": window.harvested}.get(work.operation)


def _reach_m(plan: Plan, work: Work, strip: Strip) -> tuple[float, float]:
    """Give how far a machine on a single pass reaches past its strip; several keep within it."""
    middles_m = work.middles(strip)
    half_m = plan.machines[work.machine].width_m / 2
    if len(middles_m) > 1:
        return 0.0, 0.0
    return max(0.0, half_m - middles_m[0]), max(0.0, middles_m[0] + half_m - strip.width_m)


def _crops_in(plan: Plan, section: Section, settled: Mapping[str, Window], index: int) -> set[str]:
    """Name the crops of a strip by the names their windows have: a mixture's, before its parts'."""
    rows = (row for row in section.rows if row.strip == index)
    return {name for row in rows for name in _named(plan, section, settled, row)}


def _named(plan: Plan, section: Section, settled: Mapping[str, Window], row: Row) -> set[str]:
    between = (*plan.relays, *plan.quick_crops)
    label = section.strips[row.strip].crop
    if 0 < row.layer <= len(between):
        label = between[row.layer - 1].crop
    crops = {sown.crop for sown in row.sown}
    mixture = plan.mixtures.get(label)
    return (
        {label} if mixture is not None and label in settled and crops <= {*mixture.parts} else crops
    )


def _beside(
    plan: Plan, section: Section, settled: Mapping[str, Window], here: tuple[int, set[str]]
) -> tuple[Beside, ...]:
    """List the crops that stand on either side of a strip, the nearest row of each."""
    index, stands = here
    count = len(section.strips)
    nearest: dict[tuple[str, int], float] = {}
    for side, neighbour in enumerate(((index - 1) % count, (index + 1) % count)):
        other = section.strips[neighbour]
        for row in section.rows:
            if row.strip != neighbour or neighbour == index:
                continue
            from_left_m = row.offset_m - other.left_m
            near_m = from_left_m if side else other.width_m - from_left_m
            for name in _named(plan, section, settled, row) & stands:
                nearest[name, side] = min(near_m, nearest.get((name, side), near_m))
    return tuple(Beside(name, near_m, side) for (name, side), near_m in nearest.items())
