"""List and read the layers of a vector file, whatever its format."""

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from itertools import count, islice
from pathlib import Path
from typing import Any

import fiona

from striplay.errors import BoundaryError
from striplay.files.formats import GEOJSON, GEOPACKAGE, GEOPARQUET, Alone, laid_out
from striplay.files.geojson import WGS84, Found, read_geojson
from striplay.files.parquet import read_parquet
from striplay.files.regular import check_table
from striplay.limits import MAX_FEATURES, MAX_LAYERS, MAX_OFFERED
from striplay.plain import shortened

DAMAGED = "can't be read: it is empty, damaged or not what its name says"
ALONE = {
    "GML_SKIP_RESOLVE_ELEMS": "ALL",
    "GML_DOWNLOAD_WFS_SCHEMA": "NO",
    "GML_DOWNLOAD_SCHEMA": "NO",
    "GML_USE_SCHEMA_IMPORT": "NO",
    "OGR_SQLITE_LOAD_EXTENSIONS": "NO",
    "CPL_VSIL_CURL_ALLOWED_FILENAME": "none",
    "GDAL_HTTP_PROXY": "http://127.0.0.1:9",
    "GDAL_HTTP_MAX_RETRY": "0",
    "GDAL_HTTP_CONNECTTIMEOUT": "1",
    "GDAL_HTTP_TIMEOUT": "1",
}
"""What keeps fiona's library off the network and off other files, should a format's reader try."""


@dataclass(frozen=True)
class FileLayer:
    """A layer of a file.

    Attributes:
        name: what it is called.
        crs: its coordinate reference system; "" where the file states none.
        assumed: whether the format, not the file, says which it is.
        features: values by column, and geometry, of each feature in the file's order.
    """

    name: str
    crs: str
    assumed: bool
    features: tuple[Found, ...]

    @cached_property
    def kinds(self) -> Counter[str]:
        """How many features of each kind of geometry it has; "" for those without."""
        return Counter(shape["type"] if shape else "" for _, shape in self.features)

    @property
    def told(self) -> str:
        """What it is called and holds, in words.

        >>> FileLayer("plots", "", False, (({}, {"type": "Polygon"}), ({}, None))).told
        'plots (1 Polygon, 1 without a shape)'
        """
        held = [f"{number:,} {kind or 'without a shape'}" for kind, number in self.kinds.items()]
        return f"{shortened(self.name)} ({', '.join(held) or 'empty'})"

    @property
    def has_polygons(self) -> bool:
        """Whether a boundary may be in it."""
        return any("Polygon" in kind for kind in self.kinds)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a layer stands: its file, its number there, and its name."""

    file: Alone
    number: int
    name: str


def read_layer(path: Path, name: str | None = None) -> FileLayer:
    """Read a layer of a file, which need not be named where there is one.

    Raises:
        BoundaryError: no such file, one that can't be read, or a layer to be chosen.
    """
    with _refused_by(path.name), laid_out(path) as files:
        places = _places(files)
        chosen = [place for place in places if name is None or place.name == name]
        if len(chosen) == 1:
            return _read(chosen[0])
        if not chosen:
            names = _listed([shortened(place.name) for place in places], len(places))
            raise ValueError(f'has no layer "{name}"; it has {names or "none"}')
        if name is not None:
            raise ValueError(f'has {len(chosen)} layers "{name}"; give each a name of its own')
        raise ValueError(_which(chosen))


def _which(places: list[_Place]) -> str:
    """Ask which layer is meant, of the first ones; one that holds no polygon is not offered."""
    found: list[str] = []
    fit: list[str] = []
    for place in places[:MAX_OFFERED]:  # one at a time, for what they hold may be large
        layer = _read(place)
        found.append(layer.told)
        if layer.has_polygons:
            fit.append(layer.name)
    told = f"has {len(places)} layers: {_listed(found, len(places))}"
    if not fit:
        return f"{told}; choose one in the plan with layer"
    return f'{told}; choose one in the plan, such as layer = "{shortened(fit[0])}"'


def _listed(words: list[str], count: int) -> str:
    """List the first of so many words, and say how many more there are."""
    more = count - len(words[:MAX_OFFERED])
    return ", ".join(words[:MAX_OFFERED]) + (f" and {more} more" if more else "")


@contextmanager
def _refused_by(source: str) -> Iterator[None]:
    """Say whose a refusal is."""
    try:
        yield
    except ValueError as error:
        raise BoundaryError(f"{source}: {error}") from error


def _places(files: list[Alone]) -> list[_Place]:
    found: list[_Place] = []
    for place in (place for file in files for place in _places_in(file)):
        found.append(place)
        if len(found) > MAX_LAYERS:
            raise ValueError(f"has more than {MAX_LAYERS} layers; keep one farm's in it")
    if not found:
        raise ValueError(DAMAGED)
    return found


def _places_in(file: Alone) -> Iterator[_Place]:
    if not file.format.driver:
        yield _Place(file, 0, file.stem)
        return
    for number in count():
        try:
            with _opened(file, number) as collection:
                name = file.stem if file.format.one_layer else collection.name
        except ValueError:
            return
        yield _Place(file, number, name)


@contextmanager
def _opened(file: Alone, number: int, encoding: str | None = None) -> Iterator[Any]:
    """Open a layer by its format's own reader, and no other."""
    options = {"LIST_ALL_TABLES": "NO"} if file.format is GEOPACKAGE else {}
    try:
        with (
            fiona.Env(**ALONE),
            fiona.open(
                str(file.path),
                layer=number or None,  # fiona takes 0 for a name left out
                encoding=encoding,
                enabled_drivers=[file.format.driver],
                allow_unsupported_drivers=True,
                **options,
            ) as collection,
        ):
            yield collection
    except UnicodeDecodeError:
        raise
    except Exception as error:  # fiona and what it stands on have errors of every kind
        raise ValueError(DAMAGED) from error


def _read(place: _Place) -> FileLayer:
    file, assumed = place.file, False
    if file.format is GEOJSON:
        stated, features = read_geojson(file.path)
        assumed = stated is None
        crs = WGS84 if stated is None else stated
    elif file.format is GEOPARQUET:
        crs, features = read_parquet(file.path)
    else:
        try:
            crs, features = _by_fiona(place)
        except UnicodeDecodeError:  # text in another encoding than the file says
            crs, features = _by_fiona(place, "latin-1")
    check_table(shortened(place.name), len(features), 0)
    return FileLayer(place.name, crs, assumed, tuple(features))


def _by_fiona(place: _Place, encoding: str | None = None) -> tuple[str, list[Found]]:
    with _opened(place.file, place.number, encoding) as collection:
        columns = len(collection.schema["properties"])
        try:
            number = len(collection)
        except TypeError:  # of text, which is counted otherwise
            number = 0
    check_table(shortened(place.name), number, columns)
    with _opened(place.file, place.number, encoding) as collection:
        features: list[Found] = [
            (
                {"fid": feature.id, **feature.properties},
                feature.geometry.__geo_interface__ if feature.geometry else None,
            )
            for feature in islice(collection, MAX_FEATURES + 1)
        ]
        return collection.crs_wkt, features
