"""Text in the room there is: broken, hung, cut, and set on sheets."""

from dataclasses import replace
from itertools import pairwise

import pytest
from fields import lay_on, square

from striplay.mapbook.sheet import FOOT_MM, Paper
from striplay.mapbook.style import PAPERS_MM, SMALLEST_PT
from striplay.mapbook.table_sheets import seed_sheets
from striplay.mapbook.text import (
    Table,
    cut,
    fitted,
    flowed,
    height_mm,
    paragraphs,
    table_lines,
    text_width_mm,
    wrapped,
)
from striplay.notices import Notice
from striplay.tables import sown_table

WORDS = "strips of corn stand beside strips of soybean on the whole field " * 4


@pytest.mark.parametrize("bold", [False, True])
def test_lines_fit_their_room_and_hold_every_word(bold):
    lines = wrapped(WORDS.strip(), 60.0, bold=bold)
    assert " ".join(lines) == WORDS.strip()
    assert all(text_width_mm(line, SMALLEST_PT, bold=bold) <= 60.0 for line in lines)
    # a line takes the next word wherever there is room
    for line, after in pairwise(lines):
        longer = f"{line} {after.split()[0]}"
        assert text_width_mm(longer, SMALLEST_PT, bold=bold) > 60.0


def test_what_is_too_long_is_cut_with_dots():
    short = fitted(WORDS, 60.0)
    assert short.endswith("…")
    assert WORDS.startswith(short[:-1])
    assert text_width_mm(short, 8.0) <= 60.0 < text_width_mm(f"{WORDS[: len(short)]}…", 8.0)
    assert fitted("corn", 60.0) == "corn"


def test_a_paragraph_hangs_and_two_spaces_stay():
    lines = paragraphs(60.0, "", "1  corn", WORDS.strip(), above_mm=2.0, hang_mm=5.0)
    assert lines[0].text == "1  corn"
    assert [line.cells[0].x_mm for line in lines] == [0.0, 0.0, *[5.0] * (len(lines) - 2)]
    assert height_mm(lines) == pytest.approx(4.0 * len(lines) + 2.0)


def test_what_has_no_room_is_told_of_in_the_last_line():
    lines = paragraphs(60.0, *"abcdef")
    assert cut(lines, 24.0, "more") == lines
    assert [line.text for line in cut(lines, 23.9, "more")] == [*"abcd", "more"]
    assert [line.text for line in lines] == [*"abcdef"]
    assert cut(lines, 3.0, "more") == []


def test_a_table_goes_on_with_its_headings():
    table = Table("", [("strip", 0.0), ("rows", 40.0)], [[str(n), "16"] for n in range(1, 13)])
    head, *rows = table_lines(table)
    assert [line.ruled for line in rows] == [number % 5 == 0 for number in range(1, 13)]
    sheets = flowed([[row] for row in rows], 5.5 * head.high_mm, [head])
    names = [[line.text for line in sheet] for sheet in sheets]
    assert [sheet[0] for sheet in names] == ["strip"] * 3
    assert [sheet[1:] for sheet in names] == [[*"1234"], [*"5678"], ["9", "10", "11", "12"]]
    # blocks stay whole
    sheets = flowed([rows[:3], rows[3:6]], 5.5 * head.high_mm, [head])
    assert [len(sheet) for sheet in sheets] == [4, 4]


def test_all_that_the_user_should_know_is_written(tmp_path):
    layout = lay_on(tmp_path, square(1320))
    told = [f"{number}: {WORDS}".strip() for number in range(40)]
    notices = tuple(Notice("boundary", "know", None, words) for words in told)
    layout = replace(layout, ground=replace(layout.ground, notices=notices))
    paper = Paper(*PAPERS_MM["letter"], WORDS, "foot")
    pages = list(seed_sheets(paper, layout, sown_table(layout.plan, layout.laid, layout.figures)))
    written = [text for page in pages for text in page.paper.texts]
    said = " ".join(text.get_text() for text in written)
    assert all(words in said for words in told)
    assert len(pages) == 2
    assert min(text.get_position()[1] for text in written if text.get_text() != "foot") > FOOT_MM
    # a title longer than the paper is cut
    titles = [text for text in written if text.get_text().endswith("…")]
    assert len(titles) == 2
    assert titles[0].get_text().startswith("strips of corn")
