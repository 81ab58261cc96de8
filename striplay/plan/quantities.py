"""Make the types of plan values that need more than a type: units, headings, dates, counts."""

from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from striplay.geometry.directions import HALF_TURN_DEG
from striplay.limits import EDGE_ROWS, MAX_LISTED, MAX_ROWS, MOST_GAIN
from striplay.plain import plain
from striplay.plan.prices import (
    DRYING_PRICE,
    FUEL_PRICE,
    GRAIN_PRICE,
    PRODUCT_PRICE,
    SEED_PRICE,
)
from striplay.plan.when import check_year
from striplay.units import (
    CROP_YIELD,
    DURATION,
    FUEL_BY_AREA,
    GRAIN_FLOW,
    LENGTH,
    MONEY_PER_AREA,
    MONEY_PER_TIME,
    OFFSET,
    PRODUCT_RATE,
    SEED_AMOUNT,
    SEED_MASS,
    SEED_RATE,
    SEED_SIZE,
    SPEED,
    TANK_LOAD,
    WAIT,
    Kind,
    Quantity,
    parse,
    parse_length_m,
)


def _rate(text: object) -> Quantity:
    return parse(text, SEED_RATE)


def _amount(text: object) -> Quantity:
    return parse(text, SEED_AMOUNT)


def _product(text: object) -> Quantity:
    return parse(text, PRODUCT_RATE)


def _load(text: object) -> Quantity:
    return parse(text, TANK_LOAD)


def _yield(text: object) -> Quantity:
    return parse(text, CROP_YIELD)


def _size(text: object) -> float:
    return parse(text, SEED_SIZE).value


def _quantity(kind: Kind) -> BeforeValidator:
    return BeforeValidator(lambda text: parse(text, kind), json_schema_input_type=str)


def _unit(kind: Kind) -> BeforeValidator:
    def read(text: object) -> Quantity:
        try:
            return parse(f"1 {text}", kind)
        except ValueError:
            raise ValueError(f"is no unit of {kind.name}; known are {kind.units}") from None

    return BeforeValidator(read, json_schema_input_type=str)


def _moisture(value: object) -> object:
    share = _number(value)
    if share is None:
        raise ValueError("must be a share of weight, a number from 0 to below 1")
    if 1.0 <= share < 100.0:  # noqa: PLR2004 - per cent
        raise ValueError(f"is no share of weight; write {share / 100:g} for {share:g} %")
    if not 0.0 <= share < 1.0:
        raise ValueError("can't be the moisture of grain; it is a share of weight, 0 to below 1")
    return share


def _gains(value: object) -> object:
    listed = value if isinstance(value, list) else [value]
    gains = [gain for gain in map(_number, listed) if gain is not None]
    if not 1 <= len(listed) <= EDGE_ROWS or len(gains) < len(listed):
        raise ValueError(f"must be a number, or a list of 1 to {EDGE_ROWS}, the outer row first")
    if not all(-1.0 <= gain <= MOST_GAIN for gain in gains):
        cure = "a gain is a share: write 0.25 for 25 %"
        raise ValueError(f"holds what is not between -1 and {MOST_GAIN:g}; {cure}")
    return tuple(gains)


def _reader(kind: Kind) -> BeforeValidator:
    return BeforeValidator(lambda text: parse(text, kind).value, json_schema_input_type=str)


def _offset(value: object) -> object:
    return value if value == "best" else parse(value, OFFSET).value


def _place(value: object) -> object:
    if isinstance(value, list) and len(value) == 2 and all(map(_is_number, value)):  # noqa: PLR2004
        longitude, latitude = map(float, value)
        if abs(longitude) <= 180 and abs(latitude) <= 90:  # noqa: PLR2004 - degrees
            return longitude, latitude
        if abs(longitude) <= 90 and abs(latitude) <= 180:  # noqa: PLR2004 - degrees
            raise ValueError(f"has latitude first; write [{latitude:g}, {longitude:g}]")
    raise ValueError("must be longitude and latitude in degrees, such as [-93.512, 42.034]")


def _number(value: object) -> float | None:
    """Give a number; None where a value is none."""
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return float(value) if number and isinstance(value, int | float) else None


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _heading(value: object) -> object:
    if value == "best":
        return value
    if (
        isinstance(value, int | float)
        and not isinstance(value, bool)
        and 0 <= value < HALF_TURN_DEG
    ):
        return value
    raise ValueError('must be "best", or degrees clockwise from true north, 0 up to 180')


