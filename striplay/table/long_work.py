"""Do what takes long, in a process of its own: search, drive, read a boundary, judge systems."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from striplay.choosing.setting import Setting
from striplay.choosing.systems import Judged, judge_in
from striplay.files.shapes import read_shapes
from striplay.flow import lay_on_ground, read_ground
from striplay.ground import Ground, locate
from striplay.laid_plan import Layout
from striplay.plan.models import Plan
from striplay.table.answer import driven_of
from striplay.table.figures import Driven


def lay_whole(plan: Plan, ground: Ground | None) -> Layout:
    """Lay a plan, its heading searched for where that is asked."""
    return lay_on_ground(plan, read_ground(plan) if ground is None else ground)


def drive_whole(layout: Layout) -> Driven:
    """Drive a layout."""
    return driven_of(layout)


def judge_whole(plan: Plan, tables: Mapping[str, Any], ground: Ground) -> list[Judged]:
    """Judge the five systems for a plan."""
    return judge_in(Setting(plan, tables, ground))


def read_boundary(path: Path) -> Ground:
    """Read a boundary."""
    return locate(read_shapes(path))
