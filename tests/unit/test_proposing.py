"""What records speak for of width and heading, and of what they can't tell."""

from dataclasses import replace
from datetime import date

import pytest
from fields import lay_on, square
from scipy import stats

from striplay.proposing import proposed_beside
from striplay.recording import open_records
from striplay.records.entry import Yield
from striplay.records.turned import Turned, turned
from striplay.records.yields import YieldOf
from striplay.units import ACRE_M2, POUND_KG

DAY = date(2026, 10, 1)
NARROW = """
[machines.planter]
does = "plant"
rows = 8
spacing = "30 in"
[machines.corn_head]
does = "harvest"
rows = 8
spacing = "30 in"
[machines.platform]
does = "harvest"
width = "20 ft"
[crops.corn]
planter = "planter"
harvester = "corn_head"
yield = "200 bu/acre"
price = "4 per bu"
[crops.soybean]
planter = "planter"
harvester = "platform"
yield = "55 bu/acre"
price = "10 per bu"
"""
WIDE = '[[strips]]\ncrop = "corn"\nrows = 32\n[[strips]]\ncrop = "soybean"\nrows = 32\n'


def rows_recorded(layout, outer, inner=200.0):
    """Record the first row and one inside of strips of corn, in bushels an acre."""
    entries = [
        Yield(
            day=DAY, strip=strip, crop="corn", rows=(row, row), area_m2=100.0, moisture=0.155,
            grain_kg=bu * 56 * POUND_KG / ACRE_M2 * 100.0,
        )
        for strip, bu_out in zip((1, 3, 5), outer, strict=True)
        for row, bu in ((1, bu_out), (16, inner))
    ]  # fmt: skip
    with open_records(layout.plan, layout=layout) as records:
        records.add(entries, today=DAY)
    return proposed_beside(layout)


def test_a_width_is_proposed_by_the_gains_measured_with_what_it_leaves(tmp_path):
    """A quarter more on outer rows of corn, nothing lost by soybean: the narrowest leaves most."""
    shed = NARROW + '[[edges]]\ncrop = "soybean"\nbeside = "corn"\ngain = [0.0]\n'
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=WIDE)
    found = rows_recorded(layout, (246, 250, 254))
    (width,) = [one for one in found.changes if one.change.startswith("[[strips]]")]
    assert width.change == (
        '[[strips]] crop = "corn" width = "20 ft", crop = "soybean" width = "20 ft"'
    )
    assert 'leaves more than crop = "corn" width = "80 ft"' in width.reason
    assert "rows weighed in so many strips: corn 3" in width.evidence
    assert layout.plan.strips[0].rows == 32  # nothing is applied


def test_a_width_that_may_leave_nothing_more_is_told_and_not_proposed(tmp_path):
    shed = NARROW + '[[edges]]\ncrop = "soybean"\nbeside = "corn"\ngain = [0.0]\n'
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=WIDE)
    found = rows_recorded(layout, (190, 260, 212))
    assert not any(one.change.startswith("[[strips]]") for one in found.changes)
    (width,) = [one for one in found.untold if one.startswith("width: ")]
    assert width.endswith("so it may be none, and nothing is proposed")


def test_by_the_gains_of_one_crop_alone_no_width_is_proposed(tmp_path):
    layout = lay_on(tmp_path, square(1320), shed=NARROW, strips=WIDE)
    found = rows_recorded(layout, (246, 250, 254))
    assert [one.change[:9] for one in found.changes] == ["[[edges]]"]
    assert found.untold[0].startswith("width: of soybean beside corn nothing is measured, nor ")


def test_without_prices_or_rows_it_is_told_what_is_missing(tmp_path):
    shed = NARROW.replace('price = "4 per bu"\n', "")
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=WIDE)
    assert proposed_beside(layout).untold == ()  # nothing is recorded
    (width, heading, *sun) = rows_recorded(layout, (246, 250, 254)).untold
    assert "is not known without yield and price of each crop" in width
    assert heading.startswith("heading: ") or "by sun" in heading
    assert all("by sun and shade alone" in one for one in sun)


def strips_of(blocks):
    """Give a strip of corn a block, with its heading and bushels an acre."""
    told = [
        YieldOf(number, "corn", None, 16, 0.0, bu * 56 * POUND_KG, ACRE_M2, 1, DAY)
        for number, (_, bu) in enumerate(blocks, start=1)
    ]
    return told, {
        number: Turned(number, heading) for number, (heading, _) in enumerate(blocks, start=1)
    }


def test_blocks_that_run_another_way_and_yield_more_propose_their_heading():
    """Three blocks a heading: the interval as Student's t gives it for unequal spreads."""
    (found,), untold = turned(
        *strips_of([(0.0, 180), (0.0, 182), (0.0, 178), (90.0, 200), (85.0, 204), (90.0, 199)])
    )
    assert untold == ()
    assert found.change == "heading = 90 in blocks that run at 0 degrees"
    first, second = (180, 182, 178), (200, 204, 199)
    reach = stats.ttest_ind(first, second, equal_var=False).confidence_interval(0.95)
    low, high = (abs(end) / 201 for end in (reach.high, reach.low))
    assert f"interval {low:.0%} to {high:.0%}" in found.evidence
    spread = "the interval takes blocks to spread normally, which few can't show"
    assert f"; {spread}; of one year, and headings not drawn by lot" in found.evidence


def test_with_several_crops_compared_the_evidence_says_that_chance_finds_one_more_often():
    blocks = [(0.0, 180), (0.0, 182), (0.0, 178), (90.0, 200), (90.0, 204), (90.0, 199)]
    corn, places = strips_of(blocks)
    beans = [replace(one, crop="soybean") for one in corn]
    (found,), _ = turned([*corn, *beans], places)
    assert "; of 2 crops compared, uncorrected, chance finds one more often; of" in found.evidence


@pytest.mark.parametrize(
    ("blocks", "why"),
    [
        ([(0.0, 180), (10.0, 190)], "all strips weighed run within 30 degrees"),
        ([(0.0, 180), (0.0, 181), (90.0, 200)], "can't be told from its ground"),
        ([(0.0, 180), (0.0, 200), (90.0, 181), (90.0, 199)], "yielded alike"),
    ],
)
def test_where_headings_can_not_be_told_apart_it_says_so(blocks, why):
    found, (said,) = turned(*strips_of(blocks))
    assert found == ()
    assert why in said
