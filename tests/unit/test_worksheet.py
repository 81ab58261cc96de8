"""Worksheets: one operation as its operator is told of it, which adds up to the accounts."""

import math
import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import shapely
from fields import AROUND, NAMES, SHED, lay_on, lay_once, sample, square

from striplay.accounts.loads import Load, Measure, decimals
from striplay.cautions import CAUTIONS, cautions_of
from striplay.units import GALLON_M3
from striplay.worksheet import _strip_words, collapsed

NONE = '[headland]\nwhere = "none"\n'
CORN = '[[strips]]\ncrop = "corn"\nrows = 16\n'
RELAY = CORN + '[[relay]]\ncrop = "soybean"\ninto = "corn"\n'
ROW_SET = '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 8 soybean, 4 corn"\n'
UNLIKE = '[[row_set]]\nplanter = "planter"\nunits = "5 corn, 3 empty, 8 soybean"\n'
NARROW = SHED.replace("rows = 16", 'rows = 16\nturning_radius = "10 ft"')
"""Turns so narrow that passes are driven side by side."""
DUO = (
    '[crops.oats]\nplanter = "planter"\nrate = "100 lb/acre"\n'
    '[crops.pea]\nplanter = "planter"\nrate = "300000 seeds/acre"\nseed_size = "2000 seeds/lb"\n'
    'unit = "50 lb"\n'
    '[mixtures.duo]\nplanter = "planter"\nparts = {oats = 0.5, pea = 0.75}\n'
)
MIXED = '[[strips]]\ncrop = "duo"\nrows = 16\n[[strips]]\ncrop = "corn"\nrows = 16\n'
SYSTEMS = {
    "row set": {"strips": ROW_SET},
    "row set that is mirrored": {"strips": UNLIKE},
    "relay": {"strips": RELAY},
    "mixture": {"strips": MIXED, "shed": SHED + DUO},
    "mixture round the edge": {
        "strips": MIXED, "shed": SHED + DUO, "headland": AROUND.replace('"corn"', '"duo"'),
    },
    "slanting ends": {"shed": SHED, "headland": NONE, "direction": "heading = 30"},
}  # fmt: skip


def of_system(name, **parts):
    return lay_once(square(1320), **{**SYSTEMS[name], **parts})


def planted(layout):
    """Add up what operators are told of seed: in strips and headland, and planted twice."""
    found = {}
    for sheet in layout.worksheets:
        for load in sheet.loads:
            if load.what.endswith(" seed"):
                before = found.get(load.crop, np.zeros(3))
                one = load.measure.one
                now = np.array([load.used.sum() * one, load.twice * one, 0.0])
                found[load.crop] = before + now + [0.0, 0.0, load.units or 0]
    return found


def assert_as_accounts(layout):
    buy = layout.land_accounts["seed_to_buy"]
    told = planted(layout)
    assert told.keys() == {crop for crop, seed in buy.items() if seed["seeds"] or seed["seed_kg"]}
    for crop, (used, twice, units) in told.items():
        loads = [one for sheet in layout.worksheets for one in sheet.loads if one.crop == crop]
        measure = next(one.measure for one in loads if not one.brought_in)
        unit = "seeds" if measure.si_unit == "seeds" else "seed_kg"
        strips, around, overlap = (
            buy[crop][f"for_{part}"][unit] for part in ("strips", "headland", "overlap")
        )
        assert used == pytest.approx(strips + around, rel=1e-9), crop
        assert twice == pytest.approx(overlap, rel=1e-9, abs=1e-9), crop
        if measure.sold and len([one for one in loads if not one.brought_in]) == 1:
            assert units == buy[crop]["seed_units"], crop


@pytest.mark.parametrize("name", NAMES)
def test_seed_of_samples_adds_up_to_the_accounts(name):
    assert_as_accounts(sample(name))


@pytest.mark.parametrize("name", SYSTEMS)
def test_seed_of_systems_adds_up_to_the_accounts(tmp_path, name):
    layout = of_system(name)
    assert_as_accounts(layout)
    if name == "slanting ends":
        loads = [one for sheet in layout.worksheets for one in sheet.loads]
        assert all(one.twice > 0 for one in loads)


