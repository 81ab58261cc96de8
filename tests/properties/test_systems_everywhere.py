"""Every system on every sample field: accounts close, nothing overlaps, files are written."""

import json
import tomllib

import pytest
from fields import NAMES, SAMPLES, SHED, assert_whole

from striplay.flow import lay
from striplay.handover import save
from striplay.plan.check import check_plan

MORE = """
[machines.drill]
does = "plant"
width = "30 ft"
spacing = "7.5 in"
[crops.wheat]
planter = "drill"
harvester = "platform"
rate = "1500000 seeds/acre"
[mixtures.duo]
planter = "drill"
harvester = "platform"
parts = {wheat = 0.5, soybean = 0.7}
"""
ROW_SET = '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 8 soybean, 4 corn"\n'
RELAY = (
    '[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\nperiod = "30 in"\npattern = ["4 in", "12 in"]\n'
    '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\ngap = "20 in"\n'
)
QUICK = (
    '[[strips]]\ncrop = "corn"\nrows = 16\n'
    '[[quick_crop]]\ncrop = "soybean"\ninto = "corn"\nseeder = "drill"\n'
)
MIXED = '[[strips]]\ncrop = "duo"\nwidth = "30 ft"\n'
SYSTEMS = {
    "strips": '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 48\n',
    "row set": ROW_SET,
    "row set, one way": ROW_SET + 'travel = "one way"\n',
    "relay": RELAY,
    "quick crop": QUICK,
    "mixed": MIXED,
    "a mixed strip beside a relay": MIXED + RELAY,
    "a quick crop in a row set": ROW_SET + QUICK.split("rows = 16\n")[1],
}


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("name", NAMES)
def test_every_system_lies_on_every_field(tmp_path, name, system):
    path = SAMPLES / name / "plan.toml"
    asked = tomllib.loads(path.read_text(encoding="utf-8"))
    asked = {key: asked[key] for key in ("title", "field", "obstacles", "headland") if key in asked}
    for key in ("machine", "crop"):
        asked["headland"].pop(key, None)
    if "passes" in asked["headland"]:
        asked["headland"] |= {"machine": "planter"}
    own = tomllib.loads(SHED + MORE + SYSTEMS[system])
    layout = lay(check_plan({**asked, **own, "direction": {"heading": 33.0}}, path))
    assert_whole(layout)
    seeds = {crop: account["seeds"] for crop, account in layout.accounts["crops"].items()}
    counted = sum(value for value in seeds.values() if value is not None)
    assert layout.strips["seeds"].sum() == pytest.approx(counted, abs=len(seeds))
    lengths = layout.rows.groupby("crop")["length_m"].sum()
    assert layout.strips["row_length_m"].sum() == pytest.approx(lengths.sum(), rel=1e-9)
    save(layout, tmp_path / "out", map_book=False)
    written = json.loads((tmp_path / "out" / "accounts.json").read_text(encoding="utf-8"))
    assert written["crops"].keys() == layout.accounts["crops"].keys()
