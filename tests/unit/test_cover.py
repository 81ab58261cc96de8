"""Check how machines cover a strip, against arithmetic done by hand."""

import math
from itertools import product

import pytest

from striplay.section.cover import (
    BoomCover,
    cover_with_boom,
    cover_with_header,
    cover_with_platform,
    passes_to_cover,
    reach_past,
)

FOOT_M = 0.3048


def cover_strip(rows, planter, header):
    """Cover a strip of whole planter passes: a guess row lies after each but the last."""
    return cover_with_header(range(rows), header, range(planter, rows, planter))


@pytest.mark.parametrize(
    ("width_ft", "pass_ft", "passes"),
    [(40, 30, 2), (80, 30, 3), (120, 30, 4), (30, 30, 1), (15, 20, 1), (30, 20, 2), (30.01, 30, 2)],
)
def test_passes_are_the_width_over_the_pass_rounded_up(width_ft, pass_ft, passes):
    assert passes_to_cover(width_ft * FOOT_M, pass_ft * FOOT_M) == passes


def test_a_whole_number_of_passes_is_never_rounded_up_by_one():
    for count in range(1, 200):
        assert passes_to_cover(count * 12 * 0.762, 12 * 0.762) == count
        assert passes_to_cover(sum([0.1] * count), 0.1) == count


