"""Read a plan file."""

import tomllib
from pathlib import Path

from striplay.errors import PlanError
from striplay.plan.check import check_plan
from striplay.plan.models import Plan


def read_plan(path: str | Path) -> Plan:
    """Read and check a plan.

    Args:
        path: a TOML file; paths inside it are taken from its folder.

    Raises:
        PlanError: the file can't be read, is not TOML, or holds faults; all of them are told.
    """
    path = Path(path)
    try:
        raw = tomllib.loads(path.read_bytes().decode("utf-8"))
    except OSError as error:
        raise PlanError(str(path), [f"can't be read: {error.strerror or error}"]) from error
    except UnicodeDecodeError as error:
        raise PlanError(path.name, [f"is not UTF-8 text (byte {error.start + 1})"]) from error
    except tomllib.TOMLDecodeError as error:
        raise PlanError(path.name, [f"is not TOML: {error}"]) from error
    return check_plan(raw, path.absolute())
