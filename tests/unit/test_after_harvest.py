"""Second crops and cover crops sown where a strip's own crop was harvested."""

import re
from datetime import date

import pypdfium2 as pdfium
import pytest
from fields import AROUND, SHED, assert_whole, lay_on, square, texts, write_plan_for

from striplay.errors import PlanError, RecordError
from striplay.files.plan import read_plan
from striplay.following import next_plan
from striplay.growing import season_of
from striplay.handover import save
from striplay.paying import pay
from striplay.recording import open_records
from striplay.records.words import read_entry
from striplay.section.systems import sections_of

DATED = SHED.replace(
    "[crops.corn]", "[crops.corn]\nsown = 2026-05-01\nharvested = 2026-10-01"
).replace("[crops.soybean]", "[crops.soybean]\nsown = 2026-05-10\nharvested = 2026-09-25")
COVER = """
[machines.drill]
does = "plant"
width = "20 ft"
spacing = "7.5 in"
[crops.rye]
planter = "drill"
harvester = "none"
rate = "60 lb/acre"
unit = "50 lb"
sown = 2026-10-05
harvested = 2027-04-20
"""
STRIPS = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
RYE = '[[after_harvest]]\ncrop = "rye"\nafter = "corn"\n'
DOUBLE = """
[machines.drill]
does = "plant"
width = "40 ft"
spacing = "7.5 in"
[crops.wheat]
planter = "drill"
harvester = "platform"
sown = 2025-10-05
harvested = 2026-07-05
[crops.late_soybean]
like = "soybean"
planter = "planter"
harvester = "platform"
rate = "160000 seeds/acre"
sown = 2026-07-08
harvested = 2026-10-20
"""

PRICED = (
    (DATED + DOUBLE)
    .replace(
        "[crops.late_soybean]", '[crops.late_soybean]\nyield = "50 bu/acre"\nprice = "11 per bu"'
    )
    .replace("[crops.corn]", '[crops.corn]\nyield = "180 bu/acre"\nprice = "4 per bu"')
    .replace("[crops.wheat]", '[crops.wheat]\nyield = "70 bu/acre"\nprice = "6 per bu"')
)


@pytest.fixture(scope="module")
def cover(tmp_path_factory):
    """Corn and soybean in strips of 40 ft, rye after the corn."""
    folder = tmp_path_factory.mktemp("cover")
    return lay_on(folder, square(660), shed=DATED + COVER, strips=STRIPS + RYE, headland=AROUND)


def test_rye_after_corn_is_drilled_over_all_of_its_strips(cover):
    """64 rows of a drill 7.5 in apart on 40 ft; 60 lb an acre of the strips' ground."""
    section = cover.section
    rye = [row for row in section.rows if row.label == "rye"]
    assert len(rye) == 64
    assert {row.strip for row in rye} == {0}
    assert {(one.grown, one.host, one.number) for row in rye for one in row.sown} == {
        ("after harvest", "corn", 1)
    }
    passes = [one for one in section.passes if one.layer == 1]
    assert [(one.operation, one.machine, one.crop) for one in passes] == [
        ("plant", "drill", "rye")
    ] * 2
    assert sorted(row for one in passes for row in one.rows) == [
        place for place, row in enumerate(section.rows) if row.label == "rye"
    ]
    assert_whole(cover)
    corn, sown = cover.land_accounts["crops"]["corn"], cover.land_accounts["crops"]["rye"]
    assert sown["seed_kg"] == pytest.approx(
        corn["area_m2"] * 60 * 0.45359237 / 4046.8564224, rel=1e-3
    )


