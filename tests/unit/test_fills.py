"""Fills: where a machine fills or unloads, by hand."""

import time

import numpy as np
import pytest

from striplay.limits import MAX_FILLS
from striplay.operations.fills import fill_words, fills_of


def fills(amount, holds, length_m=100.0, what=None):
    amount = np.array(amount, dtype=np.float64)
    given = None if what is None else np.array(what)
    return fills_of(amount, holds, np.full(len(amount), float(length_m)), given)


def test_a_pass_is_begun_only_with_what_it_takes():
    found = fills([4, 4, 4, 4], 10)
    assert found.before.tolist() == [False, False, True, False]
    assert found.left.tolist() == [6, 2, 6, 2]
    assert found.dry.tolist() == [0, 0, 0, 0]
    assert found.count == 1


def test_a_pass_that_takes_just_what_is_left_needs_no_fill():
    # in floating point two tenths taken off 0.3 leave less than a tenth
    assert 0.3 - 0.1 - 0.1 < 0.1
    found = fills([0.1] * 3, 0.3)
    assert found.count == 0
    assert found.left[-1] == pytest.approx(0, abs=1e-12)
    assert found.left.min() >= 0


def test_a_pass_longer_than_a_load_runs_out_on_its_way():
    found = fills([10, 25], 10, length_m=500)
    # empty at the second pass: filled, dry at 200 m and at 400 m
    assert found.before.tolist() == [False, True]
    assert found.dry.tolist() == [0, 2]
    of, at_m = found.mid_field()
    assert of.tolist() == [1, 1]
    assert at_m.tolist() == pytest.approx([200, 400])
    assert found.left.tolist() == [0, 5]
    assert found.count == 3


def test_no_fill_before_a_long_pass_where_it_spares_none_on_its_way():
    # 3 are left and 12 are needed: with 10 more on its way that is enough, full or not
    found = fills([7, 12], 10, length_m=120)
    assert found.before.tolist() == [False, False]
    assert found.first_m[1] == pytest.approx(30)
    assert found.left[1] == 1
    assert found.count == 1


def test_another_crop_is_another_load():
    found = fills([1, 1, 1], 10, what=[0, 1, 1])
    assert found.before.tolist() == [False, True, False]
    assert found.left.tolist() == [9, 9, 8]


def test_passes_that_take_nothing_and_no_passes_at_all():
    found = fills([0, 0], 10)
    assert (found.count, found.left.tolist()) == (0, [10, 10])
    assert fills([], 10).count == 0
    assert [len(one) for one in fills([], 10).mid_field()] == [0, 0]


def test_a_slip_in_a_rate_asks_for_no_memory():
    found = fills([1e18], 1e-6)
    assert found.dry.tolist() == [MAX_FILLS]
    assert 0 <= found.left[0] <= 1e-6


@pytest.mark.parametrize(
    ("units", "brought_in", "words"),
    [
        ("metric", False, ["", "refill before, runs out at about 200 m, then about every 200 m"]),
        ("us", True, ["", "unload before, full at about 656 ft, then about every 656 ft"]),
    ],
)
def test_words(units, brought_in, words):
    found = fill_words(fills([10, 25], 10, length_m=500), units, brought_in=brought_in)
    assert found.tolist() == words
    assert fill_words(fills([7, 12], 10), "metric", brought_in=False)[1] == "runs out at about 25 m"


def test_a_thousand_passes_take_milliseconds():
    amount = np.random.default_rng(1).uniform(0, 30, 1000)
    begin = time.process_time()
    fills_of(amount, 10.0, np.full(1000, 400.0))
    assert time.process_time() - begin < 0.1  # some 2 ms
