"""Read measured trials from a CSV file: a line for each crop of each."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from striplay.economics.indices import Grown
from striplay.economics.trials import Trial, check_trial
from striplay.errors import YieldError
from striplay.files.rows import read_rows
from striplay.plain import plain
from striplay.plan.defaults import BUSHEL_KG, kind_named
from striplay.plan.prices import GRAIN_PRICE
from striplay.units import CROP_YIELD, Kind, Quantity, parse

COLUMNS = ("trial", "crop", "together", "alone", "land_share", "price", "days", "held_days")
"""The columns; those after `alone` may be left out, or empty."""
NEEDED = COLUMNS[:4]
TOGETHER = replace(CROP_YIELD, nought=True)


def read_trials(path: str | Path) -> list[Trial]:
    """Read trials, in the order of the file.

    Columns: `trial`, a name; `crop`; `together`, its yield by area of the whole mixture or set
    of strips, such as 4.1 t/ha; `alone`, its yield alone. As far as known: `land_share`, its
    share of the land, 0 to 1; `price`, such as 180 per t; `days`, how long it holds its land;
    `held_days`, how long the land is held in all: left out, the most `days` of the trial.

    Raises:
        YieldError: a file that can't be read, or a line that can't be; the message says which.
    """
    path = Path(path)
    lines: dict[str, list[_Line]] = {}
    for line in read_rows(path, COLUMNS, NEEDED, _line):
        lines.setdefault(line.trial, []).append(line)
    if not lines:
        raise YieldError(f"{path.name}: holds no trials; write a line for each crop of each")
    return [_trial(path, name, each) for name, each in lines.items()]


@dataclass(frozen=True, slots=True)
class _Line:
    """A line as read."""

    number: int
    trial: str
    crop: str
    together: Quantity
    alone: Quantity
    land_share: float | None
    price: Quantity | None
    days: float | None
    held_days: float | None


def _line(texts: Mapping[str, str], number: int) -> _Line:
    """Read a line.

    Raises:
        ValueError: a value that can't be; the message begins with the column.
    """
    for name in ("trial", "crop"):
        if not texts[name]:
            raise ValueError(f"{name}: is missing")
    share = _number(texts, "land_share")
    if share is not None and not 0.0 < share <= 1.0:
        raise ValueError(f"land_share: {share:g} is no share of the land; it is above 0, at most 1")
    return _Line(
        number=number,
        trial=plain(texts["trial"]),
        crop=plain(texts["crop"]),
        together=_quantity(texts, "together", TOGETHER),
        alone=_quantity(texts, "alone", CROP_YIELD),
        land_share=share,
        price=_quantity(texts, "price", GRAIN_PRICE) if texts.get("price") else None,
        days=_number(texts, "days"),
        held_days=_number(texts, "held_days"),
    )


def _quantity(texts: Mapping[str, str], name: str, kind: Kind) -> Quantity:
    text = texts[name]
    if not text:
        raise ValueError(f"{name}: is missing; for example {kind.example}")
    try:
        return parse(text, kind)
    except ValueError as error:
        raise ValueError(f'{name}: "{plain(text)[:60]}" {error}') from error


def _number(texts: Mapping[str, str], name: str) -> float | None:
    text = texts.get(name, "")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f'{name}: "{plain(text)[:60]}" is no number above 0')
    return value


def _trial(path: Path, name: str, lines: list[_Line]) -> Trial:
    """Make a trial of its lines; a refusal names the line, or the trial's first."""
    crops, by_weight = [], True
    for line in lines:
        try:
            grown, weighed = _grown(line)
        except YieldError as error:
            raise YieldError(f"{path.name}: line {line.number}: {error}") from error
        crops.append(grown)
        by_weight &= weighed
    days = [line.days for line in lines if line.days is not None]
    stated = [line.held_days for line in lines if line.held_days is not None]
    held = max(stated or days) if len(days) == len(lines) else None
    shares = all(line.land_share is not None for line in lines)
    trial = Trial(name, tuple(crops), shares, by_weight, held)
    try:
        check_trial(trial)
    except YieldError as error:
        said = f"{path.name}: line {lines[0].number}: trial {name}: {error}"
        raise YieldError(said) from error
    return trial


def _grown(line: _Line) -> tuple[Grown, bool]:
    """Give a crop's yields and price in one unit, and whether that is a weight."""
    bushel_kg = BUSHEL_KG.get(kind_named(line.crop, None))
    told = [line.together, line.alone, *([line.price] if line.price else [])]
    by_bushel = ["bu" in one.si_unit.split("_") for one in told]
    if bushel_kg is None and len(set(by_bushel)) > 1:
        raise YieldError(
            f"{line.crop}: has bushels and weights, and its bushel's weight is not known; give all "
            "by one of them"
        )
    factor = bushel_kg if bushel_kg is not None else 1.0
    together, alone = (
        one.value * factor if bushels else one.value
        for one, bushels in zip(told[:2], by_bushel[:2], strict=True)
    )
    price = line.price
    each = None if price is None else price.value / factor if by_bushel[2] else price.value
    share = 1.0 if line.land_share is None else line.land_share
    grown = Grown(line.crop, together, alone, share, each, line.days)
    return grown, bushel_kg is not None or not any(by_bushel)