def test_each_crop_of_a_row_set_is_a_load_of_its_own(tmp_path):
    layout = of_system("row set", headland=NONE)
    (sheet,) = [one for one in layout.worksheets if one.name.startswith("plant")]
    corn, soybean = sheet.loads
    assert (corn.what, soybean.what) == ("corn seed", "soybean seed")
    assert corn.rate == "34,000 seeds/acre"
    assert (soybean.measure.name, soybean.measure.holds) == ("units", "140,000 seeds")
    # half the rows each, so seeds are as rates
    whole = corn.used == corn.used.max()
    assert (corn.used * 80_000 / (soybean.used * 140_000))[whole] == pytest.approx(34 / 140)


def test_a_pass_over_a_part_of_a_row_set_takes_the_seed_of_that_part(tmp_path):
    """On a field of a pass and a half, the second pass has its first four units and four more."""
    field = shapely.box(0, 0, 18.288, 400)  # 24 rows of 30 in
    layout = lay_on(tmp_path, field, headland=NONE, strips=ROW_SET, direction="heading = 0")
    (sheet,) = [one for one in layout.worksheets if one.name.startswith("plant")]
    corn, soybean = (one.used for one in sheet.loads)
    part, whole = int(np.argmin(soybean)), int(np.argmax(soybean))
    assert part != whole
    assert corn[part] / corn[whole] == pytest.approx(4 / 8)
    assert soybean[part] / soybean[whole] == pytest.approx(4 / 8)


@pytest.mark.parametrize("name", [*NAMES, *SYSTEMS])
def test_passes_are_those_of_the_table(tmp_path, name):
    layout = sample(name) if name in NAMES else of_system(name)
    table = layout.passes.drop_duplicates(["job", "number"]).set_index(["job", "number"])
    assert len(table) == sum(map(len, layout.worksheets)) > 0
    for sheet in layout.worksheets:
        rows = table.loc[[(sheet.name, number) for number in sheet.number]]
        for end, told in (("a", sheet.a_lonlat), ("b", sheet.b_lonlat)):
            columns = rows[[f"{end}_longitude", f"{end}_latitude"]].to_numpy()
            assert np.abs(columns - told).max() < 1e-9
        assert rows["heading_deg"].to_numpy() == pytest.approx(sheet.heading_deg)
        assert rows["rows_on"].tolist() == sheet.rows_on.tolist()
        for strips, strip, piece in zip(sheet.strips, rows["strip"], rows["piece"], strict=True):
            if strips == "headland":
                assert pd.isna(strip)
            elif "/" in strips:
                assert strips.startswith(f"{strip}/")
                assert piece == int(strips.split("/")[1].split("-")[0].split(",")[0])


@pytest.mark.parametrize("name", NAMES)
def test_all_strips_of_a_crop_are_worked_and_no_others(name):
    layout = sample(name)
    for sheet in layout.worksheets:
        labels = {label for crop in sheet.judged.job.crops for label in crop.split(" + ")}
        table = layout.strips[layout.strips["crop"].isin(labels)]
        assert set(sheet.pieces) == set(zip(table["strip"], table["piece"], strict=True))


@pytest.mark.parametrize("name", [*NAMES, *SYSTEMS])
def test_what_goes_in_at_fills_is_what_passes_use(tmp_path, name):
    rows = 'rows = 16\nspacing = "30 in"'
    shed = SYSTEMS.get(name, {}).get("shed", SHED)
    shed = {"shed": shed.replace(rows, f'{rows}\nholds = "600000 seeds"')}
    layout = sample(name) if name in NAMES else of_system(name, **shed)
    seen = 0
    for sheet in layout.worksheets:
        for load in sheet.loads:
            if len(load.at_fills) and not load.brought_in:
                seen += 1
                assert load.at_fills.sum() == pytest.approx(load.total)
        if sheet.judged.fills is not None and sheet.fills:
            carried = not any(load.brought_in for load in sheet.loads)
            ends = sheet.fills[-1].of == len(sheet)
            assert len(sheet.fills) == sheet.judged.fills.count + carried + ends
    # one sample alone states what machines hold
    assert bool(seen) is (name in {"quarter_section", *SYSTEMS})


