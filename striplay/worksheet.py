"""Tell one operation as its operator is told of it: settings, passes in order, loads, cautions."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import shapely

from striplay.accounts.count import pieces_worked
from striplay.accounts.loads import Load, operation_loads
from striplay.accounts.words import unit_words
from striplay.cautions import Caution, cautions_of
from striplay.each_pass import Values, pass_columns
from striplay.ground import Ground
from striplay.laid import Laid
from striplay.operations.jobs import crops_of
from striplay.operations.judged import Judged, Operations
from striplay.operations.under import parts_of, ranges
from striplay.plan.machines import Boom, Harvester, Machine, Planter
from striplay.plan.models import Plan
from striplay.section.occasions import occasions_of
from striplay.section.seeding import RowRate
from striplay.tolerances import LENGTH_M
from striplay.units import (
    FOOT_M,
    UnitSystem,
    format_about,
    format_length,
    format_load,
    format_small,
    format_speed,
    measured_in,
    said,
    said_apart,
)

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]


@dataclass(frozen=True)
class FillAt:
    """A fill of an operation; of grain, an unloading.

    Attributes:
        of: index of the pass before which, or on which, it is; the number of passes at the end.
        where: the same in words.
        amounts: what goes in or out, in words, of each load of the tank.
    """

    of: int
    where: str
    amounts: tuple[str, ...]


@dataclass(frozen=True, repr=False)
class Worksheet:
    """One operation as its operator is told of it; arrays by pass, in the order driven, (n,).

    Attributes:
        judged: the operation, its verdict and reason.
        units: the plan's.
        settings: what machine and seed are set to: a label and words each.
        number: of each pass, as in the table of passes.
        strips: the strip and piece each works, such as "12/1"; "12-14" of several, or "headland".
        heading_deg: true heading as driven; of a curve, where it starts.
        length_m: as driven.
        worked_m: at work, what it is lifted over left out.
        rows_on: units, rows or sections on, in words.
        a_lonlat: where each starts, longitude and latitude, (n, 2).
        b_lonlat: where it ends, likewise.
        standing_left: what stands at its left, as driven; mostly a crop.
        standing_right: at its right.
        stops_at: the obstacles that it stops at, or empty.
        fill_words: where it fills or unloads, or empty.
        crop: what it works.
        worked: the pass, the strip and the piece of each piece that is worked, (3, k).
        loads: what is carried or brought in.
        fills: what goes in or out at each fill; none where fills are not counted.
        cautions: those of this kind of work, the gravest first.
    """

    judged: Judged
    units: UnitSystem
    settings: tuple[tuple[str, str], ...]
    number: Integers
    strips: Geometries
    heading_deg: Floats
    length_m: Floats
    worked_m: Floats
    rows_on: Geometries
    a_lonlat: Floats
    b_lonlat: Floats
    standing_left: Geometries
    standing_right: Geometries
    stops_at: Geometries
    fill_words: Geometries
    crop: Geometries
    worked: Integers = field(repr=False)
    loads: tuple[Load, ...]
    fills: tuple[FillAt, ...]
    cautions: tuple[Caution, ...]

    def __len__(self) -> int:
        return len(self.number)

    def __repr__(self) -> str:
        return f"Worksheet of {self.name}, {len(self)} passes"

    @property
    def name(self) -> str:
        """What the operation is called."""
        return self.judged.job.name

    @property
    def pieces(self) -> tuple[tuple[int, int], ...]:
        """The strips and pieces that it works, each once, by number."""
        each = np.unique(self.worked[1:], axis=1)
        return tuple((int(strip), int(piece)) for strip, piece in each.T)


def worksheets(
    plan: Plan,
    ground: Ground,
    laid: Laid,
    operations: Operations,
    row_rates: Sequence[RowRate],
    twice_m2: Floats,
) -> tuple[Worksheet, ...]:
    """Tell every operation of the season, in the order done.

    Args:
        plan: machines, crops and units.
        ground: the field.
        laid: the plan laid on it.
        operations: judged.
        row_rates: what each crop's rate comes to in its rows.
        twice_m2: ground planted twice, by layer of the section, (layers,).
    """
    occasions = occasions_of(plan, laid.section)
    found = []
    each = pass_columns(ground, laid, operations.each)
    for judged, columns in zip(operations.each, each, strict=True):
        worked = np.stack(pieces_worked(judged.route, laid))
        loads = operation_loads(plan, laid.section, judged, twice_m2)
        found.append(
            Worksheet(
                judged=judged,
                units=plan.units,
                settings=tuple(settings(plan, judged, loads, row_rates)),
                number=columns["number"],
                strips=_strip_words(len(judged.route), worked),
                heading_deg=columns["heading_deg"],
                length_m=np.asarray(shapely.length(judged.route.line), dtype=np.float64),
                worked_m=judged.route.worked_m,
                rows_on=columns["rows_on"],
                a_lonlat=_lonlat(columns, "a"),
                b_lonlat=_lonlat(columns, "b"),
                standing_left=columns["standing_left"],
                standing_right=columns["standing_right"],
                stops_at=columns["stops_at"],
                fill_words=columns["fills"],
                crop=columns["crop"],
                worked=worked,
                loads=loads,
                fills=tuple(_fills(plan, judged, columns["number"], loads)),
                cautions=tuple(cautions_of(judged.job.does, occasions)),
            )
        )
    return tuple(found)


def _lonlat(columns: Mapping[str, Values], end: str) -> Floats:
    return np.column_stack([columns[f"{end}_longitude"], columns[f"{end}_latitude"]])


HEADLAND = "headland"


def _strip_words(count: int, worked: Integers) -> Geometries:
    """Say which strip and piece each pass works: "12/1", "12/1-2", "12-14", or headland."""
    found = np.full(count, HEADLAND, dtype=object)
    of, first = np.unique(worked[0], return_index=True)
    for index, group in zip(of.tolist(), np.split(worked[1:], first[1:], axis=1), strict=False):
        strips = np.unique(group[0])
        found[index] = (
            f"{strips[0]}/{ranges(group[1].tolist())}"
            if len(strips) == 1
            else ranges(strips.tolist())
        )
    return found


def _fills(plan: Plan, judged: Judged, number: Integers, loads: Sequence[Load]) -> list[FillAt]:
    """Say where each fill is, and what goes in or out."""
    at = judged.loads
    if at is None:
        return []
    own = [load for load in loads if len(load.at_fills) == len(at.of)]
    found = []
    for fill, (of, along_m) in enumerate(zip(at.of.tolist(), at.along_m.tolist(), strict=True)):
        if of == len(number):
            where = "at the end"
        elif along_m == along_m:  # noqa: PLR0124 - not NaN
            where = f"on pass {number[of]}, about {format_about(along_m, plan.units)} along"
        else:
            where = f"before pass {number[of]}" if of or fill else "at the start"
        amounts = tuple(
            load.words(float(load.at_fills[fill])) for load in own if load.at_fills[fill] > 0
        )
        found.append(FillAt(of, where, amounts))
    return found


def settings(
    plan: Plan, judged: Judged, loads: Sequence[Load], row_rates: Sequence[RowRate]
) -> list[tuple[str, str]]:
    """List what an operation's machine is set to, a label and words each.

    Args:
        plan: machines and crops.
        judged: the operation.
        loads: what it carries or brings in.
        row_rates: what each crop's rate comes to in its rows.
    """
    job, machine = judged.job, plan.machines[judged.job.machine]
    found = [("crop" if len(crops_of(job)) == 1 else "crops", " and ".join(crops_of(job)))]
    if job.day is not None:
        found.append(("day", job.day.isoformat()))
    if job.stage:
        found.append(("stage", job.stage))
    for load in loads:
        of = "" if sum(one.brought_in == load.brought_in for one in loads) == 1 else load.what
        if not load.crop:
            found.append(("product", load.what))
        rate = "yield reckoned with" if load.brought_in else "rate"
        if load.rate:
            found.append((f"{of} {rate}".strip(), load.rate))
        if load.crop and not load.brought_in:
            found += _of_seed(plan, load, of)
    if job.does == "plant":
        found += _in_rows(plan, judged, row_rates)
    return [*found, *_of_machine(plan, job.machine, machine)]


def _of_seed(plan: Plan, load: Load, of: str) -> list[tuple[str, str]]:
    """Say of a crop's seed what a unit holds, how large it is, and how deep it goes."""
    crop = plan.crops[load.crop]
    found = []
    if crop.unit is not None:
        found.append(("seed unit", unit_words(crop.unit, plan.units)))
    if crop.seed_size_per_kg is not None:
        weight, kg = measured_in("kg", plan.units)
        found.append(("seed size", f"{said(crop.seed_size_per_kg * kg)} seeds/{weight}"))
    if crop.depth_m is not None:
        found.append(("planting depth", format_small(crop.depth_m, plan.units)))
    return [(f"{of} {label}".strip(), words) for label, words in found]


