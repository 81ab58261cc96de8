"""The documents' own examples run, on the sample fields."""

import re
import shlex
import tomllib
from collections import Counter
from dataclasses import replace
from datetime import date
from pathlib import Path
from textwrap import dedent

import pyogrio
import pytest
import shapely
from click.testing import CliRunner
from fields import SAMPLES, STRIPS, assert_whole, sample, square, texts, write_plan_for

from striplay.cli import main
from striplay.files.plan import read_plan
from striplay.files.writers import WRITERS, Writer
from striplay.flow import lay
from striplay.handover import save
from striplay.plan import machines
from striplay.plan.check import check_plan
from striplay.section.mixture import sown_of
from striplay.section.passes import with_passes
from striplay.section.systems import sections_of
from striplay.units import INCH_M

ROOT = SAMPLES.parent


def blocks(page, language):
    indent = language[: len(language) - len(language.lstrip())]
    text = (ROOT / page).read_text(encoding="utf-8")
    return re.findall(
        rf"^{indent}```{language.strip()}\n(.*?)```", text, flags=re.DOTALL | re.MULTILINE
    )


def test_every_test_that_the_page_of_checks_names_is_there():
    page = (ROOT / "docs" / "checks.md").read_text(encoding="utf-8")
    names = set(re.findall(r"`(test_\w+\.py)`", page))
    assert len(names) >= 6
    assert names <= {path.name for path in (ROOT / "tests").rglob("test_*.py")}


@pytest.fixture
def beside_samples(tmp_path, monkeypatch):
    (tmp_path / "sample_fields").symlink_to(SAMPLES)
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize(
    "page",
    [
        "README.md",
        "docs/howto_python.md",
        "docs/recipes.md",
        "docs/howto_pay.md",
        "docs/howto_choose_system.md",
    ],
)
@pytest.mark.usefixtures("beside_samples", "samples_laid_once")
def test_python_examples_run(page, capsys):
    for block in blocks(page, "python"):
        exec(compile(block, page, "exec"), {})  # noqa: S102 - our own documents
        for said in re.findall(r"^print\(.*#\s*(.+)$", block, flags=re.MULTILINE):
            assert capsys.readouterr().out.strip() == said


@pytest.mark.usefixtures("beside_samples", "samples_laid_once")
def test_tutorial_commands_run():
    commands = [block.strip() for block in blocks("docs/tutorial.md", "sh")]
    *commands, season = commands
    assert season == "striplay demo --season -o a_season"  # which test_demo_season.py runs
    assert len(commands) == 4
    for command in commands:
        result = CliRunner().invoke(main, shlex.split(command)[1:])
        assert result.exit_code == 0, result.stderr
    assert (Path.cwd() / "my_field" / "mapbook.pdf").exists()


def test_a_kind_of_file_added_as_documented_is_written_and_known(tmp_path, monkeypatch):
    names = {}
    with monkeypatch.context() as added:
        added.setitem(WRITERS, "gpx", None)  # taken out again at the end
        (encoder,) = blocks("docs/howto_add_format.md", "   python")
        exec(compile(dedent(encoder), "howto_add_format", "exec"), names)  # noqa: S102 - our own
        (line,) = blocks("docs/howto_add_format.md", "   text")
        first, *_ = dedent(line).splitlines()
        registry = (ROOT / "striplay" / "files" / "writers.py").read_text(encoding="utf-8")
        assert f"\n        {first}\n" in registry  # as the other lines stand there
        known = {"Writer": Writer, "_by": {"striplay.files.write_gpx": names["encode"]}.get}
        (writer,) = eval(f"[{dedent(line)}]", known)  # noqa: S307 - our own
        added.setitem(WRITERS, writer.name, writer)
        path = write_plan_for(tmp_path, square(1320), strips=STRIPS)
        path.write_text(path.read_text() + '[files]\nwrite = ["gpx"]\n')
        layout = lay(read_plan(path))
        for _ in range(2):  # the folder is known as one written here
            save(layout, tmp_path / "out")
    assert {one.name for one in (tmp_path / "out").iterdir()} == {".striplay-layout", "passes.gpx"}
    tracks = pyogrio.read_dataframe(tmp_path / "out" / "passes.gpx", layer="tracks")
    passes = layout.passes
    assert list(tracks["name"]) == [f"{job} {n}" for job, n in
                                    zip(passes["job"], passes["number"], strict=True)]  # fmt: skip
    back = layout.ground.plane.to_plane(shapely.get_coordinates(tracks.geometry))
    assert abs(back - shapely.get_coordinates(passes.geometry)).max() < 0.01  # 1e-7 degree is 11 mm


