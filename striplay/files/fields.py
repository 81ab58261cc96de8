"""Read many fields from a file, one at a time; what is one field's fault is left to that field."""

import hashlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from striplay.errors import BoundaryError
from striplay.files.condition import Condition, read_condition
from striplay.files.formats import beside_and_own
from striplay.files.regular import check_there
from striplay.files.shapes import settle_crs
from striplay.files.vector_layers import LayerStream, streamed_layer
from striplay.plan.faults import offered


@dataclass(frozen=True)
class FieldsFile:
    """A file of many fields, open.

    Attributes:
        source: its name.
        columns: names of its columns.
        count: how many features it has; None where that is not known before they are read.
        where: which of them are fields; all where None.
        layer: the layer that is read.
        asked: the condition as it was written.
    """

    source: str
    columns: tuple[str, ...]
    count: int | None
    where: Condition | None
    layer: LayerStream = field(repr=False)
    asked: str | None = None

    def check_any(self) -> None:
        """Check that there is a field.

        Raises:
            BoundaryError: there is none; or the file is damaged.
        """
        if next(self.features(), None) is None:
            if next(self.layer.features(), None) is None:
                raise BoundaryError(f"{self.source}: holds no feature")
            told = "chooses none of its features; choose others"
            raise BoundaryError(f'{self.source}: where = "{self.asked}" {told}')

    def crs(self, stated: str | None) -> str:
        """Give its coordinate reference system: its own, else the one stated.

        Raises:
            BoundaryError: neither, or both.
        """
        return settle_crs(self.source, self.layer, stated, any_kind=False)

    def features(self) -> Iterator[tuple[int, Mapping[str, Any], Mapping[str, Any] | None]]:
        """Give each field's number, values by column, and geometry as GeoJSON or None, in order.

        Raises:
            BoundaryError: the file is damaged from there on.
        """
        where = self.where
        for number, (values, geometry) in enumerate(self.layer.features(), start=1):
            if where is None or where.test({k.lower(): v for k, v in values.items()}) is True:
                yield number, values, geometry


@contextmanager
def opened_fields(path: Path, layer: str | None, where: str | None) -> Iterator[FieldsFile]:
    """Open a file of many fields.

    Args:
        path: a vector file in one of the formats that are read.
        layer: which layer; may be left out where there is only one.
        where: which features, as a condition.

    Raises:
        BoundaryError: as `read_shapes`.
    """
    check_there(path)
    with streamed_layer(path, layer) as stream:
        condition = None if where is None else _condition(path.name, where, stream.columns)
        yield FieldsFile(path.name, stream.columns, stream.count, condition, stream, where)


def _condition(source: str, text: str, columns: tuple[str, ...]) -> Condition:
    try:
        condition = read_condition(text)
    except ValueError as error:
        raise BoundaryError(f'{source}: where = "{text}" {error}') from error
    known = {name.lower() for name in columns}
    for name in condition.columns:
        if name.lower() not in known:
            near = offered(name, columns)
            raise BoundaryError(f'{source}: where = "{text}" names no column "{name}"{near}')
    return condition


def mark_of_file(path: Path) -> str:
    """Give the SHA-256 hash of a file and those that its format has beside it.

    Raises:
        BoundaryError: it can't be read.
    """
    hashed = hashlib.sha256()
    try:
        for one in beside_and_own(path):
            with one.open("rb") as file:
                hashed.update(hashlib.file_digest(file, "sha256").digest())
    except OSError as error:
        raise BoundaryError(f"{path.name}: can't be read: {error.strerror or error}") from error
    return hashed.hexdigest()
