"""`striplay pay`: a short report, data for scripts, trials, and refusals in one clear message."""

import json
import re

import pytest
from click.testing import CliRunner
from fields import SHED, square, write_plan_for
from priced import PURDUE, priced

from striplay.cli import main
from striplay.economics.doubtful import doubtful
from striplay.economics.indices import Grown, area_time_equivalent_ratio
from striplay.economics.worth import worths_of
from striplay.files.plan import read_plan
from striplay.pay_report import PAY_LINES, WIDE
from striplay.section.systems import sections_of

BARE = '[headland]\nwhere = "none"\n'
STRIPS = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'


def run(*arguments):
    return CliRunner().invoke(main, ["pay", *map(str, arguments)])


def plan_in(tmp_path, shed=None, tables="", strips=STRIPS):
    shed = priced() if shed is None else shed
    return write_plan_for(tmp_path, square(400), shed=shed, strips=strips + tables, headland=BARE)


def test_a_report_of_few_lines(tmp_path):
    tables = PURDUE + "[economics]\nprice_range = 0.2\nyield_range = 0.1\ncost_range = 0.2\n"
    found = run(plan_in(tmp_path, tables=tables))
    assert found.exit_code == 0, found.output
    lines = found.stdout.splitlines()
    assert 12 <= len(lines) <= PAY_LINES
    assert max(map(len, lines)) <= WIDE
    text = found.stdout
    for word in ("strips leave", "land equivalent ratio", "monetary equivalent ratio",
                 "than blocks",
                 "than rotation", "than corn alone", "than soybean alone", "chance of less",
                 "break-even price", "break-even edge", "would change it most", "yours:",
                 "assumed:"):  # fmt: skip
        assert word in text, word


def test_what_is_assumed_is_told_however_many_crops(tmp_path):
    crops = [f"crop{number}" for number in range(6)]
    shed = SHED + "".join(
        f'[crops.{crop}]\nplanter = "planter"\nyield = "5 t/ha"\nprice = "200 per t"\n'
        for crop in crops
    )
    strips = "".join(f'[[strips]]\ncrop = "{crop}"\nrows = 16\n' for crop in crops)
    lines = run(plan_in(tmp_path, shed, strips=strips)).stdout.splitlines()
    assert len(lines) <= PAY_LINES
    assert "more of this stands in --json" in lines
    assert any(line.startswith("assumed: ") for line in lines)
    assert any(line.startswith("no trial at hand fits") for line in lines)


def test_costs_that_are_not_counted_are_told_beside_the_answer(tmp_path):
    keys = 'seed_price = "280 per unit"\nother_costs = "90 per acre"\n'
    path = plan_in(tmp_path, priced(corn=keys), tables='[economics]\nedges = "published"\n')
    lines = run(path).stdout.splitlines()
    told = next(line for line in lines if "not counted" in line)
    assert "seed of soybean; other costs of soybean. Against a crop alone" in told
    assert lines.index(told) < next(at for at, line in enumerate(lines) if "break-even" in line)
    # no price, yield or cost has a range: chances are of edges alone, and none is certain
    assert any("chances by these alone" in line for line in lines)
    assert any("less over 99 %" in line or "less under 1 %" in line for line in lines)


def test_machines_that_are_made_up_are_told_before_what_they_earn(tmp_path):
    shed = priced().replace("[machines.planter]", "[machines.planter]\nexample = true")
    found = run(plan_in(tmp_path, shed))
    assert found.exit_code == 0, found.output
    assert '"planter" is made up, none of the farm\'s machines' in found.output


