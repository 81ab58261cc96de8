"""Run `striplay section`: a picture across the rows."""

from datetime import date
from pathlib import Path

import click

from striplay.cli.shared import Day, Needed, say


@click.command()
@click.argument("plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path))
@click.option(
    "-o", "--output", "path", metavar="FILE", type=click.Path(path_type=Path),
    cls=Needed, example="striplay section north.toml -o north.svg",
    help="Picture to write: .svg, .png or .pdf.",
)  # fmt: skip
@click.option(
    "--day", metavar="YYYY-MM-DD", type=Day(),
    help="Day that plants are drawn as on; full height when left out.",
)  # fmt: skip
def section(plan_file: Path, path: Path, day: date | None) -> None:
    """Draw one set across the rows, to scale: plants, spacing, row units, machines.

    \b
    Example:
      striplay section sample_fields/quarter_section/plan.toml -o section.svg
    """
    from striplay.files.plan import read_plan
    from striplay.handover import draw_section
    from striplay.report import notice_lines

    notices = draw_section(read_plan(plan_file), path, day=day)
    for line in notice_lines(notices, "more are told by striplay lay"):
        say(line, err=True)
    say(f"written to {path}")
