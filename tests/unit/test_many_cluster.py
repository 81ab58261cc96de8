"""Many fields on a cluster of two workers, one killed midway: no field lost, none twice."""

import os
import signal
import subprocess
import sys
import time
from functools import partial
from importlib import import_module
from pathlib import Path
from unittest.mock import Mock

import pytest
from fields import SHED, STRIPS, square, write_shapes
from shapely.affinity import translate

from striplay.many import cluster as many_cluster
from striplay.many.field import Feature, lay_feature
from striplay.many.run import Asked, lay_many

distributed = pytest.importorskip("distributed")

PLAN = f'title = "Many"\n[direction]\nheading = 0\n{SHED}\n{STRIPS}'
ROOT = Path(__file__).resolve().parents[2]
COUNT = 24

RUN = """
import os, signal, sys
from pathlib import Path
from unittest.mock import Mock
from striplay.many.cluster import cluster_at
from striplay.many.run import Asked, lay_many
folder, address, worker = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])

def tell(progress):
    if progress.fresh == 1:
        os.kill(worker, signal.SIGKILL)

asked = Asked(folder / "fields.geojson", folder / "plan.toml", folder / "out")
with cluster_at(address) as lay:
    results = lay_many(asked, lay=lay, tell=tell)
print(results.count, results.fresh)
"""


def started(*command):
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(
        [sys.executable, "-m", *command], env=environment, stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


@pytest.fixture(scope="module")
def cluster():
    """Start a scheduler and three workers, of which each test ends one; give both."""
    each = [started("distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0",
                    "--no-dashboard")]  # fmt: skip
    try:
        address = next(
            line.split()[-1] for line in each[0].stderr if "Scheduler at:" in line
        )  # fmt: skip
        each += [
            started("distributed.cli.dask_worker", address, "--nthreads", "1", "--no-nanny",
                    "--no-dashboard")
            for _ in range(3)
        ]  # fmt: skip
        for worker in each[1:]:
            assert any("Registered to" in line for line in worker.stderr)
        yield address, each[1:]
    finally:
        for one in reversed(each):
            one.kill()
            one.communicate()


def test_a_killed_worker_costs_no_field(cluster, tmp_path):
    """The results are, byte for byte, those of a run in one process."""
    address, (worker, *_) = cluster
    shapes = [translate(square(500), 200 * at) for at in range(COUNT)]
    write_shapes(tmp_path, *shapes, name="fields.geojson")
    (tmp_path / "plan.toml").write_text(PLAN)
    run = subprocess.run(
        [sys.executable, "-c", RUN, str(tmp_path), address, str(worker.pid)],
        env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=False,
        timeout=300,
    )  # fmt: skip
    assert run.stdout.split() == [str(COUNT), str(COUNT)], run.stderr
    assert worker.wait(10) == -signal.SIGKILL
    lay_many(Asked(tmp_path / "fields.geojson", tmp_path / "plan.toml", tmp_path / "whole"))
    ours, theirs = (
        {one.relative_to(tmp_path / name): one.read_bytes()
         for one in (tmp_path / name).rglob("*") if one.is_file()}
        for name in ("out", "whole")
    )  # fmt: skip
    assert ours == theirs


def test_a_field_that_takes_too_long_is_refused_and_its_worker_ended(
    cluster, tmp_path, monkeypatch
):
    """The first field has no end; those behind it are laid."""
    address, workers = cluster
    before = [worker for worker in workers if worker.poll() is not None]
    monkeypatch.setattr(many_cluster, "FIELDS_A_TASK", 1)
    monkeypatch.setattr(many_cluster, "LOOK_S", 0.2)
    monkeypatch.setattr(many_cluster, "MOST_FIELD_S", 3.0)

    def load():  # or else the first field of a worker would take as long as that
        import_module("striplay.many.cluster")

    def lay_some(template, features):
        if features[0].number == 1:
            time.sleep(600)
        return [lay_feature(template, one) for one in features]

    monkeypatch.setattr(many_cluster, "lay_some", lay_some)
    shapes = [translate(square(500), 200 * at) for at in range(6)]
    write_shapes(tmp_path, *shapes, name="fields.geojson")
    (tmp_path / "plan.toml").write_text(PLAN)
    asked = Asked(tmp_path / "fields.geojson", tmp_path / "plan.toml", tmp_path / "out")
    with distributed.Client(address, set_as_default=False) as client:
        client.run(load)
        results = lay_many(asked, lay=partial(many_cluster._laid, client))
    assert results.count == 6
    assert results.sums.refused == [
        (1, "feature 1", "took longer than 0 minutes; lay it alone with striplay lay")
    ]
    for _ in range(200):
        ended = [one.returncode for one in workers if one not in before and one.poll() is not None]
        if ended:
            break
        time.sleep(0.05)
    assert ended == [1]


class FakeTask:
    """A task that is worked on and never ends."""

    key, released = "endless", False

    def add_done_callback(self, _):
        pass

    def cancel(self):
        self.released = True


def test_of_fields_that_travel_together_each_is_tried_alone(monkeypatch):
    """Held against a client that only counts; five of the fields are in one task."""
    sent = []
    client = Mock(nthreads=lambda: {"a": 1})

    def submit(_, __, some, *, pure):
        assert not pure
        sent.append(some)
        return FakeTask()

    client.submit = submit
    monkeypatch.setattr(many_cluster, "TASKS_AHEAD", 1)
    features = iter([Feature(number, {}, None) for number in range(1, 8)])
    tasks = many_cluster._Tasks(client, Mock(name_of=lambda *_: "x"), lambda: next(features, None))
    tasks._fill()
    (task,) = tasks._on_way
    assert list(tasks._taken_back(task)) == []
    assert task.released
    tasks._fill()
    assert [[one.number for one in some] for some in sent] == [[1, 2, 3, 4, 5], [1]]
    (task,) = tasks._on_way
    (refused,) = tasks._taken_back(task)
    assert (refused.number, refused.reason) == (
        1, "took longer than 15 minutes; lay it alone with striplay lay",
    )  # fmt: skip


def broken(*_):
    raise RuntimeError("no such library")


def test_what_fails_on_a_worker_is_told_as_it_is(tmp_path, monkeypatch):
    """On a scheduler and a worker within this process."""
    monkeypatch.setattr(many_cluster, "lay_some", broken)
    write_shapes(tmp_path, square(500), name="fields.geojson")
    (tmp_path / "plan.toml").write_text(PLAN)
    asked = Asked(tmp_path / "fields.geojson", tmp_path / "plan.toml", tmp_path / "out")
    within = {"processes": False, "n_workers": 1, "threads_per_worker": 1}
    with distributed.Client(**within, dashboard_address=":0", set_as_default=False) as client:
        results = lay_many(asked, lay=partial(many_cluster._laid, client))
    ((_, _, reason),) = results.sums.refused
    told = (
        "the cluster could not lay it (RuntimeError: no such library); use --jobs and a new folder"
    )
    assert reason == told
