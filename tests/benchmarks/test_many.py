"""Many fields: rate, scaling, ratio to a loop of `striplay lay`, memory. No timed assertion.

Run with `pytest tests/benchmarks/test_many.py --benchmark-only -s`; `--all-fields` lays 5,000 for
the memory, else 300.
"""

import os
import resource
import subprocess
import sys
import time
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import shapely
from fields import SHED, STRIPS

from striplay.ground import Plane
from striplay.many.run import Asked, lay_many

SEED = 1
HEADLAND = '[headland]\nwhere = "around"\npasses = 2\nmachine = "planter"\ncrop = "corn"\n'


def invented(count):
    """Invent fields of 5 to 60 vertices and 5 to 150 acres: quarters, rounds and ragged ones."""
    random = np.random.default_rng(SEED)
    shapes = []
    for number in range(count):
        corners = int(random.integers(5, 61))
        angles = np.linspace(0, 2 * np.pi, corners, endpoint=False)
        side_m = random.uniform(100, 420)
        ragged = random.uniform(0.9, 1.1, corners) if number % 3 == 2 else 1.0
        round_m = side_m * (1 + 0.2 * np.sin(2 * angles + random.uniform(0, 6))) * ragged
        if number % 3 == 0:  # four sides, with vertices along them
            round_m = side_m / np.maximum(np.abs(np.cos(angles)), np.abs(np.sin(angles)))
        points = np.column_stack([round_m * np.cos(angles), round_m * np.sin(angles)])
        plane = Plane(-96 + number % 100 * 0.03, 41 + number // 100 * 0.02)
        shapes.append(plane.geometries_to_lonlat(shapely.Polygon(points)))
    names = [f"Field {number}" for number in range(1, count + 1)]
    return gpd.GeoDataFrame({"name": names}, geometry=shapes, crs="EPSG:4326")


def asked_for(folder, count, heading='"best"', out="out"):
    invented(count).to_parquet(folder / "fields.parquet")
    plan = f'title = "Many"\n{HEADLAND}[direction]\nheading = {heading}\n{SHED}\n{STRIPS}'
    (folder / "plan.toml").write_text(plan)
    return Asked(folder / "fields.parquet", folder / "plan.toml", folder / out)


def cpu_s():
    return sum(sum(resource.getrusage(who)[:2]) for who in
               (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))  # fmt: skip


def test_rate_and_ratio_to_a_loop_of_lay(benchmark, tmp_path):
    benchmark.pedantic(lambda: None, rounds=1)
    count, singly = 60, 3
    lay_many(asked_for(tmp_path, 3, out="begun"))  # what is loaded once counts for nothing of many
    before = cpu_s()
    lay_many(asked_for(tmp_path, count))
    each_s = (cpu_s() - before) / count
    table = gpd.read_parquet(tmp_path / "fields.parquet")
    before = cpu_s()
    for number in range(singly):
        table.iloc[[number]].to_file(tmp_path / "one.geojson")
        plan = (tmp_path / "plan.toml").read_text()
        (tmp_path / "one.toml").write_text(f'{plan}\n[field]\nboundary = "one.geojson"\n')
        command = [sys.executable, "-m", "striplay", "lay", "one.toml", "--no-map-book", "-o"]
        subprocess.run([*command, f"one{number}"], cwd=tmp_path, check=True, capture_output=True)
    alone_s = (cpu_s() - before) / singly
    benchmark.extra_info["ratio"] = alone_s / each_s
    print(f"\n{1 / each_s:.1f} fields a second a core; lay alone {alone_s:.2f} s a field, "
          f"{alone_s / each_s:.1f} times as long")  # fmt: skip


@pytest.mark.skipif((os.cpu_count() or 1) < 2, reason="needs two cores")
def test_scaling_on_two_cores(benchmark, tmp_path):
    benchmark.pedantic(lambda: None, rounds=1)
    took_s = {}
    for jobs in (1, 2):
        asked = asked_for(tmp_path, 80, out=f"out{jobs}")
        began = time.monotonic()
        lay_many(asked, jobs=jobs)
        took_s[jobs] = time.monotonic() - began
    benchmark.extra_info["scaling"] = took_s[1] / took_s[2]
    print(f"\ntwo cores: {took_s[1] / took_s[2]:.2f} times one ({os.getloadavg()[0]:.1f} load)")


def test_memory_stays_flat(benchmark, tmp_path, request):
    benchmark.pedantic(lambda: None, rounds=1)
    count = 5_000 if request.config.getoption("--all-fields") else 300
    seen = {}

    def tell(progress):
        if progress.fresh in {count // 5, count // 2, count}:
            pages = int(Path("/proc/self/statm").read_text().split()[1])
            seen[progress.fresh] = pages * resource.getpagesize() / 1e6

    lay_many(asked_for(tmp_path, count, heading="0"), tell=tell)
    told = ", ".join(f"{mb:.0f} MB after {fields:,}" for fields, mb in seen.items())
    print(f"\nmemory of one process, heading stated: {told}")
