"""Seed: to buy, rounded up once; by weight without a size; and what a rate comes to in a row."""

import csv
import json
import math

import pytest
import shapely
from books import texts_of, told
from fields import (
    AROUND,
    NAMES,
    SAMPLES,
    SHED,
    STRIPS,
    lay_on,
    sample,
    square,
    texts,
    write_plan_for,
)

from striplay.accounts.count import Seed, crop_account
from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.handover import save
from striplay.plan.crops import Crop
from striplay.report import layout_report
from striplay.section.seeding import row_rates
from striplay.section.systems import sections_of
from striplay.sheets.index_sheets import index_story
from striplay.sheets.seed_sheets import seed_story
from striplay.sheets.spoken import spoken
from striplay.units import ACRE_M2, FOOT_M, INCH_M, POUND_KG

NONE = '[headland]\nwhere = "none"\n'
CORN = '[[strips]]\ncrop = "corn"\nrows = 16\n'
DRILL = '[machines.drill]\ndoes = "plant"\nwidth = "40 ft"\nspacing = "7.5 in"\n'
WHEAT = (
    f'{DRILL}[crops.wheat]\nplanter = "drill"\nharvester = "platform"\nrate = "90 lb/acre"\n'
    'unit = "50 lb"\n'
)
WHEAT_STRIP = '[[strips]]\ncrop = "wheat"\nwidth = "40 ft"\n'


def seed_texts(folder, layout):
    """Give what stands on the page of seed and loads, which is one page."""
    (page,) = told(folder, layout, seed_story)
    return texts_of([page])


# --- to buy ---------------------------------------------------------------------------------------


def test_strips_headland_and_overlap_are_rounded_up_once(tmp_path):
    field = shapely.Polygon([(-300, -280), (310, -200), (280, 290), (-320, 200)])
    layout = lay_on(tmp_path, field, direction="heading = 20")
    accounts = layout.land_accounts
    for name, seed in accounts["seed_to_buy"].items():
        crop = layout.plan.crops[name]
        parts = [seed[f"for_{part}"] for part in ("strips", "headland", "overlap")]
        assert parts[2]["seeds"] > 0
        assert parts[2]["seeds"] == pytest.approx(seed["overlap_m2"] * crop.rate_per_m2)
        assert math.ceil(parts[0]["seeds"]) == accounts["crops"][name]["seeds"]
        assert seed["seeds"] == math.ceil(sum(part["seeds"] for part in parts))
        units = sum(part["seed_units"] for part in parts)
        assert seed["seed_units"] == math.ceil(units)
        assert units == pytest.approx(sum(part["seeds"] for part in parts) / crop.unit_seeds)
    corn = accounts["seed_to_buy"]["corn"]
    around = accounts["headland_crop"]["corn"]
    assert math.ceil(corn["for_headland"]["seeds"]) == around["seeds"]
    assert accounts["seed_to_buy"]["soybean"]["for_headland"]["seeds"] == 0


def test_half_a_bag_and_half_a_bag_are_one_bag(tmp_path):
    """Strips and headland take 0.4 and 0.3 of a unit: rounded up apart they would be two."""
    shed = SHED.replace("80000 seeds", "1000000000 seeds")
    accounts = lay_on(tmp_path, square(), shed=shed).land_accounts
    apart = (
        accounts["crops"]["corn"]["seed_units"] + accounts["headland_crop"]["corn"]["seed_units"]
    )
    assert (apart, accounts["seed_to_buy"]["corn"]["seed_units"]) == (2, 1)


def test_a_crop_of_the_headland_alone_is_bought_too(tmp_path):
    headland = AROUND.replace('crop = "corn"', 'crop = "wheat"')
    layout = lay_on(tmp_path, square(), headland=headland, shed=SHED + WHEAT)
    wheat = layout.land_accounts["seed_to_buy"]["wheat"]
    kg = layout.areas_m2["headland"] * 90 * POUND_KG / ACRE_M2
    assert wheat["seed_kg"] == pytest.approx(kg)
    assert wheat["seeds"] is None
    assert wheat["seed_units"] == math.ceil(kg / (50 * POUND_KG))
    (line,) = [
        line
        for line in layout_report(layout.plan, layout.accounts)
        if line.startswith("headland, wheat")
    ]
    assert f"{wheat['seed_units']} units of 50 lb" in line


