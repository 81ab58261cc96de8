"""Text in the room there is: broken, hung, cut, shrunk, in tables and columns, in any script."""

from dataclasses import replace
from itertools import pairwise

import pytest
from books import book, written
from hypothesis import given, settings
from hypothesis import strategies as st
from pdfs import check_page, pages

from striplay.plan.models import Farm
from striplay.sheets.book import write_pages
from striplay.sheets.flow import (
    Column,
    Columns,
    Drawn,
    begin,
    heading,
    lines_of,
    paragraph,
    shrunk,
    table,
)
from striplay.sheets.fonts import fitted, printed, width_pt, write
from striplay.sheets.style import MM, SMALLEST_PT, TEXT_PT

WORDS = ("strips of corn stand beside strips of soybean on the whole field " * 4).strip()
SCRIPTS = {
    "Cyrillic": "Кукуруза", "Greek": "Καλαμπόκι", "Arabic": "ذرة صفراء", "Hebrew": "תירס",
    "Devanagari": "मक्का", "Tamil": "சோளம்", "Telugu": "మొక్కజొన్న", "Thai": "ข้าวโพด",
    "Khmer": "ពោត", "Chinese": "玉米地", "Japanese": "とうもろこし", "Korean": "옥수수",
}  # fmt: skip
ROOM_PT = 60.0 * MM


def text_of(made):
    return " ".join(page.text for page in made)


@pytest.mark.parametrize("bold", [False, True])
def test_lines_fit_their_room_and_hold_every_word(bold):
    lines = lines_of(WORDS, ROOM_PT, bold=bold)
    assert " ".join(lines) == WORDS
    assert all(width_pt(line, SMALLEST_PT, bold=bold) <= ROOM_PT for line in lines)
    # a line takes the next word wherever there is room
    for line, after in pairwise(lines):
        assert width_pt(f"{line} {after.split()[0]}", SMALLEST_PT, bold=bold) > ROOM_PT
    assert lines_of("", ROOM_PT) == []


def test_a_word_longer_than_its_line_is_broken():
    word = "".join(chr(97 + number * 7 % 26) for number in range(300))
    lines = lines_of(f"a {word} b", ROOM_PT)
    assert lines[0] == "a"
    assert "".join(lines[1:]) == f"{word} b".replace(" ", "") or lines[-1].endswith(" b")
    assert all(width_pt(line, SMALLEST_PT) <= ROOM_PT for line in lines)


def test_what_is_too_long_is_cut_with_dots():
    short = fitted(WORDS, ROOM_PT)
    assert short.endswith("…")
    assert WORDS.startswith(short[:-1].rstrip())
    assert width_pt(short, TEXT_PT) <= ROOM_PT
    assert width_pt(f"{WORDS[: len(short) + 1]}…", TEXT_PT) > ROOM_PT
    assert fitted("corn", ROOM_PT) == "corn"
    assert fitted("corn", 0.0) == "…"


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=40), st.floats(4, 300))
def test_no_text_is_wider_than_its_room(text, room_pt):
    assert width_pt(fitted(text, room_pt), TEXT_PT) <= max(room_pt, width_pt("…", TEXT_PT))
    for line in lines_of(text, room_pt):
        assert width_pt(line, SMALLEST_PT) <= room_pt or len(line) == 1


def test_a_text_shrinks_before_it_is_cut():
    assert shrunk("corn", ROOM_PT, 14.0) == ("corn", 14.0)
    wide_pt = width_pt(WORDS[:30], 10.0)
    said, size_pt = shrunk(WORDS[:30], wide_pt, 14.0)
    assert said == WORDS[:30]
    assert size_pt == pytest.approx(10.0)
    said, size_pt = shrunk(WORDS, wide_pt, 14.0, 8.0)
    assert size_pt == 8.0
    assert said.endswith("…")


