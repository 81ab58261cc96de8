"""Write the generated pages anew, or check with --check that they and all links are true."""

import io
import json
import re
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import click
import numpy as np
from PIL import Image
from pydantic import BaseModel
from pypdfium2 import PdfDocument

import striplay
from striplay import cautions, column, columns, notices
from striplay.cli.main import main
from striplay.files.writers import WRITERS
from striplay.plan import (
    cost,
    crops,
    files,
    machines,
    models,
    money,
    monitor,
    operations,
    season,
    systems,
    trial,
)
from striplay.sheets.book import book_of, write_pages
from striplay.sheets.cover_sheets import cover_story

DOCS = Path(__file__).resolve().parent
TABLES: tuple[tuple[str, type[BaseModel]], ...] = (
    ("above all tables", models.AboveTables),
    ("[farm]", models.Farm),
    ("[field]", models.FieldSource),
    ("[headland]", models.Headland),
    ("[direction]", models.Direction),
    ('[machines.NAME], does = "plant"', machines.Planter),
    ('[machines.NAME], does = "harvest"', machines.Harvester),
    ('[machines.NAME], does = "spray"', machines.Sprayer),
    ('[machines.NAME], does = "spread"', machines.Spreader),
    ('[machines.NAME], does = "cultivate"', machines.Cultivator),
    ('[machines.NAME], does = "mow"', machines.Mower),
    ('[machines.NAME], does = "till"', machines.Tiller),
    ('[machines.NAME], does = "haul"', machines.Cart),
    ("[[operations]]", operations.OperationWish),
    ("[crops.NAME]", crops.Crop),
    ("[[strips]]", crops.StripWish),
    ("[[row_set]]", systems.RowSet),
    ("[mixtures.NAME]", systems.Mixture),
    ("[[relay]], [[quick_crop]]", systems.Between),
    ("[obstacles]", models.Obstacles),
    ("[[blocks]]", models.Block),
    ("[weather]", season.WeatherSource),
    ("[season]", season.NextSeason),
    ("[trial]", trial.Trial),
    ("[cost]", cost.Cost),
    ("[economics]", money.Economics),
    ("[[edges]]", money.EdgeWish),
    ("[slope]", cost.Slope),
    ("[files]", files.FilesWish),
    ("[monitor]", monitor.MonitorSource),
)
GENERATED = "<!-- written by docs/make.py -->\n"
PLAN_INTRODUCTION = """\
A plan is a TOML file. Lengths, rates and amounts are text with a unit; a bare number where a unit
is needed is refused.
"""
COMMAND_INTRODUCTION = """\
Exit status: 0 done; 2 wrong use, or a plan, boundary or folder that can't be used, told on
stderr, nothing written; 1 anything else, such as a full disk. A fault of striplay's own is told in
short; with `STRIPLAY_LOG=log.txt` in the environment, how it came about is added to that file.
"""


def plan_reference() -> str:
    """Write every key of the plan, its meaning, an example and whether it may be left out."""
    lines = [GENERATED, "# Keys of the plan\n", PLAN_INTRODUCTION]
    for heading, model in TABLES:
        lines += [f"## `{heading}`\n", f"{(model.__doc__ or '').splitlines()[0]}\n"]
        lines += ["| key | meaning | example |", "| --- | --- | --- |"]
        for name, field in model.model_fields.items():
            key = field.alias or name
            need = " **Needed.**" if field.is_required() else ""
            example = f"`{shown(field.examples[0])}`" if field.examples else ""
            lines.append(f"| `{key}` | {field.description}{need} | {example} |")
        lines.append("")
    return "\n".join(lines)


def shown(value: object) -> str:
    """Write an example as the pages do."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list) or (isinstance(value, str) and value.replace(".", "").isdigit()):
        return json.dumps(value)  # a number in quotes stays in them
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {one}" for key, one in value.items()) + "}"
    return str(value)


def command_reference() -> str:
    """Write every command's help."""
    lines = [GENERATED, "# Commands\n", COMMAND_INTRODUCTION]
    for path, command in commands_below("striplay", main):
        context = click.Context(command, info_name=path, max_content_width=88)
        lines += [f"## `{path}`\n", "```text", command.get_help(context), "```", ""]
    return "\n".join(lines)


