"""Second crops and cover crops sown where a strip's own crop was harvested."""

import re
from datetime import date

import numpy as np
import pypdfium2 as pdfium
import pytest
import shapely
from fields import AROUND, FOOT_M, SHED, assert_whole, lay_on, square, texts, write_plan_for

from striplay.accounts.overlap import planted_twice_m2
from striplay.errors import PlanError, RecordError
from striplay.files.plan import read_plan
from striplay.following import next_plan
from striplay.growing import season_of
from striplay.handover import save
from striplay.operations.under import rows_under
from striplay.paying import pay
from striplay.recording import open_records
from striplay.records.words import read_entry
from striplay.report import layout_report
from striplay.section.systems import sections_of
from striplay.sheets.book import book_of
from striplay.sheets.legend import land_rows
from striplay.sheets.strip_numbers import crops_at
from striplay.tables import sown_table
from striplay.units import ACRE_M2
from striplay.zones import zones_of

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
NONE = '[headland]\nwhere = "none"\n'
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


def test_acres_of_what_follows_a_harvest_are_told_and_those_it_skips(cover):
    """Rye has the corn's ground, told under the sum: the rest adds up to the field without it."""
    acres = {name: one["area_m2"] / ACRE_M2 for name, one in cover.land_accounts["crops"].items()}
    assert acres["rye"] == pytest.approx(acres["corn"])
    lines = layout_report(cover.plan, cover.accounts)
    corn, rye = (re.search(rf"^{name} +\d+ +([\d.]+ ac)", "\n".join(lines), re.MULTILINE)[1]
                 for name in ("corn", "  then rye"))  # fmt: skip
    assert rye == corn == f"{acres['corn']:.2f} ac"
    rows = land_rows(cover, book_of(cover))
    names = [row.text for row in rows]
    under = rows[names.index("field") + 1 :]
    assert [(row.text, row.right) for row in under] == [("rye, after corn", corn)]
    parts = [float(row.right.split()[0]) for row in rows[: names.index("field") + 1]]
    assert sum(parts[:-1]) == pytest.approx(parts[-1])
    headland = cover.areas_m2["headland"] / ACRE_M2
    (said,) = (one for one in texts(cover.notices) if one.startswith("rye is sown in strips only"))
    assert f"the headland, {headland:.2f} ac, has none" in said


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
    for said in (
        "rye, after corn",
        "R rye after corn",
        "rye after corn: drilled 20 ft wide, 60 lb/acre",
    ):
        assert said in " ".join(words.split()), said
    assert "64 rows" not in words
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


TOOLS = """
[machines.roller]
does = "mow"
width = "30 ft"
[machines.disk]
does = "till"
width = "35 ft"
"""
RYE_TOO = RYE.replace('"corn"', '"soybean"')
NARROW = STRIPS.replace("16", "8")
NARROW_SHED = (DATED + COVER + TOOLS).replace("rows = 16", "rows = 8")
HOLDS = NARROW_SHED.replace('width = "120 ft"', 'width = "120 ft"\nholds = "100 gal"')


def work_on(*crops):
    """Spray, roll and disk some crops in April, each a day after the other."""
    each = [
        ("spray", "sprayer", "end", 15),
        ("mow", "roller", "roll", 16),
        ("till", "disk", "disk", 17),
    ]
    named = ", ".join(f'"{crop}"' for crop in crops)
    sprayed = '\nproduct = "burndown"\nrate = "15 gal/acre"'
    return "".join(
        f'[[operations]]\ndoes = "{does}"\nmachine = "{machine}"\n'
        f'name = "{name}"\ncrops = [{named}]\n'
        f"day = 2027-04-{day}{sprayed if does == 'spray' else ''}\n"
        for does, machine, name, day in each
    )


@pytest.fixture(scope="module")
def everywhere(tmp_path_factory):
    """Strips of 20 ft on 600 ft by 400 without headland; rye after corn and after soybean."""
    folder = tmp_path_factory.mktemp("everywhere")
    field = shapely.box(-300 * FOOT_M, -200 * FOOT_M, 300 * FOOT_M, 200 * FOOT_M)
    strips = NARROW + RYE + RYE_TOO + work_on("rye")
    return lay_on(folder, field, shed=HOLDS, strips=strips, headland=NONE)


