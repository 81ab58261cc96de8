"""Read what a table is opened with: a plan, a boundary, or nothing."""

import os
from pathlib import Path

from striplay.errors import BoundaryError
from striplay.files.plan import plan_in, read_text
from striplay.files.regular import check_there
from striplay.files.shapes import read_shapes
from striplay.flow import read_ground
from striplay.ground import locate
from striplay.plan.models import FieldSource
from striplay.plan.template import plan_template
from striplay.table.server import Start
from striplay.units import format_area

PLAN_ENDING = ".toml"


def opened(file: Path | None, folder: Path) -> Start:
    """Read what a table is opened with.

    Args:
        file: a plan, or a boundary that a plan is begun for; None for an empty table.
        folder: where an empty table, or one for a boundary, saves plans.

    Raises:
        PlanError: a plan that can't be used.
        BoundaryError: a boundary that can't be used.
    """
    if file is None:
        return Start((folder / "plan.toml").absolute())
    if file.suffix.lower() == PLAN_ENDING:
        text = read_text(file)
        plan = plan_in(text, file)
        return Start(file.absolute(), text, plan, read_ground(plan), on_disk=True)
    check_there(file)
    if not str(file).isprintable():
        raise BoundaryError(f"{file}: a plan can't hold such a name; give the file another")
    ground = locate(read_shapes(file))
    path = (folder / f"{file.stem}.toml").absolute()
    name = Path(os.path.relpath(file, folder)).as_posix()
    found = format_area(ground.outline.area, "us")
    text = plan_template(file.stem, FieldSource(boundary=name), "us", found)
    plan = plan_in(text, path)
    return Start(path, text, plan, read_ground(plan))
