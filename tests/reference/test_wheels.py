"""Treads and rows against figures of the trade."""

import numpy as np
import pytest
from fields import SHED, square, write_plan_for

from striplay.files.plan import read_plan
from striplay.operations.jobs import jobs_of
from striplay.operations.wheels import Rows, from_rows_m, paths_of
from striplay.section.systems import sections_of
from striplay.units import INCH_M


def planned(folder, tread_in, rows, spacing_in, machines=("planter",)):
    """Plan one crop on strips as wide as its planter and header, with treads in inches."""
    shed = SHED.replace("rows = 16", f"rows = {rows}").replace("rows = 8\n", f"rows = {rows}\n")
    shed = shed.replace('"30 in"', f'"{spacing_in} in"')
    for name in machines:
        said = f'[machines.{name}]\ntread = "{tread_in} in"\ntire = "4 in"\n'
        shed = shed.replace(f"[machines.{name}]\n", said)
    strips = f'[[strips]]\ncrop = "corn"\nrows = {rows}\n'
    plan = read_plan(write_plan_for(folder, square(1320), shed=shed, strips=strips))
    section = sections_of(plan)[0]
    return plan, section, jobs_of(plan, section, {})


def nearest_in(folder, tread_in, rows, spacing_in=30):
    plan, section, jobs = planned(folder, tread_in, rows, spacing_in)
    paths = paths_of(plan, section, jobs[0])
    return float(from_rows_m(paths, Rows.of(section, 1)).min()) / INCH_M


@pytest.mark.parametrize(
    ("tread_in", "off_in"), [(60, 15), (120, 15), (80, 5), (88, 1), (90, 0), (150, 0)]
)
def test_how_near_a_centered_tractor_runs_to_30_in_rows(tmp_path, tread_in, off_in):
    """Even rows: 80 in, 5 in off a row, 88 in 1 in (extension sheets on treads; from memory)."""
    assert nearest_in(tmp_path, tread_in, 12) == pytest.approx(off_in, abs=1e-6)


@pytest.mark.parametrize(
    ("spacing_in", "rows", "treads_in"),
    [
        (30, 12, (60, 120)), (30, 11, (90, 150)),
        (20, 12, (80, 120)), (20, 11, (60, 100)),
        (38, 8, (76, 152)), (38, 7, (114,)),
    ],
)  # fmt: skip
def test_treads_that_run_midway_between_rows(tmp_path, spacing_in, rows, treads_in):
    """Even rows: 2 k spacings; odd: 2 k - 1 (common treads by row spacing; from memory)."""
    for tread_in in treads_in:
        assert nearest_in(tmp_path, tread_in, rows, spacing_in) == pytest.approx(spacing_in / 2)


def test_axles_of_120_in_on_30_in_rows_keep_all_passes_in_the_same_2_of_12_gaps(tmp_path):
    """12-row controlled traffic with 120-in axles (farm press; from memory)."""
    machines = ("planter", "corn_head")
    plan, section, jobs = planned(tmp_path, 120, 12, 30, machines)
    every = [paths_of(plan, section, job) for job in jobs if job.machine in machines]
    gaps = {tuple(np.unique(np.rint(paths.at_m / (30 * INCH_M))).tolist()) for paths in every}
    assert len(every) == 2
    assert gaps == {(4.0, 8.0)}
