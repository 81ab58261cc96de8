"""Read task data strictly and hold it to what ISO 11783-10 asks of it.

The readers of the packages accept most faults, so a file is parsed with every unknown element,
attribute and value refused; then each object is held to its description in the model of the PyPI
package isoxml (needed, pattern, length, range, decimals, how many); then ids and references; then
what lines, rings and zones mean.
"""

import io
import json
import os
import re
import shutil
import subprocess
import zipfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import isoxml.models.base.v3 as version_3
import isoxml.models.base.v4 as version_4
import numpy as np
import pytest
import shapely
from xsdata.formats.dataclass.parsers import XmlParser
from xsdata.formats.dataclass.parsers.config import ParserConfig

NPM = Path(__file__).parent / "npm"
INSIDE = "TASKDATA/TASKDATA.XML"


def xml_of(packed: bytes) -> bytes:
    """Give the one file of a zip of task data."""
    with zipfile.ZipFile(io.BytesIO(packed)) as found:
        assert found.namelist() == [INSIDE]
        return found.read(INSIDE)


def strictly(xml: bytes) -> Any:
    """Read task data; whatever the standard does not know is refused."""
    model = version_4 if b'VersionMajor="4"' in xml[:400] else version_3
    config = ParserConfig(
        fail_on_unknown_properties=True,
        fail_on_unknown_attributes=True,
        fail_on_converter_warnings=True,
    )
    return XmlParser(config).from_bytes(xml, model.Iso11783TaskData)


def objects(data: Any) -> Iterator[Any]:
    """Give an object and all that stand within it."""
    yield data
    for one in fields(data):
        value = getattr(data, one.name)
        for each in value if isinstance(value, list) else [value]:
            if is_dataclass(each):
                yield from objects(each)


def faults(data: Any) -> list[str]:
    """Say all that is wrong with task data."""
    each = list(objects(data))
    return [
        *(fault for one in each for fault in _against_model(one)),
        *_ids(each),
        *(fault for one in each for fault in _meaning(one)),
    ]


def kind(one: Any) -> str:
    return type(one).__name__


def _against_model(one: Any) -> Iterator[str]:
    for described in fields(one):
        value, said = getattr(one, described.name), described.metadata
        where = f"{kind(one)}.{described.name}"
        if isinstance(value, list):
            if len(value) < said.get("min_occurs", 0):
                yield f"{where}: too few"
            if len(value) > said.get("max_occurs", len(value)):
                yield f"{where}: too many"
        elif value is None:
            if said.get("required"):
                yield f"{where}: is missing"
        elif not is_dataclass(value):
            yield from (f"{where}: {fault}: {value!r}" for fault in _value(value, said))


