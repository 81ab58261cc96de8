"""Yield monitors on any ground: slanting, rings, a key line, an obstacle, parts, part passes."""

import numpy as np
import pytest
import shapely
from fields import lay_on, sample, square, write_line

from striplay.plan.monitor import MonitorSource
from striplay.records.monitor import by_strip
from striplay.records.monitor_log import MonitorLog

RULES = MonitorSource.model_validate(
    {
        "time": "t",
        "longitude": "x",
        "latitude": "y",
        "flow": "f",
        "flow_unit": "kg/s",
        "delay": "0 s",
    }
)
BARE = '[headland]\nwhere = "none"\n'
STEP_M = 2.0


def driven(layout, crop):
    """Drive a crop's planned passes at 2 m/s over 1 kg/m2, on what rows each has under it."""
    random = np.random.default_rng(0)
    time_s, point_m, flow, begins_s = [], [], [], 0
    for judged in layout.operations.each:
        if judged.job.does != "harvest" or judged.job.crops[0] != crop:
            continue
        for group in judged.route.groups:
            if group.runs is None:
                continue
            wide_m = np.minimum(group.runs.high_m - group.runs.low_m, group.width_m)
            for line, wide in zip(group.line, wide_m, strict=True):
                count = int(line.length / STEP_M)
                at = shapely.line_interpolate_point(line, np.arange(count) * STEP_M)
                drift = 0.2 * random.normal(size=2) + 0.05 * random.normal(size=(count, 2))
                time_s.append(begins_s + np.arange(count))
                point_m.append(shapely.get_coordinates(at) + drift)
                flow.append(STEP_M * wide * (1 + 0.02 * random.normal(size=count)))
                begins_s += count + 30
    lonlat = layout.ground.plane.to_lonlat(np.concatenate(point_m))
    seconds = np.concatenate(time_s).astype(np.float64)
    lines = np.arange(len(seconds)) + 2
    return MonitorLog("points.csv", lines, seconds, lonlat, np.concatenate(flow), "kg_per_s")


def rings(folder):
    disk = shapely.Point(0, 0).buffer(130, 48)
    return lay_on(folder, disk, headland=BARE, direction="pivot = [-93.5, 42.0]"), "corn"


def key_line(folder):
    write_line(folder, shapely.LineString([(-200, -20), (-60, 10), (80, -10), (200, 30)]))
    return lay_on(folder, square(600), headland=BARE, direction='along = "key.geojson"'), "soybean"


def slanting(folder):
    field = square(700).difference(shapely.Point(20, 30).buffer(25))
    return lay_on(folder, field, headland=BARE, direction="heading = 37"), "corn"


def parts(_):
    return sample("two_parts"), "maize"


def part_passes(_):
    return sample("pivot_circle"), "corn"


@pytest.mark.parametrize("ground", [rings, key_line, slanting, parts, part_passes])
def test_every_strip_yields_what_grew_on_it(ground, tmp_path):
    layout, crop = ground(tmp_path)
    log = driven(layout, crop)
    found = by_strip(layout.plan, RULES, layout.ground, layout.laid, layout.routes, log, crop)
    # within 25 m of a pivot the way from point to point is a chord, and too short
    kept = [one for one in found.strips if ground is not rings or one.strip > 1]
    yields = np.array([one.kg_per_m2 for one in kept])
    assert np.abs(yields - 1.0).max() < 0.01
    assert abs(yields.mean() - 1.0) < 0.002
    assert {one.pass_number is None for one in found.runs if one.points} == {False}
    assert found.dropped.get("two strips", 0) == 0
    strips = layout.strips[layout.strips["crop"] == crop]
    assert {one.strip for one in found.strips} <= set(strips["strip"])
    long = strips.groupby("strip")["area_m2"].sum() > 1500
    assert set(long.index[long]) <= {one.strip for one in found.strips}