def test_the_season_is_told_and_ordered(cover, tmp_path):
    jobs = [judged.job.name for judged in cover.operations.each]
    assert jobs.index("harvest corn") < jobs.index("plant rye")
    said = texts(cover.season.notices)
    assert any("rye after corn: sown 2026-10-05, it has 197 days until 2027-04-20" in one
               for one in said)  # fmt: skip
    assert any("before rye is sown after corn, the plant-back interval" in one for one in said)
    assert any("corn and rye after each other" in one for one in said)
    early = (DATED + COVER).replace("2026-10-05", "2026-09-28")
    path = write_plan_for(tmp_path, square(660), shed=early, strips=STRIPS + RYE)
    plan = read_plan(path)
    told = texts(season_of(plan, sections_of(plan)[0]).notices)
    assert any("rye is to be sown after corn, which stands until 2026-10-01; sow it then or later"
               in one for one in told)  # fmt: skip


@pytest.fixture(scope="module")
def double(tmp_path_factory):
    """Wheat and corn in strips of 40 ft, soybean after the wheat, with prices."""
    folder = tmp_path_factory.mktemp("double")
    strips = '[[strips]]\ncrop = "wheat"\nwidth = "40 ft"\n[[strips]]\ncrop = "corn"\nrows = 16\n'
    after = '[[after_harvest]]\ncrop = "late_soybean"\nafter = "wheat"\nyield_share = 0.7\n'
    weather = '[weather]\nfile = "weather.csv"\n'
    days = [f"2026-{month}-{day:02d},{50 if month < 10 else 30},80"
            for month in (7, 8, 9, 10) for day in range(1, 31)]  # fmt: skip
    rows = [
        one.replace("-7-", "-07-").replace("-8-", "-08-").replace("-9-", "-09-") for one in days
    ]
    (folder / "weather.csv").write_text("day,least,greatest\n" + "\n".join(rows) + "\n")
    return lay_on(folder, square(660), shed=PRICED, strips=strips + after + weather)


def test_a_double_crop_is_told_short_of_days_and_of_frost(double):
    """FAO-56 gives soybean 140 days in the central United States; 8 July to 20 October are 104."""
    said = texts(double.season.notices)
    (one,) = [one for one in said if one.startswith("late_soybean after wheat")]
    assert "it has 104 days until 2026-10-20; soybean takes 140 (FAO-56" in one
    assert "the weather given freezes on 2026-10-01, while it stands" in one


def test_a_double_crop_adds_to_the_yield_of_its_ground(double):
    """70 % of 50 bu on the wheat's ground; wheat yields as alone, so the ratio is above 1."""
    found = pay(double)
    late, wheat = (found.system.crops[name] for name in ("late_soybean", "wheat"))
    assert late.area_m2 == pytest.approx(wheat.area_m2)
    assert late.inner_m2 == pytest.approx(0.7 * wheat.inner_m2)


@pytest.mark.parametrize(
    ("strips", "said"),
    [
        (RYE.replace('"rye"', '"soybean"'), "after_harvest[1].crop: soybean is planted by itself"),
        (RYE.replace('"corn"', '"maize"'), 'after_harvest[1].after: no crop "maize"'),
        (RYE + RYE, "after_harvest[2]: sows rye after corn twice"),
    ],
)
def test_what_can_not_follow_is_refused(tmp_path, strips, said):
    path = write_plan_for(tmp_path, square(660), shed=DATED + COVER, strips=STRIPS + strips)
    with pytest.raises(PlanError, match=re.escape(said)):
        read_plan(path)


def test_a_day_of_sowing_is_asked_for(tmp_path):
    shed = (DATED + COVER).replace("sown = 2026-10-05\n", "")
    path = write_plan_for(tmp_path, square(660), shed=shed, strips=STRIPS + RYE)
    with pytest.raises(PlanError, match=r"crops\.rye\.sown: is missing: \[\[after_harvest\]\]"):
        read_plan(path)


def test_work_that_names_it_is_done_to_it_and_work_on_all_is_not(tmp_path):
    work = (
        '[[operations]]\ndoes = "spray"\nmachine = "sprayer"\nday = 2026-06-01\nname = "weeds"\n'
        '[[operations]]\ndoes = "spray"\nmachine = "sprayer"\ncrops = ["rye"]\nday = 2027-04-15\n'
        'name = "end rye"\n'
    )
    layout = lay_on(tmp_path, square(660), shed=DATED + COVER, strips=STRIPS + RYE + work)
    found = {judged.job.name: judged for judged in layout.operations.each}
    rye_m2 = layout.land_accounts["crops"]["rye"]["area_m2"]
    assert found["end rye"].route.area_m2.sum() == pytest.approx(rye_m2, rel=1e-6)
    assert found["weeds"].job.crops == ("corn + soybean",)
    assert [one.job.name for one in layout.operations.each][-1] == "end rye"


