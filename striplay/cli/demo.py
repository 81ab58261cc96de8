"""Run `striplay demo`: the main job on a packaged sample field, or a whole season on one."""

from pathlib import Path

import click

from striplay.cli.shared import json_option, map_book_option

FIELDS = ("quarter_section", "pond_ell", "creek_side", "pivot_circle", "two_parts")


@click.command()
@click.option(
    "-o", "--output", "folder", metavar="DIR", default=Path("striplay-demo"), show_default=True,
    type=click.Path(path_type=Path), help="Folder to write.",
)  # fmt: skip
@click.option(
    "--field", type=click.Choice(FIELDS),
    help=f"Which sample field; {FIELDS[0]} when left out.",
)  # fmt: skip
@click.option(
    "--season",
    is_flag=True,
    help="Show a whole season, on a field of its own: laid, recorded, compared, told as a journal, "
    "and next season's plan.",
)
@map_book_option
@json_option
def demo(folder: Path, field: str | None, *, season: bool, map_book: bool, as_json: bool) -> None:
    """Lay strips on a sample field: an invented farm, no other input needed.

    \b
    Examples:
      striplay demo -o try-it --field pond_ell
      striplay demo --season -o a-season
    """
    if season:
        from striplay.cli.demo_season import show_season

        if field is not None or as_json:
            given = "--json" if field is None else "--field"
            raise click.UsageError(
                f"--season has a field and a report of its own; leave {given} out"
            )
        show_season(sample_folder() / "seasons" / "alder_bend", folder, map_book=map_book)
        return
    from striplay.cli.lay import lay_and_write
    from striplay.files.plan import read_plan

    plan = read_plan(sample_folder() / (field or FIELDS[0]) / "plan.toml")
    lay_and_write(plan, folder, None, map_book=map_book, as_json=as_json)


def sample_folder() -> Path:
    """Find the sample fields: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parents[1]
    installed = package / "sample_fields"
    return installed if installed.is_dir() else package.parent / "sample_fields"
