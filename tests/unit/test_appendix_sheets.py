"""The adviser's appendix: marked on every page, whole, gravest first, and no page half empty."""

import time
from dataclasses import replace

import pytest
from books import book, written
from fields import NAMES, lay_on, sample, square
from pdfs import check_page, pages
from pypdf import PdfReader

from striplay.cautions import cautions_for
from striplay.notices import SEVERITIES, Notice, gravest_first
from striplay.section.occasions import occasions_of
from striplay.sheets.appendix_sheets import MARKED, appendix_story, notices_part, told_of
from striplay.sheets.book import book_of, write_pages
from striplay.sheets.style import FOOT_MM, MARGIN_MM, MM

RELAY = '[[strips]]\ncrop = "corn"\nrows = 16\n[[relay]]\ncrop = "soybean"\ninto = "corn"\n'


def appendix_of(folder, layout, ink=None):
    path = folder / "appendix.pdf"
    shared = book_of(layout, ink=ink)
    write_pages(shared, path, [appendix_story(shared, layout)], "Appendix")
    return path, pages(path)


def text_of(made):
    return " ".join(page.text for page in made)


@pytest.mark.parametrize("name", NAMES)
def test_every_page_of_every_sample_is_marked_and_full(tmp_path, name):
    layout = sample(name)
    _, made = appendix_of(tmp_path, layout)
    for page in made:
        check_page(page)
        assert MARKED.capitalize() in page.texts
        assert f"page {page.number}" in page.texts
        assert f"of {len(made)}" in page.texts
    said = text_of(made)
    for notice in told_of(layout):
        assert " ".join(notice.text.split()) in said
    for one in cautions_for(
        occasions_of(layout.plan, layout.section, holed=not layout.ground.holes.is_empty),
        layout.plan.units,
    ):
        assert f"{one.about} {one.text}" in said
    assert "corn and " in said or "maize and " in said
    # what is written goes down to the foot of every page but the last
    foot_pt = (MARGIN_MM + FOOT_MM) * MM
    for page in made[:-1]:
        low_pt = min(word.box[1] for word in page.words if word.box[1] > foot_pt)
        assert low_pt < foot_pt + 0.25 * page.height_pt, page.number


@pytest.mark.parametrize("name", ["creek_side", "two_parts"])
def test_it_is_designed_in_gray_too(tmp_path, name):
    _, made = appendix_of(tmp_path, sample(name), "gray")
    for page in made:
        check_page(page)


def test_its_parts_are_in_the_list_of_contents(tmp_path):
    path, made = appendix_of(tmp_path, sample("creek_side"))
    reader = PdfReader(path)
    first, parts = reader.outline
    assert first.title == MARKED.capitalize()
    titles = [one.title for one in parts]
    assert titles == [
        "The season", "Cost against heading", "How the crops suit each other",
        "What to know of this plan", "Cautions",
    ]  # fmt: skip
    for one in parts:
        page = made[reader.get_destination_page_number(one)]
        assert one.title in page.texts


def test_the_gravest_comes_first_and_long_ones_go_on(tmp_path):
    """Sixty notices, one of them as long as a page."""
    words = "strips of corn stand beside strips of soybean on the whole field " * 4
    told = [
        Notice("fit", severity, None, f"{severity} {number}: {words}".strip())
        for number in range(20)
        for severity in ("know", "stop", "mind")
    ]
    told.append(Notice("fit", "mind", None, "long " + 60 * words))
    made = written(tmp_path / "a.pdf", book(), notices_part(book(), told))
    said = text_of(made)
    places = [
        said.index(notice.text) for notice in gravest_first(told) if "long" not in notice.text
    ]
    assert places == sorted(places)
    heads = [said.index(f"{meaning[0].upper()}{meaning[1:]}:") for meaning in SEVERITIES.values()]
    assert heads == sorted(heads)
    assert said.count("whole field") == 60 * 4 + 60 * 4
    assert notices_part(book(), []) == []


def test_cautions_are_in_full(tmp_path):
    layout = lay_on(tmp_path, square(1320), strips=RELAY, headland="")
    _, made = appendix_of(tmp_path, layout)
    said = text_of(made)
    for words in ("stay in the cab", "if fire forces you out", "feet together", "shuffle away",
                  "Plant-back", "Spraying a crop between rows"):  # fmt: skip
        assert words in said


def test_names_of_any_length_and_script_have_room(tmp_path):
    """Names as long as may be, of letters that join, and of a sign that no font has."""
    layout = sample("quarter_section")
    long = "ein sehr langer Name einer Feldfrucht, " * 8
    names = {"corn": "क्षेत्र मक्का " + long, "soybean": "ذرة صفراء \U00013000 " + "x" * 250}
    pairs = [
        replace(one, crops=tuple(names[crop] for crop in one.crops),
                said=one.said.replace("corn", names["corn"]))
        for one in layout.pairs
    ]  # fmt: skip
    windows = {
        names[name]: replace(window, crop=names[name])
        for name, window in layout.season.windows.items()
    }
    changed = replace(layout, season=replace(layout.season, windows=windows, section=None))
    changed.__dict__["pairs"] = pairs
    changed.__dict__["accounts"] = layout.accounts
    path = tmp_path / "a.pdf"
    shared = replace(book_of(layout), title="Ein Titel, der kein Ende nehmen will, " * 9)
    (notice,) = write_pages(shared, path, [appendix_story(shared, changed)], "Appendix")
    assert "egyptian hieroglyph a001" in notice.text
    for page in pages(path):
        check_page(page)


def test_it_takes_a_tenth_of_a_second_a_page_at_most(tmp_path):
    """Processor time of the second of two: fonts are loaded once. Slow machines have room."""
    layout = sample("creek_side")
    appendix_of(tmp_path, layout)
    begun = time.process_time()
    shared = book_of(layout)
    write_pages(shared, tmp_path / "b.pdf", [appendix_story(shared, layout)], "Appendix")
    each_s = (time.process_time() - begun) / len(pages(tmp_path / "b.pdf"))
    assert each_s < 0.3


def test_the_same_layout_gives_the_same_bytes(tmp_path):
    layout = sample("two_parts")
    first, _ = appendix_of(tmp_path, layout)
    before = first.read_bytes()
    again, _ = appendix_of(tmp_path, layout)
    assert again.read_bytes() == before
