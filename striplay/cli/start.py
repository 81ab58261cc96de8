"""Run `striplay start`: write a plan to fill in."""

import os
from pathlib import Path

import click

from striplay.cli.shared import say


@click.command()
@click.argument("boundary", type=click.Path(path_type=Path))
@click.option(
    "-o", "--output", "plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path),
    help="Plan to write [default: the boundary's name with .toml, in this folder].",
)  # fmt: skip
@click.option("--units", type=click.Choice(["us", "metric"]), default="us", show_default=True,
              help="How reports speak.")  # fmt: skip
@click.option("--crs", help='Where the file has none, such as "EPSG:26915".')
@click.option("--layer", help="Layer to read, where the file has several.")
@click.option("--where", help='Which features are the field, such as "id = 12".')
def start(
    boundary: Path, plan_file: Path | None, units: str, crs: str | None, layer: str | None,
    where: str | None,
) -> None:  # fmt: skip
    """Write a commented plan for a boundary file, ready to fill in.

    \b
    Example:
      striplay start sample_fields/pond_ell/field.gpkg -o my_plan.toml
    """
    from striplay.errors import BoundaryError
    from striplay.files.folder import write_new
    from striplay.files.regular import check_there
    from striplay.files.shapes import read_shapes
    from striplay.ground import locate
    from striplay.plan.models import FieldSource
    from striplay.plan.template import plan_template
    from striplay.units import UnitSystem, format_area

    if not str(boundary).isprintable():
        raise BoundaryError(f"{boundary}: a plan can't hold such a name; give the file another")
    check_there(boundary)
    system: UnitSystem = "metric" if units == "metric" else "us"
    shapes = read_shapes(boundary, crs=crs, layer=layer, where=where)
    ground = locate(shapes, units=system)
    plan_file = plan_file or Path(f"{boundary.stem}.toml")
    relative = Path(os.path.relpath(boundary, plan_file.parent)).as_posix()
    field = FieldSource(boundary=relative, crs=crs, layer=layer, where=where)
    found = f"{format_area(ground.outline.area, system)}"
    write_new(plan_file, plan_template(boundary.stem, field, system, found))
    for notice in ground.notices:
        say(f"note: {notice}", err=True)
    say(f"written {plan_file} ({found}); put the farm's machines and crops in it, then:")
    say(f"  striplay fit {plan_file}")
    say(f"  striplay lay {plan_file} -o {plan_file.stem}")