def test_data_for_scripts(tmp_path):
    found = run(plan_in(tmp_path), "--json")
    data = json.loads(found.stdout)
    assert data["not_counted"][0].startswith("not counted, for the plan does not say: seed of corn")
    assert data["notices"] == []
    assert data["margin"]["low"] <= data["margin"]["central"] <= data["margin"]["high"]
    assert [one["other"] for one in data["against"]] == [
        "blocks", "rotation", "corn alone", "soybean alone",
    ]  # fmt: skip
    assert {one["crop"] for one in data["crops"]} == {"corn", "soybean"}
    assert len(data["strips"]) == 10
    assert {one["study"] for one in data["studies"]} >= {"West 1992", "Verdelli 2012"}
    assert any("no gain is taken" in one for one in data["unsure"])
    strips = sum(one["margin"]["central"] for one in data["strips"])
    assert strips == pytest.approx(data["margin"]["central"])


def test_each_other_way_is_told_for_the_whole_field(tmp_path):
    path = plan_in(tmp_path, tables=PURDUE)
    data = json.loads(run(path, "--json").stdout)
    lines = run(path).stdout.splitlines()
    for one in data["against"]:
        (line,) = [line for line in lines if line.startswith(f"  than {one['other']} ")]
        whole = float(re.search(r", (-?[\d,]+) on the whole field", line)[1].replace(",", ""))
        assert whole == pytest.approx(one["net"]["central"], abs=0.51), line
    corn = next(one for one in data["against"] if one["other"] == "corn alone")
    assert abs(corn["net"]["central"]) > 100  # of a field of 40 acres, so no rounding to nothing


def test_a_pair_that_no_source_fits_is_told_and_what_gain_is_needed(tmp_path):
    shed = priced(SHED).replace("soybean", "sunflower")
    shed = shed.replace("[crops.sunflower]\n", '[crops.sunflower]\nbushel = "28 lb"\n')
    shed = shed.replace('bushel = "28 lb"\n', 'bushel = "28 lb"\n')
    found = run(plan_in(tmp_path, shed, strips=STRIPS.replace("soybean", "sunflower")))
    assert found.exit_code == 0, found.output
    said = " ".join(found.stdout.split())
    assert "no trial at hand fits the edges of corn beside sunflower" in said
    assert "outer rows of corn beside sunflower" in said
    assert "taken 0 %" in said


MISSING = """\
striplay: plan.toml: 2 faults
  crops.corn.price: is missing: what it is sold for; for example price = "4.50 per bu"
  crops.soybean.yield: is missing: what it yields grown alone; for example yield = "180 bu/acre"
"""
YIELD = '"is not a yield'


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('price = "4.50 per bu"\n', "", MISSING),
        ('price = "4.50 per bu"', 'price = "4.50"',
         'crops.corn.price: "4.50" is not a price; write a number and a unit, such as "4.50 per'),
        ('price = "4.50 per bu"', "price = 4.5",
         'crops.corn.price: 4.5 needs a unit: write a price as text, such as "4.50 per bu"'),
        ('price = "4.50 per bu"', 'price = "4.50 per acre"',
         ('crops.corn.price: "4.50 per acre" is not a price: unknown unit "per acre"; known are '
         "per bu, per t, per cwt, per lb, per kg")),
        ('yield = "190 bu/acre"', 'yield = "190 bu"',
         ('crops.corn.yield: "190 bu" is not a yield: unknown unit "bu"; known are bu/acre, '
         "lb/acre, kg/ha, t/ha")),
        ('yield = "190 bu/acre"', 'yield = "190 bu/acre"\nmoisture = 25',
         "crops.corn.moisture: 25 is no share of weight; write 0.25 for 25 %"),
        ('yield = "190 bu/acre"', 'yield = "190 bu/acre"\nmoisture = -0.1',
         "crops.corn.moisture: -0.1 can't be the moisture of grain"),
        ('yield = "190 bu/acre"', 'yield = "190 bu/acre"\ndrying = "0.05 per bu"',
         ('crops.corn.drying: "0.05 per bu" is not a price of drying: unknown unit "per bu"; '
         "known are per bu per point")),
        ('yield = "190 bu/acre"',
         'yield = "190 bu/acre"\nmoisture = 0.95\ndrying = "0.05 per bu per point"',
         ("crops.corn.drying: takes all of the price: from 95 % to 15.5 % it costs 67.18 per bu "
          "that sells for 4.50; is the moisture right?")),
    ],
)  # fmt: skip
def test_refusals_in_one_clear_message(tmp_path, old, new, told):
    shed = priced().replace(old, new)
    if told is MISSING:
        shed = shed.replace('yield = "55 bu/acre"\n', "")
    found = run(plan_in(tmp_path, shed))
    assert found.exit_code == 2
    assert found.stdout == ""
    assert told in found.stderr
    assert "Traceback" not in found.stderr


