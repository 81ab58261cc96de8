"""Run commands, and turn whatever ends one into a line on stderr and an exit status.

The one place where that is done. Exit status: 0 done; 2 wrong use, or a plan, boundary or output
folder that can't be used; 1 anything else.
"""

import os
import sys
import traceback
from contextlib import suppress
from pathlib import Path
from typing import Any, NoReturn

import click

from striplay import __version__
from striplay.cli.ended import ends_clean
from striplay.cli.shared import say
from striplay.errors import AccountsError, PassError, StriplayError, WriteError
from striplay.plain import plain

UNUSABLE, STOPPED = 2, 1
"""Exit status of what the user can mend, and of all else."""
LOG = "STRIPLAY_LOG"
"""The environment variable that names a file for the traceback of a fault."""


class Commands(click.Group):
    """Commands that never end in a traceback."""

    def main(self, *arguments: Any, **options: Any) -> Any:  # noqa: ANN401 - click's own
        """Run the program; say in a line what the system refused, its help not printed too."""
        try:
            return super().main(*arguments, **options)
        except OSError as error:
            _leave(error, _of_system(error) or _fault(error), STOPPED)

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401 - click's own
        """Run a command; say in a line what stopped it, if anything did."""
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):
                # a character that the terminal does not know is no reason to stop
                stream.reconfigure(errors="replace")
        try:
            try:
                with ends_clean(STOPPED):
                    found = super().invoke(ctx)
            finally:
                if sys.stdout is not None:  # it is closed where no one wants it
                    sys.stdout.flush()
        except StriplayError as error:
            _leave(error, str(error), _status(error))
        except KeyboardInterrupt:
            raise SystemExit(STOPPED) from None
        except BrokenPipeError:  # whoever read the output has seen enough
            _drop_output()
            raise SystemExit(STOPPED) from None
        except click.ClickException as error:
            error.__dict__["message"] = plain(error.message)  # it quotes what was typed
            raise
        except (click.exceptions.Exit, click.Abort, OSError):  # `main` says what the system refused
            raise
        except Exception as error:  # noqa: BLE001 - whatever it is, its user gets no traceback
            _leave(error, _fault(error), STOPPED)
        return found


def _status(error: StriplayError) -> int:
    """Give the exit status of a refusal."""
    return STOPPED if isinstance(error, AccountsError | PassError | WriteError) else UNUSABLE


def _drop_output() -> None:
    """Drop what still waits to go to stdout, so that Python does not try again as it ends."""
    with suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _of_system(error: OSError) -> str:
    """Say what stops any command: stdout that takes no more, or no folder to work in; else ""."""
    if error.strerror and error.filename is None and not isinstance(error, FileNotFoundError):
        _drop_output()  # of all that is written it alone has no name
        return (
            f"stdout: can't be written: {error.strerror}; where it goes to a file, make room on "
            "that disk, or name a file elsewhere"
        )
    try:
        Path.cwd()
    except FileNotFoundError:
        return "the folder you work in is no longer there; change to another (cd), and run it again"
    return ""


def _leave(error: BaseException, said: str, status: int) -> NoReturn:
    """Say what stopped a command, log how it came to it where that is asked for, and leave."""
    with suppress(OSError):
        say(f"striplay: {said}", err=True)
    path = os.environ.get(LOG)
    if path:
        try:
            with open(path, "a", encoding="utf-8", errors="replace") as log:  # noqa: PTH123
                log.write(f"striplay {__version__}: {' '.join(sys.argv[1:])}\n")
                log.write("".join(traceback.format_exception(error)))
        except OSError as refused:
            say(f"striplay: {path}: can't be written: {refused.strerror}", err=True)
    raise SystemExit(status) from None


def _fault(error: BaseException) -> str:
    """Say that a fault of striplay's own stopped it, and what to report; nothing of any file."""
    if isinstance(error, MemoryError):
        return "memory ran out; a smaller field, or fewer and wider strips, would do"
    python = ".".join(map(str, sys.version_info[:3]))
    return (
        f"stopped by a fault of its own ({type(error).__name__}), and wrote nothing more. Please "
        f"report it with: striplay {__version__}, Python {python} on {sys.platform}; the command "
        f'"{" ".join(["striplay", *sys.argv[1:]])}"; the plan and the files it names. To send how '
        f"it came about too, set {LOG} to a file's name and run it again"
    )
