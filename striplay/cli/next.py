"""Run `striplay next`: write next season's plan."""

from pathlib import Path

import click

from striplay.cli.shared import Needed, say, show_progress


@click.command("next")
@click.argument("plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path))
@click.option(
    "-o", "--output", "output", metavar="NEXT.toml", type=click.Path(path_type=Path),
    cls=Needed, example="striplay next north.toml -o north_next.toml",
    help="Plan to write.",
)  # fmt: skip
@click.option(
    "--after", "cover", metavar="CROP",
    help="Crop or mixture of the plan to sow after the harvest of every strip that is off by its "
    "day, such as a cover crop.",
)  # fmt: skip
def next_(plan_file: Path, output: Path, cover: str | None) -> None:
    """Write next season's plan: the same strips to the millimeter, with the next crops in them.

    Each crop is followed by the next one that the strips name, or by [season] sequence. The plan
    keeps its comments; heading and offset are those laid, and days move on by a year.

    \b
    Example:
      striplay next sample_fields/quarter_section/plan.toml -o next.toml
      striplay next north.toml -o north_next.toml --after rye
    """
    from striplay.files.folder import check_new, write_new
    from striplay.files.plan import read_plan
    from striplay.flow import lay
    from striplay.following import next_plan
    from striplay.proposing import proposed_beside

    check_new(output)
    show_progress()
    layout = lay(read_plan(plan_file))
    found = next_plan(layout, output, cover)
    proposed = proposed_beside(layout)
    write_new(output, found.text)
    for notice in found.notices:
        say(f"{'stop' if notice.severity == 'stop' else 'note'}: {notice}", err=True)
    for line in found.lines:
        say(line)
    for proposal in proposed.changes:
        say(f"proposed from the records, not put in: {proposal}")
    for line in proposed.untold:
        say(f"not proposed from the records: {line}")
    say(f"written {output}; look it through, its days first, then:")
    say(f"  striplay lay {output} -o {output.stem}")
