"""Yield monitors: what strips yielded is found again, and what does not count is told by reason."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from combine import COLUMNS, DEAD_S, LAG_S, PLATFORM_M, drives_on, harvest, levels
from fields import FOOT_M, SHED, lay_on, square

from striplay.errors import MonitorError
from striplay.files.monitor import read_monitor
from striplay.monitoring import row_entries_of
from striplay.records.monitor import by_strip
from striplay.records.monitor_edges import edge_lines, edges_of_runs
from striplay.records.monitor_log import MonitorLog
from striplay.records.monitored import REASONS, RunYield


@pytest.fixture(scope="module")
def layout(tmp_path_factory):
    return lay_on(tmp_path_factory.mktemp("monitor"), square(1320), shed=SHED + COLUMNS)


def read(layout, folder, lines, **changes):
    path = folder / "monitor.csv"
    path.write_text("\n".join(lines) + "\n")
    return read_monitor(path, layout.plan.monitor.model_copy(update=changes))


def told(layout, log, crop=None, **changes):
    rules = layout.plan.monitor.model_copy(update=changes)
    return by_strip(layout.plan, rules, layout.ground, layout.laid, layout.routes, log, crop)


def off(found, truth):
    """Give by how much each strip's yield is off the truth, as a share."""
    return np.array([one.kg_per_m2 / truth[one.strip] - 1 for one in found.strips])


@pytest.fixture(scope="module")
def corn(layout):
    drives = list(drives_on(layout, "corn", stops=(1, 5, 9)))
    return harvest(layout.ground.plane, drives, levels(layout, "corn", 1.0))


@pytest.fixture(scope="module")
def corn_log(layout, corn, tmp_path_factory):
    return read(layout, tmp_path_factory.mktemp("corn"), corn.lines)


@pytest.fixture(scope="module")
def corn_found(layout, corn_log):
    return told(layout, corn_log)


def test_strips_yield_what_they_truly_did_within_one_per_cent_and_without_bias(corn, corn_found):
    away = off(corn_found, corn.kg_per_m2)
    assert {one.strip for one in corn_found.strips} == set(corn.kg_per_m2)
    assert np.abs(away).max() < 0.01
    assert abs(away.mean()) < 0.003
    assert corn_found.crop == "corn"
    assert corn_found.base_moisture == 0.155
    # strips differ by far more than the error, so that no one figure would do
    assert np.ptp(list(corn.kg_per_m2.values())) > 0.2


def test_without_delay_cleaning_and_moisture_the_same_points_would_be_wrong(
    layout, corn, corn_log, corn_found
):
    rash = told(layout, corn_log, delay_s=0.0, start_s=0.0, end_s=0.0, full=0.001, outliers=20.0)
    assert (
        np.abs(off(rash, corn.kg_per_m2)).max() > 3 * np.abs(off(corn_found, corn.kg_per_m2)).max()
    )
    wet = told(layout, replace(corn_log, moisture=None))
    assert off(wet, corn.kg_per_m2).mean() > 0.03  # grain at 19 % weighs more


def test_a_yield_of_soybean_on_wide_strips_with_another_seed(layout, tmp_path):
    drives = list(drives_on(layout, "soybean", stops=(2,)))
    grown = levels(layout, "soybean", 0.35)
    found = harvest(layout.ground.plane, drives, grown, seed=8, base=0.13)
    yields = told(layout, read(layout, tmp_path, found.lines))
    assert yields.crop == "soybean"
    away = off(yields, found.kg_per_m2)
    assert np.abs(away).max() < 0.012
    assert abs(away.mean()) < 0.004


def test_every_point_counts_or_is_dropped_for_one_reason(corn_log, corn_found):
    assert corn_found.counted + sum(corn_found.dropped.values()) == len(corn_log)
    assert set(corn_found.dropped) <= set(REASONS)
    assert {"no strip", "outside", "across", "speed", "start", "end"} <= set(corn_found.dropped)
    assert np.isfinite(corn_found.kg_per_m2).sum() == corn_found.counted
    assert (np.isfinite(corn_found.kg_per_m2) == (corn_found.reason == "")).all()
    assert corn_found.counted > 0.6 * len(corn_log)


def test_runs_are_the_passes_as_planned(layout, corn_found):
    planned = layout.passes[
        (layout.passes["operation"] == "harvest") & (layout.passes["crop"] == "corn")
        & (layout.passes["place"] == "strips")
    ]  # fmt: skip
    by_number = dict(zip(planned["number"], planned["strip"], strict=True))
    driven = {one.pass_number: one.strip for one in corn_found.runs}
    assert driven == by_number