def test_every_crop_s_seed_stands_in_the_report(tmp_path):
    """Those of a blend on the headland alone too, which have no line of their own."""
    more = (
        f'{DRILL}[crops.oats]\nplanter = "drill"\nrate = "64 lb/acre"\nunit = "50 lb"\n'
        '[crops.pea]\nplanter = "drill"\nrate = "300000 seeds/acre"\n'
        '[mixtures.duo]\nplanter = "drill"\nparts = {oats = 0.5, pea = 0.5}\n'
    )
    layout = lay_on(
        tmp_path,
        square(),
        shed=SHED + more,
        headland=AROUND.replace('crop = "corn"', 'crop = "duo"'),
    )
    lines, seed = layout_report(layout.plan, layout.accounts), layout.land_accounts["seed_to_buy"]
    assert list(seed) == ["corn", "soybean", "oats", "pea"]
    (line,) = [line for line in lines if line.startswith("  and to buy ")]
    assert line.startswith(f"  and to buy oats {seed['oats']['seed_units']} units, pea ")
    assert line.endswith(f" {seed['pea']['seeds'] / 1e6:.3g} million seeds")


def test_the_report_says_it_as_a_person_would(tmp_path):
    layout = lay_on(tmp_path, square())
    lines = layout_report(layout.plan, layout.accounts)
    seed = layout.land_accounts["seed_to_buy"]
    assert lines[1].split() == ["strips", "area", "seeds/ft", "seed", "to", "buy"]
    corn = next(line for line in lines if line.startswith("corn"))
    million = f"{seed['corn']['seeds'] / 1e6:.3g} million seeds"
    assert corn.endswith(f"1.95  {seed['corn']['seed_units']} units of 80,000 seeds ({million})")
    headland = next(line for line in lines if line.startswith("headland, corn"))
    assert headland.endswith("1.95  with corn's")
    assert not any(f"{seed['corn']['seeds']:,}" in line for line in lines)


def test_the_page_says_what_to_buy(tmp_path):
    layout = lay_on(tmp_path, square(), direction="heading = 10")
    page, seed = seed_texts(tmp_path, layout), layout.land_accounts["seed_to_buy"]["corn"]
    assert page[page.index("corn") :][1:7] == [
        "34,000 seeds/acre",
        f"{seed['for_strips']['seeds'] / 1e6:.3g} million",
        f"{round(seed['for_headland']['seeds'], -3):,.0f}",
        f"{round(seed['for_overlap']['seeds'], -2):,.0f}",
        f"{seed['seeds'] / 1e6:.3g} million",
        f"{seed['seed_units']} units of 80,000 seeds",
    ]
    begin = page.index("To set the planter")
    assert page[begin:][7:13] == ["corn", "planter", "30 in", "1.95", "6.15 in", "34,000/ac"]
    assert not any(f"{seed['seeds']:,}" in text for text in page)


@pytest.mark.parametrize("name", NAMES)
def test_each_operation_s_loads_stand_on_the_page(tmp_path, name):
    """What its operator's own pages say: in all, to load, and fills."""
    layout = sample(name)
    page = seed_texts(tmp_path, layout)
    loads = page[page.index("Loads of planters, sprayers and carts") :]
    count, say = 0, spoken(layout.plan)
    for sheet in layout.worksheets:
        for load in sheet.loads:
            named = [say(sheet.name), say(load.what)]
            at = [i for i in range(len(loads) - 1) if loads[i : i + 2] == named]
            assert len(at) == 1
            row = loads[at[0] + 2 : at[0] + 7]
            assert row[0] == load.rate
            assert row[1] == load.amount_words(load.total)
            assert row[2] == ("-" if load.brought_in else load.to_load_words.partition(" of ")[0])
            fills = len([one for one in load.at_fills if one > 0])
            if load.trips is not None:
                assert row[4] == f"{load.trips} cartloads"
            elif fills and not load.brought_in:
                assert row[4].startswith(f"{fills}, ")
            count += 1
    assert count >= len(layout.section.crops)
    text = " ".join(page)
    for crop, seed in layout.land_accounts["seed_to_buy"].items():
        assert say(crop) in page
        assert f"{seed['seed_units']:,} units of " in text


