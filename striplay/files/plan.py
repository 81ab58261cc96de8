"""Read a plan file."""

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from striplay.errors import OutputError, PlanError
from striplay.files.regular import NOT_THERE, lies_outside, whole
from striplay.files.toml_words import in_words
from striplay.files.writers import WRITERS
from striplay.limits import MAX_KEY_PARTS, MAX_PLAN_BYTES
from striplay.notices import Kind, Notice
from striplay.plan.check import check_plan
from striplay.plan.models import Plan

_PART = r"""(?:(?<![\w-])[\w-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')[ \t]*+"""
DEEP_KEY = re.compile(rf"{_PART}(?:\.[ \t]*+{_PART}){{{MAX_KEY_PARTS}}}")
"""A key of more parts with dots between than any has: reading it takes the square of their number.
Text that looks like one is taken for one."""


def read_plan(path: str | Path) -> Plan:
    """Read and check a plan.

    Args:
        path: a TOML file; paths inside it are taken from its folder.

    Raises:
        PlanError: the file can't be read, is not TOML, or holds faults; all of them are told.
    """
    return checked(read_tables(path), Path(path))


def checked(tables: Mapping[str, Any], path: Path) -> Plan:
    """Check a plan's tables as if they were read from a file; errors as `read_plan`."""
    return check_plan(tables, path.absolute(), WRITERS)


def read_tables(path: str | Path) -> dict[str, Any]:
    """Read a plan's tables as they are written, unchecked; `path` and errors as `read_plan`."""
    path = Path(path)
    return tables_in(read_text(path), path.name)


def plan_in(text: str, path: Path) -> Plan:
    """Read and check a plan's text as if it stood in a file; errors as `read_plan`."""
    if len(text) > MAX_PLAN_BYTES:
        told = f"is longer than {MAX_PLAN_BYTES // 1_000_000} MB, as no plan is"
        raise PlanError(path.name, [told])
    check_keys(text, path.name)
    return checked(tables_in(text, path.name), path)


def tables_in(text: str, name: str) -> dict[str, Any]:
    """Take a plan's text for TOML, unchecked; errors as `read_plan`."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise PlanError(name, [in_words(text, error)]) from error
    except RecursionError as error:
        raise PlanError(name, ["is not TOML: it is nested too deeply"]) from error
    except ValueError as error:  # Python turns down whole numbers of thousands of digits
        raise PlanError(name, ["holds a number with too many digits"]) from error


def read_text(path: Path) -> str:
    """Read a plan's text, not yet taken for TOML; errors as `read_plan`."""
    try:
        text = whole(path, MAX_PLAN_BYTES).decode("utf-8-sig")
    except FileNotFoundError:
        raise PlanError(str(path), [NOT_THERE]) from None
    except OSError as error:
        raise PlanError(str(path), [f"can't be read: {error.strerror or error}"]) from error
    except UnicodeDecodeError as error:
        raise PlanError(path.name, [f"is not UTF-8 text (byte {error.start + 1})"]) from error
    except ValueError as error:
        raise PlanError(str(path), [str(error)]) from error
    check_keys(text, path.name)
    return text


def check_keys(text: str, name: str) -> None:
    """Check that no key of a text has so many parts that reading it would take long."""
    chain = DEEP_KEY.search(text)
    if chain is not None:
        line = text.count("\n", 0, chain.start()) + 1
        told = f"line {line}: a key has more than {MAX_KEY_PARTS} parts; a plan's has four"
        raise PlanError(name, [told])


def files_outside(plan: Plan) -> list[Notice]:
    """Tell which files a plan reads from outside its own folder.

    A plan from someone else may name any file of this computer.
    """
    folder = plan.path.parent
    return [
        Notice(kind, "know", None, f'{key}: "{file}" lies outside the folder of the plan')
        for kind, key, file in _named(plan)
        if lies_outside(folder / file, folder)
    ]


def check_spares(plan: Plan, folder: Path) -> None:
    """Check that neither a plan nor a file it names lies in the folder that is to be replaced.

    Raises:
        OutputError: one does.
    """
    named = [("the plan", plan.path.name), *((key, file) for _, key, file in _named(plan))]
    for key, file in named:
        if folder.exists() and not lies_outside(plan.path.parent / file, folder):
            raise OutputError(
                f'{folder}: {key}, "{file}", lies in it and would be lost; move it elsewhere, or '
                "give a new folder's name with -o"
            )


def contents_beside(plan: Plan) -> list[bytes]:
    """Give what is in the files that a plan names besides boundary and obstacles, as they are."""
    paths = [
        plan.path.parent / file
        for kind, _, file in _named(plan)
        if kind not in {"boundary", "obstacle"}
    ]
    return [path.read_bytes() for path in paths if path.is_file()]


def _named(plan: Plan) -> list[tuple[Kind, str, str]]:
    """List the files a plan names: what of, its key, and the file as written."""
    named: list[tuple[Kind, str, str | None]] = []
    if plan.field is not None:
        named.append(("boundary", "field.boundary", plan.field.boundary))
        named.append(("obstacle", "field.obstacles", plan.field.obstacles))
    named.append(("heading", "direction.along", plan.direction.along))
    if plan.weather is not None:
        named.append(("weather", "weather.file", plan.weather.file))
    if plan.blocks != "suggest":
        named += [
            ("blocks", f"blocks[{number}].file", block.file)
            for number, block in enumerate(plan.blocks, start=1)
        ]
    return [(kind, key, file) for kind, key, file in named if file is not None]
