"""Read every file of the corpus of fuzzing: each is read, or refused in words."""

from pathlib import Path

import pytest
from hostile import fault_of_words, judge_field, judge_plan

from striplay.errors import StriplayError
from striplay.files.plan import read_plan
from striplay.files.shapes import read_shapes
from striplay.ground import locate

CORPUS = Path(__file__).parents[1] / "corpus"


def refusal(read, path):
    """Give the words in which a file is refused, "" where it is read."""
    try:
        read(path)
    except StriplayError as error:
        told = str(error)
    else:
        return ""
    assert fault_of_words(told) == ""
    return told


@pytest.mark.parametrize("path", sorted((CORPUS / "boundaries").iterdir()), ids=lambda p: p.name)
def test_boundaries_of_the_corpus(path):
    told = refusal(lambda one: locate(read_shapes(one)), path)
    assert (told == "") is (path.stem == "square"), told
    # a file whose system says no to it tells of its damage, not in the system's words
    assert "Invalid argument" not in told


@pytest.mark.parametrize("path", sorted((CORPUS / "plans").iterdir()), ids=lambda p: p.name)
def test_plans_of_the_corpus(path):
    told = refusal(read_plan, path)
    assert (told == "") is (path.stem in {"strips", "relay"}), told


@pytest.mark.parametrize("first", [0, 20, 40])
def test_hostile_boundaries_are_laid_or_refused_in_words(first):
    for number in range(first + 1, first + 20):
        assert judge_field(number)[0] == "", number


# small fields with hairs, of which strips dropped more than accounts may miss
@pytest.mark.parametrize("number", [4262, 5703, 7761, 12582, 14348])
def test_hostile_boundaries_that_failed_once(number):
    assert judge_field(number)[0] == ""


def test_hostile_plans_are_laid_or_refused_in_words():
    for number in range(1, 40):
        assert judge_plan(number)[0] == "", number


def test_what_is_wrong_with_a_refusal_is_found():
    assert fault_of_words("field.geojson: is inf km across")
    assert fault_of_words("plan.toml: None is no length")
    assert fault_of_words("plan.toml: x\n" * 40)
    assert fault_of_words("x" * 2000)
    assert fault_of_words("")
    assert fault_of_words('plan.toml: rate: "nan" is no rate') == ""