@pytest.mark.parametrize(
    "path", sorted(path for path in SAMPLES.glob("*/*.toml") if path.name != "plan.toml"),
    ids=lambda path: f"{path.parent.name}, {path.stem}",
)  # fmt: skip
def test_seed_and_loads_of_every_system_take_one_page(tmp_path, path):
    layout = lay(read_plan(path))
    for ink in ("color", "gray"):
        (page,) = told(tmp_path, layout, seed_story, ink)
        assert not any("…" in text for text in page.texts)


# --- by weight ------------------------------------------------------------------------------------


def test_by_weight_no_size_is_needed_and_seeds_are_not_known(tmp_path):
    layout = lay_on(
        tmp_path, square(1280), shed=SHED + WHEAT, strips=CORN + WHEAT_STRIP, headland=NONE
    )
    wheat = layout.land_accounts["crops"]["wheat"]
    lb = wheat["area_m2"] / ACRE_M2 * 90
    assert (wheat["seeds"], "expected_stand" in wheat) == (None, False)
    assert wheat["seed_kg"] / POUND_KG == pytest.approx(lb, rel=1e-4)
    assert wheat["seed_units"] == math.ceil(wheat["seed_kg"] / POUND_KG / 50)
    save(layout, tmp_path / "out", map_book=False)
    for name in ("strips.csv", "strip_crops.csv"):
        with (tmp_path / "out" / name).open(encoding="utf-8") as file:
            lines = [line for line in csv.DictReader(file) if line["crop"] == "wheat"]
        assert {line["seeds"] for line in lines} == {""}
        loads = [float(line["seed_lb"]) for line in lines]
        assert sum(loads) == pytest.approx(lb, rel=1e-4)
        assert [float(line["seed_units"]) * 50 for line in lines] == pytest.approx(loads, abs=1e-3)
    pieces = json.loads((tmp_path / "out" / "strips.geojson").read_text(encoding="utf-8"))
    known = {
        (f["properties"]["crop"], f["properties"]["seeds"] is None) for f in pieces["features"]
    }
    assert known == {("corn", False), ("wheat", True)}
    assert "not known by number" in seed_texts(tmp_path, layout)
    index = texts_of(told(tmp_path, layout, index_story))
    at = index.index("W wheat")
    units = float(lines[0]["seed_units"])
    assert float(index[at + 5].removesuffix(" u")) == pytest.approx(units, abs=0.051)
    line = next(x for x in layout_report(layout.plan, layout.accounts) if x.startswith("wheat"))
    assert " - " in line
    assert "units of 50 lb" in line


def test_a_blend_of_weights_needs_no_size(tmp_path):
    more = (
        f'{DRILL}[crops.oats]\nplanter = "drill"\nrate = "64 lb/acre"\ngermination = 0.8\n'
        '[crops.pea]\nplanter = "drill"\nrate = "100 lb/acre"\n'
        '[mixtures.duo]\nplanter = "drill"\nharvester = "platform"\n'
        'parts = {oats = 0.5, pea = 0.6}\nbatch = "1000 lb"\n'
    )
    strips = '[[strips]]\ncrop = "duo"\nwidth = "40 ft"\n'
    layout = lay_on(tmp_path, square(1280), shed=SHED + more, strips=strips, headland=NONE)
    duo = layout.land_accounts["crops"]["duo"]
    # 64 lb live at 80 % are 80 lb; half of it, and 60 lb of pea
    assert [part["by_weight"] for part in duo["parts"]] == pytest.approx([0.4, 0.6])
    buy = layout.land_accounts["seed_to_buy"]
    acres = duo["area_m2"] / ACRE_M2
    assert buy["oats"]["seed_kg"] / POUND_KG == pytest.approx(40 * acres, rel=1e-3)
    assert (buy["oats"]["seeds"], buy["oats"]["seed_units"]) == (None, None)
    page = seed_texts(tmp_path, layout)
    cells = page[page.index("to a batch of 1,000 lb") + 2 :]
    assert cells[:5] == ["oats", "50 %", "40.0", "40 %", "400"]
    assert cells[12:17] == ["blend", "100.0", "100 %", "1,000", f"{100 * acres:,.0f}"]