def _in_rows(plan: Plan, judged: Judged, row_rates: Sequence[RowRate]) -> list[tuple[str, str]]:
    """Say how each crop that an operation plants lies in the row, and how far rows lie apart."""
    labels = {name for label in judged.job.crops for name in label.split(" + ")}
    around = bool((judged.route.place == HEADLAND).any())
    mine = [
        one
        for one in row_rates
        if one.planter == judged.job.machine
        and one.label in labels
        and (around if one.place == HEADLAND else bool((judged.route.place != HEADLAND).any()))
    ]
    per, foot = (FOOT_M, "ft") if plan.units == "us" else (1.0, "m")
    found: dict[tuple[str, str], str] = {}
    several = len({one.crop for one in mine}) > 1
    for one in mine:
        of = one.crop if several else ""
        of += f" into {one.host}" if one.host else ""
        if one.seeds_per_m is not None and one.apart_m is not None:
            words = (
                f"{said(one.seeds_per_m * per)} seeds/{foot}, one every "
                f"{said_apart(one.apart_m, plan.units)}"
            )
            found.setdefault((f"{of} in the row".strip(), words), one.place)
        spacing = format_small(one.row_m, plan.units)
        found.setdefault((f"{of} row spacing".strip(), spacing), one.place)
    labelled = [label for label, _ in found]
    return [
        # the same label twice: what differs on the headland is said so
        (f"{label}, {place}" if labelled.count(label) > 1 else label, words)
        for (label, words), place in found.items()
    ]


