"""Speed, as ratios of processor time measured by turns. No timed assertion: read what is printed.

Run with `pytest tests/benchmarks --benchmark-only -s`.
"""

import subprocess
import sys

import geopandas as gpd
import numpy as np
import pytest
import shapely
from alternate import alternate
from fields import write_plan_for

from striplay.geometry.edges import edges_of
from striplay.geometry.sweep import bands, chords

ROW_M = 0.762
STRIP_M = 12.192

BARE = """
import sys, json, geopandas as gpd
folder, out = sys.argv[1:]
for name in ("field", "headland", "strips", "rows", "passes", "leftover"):
    table = gpd.GeoDataFrame.from_features(json.load(open(f"{folder}/{name}.json")), crs=4326)
    if name in ("strips", "rows", "headland", "passes"):
        table.to_file(f"{out}/{name}.geojson", driver="GeoJSON", RFC7946="YES")
    if len(table):
        table.to_file(f"{out}/layout.gpkg", layer=name)
table.drop(columns="geometry").to_csv(f"{out}/strips.csv")
"""

MEMORY = """
import resource, sys, tempfile
from pathlib import Path
sys.path.insert(0, sys.argv[1])
import numpy as np
import shapely
from fields import lay_on
lay_on(Path(tempfile.mkdtemp()), shapely.box(-200, -200, 200, 200))
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
half = 15_811.0
random = np.random.default_rng(0)
ponds = shapely.buffer(shapely.points(random.uniform(-15_000, 15_000, (8000, 2))), 30, quad_segs=4)
field = shapely.box(-half, -half, half, half).difference(shapely.union_all(ponds))
side = lay_on(Path(tempfile.mkdtemp()), field, direction="heading = 20")
side.rows
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
km = side.figures.row_length_m.sum() / 1000
print(f"{km:.0f} {peak / 1024:.1f} {len(side.rows)}")
"""


def round_field(radius_m, vertices, holes=0):
    random = np.random.default_rng(1)
    angles = np.linspace(0, 2 * np.pi, vertices, endpoint=False)
    radii = radius_m * (1 + 0.05 * np.sin(9 * angles) + 0.002 * random.normal(size=vertices))
    field = shapely.Polygon(np.column_stack([radii * np.cos(angles), radii * np.sin(angles)]))
    at = random.uniform(-radius_m * 0.6, radius_m * 0.6, (holes, 2))
    gaps = shapely.union_all([shapely.Point(*point).buffer(40, 8) for point in at])
    return field.difference(gaps)


FIELDS = {
    "50 ha, 400 vertices": (400, 400, 0),
    "3,800 ha, 6,000 vertices, 50 holes": (3480, 6000, 50),
}


def side_by_side(benchmark, name, ours, theirs):
    benchmark.pedantic(lambda: None, rounds=1)
    (seconds, other_seconds), (mine, other) = alternate(ours, theirs)
    benchmark.extra_info["ratio"] = other_seconds / seconds
    print(f"\n{name}: {other_seconds / seconds:.1f} times ({seconds:.4f} s, {other_seconds:.4f} s)")
    return mine, other


def as_table(found, levels):
    """Make the table of lines that a clip gives."""
    y = levels[found.level]
    ends = np.column_stack([found.start_x_m, y, found.end_x_m, y]).reshape(-1, 2, 2)
    return gpd.GeoDataFrame(geometry=shapely.linestrings(ends))