def _row_wish(value: object) -> object:
    if value == "fit":
        return value
    if isinstance(value, int) and not isinstance(value, bool) and value >= 1:
        if value > MAX_ROWS:
            raise ValueError(f"must be {MAX_ROWS} or less")
        return value
    raise ValueError('must be a whole number above 0, or "fit"')


def _listed(value: object) -> object:
    if isinstance(value, list) and len(value) > MAX_LISTED:
        raise ValueError(f"must be {MAX_LISTED} places or fewer")
    if isinstance(value, list) and value:
        return tuple(value)
    raise ValueError('must be a list of lengths, such as ["11 in", "19 in"]')


def _crop_names(value: object) -> object:
    if value == "all":
        return value
    if isinstance(value, list) and value and all(isinstance(name, str) for name in value):
        return tuple(value)
    raise ValueError('must be "all", or a list of names, such as ["corn", "soybean"]')


def _sequenced(value: object) -> object:
    names = value if isinstance(value, list) else []
    if len(names) < 2 or not all(isinstance(name, str) for name in names):  # noqa: PLR2004
        raise ValueError('must be a list of two names or more, such as ["corn", "soybean"]')
    if len(set(names)) < len(names):
        raise ValueError("names a crop twice; what follows it could then not be told")
    return tuple(names)


def _check_crops(value: object) -> object:
    names = value if isinstance(value, list) else []
    if not names or not all(isinstance(name, str) for name in names):
        raise ValueError('must be a list of names, such as ["corn", "soybean"]')
    if len(set(names)) < len(names):
        raise ValueError("names a crop twice; one check strip of it stands in each replicate")
    return tuple(names)


def _file_kinds(value: object) -> object:
    if value == []:
        raise ValueError("names no kind of file; name one, or leave the key out for the usual ones")
    if isinstance(value, list) and all(isinstance(name, str) for name in value):
        return tuple(value)
    raise ValueError("must be a list of names")


def _file_name(name: str) -> str:
    if "\0" in name:
        raise ValueError(
            "holds U+0000, which no name of a file can; write the name as the file has it"
        )
    return name


def _date(value: object) -> object:
    if isinstance(value, date) and not isinstance(value, datetime):
        return check_year(value)
    try:
        read = date.fromisoformat(value if isinstance(value, str) else "")
    except ValueError:
        raise ValueError("must be a date, as year-month-day") from None
    return check_year(read)


Words = Annotated[str, AfterValidator(lambda text: plain(text).strip())]
"""Text that is shown: on one line, a space for each character that stands for no letter."""

FileName = Annotated[str, AfterValidator(_file_name)]
"""A file, as seen from the plan."""

Length = Annotated[float, BeforeValidator(parse_length_m, json_schema_input_type=str)]
"""Meters, from text such as "30 in"."""

Distance = Annotated[float, _reader(OFFSET)]
"""Meters, from text such as "11 in"; may be nought."""

Distances = Annotated[tuple[Distance, ...], BeforeValidator(_listed)]
"""Several distances."""

SeedRate = Annotated[Quantity, BeforeValidator(_rate, json_schema_input_type=str)]
"""Seeds or kilograms to the square meter, from text such as "34000 seeds/acre"."""

SeedAmount = Annotated[Quantity, BeforeValidator(_amount, json_schema_input_type=str)]
"""Seeds or kilograms, from text such as "80000 seeds" or "50 lb"."""

SeedMass = Annotated[float, _reader(SEED_MASS)]
"""Kilograms, from text such as "1000 lb"."""

SeedSize = Annotated[float, BeforeValidator(_size, json_schema_input_type=str)]
"""Seeds to the kilogram, from text such as "14000 seeds/lb"."""

RowCount = Annotated[int, Field(ge=1, le=MAX_ROWS)]
"""A whole number above 0, of rows or the like."""

Heading = Annotated[Literal["best"] | float, BeforeValidator(_heading)]
"""Degrees clockwise from true north, 0 up to 180, or "best"."""

RowWish = Annotated[Literal["fit"] | int, BeforeValidator(_row_wish)]
"""A number of rows, or "fit"."""