def test_grain_leaves_by_the_tank_or_on_the_go():
    for sheet in sample("quarter_section").worksheets:
        for load in sheet.loads:
            if load.brought_in:
                fills = sheet.judged.fills
                going = load.used[fills.on_the_go].sum()
                # what is on board when it begins to unload on the go leaves with that
                assert load.at_fills.sum() + going <= load.total + 1e-6
                assert load.trips == math.ceil(load.total / 900)
                assert load.at_fills.max(initial=0.0) <= 350 + 1e-6
                if not fills.on_the_go.any():
                    assert load.at_fills.sum() == pytest.approx(load.total)


def test_fills_by_hand(tmp_path):
    """120 ft x 400 m at 20 gal/acre: 72.28 gal a pass, so 200 gal last for two of them."""
    spraying = (
        '[[operations]]\ndoes = "spray"\nmachine = "sprayer"\nproduct = "water"\n'
        'rate = "20 gal/acre"\n'
    )
    shed = SHED.replace("sections = 12", 'sections = 12\nholds = "200 gal"') + spraying
    field = shapely.box(0, 0, 5 * 36.576, 400)
    layout = lay_on(tmp_path, field, headland=NONE, shed=shed)
    (sheet,) = [one for one in layout.worksheets if one.name.startswith("spray")]
    (water,) = sheet.loads
    each = 36.576 * 400 / 4046.8564224 * 20
    assert water.measure == Measure("gal", GALLON_M3, "m3")
    assert water.used == pytest.approx([each] * 5)
    assert [fill.of for fill in sheet.fills] == [0, 2, 4]
    assert water.at_fills == pytest.approx([200, 2 * each, 5 * each - 200 - 2 * each])
    assert [fill.where for fill in sheet.fills] == [
        "at the start", "before pass 3", "before pass 5"
    ]  # fmt: skip
    assert sheet.fills[0].amounts == ("200 gal of water",)
    assert dict(sheet.settings)["rate"] == "20 gal/acre"


def test_settings(tmp_path):
    shed = SHED.replace(
        "emergence = 0.95", 'depth = "2 in"\nemergence = 0.95\nseed_size = "1600 seeds/lb"'
    ).replace('does = "plant"', 'does = "plant"\ntread = "120 in"\nspeed = "4.5 mph"')
    layout = lay_on(tmp_path, square(1320), shed=shed)
    sheets = {one.name: dict(one.settings) for one in layout.worksheets}
    assert sheets["plant corn"] == {
        "crop": "corn", "rate": "34,000 seeds/acre", "seed unit": "80,000 seeds",
        "seed size": "1,600 seeds/lb", "planting depth": "2 in",
        "in the row": "1.95 seeds/ft, one every 6.15 in", "row spacing": "30 in",
        "machine": "planter", "working width": "40 ft", "row units": "16", "tread": "120 in",
        "speed": "4.5 mph",
    }  # fmt: skip
    # a speed that is not stated is said to be the usual one
    assert sheets["harvest corn"]["speed"] == "4 mph (usual)"
    assert sheets["spray corn"]["sections"] == "12"


def test_settings_of_a_row_set_say_whose_they_are_where_they_differ(tmp_path):
    layout = of_system("row set", headland=NONE)
    found = dict(next(one for one in layout.worksheets if one.name.startswith("plant")).settings)
    assert found["crops"] == "corn and soybean"
    assert found["corn rate"] == "34,000 seeds/acre"
    assert found["soybean seed unit"] == "140,000 seeds"
    assert found["soybean in the row"] == "8.03 seeds/ft, one every 1.49 in"
    assert found["row spacing"] == "30 in"


def test_seed_sold_by_weight_is_loaded_by_weight_and_bought_in_units(tmp_path):
    layout = of_system("mixture", headland=NONE)
    sheet = next(one for one in layout.worksheets if one.name == "plant duo")
    oats, pea = sheet.loads
    assert (oats.measure.name, pea.measure.name) == ("lb", "lb")
    assert (oats.rate, pea.rate) == ("50 lb/acre", "112.5 lb/acre")
    assert oats.units is None
    assert oats.to_load_words == f"{math.ceil(oats.total):,} lb"
    assert pea.units == math.ceil(pea.total / 50 - 1e-6)
    assert pea.to_load_words == f"{pea.units} units of 50 lb"


def runs(sheet):
    return [(one.first, one.last, one.step) for one in collapsed(sheet) if one.count > 1]