def assert_each_row_is_worked_once(layout, route, driven_in=0.0):
    """Every row of rye lies under one pass of a route from end to end, and no other row does.

    Where a slanting side parts a pass, it may drive in over a share of rows already worked.
    """
    block = layout.laid.blocks[0]
    rows, section = block.pieces.rows, layout.section
    worked = np.zeros(len(rows.kind))
    for group in route.groups:
        _, row, share = rows_under(group, rows, section, block.path)
        np.add.at(worked, row, share)
    labels = np.array([row.label for row in section.rows])[rows.kind]
    assert worked == pytest.approx(np.where(labels == "rye", 1.0, 0.0), abs=max(driven_in, 1e-9))
    assert (labels == "rye").any()


@pytest.mark.parametrize(
    ("name", "count"),
    # 600 ft are 5 booms of 120 ft and 20 rollers of 30; a disk of 35 ft makes 6 passes in 200 ft
    [("end", 5), ("roll", 20), ("disk", 18)],
)
def test_what_stands_in_every_strip_is_worked_across_them(everywhere, name, count):
    """Strip by strip there were 30 passes of each."""
    judged = {one.job.name: one for one in everywhere.operations.each}
    route = judged[name].route
    assert len(route) == count
    assert shapely.length(route.line).sum() == pytest.approx(count * 400 * FOOT_M, rel=1e-6)
    assert route.area_m2.sum() == pytest.approx(600 * 400 * FOOT_M**2, rel=1e-9)
    assert_each_row_is_worked_once(everywhere, route)


def test_a_tool_that_shuts_nothing_off_is_said_to_work_at_full_width_across_strips(everywhere):
    """A disk of 35 ft runs on lines 33.3 ft apart: it is all in the ground on every pass."""
    judged = {one.job.name: one for one in everywhere.operations.each}
    for name in ("roll", "disk"):
        assert set(judged[name].route.rows_on) == {"full width on"}


def test_a_cover_crop_is_sprayed_on_the_lines_of_the_crops_before_it(everywhere):
    judged = {one.job.name: one for one in everywhere.operations.each}
    across_m = [np.sort(shapely.bounds(judged[name].route.line)[:, 0])
                for name in ("spray corn", "spray soybean", "end")]  # fmt: skip
    assert across_m[0] == pytest.approx(across_m[1], abs=1e-6)
    assert across_m[0] == pytest.approx(across_m[2], abs=1e-6)
    end = judged["end"]
    # 600 x 400 ft at 15 gal an acre, from a tank of 100
    needed_gal = 600 * 400 / 43560 * 15
    assert end.amounts[0].by_unit["m3"].sum() == pytest.approx(needed_gal * 0.003785411784)
    assert end.fills is not None
    assert end.hours.worked_s.sum() == pytest.approx(5 * 400 * FOOT_M / (10 * 0.44704), rel=1e-6)
    assert not [one for one in texts(everywhere.notices) if "would" in one and "2027" in one]
    lines = everywhere.section.tramlines
    assert {one.machine: one.crops for one in lines} == {
        "sprayer": ("corn", "soybean", "rye"), "roller": ("rye",), "disk": ("rye",),
    }  # fmt: skip
    (kept,) = everywhere.section.before_harvest().tramlines
    assert kept.crops == ("corn", "soybean")


def test_over_one_of_two_crops_only_what_shuts_off_goes_across(tmp_path):
    """Rye in every other strip: a boom shuts off over the others, a roller can't."""
    strips = NARROW + RYE + work_on("rye")
    path = write_plan_for(tmp_path, square(600), shed=NARROW_SHED, strips=strips, headland=NONE)
    section = sections_of(read_plan(path))[0]
    assert {one.machine: one.crops for one in section.tramlines} == {
        "sprayer": ("corn", "soybean", "rye")
    }
    by_strip = [
        (one.machine, one.strip) for one in section.passes if one.operation in {"mow", "till"}
    ]
    assert by_strip == [("disk", 0), ("roller", 0)]


