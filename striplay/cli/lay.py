"""Run `striplay lay`: the main job."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from striplay.cli.shared import (
    FileKinds,
    Needed,
    json_option,
    map_book_option,
    say,
    say_data,
    show_progress,
)

if TYPE_CHECKING:
    from datetime import date

    from striplay.plan.models import Plan


@click.command()
@click.argument("plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path))
@click.option(
    "-o", "--output", "folder", metavar="DIR", type=click.Path(path_type=Path),
    cls=Needed, example="striplay lay north.toml -o north",
    help="Folder to write: new, empty, or one that lay made before, which is replaced whole.",
)  # fmt: skip
@click.option(
    "--date", "printed", metavar="YYYY-MM-DD", type=click.DateTime(["%Y-%m-%d"]),
    help="Date printed on the sheets; the plan's when left out.",
)  # fmt: skip
@click.option(
    "--files", "files", metavar="KIND,...", type=FileKinds(),
    help="Kinds of files to write, such as geojson,kml,map-book; those of the plan's [files], or "
    "the usual ones, when left out.",
)  # fmt: skip
@map_book_option
@click.option(
    "--turns",
    is_flag=True,
    help="Draw turns and the ways to the gate in passes.geojson and layout.kml too.",
)
@json_option
def lay(
    plan_file: Path,
    folder: Path,
    printed: datetime | None,
    *,
    files: tuple[str, ...] | None,
    map_book: bool,
    turns: bool,
    as_json: bool,
) -> None:
    """Lay a plan's strips on its field; write layout, accounts and sheets into DIR.

    \b
    Example:
      striplay lay sample_fields/quarter_section/plan.toml -o out
    """
    from striplay.files.plan import read_plan

    lay_and_write(
        read_plan(plan_file),
        folder,
        printed.date() if printed else None,
        files=files,
        map_book=map_book,
        turns=turns,
        as_json=as_json,
    )


def lay_and_write(
    plan: "Plan",
    folder: Path,
    printed: "date | None",
    *,
    map_book: bool,
    as_json: bool,
    files: tuple[str, ...] | None = None,
    turns: bool = False,
) -> None:
    """Lay a plan, write its folder, and report on stdout."""
    from striplay.files.write_accounts import accounts_text
    from striplay.flow import lay as lay_plan
    from striplay.handover import check_output, save
    from striplay.report import layout_report, notice_lines

    show_progress()
    check_output(plan, folder, files)
    layout = lay_plan(plan)
    told = save(layout, folder, files=files, map_book=map_book, turns=turns, printed=printed)
    for line in [*notice_lines(layout.notices), *notice_lines(told)]:
        say(line, err=True)
    if as_json:
        say_data(accounts_text(layout.accounts))
        return
    for line in layout_report(plan, layout.accounts):
        say(line)
    say(f"written to {folder}")
