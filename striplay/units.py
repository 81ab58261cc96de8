"""Read lengths, areas, rates and counts written with a unit, and write them for print.

Text is turned into SI once, when a plan is read; everything inside is SI. A number without a unit
is refused, never guessed.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal

from striplay.limits import MAX_LENGTH_M, MAX_QUANTITY

UnitSystem = Literal["us", "metric"]

FOOT_M = 0.3048
"""The international foot, exact (NIST and NGS, Deprecation of the United States survey foot,
Federal Register 85, 2020)."""
INCH_M = 0.0254
MILE_M = 5280 * FOOT_M
ACRE_M2 = 4046.8564224
"""The international acre: 43,560 square feet, exact."""
HECTARE_M2 = 10_000.0
MPH_MPS = 0.44704
"""A mile an hour: 1,609.344 m in 3,600 s, exact."""
HOUR_S = 3600.0
POUND_KG = 0.45359237
"""The international avoirdupois pound, exact."""

_LENGTHS = {
    "in": INCH_M, "ft": FOOT_M, "m": 1.0, "cm": 0.01, "mm": 0.001,
    "km": 1000.0, "yd": 3 * FOOT_M, "mi": 5280 * FOOT_M,
    "inch": INCH_M, "inches": INCH_M, "foot": FOOT_M, "feet": FOOT_M,
    "yard": 3 * FOOT_M, "yards": 3 * FOOT_M, "mile": 5280 * FOOT_M, "miles": 5280 * FOOT_M,
    **{
        f"{prefix}{meter}": factor
        for prefix, factor in (("", 1.0), ("centi", 0.01), ("milli", 0.001), ("kilo", 1000.0))
        for meter in ("meter", "meters", "metre", "metres")
    },
}  # fmt: skip
_AREAS = {
    "acre": ACRE_M2, "ha": HECTARE_M2, "m2": 1.0, "ft2": FOOT_M**2,
    "ac": ACRE_M2, "acres": ACRE_M2, "hectare": HECTARE_M2, "hectares": HECTARE_M2,
}  # fmt: skip
_COUNTS = {"seeds": 1.0, "seed": 1.0}
_MASSES = {
    "lb": POUND_KG, "kg": 1.0, "g": 0.001,
    "lbs": POUND_KG, "pound": POUND_KG, "pounds": POUND_KG,
    "gram": 0.001, "grams": 0.001, "kilogram": 1.0, "kilograms": 1.0,
}  # fmt: skip
GALLON_M3 = 231 * INCH_M**3
"""The U.S. gallon: 231 cubic inches, exact (NIST Handbook 44, appendix C)."""
LITERS = 1000.0
"""Liters to a cubic meter."""
BUSHEL_M3 = 2150.42 * INCH_M**3
"""The U.S. bushel: 2,150.42 cubic inches, exact (NIST Handbook 44, appendix C)."""
_LOADS = {
    **_MASSES, "t": 1000.0, "ton": 2000 * POUND_KG, "tons": 2000 * POUND_KG,
    "tonne": 1000.0, "tonnes": 1000.0, "cwt": 100 * POUND_KG,
}  # fmt: skip
"""Weights of what is spread and harvested: a ton is 2,000 lb, a t 1,000 kg, a cwt 100 lb."""
_FLUIDS = {
    "gal": GALLON_M3, "l": 0.001, "L": 0.001, "m3": 1.0, "gallon": GALLON_M3,
    "gallons": GALLON_M3, "liter": 0.001, "liters": 0.001, "litre": 0.001, "litres": 0.001,
}  # fmt: skip
_BUSHELS = {"bu": 1.0, "bushel": 1.0, "bushels": 1.0}
_TIMES = {"s": 1.0, "min": 60.0, "h": HOUR_S}
_QUANTITY = re.compile(
    r"\s*(?P<number>\d+(?:\.\d+)?|\.\d+)\s*(?P<unit>[A-Za-z][A-Za-z0-9/. ]*?)\s*"
)
_MEGAMETER = "Mm"
"""The one unit that capitals change into another of the same kind."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: its name, its units as factors to SI, and an example of how to write it.

    Several dimensions may be allowed (seed comes by number or by weight); `si` names each unit's.
    `nought` says whether there may be none of it; `most` is more than there is of it on any
    farm, in SI. `shown` are the units told in messages, the first five when left out.
    """

    name: str
    factors: Mapping[str, tuple[float, str]]
    example: str
    nought: bool = False
    most: float = MAX_QUANTITY
    shown: tuple[str, ...] = ()

    @property
    def units(self) -> str:
        """Five units at most, one spelling each, for messages."""
        first: dict[tuple[float, str], str] = {}
        for unit, factor in self.factors.items():
            first.setdefault(factor, unit)
        return ", ".join(self.shown or list(first.values())[:5])


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number in SI with the name of its SI unit, for kinds that allow several."""

    value: float
    si_unit: str


