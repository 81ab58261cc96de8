"""Read a table of measured plots from a CSV file: a line for each plot and crop."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from striplay.errors import YieldError
from striplay.files.rows import read_rows
from striplay.operations.amounts import bushel_kg
from striplay.plain import plain, shortened
from striplay.plan.models import Plan
from striplay.records.plots import Plot
from striplay.units import CROP_YIELD, parse

COLUMNS = ("block", "treatment", "crop", "yield", "strip", "row", "side", "land_share")
"""The columns; those after `yield` may be left out, or empty."""
NEEDED = COLUMNS[:4]
INSIDE = "inside"
SIDES = ("north", "east", "south", "west")


@dataclass(frozen=True)
class PlotTable:
    """Plots as read.

    Attributes:
        plots: in the order of the file.
        shares: by treatment, each crop's share of the land there, as far as told.
    """

    plots: tuple[Plot, ...]
    shares: Mapping[str, Mapping[str, float]]


def read_plots(path: str | Path, plan: Plan) -> PlotTable:
    """Read plots, in the order of the file.

    Columns: `block`; `treatment`, such as strips, or alone; `crop`; `yield`, by the ground of that
    crop itself, such as 180 bu/acre. As far as known: `strip`, its number; `row`, where only some
    rows were weighed: their place from the edge, from 1, or inside; `side` of the strip that they
    lie on; `land_share`, the crop's share of the land in that treatment.

    Args:
        path: the file.
        plan: what its crops' bushels weigh.

    Raises:
        YieldError: a file that can't be read, or a line that can't be; the message says which.
    """
    path = Path(path)
    shares: dict[str, dict[str, float]] = {}

    def read(texts: dict[str, str], _: int) -> Plot:
        plot = _plot(texts, plan)
        _add_share(texts, plot, shares)
        return plot

    plots = read_rows(path, COLUMNS, NEEDED, read)
    if not plots:
        raise YieldError(f"{path.name}: holds no plots; write a line for each plot and crop")
    return PlotTable(tuple(plots), shares)


def _plot(texts: Mapping[str, str], plan: Plan) -> Plot:
    """Read a line; a refusal begins with the column."""
    for name in NEEDED:
        if not texts[name]:
            like = f"; for example {CROP_YIELD.example}" if name == "yield" else ""
            raise ValueError(f"{name}: is missing{like}")
    crop, side, row = texts["crop"], texts.get("side", ""), texts.get("row", "")
    if crop not in plan.crops:
        raise ValueError(f'crop: no crop "{shortened(crop)}"; known are {", ".join(plan.crops)}')
    if side and side not in SIDES:
        raise ValueError(f'side: "{shortened(side)}" is no side; known are {", ".join(SIDES)}')
    return Plot(
        block=plain(texts["block"]),
        treatment=plain(texts["treatment"]),
        crop=crop,
        kg_per_m2=_yield(texts["yield"], crop, plan),
        strip=_number(texts, "strip"),
        row=None if row == INSIDE else _number(texts, "row"),
        inner=row == INSIDE,
        side="" if row == INSIDE else side,
    )


def _yield(text: str, crop: str, plan: Plan) -> float:
    try:
        amount = parse(text, CROP_YIELD)
    except ValueError as error:
        raise ValueError(f'yield: "{shortened(text)}" {error}') from error
    if not amount.si_unit.startswith("bu"):
        return amount.value
    weight_kg = bushel_kg(plan, crop)
    if weight_kg is None:
        raise ValueError(f"yield: what a bushel of {crop} weighs is not known; give lb/acre")
    return amount.value * weight_kg


def _number(texts: Mapping[str, str], name: str) -> int | None:
    text = texts.get(name, "")
    if not text:
        return None
    if not text.isdecimal() or int(text) < 1:
        raise ValueError(f'{name}: "{shortened(text)}" is no whole number from 1')
    return int(text)


def _add_share(texts: Mapping[str, str], plot: Plot, shares: dict[str, dict[str, float]]) -> None:
    """Take a line's share of the land, the same on all lines of a crop and treatment."""
    text = texts.get("land_share", "")
    if not text:
        return
    try:
        share = float(text)
    except ValueError:
        share = -1.0
    if not 0.0 < share <= 1.0:
        raise ValueError(f'land_share: "{shortened(text)}" is no share; it is above 0, at most 1')
    own = shares.setdefault(plot.treatment, {})
    if own.setdefault(plot.crop, share) != share:
        raise ValueError(
            f"land_share: {text} of {plot.crop} in {plot.treatment}, and before it was "
            f"{own[plot.crop]:g}; give one"
        )