def test_a_paragraph_hangs_and_nothing_in_it_is_a_command(tmp_path):
    text = f"1 <b>R&D</b> &amp; <i>{WORDS}"
    story = [paragraph(text, hang_mm=5.0, lead="Lead <x>:"), paragraph(""), heading("A <h> & b")]
    (page,) = written(tmp_path / "a.pdf", book(), story)
    assert f"Lead <x>: 1 <b>R&D</b> &amp; <i>{WORDS} A <h> & b" in page.text
    by_line: dict[float, list[float]] = {}
    for word in page.words:
        if any(part in word.text for part in ("Lead", *WORDS.split())):
            by_line.setdefault(round(word.corners[0][1] / 8.54), []).append(word.box[0])
    lefts = sorted(min(line) for line in by_line.values())
    # letters begin a little beside where they stand
    assert lefts[1] - lefts[0] == pytest.approx(5.0 * MM, abs=1.0)


def test_a_table_goes_on_with_its_heads_and_cuts_what_is_too_long(tmp_path):
    columns = [Column("strip", 20.0, right=True), Column("crop", 30.0), Column("seed\nrate", 20.0)]
    rows = [[f"{number:,}", WORDS, "ذرة"] for number in range(1_001, 1_121)]
    story = [table(columns, [*rows, ["all", "120", ""]], foot=1)]
    made = written(tmp_path / "a.pdf", book(), story)
    assert len(made) == 2
    numbers = [text for page in made for text in page.texts if text.startswith("1,")]
    assert numbers == [row[0] for row in rows]
    for page in made:
        assert {"strip", "crop", "seed", "rate"} <= set(page.texts)
        cut = {text for text in page.texts if text.startswith("strips of")}
        assert cut == {fitted(WORDS, 30 * MM - 4, SMALLEST_PT)}
        ends = {round(word.box[2], 1) for word in page.words if word.text.startswith("1,")}
        assert max(ends) - min(ends) < 0.5
    (foot,) = [word for word in made[1].words if word.text == "all"]
    assert "Bold" in foot.font
    assert min(word.box[1] for word in made[1].words if word.text.startswith("1,")) > foot.box[1]


@pytest.mark.parametrize("count", [1, 2, 9, 150])
def test_columns_go_down_the_left_then_the_right_and_over_pages(tmp_path, count):
    shared = book()
    cells = [[paragraph(f"{number}: {WORDS[: 30 + number * 37 % 200]}")] for number in range(count)]
    story = [paragraph("before"), Columns(cells, shared.inner_mm * MM, [heading("Head")])]
    made = written(tmp_path / "a.pdf", shared, story)
    found = [word for page in made for word in page.words if word.text[:-1].isdigit()
             and word.text.endswith(":")]  # fmt: skip
    assert sorted(int(word.text[:-1]) for word in found) == list(range(count))
    assert sum("Head" in page.texts for page in made) == 1
    middle_pt = shared.width_mm * MM / 2
    for page in made:
        here = [word for word in page.words if word in found]
        left = [int(word.text[:-1]) for word in here if word.box[0] < middle_pt]
        right = [int(word.text[:-1]) for word in here if word.box[0] > middle_pt]
        assert sorted(left) + sorted(right) == list(range(min(left), min(left) + len(here)))
        if page is not made[-1]:
            assert min(word.box[1] for word in here) < 120


def test_a_text_longer_than_a_page_goes_on_in_columns(tmp_path):
    shared = book()
    numbers = " ".join(f"word{number}" for number in range(4_000))
    cells = [[paragraph("before")], [heading("Head"), paragraph(numbers)], [paragraph("after")]]
    made = written(tmp_path / "a.pdf", shared, [Columns(cells, shared.inner_mm * MM)])
    found = [word.text for page in made for word in page.words if word.text.startswith("word")]
    assert found == numbers.split()
    assert len(made) > 1


