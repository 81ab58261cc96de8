"""List and read the layers of a vector file, whatever its format."""

from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import count, islice
from pathlib import Path
from typing import Any

import fiona

from striplay.errors import BoundaryError
from striplay.files.formats import GEOJSON, GEOPACKAGE, GEOPARQUET, Alone, laid_out
from striplay.files.geojson import WGS84, Found, read_geojson
from striplay.files.parquet import read_parquet, stream_parquet
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
        return _read(_chosen(_places(files), name))


@dataclass(frozen=True, slots=True)
class LayerStream:
    """A layer whose features are taken one at a time, so that it need not fit into memory.

    Attributes:
        name: what it is called.
        crs: its coordinate reference system; "" where the file states none.
        assumed: whether the format, not the file, says which it is.
        columns: names of its columns.
        count: how many features it has; None where that is not known before they are read.
        features: gives them in the file's order, anew each time; raises BoundaryError where the
            file is damaged.
    """

    name: str
    crs: str
    assumed: bool
    columns: tuple[str, ...]
    count: int | None
    features: Callable[[], Iterator[Found]]


@contextmanager
def streamed_layer(path: Path, name: str | None = None) -> Iterator[LayerStream]:
    """Open a layer of a file to take its features one at a time; name and errors as `read_layer`.

    GeoPackage and GeoParquet are never held whole; files in other formats are, and may be smaller.
    """
    with laid_out(path, streamed=True) as files:
        with _refused_by(path.name):
            stream = _stream(_chosen(_places(files), name))
        yield replace(stream, features=lambda: _refused(path.name, stream.features()))


def _refused(source: str, features: Iterator[Found]) -> Iterator[Found]:
    """Say whose a refusal is, of features taken one at a time."""
    with _refused_by(source):
        yield from features


def _stream(place: _Place) -> LayerStream:
    """Open a layer to take its features one at a time; errors as `_read`."""
    file, held = place.file, None
    if file.format is GEOPARQUET:
        crs, columns, held, features = stream_parquet(file.path)
        check_table(shortened(place.name), 0, len(columns))
        return LayerStream(place.name, crs, False, columns, held, features)  # noqa: FBT003
    if file.format is GEOJSON:
        layer = _read(place)
        known = tuple(dict.fromkeys(name for values, _ in layer.features for name in values))
        return LayerStream(
            layer.name, layer.crs, layer.assumed, known, len(layer.features),
            lambda: iter(layer.features),
        )  # fmt: skip
    with _opened(file, place.number) as collection:
        columns = tuple(collection.schema["properties"])
        check_table(shortened(place.name), 0, len(columns))
        crs, held = collection.crs_wkt, _length(collection)
    return LayerStream(
        place.name, crs, False, ("fid", *columns), held, lambda: _streamed_by_fiona(place)  # noqa: FBT003
    )  # fmt: skip


def _streamed_by_fiona(place: _Place) -> Iterator[Found]:
    """Give features one at a time; from the first text in another encoding on, by that."""
    given = 0
    for encoding in (None, "latin-1"):
        try:
            with _opened(place.file, place.number, encoding) as collection:
                for feature in islice(collection, given, None):
                    yield _found(feature)
                    given += 1
        except UnicodeDecodeError:
            continue
        return


def _chosen(places: list[_Place], name: str | None) -> _Place:
    """Choose a layer by name, which may be left out where there is one; errors as `_read`."""
    chosen = [place for place in places if name is None or place.name == name]
    if len(chosen) == 1:
        return chosen[0]
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
        columns, number = len(collection.schema["properties"]), _length(collection) or 0
    check_table(shortened(place.name), number, columns)
    with _opened(place.file, place.number, encoding) as collection:
        features = [_found(feature) for feature in islice(collection, MAX_FEATURES + 1)]
        return collection.crs_wkt, features


def _length(collection: Any) -> int | None:  # noqa: ANN401 - fiona has no types
    """Count the features of an open layer; None of text, which is counted otherwise."""
    try:
        return len(collection)
    except TypeError:
        return None


def _found(feature: Any) -> Found:  # noqa: ANN401 - as above
    shape = feature.geometry.__geo_interface__ if feature.geometry else None
    return {"fid": feature.id, **feature.properties}, shape
