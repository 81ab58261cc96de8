"""What must hold of fills, whatever a machine holds and its passes take."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from striplay.operations.fills import fills_of, loads_of

AMOUNTS = st.lists(st.floats(0, 40, allow_subnormal=False), min_size=0, max_size=30)
WHOLE = st.lists(st.integers(0, 25), min_size=1, max_size=7)


@given(AMOUNTS, st.floats(0.5, 20), st.randoms(use_true_random=False))
def test_a_load_is_never_below_nothing_nor_above_what_is_held(amounts, holds, chance):
    amount = np.array(amounts, dtype=np.float64)
    length_m = np.full(len(amount), 300.0)
    what = np.array([chance.randrange(2) for _ in amounts], dtype=np.int64)
    found = fills_of(amount, holds, length_m, what)
    assert (found.left >= 0).all()
    assert (found.left <= holds).all()
    # what was on board, and what was filled in, is what was used and what is left
    had = np.append(holds, found.left)[:-1]
    filled = np.where(found.before, holds - had, 0) + found.dry * holds
    assert np.allclose(had + filled - amount, found.left, atol=1e-6)
    # mid-field places lie on their passes, in order, a load apart
    of, at_m = found.mid_field()
    assert len(of) == found.dry.sum()
    assert (at_m >= 0).all()
    assert (at_m <= length_m[of] + 1e-6).all()
    same = np.diff(of) == 0
    assert np.allclose((np.diff(at_m) * amount[of[1:]] / 300.0)[same], holds)
    assert found.before[1:][np.diff(what) != 0].all()


@given(AMOUNTS, st.floats(0.5, 20), st.randoms(use_true_random=False))
def test_loads_add_up_to_what_is_used_and_none_is_more_than_is_held(amounts, holds, chance):
    amount = np.array([*amounts, 1.0])
    length_m = np.full(len(amount), 300.0)
    what = np.array([chance.randrange(2) for _ in amount], dtype=np.int64)
    fills = fills_of(amount, holds, length_m, what)
    found = loads_of(fills, amount, holds, what, brought_in=False)
    assert len(found.of) == fills.count + 1
    each = found.end - found.begin
    assert (each >= -1e-9).all()
    assert (each <= holds * (1 + 1e-6) + 1e-6).all()
    assert each.sum() == pytest.approx(amount.sum())
    # each of two things that take turns has its own, and a half of all has half of each load
    parts = [np.where(what == kind, amount, 0.0) for kind in (0, 1)]
    assert sum(found.of_part(part) for part in parts) == pytest.approx(each, abs=1e-6)
    assert found.of_part(amount / 2) == pytest.approx(each / 2, abs=1e-6)
    # they come in the order driven
    assert (np.diff(found.of) >= 0).all()


@given(AMOUNTS, st.floats(0.5, 20), st.randoms(use_true_random=False))
def test_grain_leaves_by_the_tank_or_on_the_go(amounts, holds, chance):
    amount = np.array([*amounts, 1.0])
    going = np.array([chance.random() < 0.3 for _ in amount], dtype=bool)
    what = np.zeros(len(amount), dtype=np.int64)
    fills = fills_of(amount, holds, np.full(len(amount), 300.0), what, going)
    found = loads_of(fills, amount, holds, what, brought_in=True)
    each = found.end - found.begin
    assert (each > 0).all()
    assert (each <= holds * (1 + 1e-6) + 1e-6).all()
    # loads follow one another, and what lies between them went into the cart as it came in
    assert (found.begin[1:] >= found.end[:-1] - 1e-9).all()
    assert each.sum() <= amount.sum() + 1e-6
    if not going.any():
        assert each.sum() == pytest.approx(amount.sum())


def tried(amounts, holds, chosen):
    """Count the fills mid-field and in all where they come before the passes chosen."""
    left, mid = holds, 0
    for need, fill in zip(amounts, chosen, strict=True):
        left = holds if fill else left
        times = max(math.ceil((need - left) / holds), 0)
        left += times * holds - need
        mid += times
    return mid, mid + sum(chosen)


@given(WHOLE, st.integers(1, 12))
def test_no_other_choice_has_fewer_fills_mid_field_nor_as_few_with_fewer_in_all(amounts, holds):
    ways = itertools.product([False, True], repeat=len(amounts))
    best = min(tried(amounts, holds, chosen) for chosen in ways)
    amount = np.array(amounts, dtype=np.float64)
    found = fills_of(amount, float(holds), np.full(len(amount), 100.0))
    assert (int(found.dry.sum()), found.count) == best
    assert tried(amounts, holds, found.before.tolist()) == best


@given(st.floats(0.5, 10), st.integers(1, 40), st.floats(10, 200))
def test_equal_passes_take_as_many_between_fills_as_a_load_lasts(need, count, holds):
    found = fills_of(np.full(count, need), holds, np.full(count, 100.0))
    lasts = math.floor(holds / need + 1e-9)
    assert found.count == pytest.approx(math.ceil(count / lasts) - 1)