def test_a_mixture_s_parts_are_loaded_each_as_it_is_known(tmp_path):
    more = (
        f'{DRILL}[crops.oats]\nplanter = "drill"\nrate = "64 lb/acre"\n'
        '[crops.pea]\nplanter = "drill"\nrate = "300000 seeds/acre"\n'
        '[mixtures.duo]\nplanter = "drill"\nparts = {oats = 0.5, pea = 0.5}\n'
    )
    strips = '[[strips]]\ncrop = "duo"\nwidth = "40 ft"\n'
    layout = lay_on(tmp_path, square(1280), shed=SHED + more, strips=strips, headland=NONE)
    index = texts_of(told(tmp_path, layout, index_story))
    acres = 40 * 1280 / 43_560
    at = index.index("D duo")
    assert index[at + 5 : at + 9] == [
        "· oats", f"{32 * acres:.0f} lb", "· pea", f"{150 * acres:.0f} k"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ('rate = "90 lb/acre"\nunit = "50 lb"', ""),
        ('rate = "90 lb/acre"', ""),
        ('unit = "50 lb"', ""),
        ('rate = "90 lb/acre"\nunit = "80000 seeds"',
         "crops.c.seed_size: is missing: rate is a weight and unit a number of seeds"),
        ('rate = "9000 seeds/acre"\nunit = "50 lb"',
         "crops.c.seed_size: is missing: rate is a number of seeds and unit a weight"),
    ],
)  # fmt: skip
def test_a_size_is_needed_where_numbers_and_weights_meet(write_plan, keys, said):
    path = write_plan(
        f'[machines.p]\ndoes = "plant"\nwidth = "10 ft"\n[crops.c]\nplanter = "p"\n{keys}\n'
    )
    if not said:
        assert read_plan(path).crops["c"].rate_per_m2 is None
        return
    with pytest.raises(PlanError) as refusal:
        read_plan(path)
    assert said in str(refusal.value)


def test_a_blend_by_weight_needs_the_size_of_what_is_rated_by_number(write_plan):
    crops = (
        f'{DRILL}[crops.a]\nplanter = "drill"\nrate = "90 lb/acre"\n'
        '[crops.b]\nplanter = "drill"\nrate = "9000 seeds/acre"\n'
        '[mixtures.m]\nplanter = "drill"\nparts = {a = 0.5, b = 0.5}\nbatch = "1000 lb"\n'
    )
    with pytest.raises(PlanError, match=r"mixtures\.m\.batch: needs seed_size of b"):
        read_plan(write_plan(crops))


# --- in the row -----------------------------------------------------------------------------------


def rates_of(folder, strips, shed=SHED, *, headland=False):
    plan = read_plan(write_plan_for(folder, square(), shed=shed, strips=strips))
    return row_rates(plan, sections_of(plan)[0], headland=headland)


def test_what_a_rate_comes_to_in_rows_skips_and_patterns(tmp_path):
    """Empty units take no seed; a pattern shares all ground; the headland is as the strips."""
    row_set = '[[row_set]]\nplanter = "planter"\nunits = "1 corn, 1 empty, 1 corn, 1 empty"\n'
    four = SHED.replace("rows = 16", "rows = 4", 1)
    (skips,) = rates_of(tmp_path, row_set, four)
    assert skips.seeds_per_m * FOOT_M == pytest.approx(34_000 * 30 / 522_720)
    assert skips.seeds_per_m2 * ACRE_M2 == pytest.approx(17_000)
    pattern = CORN.replace("rows = 16", 'width = "40 ft"\nperiod = "60 in"\npattern = ["30 in"]')
    (spread,) = rates_of(tmp_path, pattern)
    assert spread.row_m == pytest.approx(60 * INCH_M)
    assert spread.seeds_per_m * FOOT_M == pytest.approx(34_000 * 60 / 522_720)
    assert spread.seeds_per_m2 * ACRE_M2 == pytest.approx(34_000)
    both = rates_of(tmp_path, STRIPS, headland=True)
    assert [one.place for one in both] == ["strips", "strips", "headland"]
    assert both[2].seeds_per_m == both[0].seeds_per_m


