"""`striplay compare`: columns in few lines, plans that can't be laid, a sheet, refusals."""

import json

import pypdfium2 as pdfium
import pytest
from click.testing import CliRunner
from fields import FOOT_M, SHED, square, write_field, write_plan_for
from priced import priced

from striplay.choosing.compare import compare
from striplay.choosing.compare_report import COMPARE_LINES
from striplay.cli import main
from striplay.pay_report import WIDE
from striplay.paying import pay

BARE = '[headland]\nwhere = "none"\n'
SIXTEEN = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
WIDER = SIXTEEN.replace("16", "32")


def run(*arguments):
    return CliRunner().invoke(main, ["compare", *map(str, arguments)])


def plan_in(folder, name="plan.toml", title="", **parts):
    parts = {"shed": priced(), "strips": SIXTEEN, "headland": BARE} | parts
    path = write_plan_for(folder, parts.pop("shape", square(400)), **parts)
    text = path.read_text()
    text = text.replace('title = "Test"', f'title = "{title}"' if title else "")
    renamed = folder / name
    path.unlink()
    renamed.write_text(text)
    return renamed


@pytest.fixture
def two(tmp_path):
    return plan_in(tmp_path, "narrow.toml"), plan_in(tmp_path, "wide.toml", strips=WIDER)


def columns_of(text, name):
    """Give the cells of a line of the table."""
    line = next(line for line in text.splitlines() if line.startswith(name))
    return [cell.strip() for cell in line[18:].split("  ") if cell.strip()]


def test_figures_of_each_plan_stand_in_its_column(two):
    found = run(*two)
    assert found.exit_code == 0, found.output
    lines = found.stdout.splitlines()
    assert len(lines) <= COMPARE_LINES
    assert max(map(len, lines)) <= WIDE
    assert lines[0] == "2 plans side by side, one field of 3.67 ac"
    assert lines[1].split() == ["narrow.toml", "wide.toml"]  # titles are alike
    assert columns_of(found.stdout, "set, across") == ["2 strips of 40 ft", "2 strips of 80 ft"]
    # 400 ft: five strips of 40 ft of either crop; of 80 ft three of corn and two of soybean
    corn, soybean = (columns_of(found.stdout, crop) for crop in ("corn", "soybean"))
    assert (corn, soybean) == (["1.84 ac", "2.20 ac"], ["1.83 ac", "1.47 ac"])
    # as lay writes them: they add up to the field's 3.67 ac
    for column in zip(corn, soybean, strict=True):
        assert sum(float(area.split()[0]) for area in column) == pytest.approx(3.67)
    sides = compare(two).sides
    operations = [side.layout.accounts["operations"] for side in sides]
    assert columns_of(found.stdout, "passes") == [
        str(sum(one["passes"] for one in each)) for each in operations
    ]
    assert columns_of(found.stdout, "margin") == [f"{s.margin.central:,.0f}" for s in sides]


def test_a_margin_is_that_of_pay(two):
    for side in compare(two).sides:
        assert side.margin == pay(side.layout).margin


def test_json_holds_what_the_report_shows(two):
    found = run(*two, "--json")
    assert found.exit_code == 0, found.output
    data = json.loads(found.stdout)
    assert data["one_field"] is True
    assert [one["label"] for one in data["plans"]] == ["narrow.toml", "wide.toml"]
    for one, side in zip(data["plans"], compare(two).sides, strict=True):
        assert one["laid"]
        assert one["reason"] == ""
        assert sum(one["areas_m2"].values()) == pytest.approx((400 * FOOT_M) ** 2, rel=1e-9)
        assert one["passes"] == sum(each["passes"] for each in one["operations"])
        assert sum(one["verdicts"].values()) == len(one["operations"]) > 0
        assert one["margin"]["low"] <= one["margin"]["central"] <= one["margin"]["high"]
        assert one["seed_to_buy"] == side.accounts["seed_to_buy"]