def _value(value: Any, said: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield from _text(value, said)
    # a length of 0 is what the model says of values of two types
    if isinstance(value, bytes) and said.get("length", 0) not in {0, len(value)}:
        yield "length"
    if isinstance(value, int | Decimal):
        least, most = (said.get(f"{end}_inclusive", value) for end in ("min", "max"))
        yield from () if least <= value <= most else ("out of range",)
    if isinstance(value, Decimal) and "fraction_digits" in said:
        exponent = value.as_tuple().exponent
        if not isinstance(exponent, int) or -exponent > said["fraction_digits"]:
            yield "decimals"


UNSEEN = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")


def _text(text: str, said: Any) -> Iterator[str]:
    if "pattern" in said and not re.fullmatch(said["pattern"], text):
        yield "pattern"
    if not said.get("min_length", 1) <= len(text) <= said.get("max_length", 32):
        yield "length"
    if text != text.strip() or UNSEEN.search(text):
        yield "controls, or blanks round it"


def _ids(each: Sequence[Any]) -> Iterator[str]:
    own = [one.id for one in each if getattr(one, "id", None) is not None]
    yield from (f"{number}: twice" for number, count in Counter(own).items() if count > 1)
    yield from (
        f"{number}: no plain id" for number in own if not re.fullmatch(r"[A-Z]{3}\d{1,11}", number)
    )
    for one in each:
        for described in fields(one):
            value = getattr(one, described.name)
            if described.name.endswith("_id_ref") and value is not None and value not in own:
                yield f"{kind(one)}.{described.name}: {value} is nowhere"


def kinds_of(line: Any) -> list[str]:
    """Give the types of a line's points."""
    return [point.type.value for point in line.points]


RINGS = {"1", "2"}
ENDS = {"1": ("6", "7"), "2": ("6", "7"), "3": ("6", "7")}


def _meaning(one: Any) -> Iterator[str]:
    named = kind(one)
    if named == "LineString" and one.type.value in RINGS:
        yield from _ring(one)
    if named == "GuidanceGroup" and not one.guidance_patterns:
        yield "GuidanceGroup: is empty"
    if named == "GuidancePattern":
        yield from _pattern(one)
    if named == "Polygon":
        outer = [ring for ring in one.line_strings if ring.type.value == "1"]
        if len(outer) != 1 or any(ring.type.value not in RINGS for ring in one.line_strings):
            yield "Polygon: not one outer ring"
        elif not faults_of_rings(one) and not shape_of(one).is_valid:
            yield "Polygon: crosses itself"
    if named == "Task":
        codes = [zone.code for zone in one.treatment_zones]
        yield from (f"zone {code}: twice" for code, count in Counter(codes).items() if count > 1)
        for name in ("default", "position_lost", "out_of_field"):
            code = getattr(one, f"{name}_treatment_zone_code")
            if code is not None and code not in codes:
                yield f"Task: {name} zone {code} is nowhere"


def faults_of_rings(polygon: Any) -> list[str]:
    return [fault for ring in polygon.line_strings for fault in _ring(ring)]


def _ring(ring: Any) -> Iterator[str]:
    at = lonlat_of(ring)
    if len(at) < 4 or at[0].tolist() != at[-1].tolist():
        yield "LineString: a ring that is not closed"


def _pattern(one: Any) -> Iterator[str]:
    (line,) = one.line_strings
    found, of = kinds_of(line), one.type.value
    if line.type.value != "5":
        yield "GuidancePattern: no line to steer by"
    if of in ENDS:
        begins, ends = ENDS[of]
        if len(found) < 2 or (found[0], found[-1]) != (begins, ends) or {*found[1:-1]} - {"9"}:
            yield f"GuidancePattern: points {found}"
        if of == "1" and len(found) != 2:
            yield "GuidancePattern: a straight line has two points"
    if of == "4":
        full = one.options is not None and one.options.value == "3"
        if found != (["8"] if full else ["8", "6", "7"]) or not one.radius:
            yield f"GuidancePattern: a circle of {found}, radius {one.radius}"
    if one.propagation_direction is None or one.extension is None:
        yield "GuidancePattern: how it spreads is not said"


def lonlat_of(line: Any) -> np.ndarray:
    """Give a line's points as longitude and latitude, (n, 2)."""
    return np.array([[float(point.east), float(point.north)] for point in line.points])


def shape_of(polygon: Any) -> shapely.Polygon:
    """Give a polygon in longitude and latitude."""
    rings = [lonlat_of(ring) for ring in polygon.line_strings]
    types = [ring.type.value for ring in polygon.line_strings]
    outer = rings[types.index("1")]
    return shapely.Polygon(
        outer, [ring for ring, of in zip(rings, types, strict=True) if of == "2"]
    )


def off_place(data: Any, bounds: Sequence[float]) -> list[str]:
    """Give the points of task data outside some bounds, such as with degrees swapped."""
    west, south, east, north = bounds
    return [
        f"{point.east}, {point.north}"
        for point in objects(data)
        if kind(point) == "Point"
        and not (west <= point.east <= east and south <= point.north <= north)
    ]


NO_NODE = "node, or what `npm ci` installs in tests/npm, is missing"


def node_is_ready() -> bool:
    """Tell whether node can run with the npm package isoxml.

    With STRIPLAY_ALL_TESTS in the environment it must.
    """
    ready = shutil.which("node") is not None and (NPM / "node_modules" / "isoxml").is_dir()
    if not ready and os.environ.get("STRIPLAY_ALL_TESTS"):
        pytest.fail(NO_NODE)
    return ready


def read_in_node(folder: Path, packed: Sequence[bytes]) -> list[Any]:
    """Read zips of task data with the npm package isoxml."""
    names = []
    for number, data in enumerate(packed):
        path = folder / f"{number}.zip"
        path.write_bytes(data)
        names.append(str(path))
    done = subprocess.run(
        ["node", str(NPM / "read_task_data.mjs"), *names],  # noqa: S607 - the one found first
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    found: list[Any] = json.loads(done.stdout)
    return found
