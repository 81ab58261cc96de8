"""Run `striplay fit`: strip widths that every machine covers in whole passes."""

import json
from pathlib import Path

import click

from striplay.cli.shared import json_option, say, say_data
from striplay.errors import StriplayError


@click.command()
@click.argument("plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path))
@click.option(
    "--limit", metavar="LENGTH", help='Widest strip to judge, such as "90 ft" [default: 120 ft, '
    "or 36 m with metric units].",
)  # fmt: skip
@json_option
def fit(plan_file: Path, limit: str | None, *, as_json: bool) -> None:
    """List strip widths by crop, and say of each whether it fits the machines, and why.

    Below stand the sets of strips that `lay` ranks likewise, and row sets of a planter that carries
    both crops. The strips of a plan's row set are judged as they are.

    \b
    Example:
      striplay fit sample_fields/quarter_section/plan.toml --limit "90 ft"
    """
    from striplay.files.plan import read_plan
    from striplay.fit_report import fit_data, fit_report
    from striplay.section.row_set import fit_row_set
    from striplay.section.row_set_offers import offer_row_sets
    from striplay.section.sets import fit_crops, fit_sets
    from striplay.units import parse_length_m

    plan = read_plan(plan_file)
    try:
        limit_m = None if limit is None else parse_length_m(limit)
    except ValueError as error:
        raise StriplayError(f'--limit: "{limit}" {error}') from error
    crops, sets = fit_crops(plan, limit_m), fit_sets(plan, limit_m)
    row_set, offers = fit_row_set(plan), offer_row_sets(plan, limit_m)
    if as_json:
        say_data(json.dumps(fit_data(crops, sets, row_set, offers), indent=2))
        return
    for line in fit_report(plan, crops, sets, row_set, offers):
        say(line)
