"""Whose crop follows whose in a strip, what stands in the way, and what to mind."""

import tomllib
from datetime import date
from pathlib import Path

import pytest
from fields import SHED, texts
from systems import MORE

from striplay.errors import PlanError
from striplay.files.crop_table import crop_table
from striplay.files.plan import checked
from striplay.plan.operations import OperationWish
from striplay.season.after import Change, after_notices
from striplay.season.facts import facts_of
from striplay.section.sequence import followers, rotated, said_of_swap
from striplay.section.systems import sections_of


def planned(strips, shed=SHED + MORE):
    """Read a plan of strips, each a crop and its width; `more` tables may follow."""
    return checked(tomllib.loads(shed + strips), Path("plan.toml"))


def strips(*each):
    return "".join(f'[[strips]]\ncrop = "{crop}"\n{width}\n' for crop, width in each)


def next_of(plan):
    """Give the next season's strips: crop, width in feet."""
    section = sections_of(rotated(plan, sections_of(plan)[0]))[0]
    return [(one.crop, round(one.width_m / 0.3048, 6)) for one in section.strips]


SIXTEEN, FORTY_EIGHT = "rows = 16", "rows = 48"


def test_two_crops_swap_and_three_move_on_by_the_order_of_the_strips():
    two = planned(strips(("corn", SIXTEEN), ("soybean", SIXTEEN)))
    assert next_of(two) == [("soybean", 40), ("corn", 40)]
    three = planned(
        strips(("corn", FORTY_EIGHT), ("wheat", "passes = 4"), ("soybean", FORTY_EIGHT))
    )
    assert next_of(three) == [("wheat", 120), ("soybean", 120), ("corn", 120)]
    # three seasons on, every strip has its crop again
    again = three
    for _ in range(3):
        again = rotated(again, sections_of(again)[0])
    assert [strip.crop for strip in sections_of(again)[0].strips] == ["corn", "wheat", "soybean"]


def test_a_crop_in_several_strips_is_followed_in_all_of_them():
    plan = planned(strips(("corn", SIXTEEN), ("soybean", SIXTEEN), ("soybean", FORTY_EIGHT)))
    assert next_of(plan) == [("soybean", 40), ("corn", 40), ("corn", 120)]


def test_a_sequence_may_bring_in_a_crop_that_no_strip_grows():
    plan = planned(
        strips(("corn", FORTY_EIGHT), ("soybean", FORTY_EIGHT))
        + '[season]\nsequence = ["corn", "soybean", "wheat"]\n'
    )
    assert next_of(plan) == [("soybean", 120), ("wheat", 120)]


def test_crops_that_do_not_swap_stay():
    plan = planned(strips(("corn", SIXTEEN), ("soybean", SIXTEEN)) + "[season]\nswap = false\n")
    assert next_of(plan) == [("corn", 40), ("soybean", 40)]


def test_a_row_set_moves_its_units_and_keeps_the_empty_ones():
    plan = planned('[[row_set]]\nplanter = "planter"\nunits = "4 corn, 1 empty, 11 soybean"\n')
    units = rotated(plan, sections_of(plan)[0]).row_set.units
    assert units == (*["soybean"] * 4, "empty", *["corn"] * 11)


def test_a_pattern_goes_with_its_crop():
    wheat = 'width = "30 ft"\nperiod = "30 in"\npattern = ["4 in", "12 in"]'
    shed = SHED.replace("rows = 16", "rows = 12") + MORE
    plan = planned(strips(("corn", "rows = 12"), ("wheat", wheat)), shed)
    first, second = rotated(plan, sections_of(plan)[0]).strips
    assert first.pattern_m == pytest.approx((4 * 0.0254, 12 * 0.0254))
    assert (second.pattern_m, second.period_m) == (None, None)


@pytest.mark.parametrize(
    ("each", "said"),
    [
        (
            (("corn", SIXTEEN), ("wheat", 'width = "30 ft"')),
            (
                "plan.toml: 2 faults\n"
                "  strips[1]: wheat can't follow corn in a strip of 40 ft: that is 1.33 passes of "
                "drill, 30 ft wide; whole multiples of 120 ft would be whole for both planters, or "
                "leave crops in their places with swap = false under [season]\n"
                "  strips[2]: corn can't follow wheat in a strip of 30 ft: that is 0.75 passes of "
                "planter, 40 ft wide; whole multiples of 120 ft would be whole for "
                "both planters, or "
                "leave crops in their places with swap = false under [season]"
            ),
        ),
        (
            (("soybean", FORTY_EIGHT), ("corn", SIXTEEN)),
            "",
        ),
    ],
)
def test_widths_that_the_other_planter_does_not_make_are_refused(each, said):
    plan = planned(strips(*each))
    if not said:
        assert next_of(plan) == [("corn", 120), ("soybean", 40)]
        return
    with pytest.raises(PlanError) as refused:
        rotated(plan, sections_of(plan)[0])
    assert str(refused.value) == said