def _of_machine(plan: Plan, name: str, machine: Machine) -> list[tuple[str, str]]:
    """Say of a machine its width, rows or sections, wheels, speed and what it holds."""
    units = plan.units
    found = [("machine", name), ("working width", format_length(machine.width_m, units))]
    parts, count = parts_of(machine)
    if count > 1 or isinstance(machine, Boom):
        found.append(("row units" if parts == "units" else parts, f"{count}"))
    spacing_m = None if isinstance(machine, Planter) else getattr(machine, "spacing_m", None)
    if spacing_m is not None:
        found.append(("row spacing", format_small(spacing_m, units)))
    if machine.tread_m is not None:
        found.append(("tread", format_small(machine.tread_m, units)))
    usual = "" if "speed_mps" in machine.model_fields_set else " (usual)"
    found.append(("speed", f"{format_speed(machine.speed_mps, units)}{usual}"))
    if machine.holds is not None:
        found.append(("holds", format_load(machine.holds.value, machine.holds.si_unit, units)))
    if isinstance(machine, Harvester) and machine.cart is not None:
        cart = plan.machines[machine.cart].holds
        holds = "" if cart is None else f", holds {format_load(cart.value, cart.si_unit, units)}"
        found.append(("cart", f"{machine.cart}{holds}"))
    return found


@dataclass(frozen=True)
class Entry:
    """A line of an operation's table: a pass, or a run of passes that are alike.

    Attributes:
        first: index of the pass, or of the first of them.
        last: index of the last; the same for one pass.
        step: how each lies to the one before, seen facing the first one's heading; empty for one.
        turns: whether every second one is driven the other way.
    """

    first: int
    last: int
    step: str = ""
    turns: bool = False

    @property
    def count(self) -> int:
        """How many passes it is."""
        return self.last - self.first + 1

    @property
    def between(self) -> int:
        """How many lie between the first and the last."""
        return max(self.count - 2, 0)


MOST_APART = 4
"""So many passes alike are one line of the table (our choice)."""
ALIKE_M = {"us": FOOT_M, "metric": 0.5}
"""Passes are as long as each other where they differ by less: what a table tells, or near it."""
STEP_OFF_M = 0.03
"""A step sideways is the same to within so much, as guidance steers (our choice)."""
HEADING_OFF_DEG = 0.5
"""Headings are the same to within a half of what a table tells."""