def test_two_cover_crops_that_stand_side_by_side_are_one_ground_where_both_are_worked(tmp_path):
    vetch = COVER.split("[crops.rye]")[1]
    shed = f"{NARROW_SHED}\n[crops.vetch]{vetch}"
    strips = NARROW + RYE + RYE_TOO.replace('"rye"', '"vetch"')
    for crops, lined in ((("rye", "vetch"), True), (("rye",), False)):
        path = write_plan_for(
            tmp_path, square(600), shed=shed, strips=strips + work_on(*crops), headland=NONE
        )
        section = sections_of(read_plan(path))[0]
        assert [one.machine for one in section.tramlines if one.machine == "roller"] == [
            "roller"
        ] * lined


def test_strips_as_wide_as_half_a_boom_go_by_strip_and_the_cover_crop_across(tmp_path):
    """Own crops make as many passes either way: 4 on 160 ft of strips of 40; the rye 2 of 80."""
    shed = (
        (DATED + COVER + TOOLS)
        .replace('"120 ft"', '"80 ft"')
        .replace("sections = 12", "sections = 3")
    )
    strips = STRIPS + RYE + RYE_TOO + work_on("rye")
    field = shapely.box(-80 * FOOT_M, -60, 80 * FOOT_M, 60)
    layout = lay_on(tmp_path, field, shed=shed, strips=strips, headland=NONE)
    counts = {one.job.name: len(one.route) for one in layout.operations.each}
    assert [counts[name] for name in ("spray corn", "spray soybean", "end")] == [2, 2, 2]
    assert [one.crops for one in layout.section.tramlines if one.machine == "sprayer"] == [("rye",)]
    assert not [one for one in texts(layout.notices) if "its sections end" in one]
    assert [one.machine for one in layout.point_rows].count("sprayer") == 1


def test_rows_of_a_drill_after_a_harvest_are_not_numbered(cover, everywhere):
    """They lie evenly over each strip: nominal lines, whatever its openers; corn's are real."""
    for layout in (cover, everywhere):
        assert set(layout.rows["crop"]) == {"corn", "soybean"}
        sown = sown_table(layout.plan, layout.laid, layout.figures)
        assert sown.loc[sown["crop"] == "rye", "rows"].isna().all()
        assert (sown.loc[sown["crop"] == "corn", "rows"] > 0).all()
        assert layout.land_accounts["crops"]["rye"]["row_length_m"] == 0.0
    assert not [one for one in texts(everywhere.notices) if "of rye it plants" in one]


def test_a_crop_that_follows_two_harvests_is_told_of_once(everywhere):
    said = texts(everywhere.season.notices)
    (one,) = [one for one in said if "it has 197 days until" in one]
    assert one.startswith("rye after corn and soybean: sown 2026-10-05")
    (one,) = [one for one in said if "plant-back" in one]
    assert one.startswith("before rye is sown after corn and soybean, ")


@pytest.fixture(scope="module")
def mixed(tmp_path_factory):
    """Rye and vetch in one drill after corn and after soybean, in strips of 20 ft."""
    parts = COVER.split("[crops.rye]")[1]
    mixture = (
        f"[crops.vetch]{parts}\n[mixtures.rye_vetch]\n"
        'planter = "drill"\nharvester = "none"\nparts = {rye = 0.6, vetch = 0.6}\n'
    )
    after = (RYE + RYE_TOO + work_on("rye")).replace('"rye"', '"rye_vetch"')
    field = shapely.box(-120 * FOOT_M, -60, 120 * FOOT_M, 60)
    folder = tmp_path_factory.mktemp("mixed")
    return lay_on(folder, field, shed=NARROW_SHED + mixture, strips=NARROW + after, headland=NONE)


def test_a_mixture_after_harvest_stands_on_maps_and_in_lists(mixed, tmp_path):
    save(mixed, tmp_path / "out", files=["map-book", "field-page"])
    pages = pdfium.PdfDocument(tmp_path / "out" / "mapbook.pdf")
    words = " ".join(" ".join(p.get_textpage().get_text_range().split()) for p in pages)
    assert "rye after corn and soybean: drilled 20 ft wide, 36 lb/acre" in words
    assert "rye_vetch, after corn and soybean" in words
    assert not [one for one in texts(mixed.notices) if "nowhere on the field" in one]
    assert len({one.job.name: one for one in mixed.operations.each}["end"].route) == 2


