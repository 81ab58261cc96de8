"""Run `striplay record PLAN.toml monitor`, `compare` and `journal`: what a season comes to."""

import json
from datetime import date
from pathlib import Path

import click

from striplay.cli.record import opened, store_option
from striplay.cli.shared import Day, Needed, json_option, say, say_data, show_progress


@click.command()
@click.argument("points", metavar="FILE.csv", type=click.Path(path_type=Path))
@click.option("--crop", help="The crop harvested; what most points lie in when left out.")
@click.option(
    "-o", "--output", "pages", metavar="FILE.pdf", type=click.Path(path_type=Path),
    help="Write the map of yields too.",
)  # fmt: skip
@click.option(
    "--keep", "day", metavar="YYYY-MM-DD", type=Day(),
    help="Record each strip's yield, as harvested on that day.",
)  # fmt: skip
@store_option
@json_option
@click.pass_obj
def monitor(
    plan_file: Path, points: Path, crop: str | None, pages: Path | None, day: date | None,
    store: Path | None, *, as_json: bool,
) -> None:  # fmt: skip
    """Tell by strip what a combine's yield monitor wrote, and what of it does not count and why.

    A line a point; the plan names its columns and their units under [monitor]. Nothing is recorded
    without --keep.

    \b
    Examples:
      striplay record north.toml monitor corn_2027.csv -o corn_map.pdf
      striplay record north.toml monitor corn_2027.csv --keep 2027-10-04
    """
    from striplay.files.plan import read_plan
    from striplay.flow import lay
    from striplay.handover import check_pages
    from striplay.monitoring import edges_read, keep_yields, read_yields, rules_of, write_yield_map
    from striplay.records.monitor_edges import edge_lines
    from striplay.records.monitor_report import monitor_data, monitor_report

    show_progress()
    plan = read_plan(plan_file)
    rules_of(plan)
    if pages is not None:
        check_pages(pages)
    layout = lay(plan)
    found = read_yields(layout, points, crop)
    edges = edges_read(layout, found)
    if pages is not None:
        for notice in write_yield_map(layout, found, pages):
            say(f"note: {notice}", err=True)
    if day is not None:
        with opened(plan_file, store) as records:
            kept, told = keep_yields(records, found, day, date.today(), edges)  # noqa: DTZ011 - the farm's
        for line in told:
            say(f"note: {line}", err=True)
    if as_json:
        say_data(json.dumps({**monitor_data(found), "edges": edges.data}, indent=2))
        return
    for line in [*monitor_report(found, plan), *edge_lines(edges)]:
        say(line)
    if day is not None:
        say(f"{kept} {'entry' if kept == 1 else 'entries'} recorded")
    if pages is not None:
        say(f"written to {pages}")


@click.command(name="compare")
@click.argument("table", metavar="[FILE.csv]", required=False, type=click.Path(path_type=Path))
@store_option
@json_option
@click.pass_obj
def compare_plots(
    plan_file: Path, table: Path | None, store: Path | None, *, as_json: bool
) -> None:
    """Compare treatments that stood in blocks: differences with intervals, and what can't be told.

    A line for each plot and crop, columns block, treatment, crop, yield, and as far as known strip,
    row (from the edge, or inside), side, land_share. The yield is by the ground of that crop
    itself, with its unit. Against the treatment alone the ratio of land is told too. Without a
    file, what is recorded is compared: strips of a trial with its checks, and rows at the edge with
    those inside their strips.

    \b
    Examples:
      striplay record north.toml compare plots_2027.csv
      striplay record north.toml compare
    """
    from striplay.files.plan import read_plan
    from striplay.files.plots import read_plots
    from striplay.monitoring import plots_recorded
    from striplay.records.analysis_report import findings_data, findings_report
    from striplay.records.findings import findings_of
    from striplay.records.yields import yields_of

    plan = read_plan(plan_file)
    if table is None:
        with opened(plan_file, store, make=False) as records:
            yields = yields_of(records.recorded(), records.edition)
        drawn = plan.trial is not None
        found = findings_of("records", *plots_recorded(plan, yields), drawn=drawn)
    else:
        read = read_plots(table, plan)
        found = findings_of(table.name, read.plots, read.shares)
    if as_json:
        say_data(json.dumps(findings_data(found), indent=2))
        return
    for line in findings_report(found, plan):
        say(line)


@click.command()
@click.option(
    "-o", "--output", "path", metavar="FILE.pdf", type=click.Path(path_type=Path),
    cls=Needed, example="striplay record north.toml journal -o journal.pdf",
    help="Pages to write.",
)  # fmt: skip
@click.option(
    "--date", "printed", metavar="YYYY-MM-DD", type=Day(),
    help="Date printed on the pages; the last day recorded when left out.",
)  # fmt: skip
@store_option
@click.pass_obj
def journal(plan_file: Path, path: Path, printed: date | None, store: Path | None) -> None:
    """Write the season as pages: planned and done, seen, yields, what they tell, each strip.

    \b
    Example:
      striplay record north.toml journal -o journal.pdf
    """
    from striplay.files.plan import read_plan
    from striplay.flow import lay
    from striplay.handover import check_pages
    from striplay.journaling import season_told, write_journal

    show_progress()
    check_pages(path)
    with opened(plan_file, store, make=False) as records:
        layout = lay(read_plan(plan_file))
        season = season_told(layout, records)
    for notice in write_journal(layout, season, path, printed=printed):
        say(f"note: {notice}", err=True)
    say(f"written to {path}")