def test_what_is_missing_is_told_before_anything_is_laid(tmp_path, monkeypatch):
    monkeypatch.setattr("striplay.flow.lay", lambda _: pytest.fail("laid"))
    found = run(plan_in(tmp_path, priced().replace('price = "4.50 per bu"\n', "")))
    assert "crops.corn.price: is missing" in found.stderr


def test_ranges_of_yields_are_told(tmp_path):
    """Yields may lie 10 % off: 190 from 171 to 209, 55 from 49.5 to 60.5 (arithmetic)."""
    path = plan_in(tmp_path, tables="[economics]\nyield_range = 0.1\n")
    text = run(path).stdout
    assert "chances by these alone" not in text
    assert "190 (171 to 209) alone" in text
    assert "55 (49.5 to 60.5) alone" in text
    assert "by its edges) bu/ac in strips" in text


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('yield = "190 bu/acre"', 'yield = "1900 bu/acre"',
         ("crops.corn.yield: 1,900 bu/ac is unusual: from 7.97 to 637 is had (from memory); is the "
          "unit right?")),
        ('price = "4.50 per bu"', 'price = "450 per bu"',
         ("corn brings in 141 times as much by area as soybean: are crops.corn.price, "
          "crops.soybean.price and both yields right?")),
        ('price = "4.50 per bu"', 'price = "9 per bu"', ""),
    ],
)  # fmt: skip
def test_figures_that_are_hardly_meant(tmp_path, old, new, told):
    plan = read_plan(plan_in(tmp_path, priced().replace(old, new)))
    worths = worths_of(plan, sections_of(plan)[0])
    assert [str(one) for one in doubtful(plan, worths)] == [told][: len(told)]


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ('yield = "5 t/ha"\nprice = "9 per bu"\n',
         "crops.teff.bushel: is missing: yield, price and drying are told by bushel and by weight"),
        ('yield = "5 t/ha"\nprice = "90 per t"\nmoisture = 0.2\n',
         "crops.teff.base_moisture: is missing: it is not known at which moisture it is sold"),
        ('yield = "5 t/ha"\nprice = "90 per t"\nseed_price = "100 per unit"\nunit = "50 lb"\n',
         'crops.teff.rate: is missing: seed_price needs it; for example rate = "34000 seeds/acre"'),
    ],
)  # fmt: skip
def test_crops_of_which_little_is_known(tmp_path, keys, told):
    shed = priced() + f'[crops.teff]\nplanter = "planter"\n{keys}'
    found = run(plan_in(tmp_path, shed, strips=STRIPS.replace("soybean", "teff")))
    assert (found.exit_code, found.stdout) == (2, "")
    assert told in found.stderr


def test_crops_that_share_ground_are_asked_for(tmp_path):
    shed = priced(SHED + '[crops.wheat]\nplanter = "planter"\nharvester = "platform"\n')
    strips = '[[strips]]\ncrop = "wheat"\nrows = 16\n[[relay]]\ncrop = "soybean"\ninto = "wheat"\n'
    found = run(plan_in(tmp_path, shed, strips=strips))
    assert found.exit_code == 2
    assert "yields together: are missing for wheat, soybean" in found.stderr


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ("rotation = {corn = 0.5}", "economics.rotation: adds up to 0.5; shares of years add up"),
        ("rotation = {oats = 1.0}", 'economics.rotation: no crop "oats"; known are corn, soybean'),
        ("price_range = 20", "economics.price_range: 20 must be 1 or less; for example"),
        ('fuel_price = "3.80"', 'economics.fuel_price: "3.80" is not a price of fuel'),
    ],
)  # fmt: skip
def test_economics_that_cannot_be(tmp_path, table, told):
    found = run(plan_in(tmp_path, tables=f"[economics]\n{table}\n"))
    assert found.exit_code == 2
    assert told in found.stderr


