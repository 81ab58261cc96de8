"""Run `striplay weigh`: the best headings and what each costs."""

import json
from pathlib import Path

import click

from striplay.cli.shared import json_option, say, say_data, show_progress


@click.command()
@click.argument("plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path))
@json_option
def weigh(plan_file: Path, *, as_json: bool) -> None:
    """Weigh every heading and offset: the five best really different layouts.

    Each part of the cost is shown, beside the plan's own heading and the farm's usual: along the
    longest edge, at the best offset there. The last column says what 0.1 degrees off costs more.
    Where a width is to fit, the other good sets stand below, with their cost.

    \b
    Example:
      striplay weigh sample_fields/pond_ell/plan.toml
    """
    from striplay.files.plan import read_plan
    from striplay.flow import weigh as weigh_plan
    from striplay.report import weigh_data, weigh_report

    show_progress()
    plan = read_plan(plan_file)
    if plan.blocks:
        say("note: blocks are set aside: weigh looks at the field as a whole", err=True)
    found = weigh_plan(plan)
    if as_json:
        say_data(json.dumps(weigh_data(found), indent=2))
        return
    for line in weigh_report(plan, found):
        say(line)