def test_titles_are_labels_where_they_differ(tmp_path):
    one = plan_in(tmp_path, "a.toml", title="Narrow")
    other = plan_in(tmp_path, "b.toml", title="Wide", strips=WIDER)
    assert run(one, other).stdout.splitlines()[1].split() == ["Narrow", "Wide"]


def test_files_of_one_name_are_told_apart_by_their_folders(tmp_path):
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
    one, other = plan_in(tmp_path / "a"), plan_in(tmp_path / "b")
    assert [side.label for side in compare([one, other]).sides] == [str(one), str(other)]


def test_a_plan_that_can_not_be_laid_stands_in_its_column_with_the_reason(two):
    bad = two[0].with_name("bad.toml")
    bad.write_text(two[0].read_text().replace('crop = "corn"', 'crop = "maize"'))
    small = two[0].with_name("small.toml")
    headland = '[headland]\nwhere = "around"\nwidth = "250 ft"\n'
    small.write_text(two[0].read_text().replace(BARE, headland))
    found = run(two[0], bad, small, two[1])
    assert found.exit_code == 0, found.output
    assert len(found.stdout.splitlines()) <= COMPARE_LINES
    cells = columns_of(found.stdout, "set, across")
    assert cells == ["2 strips of 40 ft", "not laid: bad.toml:", "not laid:", "2 strips of 80 ft"]
    data = json.loads(run(two[0], bad, small, two[1], "--json").stdout)
    assert [one["laid"] for one in data["plans"]] == [True, False, False, True]
    assert data["plans"][1]["reason"] == (
        'bad.toml: strips[1].crop: no crop "maize"; known are corn, soybean'
    )
    assert data["plans"][2]["reason"].startswith(
        "field.geojson: a headland of 250 ft leaves no land inside it; any of these would do: "
    )
    assert set(data["plans"][1]) == {"label", "file", "laid", "reason"}


def test_none_that_can_be_laid_is_refused_with_every_reason(tmp_path):
    found = run(tmp_path / "a.toml", tmp_path / "b.toml")
    assert found.exit_code == 2
    assert found.stdout == ""
    assert found.stderr == (
        "striplay: compare: none of 2 plans can be laid\n"
        f"  {tmp_path}/a.toml: is not there; are name and folder right?\n"
        f"  {tmp_path}/b.toml: is not there; are name and folder right?\n"
    )


def test_plans_of_different_fields_are_told_of_first(tmp_path):
    (tmp_path / "other").mkdir()
    one, other = plan_in(tmp_path), plan_in(tmp_path / "other", "o.toml", shape=square(500))
    lines = run(one, other).stdout.splitlines()
    assert lines[0] == (
        "mind: these plans are of different fields: hold figures by area against each other, not "
        "totals"
    )
    assert lines[1] == "2 plans side by side"
    assert columns_of("\n".join(lines), "field") == ["3.67 ac", "5.74 ac"]


def test_one_field_drawn_twice_is_one(tmp_path):
    (tmp_path / "again").mkdir()
    one, other = plan_in(tmp_path), plan_in(tmp_path / "again", "o.toml", shape=square(400.4))
    assert compare([one, other]).one_field
    write_field(tmp_path / "again", square(410))
    assert not compare([one, other]).one_field


def test_a_margin_line_says_what_it_asks_for(two):
    unpriced = two[0].with_name("unpriced.toml")
    text = two[0].read_text()
    unpriced.write_text(text.replace('price = "11.00 per bu"\n', ""))
    found = run(two[1], unpriced)
    assert columns_of(found.stdout, "margin")[1] == "asks for price of soybean"
    data = json.loads(run(two[1], unpriced, "--json").stdout)
    assert data["plans"][1]["margin"] is None
    assert data["plans"][1]["asked"] == [
        'crops.soybean.price: is missing: what it is sold for; for example price = "4.50 per bu"'
    ]