def test_a_neighboring_strip_never_leaks(layout, corn, tmp_path):
    drives = list(drives_on(layout, "corn"))
    beside = list(drives_on(layout, "soybean"))
    both = harvest(
        layout.ground.plane, [drives[0], beside[0], drives[1], beside[1]],
        lambda x, _, strip: np.where(strip == drives[0].strip, 1.0, 0.2) + 0 * x,
    )  # fmt: skip
    lines = [line.rsplit(",", 1)[0] for line in both.lines]
    found = told(layout, read(layout, tmp_path, lines), "corn")
    assert [one.strip for one in found.strips] == [drives[0].strip]
    assert found.strips[0].kg_per_m2 == pytest.approx(1.0, rel=0.01)
    assert found.dropped["other crop"] > 300


def test_a_pass_over_two_strips_is_told_with_its_lines_and_not_counted(layout, tmp_path):
    drives = list(drives_on(layout, "corn"))[:4]
    astray = replace(drives[1], x_m=drives[1].cut_m[1] - 1.0)
    model = harvest(
        layout.ground.plane, [drives[0], astray, *drives[2:]], lambda x, *_: 1.0 + 0 * x
    )
    found = told(layout, read(layout, tmp_path, model.lines), "corn")
    assert found.dropped["two strips"] > 100
    said = next(str(one) for one in found.notices if "next strip" in str(one))
    assert said.startswith("the header ran over the next strip in strip 1 (lines ")


def test_ground_cut_before_is_not_counted_again(layout, tmp_path):
    drives = list(drives_on(layout, "soybean"))[:4]
    first, second = drives[:2]
    # half of the header is over what the first pass cut
    half = first.cut_m[1]
    again = replace(second, x_m=half, cut_m=(half, half + PLATFORM_M / 2))
    model = harvest(
        layout.ground.plane, [first, again, *drives[2:]], lambda x, *_: 0.35 + 0 * x, base=0.13
    )
    lines = [line.rsplit(",", 1)[0] for line in model.lines]
    found = told(layout, read(layout, tmp_path, lines), "soybean")
    assert found.dropped["partly full"] > 100
    assert found.strips[0].kg_per_m2 == pytest.approx(0.35, rel=0.01)
    kept = told(layout, read(layout, tmp_path, lines), "soybean", full=0.01)
    assert kept.strips[0].kg_per_m2 < 0.33


def test_spikes_are_dropped_and_the_rest_stays(layout, corn, corn_found, tmp_path):
    random = np.random.default_rng(5)
    head, *lines = corn.lines
    spiked = set(random.choice(len(lines), 60, replace=False).tolist())
    cells = [line.split(",") for line in lines]
    for at in spiked:
        cells[at][3] = str(float(cells[at][3]) * 2.5)
    found = told(layout, read(layout, tmp_path, [head, *map(",".join, cells)]))
    assert found.dropped["outlier"] >= corn_found.dropped.get("outlier", 0) + 25
    assert np.abs(off(found, corn.kg_per_m2)).max() < 0.01


def test_a_wrong_delay_is_told_and_the_right_one_is_not(layout, corn_log, corn_found):
    assert not [one for one in corn_found.notices if "delay" in str(one)]
    # half of the flow is there after the dead time and 0.7 of the lag
    about = DEAD_S + np.log(2) * LAG_S
    found = told(layout, corn_log, delay_s=2.0)
    said = next(str(one) for one in found.notices if "delay" in str(one))
    seconds = int(said.split("about ")[1].split(" s")[0])
    assert abs(seconds - about) <= 2
    assert said.endswith("the delay is 2 s; see [monitor] delay")


def test_yields_in_bushels_to_the_acre_and_dates_give_the_same(layout, corn, corn_found, tmp_path):
    _, *lines = corn.lines
    start = np.datetime64("2027-10-02T08:00:00.000")
    rows = []
    for line in lines:
        seconds, lon, lat, flow, moist, _ = line.split(",")
        at = start + np.timedelta64(round(float(seconds) * 1000), "ms")
        rows.append(f"{at};{lon};{lat};{flow};{moist}".replace(".", ",").replace(",000;", ".000;"))
    text = ["Seconds;Lon;Lat;Flow kg/s;Moist %", *rows]
    found = told(layout, read(layout, tmp_path, text))
    for one, other in zip(found.strips, corn_found.strips, strict=True):
        assert one.kg_per_m2 == pytest.approx(other.kg_per_m2, rel=1e-9)