def test_passes_that_are_alike_are_one_line(tmp_path):
    field = shapely.box(0, 0, 10 * 12.192, 400)
    layout = lay_on(tmp_path, field, headland=NONE, strips=CORN, shed=NARROW)
    (sheet,) = [one for one in layout.worksheets if one.name == "plant corn"]
    (entry,) = collapsed(sheet)
    assert (entry.first, entry.last, entry.count, entry.between) == (0, 9, 10, 8)
    assert entry.turns
    east = sheet.a_lonlat[-1, 0] > sheet.a_lonlat[0, 0]
    side = "east" if east else "west"
    assert entry.step == f"each 40 ft farther {side} than the one before"


def test_what_breaks_a_run(tmp_path):
    field = shapely.box(0, 0, 10 * 12.192, 400)
    layout = lay_on(tmp_path, field, headland=NONE, strips=CORN, shed=NARROW)
    (sheet,) = [one for one in layout.worksheets if one.name == "plant corn"]

    def with_one(name, index, value):
        values = getattr(sheet, name).copy()
        values[index] = value
        return replace(sheet, **{name: values})

    assert [run[:2] for run in runs(with_one("stops_at", 5, "3"))] == [(0, 4), (6, 9)]
    assert [run[:2] for run in runs(with_one("rows_on", 2, "units 1-8 on"))] == [(3, 9)]
    assert [run[:2] for run in runs(with_one("crop", 8, "soybean"))] == [(0, 7)]
    longer = sheet.length_m[0] + 0.4
    assert [run[:2] for run in runs(with_one("length_m", 4, longer))] == [(0, 3), (5, 9)]
    assert [run[:2] for run in runs(with_one("length_m", 4, longer - 0.2))] == [(0, 9)]
    used = sheet.loads[0].used.copy()
    used[6] *= 1.01
    more = replace(sheet, loads=(replace(sheet.loads[0], used=used),))
    assert [run[:2] for run in runs(more)] == [(0, 5)]


@pytest.mark.parametrize("name", [*NAMES, *SYSTEMS])
def test_a_run_s_first_and_step_give_all_its_passes(tmp_path, name):
    """What a line of the table says of the passes between is where the passes are."""
    layout = sample(name) if name in NAMES else of_system(name)
    for sheet in layout.worksheets:
        entries = collapsed(sheet)
        told = [index for one in entries for index in range(one.first, one.last + 1)]
        assert told == list(range(len(sheet)))
        for one in entries:
            if one.count == 1:
                continue
            assert one.count >= 4
            line = sheet.judged.route.line[one.first : one.last + 1]
            middle = shapely.get_coordinates(
                shapely.line_interpolate_point(line, 0.5, normalized=True)
            )
            heading = math.radians(sheet.heading_deg[one.first])
            aside = np.array([math.cos(heading), -math.sin(heading)])
            across = (middle - middle[0]) @ aside
            number = float(one.step.split()[1]) * (0.3048 if "ft" in one.step else 1.0)
            points = ["north", "northeast", "east", "southeast", "south", "southwest", "west",
                      "northwest"]  # fmt: skip
            bearing = 45 * points.index(re.search(r"farther (\w+) than", one.step)[1])
            # the nearer of the two sides of the first pass
            sign = 1 if math.sin(math.radians(bearing) - heading) > 0 else -1
            expected = sign * number * np.arange(one.count)
            # told to a tenth of a foot, or a centimeter, each
            assert np.abs(across - expected).max() < 0.02 * one.count + 0.05


SOWN_TWICE = {"several crops", "crop between rows", "second crop"}


def test_cautions_by_work():
    told = {does: [one.about for one in cautions_of(does, SOWN_TWICE)]
            for does in ("plant", "spray", "harvest", "till")}  # fmt: skip
    for names in told.values():
        assert names[:2] == ["Power lines", "People"]
        assert {"Slopes", "Ditches and banks"} <= set(names)
    of_spraying = {
        "Spraying beside another crop", "Spraying a crop between rows", "Plant-back",
        "Drift, pollinators, water", "Entry and harvest after spraying",
    }  # fmt: skip
    assert of_spraying <= set(told["spray"])
    assert "Treated seed" in told["plant"]
    assert "Treated seed" not in told["spray"]
    assert not {name for name in told["till"] if "pray" in name}
    assert "Augers and grain" in [one.about for one in cautions_of("harvest", {"harvest"})]
    assert {one.grave for one in CAUTIONS} == {1, 2, 3}


