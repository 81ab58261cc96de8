"""Make the types of plan values that are written as text with a unit."""

from typing import Annotated

from pydantic import BeforeValidator

from striplay.units import (
    LENGTH,
    SEED_AMOUNT,
    SEED_RATE,
    SEED_SIZE,
    Quantity,
    parse,
    parse_length_m,
)


def _rate(text: object) -> Quantity:
    return parse(text, SEED_RATE)


def _amount(text: object) -> Quantity:
    return parse(text, SEED_AMOUNT)


def _size(text: object) -> float:
    return parse(text, SEED_SIZE).value


Length = Annotated[float, BeforeValidator(parse_length_m, json_schema_input_type=str)]
"""Metres, from text such as "30 in"."""

SeedRate = Annotated[Quantity, BeforeValidator(_rate, json_schema_input_type=str)]
"""Seeds or kilograms to the square metre, from text such as "34000 seeds/acre"."""

SeedAmount = Annotated[Quantity, BeforeValidator(_amount, json_schema_input_type=str)]
"""Seeds or kilograms, from text such as "80000 seeds" or "50 lb"."""

SeedSize = Annotated[float, BeforeValidator(_size, json_schema_input_type=str)]
"""Seeds to the kilogram, from text such as "14000 seeds/lb"."""

LENGTH_UNITS = LENGTH.units