def test_a_header_that_does_not_fit_is_refused_where_the_first_one_did():
    shed = SHED.replace("rows = 8", "rows = 24")
    plan = planned(strips(("corn", FORTY_EIGHT), ("soybean", SIXTEEN)), shed)
    with pytest.raises(PlanError, match=r"strips\[2\]: corn can't follow soybean in a strip of 40"):
        rotated(plan, sections_of(plan)[0])


def test_a_crop_without_a_place_in_the_sequence():
    plan = planned(
        strips(("corn", SIXTEEN), ("soybean", SIXTEEN)) + '[season]\nsequence = ["corn", "wheat"]\n'
    )
    with pytest.raises(PlanError) as refused:
        followers(plan, ["corn", "soybean"])
    assert str(refused.value) == (
        "plan.toml: season.sequence: does not hold soybean, which strips grow; add it in its place"
    )


@pytest.mark.parametrize(
    ("written", "said"),
    [
        (
            '["corn", "oats"]',
            'plan.toml: season.sequence: no crop "oats"; known are corn, soybean, wheat, duo',
        ),
        (
            '["corn", "corn"]',
            (
                'plan.toml: season.sequence: ["corn", "corn"] names a crop twice; what follows it '
                'could then not be told; for example sequence = ["corn", "soybean", "wheat"]'
            ),
        ),
        (
            '"corn"',
            (
                'plan.toml: season.sequence: "corn" must be a list of two names or more, such as '
                '["corn", "soybean"]; for example sequence = ["corn", "soybean", "wheat"]'
            ),
        ),
    ],
)
def test_a_sequence_that_can_not_be(written, said):
    with pytest.raises(PlanError) as refused:
        planned(f"[season]\nsequence = {written}\n")
    assert str(refused.value) == said


def test_unequal_strips_swap_with_their_shares():
    plan = planned(strips(("corn", SIXTEEN), ("soybean", FORTY_EIGHT)))
    said = said_of_swap(plan, ["corn", "soybean"], [12.192, 36.576])
    assert said == (
        "unequal widths: crops that swap places next season take each other's shares of land"
    )


def told(changes, before, after, operations=()):
    table = crop_table()
    facts = {name: facts_of(name, table, None) for name in ("corn", "soybean", "winter_wheat")}
    return list(after_notices(changes, facts, (before, after), operations))


@pytest.mark.parametrize("ended", [None, date(2027, 4, 20)])
def test_ground_under_a_cover_crop_is_not_told_bare(ended):
    """Rye in the corn's strips stands until 21 days before soybean, or until no one knows when."""
    spans = {
        "corn": (date(2026, 5, 1), date(2026, 10, 20)), "winter_wheat": (date(2026, 10, 25), ended),
    }  # fmt: skip
    later = {"soybean": (date(2027, 5, 11), None)}
    change = Change("corn", ("corn", "winter_wheat"), ("soybean",))
    assert not [text for text in texts(told([change], spans, later)) if "stand bare" in text]


def test_days_labels_and_diseases_are_told_in_words():
    spans = {"corn": (date(2026, 5, 1), date(2026, 10, 20)), "soybean": (date(2026, 5, 11), None)}
    later = {"corn": (date(2027, 5, 1), None), "soybean": (date(2027, 5, 11), None)}
    spray = OperationWish(does="spray", machine="sprayer", crops=["corn"], product="product A")
    changes = [
        Change("corn", ("corn",), ("soybean",)), Change("soybean", ("soybean",), ("corn",)),
    ]  # fmt: skip
    found = texts(told(changes, spans, later, [spray]))
    assert found == [
        (
            "strips stand bare, those of corn 203 days, 2026-10-20 to 2027-05-11: time for a cover "
            "crop, or after an early harvest for a second crop, by [[after_harvest]] in this "
            "season's plan; --after CROP puts one into the next; ask locally which still grows, "
            "and read the labels whether it may be sown there"
        ),
        (
            "before the next crop is sown, the plant-back interval must be over for "
            "all that its strip "
            "was treated with (in the plan: corn product A); the labels name it crop "
            "by crop, and they "
            "decide"
        ),
        (
            "soybean and corn after each other: legumes and grasses; both may host "
            "corn earworm, fall "
            "armyworm, stink bugs, spider mites, slugs, cutworms, grasshoppers, "
            "root-knot nematodes "
            "(not a whole list; ask locally) (from memory)"
        ),
    ]


def test_a_crop_sown_where_the_last_one_stands_stops():
    spans = {"corn": (date(2026, 5, 1), date(2026, 10, 20))}
    later = {"winter_wheat": (date(2026, 10, 5), date(2027, 7, 8))}
    found = told([Change("corn", ("corn",), ("winter_wheat",))], spans, later)
    assert [(str(one), one.severity) for one in found if one.severity == "stop"] == [
        (
            (
                "winter_wheat is to be sown 2026-10-05 where corn stands until 2026-10-20; sow it "
                "later, or another crop, or harvest sooner"
            ),
            "stop",
        )
    ]
    again = texts(told([Change("corn", ("corn",), ("corn",))], {}, {}))
    assert again[-1] == (
        "corn again after corn: pests and diseases that stay in its residue and soil meet it "
        "again; ask locally (common practice, no source)"
    )
