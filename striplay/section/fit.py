"""Judge strip widths: can every machine of a crop cover them in whole passes?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from striplay.plan.machines import Harvester, Planter, Sprayer
from striplay.plan.models import Plan
from striplay.section.cover import (
    cover_with_boom,
    cover_with_header,
    cover_with_platform,
    passes_to_cover,
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
        fits: False where a pass is not whole or a machine runs into the neighbour.
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


@dataclass(frozen=True, slots=True)
class _Harvest:
    """What a strip's harvest comes to."""

    passes: int = 0
    straddles: int = 0
    use: float = 1.0
    fits: bool = True
    words: str = "no harvester named"


def judge_widths(
    plan: Plan, crop: str, limit_m: float, neighbours: Sequence[str]
) -> list[StripFit]:
    """Judge every whole number of planter passes up to a limit, in ascending width.

    Args:
        plan: machines and crops.
        crop: whose strip it is.
        limit_m: widest strip to judge; one planter pass is judged however wide it is.
        neighbours: the crops of the strips on either side; a platform may reach to the first row
            of the nearest of them, less its clearance.
    """
    pass_m = plan.planter(crop).width_m
    most = max(1, int(limit_m / pass_m + WHOLE_NUMBER))
    return [judge_strip(plan, crop, pass_m * count, neighbours) for count in range(1, most + 1)]


def judge_strip(plan: Plan, crop: str, width_m: float, neighbours: Sequence[str]) -> StripFit:
    """Judge a strip of one width; other arguments as in `judge_widths`."""
    planter = plan.planter(crop)
    rows = (
        None if planter.row_units is None else round(width_m / planter.width_m * planter.row_units)
    )
    plant_passes = passes_to_cover(width_m, planter.width_m)
    exact = width_m / planter.width_m
    whole = abs(exact - plant_passes) < WHOLE_NUMBER
    gap_m = min(((plan.planter(name).spacing_m or 0.0) / 2 for name in neighbours), default=0.0)
    harvest = _harvest(planter, plan.harvester(crop), width_m, gap_m, plan.units)
    boom_passes, mismatch_m, boom_words = _boom(plan.sprayers, width_m, plan.units)
    plant_words = (
        _count(plant_passes, "planter pass") if whole else f"{trim(exact, 2)} planter passes"
    )
    return StripFit(
        rows=rows,
        width_m=width_m,
        plant_passes=plant_passes,
        harvest_passes=harvest.passes,
        straddles=harvest.straddles,
        harvest_use=harvest.use,
        boom_passes=boom_passes,
        boom_mismatch_m=mismatch_m,
        fits=whole and harvest.fits,
        reason="; ".join([plant_words, harvest.words, *boom_words]),
    )


def _distance(metres: float, units: UnitSystem) -> str:
    """Write a distance in feet or metres, or below one of them in inches or centimetres."""
    small = metres < (FOOT_M if units == "us" else 1.0) - WHOLE_NUMBER
    return format_small(metres, units) if small else format_length(metres, units)


def _count(number: int, noun: str) -> str:
    if number == 1:
        return f"1 {noun}"
    return f"{number} {noun}{'es' if noun.endswith('s') else 's'}"


def _harvest(
    planter: Planter, harvester: Harvester | None, width_m: float, gap_m: float, units: UnitSystem
) -> _Harvest:
    if harvester is None:
        return _Harvest()
    if harvester.rows is None:
        reach_allowed_m = max(0.0, gap_m - (harvester.clearance_m))
        return _with_platform(width_m, harvester, reach_allowed_m, units)
    if planter.row_units is None:
        return _Harvest(1, fits=False, words="a row-crop header needs rows, and the drill has none")
    rows = round(width_m / planter.width_m * planter.row_units)
    return _with_header(planter, harvester, rows, units)


def _with_header(planter: Planter, harvester: Harvester, rows: int, units: UnitSystem) -> _Harvest:
    planter_rows, header_rows = planter.row_units or 1, harvester.rows or 1
    planted_m, taken_m = planter.spacing_m or 0.0, harvester.spacing_m or 0.0
    cover = cover_with_header(rows, planter_rows, header_rows)
    use = rows / (cover.passes * header_rows)
    fits = True
    words = _count(cover.passes, "header pass")
    if abs(planted_m - taken_m) > WHOLE_NUMBER:
        fits = False
        words = (
            f"rows stand {format_small(planted_m, units)} apart, the header's "
            f"{format_small(taken_m, units)}"
        )
    elif not cover.whole:
        fits = False
        words = f"{rows} rows are {trim(cover.exact, 2)} header passes of {header_rows} rows"
    elif cover.straddles:
        words += f", {cover.straddles} straddling a guess row"
    return _Harvest(cover.passes, cover.straddles, use, fits, words)


def _with_platform(
    width_m: float, harvester: Harvester, reach_allowed_m: float, units: UnitSystem
) -> _Harvest:
    cover = cover_with_platform(width_m, harvester.width_m)
    words = (
        f"{_count(cover.passes, 'platform cut')}, {trim(cover.use * 100, 1)} % of the width used"
    )
    if not cover.reach_m:
        return _Harvest(cover.passes, use=cover.use, words=words)
    over_m = cover.reach_m - reach_allowed_m
    words += f", reaching {_distance(cover.reach_m, units)} past each side"
    if over_m > WHOLE_NUMBER:
        words += (
            f": {_distance(over_m, units)} too far, into the neighbour's rows "
            "(harmless only where the neighbour is already off)"
        )
    return _Harvest(cover.passes, use=cover.use, fits=over_m <= WHOLE_NUMBER, words=words)


def _boom(
    sprayers: Mapping[str, Sprayer], width_m: float, units: UnitSystem
) -> tuple[int, float, list[str]]:
    """Give the most passes, the widest mismatch and the words, over all sprayers."""
    covers = [cover_with_boom(width_m, s.width_m, s.sections) for s in sprayers.values()]
    if not covers:
        return 0, 0.0, []
    mismatch_m = max(cover.mismatch_m for cover in covers)
    words = (
        f"boom sections miss the strip's edge by {_distance(mismatch_m, units)}"
        if mismatch_m
        else "boom sections end at the strip's edges"
    )
    return max(cover.passes for cover in covers), mismatch_m, [words]