def commands_below(path: str, command: click.Command) -> Iterator[tuple[str, click.Command]]:
    """Give a command and those below it, each with what is typed before its options."""
    yield path, command
    if isinstance(command, click.Group):
        arguments = [one.metavar for one in command.params if isinstance(one, click.Argument)]
        for name, below in sorted(command.commands.items()):
            yield from commands_below(" ".join([path, *filter(None, arguments), name]), below)


FILE_INTRODUCTION = """\
`lay` writes the kinds of files that `--files` names, or `[files] write` of the plan; the usual ones
where neither does. [Which of them an operator needs](howto_receivers.md).
"""
TABLE_INTRODUCTION = """\
Columns stand in this order in every file. From Python `layout.strips` and the others hold the same,
in meters on the field's local plane. Every layer has its shapes besides: in files in longitude and
latitude of WGS 84. Where a Shapefile, whose names have at most ten letters, calls a column
otherwise, that stands in brackets.
"""
MANY_INTRODUCTION = """\
What [`striplay many`](howto_many.md) writes of many fields laid by one plan. `number` is the field
in every table. Each table but those of CSV stands in parts: as GeoParquet a folder a table, as
GeoPackage a file a part in `parts`.
"""
RECORDS_INTRODUCTION = """\
What [`striplay record`](howto_record.md) keeps in `records.gpkg`, and writes of it. In the store's
tables columns stand in another order, and each line has a number: `id`, or of entries `number`.
"""
NOTICE_INTRODUCTION = """\
`notices` in `accounts.json`, and `layout.notices` from Python, the gravest first. Each has a
`kind`, a `severity`, a `place` (longitude and latitude in degrees, words, or nothing) and a `text`
that is whole in itself.
"""


def tables_reference() -> str:
    """Write every file, every column of every table, and what notices hold."""
    lines = [GENERATED, "# Files, tables and notices\n", "## Files\n", FILE_INTRODUCTION]
    lines += ["| kind | files | holds | usual |", "| --- | --- | --- | --- |"]
    for writer in WRITERS.values():
        files = ", ".join(f"`{name}`" for name in writer.files)
        usual = "yes" if writer.usual else "no"
        lines.append(f"| `{writer.name}` | {files} | {writer.holds} | {usual} |")
    lines += ["", "## Tables\n", TABLE_INTRODUCTION]
    for name, holds in columns.TABLES.items():
        if name == columns.FIELDS:
            lines += ["## Many fields\n", MANY_INTRODUCTION]
        if name == columns.YIELDS_CSV:
            lines += ["## Records\n", RECORDS_INTRODUCTION]
        lines += [f"## `{name}`\n", f"{holds} {_stands_in(name)}\n"]
        lines += ["| column | type | unit | meaning |", "| --- | --- | --- | --- |"]
        lines += [_column_line(one, name) for one in columns.columns_of(name)]
        lines.append("")
    lines += ["## Notices\n", NOTICE_INTRODUCTION]
    for key, words in (("severity", notices.SEVERITIES), ("kind", notices.KINDS)):
        lines += [f"| {key} | meaning |", "| --- | --- |"]
        lines += [f"| `{word}` | {meaning} |" for word, meaning in words.items()]
        lines.append("")
    return "\n".join(lines)


def _stands_in(table: str) -> str:
    """Say which kinds of files hold a table."""
    kinds = [f"`{writer.name}`" for writer in WRITERS.values() if table in writer.tables]
    if kinds:
        return f"In {', '.join(kinds)}."
    if table in columns.MANY_TABLES or table in {columns.SUMMARY_CSV, columns.CROPS_CSV}:
        return "Written by `striplay many`."
    if table.endswith(".csv"):
        return "Written by `striplay record PLAN.toml export`."
    return f"In `{columns.STORE_FILE}`."


