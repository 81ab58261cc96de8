"""A crop that is not harvested says so: harvester = "none"; one left out keeps its notice."""

import pytest
from fields import SHED, STRIPS, lay_on, square, texts, write_plan_for

from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.growing import season_of
from striplay.section.systems import sections_of

SOWN = {
    "corn": "sown = 2026-05-01\nharvested = 2026-10-01",
    "soybean": "sown = 2026-05-20\nharvested = 2026-09-20",
}
HARVESTER = 'harvester = "corn_head"\n'
COVER = 'harvester = "none"\n'
NARROW = STRIPS.replace("rows = 48", "rows = 16")
ON_CORN = '[headland]\nwhere = "around"\npasses = 2\nmachine = "planter"\ncrop = "corn"\n'


def shed(corn=HARVESTER):
    text = SHED.replace(HARVESTER, corn)
    for crop, days in SOWN.items():
        text = text.replace(f"[crops.{crop}]\n", f"[crops.{crop}]\n{days}\n")
    return text


def conflicts(folder, corn, **parts):
    """Give what stands in the way on a square; the platform reaches over the corn beside."""
    wide = shed(corn).replace('width = "30 ft"', 'width = "60 ft"')
    plan = read_plan(write_plan_for(folder, square(), shed=wide, strips=NARROW, **parts))
    return [one.said for one in season_of(plan, sections_of(plan)[0]).conflicts]


def test_left_out_is_told_and_none_is_not(tmp_path):
    said = "corn: no harvester is given, so no harvest passes are drawn"
    assert said in texts(lay_on(tmp_path, square(1320), shed=shed("")).notices)
    cover = lay_on(tmp_path, square(1320), shed=shed(COVER))
    assert not any("harvester" in text for text in texts(cover.notices))
    assert {
        one["machine"] for one in cover.accounts["passes"] if one["operation"] == "harvest"
    } == {"platform"}


def test_it_is_no_conflict_to_drive_over_it(tmp_path):
    over = "platform would run over corn, standing until 2026-10-01, beside soybean"
    turns = "sowing of soybean turns on the headland's corn, which stands until 2026-10-01"
    assert over in conflicts(tmp_path, HARVESTER, headland=ON_CORN)
    assert turns in conflicts(tmp_path, HARVESTER, headland=ON_CORN)
    assert over in conflicts(tmp_path, "", headland=ON_CORN)
    assert conflicts(tmp_path, COVER, headland=ON_CORN) == []


def test_it_may_itself_be_in_the_way_of_none_but_runs_over_others(tmp_path):
    """Sowing a cover crop over a standing one is still a conflict: that one is harvested."""
    late = shed(COVER).replace("sown = 2026-05-01\nharvested = 2026-10-01", "sown = 2026-07-15")
    relay = '[[relay]]\ncrop = "corn"\ninto = "soybean"\n'
    plan = read_plan(
        write_plan_for(
            tmp_path,
            square(),
            shed=late,
            strips='[[strips]]\ncrop = "soybean"\nrows = 48\n' + relay,
        )
    )
    assert season_of(plan, sections_of(plan)[0]).conflicts == []


def test_a_quick_cover_crop_need_not_leave(tmp_path):
    quick = '[[quick_crop]]\ncrop = "corn"\ninto = "soybean"\n'
    strips = '[[strips]]\ncrop = "soybean"\nrows = 48\n' + quick
    text = shed("").replace("harvested = 2026-10-01", "").replace(
        "harvested = 2026-09-20", "harvested = 2026-09-20\ncanopy_closure = 2026-07-01"
    )  # fmt: skip
    said = "whether corn is harvested in time is not known without crops.corn.harvested"
    for harvester, is_told in (("", True), (COVER, False)):
        own = text.replace("emergence", f"{harvester}emergence")
        plan = read_plan(write_plan_for(tmp_path, square(), shed=own, strips=strips))
        found = [one.said for one in season_of(plan, sections_of(plan)[0]).conflicts]
        assert (said in found) is is_told


def test_fit_says_not_harvested(tmp_path):
    from striplay.section.fit import judge_widths  # noqa: PLC0415

    plan = read_plan(write_plan_for(tmp_path, square(), shed=shed(COVER)))
    fits = judge_widths(plan, "corn", 20.0, (0.4, 0.4))
    assert "not harvested" in fits[0].reason
    assert "no harvester named" not in fits[0].reason


def test_a_mixture_may_be_a_cover_crop(tmp_path):
    mixed = (
        '[mixtures.cover]\nplanter = "planter"\nharvester = "none"\n'
        "parts = { corn = 0.5, soybean = 0.5 }\n"
    )
    layout = lay_on(
        tmp_path, square(1320), shed=SHED + mixed, headland='[headland]\nwhere = "none"\n',
        strips='[[strips]]\ncrop = "cover"\nrows = 16\n',
    )  # fmt: skip
    assert not any("harvester" in text for text in texts(layout.notices))


def test_no_machine_has_that_name(tmp_path):
    named = SHED.replace("machines.corn_head", "machines.none").replace('"corn_head"', '"none"')
    with pytest.raises(PlanError, match='is the word for no harvester, harvester = "none"'):
        read_plan(write_plan_for(tmp_path, square(), shed=named))