@pytest.mark.usefixtures("beside_samples", "samples_laid_once")
def test_commands_and_keys_of_the_page_of_receivers_work(tmp_path):
    (command,) = blocks("docs/howto_receivers.md", "sh")
    result = CliRunner().invoke(main, shlex.split(command)[1:])
    assert result.exit_code == 0, result.stderr
    assert {one.name for one in Path("out").iterdir()} == {
        ".striplay-layout", "layout.kml", "layout_shp.zip", *WRITERS["csv"].files,
    }  # fmt: skip
    (keys,) = blocks("docs/howto_receivers.md", "toml")
    path = write_plan_for(tmp_path, square(1320))
    path.write_text(f"{path.read_text()}\n{keys}")
    assert read_plan(path).files.write == tuple(tomllib.loads(keys)["files"]["write"])


@pytest.mark.usefixtures("beside_samples", "samples_laid_once")
def test_command_and_keys_of_the_page_of_terminals_work(tmp_path):
    (command,) = blocks("docs/howto_terminal.md", "sh")
    result = CliRunner().invoke(main, [*shlex.split(command)[1:], "--no-map-book"])
    assert result.exit_code == 0, result.stderr
    assert {one.name for one in Path("out").iterdir()} == {".striplay-layout", "taskdata.zip"}
    # the page says that a boom's middle over other strips is told of
    assert "taskdata.zip: spray corn: on " in result.stderr
    (keys,) = blocks("docs/howto_terminal.md", "toml")
    path = write_plan_for(tmp_path, square(1320))
    path.write_text(f"{path.read_text()}\n{keys}")
    files = read_plan(path).files
    assert (files.task_data, "task-data" in files.write) == ("3.3", True)


HOED = """
[machines.hoe]
does = "hoe"
width = "20 ft"
[[operations]]
does = "hoe"
machine = "hoe"
crops = ["corn"]
day = 2026-05-20
"""


def test_a_kind_of_work_added_as_documented_is_driven_judged_and_written(tmp_path, monkeypatch):
    names = {}
    with monkeypatch.context() as added:
        added.setitem(machines.MACHINES, "hoe", None)  # taken out again at the end
        for block in blocks("docs/howto_add_kind_of_work.md", "   python"):
            exec(compile(dedent(block), "howto_add_kind_of_work", "exec"), names)  # noqa: S102 - our own
        plan = read_plan(write_plan_for(tmp_path, square(1320), strips=STRIPS + HOED))
        layout = lay(plan)
        hoed = next(one for one in layout.accounts["operations"] if one["operation"] == "hoe")
        corn = layout.land_accounts["crops"]["corn"]
        assert (hoed["name"], hoed["day"]) == ("hoe corn", "2026-05-20")
        assert hoed["area_worked_m2"] == pytest.approx(
            corn["area_m2"] + layout.areas_m2["headland"]
        )
        assert hoed["passes"] > 0
        assert hoed["hours"] > 0
        assert hoed["fuel_l"] is None
        save(layout, tmp_path / "out", map_book=False)
        assert '"hoe corn"' in (tmp_path / "out" / "operations.csv").read_text()


def between_corn(plan, section):
    """Add rows of soybean between the first two of corn, in a layer that no key of the plan has."""
    at_m = (section.rows[0].offset_m + section.rows[1].offset_m) / 2
    sown = tuple(
        replace(layer, number=7, grown="relay", host="corn") for layer in sown_of(plan, "soybean")
    )
    more = replace(section.rows[0], offset_m=at_m, number=1, sown=sown)
    rows = (section.rows[0], more, *section.rows[1:])
    return with_passes(plan, replace(section, rows=rows))


def test_a_system_may_have_rows_between_of_its_own(tmp_path, monkeypatch):
    asked = plan_along_its_rows()  # before the flow is changed: samples are kept for other tests
    monkeypatch.setattr(
        "striplay.flow.sections_of", lambda plan: [between_corn(plan, s) for s in sections_of(plan)]
    )
    layout = lay(asked)
    assert_whole(layout)
    save(layout, tmp_path / "out", map_book=False)
    crops = (tmp_path / "out" / "strip_crops.csv").read_text(encoding="utf-8").splitlines()
    assert any(line.startswith('1,"soybean","relay",1.0,1,') for line in crops)


