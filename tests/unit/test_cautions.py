"""The cautions: chosen by what a plan holds, on the sheets and pages, and never rounded down."""

import re

import pytest
import shapely
from fields import AROUND, SAMPLES, SHED, lay_on, sample, square, texts
from pdfs import pages

from striplay.cautions import CAUTIONS, cautions_for
from striplay.section.occasions import occasions_of
from striplay.sheets.appendix_sheets import MARKED
from striplay.sheets.bind import write_map_book

ROOT = SAMPLES.parent
ALWAYS = {
    "Boundary", "Power lines", "People", "Drift, pollinators, water",
    "Entry and harvest after spraying", "Slopes", "Ditches and banks", "Treated seed",
    "Waterways and outlets", "Digging", "Roads",
}  # fmt: skip
RELAY = '[[strips]]\ncrop = "corn"\nrows = 16\n[[relay]]\ncrop = "soybean"\ninto = "corn"\n'
DUO = '[mixtures.duo]\nplanter = "planter"\nparts = {corn = 0.5, soybean = 0.5}\n'


def told(layout):
    return {
        one.about
        for one in cautions_for(
            occasions_of(layout.plan, layout.section, holed=not layout.ground.holes.is_empty)
        )
    }


def shed_without_harvesters():
    return re.sub(r"^harvester = .*\n", "", SHED, flags=re.MULTILINE)


@pytest.mark.parametrize(
    ("how", "more"),
    [
        ({"strips": '[[strips]]\ncrop = "corn"\nrows = 16\n'}, {"Augers and grain"}),
        ({}, {"Spraying beside another crop", "Augers and grain"}),
        ({"strips": RELAY}, {"Spraying a crop between rows", "Plant-back", "Augers and grain"}),
        # the headland's crop lies beside the strips'
        ({"strips": RELAY.replace("corn", "soybean", 1).replace('"corn"', '"soybean"')
          .replace('crop = "soybean"\ninto', 'crop = "corn"\ninto'), "headland": AROUND},
         {"Spraying beside another crop", "Spraying a crop between rows", "Plant-back",
          "Augers and grain"}),
        ({"strips": '[[strips]]\ncrop = "duo"\nrows = 16\n', "shed": SHED + DUO},
         {"Spraying a mixture", "Hand work"}),
        ({"strips": '[[strips]]\ncrop = "corn"\nrows = 16\n', "shed": shed_without_harvesters()},
         {"Hand work"}),
        # a cover crop: nobody picks what is not harvested
        ({"strips": '[[strips]]\ncrop = "corn"\nrows = 16\n',
          "shed": SHED.replace('harvester = "corn_head"', 'harvester = "none"')}, set()),
    ],
)  # fmt: skip
def test_cautions_are_chosen_by_what_the_plan_holds(tmp_path, how, more):
    assert told(lay_on(tmp_path, square(1320), **{"headland": "", **how})) == ALWAYS | more


def test_obstacles_of_a_file_have_a_caution():
    """Round an area of a file, as a pond is, the label's distance is named."""
    assert {"Obstacles", "Ponds and other ground left out"} <= told(sample("creek_side"))
    assert "Obstacles" not in told(sample("quarter_section"))


def test_holes_of_the_boundary_have_cautions_on_every_operation_s_page():
    about = {"Obstacles", "Ponds and other ground left out"}
    layout = sample("pond_ell")
    assert not layout.ground.holes.is_empty
    assert about <= told(layout)
    assert not about & told(sample("quarter_section"))
    for sheet in layout.worksheets:
        mine = {one.about for one in sheet.cautions}
        assert "Obstacles" in mine
        assert (sheet.judged.job.does in {"plant", "spray"}) == (about <= mine)


def test_ten_feet_are_never_rounded_down():
    """10 ft are 3.048 m (the international foot), so 3.05 m, wherever they are told."""
    pages = [ROOT / "README.md", *(ROOT / "docs").glob("*.md")]
    said = [one.text + one.short for one in CAUTIONS] + [page.read_text() for page in pages]
    assert sum("10 ft (3.05 m)" in text for text in said) >= 4
    assert not [text for text in said if re.search(r"10 ft \((?!3\.05 m\))", text)]


def test_the_book_has_them_in_full_and_the_map_in_short(tmp_path):
    layout = lay_on(tmp_path, square(1320), strips=RELAY, headland="")
    path = tmp_path / "book.pdf"
    write_map_book(layout, path)
    found = [page.text for page in pages(path)]
    appendix = " ".join(text for text in found if MARKED.capitalize() in text)
    for one in cautions_for(
        occasions_of(layout.plan, layout.section, holed=not layout.ground.holes.is_empty),
        layout.plan.units,
    ):
        assert one.text in appendix, one.about
        assert one.short in found[0], one.about
    for words in ("stay in the cab", "if fire forces you out", "feet together", "shuffle away"):
        assert words in appendix
    assert "the label must allow each" not in found[0]


def test_a_relay_s_pair_is_told_of_plant_back(tmp_path):
    layout = lay_on(tmp_path, square(1320), strips=RELAY, headland="")
    judged = {one["about"]: one["said"] for one in layout.accounts["pairs"]}
    assert "plant-back intervals of the first's must be over" in judged["herbicides"]


def test_a_steep_slope_s_notice_has_the_cautions_of_slopes_and_banks(tmp_path):
    steep = "heading = 0\n[slope]\npercent = 18"
    layout = lay_on(tmp_path, square(1320), direction=steep, headland="")
    by_about = {one.about: one.text for one in CAUTIONS}
    (said,) = [text for text in texts(layout.notices) if "rollover" in text]
    assert said.endswith(f"{by_about['Slopes']} {by_about['Ditches and banks']}")


def test_a_boom_that_reaches_out_of_the_field_is_to_be_shut(tmp_path):
    slanting = shapely.affinity.rotate(square(1320), 30)
    for shed in (SHED, re.sub(r"\[machines.sprayer\](.*\n){4}", "", SHED)):
        layout = lay_on(tmp_path, slanting, direction="heading = 0", headland="", shed=shed)
        (said,) = [text for text in texts(layout.notices) if "out of the field (" in text]
        shut = "; shut the boom there: the label decides what spray may leave the field"
        assert said.endswith(shut) is ("sprayer" in shed)


def test_readme_tells_of_what_can_hurt():
    """Each in the words of the caution, so that they can't come to differ."""
    readme = " ".join((ROOT / "README.md").read_text().split())
    for words in ("jump clear with feet together", "never touch machine and ground at once",
                  "10 ft (3.05 m)", "up to about 50 kV", "no extra riders", "The label is the law",
                  "plant-back", "re-entry interval", "by at least the depth", "maker's manual",
                  "treated seed", "augers", "before digging", "grassed waterways",
                  "Sight lines at road corners"):  # fmt: skip
        assert words in readme, words
