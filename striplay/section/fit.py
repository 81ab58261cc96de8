"""Judge strip widths: can every machine of a crop cover them in whole passes?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from striplay.plan.machines import Harvester, Sprayer
from striplay.plan.models import Plan
from striplay.section.cover import (
    cover_with_boom,
    cover_with_header,
    cover_with_platform,
    passes_to_cover,
    reach_past,
)
from striplay.tolerances import WHOLE_NUMBER
from striplay.units import FOOT_M, UnitSystem, format_length, format_small, trim


@dataclass(frozen=True, slots=True)
class StripFit:
    """The verdict on one width of strip for one crop.

    Attributes:
        rows: rows, or openers of a drill; None where the openers are not given.
        width_m: width of the strip.
        plant_passes: planter passes, always whole here.
        harvest_passes: harvester passes; 0 where no harvester is named.
        straddles: header passes that take rows from both sides of a guess row.
        harvest_use: share of the harvester's width at work, all passes together.
        boom_passes: sprayer passes; the most of any sprayer.
        boom_mismatch_m: widest distance from a strip edge to the nearest boom-section edge.
        fits: False where a pass is not whole or a machine runs into the neighbor.
        reason: the verdict in words.
    """

    rows: int | None
    width_m: float
    plant_passes: int
    harvest_passes: int
    straddles: int
    harvest_use: float
    boom_passes: int
    boom_mismatch_m: float
    fits: bool
    reason: str

    @property
    def rank(self) -> tuple[bool, int, bool, float, float, float]:
        """Sort key, best first: fits, no straddling, boom match, use of the harvester, narrow."""
        return (
            not self.fits,
            self.straddles,
            self.boom_mismatch_m > 0,
            -round(self.harvest_use, 6),
            round(self.boom_mismatch_m, 6),
            self.width_m,
        )


Sides = tuple[float, float]
"""A distance on a strip's first side and on its last."""


@dataclass(frozen=True, slots=True)
class StripToCut:
    """A strip as its harvester meets it.

    Attributes:
        width_m: its width.
        begin_m: from its first edge to the ground of its first row.
        planted_m: width of its rows' ground.
        spacing_m: between its rows; None where they are not known.
        places: where its rows stand, counted in rows from the first; none where not known.
        guess_rows: where guess rows lie between them, likewise.
        near_m: from each of its edges to the nearest row beside.
    """

    width_m: float
    begin_m: float
    planted_m: float
    spacing_m: float | None
    places: Sequence[int]
    guess_rows: Sequence[int]
    near_m: Sides


@dataclass(frozen=True, slots=True)
class Harvest:
    """What a strip's harvest comes to; see `StripFit`."""

    passes: int = 0
    straddles: int = 0
    use: float = 1.0
    fits: bool = True
    words: str = "no harvester named"


def widths_to_judge(plan: Plan, crop: str, limit_m: float) -> list[float]:
    """Give every whole number of a crop's planter passes up to a limit, one however wide it is."""
    pass_m = plan.planter(crop).width_m
    most = max(1, int(limit_m / pass_m + WHOLE_NUMBER))
    return [pass_m * count for count in range(1, most + 1)]


def judge_widths(plan: Plan, crop: str, limit_m: float, near_m: Sides) -> list[StripFit]:
    """Judge every whole number of planter passes up to a limit, in ascending width.

    Args:
        plan: machines and crops.
        crop: whose strip it is.
        limit_m: widest strip to judge; one planter pass is judged however wide it is.
        near_m: from each edge of the strip to the nearest row beside; a platform may reach so far,
            less its clearance.
    """
    widths_m = widths_to_judge(plan, crop, limit_m)
    return [judge_strip(plan, crop, width_m, near_m) for width_m in widths_m]


def judge_strip(plan: Plan, crop: str, width_m: float, near_m: Sides) -> StripFit:
    """Judge a strip of one width; other arguments as in `judge_widths`."""
    planter = plan.planter(crop)
    units = planter.row_units
    rows = None if units is None else round(width_m / planter.width_m * units)
    strip = StripToCut(
        width_m=width_m,
        begin_m=0.0,
        planted_m=width_m,
        spacing_m=planter.spacing_m,
        places=range(rows or 0),
        guess_rows=range(units or 1, rows or 0, units or 1),
        near_m=near_m,
    )
    plant_passes = passes_to_cover(width_m, planter.width_m)
    exact = width_m / planter.width_m
    whole = abs(exact - plant_passes) < WHOLE_NUMBER
    plant_words = (
        counted(plant_passes, "planter pass") if whole else f"{trim(exact, 2)} planter passes"
    )
    return with_machines(plan, crop, strip, rows, plant_passes, plant_words, whole=whole)