def test_next_season_has_it_where_it_was_and_takes_one_more(cover, tmp_path):
    found = next_plan(cover, tmp_path / "next.toml")
    assert found.layout.plan.after_harvest == cover.plan.after_harvest
    assert ("rye", "corn") in [(one.label, one.host) for one in found.layout.section.layers]
    said = texts(found.notices)
    # rye covers the corn's ground until 20 days before soybean: too few to be told as bare
    (bare,) = (one for one in said if "stand bare" in one)
    assert "those of soybean 218 days, 2026-09-25 to 2027-05-01" in bare
    assert "those of corn" not in bare
    assert not any("soybean and rye" in one for one in said)
    more = next_plan(cover, tmp_path / "next.toml", "rye")
    assert [(one.crop, one.after) for one in more.layout.plan.after_harvest] == [
        ("rye", "corn"), ("rye", "soybean"),
    ]  # fmt: skip
    assert any("rye, sown 2026-10-05, does not follow corn, which another crop follows already"
               in one for one in texts(more.notices))  # fmt: skip
    (job,) = [one.job for one in more.layout.operations.each if one.job.name == "plant rye"]
    assert str(job.day) == "2027-10-05"
    with pytest.raises(PlanError, match=r"crops\.vetch: is not in the plan; --after needs it"):
        next_plan(cover, tmp_path / "next.toml", "vetch")


def test_pages_name_what_follows_what(cover, tmp_path):
    save(cover, tmp_path / "out", files=["map-book", "field-page"])
    pages = pdfium.PdfDocument(tmp_path / "out" / "mapbook.pdf")
    words = " ".join(page.get_textpage().get_text_range() for page in pages)
    for said in ("rye, after corn", "R rye after corn", "64 rows a strip, not drawn"):
        assert said in words, said
    assert "ended 2027-04-20" in words
    assert '"after": true' in (tmp_path / "out/field.html").read_text().replace(":true", ": true")


def test_grain_of_a_strip_with_a_cover_crop_is_of_the_crop_that_is_harvested(cover, tmp_path):
    store = tmp_path / "records.gpkg"
    day = date(2026, 12, 1)
    with open_records(cover.plan, store, layout=cover) as records:
        given = {"date": "2026-10-02", "strip": "1", "grain": "4000 lb", "moisture": "15 %"}
        entry = read_entry("yield", given, records.edition, day, tmp_path)
        assert entry.crop == "corn"
        records.add([entry], today=day)
    with open_records(cover.plan, store) as records:  # the edition as the store holds it
        assert read_entry("yield", given, records.edition, day, tmp_path) == entry
        counted = {"date": "2026-10-20", "strip": "1", "stand_count": "20", "frame": "1 ft2"}
        with pytest.raises(RecordError, match="strip 1 has corn, rye; say which"):
            read_entry("stand", counted, records.edition, day, tmp_path)


@pytest.mark.parametrize(
    ("day", "said"), [("2027-04-20", []), ("2027-04-21", ["it is ended by 2027-04-20"])]
)
def test_the_spray_that_ends_a_cover_crop_is_on_its_last_day(tmp_path, day, said):
    ends = f'\n[[operations]]\ndoes = "spray"\nmachine = "sprayer"\ncrops = ["rye"]\nday = {day}\n'
    strips = STRIPS + RYE + ends
    layout = lay_on(tmp_path, square(400), shed=DATED + COVER, strips=strips, headland=AROUND)
    told = [text for text in texts(layout.notices) if "is the day right?" in text]
    assert [text.split(": ")[-1].split(";")[0] for text in told] == said
