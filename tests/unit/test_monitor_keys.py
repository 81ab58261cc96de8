"""[monitor]: units are never guessed, and what does not fit together is told."""

import pytest
from fields import SHED, square, write_plan_for

from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.flow import lay

KEYS = 'time = "t"\nlongitude = "x"\nlatitude = "y"\n'
FLOW = 'flow = "f"\nflow_unit = "lb/s"\n'
PLAN = "plan.toml: monitor"


def read(folder, keys):
    return read_plan(write_plan_for(folder, square(660), shed=f"{SHED}\n[monitor]\n{keys}"))


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        (
            KEYS + 'flow = "Flow"\n',
            (
                f'{PLAN}.flow_unit: is missing: the unit of column "Flow"; for example '
                'flow_unit = "lb/s"'
            ),
        ),
        (
            KEYS,
            (
                f"{PLAN}: neither flow nor yield is given; name one of these columns, as the "
                "sensor's flow"
            ),
        ),
        (
            KEYS + FLOW + 'moisture = "m"\n',
            (
                f'{PLAN}.moisture_unit: is missing: the unit of column "m"; for example '
                'moisture_unit = "%"'
            ),
        ),
        (
            KEYS + FLOW.replace("lb/s", "lb"),
            (
                f'{PLAN}.flow_unit: "lb" is no unit of a flow; known are lb/s, kg/s, t/h, '
                'bu/h; for example flow_unit = "lb/s"'
            ),
        ),
        (
            KEYS + FLOW + 'width_unit = "ft"\n',
            f"{PLAN}.width_unit: there is no width to be measured in it; name its column",
        ),
        (
            KEYS + FLOW + 'slowest = "12 mph"\n',
            f"{PLAN}.slowest: is not below fastest; give the slower speed there",
        ),
    ],
)
def test_what_does_not_fit_is_told(tmp_path, keys, said):
    with pytest.raises(PlanError) as refused:
        read(tmp_path, keys)
    assert str(refused.value) == said


def test_both_flow_and_yield_are_too_many(tmp_path):
    with pytest.raises(PlanError, match="monitor: flow and yield are both given"):
        read(tmp_path, KEYS + FLOW + 'yield = "y"\nyield_unit = "bu/acre"\n')


def test_delay_is_of_flow_alone_and_units_are_si(tmp_path):
    monitor = read(tmp_path, KEYS + FLOW).monitor
    assert monitor.wait_s == 12.0
    assert monitor.flow_unit.value == pytest.approx(0.45359237)
    monitor = read(tmp_path, KEYS + 'yield = "f"\nyield_unit = "bu/acre"\n').monitor
    assert monitor.wait_s == 0.0
    assert monitor.yield_unit.si_unit == "bu_per_m2"
    assert read(tmp_path, KEYS + FLOW + 'delay = "0 s"\n').monitor.wait_s == 0.0


def test_how_a_file_is_read_is_no_other_plan(tmp_path):
    marks = {lay(read(tmp_path, KEYS + FLOW + more)).mark for more in ("", 'delay = "9 s"\n')}
    assert len(marks) == 1