BAD = {
    "monitor.csv: is empty, or has no column heads in its first line": lambda _: [],
    "monitor.csv: holds no points; write a line for each below its heads": lambda rows: rows[:1],
    (
        'monitor.csv: has no column "Flow kg/s" (flow); it has "Seconds", "Lon", "Lat", "Flow", '
        '"Moist %", "Swath m"; name its columns under [monitor] of the plan'
    ): lambda rows: [rows[0].replace("Flow kg/s", "Flow"), *rows[1:]],
    'monitor.csv: line 8: Flow kg/s: "full" is no number': lambda rows: [
        *rows[:7], rows[7].replace(rows[7].split(",")[3], "full"), *rows[8:]
    ],
    "monitor.csv: line 3: has more values than the 6 columns; see its commas": lambda rows: [
        *rows[:2], rows[2].replace(".", ",", 1), *rows[3:]
    ],
    (
        'monitor.csv: line 2: Lat: "4200.0" is beyond 90 degrees; longitude and latitude of '
        "WGS 84 are read"
    ): lambda rows: [rows[0], "1,-93.5,4200.0,1,15,6", *rows[1:]],
    (
        'monitor.csv: line 2: Seconds: "2027-10-02 8 am" is no time; write seconds, or date and '
        "time such as 2027-10-02T14:03:05 (3 more such lines)"
    ): lambda rows: [rows[0], "2027-10-02 8 am,-93.5,42,1,15,6", *rows[1:4]],
}  # fmt: skip


@pytest.mark.parametrize(("said", "change"), BAD.items())
def test_a_file_that_cant_be_is_refused_with_its_line(layout, corn, tmp_path, said, change):
    with pytest.raises(MonitorError) as refused:
        read(layout, tmp_path, change(corn.lines))
    assert str(refused.value) == said


def moved(lines, east=0.0, north=0.0, *, swap=False):
    head, *rows = lines
    found = [head]
    for row in rows:
        seconds, lon, lat, *rest = row.split(",")
        lon, lat = str(float(lon) + east), str(float(lat) + north)
        found.append(",".join([seconds, *((lat, lon) if swap else (lon, lat)), *rest]))
    return found


def test_points_of_a_receiver_that_found_no_place_say_where_they_lie(layout, corn, tmp_path):
    head, *rows = corn.lines
    nowhere = [",".join([row.split(",")[0], "0", "0", *row.split(",")[3:]]) for row in rows]
    with pytest.raises(MonitorError, match=r"lie outside the field, at 0\.00000, 0\.00000; is"):
        told(layout, read(layout, tmp_path, [head, *nowhere]))


def test_points_of_another_field_say_how_far_and_which_way(layout, corn, tmp_path):
    with pytest.raises(MonitorError) as refused:
        told(layout, read(layout, tmp_path, moved(corn.lines, north=0.1)))
    said = str(refused.value)
    assert f"{len(corn.lines) - 1:,} points lie outside the field, most about 10." in said
    assert "km to the north, at -93.5" in said
    assert said.endswith("is it of this field?")


def test_swapped_longitude_and_latitude_are_told_with_the_cure(layout, corn, tmp_path):
    # of a field near 42 E and 42 N both ways lie on the earth; here one is beyond the pole
    with pytest.raises(MonitorError, match=r'Lat: "-93.*is beyond 90 degrees'):
        told(layout, read(layout, tmp_path, moved(corn.lines, swap=True)))
    plane = layout.ground.plane
    log = read(layout, tmp_path, corn.lines)
    east = replace(log, lonlat_deg=log.lonlat_deg - [plane.longitude_deg - 30.0, 0.0])
    ground = replace(layout.ground, plane=type(plane)(30.0, plane.latitude_deg))
    swapped = replace(east, lonlat_deg=east.lonlat_deg[:, ::-1])
    with pytest.raises(MonitorError) as refused:
        by_strip(layout.plan, layout.plan.monitor, ground, layout.laid, layout.routes, swapped)
    assert str(refused.value).endswith(
        "but inside it with longitude and latitude swapped; swap the two names under [monitor]"
    )


def test_lines_without_a_value_are_counted_as_missing(layout, corn, tmp_path):
    lines = corn.lines.copy()
    for at in (40, 41, 300):
        cells = lines[at].split(",")
        lines[at] = ",".join([*cells[:3], "", *cells[4:]])
    assert told(layout, read(layout, tmp_path, lines)).dropped["missing"] == 3


def test_an_unknown_crop_names_those_that_strips_carry(layout, corn_log):
    with pytest.raises(MonitorError, match=r'^no strip carries "rye"; strips carry corn, soybean$'):
        told(layout, corn_log, "rye")


