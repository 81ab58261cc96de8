"""Check text with units: what is read, what is refused with which words, what is written."""

import pytest

from striplay.units import (
    LENGTH,
    SEED_AMOUNT,
    SEED_RATE,
    SEED_SIZE,
    Quantity,
    format_area,
    format_length,
    format_small,
    parse,
    parse_length_m,
    trim,
)


@pytest.mark.parametrize(
    "text",
    [
        "30 in",
        "30in",
        " 30 in ",
        "30  in",
        "30.0 in",
        "30.00 inches",
        "30 inch",
        "30 in.",
        "30 IN",
        "30 In",
        "30 Inches",
        "0.762 meter",
        "0.762 metres",
        "762 MM",
        "76.2 centimeters",
    ],
)
def test_spaces_and_spellings_do_not_matter(text):
    assert parse_length_m(text) == pytest.approx(0.762, rel=1e-15)


def test_a_number_may_begin_with_a_point():
    assert parse_length_m(".5 m") == 0.5


@pytest.mark.parametrize(
    "text",
    [
        "34000 seeds/acre",
        "34000 seeds / acre",
        "34000seeds/acre",
        "34000 Seeds/Acre",
        "34000 seeds/ac.",
        "34000 SEEDS/AC",
    ],
)
def test_spaces_about_a_slash_do_not_matter(text):
    assert parse(text, SEED_RATE) == parse("34000 seeds/ac", SEED_RATE)


@pytest.mark.parametrize(
    ("text", "kind", "si_unit"),
    [
        ("1 seeds/m2", SEED_RATE, "seeds_per_m2"),
        ("1 kg/ha", SEED_RATE, "kg_per_m2"),
        ("1 seeds", SEED_AMOUNT, "seeds"),
        ("1 lb", SEED_AMOUNT, "kg"),
        ("1 seeds/kg", SEED_SIZE, "seeds_per_kg"),
        ("1 m", LENGTH, "m"),
    ],
)
def test_the_si_unit_is_told(text, kind, si_unit):
    assert parse(text, kind).si_unit == si_unit
    assert isinstance(parse(text, kind), Quantity)


NO_UNIT = 'needs a unit: write a length as text, such as "30 in"'
NO_LENGTH = 'is not a length; write a number and a unit, such as "30 in"'
KNOWN = "in, ft, m, cm, mm"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (30, NO_UNIT),
        (30.0, NO_UNIT),
        (None, NO_UNIT),
        (True, NO_UNIT),
        ("30", NO_LENGTH),
        ("in", NO_LENGTH),
        ("", NO_LENGTH),
        ("-30 in", "must be above zero"),
        ("1e3 ft extra", 'is not a length: unknown unit "e3 ft extra"; known are ' + KNOWN),
        ("30 in 2", 'is not a length: unknown unit "in 2"; known are ' + KNOWN),
        ("1,000 ft", f"{NO_LENGTH}; write numbers without a comma"),
        ("0 in", "must be above zero"),
        ("0.000 in", "must be above zero"),
        ("9" * 400 + " ft", "is too large; at most 100000 m"),
        ("70 mi", "is too large; at most 100000 m"),
        ("30 acres", f'is not a length: unknown unit "acres"; known are {KNOWN}'),
        ("30 Mm", f'is not a length: unknown unit "Mm"; known are {KNOWN}'),
        ("30 ..in", NO_LENGTH),
        ("30 in..", f'is not a length: unknown unit "in.."; known are {KNOWN}'),
    ],
)
def test_refusals(text, told):
    with pytest.raises(ValueError, match=r".") as caught:
        parse_length_m(text)
    assert str(caught.value) == told


@pytest.mark.parametrize(
    ("meters", "us", "metric"),
    [(12.192, "40 ft", "12.19 m"), (1219.2, "4,000 ft", "1,219.2 m"), (18.0, "59.1 ft", "18 m")],
)
def test_lengths_for_print(meters, us, metric):
    assert (format_length(meters, "us"), format_length(meters, "metric")) == (us, metric)


@pytest.mark.parametrize(
    ("meters", "us", "metric"),
    [(0.762, "30 in", "76.2 cm"), (0.75, "29.5 in", "75 cm"), (0.1905, "7.5 in", "19.1 cm")],
)
def test_small_lengths_for_print(meters, us, metric):
    assert (format_small(meters, "us"), format_small(meters, "metric")) == (us, metric)


def test_areas_for_print():
    assert format_area(647_497.027584, "us") == "160.00 ac"
    assert format_area(647_497.027584, "metric") == "64.75 ha"
    assert format_area(6_474_970.27584, "us", 0) == "1,600 ac"


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [(100.0, 0, "100"), (100.0, 2, "100"), (0.0, 2, "0"), (1200.50, 2, "1,200.5"), (0.004, 2, "0")],
)
def test_trim(value, decimals, text):
    assert trim(value, decimals) == text
