"""The sheets that say how crops suit each other: two at most, each source once."""

import itertools

import pytest

from striplay.mapbook.page import Page
from striplay.mapbook.pairs import draw_pairs, pair_sheets
from striplay.mapbook.panel import FOOT_MM
from striplay.mapbook.style import PAPERS_MM, SMALLEST_PT
from striplay.season.pairing import Judgement


def judged(*crops):
    return [
        Judgement(
            pair, about, f"{about} of {pair[0]} and {pair[1]}. " + 12 * "Many words. ", "A; B"
        )
        for pair in itertools.combinations(crops, 2)
        for about in ("height", "roots", "nitrogen", "season", "family", "herbicides")
    ]


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_pairs_take_two_sheets_at_most_and_say_what_is_left_out(paper):
    size_mm = PAPERS_MM[paper]
    assert pair_sheets([], size_mm) == []
    (only,) = pair_sheets(judged("corn", "soybean"), size_mm)
    assert [line.text for line in only if line.bold] == ["corn and soybean"]
    assert [line.text for line in only][-1] == "Sources: A; B."
    crops = [f"crop{number}" for number in range(9)]
    two = pair_sheets(judged(*crops), size_mm)
    assert len(two) == 2
    shown = sum(line.bold for sheet in two for line in sheet)
    assert 2 < shown < 36
    left = f"{36 - shown} more pairs of crops: accounts.json has them."
    assert left in [line.text for line in two[-1]]
    for sheet in two:
        page = Page(size_mm, "Test", "How the crops suit each other", "foot")
        draw_pairs(page, sheet)
        written = page.paper.texts[3:]
        assert min(text.get_position()[1] for text in written) > FOOT_MM
        assert min(text.get_fontsize() for text in written) >= SMALLEST_PT


def test_a_source_is_named_once():
    points = [Judgement(("a", "b"), "height", "said", source)
              for source in ("A; B", "A and B", "B and C", "A", "the plan and A")]  # fmt: skip
    (only,) = pair_sheets(points, PAPERS_MM["letter"])
    assert only[-1].text == "Sources: A; B; C; the plan."
