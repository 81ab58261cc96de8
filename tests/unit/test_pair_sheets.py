"""The sheets that say how crops suit each other: two at most, each source once."""

import itertools

import pytest

from striplay.mapbook.pair_sheets import pair_parts, pair_sheets
from striplay.mapbook.sheet import FOOT_MM, Paper
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
    shared = Paper(*PAPERS_MM[paper], "Test", "foot")
    assert list(pair_sheets(shared, [])) == []
    (only,) = pair_parts(shared, judged("corn", "soybean"))
    assert [line.text for line in only if line.bold] == ["corn and soybean"]
    assert [line.text for line in only][-1] == "Sources: A; B."
    crops = [f"crop{number}" for number in range(9)]
    two = pair_parts(shared, judged(*crops))
    assert len(two) == 2
    shown = sum(line.bold for sheet in two for line in sheet)
    assert 2 < shown < 36
    left = f"{36 - shown} more pairs of crops: accounts.json has them."
    assert left in [line.text for line in two[-1]]
    for number, page in enumerate(pair_sheets(shared, judged(*crops)), start=1):
        titles, written = page.paper.texts[:3], page.paper.texts[3:]
        assert titles[1].get_text() == f"How the crops suit each other, part {number} of 2"
        assert min(text.get_position()[1] for text in written) > FOOT_MM
        assert min(text.get_fontsize() for text in written) >= SMALLEST_PT


def test_a_source_is_named_once():
    points = [Judgement(("a", "b"), "height", "said", source)
              for source in ("A; B", "A and B", "B and C", "A", "the plan and A")]  # fmt: skip
    (only,) = pair_parts(Paper(*PAPERS_MM["letter"], "Test", "foot"), points)
    assert only[-1].text == "Sources: A; B; C; the plan."
