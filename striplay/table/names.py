"""Check the names of files that a page asks for: none leads out of the plan's folder."""

import re
from pathlib import Path

from striplay.errors import OutputError
from striplay.files.formats import FORMATS
from striplay.limits import MAX_NAME_BYTES, MAX_NAME_LENGTH
from striplay.plain import plain

_RESERVED = re.compile(r"(?:con|prn|aux|nul|com\d|lpt\d)", re.IGNORECASE)
"""Names that are devices to some systems, whatever their ending."""
_UNFIT = frozenset('<>:"/\\|?*')
PACKED = {".zip", ".kmz"}


def check_plan_name(name: object, folder: Path) -> Path:
    """Give the file of a plan that is to be saved in a folder under a name.

    Raises:
        OutputError: no name of a plan, or one that leads elsewhere.
    """
    text = name.strip() if isinstance(name, str) else ""
    why = _why_unfit(text)
    if why:
        raise OutputError(f"{plain(text)[:MAX_NAME_LENGTH]}: {why}; a name such as north_2.toml")
    path = folder / (text if text.lower().endswith(".toml") else f"{text}.toml")
    if path.is_symlink() or (path.exists() and not path.is_file()):
        raise OutputError(f"{path.name}: is no file of this folder; give another name")
    return path


def _why_unfit(text: str) -> str:
    """Say why a text is no name of a file in a folder; empty where it is one."""
    if not text or text.startswith("."):
        return "is no name"
    if len(text) > MAX_NAME_LENGTH or len(text.encode(errors="replace")) > MAX_NAME_BYTES:
        return "is too long"
    if not text.isprintable() or plain(text) != text or _UNFIT & set(text) or text.endswith("."):
        return "holds what no file's name may"
    if _RESERVED.fullmatch(text.split(".", maxsplit=1)[0].strip()):
        return "is the name of a device"
    return ""


def boundary_name(name: str) -> str:
    """Give a name of our own for a boundary that a page sends under some name.

    Only letters, digits, dashes and lines under of it are kept, and an ending that tells a format.

    Raises:
        OutputError: an ending that tells none.

    >>> boundary_name("../../Home field (2).GeoJSON"), boundary_name("con.zip")
    ('Home_field_2.geojson', 'boundary.zip')
    """
    last = re.split(r"[/\\]", name)[-1]
    stem, dot, ending = last.rpartition(".")
    ending = f"{dot}{ending}".lower()
    if ending not in {*FORMATS, *PACKED} or ending == ".gdb":
        told = "GeoJSON, a zipped Shapefile, KML, KMZ, GeoPackage, GeoParquet"
        raise OutputError(f"{plain(last)[:MAX_NAME_LENGTH]}: is no boundary by its ending: {told}")
    kept = re.sub(r"[^A-Za-z0-9-]+", "_", stem).strip("_-")[:40]
    return f"{kept if kept and not _RESERVED.fullmatch(kept) else 'boundary'}{ending}"