def test_the_system_of_the_how_to_works(monkeypatch, tmp_path):
    names = {}
    for block in blocks("docs/howto_add_system.md", "   python"):
        exec(compile(dedent(block), "howto_add_system", "exec"), names)  # noqa: S102 - our own
    plan = plan_along_its_rows()
    days = {"corn": ("2026-05-01", "2026-09-20"), "soybean": ("2026-05-01", "2026-10-10")}
    for crop, (sown, harvested) in days.items():
        own = {"sown": date.fromisoformat(sown), "harvested": date.fromisoformat(harvested)}
        plan.crops[crop] = plan.crops[crop].model_copy(update=own)
    plain = lay(plan)
    asked = names["Borders"].model_validate({"crop": "corn", "around": "soybean", "rows": 2})
    monkeypatch.setattr(
        "striplay.flow.sections_of",
        lambda plan: [names["with_borders"](plan, one, asked) for one in sections_of(plan)],
    )
    layout = lay(plan)
    assert_whole(layout)
    save(layout, tmp_path / "out", map_book=False)
    crops, before = layout.land_accounts["crops"], plain.land_accounts["crops"]
    # by hand: 4 of the 16 rows of soybean go to corn
    moved_m = before["soybean"]["row_length_m"] * 4 / 16
    more_m = crops["corn"]["row_length_m"] - before["corn"]["row_length_m"]
    assert more_m == pytest.approx(moved_m, rel=0.05)
    total = {name: sum(c["row_length_m"] for c in each.values()) for name, each in
             (("with", crops), ("plain", before))}  # fmt: skip
    assert total["with"] == pytest.approx(total["plain"], rel=1e-9)
    # the borders have headers of their own, at the outer two rows of soybean's strips
    cut = layout.passes[(layout.passes["operation"] == "harvest") & layout.passes["working"]]
    borders = cut[(cut["crop"] == "corn") & cut["strip"].isin(strips_of(layout, "soybean"))]
    assert set(borders["machine"]) == {"corn_head"}
    rows = layout.rows[layout.rows["crop"] == "corn"]
    swath = shapely.union_all(
        shapely.buffer(cut[cut["crop"] == "corn"].geometry, 4 * 30 * INCH_M, cap_style="flat")
    )
    assert shapely.difference(rows.geometry, swath).length.max() < 0.01
    # on two rows an 8-row header reaches three rows of what stands on either side
    meets = "2026-09-20: corn_head would run over soybean, standing until 2026-10-10, beside corn"
    assert meets in texts(layout.notices)
    assert meets not in texts(plain.notices)


def strips_of(layout, crop):
    return layout.strips.loc[layout.strips["crop"] == crop, "strip"]


def plan_along_its_rows():
    plan = read_plan(SAMPLES / "quarter_section" / "plan.toml")
    heading = sample("quarter_section").land_accounts["field"]["heading_deg"]
    return plan.model_copy(
        update={"direction": plan.direction.model_copy(update={"heading": heading})}
    )


TOML_OF_SYSTEMS = [b for b in blocks("docs/howto_systems.md", "toml") if "file =" not in b]


@pytest.mark.parametrize("block", TOML_OF_SYSTEMS)
def test_toml_of_the_systems_page_is_a_plan_s(tmp_path, block):
    shed = (SAMPLES / "pivot_circle" / "all_systems.toml").read_text().split("[[strips]]")[0]
    shed = shed.split("[machines.planter]")[1]
    asked, own = tomllib.loads("[machines.planter]" + shed), tomllib.loads(block)
    for table in ("machines", "crops", "mixtures"):
        for name, keys in own.pop(table, {}).items():
            asked[table][name] = asked[table].get(name, {}) | keys
    if "row_set" not in own and "strips" not in own:
        asked["strips"] = [{"crop": "wheat", "width": "30 ft"}]
    plan = check_plan(asked | own, tmp_path / "plan.toml")
    assert sections_of(plan)[0].rows


def test_every_command_is_documented():
    reference = (ROOT / "docs" / "cli_reference.md").read_text(encoding="utf-8")
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for name in main.commands:
        assert f"## `striplay {name}`" in reference
        assert f"striplay {name}" in readme


def test_the_glossary_has_one_entry_a_word():
    """What a word means besides stands in the same place."""
    words = re.findall(r"\*\*([^*]+)\*\*", (ROOT / "docs" / "glossary.md").read_text())
    counted = Counter(word.lower() for word in words)
    assert [word for word, count in counted.items() if count > 1] == []