def test_numbers_have_no_false_precision():
    assert decimals(12.2, 3, 2) == 1
    assert decimals(12_345.0, 4, 1) == 0
    sheet = next(one for one in sample("quarter_section").worksheets if "plant soy" in one.name)
    (seed,) = sheet.loads
    assert seed.to_load_words == "89 units of 140,000 seeds"
    assert seed.total_words(seed.total) == "88.0"
    assert seed.used_words(seed.used[0]) == "2.28"


def test_spraying_without_a_product_leaves_room_for_it():
    told = [dict(one.settings) for one in sample("pond_ell").worksheets
            if one.judged.job.does == "spray" and one.judged.job.rate is None]  # fmt: skip
    assert all(one["product"].endswith("not in the plan") for one in told)
    assert told


def test_a_pass_over_one_piece_of_several_strips_names_the_piece():
    """A notch cuts strips 2 and 3 in two; strip 1 runs through."""
    worked = np.array([[0, 0, 0, 1, 1, 2, 2, 2, 2], [1, 2, 3, 2, 3, 2, 2, 3, 3],
                       [1, 2, 2, 1, 1, 1, 2, 1, 2]])  # fmt: skip
    told = _strip_words(4, worked, {1: 1, 2: 2, 3: 2})
    assert told.tolist() == ["1, 2/2-3/2", "2/1-3/1", "2-3", "headland"]


def test_pieces_of_passes_are_named_where_strips_have_several():
    """Every boom pass of the sample with a pond says of which pieces it sprays but a part."""
    layout = sample("pond_ell")
    many = layout.strips.groupby("strip")["piece"].count()
    seen = 0
    for sheet in layout.worksheets:
        for index in range(len(sheet)):
            strips, pieces = sheet.worked[1:, sheet.worked[0] == index]
            several = len(set(strips.tolist())) > 1
            parted = [n for n in set(strips.tolist()) if (strips == n).sum() < many[n]]
            if several and parted and " of " not in sheet.strips[index]:
                seen += 1
                of = parted[0]
                assert f"{of}/{pieces[strips == of][0]}" in sheet.strips[index] or re.search(
                    rf"/{pieces[strips == of][0]}\b", sheet.strips[index]
                )
    assert seen


def test_fills_add_up_as_they_are_written():
    """1,300.3 gal in four loads: 1,300 in all, as 15 gal to the acre of 86.69 acres is."""
    used = np.full(10, 130.03)
    load = Load(
        what="water", crop="", rate="15 gal/acre", measure=Measure("gal", GALLON_M3, "m3"),
        brought_in=False, used=used, twice=0.0,
        at_fills=np.array([366.4, 366.5, 366.5, 200.9]),
    )  # fmt: skip
    assert load.to_load_words == "1,300 gal"
    assert load.told_at_fills.tolist() == [366.0, 367.0, 366.0, 201.0]
    told = [load.words(one) for one in load.told_at_fills]
    assert sum(int(one.split()[0]) for one in told) == 1300
    assert load.total_words(load.total) == "1,300"


def test_a_last_fill_of_next_to_nothing_says_what_spares_it(tmp_path):
    """Two passes take 3 gal more than the tank holds."""
    spraying = (
        '[[operations]]\ndoes = "spray"\nmachine = "sprayer"\nproduct = "water"\n'
        'rate = "20 gal/acre"\n'
    )
    each = 36.576 * 400 / 4046.8564224 * 20
    shed = SHED.replace("sections = 12", f'sections = 12\nholds = "{2 * each - 3:.2f} gal"')
    field = shapely.box(0, 0, 2 * 36.576, 400)
    layout = lay_on(tmp_path, field, headland=NONE, shed=shed + spraying)
    (sheet,) = [one for one in layout.worksheets if one.name.startswith("spray")]
    last = sheet.fills[-1].amounts[-1]
    assert last == "3 gal of water (so little: see first what is left)"
    assert "so little" not in sheet.fills[0].amounts[0]


