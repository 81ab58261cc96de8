"""Order passes: the order and the directions to drive them in."""

import itertools
import subprocess
import sys

import numpy as np
import pytest
from drive_orders import PASSES, SHORTEST_M, parallel_passes

from striplay.operations import order as ordering
from striplay.operations import reorder
from striplay.operations.order import best_order


def either(count):
    return np.zeros(count, dtype=np.int8)


def scattered(count, seed):
    """Give ways between passes that lie anyhow, longer one way than the other, some fixed."""
    random = np.random.default_rng(seed)
    ends = random.uniform(0, 400, (2 * count + 1, 2))
    away = np.linalg.norm(ends[:, None] - ends, axis=-1) * random.uniform(1, 1.5, 2 * (len(ends),))
    fixed = random.integers(-1, 2, count).astype(np.int8)
    return away[:-1, :-1], away[-1, :-1], away[:-1, -1], fixed


def driven_m(between_m, from_m, to_m, passes, back):
    """Add up leg by leg."""
    entered = [2 * one + reverse for one, reverse in zip(passes, back, strict=True)]
    left = [2 * one + 1 - reverse for one, reverse in zip(passes, back, strict=True)]
    legs = sum(between_m[one, other] for one, other in zip(left, entered[1:], strict=False))
    return from_m[entered[0]] + legs + to_m[left[-1]]


def every_length_m(between_m, from_m, to_m, fixed):
    """Give the length of every order in every direction that is allowed."""
    allowed = [{0: (0, 1), 1: (0,), -1: (1,)}[int(one)] for one in fixed]
    for passes in itertools.permutations(range(len(fixed))):
        for back in itertools.product(*(allowed[one] for one in passes)):
            yield driven_m(between_m, from_m, to_m, passes, back)


def hold(found, between_m, from_m, to_m, fixed):
    """Check what is true of every order."""
    assert sorted(found.order) == list(range(len(fixed)))
    back = found.back[np.argsort(found.order)]
    assert not back[fixed == 1].any()
    assert back[fixed == -1].all()
    length_m = driven_m(between_m, from_m, to_m, found.order, found.back)
    assert found.length_m == pytest.approx(length_m, rel=1e-12)
    assert found.length_m <= found.beside_m


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5])
def test_few_passes_are_driven_in_the_shortest_of_all_orders(count):
    for seed in range(20 if count < 5 else 6):
        *ways, fixed = scattered(count, seed)
        for which in (fixed, either(count)):
            found = best_order(*ways, which)
            hold(found, *ways, which)
            assert found.length_m == pytest.approx(min(every_length_m(*ways, which)), rel=1e-12)


def test_six_passes_are_driven_in_the_shortest_of_all_orders():
    for seed in range(3):
        *ways, fixed = scattered(6, seed)
        found = best_order(*ways, fixed)
        assert found.length_m == pytest.approx(min(every_length_m(*ways, fixed)), rel=1e-12)


@pytest.mark.parametrize("seed", range(10))
def test_side_by_side_is_told_in_its_best_directions(seed):
    *ways, fixed = scattered(5, seed)
    allowed = itertools.product(*({0: (0, 1), 1: (0,), -1: (1,)}[int(one)] for one in fixed))
    shortest_m = min(driven_m(*ways, range(5), back) for back in allowed)
    assert best_order(*ways, fixed).beside_m == pytest.approx(shortest_m, rel=1e-12)


def test_no_pass_and_one():
    none = best_order(np.zeros((0, 0)), np.zeros(0), np.zeros(0), either(0))
    assert (len(none.order), len(none.back), none.length_m, none.beside_m) == (0, 0, 0, 0)
    one = best_order(np.zeros((2, 2)), np.array([5.0, 3.0]), np.array([1.0, 9.0]), either(1))
    assert (one.order.tolist(), one.back.tolist(), one.length_m) == ([0], [True], 4.0)


@pytest.mark.parametrize("seed", range(len(SHORTEST_M)))
def test_40_parallel_passes_are_within_3_percent_of_the_shortest_known(seed):
    ways = parallel_passes(PASSES, seed)
    found = best_order(*ways, either(PASSES))
    hold(found, *ways, either(PASSES))
    assert found.length_m <= 1.03 * SHORTEST_M[seed]


def test_turns_that_skip_a_pass_are_taken_where_side_by_side_is_dear():
    """Seed 3: 38 m to the pass beside, a bulb; 20 m to the third one, a level turn."""
    found = best_order(*parallel_passes(PASSES, 3), either(PASSES))
    assert found.length_m < 0.7 * found.beside_m


