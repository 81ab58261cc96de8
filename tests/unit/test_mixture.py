"""Mixed stands: seed at shares of full rates, and blends weighed with purity and germination."""

import pytest
import shapely
from fields import SHED, assert_whole, lay_on, square, write_plan_for

from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.plan.systems import Mixture
from striplay.section.mixture import blend, sown_of
from striplay.units import ACRE_M2, POUND_KG

NONE = '[headland]\nwhere = "none"\n'
DRILL = """
[machines.drill]
does = "plant"
width = "30 ft"
spacing = "7.5 in"
[crops.oats]
planter = "drill"
harvester = "platform"
rate = "1200000 seeds/acre"
seed_size = "14000 seeds/lb"
germination = 0.9
purity = 0.98
unit = "50 lb"
[crops.pea]
planter = "drill"
harvester = "platform"
rate = "300000 seeds/acre"
seed_size = "2000 seeds/lb"
unit = "50 lb"
"""
MIX = '[mixtures.oat_pea]\nplanter = "drill"\nharvester = "platform"\n'
HALVES = f"{MIX}parts = {{oats = 0.5, pea = 0.5}}\n"
STRIPS = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "oat_pea"\nwidth = "60 ft"\n'


def plan_with(folder, mixture, strips=STRIPS):
    return read_plan(
        write_plan_for(folder, square(1320), shed=SHED + DRILL + mixture, strips=strips)
    )


def laid(folder, mixture=HALVES, **parts):
    return lay_on(folder, square(1320), shed=SHED + DRILL + mixture, strips=STRIPS, **parts)


def test_each_part_is_sown_at_its_share_of_its_full_rate(tmp_path):
    oats, pea = sown_of(plan_with(tmp_path, HALVES), "oat_pea")
    assert oats.seed_rate_per_m2 == pytest.approx(600_000 / 0.9 / ACRE_M2)
    assert pea.seed_rate_per_m2 == pytest.approx(150_000 / ACRE_M2)


def test_closer_sowing_is_a_share_more_of_each(tmp_path):
    oats, pea = sown_of(plan_with(tmp_path, HALVES + "rate_increase = 0.25\n"), "oat_pea")
    assert oats.seed_rate_per_m2 == pytest.approx(750_000 / 0.9 / ACRE_M2)
    assert pea.seed_rate_per_m2 == pytest.approx(187_500 / ACRE_M2)


@pytest.mark.parametrize(
    ("shares", "kind"),
    [((0.5, 0.5), "replacement"), ((0.7, 0.3), "replacement"), ((1.0, 0.5), "additive"),
     ((0.4, 0.4), "thin")],
)  # fmt: skip
def test_shares_make_it_replacement_or_additive(shares, kind):
    parts = dict(zip(("oats", "pea"), shares, strict=True))
    assert Mixture.model_validate({"planter": "drill", "parts": parts}).kind == kind


def test_blend_by_hand(tmp_path):
    """Oats: 600,000 seeds / (14,000 x 0.98 x 0.9) = 48.59 lb an acre; pea: 150,000 / 2,000 = 75."""
    plan = plan_with(tmp_path, f'{HALVES}batch = "1000 lb"\n')
    oats, pea = blend(plan, "oat_pea")
    pounds = 600_000 / (14_000 * 0.98 * 0.9)
    assert oats.kg_per_m2 == pytest.approx(pounds * POUND_KG / ACRE_M2)
    assert pea.kg_per_m2 == pytest.approx(75 * POUND_KG / ACRE_M2)
    assert oats.by_weight == pytest.approx(pounds / (pounds + 75))
    assert oats.batch_kg / POUND_KG == pytest.approx(393.16, abs=0.01)
    assert pea.batch_kg / POUND_KG == pytest.approx(606.84, abs=0.01)


def test_a_blend_without_weights_has_none(tmp_path):
    plan = plan_with(tmp_path, f"{MIX}parts = {{oats = 0.5, corn = 0.5}}\n")
    assert [part.by_weight for part in blend(plan, "oat_pea")] == [None, None]