@pytest.mark.parametrize("made", ["as arrays", "with lines and table made"])
@pytest.mark.parametrize("name", FIELDS)
def test_rows_against_a_table_clip(benchmark, name, made):
    field = round_field(*FIELDS[name])
    left, bottom, right, top = field.bounds
    levels = np.arange(bottom + ROW_M / 2, top, ROW_M)
    ends = np.column_stack([np.full(len(levels), left - 1), levels, np.full(len(levels), right + 1),
                            levels])  # fmt: skip
    lines = ends.reshape(-1, 2, 2)
    table = gpd.GeoDataFrame(geometry=shapely.linestrings(lines))
    if made == "as arrays":
        ours, theirs = lambda: chords(edges_of(field), levels), lambda: table.clip(field)
    else:
        ours = lambda: as_table(chords(edges_of(field), levels), levels)  # noqa: E731
        theirs = lambda: gpd.GeoDataFrame(geometry=shapely.linestrings(lines)).clip(field)  # noqa: E731
    mine, other = side_by_side(benchmark, f"rows {made}, {name}", ours, theirs)
    length_m = mine.length_m if made == "as arrays" else mine.length
    assert length_m.sum() == pytest.approx(other.length.sum(), rel=1e-9)


@pytest.mark.parametrize("name", FIELDS)
def test_strips_against_a_table_overlay(benchmark, name):
    field = round_field(*FIELDS[name])
    left, bottom, right, top = field.bounds
    low = np.arange(bottom, top, STRIP_M)
    strips = gpd.GeoDataFrame(geometry=shapely.box(left - 1, low, right + 1, low + STRIP_M))
    ground = gpd.GeoDataFrame(geometry=[field])
    mine, other = side_by_side(
        benchmark, f"strips, {name}", lambda: bands(field, low, low + STRIP_M),
        lambda: gpd.overlay(strips, ground),
    )  # fmt: skip
    assert shapely.area(mine.polygon).sum() == pytest.approx(other.area.sum(), rel=1e-9)


def test_lay_against_a_bare_script(benchmark, tmp_path):
    half = 804.672 / 2
    plan = write_plan_for(tmp_path, shapely.box(-half, -half, half, half))
    from striplay.files.plan import read_plan  # noqa: PLC0415 - kept off the other benchmarks
    from striplay.flow import lay  # noqa: PLC0415 - as above

    layout = lay(read_plan(plan))
    tables, bare = tmp_path / "tables", tmp_path / "bare"
    tables.mkdir()
    bare.mkdir()
    for name in ("field", "headland", "strips", "rows", "passes", "leftover"):
        table = getattr(layout, name).to_crs(4326)
        (tables / f"{name}.json").write_text(table.to_json())

    def clear_and_run():
        for path in bare.iterdir():
            path.unlink()
        subprocess.run([sys.executable, "-c", BARE, str(tables), str(bare)], check=True)

    command = [sys.executable, "-m", "striplay", "lay", str(plan), "-o", str(tmp_path / "out"),
               "--no-map-book", "--json"]  # fmt: skip

    def ours():
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)

    (mine, other), _ = alternate(ours, clear_and_run)
    benchmark.pedantic(ours, rounds=1)
    ratio = f"{mine / other:.2f} times a bare script"
    print(f"\nlay without map book: {ratio} ({mine:.2f} s, {other:.2f} s)")


def test_help_against_click_alone(benchmark):
    def ours():
        subprocess.run(
            [sys.executable, "-m", "striplay", "--help"], check=True, capture_output=True
        )

    def bare():
        subprocess.run([sys.executable, "-c", "import click"], check=True)

    (mine, click), _ = alternate(ours, bare, rounds=10)
    benchmark.pedantic(ours, rounds=1)
    print(f"\nhelp: {mine / click:.2f} times importing click ({mine:.3f} s, {click:.3f} s)")


def test_memory_of_a_very_large_field(benchmark, request):
    tests = str(request.config.rootpath / "tests")
    done = benchmark.pedantic(
        lambda: subprocess.run([sys.executable, "-c", MEMORY, tests], check=True,
                               capture_output=True, text=True), rounds=1)  # fmt: skip
    km, peak_mb, pieces = (float(value) for value in done.stdout.split())
    print(
        f"\n100,000 ha with 8,000 ponds: {pieces:,.0f} pieces of row, {km:,.0f} km, peak "
        f"{peak_mb:,.0f} MB, {peak_mb / km * 1000:.2f} MB per 1,000 km of row"
    )
