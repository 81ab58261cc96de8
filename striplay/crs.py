"""Read a coordinate reference system of places on the ground, and none that reads files.

A file from someone else may state one that names a grid of shifts, which would be opened.
"""

import json
import re
from functools import lru_cache
from typing import Any

import pyproj
from pyproj.exceptions import CRSError

from striplay.errors import BoundaryError
from striplay.limits import MAX_CRS_LENGTH
from striplay.plain import shortened

NO_GRID = re.compile(r'(?:nadgrids\s*=\s*|"PROJ4_GRIDS"\s*,\s*")@null(?=[\s"]|$)', re.IGNORECASE)
"""What says in older files that there is no grid, as in those of web maps."""
READS_FILES = re.compile(
    r"grids|(?:init|model|file|catalog)\s*=|parameterfile|\bfile\b", re.IGNORECASE
)
"""What makes a coordinate reference system read further files: none of EPSG's holds it."""


UNREADABLE = (CRSError, RecursionError, ValueError)
"""How pyproj refuses a text: unknown, JSON nested too deeply, halves of characters."""
NAMES_FILES = (
    "its coordinate reference system names further files, which are not read; state one such as "
    'crs = "EPSG:26915"'
)


CRS_KEPT = 16
"""Coordinate reference systems that are kept once read: each takes milliseconds to parse."""
IN_FILES = re.compile(r"PROJ4_GRIDS|nadgrids|geoidgrids|PARAMETERFILE|\+init=", re.IGNORECASE)
"""The words of it that are no one's name for a farm."""


class _NamesFilesError(Exception):
    """A coordinate reference system that names further files."""


def read_crs(source: str, text: str) -> pyproj.CRS:
    """Read a coordinate reference system of places on the ground, one that reads no file.

    Args:
        source: what messages call the file that states it.
        text: a code such as "EPSG:26915", WKT, a PROJ string or PROJJSON.

    Raises:
        BoundaryError: it is none.
    """
    try:
        crs = _parsed(text)
    except _NamesFilesError as error:
        raise BoundaryError(f"{source}: {NAMES_FILES}") from error
    except UNREADABLE as error:
        raise BoundaryError(
            f'{source}: "{shortened(text)}" is no known coordinate reference system; '
            'write one such as crs = "EPSG:26915"'
        ) from error
    if not (crs.is_geographic or crs.is_projected):
        raise BoundaryError(
            f"{source}: {shortened(crs.name)} is no coordinate reference system of places on the "
            'ground; state one such as crs = "EPSG:26915"'
        )
    return crs


@lru_cache(CRS_KEPT)
def into_degrees(text: str) -> pyproj.Transformer:
    """Give what turns coordinates of a system that was read into longitude and latitude, WGS 84."""
    return pyproj.Transformer.from_crs(_parsed(text), "EPSG:4326", always_xy=True)


def same_crs(one: str, other: str) -> bool:
    """Tell whether two texts mean one coordinate reference system, its axes' order left out."""
    try:
        first, second = _parsed(one), _parsed(other)
    except (*UNREADABLE, _NamesFilesError):
        return False
    if first.equals(second, ignore_axis_order=True):
        return True
    code = first.to_epsg()
    return code is not None and code == second.to_epsg()


def names_files(text: str) -> bool:
    """Tell whether a coordinate reference system may name further files, without parsing it."""
    try:
        _plain(text)
    except (CRSError, _NamesFilesError):
        return True
    return False


def holds_named_files(content: bytes) -> bool:
    """Tell whether a file that holds much else states a coordinate reference system that does."""
    # some hold their text two bytes a letter
    return bool(IN_FILES.search(NO_GRID.sub("", content.replace(b"\0", b"").decode("latin-1"))))


@lru_cache(CRS_KEPT)
def _parsed(text: str) -> pyproj.CRS:
    """Parse text, judged before and after: parsing opens no file, using the result would.

    The last few are kept: the fields of a file share one.

    Raises:
        CRSError: it is no coordinate reference system.
        _NamesFilesError: it names further files.
    """
    crs = pyproj.CRS.from_user_input(_plain(text))
    _check_values(crs.to_json_dict())
    return crs


def _plain(text: str) -> str:
    """Give text, JSON without escapes, that names no files; errors as in `_parsed`."""
    if len(text) > MAX_CRS_LENGTH:
        raise CRSError("too long")
    if text.lstrip().startswith("{"):
        # written anew without escapes, which would hide what is looked for, and keys given twice
        try:
            content = json.loads(text)
            _check_values(content)
            text = json.dumps(content, ensure_ascii=False)
        except (ValueError, RecursionError) as error:
            raise CRSError("no JSON") from error
    if READS_FILES.search(NO_GRID.sub("", text)):
        raise _NamesFilesError
    return text


def _check_values(content: Any) -> None:  # noqa: ANN401 - JSON
    """Check that no parameter has text for its value: it would be the name of a file."""
    if isinstance(content, dict):
        if isinstance(content.get("value"), str) and content["value"] != "@null":
            raise _NamesFilesError
        content = list(content.values())
    if isinstance(content, list):
        for each in content:
            _check_values(each)