def test_a_mixed_strip_is_counted_crop_by_crop(tmp_path):
    layout = laid(tmp_path, headland=NONE)
    assert_whole(layout)
    crops = layout.land_accounts["crops"]
    area_m2 = crops["oat_pea"]["area_m2"]
    assert crops["oats"]["area_m2"] == crops["pea"]["area_m2"] == pytest.approx(area_m2)
    assert crops["oats"]["with"] == ["pea"]
    assert crops["pea"]["seeds"] == pytest.approx(150_000 * area_m2 / ACRE_M2, rel=1e-4)
    assert crops["oats"]["seeds"] == pytest.approx(600_000 / 0.9 * area_m2 / ACRE_M2, rel=1e-4)
    # weights and bags say the same as the blend
    oats = crops["oat_pea"]["parts"][0]
    assert crops["oats"]["seed_kg"] == pytest.approx(oats["kg_per_m2"] * area_m2, rel=1e-4)
    bags = crops["oats"]["seed_kg"] / (50 * POUND_KG)
    assert crops["oats"]["seed_units"] == pytest.approx(bags, abs=1)
    assert crops["oat_pea"]["seeds"] is None
    assert [part["crop"] for part in crops["oat_pea"]["parts"]] == ["oats", "pea"]
    mixed = layout.strips[layout.strips["crop"] == "oat_pea"]
    assert mixed["seeds"].sum() == pytest.approx(
        (600_000 / 0.9 + 150_000) * area_m2 / ACRE_M2, rel=1e-4
    )
    assert set(layout.rows["crop"]) == {"corn", "oat_pea"}


def test_a_headland_may_be_planted_to_a_mixture(tmp_path):
    edge = '[headland]\nwhere = "around"\nwidth = "60 ft"\ncrop = "oat_pea"\n'
    planted = laid(tmp_path, headland=edge).land_accounts["headland_crop"]["oat_pea"]
    acres = planted["area_m2"] / ACRE_M2
    assert planted["seeds"] == pytest.approx((600_000 / 0.9 + 150_000) * acres, rel=1e-6)
    assert [part["crop"] for part in planted["parts"]] == ["oats", "pea"]


def test_a_row_set_may_carry_a_mixture(tmp_path):
    mixture = '[mixtures.duo]\nplanter = "planter"\nparts = {corn = 0.7, soybean = 0.6}\n'
    strips = '[[row_set]]\nplanter = "planter"\nunits = "8 duo, 8 soybean"\n'
    field = shapely.box(0, 0, 32 * 0.762, 300)
    layout = lay_on(tmp_path, field, shed=SHED + mixture, strips=strips, headland=NONE)
    assert layout.strips["crop"].tolist() == ["duo", "soybean", "duo"]
    acres = 32 * 0.762 * 300 / ACRE_M2
    assert layout.land_accounts["crops"]["soybean"]["seeds"] == pytest.approx(
        acres / 2 * 140_000 * (1 + 0.6), rel=1e-3
    )


@pytest.mark.parametrize(
    ("mixture", "said"),
    [
        (f"{MIX}parts = {{oats = 0.5}}\n", "mixtures.oat_pea.parts: holds one crop"),
        (f"{MIX}parts = {{oats = 0.5, rye = 0.5}}\n", 'mixtures.oat_pea.parts: no crop "rye"'),
        (
            f"{MIX}parts = {{oats = 0, pea = 0.5}}\n",
            "for example parts = {oats = 0.5, field_pea = 0.5}",
        ),
        (HALVES.replace('"drill"', '"dril"'), 'no machine "dril", did you mean "drill"?'),
        (HALVES.replace('"drill"', '"platform"'), 'planter: "platform" does not do that work'),
        (HALVES.replace("oat_pea", "corn"), "mixtures.corn: has the name of a crop"),
        (
            f'{MIX}parts = {{oats = 0.5, corn = 0.5}}\nbatch = "1000 lb"\n',
            "mixtures.oat_pea.batch: needs seed_size of corn",
        ),
    ],
)
def test_faulty_mixtures_are_refused(tmp_path, mixture, said):
    with pytest.raises(PlanError) as refusal:
        plan_with(tmp_path, mixture)
    assert said in str(refusal.value)
