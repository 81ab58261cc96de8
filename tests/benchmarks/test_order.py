"""Speed of ordering passes, as ratios of processor time. No timed assertion: read what is printed.

Run with `pytest tests/benchmarks/test_order.py --benchmark-only -s`.
"""

import numpy as np
import pytest
from alternate import alternate
from drive_orders import parallel_passes

from striplay.operations.order import best_order


def plainly(between_m, from_m, to_m):
    """Give the shortest length as a script would: set by set, end by end, without arrays."""
    between_m, from_m, to_m = between_m.tolist(), from_m.tolist(), to_m.tolist()
    ends = range(len(from_m))
    shortest_m = {(1 << end // 2, end): from_m[end] for end in ends}
    for _ in range(len(from_m) // 2 - 1):
        longer_m = {}
        for (driven, end), so_far_m in shortest_m.items():
            for other in ends:
                if not driven >> other // 2 & 1:
                    key = (driven | 1 << other // 2, other)
                    length_m = so_far_m + between_m[end ^ 1][other]
                    longer_m[key] = min(length_m, longer_m.get(key, length_m))
        shortest_m = longer_m
    return min(so_far_m + to_m[end ^ 1] for (_, end), so_far_m in shortest_m.items())


def ordered(count):
    ways, either = parallel_passes(count, 1), np.zeros(count, dtype=np.int8)
    return lambda: best_order(*ways, either)


def test_twelve_passes_against_plain_loops(benchmark):
    benchmark.pedantic(lambda: None, rounds=1)
    ours, ways = ordered(12), parallel_passes(12, 1)
    (mine, other), (found, shortest_m) = alternate(ours, lambda: plainly(*ways))
    print(f"\n12 passes: {other / mine:.0f} times ({mine:.4f} s, {other:.2f} s)")
    assert found.length_m == pytest.approx(shortest_m, rel=1e-12)


@pytest.mark.parametrize("count", [62, 1000])
def test_many_passes_against_forty(benchmark, count):
    benchmark.pedantic(lambda: None, rounds=1)
    ordered(13)()  # so that the solver is loaded
    (few, many), (_, found) = alternate(ordered(40), ordered(count), rounds=1)
    print(f"\n{count} passes: {many / few:.1f} times those of 40 ({many:.2f} s, {few:.2f} s)")
    print(f"{found.length_m:.0f} m, side by side {found.beside_m:.0f} m")
