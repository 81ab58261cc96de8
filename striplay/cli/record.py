"""Run `striplay record`: what happened in the season, kept strip by strip."""

import json
from collections.abc import Callable, Sequence
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from striplay.cli.commands import STOPPED
from striplay.cli.shared import Needed, json_option, say, say_data
from striplay.records.names import OF_ALL, OF_KIND, WORDS

if TYPE_CHECKING:
    from striplay.recording import Records
    from striplay.records.entry import Recorded


class PlanFirst(click.Group):
    """Commands that a plan stands before."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take the plan; say how it is written where a command stands in its place."""
        if args and args[0] in self.commands:
            own = self.commands[args[0]]
            if set(args[1:]) & set(ctx.help_option_names):
                path = f"{ctx.command_path} PLAN.toml {args[0]}"
                click.echo(own.get_help(click.Context(own, info_name=path)))
                ctx.exit()
            said = f"the plan comes first: {ctx.command_path} PLAN.toml {args[0]}"
            raise click.UsageError(said, ctx)
        return super().parse_args(ctx, args)


@click.group(cls=PlanFirst)
@click.argument("plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path))
@click.pass_context
def record(context: click.Context, plan_file: Path) -> None:
    """Keep what happens in the season, strip by strip, in records.gpkg beside the plan.

    An entry that is printed is on the disk. Nothing is changed or deleted later: undo, and
    --instead-of, add an entry that withdraws another.

    \b
    Examples:
      striplay record north.toml done --operation "plant corn" --pass 3 --lot A12
      striplay record north.toml stand --strip 12 --stand-count 31
      striplay record north.toml yield --strip 12 --grain "4210 lb" --moisture "18.5 %"
      striplay record north.toml event --what hail --strip 12
      striplay record north.toml remark --remark "rain for a week"
      striplay record north.toml load sheet.csv --operation "plant corn"
      striplay record north.toml list
      striplay record north.toml monitor corn.csv -o corn_map.pdf
      striplay record north.toml compare plots.csv
      striplay record north.toml journal -o journal.pdf
    """
    context.obj = plan_file


store_option = click.option(
    "--store", metavar="FILE.gpkg", type=click.Path(path_type=Path),
    help="Store of records; records.gpkg beside the plan when left out.",
)  # fmt: skip


def opened(plan_file: Path, store: Path | None, *, make: bool = True) -> "Records":
    """Open the records of a plan, and say of what else the store holds of its field."""
    from striplay.files.plan import read_plan
    from striplay.recording import open_records

    records = open_records(read_plan(plan_file), store, make=make)
    for line in records.apart:
        say(f"note: {line}", err=True)
    return records


ABOUT = {
    "done": (
        "Record that an operation, or a pass of it, was done.",
        'striplay record north.toml done --operation "plant corn" --pass 3 --lot A12',
    ),
    "stand": (
        "Record plants counted along one row.",
        "striplay record north.toml stand --strip 12 --stand-count 31",
    ),
    "event": (
        "Record something seen or that happened, with its place and a picture.",
        "striplay record north.toml event --what hail --longitude -93.512 --latitude 42.034",
    ),
    "yield": (
        "Record grain weighed of a strip, or cut by hand from some of its rows.",
        'striplay record north.toml yield --strip 12 --grain "4210 lb" --moisture "18.5 %"',
    ),
    "remark": (
        "Record a remark.",
        'striplay record north.toml remark --remark "rain for a week"',
    ),
}
"""What each kind of entry is for, and an example."""


def _kind_command(kind: str, about: str, example: str) -> click.Command:
    """Make the command that records a kind of entry, its options the words of that kind."""

    def run(plan_file: Path, store: Path | None, instead_of: int | None, **words: str) -> None:
        from striplay.records.words import read_entry

        with opened(plan_file, store) as records:
            given = {name: text for name, text in words.items() if text is not None}
            given.setdefault("date", _today().isoformat())
            entry = read_entry(
                kind, given, records.edition, _today(), records.folder,
                photos_from=Path.cwd(), withdraws=instead_of,
            )  # fmt: skip
            written = records.add([entry], today=_today())
            _say_entries(records, written)
            _say_unusual(records, written)

    named = sorted({*OF_ALL, *OF_KIND[kind]}, key=list(WORDS).index)
    return click.Command(
        kind,
        callback=click.pass_obj(run),
        params=[
            *(_word_option(name, kind) for name in named),
            click.Option(
                ["--instead-of"], metavar="NUMBER", type=click.IntRange(1),
                help="Number of the entry that this one corrects, which is withdrawn.",
            ),
            *_params(store_option),
        ],
        help=f"{about}\n\n\b\nExample:\n  {example}",
    )  # fmt: skip


OTHER_HELP = {
    "date": "The day, year-month-day; today when left out.",
    "photo": "Path of a picture.",
}
"""Where an option differs from the column of its name."""
OTHER_NAMES = {"operation": ("--operation", "--for")}


def _word_option(name: str, kind: str) -> click.Option:
    """Make the option of a word."""
    said = OTHER_HELP.get(name, WORDS[name][0].upper() + WORDS[name][1:] + ".")
    if name == "row" and kind == "stand":
        said = "Number of the row within the strip."
    names = OTHER_NAMES.get(name, (f"--{name.replace('_', '-')}",))
    return click.Option([*names, name], help=said, metavar=name.upper())


def _params(option: Callable[..., Any]) -> list[click.Parameter]:
    """Give the option that a decorator adds."""
    return click.command()(option(lambda: None)).params


def _today() -> date:
    return date.today()  # noqa: DTZ011 - the farm's day


def _say_entries(records: "Records", recorded: "Sequence[Recorded]") -> None:
    from striplay.records.told import entry_line

    for one in recorded:
        say(entry_line(one, records.edition))


def _say_unusual(records: "Records", written: "Sequence[Recorded]") -> None:
    from striplay.limits import MAX_OFFERED

    told = records.unusual(written)
    for notice in told[:MAX_OFFERED]:
        say(f"note: {notice}", err=True)
    if len(told) > MAX_OFFERED:
        say(f"note: {len(told) - MAX_OFFERED} more entries come to as much", err=True)


for _kind, (_about, _example) in ABOUT.items():
    record.add_command(_kind_command(_kind, _about, _example))


@record.command()
@click.option(
    "--entry", "number", metavar="NUMBER", type=click.IntRange(1),
    help="Number of the entry; the last one that stands when left out.",
)  # fmt: skip
@store_option
@click.pass_obj
def undo(plan_file: Path, number: int | None, store: Path | None) -> None:
    """Withdraw the last entry, or another by its number; it stays in the store, withdrawn.

    To undo an undo, name its number.

    \b
    Example:
      striplay record north.toml undo --entry 7
    """
    from striplay.errors import RecordError
    from striplay.records.entry import Undo
    from striplay.records.standing import last_standing

    with opened(plan_file, store, make=False) as records:
        recorded = records.recorded()
        if number is None:
            last = last_standing(recorded)
            if last is None:
                raise RecordError(["nothing is recorded of this plan, so nothing can be undone"])
            number = last.number
        written = records.add([Undo(day=_today(), withdraws=number)], today=_today())
        _say_entries(records, [*written, *(one for one in recorded if one.number == number)])


@record.command()
@click.argument("table", metavar="FILE.csv", type=click.Path(path_type=Path))
@click.option(
    "--operation", "--for", "operation", metavar="OPERATION", default="",
    help="The operation of the sheet that the table is typed from, for lines that name none.",
)  # fmt: skip
@click.option(
    "--date", "day", metavar="DATE", default="",
    help="The day that stands once on the sheet, year-month-day, for lines that state none.",
)  # fmt: skip
@click.option("--operator", default="", help="Who did it, likewise.")
@click.option("--lot", default="", help="Lot of the seed or product, likewise.")
@click.option(
    "--keep-good",
    is_flag=True,
    help="Record the lines that can be, and refuse the others; the exit status is 1 then.",
)
@store_option
@click.pass_obj
@click.pass_context
def load(
    context: click.Context, plan_file: Path, table: Path, operation: str, day: str, operator: str,
    lot: str, store: Path | None, *, keep_good: bool,
) -> None:  # fmt: skip
    """Record every line of a table: one typed from a printed record sheet, or an export.

    Columns, in any order, those of no use left out: kind, date, operation, pass, strip, piece, row,
    crop, start, stop, lot, stand_count, length, frame, grain, moisture, test_weight, what,
    longitude, latitude, photo, operator, remark; and done, the box ticked. Lines that say nothing
    but their strip are passed over. Where a line can't be, nothing is recorded.

    \b
    Example:
      striplay record north.toml load sheet.csv --operation "plant corn"
    """
    from striplay.errors import RecordError

    with opened(plan_file, store) as records:
        stated = {"operation": operation, "date": day, "operator": operator, "lot": lot}
        for_all = {name: text for name, text in stated.items() if text}
        read = records.read_table(table, _today(), for_all=for_all)
        if read.faults and not keep_good:
            raise RecordError(read.told, table.name)
        entries = [entry for line in read.lines for entry in line.entries]
        written = records.add(entries, today=_today()) if entries else []
        if read.faults:
            say(str(RecordError(read.told, table.name)), err=True)
        if read.blank:
            lines, are = ("line says", "is") if read.blank == 1 else ("lines say", "are")
            say(f"note: {read.blank} {lines} nothing but a strip, and {are} left out", err=True)
        numbers = f": {written[0].number} to {written[-1].number}" if len(written) > 1 else ""
        say(f"{len(written)} {'entry' if len(written) == 1 else 'entries'} recorded{numbers}")
        _say_unusual(records, written)
    if read.faults:
        context.exit(STOPPED)


@record.command(name="list")
@click.option(
    "--all", "every", is_flag=True, help="Tell withdrawn entries, and other editions', too."
)
@click.option("--strip", metavar="NUMBER", type=click.IntRange(1), help="Only of this strip.")
@click.option("--kind", type=click.Choice(list(OF_KIND)), help="Only of this kind.")
@click.option(
    "--since", metavar="YYYY-MM-DD", type=click.DateTime(["%Y-%m-%d"]),
    help="Only of this day and later.",
)  # fmt: skip
@click.option(
    "--until", metavar="YYYY-MM-DD", type=click.DateTime(["%Y-%m-%d"]),
    help="Only of this day and before.",
)  # fmt: skip
@store_option
@json_option
@click.pass_obj
def list_(
    plan_file: Path, store: Path | None, strip: int | None, kind: str | None,
    since: datetime | None, until: datetime | None, *, every: bool, as_json: bool,
) -> None:  # fmt: skip
    """List what is recorded of the plan, and what each entry comes to.

    \b
    Examples:
      striplay record north.toml list
      striplay record north.toml list --strip 12 --kind yield --since 2027-09-01
    """
    from striplay.records.standing import only
    from striplay.records.told import entries_data, entry_lines

    with opened(plan_file, store, make=False) as records:
        told = records.all_recorded() if every else records.recorded()
        first, last = (None if day is None else day.date() for day in (since, until))
        some = partial(only, strip=strip, kind=kind, since=first, until=last)
        if as_json:
            counted = records.recorded()
            data = entries_data(told, records.edition, counted, every=every, only=some)
            say_data(json.dumps(data, indent=2))
            return
        for line in entry_lines(told, records.edition, every=every, only=some):
            say(line)


@record.command()
@click.option(
    "-o", "--output", "path", metavar="FILE.csv", type=click.Path(path_type=Path),
    cls=Needed, example="striplay record north.toml export -o records.csv",
    help="File to write.",
)  # fmt: skip
@click.option(
    "--table", type=click.Choice(["entries", "yields", "stands"]), default="entries",
    show_default=True, help="Entries, as load reads them; or yields, or stands, strip by strip.",
)  # fmt: skip
@store_option
@click.pass_obj
def export(plan_file: Path, path: Path, table: str, store: Path | None) -> None:
    """Write entries that stand as CSV, or what strips yielded and how they stood.

    \b
    Example:
      striplay record north.toml export --table yields -o yields.csv
    """
    with opened(plan_file, store, make=False) as records:
        records.export(path, table)
    say(f"written to {path}")
