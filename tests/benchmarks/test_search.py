"""The search's speed and truth at full size. No timed assertion: read what is printed.

Run with `pytest tests/benchmarks/test_search.py --benchmark-only -s`; the 300 fields take about
half an hour and are left out unless `--all-fields` is given.
"""

from unittest.mock import patch

import geopandas as gpd
import numpy as np
import pytest
import shapely
from alternate import alternate
from brute import ENDS, HEADLANDS, KINDS, hold
from fields import lay_on, write_line, write_plan_for

from striplay.files.plan import read_plan
from striplay.flow import read_ground
from striplay.geometry.frame import Frame
from striplay.laid import best_of
from striplay.layout.across import repeat_section
from striplay.layout.blocks import one_block
from striplay.search import weigher
from striplay.search.headings import Searched, search
from striplay.search.prices import prices_of
from striplay.section.strips import strip_sections

SAMPLE = 6
"""Candidates timed of the loop that turns the land anew."""
FIELDS = 100
"""Fields invented."""
OFFSETS = 40
"""Offsets timed of the loop that turns it once a heading."""


def ragged(vertices):
    random = np.random.default_rng(1)
    angle = np.linspace(0, 2 * np.pi, vertices, endpoint=False)
    radius = 1 + 0.12 * np.sin(3 * angle) + 0.02 * np.sin(31 * angle)
    return of_radius(angle, radius + random.uniform(-0.005, 0.005, vertices))


def smooth(vertices):
    """Give a field whose vertices a headland's inset keeps, all of them."""
    angle = np.linspace(0, 2 * np.pi, vertices, endpoint=False)
    return of_radius(angle, 1 + 0.12 * np.sin(3 * angle) + 0.02 * np.sin(7 * angle))


def of_radius(angle, radius, area_m2=500_000.0):
    field = shapely.Polygon(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))
    size = (area_m2 / field.area) ** 0.5
    return shapely.affinity.scale(field, size, size)


def invented(seed):
    """Give a field of 5 to 60 vertices, of 5 to 60 ha."""
    random = np.random.default_rng(seed)
    vertices = int(random.integers(5, 61))
    angle = (np.arange(vertices) + random.uniform(0, 0.7, vertices)) / vertices * 2 * np.pi
    radius = 1 - random.choice([0.1, 0.3]) * random.uniform(0, 1, vertices)
    return of_radius(angle, radius, area_m2=1e4 * random.uniform(5, 60))


def prepared(folder, field):
    plan = read_plan(write_plan_for(folder, field, direction='heading = "best"'))
    return plan, strip_sections(plan)[0], one_block(plan, read_ground(plan))


def turned_anew(section, block, heading_deg, offset_m):
    """Weigh one candidate as a script would: turn the land, overlay strips on it, and add up."""
    frame = Frame(heading_deg)
    land = frame.turn_areas(block.inner_at(frame)[0])[0]
    left, bottom, right, top = land.bounds
    across = repeat_section(section, bottom, top, "left", offset_m)
    boxes = shapely.box(left - 1, across.low_m, right + 1, across.high_m)
    strips = gpd.GeoDataFrame({"kind": across.kind}, geometry=boxes)
    cut = gpd.overlay(strips, gpd.GeoDataFrame(geometry=[land]), keep_geom_type=True)
    parts = cut.explode(index_parts=False)
    return parts.area.sum() + len(parts) + parts.bounds["maxx"].sum()


def turned_once(section, block, heading_deg, offsets_m):
    """Weigh a heading's offsets as a quicker script would: turn once, clip by rectangles."""
    frame = Frame(heading_deg)
    land = frame.turn_areas(block.inner_at(frame)[0])[0]
    left, bottom, right, top = land.bounds
    total = 0.0
    for offset_m in offsets_m:
        across = repeat_section(section, bottom, top, "left", offset_m)
        boxes = zip(across.low_m, across.high_m, strict=True)
        cut = [shapely.clip_by_rect(land, left - 1, low, right + 1, high) for low, high in boxes]
        parts = shapely.get_parts(cut)
        total += shapely.area(parts).sum() + len(parts) + shapely.bounds(parts)[:, 2].sum()
    return total