def test_a_price_by_weight_for_a_rate_by_volume(tmp_path):
    wish = '[[operations]]\ndoes = "spray"\nmachine = "sprayer"\nproduct_price = "2 per lb"\n'
    found = run(plan_in(tmp_path, tables=wish + 'product = "A"\nrate = "10 gal/acre"\n'))
    assert found.exit_code == 2
    said = "operations[1].product_price: is by weight and the rate by volume; give both by one of"
    assert said in found.stderr
    bare = run(plan_in(tmp_path, tables=wish))
    assert "operations[1].rate: is missing: what is applied by area, at that price?" in bare.stderr


# --- trials ------------------------------------------------------------------------------------

HEAD = "trial,crop,together,alone,land_share,price,days,held_days\n"
TRIAL = HEAD + (
    "Bantie 2015,maize,4.1 t/ha,4.2 t/ha,0.5,200 per t,140,140\n"
    "Bantie 2015,potato,23.3 t/ha,24.7 t/ha,0.5,150 per tonne,100,\n"
    "Mondal 2012,carrot,13.88 t/ha,22.61 t/ha,,,,\n"
    "Mondal 2012,groundnut,1.15 t/ha,2.01 t/ha,,,,\n"
    "ours,corn,98 bu/acre,190 bu/acre,0.5,4.50 per bu,,\n"
    "ours,soybean,26 bu/acre,55 bu/acre,0.5,11 per bu,,\n"
)
"""Yields of two trials: Paut and others, Scientific Data 2024; prices, days and ours invented."""


def written(tmp_path, text):
    path = tmp_path / "trials.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_indices_of_trials(tmp_path):
    path = written(tmp_path, TRIAL)
    first, second, ours = json.loads(run("--trial", path, "--json").stdout)
    assert first["land_equivalent_ratio"] == pytest.approx(1.92, abs=5e-3)
    assert first["land_equivalents"] == {
        "maize": pytest.approx(0.976, abs=5e-4), "potato": pytest.approx(0.943, abs=5e-4),
    }  # fmt: skip
    assert first["monetary_equivalent_ratio"] == pytest.approx((820 + 3495) / 3705)
    assert first["best_alone"] == "potato"
    timed = [Grown("a", 4.1, 4.2, days=140), Grown("b", 23.3, 24.7, days=100)]
    assert first["area_time_equivalent_ratio"] == pytest.approx(
        area_time_equivalent_ratio(timed, 140)
    )
    ratios = first["competitive_ratios"]
    assert ratios["maize"] * ratios["potato"] == pytest.approx(1.0)
    assert sum(first["aggressivity"].values()) == pytest.approx(0.0)
    assert first["net_effect_ratio"] == pytest.approx(27.4 / 14.45)
    assert second["land_equivalent_ratio"] == pytest.approx(1.186, abs=5e-4)
    assert second["monetary_equivalent_ratio"] is None
    assert second["net_effect_ratio"] is None
    # bushels of known weight are added by weight: 56 and 60 lb
    assert ours["net_effect_ratio"] == pytest.approx((98 * 56 + 26 * 60) / (95 * 56 + 27.5 * 60))
    text = run("--trial", path).stdout
    assert "Bantie 2015: land equivalent ratio 1.920" in text
    assert "monetary equivalent ratio 1.165: more than potato alone" in text
    assert "ours: land equivalent ratio 0.989" in text


