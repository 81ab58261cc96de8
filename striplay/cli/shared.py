"""Share what several commands need: refusals, options, progress."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
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


def progress() -> Callable[[str], None]:
    """Give a function that shows which file is being written, where a person is watching."""
    watched = sys.stderr.isatty()

    def tell(name: str) -> None:
        if watched:
            click.echo(f"writing {name}", err=True)

    return tell


json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print results as JSON on stdout, and nothing else."
)
map_book_option = click.option(
    "--map-book/--no-map-book", default=True, help="Draw mapbook.pdf (default) or leave it out."
)
