"""Pages of a yield monitor's file: legible, and each point in the color of its yield."""

import json
from datetime import date

import numpy as np
import pytest
from books import told
from combine import COLUMNS, drives_on, harvest, levels
from fields import SHED, lay_on, square

from striplay.errors import OutputError, PlanError
from striplay.monitoring import entries_of, read_yields, write_yield_map
from striplay.records.monitor_report import monitor_data, monitor_report
from striplay.sheets.yield_sheets import fifths, yield_story


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("yields")


@pytest.fixture(scope="module")
def layout(folder):
    return lay_on(folder, square(660), shed=SHED + COLUMNS)


@pytest.fixture(scope="module")
def found(layout, folder):
    drives = list(drives_on(layout, "corn"))
    model = harvest(layout.ground.plane, drives, levels(layout, "corn", 1.0))
    (folder / "corn.csv").write_text("\n".join(model.lines))
    return read_yields(layout, folder / "corn.csv")


@pytest.mark.parametrize("ink", ["color", "gray"])
def test_pages_are_legible_and_say_what_the_terminal_says(layout, found, tmp_path, ink):
    pages = told(tmp_path, layout, lambda book, laid: yield_story(book, laid, found), ink)
    assert len(pages) == 2
    first, second = (" ".join(page.texts) for page in pages)
    assert "Yield, a fifth of the points in each color" in first
    assert "true N" in first
    for line in monitor_report(found, layout.plan):
        assert " ".join(line.split(", ")[0].split()) in second


def test_each_color_is_of_a_fifth_of_the_points(found):
    counted = found.kg_per_m2[np.isfinite(found.kg_per_m2)]
    number = np.searchsorted(fifths(found.kg_per_m2), counted, side="right")
    assert np.bincount(number) == pytest.approx(np.full(5, len(counted) / 5), abs=1.0)


def test_what_stands_on_the_pages_is_plain_data(found):
    data = json.loads(json.dumps(monitor_data(found), allow_nan=False))
    assert data["counted"] + sum(data["dropped"].values()) == data["points"]
    assert [one["strip"] for one in data["strips"]] == [one.strip for one in found.strips]


def test_an_entry_has_its_strips_yield_and_all_its_ground(layout, found):
    areas = layout.strips.groupby("strip")["area_m2"].sum()
    for one, entry in zip(found.strips, entries_of(found, date(2027, 10, 3)), strict=True):
        assert entry.area_m2 == pytest.approx(areas[entry.strip], rel=1e-9)
        dry = entry.grain_kg * (1 - entry.moisture) / (1 - found.base_moisture)
        assert dry / entry.area_m2 == pytest.approx(one.kg_per_m2, rel=1e-3)


def test_another_ending_or_a_plan_without_columns_is_refused(layout, found, tmp_path):
    with pytest.raises(OutputError, match=r"^map\.png: must end in \.pdf$"):
        write_yield_map(layout, found, tmp_path / "map.png")
    assert not list(tmp_path.iterdir())
    bare = lay_on(tmp_path, square(660))
    with pytest.raises(PlanError, match=r"^plan\.toml: monitor: is missing; name the file's col"):
        read_yields(bare, tmp_path / "corn.csv")
