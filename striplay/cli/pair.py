"""Run `striplay pair`: how crops suit each other."""

import json
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from striplay.cli.shared import Day, json_option, say, say_data
from striplay.units import UnitSystem

if TYPE_CHECKING:
    from striplay.crop_pairs import Paired
    from striplay.plan.models import Plan


@click.command()
@click.argument("crops", metavar="CROP CROP [CROP...]", nargs=-1, required=True)
@click.option(
    "--plan", "plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path),
    help="Plan whose crops, field and heading to take; its values go before the table's.",
)  # fmt: skip
@click.option(
    "--heading", "heading_deg", type=click.FloatRange(0, 180, max_open=True),
    help="Direction of the rows, degrees clockwise from true north [default: the plan's where it "
    "states one, else 0].",
)  # fmt: skip
@click.option(
    "--latitude", "latitude_deg", type=click.FloatRange(-66, 66),
    help="Latitude, north above 0 [default: the field's where the plan has one, else 42].",
)  # fmt: skip
@click.option(
    "--day", type=Day(), metavar="YYYY-MM-DD",
    help="Day that shade is judged for; left out: all days on which the plan has both in the "
    "field, month by month, else high summer (1 July, south of the equator 1 January).",
)  # fmt: skip
@click.option(
    "--units", type=click.Choice(["us", "metric"]),
    help="Units to speak [default: the plan's where there is one, else us].",
)  # fmt: skip
@json_option
def pair(
    crops: tuple[str, ...],
    plan_file: Path | None,
    heading_deg: float | None,
    latitude_deg: float | None,
    day: date | None,
    units: UnitSystem | None,
    *,
    as_json: bool,
) -> None:
    """Judge how crops suit each other: height and shade, roots, nitrogen, season, pests.

    Each point comes in a line with its reason and source. There is no score.

    \b
    Example:
      striplay pair corn soybean
    """
    from striplay.crop_pairs import pair as pair_crops

    paired = pair_crops(
        crops,
        None if plan_file is None else _read(plan_file),
        latitude_deg=latitude_deg,
        heading_deg=heading_deg,
        day=day,
        units=units,
    )
    for notice in paired.notices:
        say(f"note: {notice}", err=True)
    if as_json:
        rows = {"heading_deg": paired.setting.heading_deg,
                "latitude_deg": paired.setting.latitude_deg}  # fmt: skip
        say_data(json.dumps([asdict(one) | rows for one in paired.judged], indent=2))
    else:
        _print(paired)


def _read(plan_file: Path) -> "Plan":
    """Read a plan; without one, nothing that a plan needs is loaded."""
    from striplay.files.plan import read_plan

    return read_plan(plan_file)


def _print(paired: "Paired") -> None:
    """Print where rows were taken to run, and each point under its pair."""
    say(
        f"rows at {paired.setting.heading_deg:g} degrees from north, latitude "
        f"{paired.setting.latitude_deg:.4g} degrees"
    )
    before = None
    for one in paired.judged:
        if one.crops != before:
            say(f"{one.crops[0]} and {one.crops[1]}")
            before = one.crops
        say(f"  {one.about + ':':<12}{one.said} ({one.source})")
