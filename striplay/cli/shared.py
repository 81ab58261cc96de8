"""Share what several commands need: words on the terminal, options, progress."""

import logging
import sys
from datetime import date, datetime
from pathlib import Path
from typing import Any

import click

from striplay.errors import StriplayError
from striplay.plain import escaped, plain, plain_lines


def say(text: str, *, err: bool = False) -> None:
    """Write a text on stdout, or `err` on stderr; nothing in it moves the terminal's cursor."""
    click.echo(plain_lines(text), err=err)


def say_data(text: str) -> None:
    """Write JSON text on stdout."""
    click.echo(escaped(text.removesuffix("\n")))


class Needed(click.Option):
    """An option that must be given; a command without it is shown how."""

    def __init__(
        self,
        *names: Any,  # noqa: ANN401 - click's own
        example: str,
        what: str = "where to write",
        **how: Any,  # noqa: ANN401 - as above
    ) -> None:
        self.example, self.what = example, what
        super().__init__(*names, **how, required=True)

    def process_value(self, ctx: click.Context, value: Any) -> Any:  # noqa: ANN401 - click's own
        """Take its value; a refusal says what it is for, and first which file is not there."""
        try:
            return super().process_value(ctx, value)
        except click.MissingParameter:
            _check_there(ctx)
            said = f"{self.opts[0]} is missing: {self.what}; for example {self.example}"
            raise click.UsageError(said, ctx) from None


def _check_there(ctx: click.Context) -> None:
    """Check that the files a command is to read are there.

    Raises:
        StriplayError: one is not.
    """
    from striplay.files.regular import check_there

    read = (one.name for one in ctx.command.params if isinstance(one, click.Argument))
    for path in (ctx.params.get(name or "") for name in read):
        if isinstance(path, Path):
            check_there(path, StriplayError)


class Day(click.ParamType[date]):
    """A day, written year-month-day."""

    name = "day"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> date:
        """Read a day; a refusal says how it is written."""
        try:
            return datetime.strptime(str(value), "%Y-%m-%d").date()  # noqa: DTZ007 - no hour
        except ValueError:
            told = f"{value} is no day; write year-month-day, such as 2026-06-15"
            self.fail(told, param, ctx)


class FileKinds(click.ParamType[tuple[str, ...]]):
    """Kinds of files, their names parted by commas."""

    name = "kinds"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, ...]:
        """Read the names; a refusal says which there are."""
        from striplay.errors import OutputError
        from striplay.files.writers import chosen

        names = tuple(name for name in (one.strip() for one in str(value).split(",")) if name)
        try:
            chosen(names)
        except OutputError as error:
            self.fail(str(error), param, ctx)
        return names


class _Plain(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        return plain(super().format(record))


def show_progress() -> None:
    """Show what long work has come to on stderr, where a person is watching."""
    if sys.stderr.isatty():
        shown = logging.StreamHandler(sys.stderr)
        shown.setFormatter(_Plain("%(message)s"))
        logging.basicConfig(handlers=[shown])
        logging.getLogger("striplay").setLevel(logging.INFO)


json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print results as JSON on stdout, and nothing else."
)
map_book_option = click.option(
    "--map-book/--no-map-book", default=True, help="Draw mapbook.pdf (default) or leave it out."
)
