"""Share fixtures: the example plan, and functions that write plans and boundaries."""

import gc
import json
import os
from collections import Counter
from collections.abc import Callable, Generator, Iterator
from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import settings
from outside import LEFT_OUT

from striplay.operations import reorder

TESTS = Path(__file__).parent


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the switches of the benchmarks that take an hour."""
    parser.addoption("--all-fields", action="store_true", help="hold 300 fields to brute force")
    parser.addoption("--hostile", type=int, default=500, help="so many hostile boundaries")
    parser.addoption("--hostile-from", type=int, default=0, help="the number of the first")


GARBAGE = 100_000
"""So many things are made before garbage is looked for: hypothesis times each look."""


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """Look for no garbage while tests are collected: what is made then stays to the end."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.set_threshold(GARBAGE)
        gc.enable()


LONG = (
    "properties/test_passes.py", "properties/test_systems_everywhere.py",
    "properties/test_passes_at_obstacles.py", "unit/test_book.py", "unit/test_curves.py",
    "unit/test_row_set_passes.py", "unit/test_told_and_clear.py", "reference/test_pay.py",
    "properties/test_row_set_search.py", "properties/test_search_properties.py",
    "unit/test_across_sheets.py", "unit/test_worksheet.py", "unit/test_blocks.py",
    "properties/test_toothed.py", "cli/test_compare.py", "properties/test_routes.py",
)  # fmt: skip
"""Files that take longest; a file runs as a whole, so one that comes last is waited for alone."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Run the files that take longest first, all others in their order."""
    places = {str((TESTS / name).resolve(strict=True)): at for at, name in enumerate(LONG)}
    items.sort(key=lambda item: places.get(str(item.path), len(places)))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say in one line which tests were left out for want of a program."""
    reasons = [str(one.longrepr[-1]) for one in terminalreporter.stats.get("skipped", [])]
    counted = Counter(one.split(LEFT_OUT)[1] for one in reasons if LEFT_OUT in one)
    if counted:
        told = "; ".join(f"{count} {what}" for what, count in sorted(counted.items()))
        terminalreporter.write_line(f"Left out: {told}.")


settings.register_profile("fixed", derandomize=True)
if os.environ.get("CI"):  # the same examples every time; at a desk, new ones every run
    settings.load_profile("fixed")

collect_ignore = ["fuzz"]
"""Run by hand: what it needs is not installed with the tests."""
FEW = 20


@pytest.fixture(autouse=True, scope="module")
def few_iterations(request: pytest.FixtureRequest) -> Iterator[None]:
    """Let the order's solver iterate less, but where its orders are what is tested."""
    before = reorder.ITERATIONS
    if "order" not in request.module.__name__:
        reorder.ITERATIONS = FEW
    yield
    reorder.ITERATIONS = before


BASE_PLAN = """\
title = "Alder Bend, north half"
units = "us"

[field]
boundary = "alder_bend.geojson"

[headland]
where = "around"
passes = 2
machine = "planter"
crop = "corn"

[direction]
heading = "best"
start = "left"
shortest = "66 ft"

[machines.planter]
does = "plant"
rows = 16
spacing = "30 in"

[machines.corn_head]
does = "harvest"
rows = 8
spacing = "30 in"

[machines.platform]
does = "harvest"
width = "30 ft"

[machines.sprayer]
does = "spray"
width = "120 ft"
sections = 12

[crops.corn]
planter = "planter"
harvester = "corn_head"
rate = "34000 seeds/acre"
emergence = 0.95
unit = "80000 seeds"

[crops.soybean]
planter = "planter"
harvester = "platform"
rate = "140000 seeds/acre"
unit = "140000 seeds"

[[strips]]
crop = "corn"
rows = 16

[[strips]]
crop = "soybean"
rows = 48
"""

Change = tuple[str, str]
WritePlan = Callable[..., Path]
WriteGeojson = Callable[..., Path]


@pytest.fixture
def base_plan_text() -> str:
    """The contract's example plan, its comments left out."""
    return BASE_PLAN


@pytest.fixture
def write_plan(tmp_path: Path) -> WritePlan:
    """A function that writes a plan text, changed where asked, and gives its path."""

    def write(text: str, *changes: Change, name: str = "plan.toml") -> Path:
        for old, new in changes:
            assert text.count(old) >= 1, f"the plan holds no {old!r}"
            text = text.replace(old, new, 1)
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


@pytest.fixture
def samples_laid_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lay the sample fields once for all tests, whichever way they are asked for."""
    import fields  # noqa: PLC0415 - it loads the whole package

    monkeypatch.setattr("striplay.flow.lay", fields.lay_samples_once)


@pytest.fixture
def write_geojson(tmp_path: Path) -> WriteGeojson:
    """A function that writes geometries (None for none) as GeoJSON and gives the path."""

    def write(
        *geometries: shapely.Geometry | dict[str, Any] | None,
        name: str = "field.geojson",
        crs: str | None = None,
    ) -> Path:
        features = [
            {
                "type": "Feature",
                "properties": {"id": number},
                "geometry": (
                    json.loads(shapely.to_geojson(shape))
                    if isinstance(shape, shapely.Geometry)
                    else shape
                ),
            }
            for number, shape in enumerate(geometries, start=1)
        ]
        content: dict[str, Any] = {"type": "FeatureCollection", "features": features}
        if crs is not None:
            content["crs"] = {"type": "name", "properties": {"name": crs}}
        path = tmp_path / name
        path.write_text(json.dumps(content), encoding="utf-8")
        return path

    return write
