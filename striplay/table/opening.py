"""Open a boundary that a page sends, or draw one: a file beside the plan, and a plan for it."""

import itertools
import math
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from striplay.errors import BoundaryError
from striplay.files.drawn import drawn_text
from striplay.files.folder import make_new
from striplay.ground import Ground, Plane
from striplay.limits import MAX_BINARY_BYTES, MAX_DRAWN_CORNERS, MAX_FIELD_EXTENT_M
from striplay.plan.models import FieldSource
from striplay.plan.template import plan_template
from striplay.table.child import Workers
from striplay.table.desk import Desk
from striplay.table.long_work import read_boundary
from striplay.table.names import boundary_name
from striplay.units import format_area

OF_FIELD = (
    "field.crs", "field.layer", "field.where", "field.obstacles", "direction.along",
    "direction.pivot", "direction.offset", "blocks", "gate",
)  # fmt: skip
"""Keys that are true of one field alone."""
LEAST_CORNERS = 3
MOST_LATITUDE_DEG = 85.0


async def open_boundary(desk: Desk, name: str, data: bytes, workers: Workers) -> str:
    """Keep a boundary in the plan's folder, and give the text of a plan for it.

    Args:
        desk: what is on the table; its machines and crops stay.
        name: what the file was called; it tells the format alone.
        data: its bytes.
        workers: do long work.

    Raises:
        StriplayError: a file that can't be used; nothing is kept then.
    """
    if len(data) > MAX_BINARY_BYTES:
        raise BoundaryError(f"the file is larger than {MAX_BINARY_BYTES // 1_000_000} MB")
    own = boundary_name(name)
    with TemporaryDirectory(prefix="striplay-table-") as folder:
        path = Path(folder) / own
        path.write_bytes(data)
        ground = await workers.do(read_boundary, path)
    kept = _keep(desk.path.parent, own, data)
    return text_for(desk, kept.name, kept.stem, ground)


async def draw_boundary(desk: Desk, message: Mapping[str, Any], workers: Workers) -> str:
    """Keep a boundary drawn by hand in the plan's folder, and give the text of a plan for it.

    Raises:
        StriplayError: no ring, or one that is no field.
    """
    ring_m, plane = _ring_of(message.get("ring_m")), _plane_of(message)
    data = drawn_text(plane.to_lonlat(ring_m))
    return await open_boundary(desk, "drawn_by_hand.geojson", data, workers)


def _ring_of(ring: object) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Read the corners of a field in meters east and north, (n, 2)."""
    told = f"a drawn field has {LEAST_CORNERS} to {MAX_DRAWN_CORNERS} corners, each [east, north]"
    if not isinstance(ring, list) or not LEAST_CORNERS <= len(ring) <= MAX_DRAWN_CORNERS:
        raise BoundaryError(told)
    if not all(isinstance(p, list) and len(p) == 2 and all(map(_is_number, p)) for p in ring):  # noqa: PLR2004 - a pair
        raise BoundaryError(told)
    points_m = np.array(ring, dtype=np.float64)
    if np.abs(points_m).max() > MAX_FIELD_EXTENT_M:
        raise BoundaryError("a drawn field is wider than any")
    return points_m


def _plane_of(message: Mapping[str, Any]) -> Plane:
    """Read where on the earth a field is drawn."""
    longitude, latitude = message.get("longitude"), message.get("latitude")
    if not (_is_number(longitude) and _is_number(latitude)):
        raise BoundaryError("say where the field is: latitude and longitude, in degrees")
    if abs(float(latitude)) > MOST_LATITUDE_DEG or abs(float(longitude)) > 180.0:  # type: ignore[arg-type]  # noqa: PLR2004 - a turn
        raise BoundaryError("no field is there; latitude is -85 to 85, longitude -180 to 180")
    return Plane(float(longitude), float(latitude))  # type: ignore[arg-type]


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _keep(folder: Path, name: str, data: bytes) -> Path:
    """Write a new file in a folder under a name, or the name with the first number that is free."""
    stem, ending = Path(name).stem, Path(name).suffix

    def write(fresh: Path) -> None:
        fresh.write_bytes(data)

    for number in itertools.count(1):
        path = folder / (name if number == 1 else f"{stem}_{number}{ending}")
        if path.exists() and path.is_file() and not path.is_symlink() and (
            path.stat().st_size == len(data) and path.read_bytes() == data
        ):  # fmt: skip
            return path
        if make_new(path, write):
            return path
    raise AssertionError  # numbers do not end


def text_for(desk: Desk, name: str, title: str, ground: Ground) -> str:
    """Give a plan for a boundary: the one on the table on other ground, or one to fill in."""
    if desk.history is None:
        found = format_area(ground.outline.area, "us")
        return plan_template(title, FieldSource(boundary=name), "us", found)
    changes: dict[str, Any] = dict.fromkeys(OF_FIELD)
    return desk.changed({**changes, "field.boundary": name, "direction.heading": "best"})
