"""Run `striplay demo`: the main job on a packaged sample field."""

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
    "--field", type=click.Choice(FIELDS), default=FIELDS[0], show_default=True,
    help="Which sample field.",
)  # fmt: skip
@map_book_option
@json_option
def demo(folder: Path, field: str, *, map_book: bool, as_json: bool) -> None:
    """Lay strips on a sample field: an invented farm, no other input needed.

    \b
    Example:
      striplay demo -o try-it --field pond_ell
    """
    from striplay.cli.lay import lay_and_write
    from striplay.files.plan import read_plan

    plan = read_plan(sample_folder() / field / "plan.toml")
    lay_and_write(plan, folder, None, map_book=map_book, as_json=as_json)


def sample_folder() -> Path:
    """Find the sample fields: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parents[1]
    installed = package / "sample_fields"
    return installed if installed.is_dir() else package.parent / "sample_fields"
