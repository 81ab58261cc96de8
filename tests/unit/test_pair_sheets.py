"""How crops suit each other, on paper: two pages at most, each source once, set in no time."""

import itertools
import time

import pytest
from books import book, written

from striplay.season.pairing import Judgement
from striplay.sheets.pair_sheets import pairs_part

ABOUT = ("height", "roots", "nitrogen", "season", "family", "herbicides")


def judged(*crops):
    return [
        Judgement(
            pair, about, f"{about} of {pair[0]} and {pair[1]}. " + 12 * "Many words. ", "A; B"
        )
        for pair in itertools.combinations(crops, 2)
        for about in ABOUT
    ]


def text_of(made):
    return " ".join(page.text for page in made)


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_pairs_take_two_pages_at_most_and_say_what_is_left_out(tmp_path, paper):
    shared = book(paper=paper)
    assert pairs_part(shared, []) == []
    (only,) = written(tmp_path / "a.pdf", shared, pairs_part(shared, judged("corn", "soybean")))
    assert "How the crops suit each other" in only.texts
    assert "corn and soybean" in only.texts
    assert all(f"{about}: {about} of corn and soybean." in only.text for about in ABOUT)
    assert only.text.count("Sources: A; B.") == 1
    crops = [f"crop{number}" for number in range(9)]
    two = written(tmp_path / "b.pdf", shared, pairs_part(shared, judged(*crops)))
    assert len(two) == 2
    heads = [f"{one} and {other}" for one, other in itertools.combinations(crops, 2)]
    shown = [head for head in heads if any(head in page.texts for page in two)]
    assert 10 < len(shown) < 36
    assert shown == heads[: len(shown)]
    left = f"{36 - len(shown)} more pairs of crops: accounts.json has them."
    assert left in two[-1].text
    # the first page is full: what comes next would not have had room
    assert two[0].inked_pt[1] < 120


def test_a_source_is_named_once(tmp_path):
    points = [Judgement(("a", "b"), "height", "said", source)
              for source in ("A; B", "A and B", "B and C", "A", "the plan and A")]  # fmt: skip
    (only,) = written(tmp_path / "a.pdf", book(), pairs_part(book(), points))
    assert "Sources: A; B; C; the plan." in only.text


def test_a_plan_of_many_crops_takes_no_longer_than_its_pages(tmp_path):
    """Forty crops are 780 pairs: what is left out is neither set nor measured.

    Where every line is laid out anew for each word that is tried, at 1 ms a time, ten crops take
    3 to 8 s. A tenth of a second a page is asked; the bound leaves slow machines room.
    """
    shared = book()
    pairs = judged(*(f"crop{number}" for number in range(40)))
    story = pairs_part(shared, judged("corn", "soybean"))  # fonts are loaded once
    begun = time.process_time()
    story = pairs_part(shared, pairs)
    made = written(tmp_path / "a.pdf", shared, story)
    assert time.process_time() - begun < 2.0
    assert len(made) == 2
    assert "more pairs of crops: accounts.json has them." in text_of(made)