# By counting: a header started at a pass edge never straddles a guess
# row if and only if its rows divide the planter's; 8/4, 12/6, 16/8, 24/8, 24/12 fit at one pass.
@pytest.mark.parametrize(("planter", "header"), [(8, 4), (12, 6), (16, 8), (24, 8), (24, 12)])
def test_a_header_that_divides_the_planter_fits_one_pass(planter, header):
    cover = cover_strip(planter, planter, header)
    assert (cover.passes, cover.whole, cover.straddles) == (planter // header, True, 0)


# By counting: 12/8 first meets at 24 rows, 16/12 at 48.
@pytest.mark.parametrize(("planter", "header", "rows"), [(12, 8, 24), (16, 12, 48)])
def test_the_first_common_width(planter, header, rows):
    whole = [n for n in range(planter, 97, planter) if cover_strip(n, planter, header).whole]
    assert whole[0] == rows
    assert cover_strip(rows, planter, header).straddles > 0


def test_nothing_straddles_if_and_only_if_the_header_divides_the_planter():
    for planter, header in product(range(1, 37), range(1, 19)):
        case = f"{planter} planter rows, {header} header rows"
        rows = math.lcm(planter, header)
        cover = cover_strip(rows, planter, header)
        assert (cover.whole, cover.passes) == (True, rows // header), case
        assert (cover.straddles == 0) == (planter % header == 0), case


def test_worked_case_b_the_middle_pass_straddles_rows_12_and_13():
    assert cover_strip(12, 12, 8).exact == 1.5
    assert not cover_strip(12, 12, 8).whole
    # passes take rows 1-8, 9-16 and 17-24; the guess row lies between 12 and 13
    cover = cover_strip(24, 12, 8)
    assert (cover.passes, cover.whole, cover.straddles) == (3, True, 1)


def test_worked_case_d_two_of_four_passes_straddle():
    # passes take rows 1-6, 7-12, 13-18 and 19-24; guess rows lie after 8 and 16
    cover = cover_strip(24, 8, 6)
    assert (cover.passes, cover.whole, cover.straddles) == (4, True, 2)
    assert not cover_strip(8, 8, 6).whole
    assert not cover_strip(16, 8, 6).whole


def test_a_last_pass_that_is_not_full_straddles_only_over_rows_that_stand():
    # rows 1-8 and 9-12 of two 12-row planter passes cut short at 12 rows
    assert cover_strip(12, 12, 8).straddles == 0


@pytest.mark.parametrize(
    ("width_ft", "platform_ft", "passes", "use", "reach_ft"),
    [
        (40, 30, 2, 40 / 60, 0.0),
        (80, 30, 3, 80 / 90, 0.0),
        (120, 30, 4, 1.0, 0.0),
        (15, 20, 1, 0.75, 2.5),
        (30, 20, 2, 0.75, 0.0),
        (30, 30, 1, 1.0, 0.0),
        (30, 35, 1, 30 / 35, 2.5),
    ],
)
def test_a_platform(width_ft, platform_ft, passes, use, reach_ft):
    cover = cover_with_platform(width_ft * FOOT_M, platform_ft * FOOT_M)
    assert cover.passes == passes
    assert cover.use == pytest.approx(use, abs=1e-12)
    assert cover.use <= 1
    reach_m = reach_past(platform_ft * FOOT_M, width_ft * FOOT_M, 0.0, width_ft * FOOT_M)
    assert [one / FOOT_M for one in reach_m] == pytest.approx([reach_ft] * 2, abs=1e-9)


@pytest.mark.parametrize(
    ("header", "strip", "begin", "planted", "reach"),
    [
        # by hand: the header's middle runs over the middle of the rows, at begin + planted / 2
        (8, 10, 1, 8, (0, 0)),
        (10, 10, 1, 8, (0, 0)),
        (10, 10, 0, 8, (1, 0)),
        (10, 10, 2, 8, (0, 1)),
        (14, 10, 0.5, 8, (2.5, 1.5)),
        (7, 10, 0, 8, (0, 0)),  # two passes keep within the rows
    ],
)
def test_how_far_a_header_reaches_past_its_strip(header, strip, begin, planted, reach):
    assert reach_past(header, strip, begin, planted) == pytest.approx(reach)


@pytest.mark.parametrize(
    ("places", "header", "guesses", "found"),
    [
        # by hand: passes, straddles
        (range(12), 6, [6], (2, 0)),
        (range(12), 12, [6], (1, 1)),
        (range(12), 4, [6], (3, 1)),
        (range(12), 12, [3, 9], (1, 1)),  # one pass over two guess rows
        (range(12), 6, [3, 9], (2, 2)),
        (range(12), 6, [0, 12], (2, 0)),  # at the strip's edges nothing is straddled
        # two empty places amid six: all rows of the first pass stand on one side of the guess row
        ([0, 1, 4, 5], 4, [3], (2, 0)),
        ([0, 1, 4, 5], 6, [3], (1, 1)),
        ([0, 5], 2, [1], (3, 0)),  # a pass over empty places only
    ],
)
def test_guess_rows_anywhere_in_a_strip(places, header, guesses, found):
    cover = cover_with_header(places, header, guesses)
    assert (cover.passes, cover.straddles) == found


@pytest.mark.parametrize(
    ("width_ft", "boom_ft", "sections", "passes", "mismatch_ft"),
    [
        (40, 120, 12, 1, 0.0),  # 40 ft of boom off on each side: four sections of 10 ft
        (60, 120, 12, 1, 0.0),
        (30, 120, 12, 1, 5.0),  # 45 ft off: half a section
        (37.5, 120, 12, 1, 1.25),  # 41.25 ft off: 1.25 past the fourth section's edge
        (120, 120, 12, 1, 0.0),
        (120, 120, 1, 1, 0.0),
        (100, 120, 1, 1, 10.0),  # a boom in one section sprays 10 ft past each side
        (240, 120, 12, 2, 0.0),
        (160, 120, 12, 2, 0.0),  # two passes of 80 ft each, 20 ft off on each side
        (150, 120, 12, 2, 2.5),  # two passes of 75 ft each, 22.5 ft off
    ],
)
def test_a_boom(width_ft, boom_ft, sections, passes, mismatch_ft):
    cover = cover_with_boom(width_ft * FOOT_M, boom_ft * FOOT_M, sections)
    assert cover.passes == passes
    assert cover.mismatch_m / FOOT_M == pytest.approx(mismatch_ft, abs=1e-9)


def test_rounding_is_no_mismatch():
    # 0.1 + 0.2 is not 0.3, and a boom section edge at a strip's edge is still a match
    assert cover_with_boom(0.1 + 0.2, 0.9, 3) == BoomCover(1, 0.0)
    for rows in range(1, 17):
        assert cover_with_boom(rows * 2 * 0.762, 16 * 2 * 0.762, 32).mismatch_m == 0.0
