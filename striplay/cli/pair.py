"""Run `striplay pair`: how crops suit each other."""

import json
from dataclasses import asdict
from datetime import datetime
from pathlib import Path

import click

from striplay.cli.shared import json_option, refusals
from striplay.units import UnitSystem


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
    "--day", type=click.DateTime(["%Y-%m-%d"]), metavar="YYYY-MM-DD",
    help="Day that shade is judged for; left out: midway through the days on which the plan has "
    "both stand, else high summer (1 July, south of the equator 1 January).",
)  # fmt: skip
@click.option(
    "--units", type=click.Choice(["us", "metric"]), default="us", show_default=True,
    help="Units to speak; the plan's where there is one.",
)  # fmt: skip
@json_option
def pair(  # noqa: PLR0913 - one parameter an option
    crops: tuple[str, ...],
    plan_file: Path | None,
    heading_deg: float,
    latitude_deg: float,
    day: datetime | None,
    units: UnitSystem,
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

        setting = Setting(latitude_deg, heading_deg, None if day is None else day.date(), units)
        paired = pair_crops(crops, setting, plan_file)
        for notice in paired.notices:
            click.echo(f"note: {notice}", err=True)
        if as_json:
            click.echo(json.dumps([asdict(one) for one in paired.judged], indent=2))
            return
        before = None
        for one in paired.judged:
            if one.crops != before:
                click.echo(f"{one.crops[0]} and {one.crops[1]}")
                before = one.crops
            click.echo(f"  {one.about + ':':<12}{one.said} ({one.source})")