def test_rows_that_tramlines_leave_out_lower_the_rate_on_the_strip(tmp_path):
    shed = SHED.replace('does = "spray"', 'does = "spray"\ntread = "116 in"\ntire = "18 in"')
    relay = (
        '[[relay]]\ncrop = "soybean"\ninto = "corn"\nseeder = "planter"\ntramlines = "sprayer"\n'
        'offsets = ["28 in"]\nperiod = "30 in"\n'
    )
    plan = read_plan(write_plan_for(tmp_path, square(), shed=shed, strips=CORN + relay))
    section = sections_of(plan)[0]
    sown = sum(row.layer > 0 for row in section.rows)
    assert sown < 16
    between = row_rates(plan, section, headland=False)[1]
    assert (between.place, between.placed) == ("between", "into corn")
    # a row takes the seed of its own share of the strip; those left out are not sown elsewhere
    assert between.seeds_per_m * FOOT_M == pytest.approx(140_000 * 30 / 522_720)
    assert between.seeds_per_m2 * ACRE_M2 == pytest.approx(140_000 * sown / 16)


def test_openers_not_given_have_no_seeds_to_the_foot(tmp_path):
    shed = SHED + WHEAT.replace('spacing = "7.5 in"\n', "").replace("90 lb", "1400000 seeds")
    shed = shed.replace('unit = "50 lb"\n', "")
    (wheat,) = rates_of(tmp_path, WHEAT_STRIP, shed)
    assert (wheat.seeds_per_m, wheat.apart_m) == (None, None)
    assert wheat.seeds_per_m2 * ACRE_M2 == pytest.approx(1_400_000)


@pytest.mark.parametrize(("inches", "told"), [(40, False), (60, True)])
def test_rows_far_apart_rated_by_ground_are_told(tmp_path, inches, told):
    shed = SHED.replace('rows = 16\nspacing = "30 in"', f'rows = 8\nspacing = "{inches} in"', 1)
    shed = shed.replace('rows = 8\nspacing = "30 in"', f'rows = 8\nspacing = "{inches} in"')
    strips = CORN.replace("16", "8")
    layout = lay_on(tmp_path, square(1280), shed=shed, strips=strips, headland=NONE)
    wide = [one for one in layout.notices_as_laid if one.kind == "seed"]
    assert bool(wide) == told
    if told:
        # 34,000 x 60 / 522,720 seeds to the foot; 6,272,640 / (60 x 34,000) in apart
        (said,) = texts(wide)
        assert said == (
            "corn: its rate counts all ground, and a row takes the seed of 60 in of it: 3.9 seeds "
            "to the foot of row, one every 3.07 in, 2 times that of rows 30 in apart; if the row "
            "is to have the seed of 30 in, state a rate of 17000 seeds/acre"
        )
        assert wide[0].severity == "mind"


def test_one_row_to_a_strip_is_told_once_for_each_crop(tmp_path):
    quick = '[[quick_crop]]\ncrop = "soybean"\ninto = "corn"\nseeder = "planter"\n'
    layout = lay_on(
        tmp_path, square(1280), strips=f'{CORN}{quick}offsets = ["15 in"]\n', headland=NONE
    )
    (told,) = [str(one) for one in layout.notices_as_laid if one.kind == "seed"]
    assert told.startswith(
        "soybean into corn: its rate counts all ground, and a row takes the seed of 40 ft of it"
    )
    assert told.endswith("state a rate of 8750 seeds/acre")  # 140,000 x 30 in / 40 ft


def test_of_live_seed_no_more_is_expected_to_stand_than_is_alive():
    """100,000 seeds, nine in ten alive, of which 95 in 100 stand."""
    crop = Crop(planter="planter", emergence=0.95, germination=0.9)
    seed = Seed(100_000.0, math.nan, math.nan)
    account = crop_account(crop, strips=1, area_m2=1.0, row_length_m=1.0, seed=seed)
    assert account["expected_stand"] == 85_500
