"""Row sets that `fit` offers: equal strips in one pass of the planter, and passes they save."""

import json

import pytest
from click.testing import CliRunner
from fields import FOOT_M, lay_on, square, write_plan_for

from striplay.accounts.count import count_passes
from striplay.cli import main
from striplay.files.plan import read_plan
from striplay.section.row_set_offers import _of_equal_strips, offer_row_sets
from striplay.section.row_units import field_rows, stretches

FARM = """
[machines.planter]
does = "plant"
rows = 12
spacing = "30 in"
[machines.corn_head]
does = "harvest"
rows = 6
spacing = "30 in"
[machines.platform]
does = "harvest"
width = "15 ft"
[crops.corn]
planter = "planter"
harvester = "corn_head"
[crops.soybean]
planter = "planter"
harvester = "platform"
"""
FIT = '[[strips]]\ncrop = "corn"\nrows = "fit"\n[[strips]]\ncrop = "soybean"\nrows = "fit"\n'
DRILLED = """[machines.drill]
does = "plant"
width = "30 ft"
spacing = "30 in"
[crops.soybean]
planter = "drill"
"""
OATS = """[crops.oats]
planter = "planter"
harvester = "platform"
[crops.corn]"""


@pytest.fixture
def plan_with(tmp_path):
    """A function that reads a plan of a 12-row planter that carries corn and soybean."""

    def read(*changes, strips=FIT):
        farm = FARM
        for old, new in changes:
            assert old in farm
            farm = farm.replace(old, new)
        return read_plan(write_plan_for(tmp_path, square(1320), shed=farm, strips=strips,
                                        headland='[headland]\nwhere = "none"\n'))  # fmt: skip

    return read


def offered(plan):
    """Give units, rows of a strip and both numbers of planter passes, best first."""
    return [
        ("".join(crop[0] for crop in one.units), one.strips[0][1].rows,
         one.planter_passes, one.separate_passes)
        for one in offer_row_sets(plan)
    ]  # fmt: skip


def test_a_12_row_planter_makes_strips_of_6_and_of_12_rows(plan_with):
    # by hand: 6 + 6 units meet their mirror, so strips are of 12 rows; 3 + 6 + 3 of 6. A pass of 6
    # rows of soybean is one cut of the platform; 4 rows or 2 are no whole passes of the header
    assert offered(plan_with()) == [
        ("sssccccccsss", 6, 1, 2),  # the header meets no guess row in corn
        ("cccssssssccc", 6, 1, 2),
        ("ccccccssssss", 12, 2, 2),
    ]


@pytest.mark.parametrize("count", range(2, 25))
def test_strips_are_equal_where_passes_meet_their_mirror(count):
    found = _of_equal_strips(("a", "b"), count)
    assert len(found) == len(set(found))
    for units in found:
        made = stretches(field_rows(units, back_and_forth=True))
        (rows,) = {strip.high - strip.low for strip in made}
        assert count % rows == 0
        assert len(units) == count
        assert units.count("a") * 2 == count


@pytest.mark.parametrize(
    "changes",
    [
        # a header of 8 rows takes no whole passes of strips of 6 or 12
        [("rows = 6", "rows = 8")],
        # not one planter for both
        [('[crops.soybean]\nplanter = "planter"', DRILLED)],
        # no harvester to judge
        [('harvester = "platform"\n', "")],
        # a planter whose openers are not known
        [('rows = 12\nspacing = "30 in"', 'width = "30 ft"'), ('harvester = "corn_head"\n', "")],
        # a third crop beside them
        [("[crops.corn]", OATS)],
    ],
)
def test_nothing_is_offered_where_it_can_t_be_done(plan_with, changes):
    strips = "" if any("oats" in new for _, new in changes) else FIT
    assert offered(plan_with(*changes, strips=strips)) == []


def test_uneven_rows_are_not_offered(plan_with):
    uneven = FIT.replace('crop = "soybean"\nrows = "fit"',
                         'crop = "soybean"\nwidth = "30 ft"\nperiod = "30 in"\n'
                         'pattern = ["11 in", "19 in"]')  # fmt: skip
    assert offered(plan_with(strips=uneven)) == []


def test_the_limit_is_kept(plan_with):
    plan = plan_with()
    assert [one.width_m for one in offer_row_sets(plan, 20 * FOOT_M)] == [15 * FOOT_M] * 2
    assert len(offer_row_sets(plan, 30 * FOOT_M)) == 3


def test_planter_passes_are_those_driven(plan_with, tmp_path):
    """A square of 1,320 ft: 44 passes of 30 ft, against a pass for every strip of 15 ft."""
    plan = plan_with()
    offer = offer_row_sets(plan)[0]
    units = "3 soybean, 6 corn, 3 soybean"
    row_set = f'[[row_set]]\nplanter = "planter"\nunits = "{units}"\n'
    separate = '[[strips]]\ncrop = "corn"\nrows = 6\n[[strips]]\ncrop = "soybean"\nrows = 6\n'
    passes = [_planter_passes(tmp_path, strips) for strips in (row_set, separate)]
    assert passes == [44, 88]
    assert passes[1] * offer.planter_passes == passes[0] * offer.separate_passes


def _planter_passes(folder, strips):
    layout = lay_on(folder, square(1320), shed=FARM, strips=strips, direction="heading = 0",
                    headland='[headland]\nwhere = "none"\n')  # fmt: skip
    (planted,) = [one for one in count_passes(layout.routes) if one["operation"] == "plant"]
    return planted["count"]


def test_fit_says_what_passes_they_take(plan_with, tmp_path):
    plan_with()
    lines = CliRunner().invoke(main, ["fit", str(tmp_path / "plan.toml")]).stdout.splitlines()
    first = lines.index(
        "row sets that make equal strips back and forth, best first; [[row_set]], "
        'planter = "planter"'
    )
    straddling = "corn's header straddles a guess row"
    assert lines[first + 1 : first + 7] == [
        '  units = "3 soybean, 6 corn, 3 soybean": strips of 6 rows, 15 ft',
        "    1 planter pass over 30 ft, where separate strips take 2",
        '  units = "3 corn, 6 soybean, 3 corn": strips of 6 rows, 15 ft',
        f"    1 planter pass over 30 ft, where separate strips take 2; {straddling}",
        '  units = "6 corn, 6 soybean": strips of 12 rows, 30 ft',
        "    2 planter passes over 60 ft, as many as separate strips take",
    ]
    data = json.loads(
        CliRunner().invoke(main, ["fit", str(tmp_path / "plan.toml"), "--json"]).stdout
    )["row_sets"]
    assert [(one["units"], one["planter_passes"], one["separate_passes"]) for one in data] == [
        ("3 soybean, 6 corn, 3 soybean", 1, 2),
        ("3 corn, 6 soybean, 3 corn", 1, 2),
        ("6 corn, 6 soybean", 2, 2),
    ]
    assert {strip["crop"]: strip["rows"] for strip in data[0]["strips"]} == {
        "corn": 6, "soybean": 6,
    }  # fmt: skip
