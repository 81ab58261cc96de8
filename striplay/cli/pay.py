"""Run `striplay pay`: whether strips pay, beside what else the field could."""

import json
from pathlib import Path

import click

from striplay.cli.shared import json_option, say, say_data, show_progress


@click.command()
@click.argument("plan_file", metavar="[PLAN.toml]", required=False, type=click.Path(path_type=Path))
@click.option(
    "--trial", metavar="FILE.csv", type=click.Path(path_type=Path),
    help="Reckon the indices of measured trials instead: columns trial, crop, together, alone, and "
    "land_share, price, days, held_days as far as known.",
)  # fmt: skip
@json_option
def pay(plan_file: Path | None, trial: Path | None, *, as_json: bool) -> None:
    """Say what strips leave, against the same crops in blocks, the rotation, and each crop alone.

    The plan states yields and prices; published yields of rows at edges are told as a range, and
    reckoned with only where it says so. What it is held against is laid and driven likewise, which
    takes some seconds.

    \b
    Examples:
      striplay pay north.toml
      striplay pay --trial strips_2025.csv
    """
    if (plan_file is None) == (trial is None):
        raise click.UsageError(
            "give a plan, or --trial and a file of measured yields; for example striplay pay "
            "north.toml"
        )
    show_progress()
    if trial is not None:
        _pay_trials(trial, as_json=as_json)
    elif plan_file is not None:
        from striplay.files.plan import read_plan
        from striplay.flow import lay
        from striplay.pay_report import pay_data, pay_report
        from striplay.paying import check_told
        from striplay.paying import pay as reckon

        plan = read_plan(plan_file)
        check_told(plan)
        found = reckon(lay(plan))
        if as_json:
            say_data(json.dumps(pay_data(found), indent=2))
        else:
            for line in pay_report(found):
                say(line)
        for notice in found.notices:
            say(f"note: {notice}", err=True)


def _pay_trials(trial: Path, *, as_json: bool) -> None:
    """Say the indices of measured trials."""
    from striplay.economics.trials import indices_of
    from striplay.files.trials import read_trials
    from striplay.pay_report import trial_report

    found = [indices_of(one) for one in read_trials(trial)]
    if as_json:
        say_data(json.dumps(found, indent=2))
        return
    for line in trial_report(found):
        say(line)
