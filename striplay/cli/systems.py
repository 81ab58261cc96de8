"""Run `striplay systems`: the five systems judged for a plan."""

import json
from pathlib import Path

import click

from striplay.cli.shared import json_option, say, say_data


@click.command()
@click.argument("plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path))
@click.option(
    "--only", type=click.Choice(["rows", "strips", "mixed stand", "relay", "quick crop"]),
    help="Tell of one of them alone.",
)  # fmt: skip
@json_option
def systems(plan_file: Path, only: str | None, *, as_json: bool) -> None:
    """Judge row sets, strips, mixed stands, relays and quick crops for this field and shed.

    Of each: whether it can be done as the plan stands, what it needs, what trials say it gives,
    what to watch out for, and tables to put into the plan.

    \b
    Example:
      striplay systems sample_fields/quarter_section/plan.toml
    """
    from striplay.choosing.systems import judge_systems
    from striplay.choosing.systems_report import systems_data, systems_report

    found = [one for one in judge_systems(plan_file) if only in {None, one.system}]
    if as_json:
        say_data(json.dumps(systems_data(found), indent=2))
        return
    for line in systems_report(found):
        say(line)
