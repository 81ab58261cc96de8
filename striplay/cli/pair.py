"""Run `striplay pair`: how crops suit each other."""

import json
from dataclasses import asdict
from datetime import datetime
from pathlib import Path

import click

from striplay.cli.shared import json_option, refusals


@click.command()
@click.argument("crops", metavar="CROP CROP [CROP...]", nargs=-1, required=True)
@click.option(
    "--plan", "plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path),
    help="Plan whose crops, field and heading to take; its values go before the table's.",
)  # fmt: skip
@click.option(
    "--heading", "heading_deg", type=click.FloatRange(0, 180, max_open=True), default=0.0,
    show_default=True, help="Direction of the rows, degrees clockwise from true north.",
)  # fmt: skip
@click.option(
    "--latitude", "latitude_deg", type=click.FloatRange(-66, 66), default=42.0, show_default=True,
    help="Latitude, north above 0; the field's where the plan has one.",
)  # fmt: skip
@click.option(
    "--day", type=click.DateTime(["%Y-%m-%d"]), default="2026-07-01", show_default=True,
    metavar="YYYY-MM-DD", help="Day that shade is judged for.",
)  # fmt: skip
@json_option
def pair(
    crops: tuple[str, ...],
    plan_file: Path | None,
    heading_deg: float,
    latitude_deg: float,
    day: datetime,
    *,
    as_json: bool,
) -> None:
    """Judge how crops suit each other: height and shade, roots, nitrogen, season, pests.

    Each point comes in a line with its reason and source. There is no score.

    \b
    Example:
      striplay pair corn soybean
    """
    with refusals():
        from striplay.pair import pair_crops
        from striplay.season.pairing import Setting

        setting = Setting(latitude_deg, heading_deg, day.date(), "us")
        judged = pair_crops(crops, setting, plan_file)
        if as_json:
            click.echo(json.dumps([asdict(one) for one in judged], indent=2))
            return
        before = None
        for one in judged:
            if one.crops != before:
                click.echo(f"{one.crops[0]} and {one.crops[1]}")
                before = one.crops
            click.echo(f"  {one.about + ':':<12}{one.said} ({one.source})")
