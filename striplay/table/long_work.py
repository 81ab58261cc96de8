"""Do what takes long, in a process of its own: search, drive, read a boundary, judge systems."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from striplay.choosing.setting import Setting
from striplay.choosing.systems import Judged, judge_in
from striplay.files.shapes import read_shapes
from striplay.flow import lay_on_ground
from striplay.ground import Ground, locate
from striplay.laid_plan import Layout
from striplay.plan.models import Plan
from striplay.table.answer import driven_of
from striplay.table.figures import Driven


def lay_whole(plan: Plan, ground: Ground) -> Layout:
    """Lay a plan, its heading searched for where that is asked."""
    layout = lay_on_ground(plan, ground)
    # what a search tried is of no use here, and long to send
    blocks = tuple(replace(block, searched=None) for block in layout.laid.blocks)
    return replace(layout, laid=replace(layout.laid, blocks=blocks))


def drive_whole(layout: Layout) -> Driven:
    """Drive a layout."""
    return driven_of(layout)


def judge_whole(plan: Plan, tables: Mapping[str, Any], ground: Ground) -> list[Judged]:
    """Judge the five systems for a plan."""
    return judge_in(Setting(plan, tables, ground))


def read_boundary(path: Path) -> Ground:
    """Read a boundary."""
    return locate(read_shapes(path))
