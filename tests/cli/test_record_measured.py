"""`striplay record` with a yield monitor's file or a table of plots: told, kept, refused."""

import json

import pytest
from click.testing import CliRunner
from combine import COLUMNS, drives_on, harvest, levels
from fields import SHED, lay_on, square

from striplay.cli import main

KEEP = ("--keep", "2026-10-04")
PLOTS = "block,treatment,crop,yield\n" + "".join(
    f"{block},{name},corn,{tons} t/ha\n"
    for block, name, tons in [
        (1, "a", 10.1), (1, "b", 10.9), (2, "a", 9.7), (2, "b", 10.6), (3, "a", 10.4),
        (3, "b", 11.0), (4, "a", 9.9), (4, "b", 10.7),
    ]
)  # fmt: skip


def run(*arguments):
    return CliRunner().invoke(main, ["record", *map(str, arguments)])


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A plan with its field, and a file of its corn."""
    folder = tmp_path_factory.mktemp("plan")
    layout = lay_on(folder, square(660), shed=SHED + COLUMNS)
    model = harvest(
        layout.ground.plane, list(drives_on(layout, "corn")), levels(layout, "corn", 1.0)
    )
    (folder / "corn.csv").write_text("\n".join(model.lines))
    (folder / "plots.csv").write_text(PLOTS)
    return folder


@pytest.fixture
def plan(folder, tmp_path):
    for name in ("plan.toml", "field.geojson", "corn.csv", "plots.csv"):
        (tmp_path / name).write_bytes((folder / name).read_bytes())
    return tmp_path / "plan.toml"


def test_yields_are_told_and_only_kept_when_asked(plan):
    points = plan.with_name("corn.csv")
    done = run(plan, "monitor", points)
    assert done.exit_code == 0, done.output
    lines = done.stdout.splitlines()
    assert lines[0].startswith("corn.csv: 799 points, ")
    assert "yield by strip, at 15.5 % moisture:" in lines
    assert sum(line.startswith("  strip ") for line in lines) == 4
    assert not plan.with_name("records.gpkg").exists()

    kept = run(plan, "monitor", points, *KEEP)
    assert kept.exit_code == 0, kept.output
    assert kept.stdout.splitlines()[-1] == "4 entries recorded"
    listed = run(plan, "list").stdout
    assert listed.count("corn yield") == 4
    assert "yield monitor, corn.csv: " in listed
    # the yield that the store works out is the one that was told
    told = next(line for line in lines if line.startswith("  strip 1: ")).split()[2]
    assert f"{told} bu/acre at 15.5 %" in listed


def test_a_second_time_nothing_counts_twice(plan):
    points = plan.with_name("corn.csv")
    assert run(plan, "monitor", points, *KEEP).exit_code == 0
    again = run(plan, "monitor", points, *KEEP)
    assert again.stdout.splitlines()[-1] == "0 entries recorded"
    assert again.stderr == (
        "note: strips 1, 3, 5, 7: a yield of corn is recorded already and would count twice; undo "
        "it first if the monitor's is to stand\n"
    )


def test_the_map_is_written_and_json_is_alone_on_stdout(plan, tmp_path):
    pages = tmp_path / "map.pdf"
    done = run(plan, "monitor", plan.with_name("corn.csv"), "-o", pages, "--json")
    assert done.exit_code == 0, done.output
    assert [one["strip"] for one in json.loads(done.stdout)["strips"]] == [1, 3, 5, 7]
    assert pages.read_bytes().startswith(b"%PDF")


def test_a_map_that_cant_be_written_leaves_nothing_recorded(plan, tmp_path):
    pages = tmp_path / "none" / "map.pdf"
    done = run(plan, "monitor", plan.with_name("corn.csv"), "-o", pages, *KEEP)
    assert done.exit_code != 0
    assert "map.pdf" in done.stderr
    assert not plan.with_name("records.gpkg").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (
            ("monitor", "none.csv"),
            "striplay: none.csv: is not there; are name and folder right?\n",
        ),
        (
            ("monitor", "corn.csv", "--crop", "rye"),
            'striplay: no strip carries "rye"; strips carry corn, soybean\n',
        ),
        (("monitor", "corn.csv", "-o", "map.png"), "striplay: map.png: must end in .pdf\n"),
        (
            ("compare", "corn.csv"),
            (
                "striplay: corn.csv: line 1: has no column block, treatment, crop, yield; it has "
                "Seconds, Lon, Lat, Flow kg/s, Moist %, Swath m\n"
            ),
        ),
    ],
)
def test_what_cant_be_is_one_message(plan, monkeypatch, arguments, said):
    monkeypatch.chdir(plan.parent)
    done = run(plan, *arguments)
    assert (done.exit_code, done.stdout, done.stderr) == (2, "", said)


def test_a_plan_without_the_columns_says_what_to_write(plan):
    plan.write_text(plan.read_text().replace(COLUMNS, ""))
    done = run(plan, "monitor", plan.with_name("corn.csv"))
    assert (done.exit_code, done.stderr) == (
        2,
        (
            "striplay: plan.toml: monitor: is missing; name the file's columns under [monitor]: "
            "time, longitude, latitude, and flow with flow_unit, or yield with yield_unit\n"
        ),
    )


def test_rows_that_are_recorded_are_told_against_those_inside(plan):
    def keep(strip, row, pounds):
        given = {"--strip": strip, "--row": row, "--grain": f"{pounds} lb", "--moisture": "15.5 %",
                 "--length": "100 ft", "--date": "2026-10-01"}  # fmt: skip
        done = run(plan, "yield", *(part for pair in given.items() for part in pair))
        assert done.exit_code == 0, done.output

    bare = run(plan, "compare")
    assert (bare.exit_code, bare.stdout) == (2, "")
    assert "is not there; nothing is recorded yet" in bare.stderr
    for strip, level in ((1, 60), (3, 50), (5, 64)):
        for row, gain in ((1, 1.25), (16, 1.15), (2, 1.0), (8, 1.0), (9, 1.0)):
            keep(strip, row, round(level * gain, 2))
    done = run(plan, "compare")
    assert done.exit_code == 0, done.output
    # rows 1 and 16 are both outermost: the mean of 1.25 and 1.15 as ratios
    assert "corn, rows at the edge against those inside: row 1 +20 % (" in done.stdout
    assert "row 2 0 % (" in done.stdout
    gains = json.loads(run(plan, "compare", "--json").stdout)["edges"]["corn"]
    assert gains[0]["gain"]["value"] == pytest.approx((1.25 * 1.15) ** 0.5 - 1, abs=1e-4)
    assert [one["strips"] for one in gains] == [3, 3]


def test_plots_are_compared(plan):
    done = run(plan, "compare", plan.with_name("plots.csv"))
    assert done.exit_code == 0, done.output
    assert "corn: 8 plots in 4 blocks" in done.stdout
    assert len(done.stdout.splitlines()) <= 25
    data = json.loads(run(plan, "compare", plan.with_name("plots.csv"), "--json").stdout)
    pair = data["crops"][0]["differences"][0]
    assert (pair["one"], pair["other"], pair["seen"]) == ("b", "a", True)
    assert pair["kg_per_m2"]["value"] == pytest.approx(0.0775)


def test_a_trial_that_is_recorded_needs_no_table(tmp_path):
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    trial = '[trial]\nreplicates = 2\nwidth = "120 ft"\n'
    layout = lay_on(tmp_path, square(1320), shed=SHED + trial, strips=strips)
    plan = tmp_path / "plan.toml"
    level = {"corn": 9000.0, "soybean": 3000.0}
    table = layout.strips.groupby(["strip", "crop", "treatment", "replicate"])["area_m2"].sum()
    own = table.reset_index()
    lines = ["kind,date,strip,grain,moisture"]
    for one in own.itertuples():
        if one.replicate > 2:
            continue
        gain = 1.1 if one.treatment == "strips" else 1.0 + 0.01 * one.replicate
        dry = level[one.crop] * gain * one.area_m2 / 10_000
        moist = {"corn": 15.5, "soybean": 13.0}[one.crop]
        lines.append(f"yield,2026-10-01,{one.strip},{dry:.3f} kg,{moist} %")
    (tmp_path / "yields.csv").write_text("\n".join(lines))
    loaded = run(plan, "load", tmp_path / "yields.csv")
    assert loaded.exit_code == 0, loaded.output
    done = run(plan, "compare", "--json")
    assert done.exit_code == 0, done.output
    data = json.loads(done.stdout)
    told = {one["crop"]: one for one in data["crops"]}
    assert {crop: (one["plots"], one["blocks"]) for crop, one in told.items()} == {
        "corn": (4, 2), "soybean": (4, 2)
    }  # fmt: skip
    for crop, one in told.items():
        assert one["means"]["strips"]["value"] == pytest.approx(1.1e-4 * level[crop], rel=1e-5)
        assert one["means"]["alone"]["value"] == pytest.approx(1.015e-4 * level[crop], rel=1e-5)
    (ratio,) = data["land_equivalent_ratios"]
    assert ratio["ratio"]["value"] == pytest.approx(1.1 / 1.015, rel=1e-5)
    assert "2 blocks are few" in run(plan, "compare").stdout