def test_prices_that_differ_are_told_of(two):
    other = two[1].with_name("dear.toml")
    other.write_text(two[1].read_text().replace("4.50 per bu", "5.50 per bu"))
    told = "mind: yields, prices or costs of corn differ between the plans, and margins with them"
    assert told in run(two[0], other).stdout.splitlines()
    assert told not in run(*two).stdout


def test_what_no_figure_counts_is_told_of_whose_it_is(two):
    whole = two[0].with_name("whole.toml")
    text = two[0].read_text()
    whole.write_text(text)
    unreaped = text.replace('harvester = "corn_head"\n', "", 1)
    assert unreaped != text
    bare = '[[operations]]\ndoes = "spray"\nmachine = "sprayer"\ncrops = ["soybean"]\n'
    alone = unreaped.replace('[[strips]]\ncrop = "soybean"\nrows = 16\n', "") + bare
    two[0].write_text(unreaped)
    two[1].write_text(alone)
    told = " ".join(run(*two, whole).stdout.split())
    figures = "mind: passes, hours, cost a year and margin of"
    assert f"{figures} narrow.toml, not counted: harvest of corn mind: " in told
    assert f"{figures} wide.toml, not counted: harvest of corn and spray by sprayer" in told
    data = json.loads(run(*two, whole, "--json").stdout)
    assert [one["not_counted"] for one in data["plans"]] == [
        ["harvest of corn"], ["harvest of corn", "spray by sprayer"], [],
    ]  # fmt: skip
    two[1].write_text(unreaped)
    told = " ".join(run(*two).stdout.split())
    assert f"{figures} all plans, not counted: harvest of corn" in told
    two[0].write_text(text)
    two[1].write_text(text)
    assert "not counted" not in run(*two).stdout


def test_many_crops_and_four_plans_stay_within_the_lines(tmp_path):
    names = [f"crop{number}" for number in range(9)]
    crops = "".join(f'[crops.{n}]\nplanter = "planter"\nharvester = "platform"\n' for n in names)
    strips = "".join(f'[[strips]]\ncrop = "{name}"\nrows = 16\n' for name in names)
    plans = [plan_in(tmp_path, f"{n}.toml", shed=SHED + crops, strips=strips, shape=square(800))
             for n in "abcd"]  # fmt: skip
    lines = run(*plans).stdout.splitlines()
    assert len(lines) <= COMPARE_LINES
    assert "more crops stand in --json" in lines


def test_a_sheet_of_one_page_is_written(two, tmp_path):
    sheet = tmp_path / "choice.pdf"
    bad = two[0].with_name("bad.toml")
    bad.write_text("[")
    found = run(*two, bad, "-o", sheet)
    assert found.exit_code == 0, found.output
    assert found.stderr == f"written to {sheet}\n"
    pages = pdfium.PdfDocument(sheet)
    assert len(pages) == 1
    text = pages[0].get_textpage().get_text_bounded()
    pages.close()
    for words in ("Plans side by side", "narrow.toml", "wide.toml", "bad.toml", "not laid",
                  "1.84 ac", "2.20 ac", "margin"):  # fmt: skip
        assert words in text, words
    before = sheet.read_bytes()
    assert run(*two, bad, "-o", sheet).exit_code == 0
    assert sheet.read_bytes() == before


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["plan.toml"], "give two plans or more; for example striplay compare north.toml"),
        ([], "give two plans or more; for example striplay compare north.toml"),
        (["a.toml", "b.toml", "-o", "x.png"], "striplay: x.png: must end in .pdf"),
        (["a.toml", "./a.toml"], "striplay: compare: a.toml is given twice; name each plan once"),
    ],
)
def test_wrong_use_is_one_clear_message(arguments, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    found = run(*arguments)
    assert found.exit_code == 2
    assert said in found.stderr
    assert list(tmp_path.iterdir()) == []