@pytest.mark.parametrize("seed", range(4))
def test_the_search_comes_near_the_shortest_order_of_ten_passes(seed, monkeypatch):
    *ways, fixed = scattered(10, seed)
    exact = best_order(*ways, fixed)
    monkeypatch.setattr(ordering, "EXACT", 0)
    found = best_order(*ways, fixed)
    hold(found, *ways, fixed)
    assert exact.length_m <= found.length_m * (1 + 1e-12)
    assert found.length_m <= 1.01 * exact.length_m


@pytest.mark.parametrize("seed", range(4))
def test_passes_that_lie_anyhow_keep_their_fixed_directions(seed):
    *ways, fixed = scattered(25, seed)
    found = best_order(*ways, fixed)
    hold(found, *ways, fixed)
    assert found.length_m < 0.5 * found.beside_m


def test_side_by_side_stays_where_nothing_is_shorter():
    place = np.repeat(np.arange(20.0), 2)
    between_m = np.abs(place[:, None] - place)
    found = best_order(between_m, place, place[::-1].copy(), either(20))
    assert found.length_m == found.beside_m == 19
    assert found.order.tolist() == list(range(20))


def test_the_same_passes_are_ordered_the_same_again():
    one, other = (best_order(*parallel_passes(30, 1), either(30)) for _ in range(2))
    assert (one.order == other.order).all()
    assert (one.back == other.back).all()


@pytest.mark.parametrize("of", [70, ordering.LONG + 1])
def test_many_passes_are_ordered_window_by_window(of, monkeypatch):
    monkeypatch.setattr(ordering, "WINDOW", 20)
    if of > ordering.LONG:
        monkeypatch.delattr(ordering, "improved")  # by moves alone
    *ways, fixed = scattered(70, 0)
    driving = ordering._Driving(*ways, np.zeros(140))
    begun = ordering._begun(driving, 2 * np.arange(70))
    found = best_order(*ways, fixed, of)
    hold(found, *ways, fixed)
    free = best_order(*ways, either(70), of)
    hold(free, *ways, either(70))
    assert free.length_m < 0.95 * driving.length_m(begun)


@pytest.mark.parametrize("seed", range(5))
def test_every_move_changes_the_length_by_what_it_was_weighed_at(seed):
    *ways, fixed = scattered(15, seed)
    driving = ordering._Driving(*ways, np.zeros(30))
    matrix_m = driving.matrix_m(np.arange(30))
    entered = 2 * np.random.default_rng(seed).permutation(15) + (fixed < 0)
    now_m = reorder.length_m(matrix_m, entered)
    assert now_m == pytest.approx(driving.length_m(entered), rel=1e-12)
    moves = list(reorder._moves(reorder._Stops.of(matrix_m, entered)))
    assert len(moves) == 2 + 2 * reorder.LONGEST_MOVED
    for change_m, moved in moves:
        assert sorted(moved // 2) == list(range(15))
        assert reorder.length_m(matrix_m, moved) - now_m == pytest.approx(change_m, abs=1e-9)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda ways: ways[0].__setitem__((0, 3), np.nan), "must be finite, and 0 or more"),
        (lambda ways: ways[1].__setitem__(0, np.inf), "must be finite, and 0 or more"),
        (lambda ways: ways[2].__setitem__(0, -1), "must be finite, and 0 or more"),
        (lambda ways: ways.__setitem__(1, np.zeros(3)), "of 2 passes don't have the shapes"),
    ],
)
def test_lengths_that_are_none_are_refused(change, message):
    ways = [np.ones((4, 4)), np.ones(4), np.ones(4)]
    change(ways)
    with pytest.raises(ValueError, match=message):
        best_order(*ways, either(2))


def test_the_solver_is_loaded_for_more_than_twelve_passes_alone():
    script = (
        "import sys, numpy as np\n"
        "import striplay.cli.main\n"
        "from striplay.operations.order import best_order\n"
        "for count in (12, 13):\n"
        "    ends = np.ones(2 * count)\n"
        "    best_order(np.ones((2 * count,) * 2), ends, ends, np.zeros(count, dtype=np.int8))\n"
        "    print('pyvrp' in sys.modules)\n"
    )
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert run.stdout.split() == ["False", "True"]


def test_an_order_asked_for_again_is_not_searched_again(monkeypatch):
    """Fields that strips are held against drive some of the same passes."""
    searched = []
    solved = reorder._solved
    monkeypatch.setattr(reorder, "_solved", lambda *a: searched.append(a) or solved(*a))
    case = scattered(20, seed=271)
    first, second = best_order(*case), best_order(*case)
    assert (first.order.tolist(), first.back.tolist()) == (
        second.order.tolist(), second.back.tolist(),
    )  # fmt: skip
    assert len(searched) == 1
