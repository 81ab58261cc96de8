"""Tell one operation as its operator is told of it: settings, passes in order, loads, cautions."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt
import shapely

from striplay.accounts.blends import operation_blends
from striplay.accounts.count import pieces_worked
from striplay.accounts.loads import Load, operation_loads
from striplay.accounts.settings import parts_named, settings, stand_counts, taken
from striplay.cautions import Caution, cautions_of
from striplay.each_pass import Values, pass_columns
from striplay.geometry.directions import HALF_TURN_DEG, compass
from striplay.ground import Ground
from striplay.laid import Laid
from striplay.operations.jobs import crops_of
from striplay.operations.judged import Judged, Operations
from striplay.operations.standing import HEADLAND
from striplay.operations.under import MOST_APART, parts_of, ranges, slanting_m
from striplay.plan.machines import Boom, Planter
from striplay.plan.models import Plan
from striplay.section.occasions import occasions_of
from striplay.section.section import Section
from striplay.section.seeding import RowRate
from striplay.tolerances import LENGTH_M
from striplay.units import FOOT_M, UnitSystem, format_about, format_length, format_small

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]


@dataclass(frozen=True)
class FillAt:
    """A fill of an operation; of grain, an unloading.

    Attributes:
        of: index of the pass before which, or on which, it is; the number of passes at the end.
        on_pass: whether it is on the way of that pass.
        where: the same in words.
        amounts: what goes in or out, in words, of each load of the tank.
    """

    of: int
    on_pass: bool
    where: str
    amounts: tuple[str, ...]


@dataclass(frozen=True, repr=False)
class Worksheet:
    """One operation as its operator is told of it; arrays by pass, in the order driven, (n,).

    Attributes:
        judged: the operation, its verdict and reason.
        units: the plan's.
        settings: what machine and seed are set to: a label and words each.
        takes: what it takes: ground, passes, time and diesel, a label and words each.
        parts: what of its machine is on or off: row units, rows, sections, openers or width.
        number: of each pass, as in the table of passes.
        strips: the strip and piece each works, such as "12/1"; of several "12-14", where it works
            one of their pieces "12/3-14/3", or of many apart "8 of 12-26"; or "headland".
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
        loads: what is carried or brought in, each crop by itself.
        blends: the mixtures sown, all parts of each together, by weight.
        fills: what goes in or out at each fill; none where fills are not counted.
        cautions: those of this kind of work, the gravest first.
        stand_counts: of each crop planted, its name and how its stand is counted.
    """

    judged: Judged
    units: UnitSystem
    settings: tuple[tuple[str, str], ...]
    takes: tuple[tuple[str, str], ...]
    parts: str
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
    blends: tuple[Load, ...]
    fills: tuple[FillAt, ...]
    cautions: tuple[Caution, ...]
    stand_counts: tuple[tuple[str, str], ...]

    def __len__(self) -> int:
        return len(self.number)

    def __repr__(self) -> str:
        return f"Worksheet of {self.name}, {len(self)} passes"

    @property
    def name(self) -> str:
        """What the operation is called."""
        return self.judged.job.name

    @property
    def carried(self) -> tuple[Load, ...]:
        """What goes into its tank or hopper, or out: of mixtures the blend, not each part."""
        alone = crops_of(self.judged.job)
        parts = [one for one in self.loads if not self.blends or one.crop in alone]
        return (*self.blends, *parts)

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
    occasions = occasions_of(plan, laid.section, holed=not ground.holes.is_empty)
    found = []
    each = pass_columns(ground, laid, operations.each)
    many = _pieces_of(laid)
    for judged, columns in zip(operations.each, each, strict=True):
        worked = np.stack(pieces_worked(judged.route, laid))
        loads = operation_loads(plan, laid.section, judged, twice_m2)
        blends = operation_blends(plan, laid.section, judged, twice_m2)
        found.append(
            Worksheet(
                judged=judged,
                units=plan.units,
                settings=(
                    *settings(plan, judged, (*blends, *loads), row_rates),
                    *_underneath(plan, laid.section, judged),
                    *_at_ends(plan, laid, judged),
                ),
                takes=tuple(taken(plan, judged)),
                parts=parts_named(plan.machines[judged.job.machine]),
                number=columns["number"],
                strips=_strip_words(len(judged.route), worked, many),
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
                blends=blends,
                fills=(),
                cautions=tuple(cautions_of(judged.job.does, occasions, plan.units)),
                stand_counts=tuple(stand_counts(plan, judged, row_rates)),
            )
        )
    return tuple(replace(sheet, fills=tuple(_fills(sheet))) for sheet in found)


def _underneath(plan: Plan, section: Section, judged: Judged) -> list[tuple[str, str]]:
    """Say of a harvest over a relay what stands under the header, and how high."""
    if judged.job.does != "harvest":
        return []
    found = []
    for layer in section.layers:
        if layer.grown == "relay" and layer.host in crops_of(judged.job):
            high = "" if layer.height_m is None else f", {format_small(layer.height_m, plan.units)}"
            found.append(("underneath", f"{layer.crop}{high}: cut above it"))
    return found


def _at_ends(plan: Plan, laid: Laid, judged: Judged) -> list[tuple[str, str]]:
    """Say of a machine whose parts shut off how far from the ends of passes they do."""
    machine = plan.machines[judged.job.machine]
    shuts = isinstance(machine, Boom) or (
        isinstance(machine, Planter) and machine.shut_off != "none"
    )
    if not shuts or parts_of(machine)[1] == 1:
        return []
    slant_m = [
        slanting_m(group, block.pieces.rows, laid.section, block.path)
        for group in judged.route.groups
        if group.runs is not None
        for block in [laid.blocks[group.block]]
    ]
    if not slant_m or not max(slant_m):
        return []
    far = format_about(max(slant_m), plan.units)
    return [("slanting ends", f"{parts_named(machine)} off one by one, over up to {far}")]


def _lonlat(columns: Mapping[str, Values], end: str) -> Floats:
    return np.column_stack([columns[f"{end}_longitude"], columns[f"{end}_latitude"]])


def _pieces_of(laid: Laid) -> dict[int, int]:
    """Count the pieces of each strip, by its number."""
    numbers = [block.strip_number[: len(block.pieces.strips.piece)] for block in laid.blocks]
    strips, counts = np.unique(np.concatenate(numbers), return_counts=True)
    return dict(zip(strips.tolist(), counts.tolist(), strict=True))


def _strip_words(count: int, worked: Integers, many: Mapping[int, int]) -> Geometries:
    """Say which strip and piece each pass works: "12/1", "12-14", "12/3-14/3", or headland.

    Args:
        count: of passes.
        worked: the pass, the strip and the piece of each piece that is worked, (3, k).
        many: how many pieces each strip has.
    """
    found = np.full(count, HEADLAND, dtype=object)
    of, first = np.unique(worked[0], return_index=True)
    for index, group in zip(of.tolist(), np.split(worked[1:], first[1:], axis=1), strict=False):
        each: dict[int, list[int]] = {}
        for strip, piece in sorted(set(zip(*group.tolist(), strict=True))):
            each.setdefault(strip, []).append(piece)
        if len(each) == 1:
            ((strip, pieces),) = each.items()
            found[index] = f"{strip}/{ranges(pieces)}"
            continue
        said = list(_runs(each, many))
        strips = list(each)
        apart = len(said) > MOST_APART
        found[index] = f"{len(each)} of {strips[0]}-{strips[-1]}" if apart else ", ".join(said)
    return found


def _runs(each: Mapping[int, Sequence[int]], many: Mapping[int, int]) -> Iterator[str]:
    """Say which strips are worked, those in a row as one: without a piece where all of them are.

    >>> list(_runs({1: [1], 2: [1], 4: [2], 5: [2], 6: [1, 3]}, {1: 1, 2: 1, 4: 2, 5: 2, 6: 3}))
    ['1-2', '4/2-5/2', '6/1', '6/3']
    """
    whole = [strip for strip, pieces in each.items() if len(pieces) == many[strip]]
    parted = [(strip, piece) for strip in each if strip not in whole for piece in each[strip]]
    found = [(strip, 0) for strip in whole] + parted
    for piece in dict.fromkeys(piece for _, piece in found):
        end = f"/{piece}" if piece else ""
        for run in ranges(strip for strip, of in found if of == piece).split(", "):
            yield "-".join(f"{strip}{end}" for strip in run.split("-"))


AT_START = "at the start"
"""Where the first load of what is carried goes in."""


def _fills(sheet: Worksheet) -> Iterator[FillAt]:
    """Say where each fill is, and what goes in or out."""
    at, number = sheet.judged.loads, sheet.number
    if at is None:
        return
    own = [load for load in sheet.carried if len(load.at_fills) == len(at.of)]
    for fill, (of, along_m) in enumerate(zip(at.of.tolist(), at.along_m.tolist(), strict=True)):
        if of == len(number):
            where = "at the end"
        elif not np.isnan(along_m):
            where = f"on pass {number[of]}, about {format_about(along_m, sheet.units)} along"
        else:
            where = f"before pass {number[of]}" if of or fill else AT_START
        amounts = tuple(_filled(load, fill) for load in own if load.at_fills[fill] > 0)
        yield FillAt(of, not np.isnan(along_m), where, amounts)


def _filled(load: Load, fill: int) -> str:
    """Say what a fill takes of a load; the last, where it is little, with what spares it."""
    said = load.words(float(load.told_at_fills[fill]))
    little = 0 < load.at_fills[fill] <= LITTLE * load.at_fills.max()
    if load.brought_in or not little or fill < len(load.at_fills) - 1:
        return said
    spared = "carry it along from the stop before" if load.crop else "see first what is left"
    return f"{said} ({SO_LITTLE}: {spared})"


SO_LITTLE = "so little"
LITTLE = 0.05
"""A last fill of no more of a full one hardly pays for a stop (our choice)."""


@dataclass(frozen=True)
class Entry:
    """A line of an operation's table: a pass, or a run of passes that are alike.

    Attributes:
        first: index of the pass, or of the first of them.
        last: index of the last; the same for one pass.
        step: how far each lies from the one before, and which way; empty for one.
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


LEAST_ALIKE = 4
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
        if last - first + 1 < LEAST_ALIKE:
            found.append(Entry(first, first))
            first += 1
            continue
        heading_deg = float(sheet.heading_deg[first])
        step = _step_words(alike.step_m(first, first), heading_deg, sheet.units)
        found.append(Entry(first, last, step, bool(alike.turns[first])))
        first = last + 1
    return tuple(found)


def _step_words(step_m: float, heading_deg: float, units: UnitSystem) -> str:
    """Say which way each lies: right and left change as a machine turns round, the compass not."""
    quarter_deg = HALF_TURN_DEG / 2 if step_m > 0 else -HALF_TURN_DEG / 2
    side = compass(np.array([heading_deg + quarter_deg]))[0]
    return f"each {format_length(abs(step_m), units)} farther {side} than the one before"


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