def test_a_crop_that_fails_together(tmp_path):
    lines = "a,corn,0 t/ha,4 t/ha,0.5,,,\na,pea,3 t/ha,4 t/ha,0.5,,,\n"
    path = written(tmp_path, HEAD + lines)
    (data,) = json.loads(run("--trial", path, "--json").stdout)
    assert data["competitive_ratios"] == {"corn": 0.0, "pea": None}
    assert "competitive ratio corn 0.00, pea without end" in run("--trial", path).stdout


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("a,corn,4.1,4.2 t/ha,,,,",
         'line 2: together: "4.1" is not a yield; write a number and a unit, such as "180 bu/'),
        ("a,corn,4.1 t/ha,,,,,", "line 2: alone: is missing; for example 180 bu/acre"),
        ("a,corn,4.1 t/ha,0 t/ha,,,,", 'line 2: alone: "0 t/ha" must be above zero'),
        ("a,corn,-1 t/ha,4 t/ha,,,,", 'line 2: together: "-1 t/ha" must be zero or more'),
        ("a,,4.1 t/ha,4.2 t/ha,,,,", "line 2: crop: is missing"),
        ("a,corn,4.1 t/ha,4.2 t/ha,1.5,,,", "line 2: land_share: 1.5 is no share of the land"),
        ("a,corn,4.1 t/ha,4.2 t/ha,half,,,", 'line 2: land_share: "half" is no number above 0'),
        ("a,corn,4.1 t/ha,4.2 t/ha,,4.5,,",
         'line 2: price: "4.5" is not a price; write a number and a unit, such as "4.50 per bu"'),
        ("a,teff,4 bu/acre,4.2 t/ha,,,,",
         "line 2: teff: has bushels and weights, and its bushel's weight is not known"),
        ("a,corn,4.1 t/ha,4.2 t/ha,,,,,9", "line 2: has more values than the 8 columns"),
        ("a,corn,4.1 t/ha,4.2 t/ha,,,,", "line 2: trial a: has one crop, corn; a line for each"),
        ("a,corn,4 t/ha,4 t/ha,,,,\na,corn,4 t/ha,4 t/ha,,,,",
         "line 2: trial a: has corn twice; one line for each crop will do"),
        ("a,corn,4 t/ha,4 t/ha,0.5,,,\na,pea,4 t/ha,4 t/ha,0.4,,,",
         "line 2: trial a: shares of the land add up to 0.9; they must add up to 1"),
        ("a,corn,4 t/ha,4 t/ha,,,120,100\na,pea,4 t/ha,4 t/ha,,,90,",
         "line 2: trial a: corn: holds its land 120 days of 100 in all"),
    ],
)  # fmt: skip
def test_a_bad_line_is_refused_with_its_number(tmp_path, line, told):
    found = run("--trial", written(tmp_path, f"{HEAD}{line}\n"))
    assert (found.exit_code, found.stdout) == (2, "")
    assert f"striplay: trials.csv: {told}" in found.stderr


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "line 1: has no column trial, crop, together, alone; it has none"),
        ("trial;crop\n", "line 1: has no column trial, crop, together, alone; it has trial;crop"),
        ("trial,crop,together,alone,yield\n", 'line 1: unknown column "yield"; known are'),
        ("trial,crop,together,alone\n", "holds no trials; write a line for each crop of each"),
    ],
)  # fmt: skip
def test_a_file_that_holds_no_trials(tmp_path, text, told):
    found = run("--trial", written(tmp_path, text))
    assert found.exit_code == 2
    assert f"striplay: trials.csv: {told}" in found.stderr


def test_no_such_file(tmp_path):
    found = run("--trial", tmp_path / "none.csv")
    assert found.exit_code == 2
    assert "is not there; are name and folder right?" in found.stderr


@pytest.mark.parametrize("arguments", [(), ("plan.toml", "--trial", "a.csv")])
def test_a_plan_or_a_trial(arguments):
    found = run(*arguments)
    assert found.exit_code == 2
    assert "give a plan, or --trial and a file of measured yields" in found.stderr
