"""Verdicts of whole plans: days, what leaves the field, what is not stated, parts that add up."""

import numpy as np
import pytest
import shapely
from fields import AROUND, PLANE, SHED, STRIPS, lay_on, square, texts, write_plan_for, write_shapes

from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.operations import routes
from striplay.operations.fills import fills_of

DATED = SHED.replace(
    "[crops.corn]\n", "[crops.corn]\nsown = 2026-05-01\nharvested = 2026-10-10\n"
).replace("[crops.soybean]\n", "[crops.soybean]\nsown = 2026-05-10\nharvested = 2026-09-20\n")


def spraying(day, crops='["corn"]'):
    return f'[[operations]]\ndoes = "spray"\nmachine = "sprayer"\ncrops = {crops}\nday = {day}\n'


def named(layout, name):
    return next(one for one in layout.operations.each if one.job.name == name)


@pytest.mark.parametrize(
    ("day", "said"),
    [
        ("2026-06-01", ""),
        ("2026-04-20", ""),  # before sowing, as a burndown is
        ("2027-06-12", "no corn stands on 2027-06-12: it is harvested by 2026-10-10"),
        ("2025-06-12", "no corn stands on 2025-06-12: it is sown on 2026-05-01"),
    ],
)
def test_a_day_on_which_no_crop_stands_is_asked_about(tmp_path, day, said):
    layout = lay_on(tmp_path, square(660), shed=DATED, strips=STRIPS + spraying(day))
    found = named(layout, "spray corn")
    about = [text for text in texts(found.notices) if "is the day right?" in text]
    assert bool(about) == bool(said)
    assert all(text == f"spray corn: {said}; is the day right?" for text in about)
    assert (found.answer == "at a cost") or not said


def test_what_reaches_over_an_obstacle_is_no_for_headers_and_a_cost_for_booms(tmp_path):
    clear = lay_on(tmp_path, square(1320), shed=DATED, headland=AROUND)
    assert not any(notice.machines for one in clear.operations.each for notice in one.notices)
    write_shapes(tmp_path, shapely.Point(30, 20).buffer(40), name="pond.geojson")
    direction = "heading = 20"
    ponded = lay_on(
        tmp_path, square(1320), shed=DATED, headland="", direction=direction,
        field='obstacles = "pond.geojson"',
    )  # fmt: skip
    over = {notice.severity: notice for notice in ponded.notices if notice.kind == "obstacle"}
    assert set(over) == {"stop", "mind"}
    for one in ponded.operations.each:
        mine = [notice for notice in over.values() if one.job.machine in notice.machines]
        assert set(mine) <= set(one.notices)
        if any(notice.severity == "stop" for notice in mine):
            assert one.answer == "no"
    told = texts(ponded.notices)
    assert len(told) == len(set(told))  # each once


def test_what_is_not_stated_is_told_once(tmp_path):
    layout = lay_on(tmp_path, square(660), shed=DATED)
    together = texts(layout.operations.together)
    assert sum(text.startswith("turns leave no room for the length of") for text in together) == 1
    assert sum("reckoned with a usual radius" in text for text in together) == 1
    assert sum(text.startswith("no gate is stated") for text in together) == 1
    stated = DATED.replace('does = "', 'length = "5 m"\nturning_radius = "7 m"\ndoes = "')
    path = write_plan_for(tmp_path, square(660), shed=stated)
    lonlat = PLANE.to_lonlat(np.array([[-101.0, 0.0]]))[0]
    path.write_text(f"gate = [{lonlat[0]}, {lonlat[1]}]\n{path.read_text()}")
    together = texts(lay(read_plan(path)).operations.together)
    assert not any("turns" in text or "gate" in text for text in together)


def test_a_gate_far_off_or_with_latitude_first_is_told(tmp_path):
    path = write_plan_for(tmp_path, square(660), shed=DATED)
    text = path.read_text()
    path.write_text(f"gate = [-93.2, 42.0]\n{text}")
    first = lay(read_plan(path)).operations.together[0]
    assert (first.severity, first.text) == (
        "mind", "gate: lies 15 miles from the field; is it longitude first, then latitude?",
    )  # fmt: skip
    path.write_text(f"gate = [42.0, -93.5]\n{text}")
    with pytest.raises(PlanError, match=r"gate: .*latitude first; write \[-93.5, 42\]"):
        read_plan(path)


def test_loads_in_another_measure_are_told_as_not_counted(tmp_path):
    heavy = DATED.replace('does = "spray"', 'does = "spray"\nholds = "500 lb"')
    rate = 'product = "x"\nrate = "15 gal/acre"\n'
    strips = STRIPS + spraying("2026-06-01") + rate
    layout = lay_on(tmp_path, square(660), shed=heavy, strips=strips)
    told = [text for text in texts(layout.operations.together) if "fills are not counted" in text]
    assert len(told) == 1
    assert named(layout, "spray corn").fills is None


def test_hours_are_the_sum_of_their_parts(tmp_path):
    layout = lay_on(tmp_path, square(1320), shed=DATED)
    for one in layout.accounts["operations"]:
        parts = ("hours_at_work", "hours_turning", "hours_driving", "hours_filling")
        assert sum(one[part] for part in parts) == pytest.approx(one["hours"], rel=1e-9)
        assert one["turns"] < one["passes"]


def test_an_empty_grain_tank_is_not_unloaded_for_another_crop():
    amount, length_m = np.full(4, 30.0), np.full(4, 100.0)
    crop = np.array([0, 0, 1, 1])
    going = fills_of(amount, 100.0, length_m, crop, np.ones(4, dtype=bool))
    assert (going.count, going.before.any()) == (0, False)
    kept = fills_of(amount, 100.0, length_m, crop, np.zeros(4, dtype=bool))
    assert kept.before.tolist() == [False, False, True, False]
    seed = fills_of(np.array([100.0, 30.0]), 100.0, length_m[:2], np.array([0, 1]))
    assert seed.before.tolist() == [False, True]


def test_ways_between_passes_are_found_only_when_they_are_asked_for(tmp_path, monkeypatch):
    """They take longer than the order of the passes, and the table of these needs none."""
    found = []

    def turned(*args):
        found.append(args)
        return turn(*args)

    turn = routes.turned
    monkeypatch.setattr(routes, "turned", turned)
    layout = lay_on(tmp_path, square(660), headland=AROUND)
    assert len(layout.passes) == sum(len(one) for one in layout.routes)
    assert not found
    assert (layout.passes_and_turns["turn"] != "").sum() == len(layout.passes) + len(layout.routes)
    assert len(found) == len(layout.routes)