def _kind(name: str, example: str, **tables: Mapping[str, float]) -> Kind:
    factors = {unit: (f, si) for si, table in tables.items() for unit, f in table.items()}
    return Kind(name, MappingProxyType(factors), example)


def _per(top: Mapping[str, float], bottom: Mapping[str, float]) -> dict[str, float]:
    return {f"{t}/{b}": top[t] / bottom[b] for t in top for b in bottom}


LENGTH = replace(_kind("a length", "30 in", m=_LENGTHS), most=MAX_LENGTH_M)
OFFSET = replace(LENGTH, example="20 ft", nought=True)
SEED_RATE = replace(
    _kind(
        "a seed rate", "34000 seeds/acre",
        seeds_per_m2=_per(_COUNTS, _AREAS), kg_per_m2=_per(_MASSES, _AREAS),
    ),
    shown=("seeds/acre", "seeds/ha", "seeds/m2", "lb/acre", "kg/ha"),
)  # fmt: skip
SEED_AMOUNT = _kind("an amount of seed", "80000 seeds", seeds=_COUNTS, kg=_MASSES)
SEED_MASS = _kind("a weight of seed", "1000 lb", kg=_MASSES)
SEED_SIZE = _kind(
    "a number of seeds by weight", "14000 seeds/lb", seeds_per_kg=_per(_COUNTS, _MASSES)
)
PRODUCT_RATE = replace(
    _kind(
        "a rate of product", "15 gal/acre",
        m3_per_m2=_per(_FLUIDS, _AREAS), kg_per_m2=_per(_LOADS, _AREAS),
    ),
    shown=("gal/acre", "L/ha", "lb/acre", "kg/ha", "t/ha"),
)  # fmt: skip
TANK_LOAD = replace(
    _kind(
        "a load", "1000 gal",
        m3=_FLUIDS, kg=_LOADS, bu=_BUSHELS, seeds=_COUNTS,
    ),
    shown=("gal", "L", "lb", "kg", "bu"),
)  # fmt: skip
CROP_YIELD = replace(
    _kind(
        "a yield", "180 bu/acre",
        bu_per_m2=_per(_BUSHELS, _AREAS), kg_per_m2=_per(_LOADS, _AREAS),
    ),
    shown=("bu/acre", "lb/acre", "kg/ha", "t/ha"),
)  # fmt: skip
FUEL_BY_AREA = replace(
    _kind("fuel by area", "0.5 gal/acre", m3_per_m2=_per(_FLUIDS, _AREAS)),
    shown=("gal/acre", "L/ha"),
)

MONEY_PER_AREA = replace(
    _kind("money by area", "300 per acre", per_m2={f"per {a}": 1 / m for a, m in _AREAS.items()}),
    nought=True,
)

MONEY_PER_TIME = replace(
    _kind("money by the hour", "200 per hour", per_s={"per hour": 1 / 3600, "per h": 1 / 3600}),
    nought=True,
)
SPEED = _kind(
    "a speed", "5 mph", mps={"m/s": 1.0, "km/h": 1 / 3.6, "mph": MPH_MPS}
)  # fmt: skip
GRAIN_FLOW = replace(
    _kind("a flow", "20 lb/s", kg_per_s=_per(_LOADS, _TIMES), bu_per_s=_per(_BUSHELS, _TIMES)),
    shown=("lb/s", "kg/s", "t/h", "bu/h"),
)
DURATION = _kind("a time", "40 s", s=_TIMES)
WAIT = replace(DURATION, example="12 s", nought=True)