def test_the_map_of_work_on_a_cover_crop_shows_that_crop(everywhere, mixed):
    jobs = {one.job.name: one.job for one in everywhere.operations.each}
    assert set(crops_at(everywhere, jobs["end"])) == {"rye"}
    assert set(crops_at(everywhere, jobs["harvest corn"])) == {"corn", "soybean"}
    assert {one.job.name: set(crops_at(mixed, one.job)) for one in mixed.operations.each}[
        "end"
    ] == {"rye_vetch"}


@pytest.fixture(scope="module")
def drilled(tmp_path_factory):
    """A triangle 240 m wide and high, strips of 20 ft; rye after both, drilled 30 ft wide."""
    shed = NARROW_SHED.replace('width = "20 ft"\nspacing = "7.5', 'width = "30 ft"\nspacing = "7.5')
    field = shapely.Polygon([(-120, -120), (120, -120), (40, 120)])
    folder = tmp_path_factory.mktemp("drilled")
    return lay_on(folder, field, shed=shed, strips=NARROW + RYE + RYE_TOO, headland=NONE)


def test_what_a_drill_sows_in_every_strip_it_sows_across_them(drilled):
    """Its lines lie 30 ft apart, at the strips' edges or amid a strip; strip by strip 20 ft."""
    (lines,) = (one for one in drilled.section.tramlines if one.machine == "drill")
    assert np.array(lines.middles_m) / FOOT_M == pytest.approx([15, 45, 75, 105])
    assert not [one for one in drilled.section.passes if one.machine == "drill"]
    (judged,) = (one for one in drilled.operations.each if one.job.name == "plant rye")
    assert_each_row_is_worked_once(drilled, judged.route, driven_in=0.01)
    rye = drilled.land_accounts["crops"]["rye"]
    assert judged.route.area_m2.sum() == pytest.approx(rye["area_m2"], rel=1e-4)
    kg_m2 = 60 * 0.45359237 / 4046.8564224
    assert judged.amounts[0].by_unit["kg"].sum() == pytest.approx(
        kg_m2 * judged.route.area_m2.sum(), rel=1e-6
    )
    zones = zones_of(drilled.plan, drilled.laid, judged)
    assert len(zones) == len(set(drilled.strips["strip"]))
    assert {round(rate.per_m2.value / kg_m2, 6) for zone in zones for rate in zone.rates} == {1.0}
    assert not [one for one in texts(drilled.notices) if "of rye it plants" in one]


def test_what_a_drill_sows_twice_across_strips_is_what_its_slanting_ends_are(drilled):
    """Ends shift by 480 m in all: a pass w wide sows w / 2 of that twice, less a row's."""
    by_layer = dict(
        zip(drilled.section.layers, planted_twice_m2(drilled.plan, drilled.laid), strict=True)
    )
    rye_m2 = sum(m2 for layer, m2 in by_layer.items() if layer.crop == "rye")
    whole_m2 = (30 * FOOT_M - 7.5 * 0.0254) / 2 * 480
    assert 0.85 * whole_m2 < rye_m2 < whole_m2  # passes that a side parts are narrower
    found = {one.machine: one for one in drilled.point_rows}["drill"]
    assert found.area_m2 == pytest.approx(rye_m2)
    assert found.with_m2 < 0.01 * found.without_m2


def test_a_row_planter_sows_strip_by_strip_after_a_harvest(tmp_path):
    """Its rows are real: those of one pass over two strips need not meet them."""
    shed = PRICED.replace(
        'planter = "planter"\nharvester = "platform"\nrate = "16',
        'planter = "narrow"\nharvester = "platform"\nrate = "16',
    )
    shed += '[machines.narrow]\ndoes = "plant"\nrows = 12\nspacing = "30 in"\n'
    strips = '[[strips]]\ncrop = "wheat"\nwidth = "40 ft"\n'
    after = '[[after_harvest]]\ncrop = "late_soybean"\nafter = "wheat"\nyield_share = 0.7\n'
    path = write_plan_for(tmp_path, square(600), shed=shed, strips=strips + after, headland=NONE)
    section = sections_of(read_plan(path))[0]
    assert [one.strip for one in section.passes if one.machine == "narrow"] == [0, 0]
    assert not [one for one in section.tramlines if one.machine == "narrow"]