Day = Annotated[date, BeforeValidator(_date)]
"""A date, in TOML's own form or as text."""

Offset = Annotated[Literal["best"] | float, BeforeValidator(_offset)]
"""Meters, from text such as "20 ft", or "best"."""

Place = Annotated[tuple[float, float], BeforeValidator(_place)]
"""Longitude and latitude in degrees."""

Compass = Literal["north", "east", "south", "west"]

Share = Annotated[float, Field(ge=0, le=1)]
"""A share of one."""

MoneyPerArea = Annotated[float, _reader(MONEY_PER_AREA)]
"""Money to the square meter, from text such as "300 per acre"."""

MoneyPerTime = Annotated[float, _reader(MONEY_PER_TIME)]
"""Money to the second, from text such as "200 per hour"."""

Speed = Annotated[float, _reader(SPEED)]
"""Meters to the second, from text such as "5 mph"."""

Duration = Annotated[float, _reader(DURATION)]
"""Seconds, from text such as "40 s"."""

Wait = Annotated[float, _reader(WAIT)]
"""Seconds, from text such as "12 s"; may be nought."""

FlowUnit = Annotated[Quantity, _unit(GRAIN_FLOW)]
"""One of a unit of flow in kilograms or bushels to the second, from text such as "lb/s"."""

YieldUnit = Annotated[Quantity, _unit(CROP_YIELD)]
"""One of a unit of yield in kilograms or bushels to the square meter, from "bu/acre"."""

LengthUnit = Annotated[Quantity, _unit(LENGTH)]
"""One of a unit of length in meters, from text such as "ft"."""

SpeedUnit = Annotated[Quantity, _unit(SPEED)]
"""One of a unit of speed in meters to the second, from text such as "mph"."""

ProductRate = Annotated[Quantity, BeforeValidator(_product, json_schema_input_type=str)]
"""Cubic meters or kilograms to the square meter, from text such as "15 gal/acre"."""

TankLoad = Annotated[Quantity, BeforeValidator(_load, json_schema_input_type=str)]
"""Cubic meters, kilograms, bushels or seeds, from text such as "1000 gal"."""

YieldRate = Annotated[Quantity, BeforeValidator(_yield, json_schema_input_type=str)]
"""Bushels or kilograms to the square meter, from text such as "180 bu/acre"."""

FuelByArea = Annotated[float, _reader(FUEL_BY_AREA)]
"""Cubic meters to the square meter, from text such as "0.5 gal/acre"."""

HoursADay = Annotated[float, Field(gt=0, le=24)]
"""Hours on a day."""

FileKinds = Annotated[tuple[str, ...], BeforeValidator(_file_kinds)]
"""Names of kinds of files that are written."""

CropNames = Annotated[Literal["all"] | tuple[str, ...], BeforeValidator(_crop_names)]
"""Names of crops and mixtures, or "all"."""

Sequenced = Annotated[tuple[str, ...], BeforeValidator(_sequenced)]
"""Names of crops and mixtures, each followed by the next."""

CheckCrops = Annotated[tuple[str, ...], BeforeValidator(_check_crops)]
"""Names of crops and mixtures that stand alone."""

Price = Annotated[Quantity, _quantity(GRAIN_PRICE)]
"""Money to the bushel or kilogram, from text such as "4.50 per bu"."""

DryingPrice = Annotated[Quantity, _quantity(DRYING_PRICE)]
"""Money to the bushel or kilogram and point of moisture, from "0.05 per bu per point"."""

SeedPrice = Annotated[Quantity, _quantity(SEED_PRICE)]
"""Money to the unit, seed or kilogram, from text such as "280 per unit"."""

ProductPrice = Annotated[Quantity, _quantity(PRODUCT_PRICE)]
"""Money to the cubic meter or kilogram, from text such as "12 per gal"."""

FuelPrice = Annotated[float, _reader(FUEL_PRICE)]
"""Money to the cubic meter, from text such as "3.80 per gal"."""

Moisture = Annotated[float, BeforeValidator(_moisture)]
"""A share of weight, from 0 to below 1."""

Gains = Annotated[tuple[float, ...], BeforeValidator(_gains)]
"""By how much rows yield more than those inside, as shares, the outer row first."""