def parse(text: object, kind: Kind) -> Quantity:
    """Turn text such as "30 in" into SI.

    Args:
        text: a number and a unit of `kind`; one space or none between them.
        kind: which units are accepted.

    Returns:
        The quantity in SI.

    Raises:
        ValueError: not text, no unit, a unit of another kind, or zero of what there must be some
            of. The message says what would do.

    >>> parse("30 in", LENGTH)
    Quantity(value=0.762, si_unit='m')
    >>> round(parse("34000 seeds/acre", SEED_RATE).value, 3)
    8.402
    >>> parse(30, LENGTH)
    Traceback (most recent call last):
    ...
    ValueError: needs a unit: write a length as text, such as "30 in"
    """
    if not isinstance(text, str):
        raise ValueError(f'needs a unit: write {kind.name} as text, such as "{kind.example}"')  # noqa: TRY004 - pydantic collects ValueError
    if text.strip().startswith("-"):
        raise ValueError("must be zero or more" if kind.nought else "must be above zero")
    match = _QUANTITY.fullmatch(text)
    if match is None:
        hint = "; write numbers without a comma" if "," in text else ""
        raise ValueError(
            f'is not {kind.name}; write a number and a unit, such as "{kind.example}"{hint}'
        )
    factor, si_unit = _factor(match["unit"], kind)
    value = float(match["number"]) * factor
    if value > kind.most:
        raise ValueError(f"is too large; at most {kind.most:g} {si_unit.replace('_per_', '/')}")
    if value == 0 and not kind.nought:
        raise ValueError("must be above zero")
    return Quantity(value, si_unit)


def _factor(written: str, kind: Kind) -> tuple[float, str]:
    """Give a unit's factor to SI, and its SI unit.

    The point of an abbreviation does not matter, nor do capitals but in Mm, which is no millimeter.

    Raises:
        ValueError: no unit of this kind.
    """
    unit = " ".join(written.split()).replace(" /", "/").replace("/ ", "/")
    plain = re.sub(r"(?<=[A-Za-z])\.(?=/|$)", "", unit)
    for spelling in (plain, plain if plain == _MEGAMETER else plain.lower()):
        if spelling in kind.factors:
            return kind.factors[spelling]
    raise ValueError(f'is not {kind.name}: unknown unit "{unit[:20]}"; known are {kind.units}')


def parse_length_m(text: object) -> float:
    """Turn text such as "40 ft" into meters; errors as in `parse`.

    >>> parse_length_m("40 ft")
    12.192
    """
    return parse(text, LENGTH).value


HEADING_DIGITS = 3
"""Decimals of a heading that is found, so that it can be typed in again: a thousandth of a degree
is half an inch over half a mile, and no machine steers nearer."""


def degrees(heading_deg: float) -> str:
    """Write a heading, 0 up to 180, with two decimals or the third where it takes one.

    >>> degrees(7.25), degrees(7.254), degrees(179.99999)
    ('7.25', '7.254', '0.00')
    """
    text = f"{round(heading_deg, HEADING_DIGITS) % 180:.{HEADING_DIGITS}f}"
    return text[:-1] + text[-1:].rstrip("0")


def facing(heading_deg: float) -> str:
    """Write which way a pass is driven, three digits as a compass has them.

    >>> facing(83.2), facing(359.97), facing(180.0)
    ('083°', '000°', '180°')
    """
    return f"{round(heading_deg) % 360:03d}°"


def typed_about_m(meters: float, units: UnitSystem) -> tuple[float, float]:
    """Give the distances next below and above that are typed: hundredths of feet, or millimeters.

    >>> typed_about_m(7.409, "us") == (parse_length_m("24.30 ft"), parse_length_m("24.31 ft"))
    True
    >>> typed_about_m(1.2346, "metric"), typed_about_m(1.2, "metric")
    ((1.234, 1.235), (1.2, 1.2))
    """
    parts, unit_m = (100, FOOT_M) if units == "us" else (1000, 1.0)
    count = meters / unit_m * parts
    near = round(count)
    below, above = math.floor(count), math.ceil(count)
    if abs(count - near) < WHOLE_TYPED:
        below = above = near
    return below / parts * unit_m, above / parts * unit_m


WHOLE_TYPED = 1e-6
"""So near to a hundredth of a foot, or a millimeter, in these, a distance is one."""


def format_typed(meters: float, units: UnitSystem) -> str:
    """Write a distance as it is typed in a plan, as exactly as `typed_about_m` gives it.

    >>> format_typed(7.409, "us"), format_typed(1.2, "metric"), format_typed(0.0, "us")
    ('24.31 ft', '1.2 m', '0 ft')
    """
    text, name = (f"{meters / FOOT_M:.2f}", "ft") if units == "us" else (f"{meters:.3f}", "m")
    return f"{text.rstrip('0').rstrip('.')} {name}"


