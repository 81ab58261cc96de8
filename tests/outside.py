"""Find what some tests run besides Python: a Chromium, and Node with its packages.

Where one is missing its tests are left out, and the run says so in one line at its end; with
STRIPLAY_ALL_TESTS set, as in `.ci/run`, they fail instead.
"""

import os
import shutil
from importlib.util import find_spec
from pathlib import Path

import pytest

NPM = Path(__file__).parent / "npm"
LEFT_OUT = "left out: "


def chromium() -> str:
    """Give the Chromium to test in: the one that CHROMIUM names, else the system's."""
    names = [os.environ.get("CHROMIUM", ""), "chromium", "chromium-browser", "google-chrome"]
    found = next(filter(None, map(shutil.which, filter(None, names))), None)
    if found is None:
        leave_out("browser tests (no Chromium; install one, or name it in CHROMIUM)")
    return found


def node() -> str:
    """Give the Node that has the packages of tests/npm."""
    found = shutil.which("node")
    if found is None or not (NPM / "node_modules").is_dir():
        leave_out("tests in Node (install it, and run npm ci in tests/npm)")
    return found


def leave_out(what: str) -> None:
    """Skip a test for want of a program, or fail it where none may be left out."""
    if os.environ.get("STRIPLAY_ALL_TESTS"):
        pytest.fail(f"not to be left out: {what}", pytrace=False)
    pytest.skip(f"{LEFT_OUT}{what}")


VALIDATOR = find_spec("osgeo_utils") and find_spec("osgeo_utils.samples.validate_gpkg")
"""The open validator of GeoPackages of GDAL's tools, where it is installed."""