def test_a_mixture_is_loaded_and_set_as_a_blend(tmp_path):
    layout = of_system("mixture", headland=NONE)
    sheet = next(one for one in layout.worksheets if one.name == "plant duo")
    (duo,) = sheet.blends
    oats, pea = sheet.loads
    assert (duo.what, duo.rate, duo.measure.name) == ("duo blend", "162.5 lb/acre", "lb")
    assert duo.used == pytest.approx(oats.used + pea.used)
    assert sheet.carried == (duo,)
    assert dict(sheet.settings)["rate of duo blend"] == "162.5 lb/acre: calibrate by it"
    others = [one for one in layout.worksheets if one.name != "plant duo"]
    assert all(one.blends == () and one.carried == one.loads for one in others)


def test_the_blend_round_the_edge_counts(tmp_path):
    layout = of_system("mixture round the edge")
    for sheet in layout.worksheets:
        for blend in sheet.blends:
            parts = [one for one in sheet.loads if one.crop in {"oats", "pea"}]
            assert blend.total == pytest.approx(sum(one.total for one in parts))
            assert blend.twice == pytest.approx(sum(one.twice for one in parts))
            return
    pytest.fail("no blend")


def test_a_drilled_stand_is_counted_in_a_frame():
    """An acre is 43,560 square feet; rows 7.5 in apart have 69,696 ft to the acre, 23,232 x 3."""
    told = dict(pair for sheet in sample("creek_side").worksheets for pair in sheet.stand_counts)
    assert told["oats"] == (
        "plants in a frame of 1 square foot, at several places; times 43,560 they are plants to "
        "the acre; or in 3 ft of one row, times 23,200"
    )
    assert told["corn"].startswith("plants in 17 ft 5 in of one row, 1/1000 acre")


def test_what_a_planter_holds_is_said_in_units_too():
    """100 bu of soybean at 60 lb and 2,800 seeds/lb are 16.8 million seeds, 120 units."""
    found = {one.name: dict(one.settings) for one in sample("quarter_section").worksheets}
    assert found["plant soybean"]["holds"] == "100 bu, 120 units of 140,000 seeds"
    assert found["harvest corn"]["holds"] == "350 bu"


def test_a_rate_that_strips_do_not_reach_says_why(tmp_path):
    """Of 16 rows of soybean between corn two are left out for a tractor's wheels, 120 in apart."""
    tread = 'rows = 16\ntread = "120 in"\ntire = "18 in"'
    relay = RELAY + 'tramlines = "planter"\n'
    shed = SHED.replace("rows = 16", tread)
    layout = lay_on(tmp_path, square(400), headland=NONE, shed=shed, strips=relay)
    found = {one.name: dict(one.settings) for one in layout.worksheets}
    soybean = found["plant soybean"]
    assert soybean["rate"] == "140,000 seeds/acre"
    assert soybean["over the strips"] == "122,500 seeds/acre, since rows left out take no seed"
    assert "over the strips" not in found["plant corn"]


def test_rows_that_end_on_a_slant_are_told_in_the_settings(tmp_path):
    """At 45 degrees the last of 16 rows ends 37.5 ft before the first, and a little by the edge."""
    shed = SHED.replace("rows = 16", 'rows = 16\nshut_off = "row"')
    layout = lay_on(tmp_path, square(660), headland=NONE, shed=shed, direction="heading = 45")
    found = {one.name: dict(one.settings) for one in layout.worksheets}
    assert found["plant corn"]["slanting ends"] == "row units off one by one, over up to 38 ft"
    assert found["spray corn"]["slanting ends"].startswith("sections off one by one, over up to")
    assert "slanting ends" not in found["harvest corn"]
    layout = lay_on(tmp_path, square(660), headland=NONE, shed=shed, direction="heading = 0")
    assert not any("slanting ends" in dict(one.settings) for one in layout.worksheets)


def test_time_to_reckon_with_is_told_to_the_operator():
    """Where less than all is counted, the notice's longer time stands on the page too."""
    seen = 0
    for sheet in sample("creek_side").worksheets:
        told = [one.text for one in sheet.judged.notices if "reckon with" in one.text]
        for text in told:
            seen += 1
            assert re.search(r"[\d.]+ h or more", text)[0] in dict(sheet.takes)["time"]
        assert ("h or more" in dict(sheet.takes)["time"]) is bool(told)
    assert seen