def format_length(meters: float, units: UnitSystem) -> str:
    """Write a width or distance: feet and inches' tenths, or meters, without false precision.

    >>> format_length(12.192, "us"), format_length(12.192, "metric")
    ('40 ft', '12.19 m')
    """
    value, name = (meters / FOOT_M, "ft") if units == "us" else (meters, "m")
    return f"{trim(value, 1 if units == 'us' else 2)} {name}"


def format_about(meters: float, units: UnitSystem) -> str:
    """Write a distance that is measured on the ground as a person says it.

    Three digits at most; feet are whole from 10 on, meters from 100, below that told to a tenth.
    Widths that are set, of machines and strips, are `format_length`'s.

    >>> format_about(2315.4, "us"), format_about(2315.4, "metric")
    ('7,600 ft', '2,320 m')
    >>> format_about(4.22, "us"), format_about(1.2, "us"), format_about(4.218, "metric")
    ('14 ft', '3.9 ft', '4.2 m')
    """
    value, name, whole = (meters / FOOT_M, "ft", 10) if units == "us" else (meters, "m", 100)
    return f"{trim(to_digits(value), 0 if abs(value) >= whole else 1)} {name}"


def format_small(meters: float, units: UnitSystem) -> str:
    """Write a row spacing or clearance: inches, quarters of them kept, or centimeters.

    >>> format_small(0.762, "us"), format_small(0.28575, "us"), format_small(0.75, "metric")
    ('30 in', '11.25 in', '75 cm')
    """
    if units == "metric":
        return f"{trim(meters * 100, 1)} cm"
    quarters = meters / INCH_M * 4
    return f"{trim(meters / INCH_M, 2 if abs(quarters - round(quarters)) < QUARTER_OFF else 1)} in"


QUARTER_OFF = 1e-3
"""So near to a quarter of an inch, in quarters, a length is one."""


def format_area(area_m2: float, units: UnitSystem, decimals: int = 2) -> str:
    """Write an area in acres or hectares.

    >>> format_area(ACRE_M2, "us"), format_area(12_345, "metric")
    ('1.00 ac', '1.23 ha')
    """
    value, name = (area_m2 / ACRE_M2, "ac") if units == "us" else (area_m2 / HECTARE_M2, "ha")
    return f"{value:,.{decimals}f} {name}"


def said(number: float, digits: int = 3) -> str:
    """Write a number as a person says it, to so many digits.

    >>> said(31_412_345), said(1_238_861), said(139_950), said(5.7392), said(23.1), said(104.4)
    ('31.4 million', '1.24 million', '140,000', '5.74', '23.1', '104')
    """
    rounded = to_digits(number, digits)
    if abs(rounded) >= MILLION:
        return f"{trim(rounded / MILLION, digits - 1)} million"
    return trim(rounded, digits + 2)


MILLION = 1e6


def percent(share: float) -> str:
    """Write a change in whole per cent, with its sign.

    >>> percent(0.251), percent(-0.3), percent(0.0)
    ('+25 %', '-30 %', '0 %')
    """
    text = f"{100 * share:+.0f} %"
    return "0 %" if text in {"+0 %", "-0 %"} else text


def to_digits(number: float, digits: int = 3) -> float:
    """Round a number to so many digits.

    >>> to_digits(1_238_861), to_digits(0.061456), to_digits(0.0)
    (1240000.0, 0.0615, 0.0)
    """
    return float(f"{number:.{digits - 1}e}")


def format_weight(kg: float, units: UnitSystem, *, up: bool = False) -> str:
    """Write a weight of seed in whole pounds or kilograms, to four digits; `up` to buy it.

    >>> format_weight(5600, "us"), format_weight(5600, "us", up=True), format_weight(99.6, "metric")
    ('12,350 lb', '12,350 lb', '100 kg')
    >>> format_weight(45_000.1, "metric", up=True)
    '45,010 kg'
    """
    name, unit_kg = measured_in("kg", units)
    weight = kg / unit_kg
    step = 10.0 ** max(len(str(int(weight))) - WEIGHT_DIGITS, 0)
    whole = math.ceil(weight / step - 1e-9) if up else round(weight / step)
    return f"{whole * step:,.0f} {name}"


WEIGHT_DIGITS = 4