def collapsed(sheet: Worksheet) -> tuple[Entry, ...]:
    """List the lines of an operation's table in the order driven, runs of like passes as one each.

    Passes are alike that are straight, as long as the first of them, on one crop, with the same
    rows on and the same use as it is told, driven all one way or to and fro, the same step
    sideways apart, and without a fill or a stop. At least four of them are a run.
    """
    alike = _Alike.of(sheet)
    found: list[Entry] = []
    first = 0
    while first < len(sheet):
        last = alike.run(first)
        if last - first + 1 < MOST_APART:
            found.append(Entry(first, first))
            first += 1
            continue
        step = _step_words(alike.step_m(first, first), sheet.units)
        found.append(Entry(first, last, step, bool(alike.turns[first])))
        first = last + 1
    return tuple(found)


def _step_words(step_m: float, units: UnitSystem) -> str:
    side = "right" if step_m > 0 else "left"
    return f"each {format_length(abs(step_m), units)} to the {side} of the one before"


@dataclass(frozen=True)
class _Alike:
    """What is told of passes to find runs of like ones.

    Attributes:
        key: number of what they have in common but length, (n,); below 0 of those that stand alone.
        length_m: of each, (n,).
        slack_m: how much lengths may differ.
        way: the direction of each, of length 1, (n, 2).
        between_m: from the middle of each to that of the next, (n - 1, 2).
        same: whether each two in turn are driven the same way, (n - 1,).
        turns: whether they are driven the opposite way, (n - 1,).
    """

    key: Integers
    length_m: Floats
    slack_m: float
    way: Floats
    between_m: Floats
    same: Bools
    turns: Bools

    @staticmethod
    def of(sheet: Worksheet) -> "_Alike":
        """Tell of the passes of an operation what makes them alike."""
        route, fills = sheet.judged.route, sheet.judged.fills
        ends = shapely.get_coordinates(
            np.stack([shapely.get_point(route.line, 0), shapely.get_point(route.line, -1)], axis=1)
        ).reshape(-1, 2, 2)
        way = ends[:, 1] - ends[:, 0]
        straight_m = np.hypot(*way.T)
        alone = (sheet.stops_at != "") | (sheet.length_m - straight_m > ALIKE_M[sheet.units])
        alone |= sheet.strips == HEADLAND
        if fills is not None:
            alone |= fills.before | (fills.dry > 0)
        used = [[load.used_words(amount) for amount in load.used.tolist()] for load in sheet.loads]
        told = ["\n".join(map(str, each)) for each in zip(
            sheet.crop, sheet.rows_on, sheet.fill_words, *used, strict=True
        )]  # fmt: skip
        key = np.unique(np.array(told), return_inverse=True)[1].reshape(-1)
        turn_deg = np.abs((np.diff(sheet.heading_deg) + 180.0) % 360.0 - 180.0)
        return _Alike(
            key=np.where(alone, -1, key),
            length_m=sheet.length_m,
            slack_m=ALIKE_M[sheet.units],
            way=way / np.maximum(straight_m, LENGTH_M)[:, None],
            between_m=np.diff(ends.mean(axis=1), axis=0),
            same=turn_deg < HEADING_OFF_DEG,
            turns=turn_deg > 180.0 - HEADING_OFF_DEG,
        )

    def step_m(self, first: int, at: int) -> float:
        """Give how far to the right of a pass the next one lies, facing the first's heading."""
        (east_m, north_m), (x, y) = self.between_m[at], self.way[first]
        return float(east_m * y - north_m * x)

    def run(self, first: int) -> int:
        """Give the last of the passes that are alike from one on, which may be that one."""
        last = first
        while last + 1 < len(self.key) and self._goes_on(first, last):
            last += 1
        return last

    def _goes_on(self, first: int, last: int) -> bool:
        """Tell whether the pass after the last one is of the run that begins with the first."""
        return bool(
            self.key[first] >= 0
            and self.key[last + 1] == self.key[first]
            and abs(self.length_m[last + 1] - self.length_m[first]) <= self.slack_m
            and abs(self.step_m(first, last) - self.step_m(first, first)) <= STEP_OFF_M
            and abs(self.step_m(first, first)) > STEP_OFF_M
            and (self.same[last] or self.turns[last])
            and self.turns[last] == self.turns[first]
        )