def with_machines(
    plan: Plan,
    crop: str,
    strip: StripToCut,
    rows: int | None,
    plant_passes: int,
    plant_words: str,
    *,
    whole: bool = True,
) -> StripFit:
    """Judge how a crop's harvester and the sprayers fit a strip, beside what its planting needs.

    Args:
        plan: the machines.
        crop: whose strip it is.
        strip: the strip.
        rows: how many it has; None where only openers are known.
        plant_passes: planter passes over it.
        plant_words: the same in words.
        whole: whether they are whole passes.
    """
    harvest = judge_harvest(strip, plan.harvester(crop), plan.units)
    if not plan.crops[crop].reaped:
        harvest = replace(harvest, words="not harvested")
    boom_passes, mismatch_m, boom_words = judge_booms(plan.sprayers, strip.width_m, plan.units)
    return StripFit(
        rows=rows,
        width_m=strip.width_m,
        plant_passes=plant_passes,
        harvest_passes=harvest.passes,
        straddles=harvest.straddles,
        harvest_use=harvest.use,
        boom_passes=boom_passes,
        boom_mismatch_m=mismatch_m,
        fits=whole and harvest.fits,
        reason="; ".join([plant_words, harvest.words, *boom_words]),
    )


def _distance(meters: float, units: UnitSystem) -> str:
    """Write a distance in feet or meters, or below one of them in inches or centimeters."""
    small = meters < (FOOT_M if units == "us" else 1.0) - WHOLE_NUMBER
    return format_small(meters, units) if small else format_length(meters, units)


def counted(number: int, noun: str) -> str:
    """Write a number of things, such as "2 header passes"."""
    if number == 1:
        return f"1 {noun}"
    return f"{number} {noun}{'es' if noun.endswith('s') else 's'}"


def judge_harvest(strip: StripToCut, harvester: Harvester | None, units: UnitSystem) -> Harvest:
    """Judge how a harvester covers a strip: in whole passes, and clear of the rows beside."""
    if harvester is None:
        return Harvest()
    if harvester.rows is None:
        return _with_platform(strip, harvester, units)
    if strip.spacing_m is None or not strip.places:
        return Harvest(1, fits=False, words="a row-crop header needs rows, and the drill has none")
    planted_m, taken_m = strip.spacing_m, harvester.spacing_m or 0.0
    cover = cover_with_header(strip.places, harvester.rows, strip.guess_rows)
    rows = strip.places[-1] + 1
    use = rows / (cover.passes * harvester.rows)
    fits = True
    words = counted(cover.passes, "header pass")
    if abs(planted_m - taken_m) > WHOLE_NUMBER:
        fits = False
        words = (
            f"rows stand {format_small(planted_m, units)} apart, the header's "
            f"{format_small(taken_m, units)}"
        )
    elif not cover.whole:
        fits = False
        words = f"{rows} rows are {trim(cover.exact, 2)} header passes of {harvester.rows} rows"
    elif cover.straddles:
        words += f", {cover.straddles} straddling a guess row"
    return Harvest(cover.passes, cover.straddles, use, fits, words)


def _with_platform(strip: StripToCut, harvester: Harvester, units: UnitSystem) -> Harvest:
    cover = cover_with_platform(strip.planted_m, harvester.width_m)
    use = trim(cover.use * 100, 1)
    words = f"{counted(cover.passes, 'platform cut')}, {use} % of the width used"
    reach_m = reach_past(harvester.width_m, strip.width_m, strip.begin_m, strip.planted_m)
    if not any(reach_m):
        return Harvest(cover.passes, use=cover.use, words=words)
    words += f", reaching {_past(reach_m, units)}"
    beside = [(out, near) for out, near in zip(reach_m, strip.near_m, strict=True) if out]
    clear_m = harvester.clearance_m
    fits = all(out <= max(0.0, near - clear_m) + WHOLE_NUMBER for out, near in beside)
    if not fits:
        words += f": {_too_far(max(out - near for out, near in beside), clear_m, units)}"
    return Harvest(cover.passes, use=cover.use, fits=fits, words=words)


def _past(reach_m: Sides, units: UnitSystem) -> str:
    """Say how far a header reaches past a strip's sides."""
    first, last = (_distance(out_m, units) for out_m in reach_m)
    if first == last:
        return f"{first} past each side"
    if all(reach_m):
        return f"{first} and {last} past its sides"
    return f"{first if reach_m[0] else last} past one side"


def _too_far(into_m: float, clearance_m: float, units: UnitSystem) -> str:
    """Say how far a header is beyond the neighbor's first row, or how much too near it."""
    if into_m > WHOLE_NUMBER:
        said = f"{_distance(into_m, units)} into the neighbor's rows"
    else:
        said = f"{_distance(into_m + clearance_m, units)} too near the neighbor's rows"
    return f"{said} (harmless only where the neighbor is already off)"


def judge_booms(
    sprayers: Mapping[str, Sprayer], width_m: float, units: UnitSystem
) -> tuple[int, float, list[str]]:
    """Give the most passes, the widest mismatch and the words, over all sprayers."""
    covers = [cover_with_boom(width_m, s.width_m, s.sections) for s in sprayers.values()]
    if not covers:
        return 0, 0.0, []
    mismatch_m = max(cover.mismatch_m for cover in covers)
    words = (
        f"boom sections miss the strip's edge by {_distance(mismatch_m, units)}; over the "
        "neighbor the label decides"
        if mismatch_m
        else "boom sections end at the strip's edges"
    )
    return max(cover.passes for cover in covers), mismatch_m, [words]
