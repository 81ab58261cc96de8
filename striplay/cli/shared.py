"""Share what several commands need: refusals, options, progress."""

import logging
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from typing import NoReturn

import click

from striplay.errors import AccountsError, StriplayError

UNUSABLE = 2
FAULTY = 1


@contextmanager
def refusals() -> Iterator[None]:
    """Turn a refusal into its message on stderr and exit status 2."""
    try:
        yield
    except AccountsError as error:
        refuse(str(error), FAULTY)
    except StriplayError as error:
        refuse(str(error))


def refuse(message: str, status: int = UNUSABLE) -> NoReturn:
    """Write a message on stderr and leave, with exit status 2 unless told otherwise."""
    click.echo(f"striplay: {message}", err=True)
    raise SystemExit(status)


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


def show_progress() -> None:
    """Show what long work has come to on stderr, where a person is watching."""
    if sys.stderr.isatty():
        logging.basicConfig(format="%(message)s", stream=sys.stderr)
        logging.getLogger("striplay").setLevel(logging.INFO)


json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print results as JSON on stdout, and nothing else."
)
map_book_option = click.option(
    "--map-book/--no-map-book", default=True, help="Draw mapbook.pdf (default) or leave it out."
)
