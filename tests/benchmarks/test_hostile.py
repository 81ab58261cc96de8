"""Hostile boundaries and plans by the thousand, and what the guard of overlays costs.

Run with `pytest tests/benchmarks/test_hostile.py --benchmark-only -s`; `--hostile 100000` draws so
many boundaries, and a fifth as many plans, from `--hostile-from` on: it tells every thousandth, so
that a run that ended goes on there.
"""

import pytest
from alternate import alternate
from fields import lay_on
from hostile import run
from shapes import SHAPES

from striplay.geometry import overlay


@pytest.mark.parametrize("what", ["fields", "plans"])
def test_hostile_ones_are_laid_or_refused_in_words(benchmark, pytestconfig, capsys, what):
    first, count = (pytestconfig.getoption(name) for name in ("--hostile-from", "--hostile"))
    share = 1 if what == "fields" else 5
    with capsys.disabled():
        faults = benchmark.pedantic(
            lambda: run(what, first // share, count // share), rounds=1, iterations=1
        )
    assert faults == []


ENDS = '[headland]\nwhere = "ends"\npasses = 2\nmachine = "planter"\n'


def test_the_guard_of_overlays(benchmark, monkeypatch, tmp_path):
    benchmark.pedantic(lambda: None, rounds=1)

    def lay():
        return lay_on(tmp_path, SHAPES["L with pond"], headland=ENDS, direction='heading = "best"')

    def unguarded():
        with monkeypatch.context() as patched:
            patched.setattr(overlay, "doubted", lambda _, one, *__: [False] * len(one))
            patched.setattr(overlay, "union_doubted", lambda *_: False)
            return lay()

    lay()
    (with_it, without), _ = alternate(lay, unguarded, rounds=3)
    print(
        f"\nlaid {without:.2f} s, overlays guarded {with_it:.2f} s: {with_it / without:.2f} times"
    )
