"""Speed of ordering and judging the season's operations, against laying the same field.

Run with `pytest tests/benchmarks/test_operations.py --benchmark-only -s`.
"""

import tomllib

from alternate import alternate
from fields import SAMPLES

from striplay.flow import lay
from striplay.plan.check import check_plan

MOWN = {"does": "mow", "machine": "mower", "crops": ["soybean"], "day": "2026-06-20"}
"""A seventh operation on the quarter section, 65 ha."""


def test_seven_operations_of_a_quarter_section_against_its_layout(benchmark):
    benchmark.pedantic(lambda: None, rounds=1)
    path = SAMPLES / "quarter_section" / "plan.toml"
    raw = tomllib.loads(path.read_text())
    raw["machines"]["mower"] = {"does": "mow", "width": "20 ft"}
    raw["operations"].append(MOWN)
    plan = check_plan(raw, path)
    assert len(lay(plan).operations.each) == 7  # the solver is loaded now
    (laid, judged), _ = alternate(lambda: lay(plan), lambda: lay(plan).operations, rounds=3)
    print(f"\nlayout {laid:.2f} s, with seven operations {judged:.2f} s: {judged / laid:.1f} times")