def test_search_against_loops_over_candidates(benchmark, tmp_path):
    plan, section, block = prepared(tmp_path, ragged(400))
    tried = np.random.default_rng(2).uniform(0, 1, (SAMPLE, 2)) * [180, section.width_m]
    offsets_m = np.linspace(0, section.width_m, OFFSETS, endpoint=False)
    (seconds, anew, once), (found, *_) = alternate(
        lambda: search(plan, section, block),
        lambda: [turned_anew(section, block, *one) for one in tried],
        lambda: turned_once(section, block, tried[0, 0], offsets_m),
    )
    benchmark.pedantic(lambda: None, rounds=1)
    assert isinstance(found, Searched)
    offsets = prices_of(plan, section).steps
    candidates = len(found.headings_deg) * offsets
    print(
        f"\n50 ha, 400 vertices: {len(found.headings_deg):,} headings x {offsets:,} offsets in "
        f"{seconds:.2f} s of one core; a loop that turns the land anew for each and overlays a "
        f"table would take {anew / SAMPLE * candidates / seconds:,.0f} times as long, one that "
        "turns it once a heading and clips it by rectangles "
        f"{once / OFFSETS * candidates / seconds:,.0f} times"
    )


def test_search_grows_no_faster_than_vertices_times_headings(benchmark, tmp_path):
    counts = (100, 200, 400, 800, 1600)
    asked = [prepared(tmp_path, smooth(vertices)) for vertices in counts]
    seconds, found = alternate(*(lambda one=one: search(*one) for one in asked), rounds=3)
    benchmark.pedantic(lambda: None, rounds=1)
    kept = [len(shapely.get_coordinates(block.steady_land)) - 1 for *_, block in asked]
    print()
    for vertices, one, own_s in zip(kept, found, seconds, strict=True):
        grown = vertices * len(one.headings_deg) / (kept[0] * len(found[0].headings_deg))
        print(
            f"{vertices:5} vertices inside, {len(one.headings_deg):5} headings: {own_s:.2f} s, "
            f"{own_s / seconds[0]:.1f} times; vertices x headings {grown:.1f} times"
        )


def test_a_search_against_one_that_weighs_every_heading(benchmark, tmp_path):
    """Fields of 5 to 60 vertices: what is laid is the same, and each is laid by turns."""
    asked = []
    for seed in range(FIELDS):
        folder = tmp_path / str(seed)
        folder.mkdir()
        asked.append(prepared(folder, invented(seed)))

    def every_heading_weighed():
        with patch.object(weigher, "MOST_EDGES", 0):
            return [best_of(block, section) for _, section, block in asked]

    (seconds, whole), (found, known) = alternate(
        lambda: [best_of(block, section) for _, section, block in asked],
        every_heading_weighed,
        rounds=2,
    )
    benchmark.pedantic(lambda: None, rounds=1)
    places = [(one.heading_deg, one.offset_m) for one in found]
    assert places == [(one.heading_deg, one.offset_m) for one in known]
    print(
        f"\n{FIELDS} invented fields of 5 to 60 vertices searched and swept: "
        f"{FIELDS / seconds:.1f} a second of one core; with every heading weighed "
        f"{FIELDS / whole:.1f} a second"
    )


@pytest.mark.parametrize("kind", ["along", "pivot", "straight"])
def test_curves_by_the_kilometer_of_row(benchmark, tmp_path, kind):
    field = shapely.Point(0, 0).buffer(402.336, quad_segs=90)
    x = np.linspace(-380, 380, 90)
    wave = shapely.LineString(np.column_stack([x, 20 * np.sin(x / 90) + 20]))
    write_line(tmp_path, wave)
    direction = {
        "along": 'along = "key.geojson"',
        "pivot": "pivot = [-93.5, 42.0]",
        "straight": "heading = 0",
    }[kind]
    (seconds,), (layout,) = alternate(
        lambda: lay_on(tmp_path, field, direction=direction), rounds=3
    )
    benchmark.pedantic(lambda: None, rounds=1)
    km = layout.rows["length_m"].sum() / 1000
    print(f"\n{kind}: {seconds:.2f} s for {km:.0f} km of row, {seconds / km * 1000:.2f} ms a km")


def test_300_random_fields_against_brute_force(benchmark, request):
    if not request.config.getoption("--all-fields"):
        pytest.skip("takes about half an hour; give --all-fields")
    found = {False: [], True: []}

    def all_fields():
        for seed in range(1000, 1450):
            held = hold(KINDS[seed % 4], seed, drawn_every=10)
            found[HEADLANDS[seed % len(HEADLANDS)] == ENDS].append(held.worse)

    benchmark.pedantic(all_fields, rounds=1)
    for ends, worse in found.items():
        where = "at the ends only" if ends else "around or none"
        print(f"\n{len(worse)} fields, headland {where}: worse than brute force on {sum(worse)}")
    # at the ends the land differs at every heading, and the search is rough first
    assert not any(found[False])
