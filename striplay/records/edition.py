"""Hold what records need of one edition of a plan: its strips, crops, operations and outline."""

from collections.abc import Mapping
from dataclasses import dataclass
from dataclasses import field as kept

import numpy as np
import numpy.typing as npt
import shapely

from striplay.units import ACRE_M2, HECTARE_M2, UnitSystem

Geometries = npt.NDArray[np.object_]


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a strip.

    Attributes:
        strip: number of its strip.
        piece: its own number within the strip.
        crop: crop or mixture of its own rows.
        rows: planted rows of its own; None where the openers are not given.
        width_m: its width.
        area_m2: its ground.
        row_length_m: of its own rows, added up.
    """

    strip: int
    piece: int
    crop: str
    rows: int | None
    width_m: float
    area_m2: float
    row_length_m: float


@dataclass(frozen=True, slots=True)
class Sown:
    """A crop sown in a strip, of its own rows or between them.

    Attributes:
        strip: number of the strip.
        crop: its name in the plan.
        rows: rows that carry it; None where the openers are not given.
        row_m: ground that one of them stands for, across.
        drilled: whether a drill sows it, whose stand is counted in a frame or a short length.
        reaped: whether it is harvested, unlike a cover crop.
    """

    strip: int
    crop: str
    rows: int | None
    row_m: float
    drilled: bool = False
    reaped: bool = True


@dataclass(frozen=True, slots=True)
class Pass:
    """A piece of strip that a pass of an operation works.

    Attributes:
        operation: name of the operation.
        number: of the pass.
        strip: number of the strip; None on the headland.
        piece: number of the piece; None on the headland.
    """

    operation: str
    number: int
    strip: int | None
    piece: int | None


@dataclass(frozen=True, slots=True)
class CropFacts:
    """How a crop's grain is told.

    Attributes:
        base_moisture: share of weight that it is sold at; None where not known.
        bushel_kg: weight of a bushel; None where not known.
    """

    base_moisture: float | None
    bushel_kg: float | None


@dataclass(frozen=True)
class Edition:
    """An edition of a plan, as its records need it.

    Attributes:
        mark: eight letters that tell it from other editions.
        field: what the plan calls the field: its title, else the name of the file.
        units: how the plan speaks.
        strips_mark: eight letters that editions with the same strips, crops and ground share.
        headland: whether it has one.
        pieces: pieces of strips, in the order across and along.
        sown: crops by strip.
        crops: facts of each crop, by name.
        operations: names of the operations, in the order done.
        passes: what each pass works.
        outline: the field, in longitude and latitude.
        polygons: of the pieces, likewise, (pieces,).
    """

    mark: str
    field: str
    units: UnitSystem
    strips_mark: str
    headland: bool
    pieces: tuple[Piece, ...] = kept(repr=False)
    sown: tuple[Sown, ...] = kept(repr=False)
    crops: Mapping[str, CropFacts] = kept(repr=False)
    operations: tuple[str, ...]
    passes: tuple[Pass, ...] = kept(repr=False)
    outline: shapely.Geometry = kept(repr=False)
    polygons: Geometries = kept(repr=False)

    @property
    def strips(self) -> tuple[int, ...]:
        """Numbers of the strips."""
        return tuple(sorted({one.strip for one in self.pieces}))

    def of_strip(self, strip: int, piece: int | None = None) -> tuple[Piece, ...]:
        """Give the pieces of a strip, or the one asked for."""
        return tuple(
            one for one in self.pieces if one.strip == strip and piece in {None, one.piece}
        )

    def sown_in(self, strip: int) -> tuple[Sown, ...]:
        """Give what is sown in a strip, its own crop first."""
        return tuple(one for one in self.sown if one.strip == strip)

    def worked_by(self, operation: str, number: int) -> tuple[Pass, ...]:
        """Give what a pass of an operation works; nothing where there is no such pass."""
        return tuple(
            one for one in self.passes if one.operation == operation and one.number == number
        )

    def strip_at(self, lonlat: tuple[float, float]) -> tuple[int, int] | None:
        """Give the strip and piece at a place; None where there is none."""
        inside = np.flatnonzero(shapely.intersects(self.polygons, shapely.Point(lonlat)))
        if not len(inside):
            return None
        found = self.pieces[int(inside[0])]
        return found.strip, found.piece

    def thousandth_m(self, row_m: float) -> float:
        """Give the length of row that is 1/1000 of an acre, or with metric units a hectare."""
        area_m2 = ACRE_M2 if self.units == "us" else HECTARE_M2
        return area_m2 / 1000 / row_m
