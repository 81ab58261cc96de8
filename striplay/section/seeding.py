"""Say what a rate comes to in each row, for a planter to be set, and on the crop's own strips."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from striplay.notices import Notice
from striplay.plan.models import Plan
from striplay.section.mixture import sown_of
from striplay.section.section import Layer, Row, Section
from striplay.section.strips import row_spacing_m
from striplay.tolerances import WIDE_ROWS_M
from striplay.units import (
    FOOT_M,
    INCH_M,
    format_length,
    format_small,
    said,
    said_apart,
    said_rate,
    trim,
)

ROW_M = {"us": 30 * INCH_M, "metric": 0.75}
"""Rows that a rate is mostly thought of in: 30 in or 75 cm."""


@dataclass(frozen=True, slots=True)
class RowRate:
    """What a crop's rate comes to in its rows.

    Attributes:
        crop: its name.
        label: what the plan calls what is sown: the crop, or the mixture it is part of.
        planter: the machine that plants it.
        place: strips, between (the rows of another crop), after (its harvest) or headland.
        placed: into which crop or mixture it is sown, or after which, in words; empty elsewhere.
        row_m: width of ground that a row takes the seed of.
        seeds_per_m: seeds to the meter of row; None where not known by number, or where the
            openers are not given.
        apart_m: from seed to seed in the row; None likewise.
        seeds_per_m2: seeds to the square meter of its strips, or of the headland; None where not
            known by number.
        kg_per_m2: weight to it, likewise, as it stands in the bag.
    """

    crop: str
    label: str
    planter: str
    place: str
    placed: str
    row_m: float
    seeds_per_m: float | None
    apart_m: float | None
    seeds_per_m2: float | None
    kg_per_m2: float | None

    @property
    def named(self) -> str:
        """The crop, and into or after which it is sown."""
        return f"{self.crop} {self.placed}".rstrip()

    @property
    def left_out(self) -> bool:
        """Whether strips have less than its rows, since some that would stand are not sown."""
        if self.seeds_per_m is None or self.seeds_per_m2 is None:
            return False
        return self.seeds_per_m2 * self.row_m < self.seeds_per_m * (1 - LEFT_OUT)


LEFT_OUT = 1e-3
"""A smaller share of ground that takes no seed is not worth a word."""


def row_rates(plan: Plan, section: Section, *, headland: bool) -> tuple[RowRate, ...]:
    """Say what each crop's rate comes to in its rows, strips first.

    Seeds to the meter of row = rate x width of ground that the row takes the seed of. With a rate
    by the acre and inches that is rate x width / 522,720 seeds to the foot, and from seed to seed
    6,272,640 / (width x rate) inches (exact: 43,560 x 144 square inches to the acre). Where rows
    that would stand are not sown, the strip has less than the rate by the acre.

    Args:
        plan: rates and machines.
        section: the set.
        headland: whether the headland is planted.
    """
    alike: dict[tuple[Layer, str, float], list[Row]] = {}
    for row in section.rows:
        for layer in row.sown:
            alike.setdefault((layer, row.planter, round(row.spacing_m, 9)), []).append(row)
    found = [
        _rate(plan, layer, planter, rows[0].spacing_m, _sown_share(section, rows))
        for layer in section.layers
        for (of, planter, _), rows in alike.items()
        if of == layer
    ]
    name = plan.headland_crop
    if headland and name is not None:
        planter, row_m = plan.crops[name].planter, row_spacing_m(plan, name)
        found += [_rate(plan, one, planter, row_m, 1.0, "headland") for one in sown_of(plan, name)]
    return tuple(dict.fromkeys(found))


def _sown_share(section: Section, rows: Sequence[Row]) -> float:
    """Give the share of the ground of their strips that rows take the seed of."""
    wide_m = sum(section.strips[strip].width_m for strip in {row.strip for row in rows})
    return sum(row.spacing_m for row in rows) / wide_m


def _rate(
    plan: Plan, layer: Layer, planter: str, row_m: float, share: float, place: str = ""
) -> RowRate:
    seeds, kg = layer.seed_rate_per_m2, layer.seed_kg_per_m2
    known = seeds is not None and plan.planter_of(planter).row_units is not None
    per_m = seeds * row_m if known and seeds is not None else None
    return RowRate(
        layer.crop,
        layer.label,
        planter,
        place or ("after" if layer.follows else "between" if layer.number else "strips"),
        layer.placed,
        row_m,
        per_m,
        None if per_m is None else 1.0 / per_m,
        None if seeds is None else seeds * share,
        None if kg is None else kg * share,
    )


def wide_row_notices(plan: Plan, rates: Iterable[RowRate]) -> list[Notice]:
    """Say where rows far apart take the seed of all the ground between, and how much that is."""
    told: dict[str, None] = {}
    for one in rates:
        crop = plan.crops[one.crop]
        if one.row_m <= WIDE_ROWS_M or crop.rate is None:
            continue
        us = plan.units == "us"
        who = one.named
        wide = format_small if one.row_m < 2 * WIDE_ROWS_M else format_length
        apart = wide(one.row_m, plan.units)
        usual_m = ROW_M[plan.units]
        usual = format_small(usual_m, plan.units)
        each = ""
        if one.seeds_per_m is not None and one.apart_m is not None:
            per, foot = (FOOT_M, "foot") if us else (1.0, "meter")
            each = (
                f": {said(one.seeds_per_m * per)} seeds to the {foot} of row, one every "
                f"{said_apart(one.apart_m, plan.units)}"
            )
        rate = said_rate(crop.rate.value * usual_m / one.row_m, crop.rate.si_unit, plan.units)
        told[
            f"{who}: its rate counts all ground, and a row takes the seed of {apart} of it{each}, "
            f"{trim(one.row_m / usual_m, 1)} times that of rows {usual} apart; if the row is to "
            f"have the seed of {usual}, state a rate of {rate}"
        ] = None
    return [Notice("seed", "mind", None, text) for text in told]
