"""Fills of crops: apart in color for every usual way of seeing it, and in gray; type reads on them.

How colors look, differ and contrast is worked out by coloraide, a library of color science.
"""

import itertools

import pytest
from coloraide import Color
from swatches import LEAST_LEVELS, levels_apart, pictures

from striplay.looks import CROP_FILLS, HEADLAND, LEFTOVER, OBSTACLE, Fill, looks_of
from striplay.sheets.style import INK

SIGHTS = (None, "protan", "deutan", "tritan")
APART, FROM_PAPER = 15.0, 9.0
"""Least difference of two crops' colors, and of a crop's from bare paper and the headland."""
CONTRAST = 4.5
"""Of type on its ground, at least: WCAG 2.2, success criterion 1.4.3, level AA."""


def seen(color, sight):
    """Give a color as those see it who lack one kind of cone.

    Machado, Oliveira and Fernandes, A Physiologically-based Model for Simulation of Color Vision
    Deficiency, IEEE TVCG 15(6), 2009, at full severity.
    """
    one = Color(color)
    return one if sight is None else one.filter(sight, method="machado").clip("srgb")


def apart(one, other, sight):
    """Give CIEDE2000 (ISO/CIE 11664-6) between two colors as they are seen."""
    return seen(one, sight).delta_e(seen(other, sight), method="2000")


@pytest.mark.parametrize("sight", SIGHTS)
def test_colors_of_crops_differ_for_every_sight(sight):
    colors = [fill.color for fill in CROP_FILLS["color"]]
    assert len(colors) == 10
    pairs = {(a, b): apart(a, b, sight) for a, b in itertools.combinations(colors, 2)}
    assert min(pairs.values()) >= APART, min(pairs, key=pairs.get)
    beside = [apart(a, b, sight) for a in colors for b in ("#ffffff", HEADLAND.color)]
    assert min(beside) >= FROM_PAPER


def test_the_first_crops_have_the_most_different_colors():
    colors = [fill.color for fill in CROP_FILLS["color"]]

    def least(count):
        some = itertools.combinations(colors[:count], 2)
        return min(apart(a, b, sight) for a, b in some for sight in SIGHTS)

    assert least(2) >= 35
    assert least(4) >= 25


@pytest.mark.parametrize("ink", CROP_FILLS)
def test_black_type_reads_on_every_fill(ink):
    for fill in (*CROP_FILLS[ink], HEADLAND, LEFTOVER):
        assert Color(fill.color).contrast(INK, method="wcag21") >= CONTRAST


@pytest.mark.parametrize("ink", CROP_FILLS)
def test_fills_are_apart_when_printed_in_gray(ink):
    """Those in color too: a book in color may come out of a gray printer."""
    crops = pictures(CROP_FILLS[ink])
    every = dict(enumerate(crops))
    pairs = {(a, b): levels_apart(every[a], every[b]) for a, b in itertools.combinations(every, 2)}
    assert min(pairs.values()) >= LEAST_LEVELS, min(pairs, key=pairs.get)
    if ink == "gray":
        others = pictures([HEADLAND, LEFTOVER, OBSTACLE, Fill("#ffffff")])
        assert min(levels_apart(a, b) for a in crops for b in others) >= LEAST_LEVELS
        assert min(pairs[pair] for pair in itertools.combinations(range(5), 2)) >= 70


def test_the_measure_sees_no_difference_where_there_is_none():
    one = Fill("#ffffff", "rising")
    first, second, turned = pictures([one, one, Fill("#ffffff", "falling")])
    assert levels_apart(first, second) < LEAST_LEVELS / 20
    assert levels_apart(first, turned) >= LEAST_LEVELS
    plain = pictures([Fill("#c0c0c0"), Fill("#b0b0b0")])
    assert levels_apart(*plain) == pytest.approx(16, abs=0.5)


@pytest.mark.parametrize("ink", CROP_FILLS)
def test_hatches_and_letters_tell_crops_apart_too(ink):
    fills = CROP_FILLS[ink]
    assert len({fill.hatch for fill in fills}) == len(fills) == 10
    looks = looks_of(["corn", "clover", "oats", "玉米", "cotton", "x" * 300], ink)
    letters = [look.letter for look in looks.values()]
    assert letters == ["C", "L", "O", "玉", "T", "X"]
    assert [look.fill for look in looks.values()] == list(fills[:6])
