"""What is sown in each strip: a line a crop, adding up to the accounts; blends on paper."""

import csv
import json

import pytest
from books import texts_of, told
from fields import AROUND, SHED, lay_on, square

from striplay.accounts.told import told_areas
from striplay.handover import save
from striplay.plan.systems import Mixture
from striplay.report import layout_report, layout_summary
from striplay.section.mixture import shares_words
from striplay.sheets.index_sheets import index_story
from striplay.sheets.seed_sheets import seed_story
from striplay.tables import sown_table
from striplay.units import ACRE_M2, POUND_KG

MORE = """
[machines.drill]
does = "plant"
width = "30 ft"
spacing = "7.5 in"
[machines.tool]
does = "plant"
width = "20 ft"
[crops.wheat]
planter = "drill"
harvester = "platform"
rate = "1500000 seeds/acre"
seed_size = "14000 seeds/lb"
unit = "50 lb"
[crops.oats]
planter = "drill"
harvester = "platform"
rate = "1200000 seeds/acre"
seed_size = "14000 seeds/lb"
germination = 0.9
purity = 0.98
[crops.pea]
planter = "drill"
harvester = "platform"
rate = "300000 seeds/acre"
seed_size = "2000 seeds/lb"
[crops.rye]
planter = "tool"
harvester = "platform"
rate = "60 lb/acre"
seed_size = "18000 seeds/lb"
[mixtures.oat_pea]
planter = "drill"
harvester = "platform"
parts = {oats = 0.5, pea = 0.6}
rate_increase = 0.25
batch = "1000 lb"
"""
TWIN = (
    '[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\nperiod = "30 in"\npattern = ["4 in", "12 in"]\n'
)
RELAY = '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\nrows = 2\ngap = "20 in"\n'
CORN = '[[strips]]\ncrop = "corn"\nrows = 16\n'
QUICK = '[[quick_crop]]\ncrop = "oats"\ninto = "corn"\nseeder = "drill"\n'
MIXED = '[[strips]]\ncrop = "oat_pea"\nwidth = "60 ft"\n'
DRILLED = '[[strips]]\ncrop = "rye"\nwidth = "40 ft"\n'
ROW_SET = (
    '[[row_set]]\nplanter = "planter"\nunits = "1 empty, 6 corn, 2 empty, 6 soybean, 1 empty"\n'
)
SYSTEMS = {
    "strips": CORN + '[[strips]]\ncrop = "soybean"\nrows = 48\n',
    "relay": TWIN + CORN + RELAY,
    "quick crop": CORN + QUICK,
    "mixed": CORN + MIXED,
    "drilled": CORN + DRILLED,
    "row set": ROW_SET,
    "quick crop in a row set": ROW_SET + QUICK,
    "all": TWIN + CORN + MIXED + DRILLED + RELAY + QUICK,
    "a part of a mixture beside itself": MIXED + '[[relay]]\ncrop = "pea"\ninto = "oat_pea"\n'
    'seeder = "drill"\noffsets = ["4 in"]\nperiod = "30 in"\n',
}  # fmt: skip


def laid(folder, system, **parts):
    shed = SHED + MORE
    return lay_on(folder, square(1320), shed=shed, strips=SYSTEMS[system], **parts)


