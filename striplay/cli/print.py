"""Run `striplay print`: one operation's pages, for the cab."""

from datetime import date
from pathlib import Path

import click

from striplay.cli.shared import Day, Needed, say, show_progress


@click.command(name="print")
@click.argument("plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path))
@click.option(
    "--for", "operation", metavar="OPERATION", cls=Needed, what="which operation",
    example='striplay print north.toml --for "plant corn" -o plant.pdf',
    help="The operation: its name as striplay check lists it, or its number there, from 1.",
)  # fmt: skip
@click.option(
    "-o", "--output", "path", metavar="FILE", type=click.Path(path_type=Path),
    cls=Needed, example='striplay print north.toml --for "plant corn" -o plant.pdf',
    help="Pages to write: .pdf.",
)  # fmt: skip
@click.option(
    "--date", "printed", metavar="YYYY-MM-DD", type=Day(),
    help="Date printed on the sheets; the plan's when left out.",
)  # fmt: skip
def print_(plan_file: Path, operation: str, path: Path, printed: date | None) -> None:
    """Print one operation's map, passes, record and strips, for its operator in the cab.

    \b
    Example:
      striplay print sample_fields/quarter_section/plan.toml --for "plant corn" -o plant.pdf
    """
    from striplay.files.plan import read_plan
    from striplay.flow import lay
    from striplay.handover import check_pages, print_operation
    from striplay.report import notice_lines

    show_progress()
    plan = read_plan(plan_file)
    check_pages(path)
    told = print_operation(lay(plan), operation, path, printed=printed)
    for line in notice_lines(told):
        say(line, err=True)
    say(f"written to {path}")
