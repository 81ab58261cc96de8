"""Run `striplay check`: whether every operation of the season can be done."""

import json
from pathlib import Path

import click

from striplay.cli.commands import STOPPED
from striplay.cli.shared import json_option, say, say_data, show_progress


@click.command()
@click.argument("plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path))
@json_option
@click.pass_context
def check(context: click.Context, plan_file: Path, *, as_json: bool) -> None:
    """Say of every operation of the season whether it can be done: yes, at a cost, or no, and why.

    Nothing is written. The exit status is 1 where an operation can't be done as planned. It is
    reckoned from what the plan states: who drives and the makers' manuals decide.

    \b
    Example:
      striplay check sample_fields/quarter_section/plan.toml
    """
    from striplay.files.plan import read_plan
    from striplay.flow import lay
    from striplay.report import check_report

    show_progress()
    layout = lay(read_plan(plan_file))
    operations = layout.accounts["operations"]
    if as_json:
        say_data(json.dumps(operations, indent=2))
    else:
        together = layout.accounts["operations_together"]
        notices = layout.accounts["notices"]
        for line in check_report(layout.plan.title, operations, together, notices):
            say(line)
    stops = any(one["severity"] == "stop" for one in layout.accounts["operations_together"])
    if stops or any(one["verdict"] == "no" for one in operations):
        context.exit(STOPPED)