def lines_of(layout, folder):
    save(layout, folder / "out", map_book=False)
    with (folder / "out" / "strip_crops.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("system", SYSTEMS)
def test_lines_add_up_to_the_accounts(tmp_path, system):
    layout = laid(tmp_path, system, direction="heading = 20")
    lines = lines_of(layout, tmp_path)
    assert {line["crop"] for line in lines} == set(layout.section.crops)
    keys = [(line["strip"], line["crop"], line["how"]) for line in lines]
    assert len(keys) == len(set(keys))
    for crop in layout.section.crops:
        account = layout.land_accounts["crops"][crop]
        mine = [line for line in lines if line["crop"] == crop]
        once = {line["strip"]: float(line["area_m2"]) for line in mine}
        assert len(once) == account["strips"]
        assert sum(once.values()) == pytest.approx(account["area_m2"], rel=1e-8)
        length_m = sum(float(line["row_length_m"]) for line in mine)
        assert length_m == pytest.approx(account["row_length_m"], rel=1e-8, abs=1e-6)
        seeds = sum(float(line["seeds"]) for line in mine)
        assert -1e-4 <= account["seeds"] - seeds < 1
        if "seed_kg" in account:
            weight_kg = sum(float(line["seed_kg"]) for line in mine)
            assert weight_kg == pytest.approx(account["seed_kg"], rel=1e-7)
        else:
            assert {line["seed_kg"] for line in mine} == {""}


def test_a_strip_s_figures_are_of_its_own_rows(tmp_path):
    """The host's rows, row length and seed are what they are without the crop between."""
    with_relay, bare = laid(tmp_path, "relay"), lay_on(
        tmp_path, square(1320), shed=SHED + MORE, strips=TWIN + CORN
    )  # fmt: skip
    for column in ("rows", "row_length_m", "seeds", "seed_units"):
        assert with_relay.strips[column].to_numpy() == pytest.approx(bare.strips[column].to_numpy())
    own = sown_table(with_relay.plan, with_relay.laid, with_relay.figures).query("layer == 0")
    by_strip = with_relay.strips.groupby("strip")[["row_length_m", "seeds"]].sum()
    assert own["seeds"].to_numpy() == pytest.approx(by_strip["seeds"].to_numpy())
    assert own["row_length_m"].to_numpy() == pytest.approx(by_strip["row_length_m"].to_numpy())


def test_a_mixed_strip_s_seeds_are_the_sum_of_its_parts(tmp_path):
    layout = laid(tmp_path, "mixed")
    sown = sown_table(layout.plan, layout.laid, layout.figures)
    parts = sown[sown["label"] == "oat_pea"].groupby("strip")["seeds"].sum()
    mixed = layout.strips[layout.strips["crop"] == "oat_pea"].groupby("strip")["seeds"].sum()
    assert parts.to_numpy() == pytest.approx(mixed.to_numpy())


def test_bags_of_several_crops_are_not_added(tmp_path):
    """Bags of oats and of peas are no number of bags; the strip's crops have theirs."""
    more = MORE.replace("purity = 0.98", 'purity = 0.98\nunit = "50 lb"').replace(
        'seed_size = "2000 seeds/lb"', 'seed_size = "2000 seeds/lb"\nunit = "50 lb"'
    )
    layout = lay_on(tmp_path, square(1320), shed=SHED + more, strips=CORN + MIXED)
    mixed = layout.strips["crop"] == "oat_pea"
    assert layout.strips.loc[mixed, "seed_units"].isna().all()
    assert layout.strips.loc[mixed, "seeds"].notna().all()
    assert layout.strips.loc[~mixed, "seed_units"].notna().all()
    lines = lines_of(layout, tmp_path)
    assert all(line["seed_units"] for line in lines)
    with (tmp_path / "out" / "strips.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert {row["seed_units"] == "" for row in rows if row["crop"] == "oat_pea"} == {True}
    assert {row["seed_units"] == "" for row in rows if row["crop"] == "corn"} == {False}
    pieces = json.loads((tmp_path / "out" / "strips.geojson").read_text(encoding="utf-8"))
    told = {(f["properties"]["crop"], f["properties"]["seed_units"] is None)
            for f in pieces["features"]}  # fmt: skip
    assert told == {("corn", False), ("oat_pea", True)}


@pytest.mark.parametrize(
    ("shares", "closer", "said"),
    [
        ({"oats": 0.5, "pea": 0.5}, 0.0, "replacement (shares add up to 1), 100 % of full rates"),
        ({"oats": 0.5, "pea": 0.5}, 0.25,
         "replacement (shares add up to 1), 125 % of full rates, sown 25 % closer included"),
        ({"oats": 1.0, "pea": 0.2}, 0.0, "additive, 120 % of full rates"),
        ({"oats": 0.5, "pea": 0.2}, 0.0, "thin (shares add up to less than 1), 70 % of full rates"),
    ],
)  # fmt: skip
def test_a_blend_says_whether_its_shares_replace_or_add(shares, closer, said):
    assert shares_words(Mixture(planter="drill", parts=shares, rate_increase=closer)) == said


def test_lines_say_how_and_at_what_share(tmp_path):
    lines = lines_of(laid(tmp_path, "all"), tmp_path)
    found = {(line["crop"], line["how"], float(line["share"])) for line in lines}
    # 0.5 and 0.6 of full rates, sown 25 % closer
    assert found == {
        ("wheat", "own", 1.0), ("corn", "own", 1.0), ("rye", "own", 1.0),
        ("oats", "mixed", 0.625), ("pea", "mixed", 0.75),
        ("soybean", "relay", 1.0), ("oats", "quick crop", 1.0),
    }  # fmt: skip
    assert {line["rows"] for line in lines if line["crop"] == "rye"} == {""}
    for line in lines:
        assert float(line["area_acres"]) == pytest.approx(
            float(line["area_m2"]) / ACRE_M2, abs=1e-5
        )
        if line["seed_kg"]:
            assert float(line["seed_lb"]) == pytest.approx(
                float(line["seed_kg"]) / POUND_KG, abs=1e-5
            )


def seed_texts(folder, layout):
    return texts_of(told(folder, layout, seed_story))


def test_the_index_names_what_is_sown_between(tmp_path):
    layout = laid(tmp_path, "all")
    index = texts_of(told(tmp_path, layout, index_story))
    totals = index[index.index("In all") :]
    acres = layout.land_accounts["crops"]["soybean"]["area_m2"] / ACRE_M2
    at = totals.index("+ S soybean between wheat")
    assert totals[at + 2] == f"{acres:.2f} ac"
    assert "+ A oats between corn" in totals


def test_a_crop_that_is_also_a_part_has_its_own_land(tmp_path):
    """Oats alone and oats in a mixture: the land of oats is that of its own strips."""
    strips = MIXED + '[[strips]]\ncrop = "oats"\nwidth = "30 ft"\n' + CORN
    layout = lay_on(tmp_path, square(1320), shed=SHED + MORE, strips=strips)
    index = texts_of(told(tmp_path, layout, index_story))
    totals = index[index.index("In all") :]
    own_m2 = layout.strips.query("crop == 'oats'")["area_m2"].sum()
    assert own_m2 < layout.land_accounts["crops"]["oats"]["area_m2"] / 2
    (at,) = [i for i, text in enumerate(totals) if text.endswith(" oats")]
    assert totals[at + 2] == f"{own_m2 / ACRE_M2:.2f} ac"


def test_the_land_of_a_mixture_is_told_once(tmp_path):
    layout = lay_on(tmp_path, square(1320), shed=SHED + MORE, strips=MIXED)
    (land,) = (line for line in layout_summary(layout.plan, layout.accounts) if "land: " in line)
    assert f"strips {layout.areas_m2['strips'] / ACRE_M2:.2f} ac" in land


def test_a_crop_may_be_called_as_other_land_is(tmp_path):
    shed = SHED.replace("crops.soybean", "crops.headland")
    strips = CORN + '[[strips]]\ncrop = "headland"\nrows = 16\n'
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=strips, headland=AROUND)
    own_m2 = layout.strips.query("crop == 'headland'")["area_m2"].sum()
    told = told_areas(layout.plan, layout.accounts)
    assert told.crops_m2["headland"] == pytest.approx(own_m2, abs=ACRE_M2 / 100)
    assert told.land_m2["headland"] == pytest.approx(layout.areas_m2["headland"], abs=ACRE_M2 / 100)
    assert sum(told.crops_m2.values()) == pytest.approx(told.land_m2["strips"], rel=1e-12)


def test_the_seed_sheet_holds_each_blend(tmp_path):
    """Oats 1.2 M x 0.625 / (14,000 x 0.98 x 0.9), pea 300,000 x 0.75 / 2,000 lb an acre."""
    layout = laid(tmp_path, "mixed")
    oats, pea = 1_200_000 * 0.625 / (14_000 * 0.98 * 0.9), 300_000 * 0.75 / 2_000
    last = seed_texts(tmp_path, layout)
    assert last[last.index("oat pea") :][3] == "blend below"
    title = last.index(
        "Blend of oat pea: additive, 137.5 % of full rates, sown 25 % closer included"
    )
    cells = last[title + 1 :]
    assert "to a batch of 1,000 lb" in cells[:6]
    share = oats / (oats + pea)
    acres = layout.land_accounts["crops"]["oat_pea"]["area_m2"] / ACRE_M2
    assert cells[6:12] == [
        "oats", "62.5 %", f"{oats:.1f}", f"{100 * share:.1f} %", f"{1000 * share:.0f}",
        f"{oats * acres:,.0f}",
    ]  # fmt: skip
    assert cells[12:15] == ["pea", "75 %", f"{pea:.1f}"]
    assert cells[18:21] == ["blend", f"{oats + pea:.1f}", "100 %"]


def test_the_report_says_a_blend_in_a_line_and_stays_short(tmp_path):
    layout = laid(tmp_path, "all")
    lines = layout_report(layout.plan, layout.accounts)
    assert len(lines) <= 14
    (line,) = [line for line in lines if line.startswith("blend")]
    assert line == (
        "blend oat_pea: oats 35.1%, pea 64.9% by weight, 173.2 lb/ac; "
        "additive, 137.5 % of full rates, sown 25 % closer included; to a batch of 1,000 lb: "
        "351 + 649"
    )


def test_a_blend_without_weights_says_its_shares(tmp_path):
    more = '[mixtures.duo]\nplanter = "planter"\nparts = {corn = 0.7, soybean = 0.6}\n'
    strips = '[[strips]]\ncrop = "duo"\nrows = 16\n'
    layout = lay_on(tmp_path, square(1320), shed=SHED + more, strips=strips)
    lines = layout_report(layout.plan, layout.accounts)
    needs = "weights need rates, and seed_size of those by number"
    said = f"blend duo: corn 70%, soybean 60% of their full rates; {needs}"
    assert said in lines
    index = texts_of(told(tmp_path, layout, index_story))
    assert {"· corn", "· soybean"} <= set(index)


def test_a_mixture_on_the_headland_and_between_rows_has_its_blend(tmp_path):
    between = RELAY.replace('"soybean"', '"oat_pea"')
    edge = '[headland]\nwhere = "around"\nwidth = "60 ft"\ncrop = "oat_pea"\n'
    layout = lay_on(
        tmp_path, square(1320), shed=SHED + MORE, strips=TWIN + CORN + between, headland=edge
    )
    acres = layout.land_accounts["headland_crop"]["oat_pea"]["area_m2"] / ACRE_M2
    last = seed_texts(tmp_path, layout)
    rates = "additive, 137.5 % of full rates, sown 25 % closer included"
    cells = last[last.index(f"Blend of oat pea on the headland: {rates}") :]
    pea = 300_000 * 0.75 / 2_000 * acres
    assert cells[cells.index("pea") + 5] == f"{pea:,.0f}"
    assert "Blend of oat pea: additive, 137.5 % of full rates, sown 25 % closer included" in last
    lines = layout_report(layout.plan, layout.accounts)
    assert sum(line.startswith("blend oat_pea: ") for line in lines) == 1


def test_many_blends_and_crops_leave_the_report_short(tmp_path):
    more = "".join(
        f'[mixtures.mix_{n}]\nplanter = "drill"\nharvester = "platform"\n'
        f"parts = {{oats = 0.{n}, pea = 0.5}}\n"
        for n in (2, 4, 6)
    )
    strips = TWIN + CORN + "".join(
        f'[[strips]]\ncrop = "mix_{n}"\nwidth = "60 ft"\n' for n in (2, 4, 6)
    )  # fmt: skip
    layout = lay_on(tmp_path, square(1320), shed=SHED + MORE + more, strips=strips)
    lines = layout_report(layout.plan, layout.accounts)
    assert len(lines) <= 14
    assert [line.split(":")[0] for line in lines if line.startswith("blend")] == [
        "blend mix_2", "blend mix_4"
    ]  # fmt: skip
    assert any(line.endswith("; 1 more on the seed sheet") for line in lines)
    assert any(line.startswith("  and ") for line in lines)