@pytest.mark.parametrize(
    "title",
    [WORDS + " " + WORDS[:60], "x" * 300, "मक्का " * 60, "ذرة صفراء " * 40, "玉米地" * 100,
     "Mixed ذرة 玉米 मक्का " * 18, "<b>&</i> " * 40],
)  # fmt: skip
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_long_title_and_a_long_farm_have_room(tmp_path, title, paper):
    shared = replace(
        book(paper=paper),
        title=title,
        farm=Farm(name=title[:200], operator=title[:200], county=title[:200], legal=title[:200],
                  prepared_by=title[:200]),
    )  # fmt: skip
    write_pages(shared, tmp_path / "a.pdf", [[*begin(title), paragraph("x")]], "Test")
    (page,) = written(tmp_path / "b.pdf", shared, [paragraph("x")])
    # the datum is never what is cut
    foot = [word for word in page.words if word.box[1] < 12 * MM + 8]
    said = "".join(word.text for word in sorted(foot, key=lambda word: word.box[0]))
    assert said.endswith("WGS84,truenorth;notalegalsurveypage1of1")
    assert f"plan {shared.mark}" in page.text


def test_a_short_title_is_large_and_one_of_two_lines_whole(tmp_path):
    (page,) = written(tmp_path / "a.pdf", book(), [paragraph("x")])
    (word,) = [word for word in page.words if word.text == "Test" and "Bold" in word.font]
    assert word.size_pt == pytest.approx(14.0)
    two = WORDS[:150].strip()
    (page,) = written(tmp_path / "b.pdf", replace(book(), title=two), [paragraph("x")])
    assert two in page.text


@pytest.mark.parametrize("script", SCRIPTS)
def test_names_of_every_script_stand_everywhere(tmp_path, script):
    """In head, table, paragraph and drawing, turned too; what no font has is a box, and told."""
    name = SCRIPTS[script]
    if set(name) - set(printed(name)):
        pytest.skip("striplay[scripts] is not all there")
    shared = replace(book(names=(name,)), title=f"{name} field", farm=Farm(name=f"{name} farm"))

    def draw(canvas, _wide_pt, high_pt):
        write(canvas, 40, high_pt / 2, f"{name} drawn", TEXT_PT)
        write(canvas, 200, 10, f"{name} turned", TEXT_PT, bold=True, angle_deg=35)

    story = [
        heading(f"{name} head"),
        table([Column(f"{name}", 40.0), Column("n", 20.0, right=True)], [[f"{name} cell", name]]),
        paragraph(f"{name} said {name}, {name}", lead=f"{name} lead"),
        Drawn(300.0, 120.0, draw),
    ]
    told = write_pages(shared, tmp_path / "a.pdf", [[*begin(f"{name} sheet"), *story]], "Test")
    (page,) = written(tmp_path / "b.pdf", shared, story)
    assert not told, told
    assert "□" not in page.text
    for word in ("field", "farm", "head", "cell", "said", "lead", "drawn", "turned"):
        assert word in page.text
    if script in {"Cyrillic", "Greek", "Chinese", "Japanese", "Korean"}:  # read as written
        assert page.text.count(name) >= 9


def test_what_no_font_has_is_a_box_and_told_of(tmp_path):
    grave = "\U00013000"

    def stories():
        yield [*begin("Test"), paragraph(f"corn {grave}"), paragraph("x", lead=grave),
               table([Column("crop", 40.0)], [[f"{grave} corn"], [f"ذرة{grave}"]])]  # fmt: skip

    for path in (tmp_path / "a.pdf", tmp_path / "b.pdf"):  # of the second book too
        (notice,) = write_pages(book(), path, stories(), "Test")
        assert notice.text.startswith(
            f'the sheets print □ for "{grave}" (egyptian hieroglyph a001)'
        )
        (page,) = pages(path)
        check_page(page)
        assert page.text.count("□") == 4
    assert write_pages(book(), tmp_path / "c.pdf", [[*begin("Test"), paragraph("x")]], "Test") == []
