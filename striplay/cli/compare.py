"""Run `striplay compare`: variants side by side."""

import json
from pathlib import Path

import click

from striplay.cli.shared import json_option, say, say_data, show_progress


@click.command()
@click.argument(
    "plans", metavar="PLAN.toml OTHER.toml...", nargs=-1, type=click.Path(path_type=Path)
)
@click.option(
    "-o", "--output", "path", metavar="FILE.pdf", type=click.Path(path_type=Path),
    help="Sheet to write, a column for each plan.",
)  # fmt: skip
@json_option
def compare(plans: tuple[Path, ...], path: Path | None, *, as_json: bool) -> None:
    """Lay plans and hold them side by side: land, seed, passes, hours, verdicts, cost, margin.

    A plan that can't be laid keeps its column, with the reason; the others go on.

    \b
    Example:
      striplay compare north.toml narrow.toml -o choice.pdf
    """
    if len(plans) < 2:  # noqa: PLR2004 - one has nothing beside it
        raise click.UsageError(
            "give two plans or more; for example striplay compare north.toml narrow.toml"
        )
    from striplay.choosing.compare import compare as side_by_side
    from striplay.choosing.compare_report import compare_data, compare_report
    from striplay.handover import check_pages, write_comparison

    if path is not None:
        check_pages(path)
    show_progress()
    found = side_by_side(plans)
    told = [] if path is None else write_comparison(found, path)
    if as_json:
        say_data(json.dumps(compare_data(found), indent=2))
    else:
        for line in compare_report(found):
            say(line)
    for notice in told:
        say(str(notice), err=True)
    if path is not None:
        say(f"written to {path}", err=True)
