"""List every kind of file that is written of a layout: the one place that knows them all.

To add a kind, write its encoder in a file of its own and add its line here.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from importlib import import_module
from importlib.util import find_spec
from typing import TYPE_CHECKING

from striplay.columns import JOBS_CSV, LAYERS, LOOKS, PASSES_CSV, SOWN_CSV, STRIP_CSV, VERSION
from striplay.errors import OutputError
from striplay.notices import Notice
from striplay.plain import shortened
from striplay.plan.faults import offered

if TYPE_CHECKING:
    from striplay.files.content import Content

Encoder = Callable[["Content"], Mapping[str, bytes]]
"""Gives the files of a kind, each as bytes under its name; the same layout gives the same bytes."""
Teller = Callable[["Content"], Sequence[Notice]]
"""Says what of a layout the files of a kind can't hold."""


@dataclass(frozen=True, slots=True)
class Writer:
    """A kind of file.

    Attributes:
        name: as `[files] write` and `--files` name it.
        files: names of the files it makes, all of them every time.
        holds: what they hold and what for, in a sentence.
        encode: makes them; None of the map book, which is drawn of the layout itself.
        usual: whether they are written where no kinds are named.
        needs: the library that it can't do without, where that is no part of every installation.
        tables: those of `columns.TABLES` that stand in its files, all columns of them.
        tell: says what they can't hold; None where they hold all that they are made of.
    """

    name: str
    files: tuple[str, ...]
    holds: str
    encode: Encoder | None = field(repr=False)
    usual: bool = False
    needs: str = ""
    tables: tuple[str, ...] = ()
    tell: Teller | None = field(default=None, repr=False)


def _by(module: str) -> Encoder:
    """Give the function `encode` of a module, which is loaded when it is first needed."""

    def encode(content: "Content") -> Mapping[str, bytes]:
        found: Encoder = import_module(module).encode
        return found(content)

    return encode


def _told_by(module: str) -> Teller:
    """Give the function `tell` of a module, likewise."""

    def tell(content: "Content") -> Sequence[Notice]:
        found: Teller = import_module(module).tell
        return found(content)

    return tell


EXTRAS = {"pyarrow": "parquet"}
"""The extra that brings a library."""
MAP_BOOK = "map-book"
"""The kind that takes longest, and that has a switch of its own."""

WRITERS: dict[str, Writer] = {
    writer.name: writer
    for writer in (
        Writer(
            "geojson",
            ("strips.geojson", "rows.geojson", "headland.geojson", "passes.geojson"),
            "Shapes for a GIS or a web map, by the open standard RFC 7946.",
            _by("striplay.files.write_geojson"),
            usual=True,
            tables=("strips", "rows", "headland", "passes"),
        ),
        Writer(
            "geopackage",
            ("layout.gpkg",),
            "All layers in one file for a GIS, at full precision, by the open standard GeoPackage.",
            _by("striplay.files.write_geopackage"),
            usual=True,
            tables=(*LAYERS, LOOKS, VERSION),
        ),
        Writer(
            "accounts",
            ("accounts.json",),
            "Where the land goes, seed, operations and notices, for programs.",
            _by("striplay.files.write_accounts"),
            usual=True,
        ),
        Writer(
            "csv",
            (STRIP_CSV, SOWN_CSV, JOBS_CSV, PASSES_CSV),
            "Tables for a spreadsheet, in SI and in the plan's units.",
            _by("striplay.files.write_csv"),
            usual=True,
            tables=(STRIP_CSV, SOWN_CSV, JOBS_CSV, PASSES_CSV),
        ),
        Writer(
            "shapefile",
            ("layout_shp.zip",),
            "All layers for a GIS or a terminal that reads nothing newer, zipped.",
            _by("striplay.files.write_shapefile"),
            tables=tuple(LAYERS),
        ),
        Writer(
            "kml",
            ("layout.kml",),
            "All layers, colored, for map apps of a phone, by the open standard KML 2.2.",
            _by("striplay.files.write_kml"),
            tables=tuple(LAYERS),
        ),
        Writer(
            "geoparquet",
            tuple(f"{layer}.parquet" for layer in LAYERS),
            "All layers for data science, by the open standard GeoParquet.",
            _by("striplay.files.write_geoparquet"),
            needs="pyarrow",
            tables=tuple(LAYERS),
        ),
        Writer(
            "task-data",
            ("taskdata.zip",),
            "Field, rates by strip and lines to steer by for a terminal in the cab, by the open "
            "standard ISO 11783-10.",
            _by("striplay.files.write_task_data"),
            tell=_told_by("striplay.files.write_task_data"),
        ),
        Writer(
            "field-page",
            ("field.html",),
            "The map, strips and passes in one page that a phone opens without a network.",
            _by("striplay.page.page"),
            usual=True,
        ),
        Writer(
            MAP_BOOK,
            ("mapbook.pdf",),
            "Sheets to print, at a true scale.",
            None,
            usual=True,
        ),
    )
}
"""Every kind, by its name, in the order they are written."""


def names_written() -> frozenset[str]:
    """Name all files that a folder written here may hold."""
    return frozenset(name for writer in WRITERS.values() for name in writer.files)


def chosen(names: Iterable[str] | None) -> tuple[Writer, ...]:
    """Give the writers of kinds that are named, the usual ones where None.

    Raises:
        OutputError: no such kind; the message names those there are. Or a library is missing.
    """
    if names is None:
        return tuple(writer for writer in WRITERS.values() if writer.usual)
    asked = list(names)
    for name in asked:
        if name not in WRITERS:
            raise OutputError(f'no kind of file "{shortened(name)}"{offered(name, WRITERS)}')
    if not asked:
        raise OutputError(f"names no kind of file{offered('', WRITERS)}")
    found = tuple(writer for name, writer in WRITERS.items() if name in asked)
    for writer in found:
        if writer.needs and find_spec(writer.needs) is None:
            extra = f"striplay[{EXTRAS[writer.needs]}]"
            raise OutputError(f'{writer.name}: needs {writer.needs}; pip install "{extra}"')
    return found
