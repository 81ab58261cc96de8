"""Sheets to print: nothing is computed here but where things stand on paper."""

import contextlib
from importlib.util import find_spec
from pathlib import Path

_drawing = find_spec("matplotlib")
if _drawing is not None and _drawing.origin is not None:
    # loaded from elsewhere: settings that lie in the folder worked in are not even read
    with contextlib.chdir(Path(_drawing.origin).parent):
        import matplotlib as mpl  # noqa: F401