def straight(layout, **changes):
    """Give 100 points on a corn strip, one a second."""
    strip = layout.strips[layout.strips["crop"] == "corn"].geometry.iloc[0].centroid
    point_m = np.column_stack([np.full(100, strip.x), strip.y - 75 + 1.5 * np.arange(100)])
    given = {
        "lonlat_deg": layout.ground.plane.to_lonlat(point_m),
        "time_s": np.arange(100.0),
        "grain": np.full(100, 5.0),
        **changes,
    }
    return MonitorLog(source="x.csv", line=np.arange(100) + 2, grain_unit="kg_per_s", **given)


BAD_POINTS = {
    "100 too slow or too fast": {"time_s": np.zeros(100)},
    "100 no width cut, or more than the header has": {"width_m": np.zeros(100)},
    (
        "12 the record ends before their grain reached the sensor; 12 start of a run, while flow "
        "builds up; 76 no grain"
    ): {"grain": np.zeros(100)},
}


@pytest.mark.parametrize(("said", "changes"), BAD_POINTS.items())
def test_a_file_without_a_point_that_counts_says_why(layout, said, changes):
    with pytest.raises(MonitorError) as refused:
        told(layout, straight(layout, **changes))
    assert str(refused.value) == f"x.csv: none of its 100 points counts: {said}"


def test_a_unit_that_makes_yields_beyond_all_crops_is_refused(layout):
    with pytest.raises(MonitorError, match="bu/acre, more than any crop yields; see flow_unit"):
        told(layout, straight(layout, grain=np.full(100, 5e3)))


def test_places_without_a_fix_lie_outside_and_spoil_nothing(layout):
    log = straight(layout)
    lonlat = log.lonlat_deg.copy()
    lonlat[:3] = [[0.0, 90.0], [179.0, -89.0], [0.0, 0.0]]
    found, all_there = told(layout, replace(log, lonlat_deg=lonlat)), told(layout, log)
    assert found.dropped["outside"] == 3
    assert found.strips[0].kg_per_m2 == pytest.approx(all_there.strips[0].kg_per_m2, rel=1e-6)


def runs_on(layout, crop, header_m, levels_of):
    """Give runs of a header side by side over each whole strip of a crop, and what each yielded."""
    found = []
    for strip in layout.strips[
        (layout.strips["crop"] == crop) & layout.strips["whole"]
    ].itertuples():
        count = round(strip.width_m / header_m)
        for number in range(count):
            level = levels_of(number, count) * (1.0 + 0.01 * strip.strip)
            middle_m = (number + 0.5) * header_m
            found.append(RunYield(strip.strip, None, middle_m, (2, 9), level, 100.0, 8))
    return tuple(found)


def test_passes_along_an_edge_are_held_against_those_inside(layout, corn_found):
    """Platform of 30 ft, 12 rows of 30 in, four passes a strip: the outer two a tenth better."""
    runs = runs_on(layout, "soybean", 30 * FOOT_M, lambda at, of: 1.1 if at in {0, of - 1} else 1.0)
    found = edges_of_runs(replace(corn_found, crop="soybean", runs=runs), layout.laid, 30 * FOOT_M)
    assert found.by_row == ()
    assert found.rows == 12
    assert found.by_pass.gain.value == pytest.approx(0.1)
    first, why = edge_lines(found)
    assert first.startswith("passes along an edge against those inside: +10% (")
    assert "as much as gain = [1.20] of the outer row alone" in first
    assert why.startswith("edges: the header takes 12 rows at once")
    assert row_entries_of(corn_found, found, date(2026, 10, 1)) == []


def test_a_header_of_one_row_tells_row_by_row_and_is_kept_so(layout, corn_found):
    each = {0: 1.3, 15: 1.3, 1: 1.1, 14: 1.1}
    runs = runs_on(layout, "corn", 0.762, lambda at, _: each.get(at, 1.0))
    found = edges_of_runs(replace(corn_found, runs=runs), layout.laid, 0.762)
    assert [round(one.gain.value, 3) for one in found.by_row] == [0.3, 0.1, 0.0]
    entries = row_entries_of(corn_found, found, date(2026, 10, 1))
    assert {one.rows for one in entries} == {(row, row) for row in range(1, 17)}
    assert len(entries) == len(runs)


def test_where_every_pass_takes_an_edge_it_says_why_it_can_not_tell(layout, corn_found):
    """Two passes of 8 rows over strips of 16: neither lies inside."""
    found = edges_of_runs(corn_found, layout.laid, 8 * 0.762)
    (said,) = edge_lines(found)
    assert said.startswith("edges: every pass takes rows up to 3 from an edge, so there are none ")
    assert found.data["by_row"] == []
