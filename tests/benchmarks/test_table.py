"""Speed of answers at the planning table. No timed assertion: read what is printed.

Run with `pytest tests/benchmarks/test_table.py --benchmark-only -s`.
"""

import time

import numpy as np
import pytest
from fields import SAMPLES

from striplay.files.plan import plan_in
from striplay.files.plan_changes import with_changes
from striplay.flow import lay, read_ground
from striplay.table.desk import Desk, is_searched
from striplay.table.server import leave_loaded_alone

TURNS = 8
"""Rounds of changes."""


def begun(path):
    """Begin a desk with a sample plan, its heading stated, as after its search."""
    text = path.read_text(encoding="utf-8")
    plan = plan_in(text, path)
    if is_searched(plan):
        stated = {"direction.heading": 33.0, "direction.offset": "1.2 m", "blocks": None}
        text = with_changes(text, stated, path.name)
    desk = Desk(path)
    desk.grounds.kept(plan, read_ground(plan))
    desk.begin(desk.laid(text), saved=True)
    desk.offers_sent()
    desk.answer(0, 0.0)
    return desk


def changes_of(desk):
    """Give what a hand at the table does: turn, shift, widen the headland, begin at a side."""
    plan = desk.now.layout.plan
    for turn in range(TURNS):
        if not plan.curved:
            yield {"direction.heading": 20.0 + 7.3 * turn}
            yield {"direction.offset": f"{0.3 * turn:.2f} m"}
            yield {"direction.start": ("right", "left")[turn % 2]}
        if plan.headland.passes:
            yield {"headland.passes": 1 + turn % 3}


@pytest.mark.parametrize("name", sorted(p.relative_to(SAMPLES).as_posix()
                                        for p in SAMPLES.glob("*/*.toml")))  # fmt: skip
def test_answers_of_a_sample_field(benchmark, name):
    benchmark.pedantic(lambda: None, rounds=1)
    desk = begun(SAMPLES / name)
    leave_loaded_alone()  # as the server does
    took_s = []
    for changes in changes_of(desk) or [{}]:
        began_s = time.process_time()
        laid = desk.laid(desk.changed(changes))
        desk.history, desk.now = desk.history.put(laid.text), laid
        desk.answer(1, 0.0)
        took_s.append(time.process_time() - began_s)
    began_s = time.process_time()
    lay(desk.now.layout.plan).accounts  # noqa: B018 - all of it is reckoned here
    whole_s = time.process_time() - began_s
    half, most = np.quantile(took_s, [0.5, 0.95])
    print(
        f"\n{name}: an answer {1e3 * half:.0f} ms, of 20 the slowest {1e3 * most:.0f} ms; "
        f"the whole flow afresh {whole_s / half:.0f} times as long"
    )