def _column_line(one: column.Column, table: str) -> str:
    """Write the line of a column in a table's list."""
    only = f" Only {one.only}." if one.only else ""
    empty = f" Empty {one.empty}." if one.empty else ""
    short = column.short_name(one.name)
    named = f"`{one.name}`"
    if table in columns.LAYERS and short != one.name:
        named += f" (`{short}`)"
    unit = column.unit_of(one.name)
    return f"| {named} | {one.type} | {unit} | {one.meaning}{only}{empty} |"


PICTURE_DPI = 100
DIFFERENT = 0.002
"""Two pictures differ where their pixels do by more, on average: letters drawn by another library's
version differ by less, a strip more or less by over ten times as much."""


def overview() -> bytes:
    """Draw the README's picture: the cover of the demo's map book."""
    plan = striplay.read_plan(DOCS.parent / "sample_fields" / "quarter_section" / "plan.toml")
    layout = striplay.lay(plan)
    picture = io.BytesIO()
    with tempfile.TemporaryDirectory() as folder:
        path, book = Path(folder) / "cover.pdf", book_of(layout)
        write_pages(book, path, [cover_story(book, layout)], "Cover")
        with closing(PdfDocument(path)) as pages:
            drawn = pages[0].render(scale=PICTURE_DPI / POINTS_PER_INCH)
            drawn.to_pil().convert("P", palette=Image.Palette.ADAPTIVE).save(picture, "png")
    return picture.getvalue()


POINTS_PER_INCH = 72


def same_picture(path: Path, picture: bytes) -> bool:
    """Tell whether a file shows the picture."""
    if not path.exists():
        return False
    shown, drawn = (
        np.asarray(Image.open(one).convert("RGB")) / 255 for one in (path, io.BytesIO(picture))
    )
    return shown.shape == drawn.shape and float(np.abs(shown - drawn).mean()) < DIFFERENT


CAUTION_INTRODUCTION = """\
The map book has those that the plan calls for: in short on the cover, in full in the adviser's
appendix. They are the usual ones of the trade; labels, makers' manuals, local rules and who is
licensed decide. Where no source is named they are common practice, no source.
"""


def caution_page() -> str:
    """Write every caution, and when it applies."""
    lines = (f"- **{one.about}** ({one.when}). {one.text}" for one in cautions.CAUTIONS)
    return "\n".join([GENERATED, "# Cautions\n", CAUTION_INTRODUCTION, *lines, ""])


def broken_links() -> list[str]:
    """List the relative links of README, DEVELOPERS and docs that lead nowhere."""
    pages = [*DOCS.glob("*.md"), *DOCS.parent.glob("*.md")]
    return [
        f"{page.name}: {link}"
        for page in sorted(pages)
        for link in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8"))
        if not (page.parent / link).exists()
    ]


def run() -> int:
    """Write the pages, or check them; give the exit status."""
    pages = {
        "plan_reference.md": plan_reference(),
        "cli_reference.md": command_reference(),
        "tables_reference.md": tables_reference(),
        "cautions.md": caution_page(),
    }
    faults = []
    for name, text in pages.items():
        path = DOCS / name
        if "--check" not in sys.argv:
            path.write_text(text, encoding="utf-8")
        elif not path.exists() or path.read_text(encoding="utf-8") != text:
            faults.append(f"docs/{name} is out of date; run python docs/make.py")
    path, picture = DOCS / "images" / "overview.png", overview()
    if "--check" not in sys.argv:
        path.write_bytes(picture)
    elif not same_picture(path, picture):
        faults.append("docs/images/overview.png does not show the demo; run python docs/make.py")
    faults += [f"broken link in {link}" for link in broken_links()]
    for fault in faults:
        sys.stderr.write(f"{fault}\n")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(run())
