"""Speed of a yield monitor's file. No timed assertion: read what is printed.

Run with `pytest tests/benchmarks/test_monitor_speed.py --benchmark-only -s`.
"""

import pandas as pd
from alternate import alternate
from combine import COLUMNS, drives_on, harvest, levels
from fields import SHED, lay_on, square

from striplay.files.monitor import read_monitor
from striplay.records.monitor import by_strip

POINTS = 100_000


def test_a_hundred_thousand_points_against_reading_them_alone(benchmark, tmp_path):
    layout = lay_on(tmp_path, square(2640), shed=SHED + COLUMNS)
    model = harvest(
        layout.ground.plane, list(drives_on(layout, "corn")), levels(layout, "corn", 1.0)
    )
    head, *lines = model.lines
    cells = [line.split(",", 1) for line in lines]
    long_s = float(cells[-1][0]) + 30
    rounds = range(POINTS // len(lines) + 1)
    rows = [f"{float(at) + turn * long_s:.1f},{rest}" for turn in rounds for at, rest in cells]
    path = tmp_path / "points.csv"
    path.write_text("\n".join([head, *rows[:POINTS]]))
    plan, routes = layout.plan, layout.routes

    def ours():
        log = read_monitor(path, plan.monitor)
        return by_strip(plan, plan.monitor, layout.ground, layout.laid, routes, log)

    (mine, bare), (found, table) = alternate(ours, lambda: pd.read_csv(path))
    benchmark.pedantic(lambda: None, rounds=1)
    assert found.points == len(table) == POINTS
    print(f"\n100,000 points: {mine:.2f} s, {mine / bare:.0f} times reading them alone")