def format_load(amount: float, si_unit: str, units: UnitSystem) -> str:
    """Write what a machine carries or burns: gallons or liters, pounds or kilograms, or its unit.

    >>> format_load(1000 * GALLON_M3, "m3", "us"), format_load(3.785, "m3", "metric")
    ('1,000 gal', '3,785 L')
    >>> format_load(300.0, "bu", "us"), format_load(2.4e6, "seeds", "us")
    ('300 bu', '2.4 million seeds')
    """
    if si_unit == "kg":
        return format_weight(amount, units)
    name, one = measured_in(si_unit, units)
    return f"{said(amount / one, WEIGHT_DIGITS)} {name}"


def format_capacity(m2_per_s: float, units: UnitSystem) -> str:
    """Write ground worked by time.

    >>> format_capacity(ACRE_M2 * 18.18 / HOUR_S, "us"), format_capacity(2.0, "metric")
    ('18.2 ac/h', '0.72 ha/h')
    """
    area_m2, name = (ACRE_M2, "ac") if units == "us" else (HECTARE_M2, "ha")
    return f"{said(m2_per_s * HOUR_S / area_m2)} {name}/h"


def format_speed(mps: float, units: UnitSystem, *, usual: bool = False) -> str:
    """Write a speed at work; a `usual` one, that nobody stated, to two digits.

    >>> format_speed(5 * MPH_MPS, "us"), format_speed(2.0, "metric")
    ('5 mph', '7.2 km/h')
    >>> format_speed(10 * MPH_MPS, "metric"), format_speed(10 * MPH_MPS, "metric", usual=True)
    ('16.1 km/h', '16 km/h')
    """
    speed, name = (mps / MPH_MPS, "mph") if units == "us" else (mps * HOUR_S / 1000, "km/h")
    return f"{trim(to_digits(speed, 2) if usual else speed, 1)} {name}"


def measured_in(si_unit: str, units: UnitSystem) -> tuple[str, float]:
    """Name what a plan's unit system measures an SI unit in, and give what one of it is in SI.

    >>> measured_in("kg", "us"), measured_in("m3", "metric"), measured_in("bu", "us")
    (('lb', 0.45359237), ('L', 0.001), ('bu', 1.0))
    """
    named = {
        "kg": ("lb", POUND_KG), "m3": ("gal", GALLON_M3),
        "kg_per_m3": ("lb/bu", POUND_KG / BUSHEL_M3),
    }  # fmt: skip
    if units == "metric":
        named = {"kg": ("kg", 1.0), "m3": ("L", 0.001), "kg_per_m3": ("kg/hL", 10.0)}
    return named.get(si_unit, (si_unit, 1.0))


def format_hours(seconds: float) -> str:
    """Write a time in hours, to a tenth.

    >>> format_hours(5400), format_hours(36_000)
    ('1.5 h', '10 h')
    """
    return f"{trim(seconds / HOUR_S, 1)} h"


def said_apart(meters: float, units: UnitSystem) -> str:
    """Write how far seeds lie apart in the row, as a planter's monitor does.

    >>> said_apart(0.15619, "us"), said_apart(0.15619, "metric")
    ('6.15 in', '15.6 cm')
    """
    return f"{said(meters * 100)} cm" if units == "metric" else f"{said(meters / INCH_M)} in"


def said_rate(per_m2: float, si_unit: str, units: UnitSystem) -> str:
    """Write a seed rate in the plan's units, as it is typed there.

    >>> said_rate(34_000 / ACRE_M2, "seeds_per_m2", "us"), said_rate(0.012, "kg_per_m2", "metric")
    ('34000 seeds/acre', '120 kg/ha')
    """
    area_m2, area = (ACRE_M2, "acre") if units == "us" else (HECTARE_M2, "ha")
    if si_unit == "seeds_per_m2":
        return f"{_typed(per_m2 * area_m2)} seeds/{area}"
    weight, kg = measured_in("kg", units)
    return f"{_typed(per_m2 * area_m2 / kg)} {weight}/{area}"


def _typed(number: float) -> str:
    """Write a number to three digits, without commas, as plans take them."""
    return trim(to_digits(number), 5).replace(",", "")


def trim(value: float, decimals: int) -> str:
    """Write a number with at most `decimals` places and no trailing zeros.

    >>> trim(40.0, 1), trim(7.52, 1), trim(57.15, 1)
    ('40', '7.5', '57.2')
    """
    halves_up = value + math.copysign(1e-9, value)  # 57.15 is a hair below itself
    text = f"{halves_up:,.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
