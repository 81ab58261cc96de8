"""Hold a plan drawn on its ground, block by block."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.frame import Frame
from striplay.layout.across import Across
from striplay.layout.headland import HeadlandPasses
from striplay.layout.pieces import Pieces, RowLines
from striplay.search.cost import PARTS
from striplay.search.headings import Choice, Searched
from striplay.section.section import Section


class PassLines(Protocol):
    """Passes of one machine, straight or along a curve."""

    @property
    def operation(self) -> str:
        """Plant, spray or harvest."""

    @property
    def machine(self) -> str:
        """Its name in the plan."""

    @property
    def owner(self) -> npt.NDArray[np.int64]:
        """Index of the strip piece each goes over."""

    @property
    def crop(self) -> npt.NDArray[np.object_]:
        """What each plants, sprays or harvests."""

    @property
    def length_m(self) -> npt.NDArray[np.float64]:
        """Length of each."""

    def lines(self, frame: Frame) -> npt.NDArray[np.object_]:
        """Give them as driven, on the local plane."""


@dataclass(frozen=True)
class DrawnBlock:
    """A block of the field, all of it where there is one, with strips in one direction.

    Attributes:
        frame: the direction of travel; pieces and passes are turned so that it runs along x.
        inner: the land inside the headland, on the local plane.
        across: the set repeated over the land.
        pieces: strips, rows and leftover, turned.
        passes: each machine's passes over the strips, turned.
        choice: the heading and offset, and their cost; None along a curve.
        searched: what the search found; None where the heading was stated.
        first_strip: strips in the blocks before this one.
        first_set: sets in the blocks before this one.
        first_piece: pieces of strips in the blocks before this one.
    """

    frame: Frame
    inner: shapely.Geometry
    across: Across
    pieces: Pieces[RowLines]
    passes: Sequence[PassLines]
    choice: Choice | None = None
    searched: Searched | None = None
    first_strip: int = 0
    first_set: int = 0
    first_piece: int = 0

    @property
    def strip_number(self) -> npt.NDArray[np.int64]:
        """Number of each piece's strip, from 1 over all blocks; strips without land have none."""
        present, rank = np.unique(self.pieces.strips.strip, return_inverse=True)
        return np.asarray(rank + self.first_strip + 1 if len(present) else rank, dtype=np.int64)

    @property
    def set_number(self) -> npt.NDArray[np.int64]:
        """Number of the set of each piece, counted likewise."""
        sets = self.across.set_number[self.pieces.strips.strip]
        _, rank = np.unique(sets, return_inverse=True)
        return np.asarray(rank + self.first_set + 1, dtype=np.int64)


@dataclass(frozen=True)
class Drawn:
    """A plan drawn on its ground.

    Attributes:
        section: the set.
        blocks: the blocks, in order.
        headland: polygons of the headland, on the local plane.
        headland_passes: each machine's passes over the headland, on the local plane.
        usual: along the field's longest edge, from its side; None along a curve.
        notices: what the user should know.
    """

    section: Section
    blocks: tuple[DrawnBlock, ...]
    headland: npt.NDArray[np.object_]
    headland_passes: list[HeadlandPasses]
    usual: Choice | None = None
    notices: list[str] = field(default_factory=list)

    @property
    def parts(self) -> dict[str, float] | None:
        """Money a year by part, of all blocks; None along a curve."""
        choices = [block.choice for block in self.blocks]
        if any(choice is None for choice in choices):
            return None
        each = [choice.parts for choice in choices if choice is not None]
        return dict(zip(PARTS, map(sum, zip(*each, strict=True)), strict=True))

    @property
    def leftover(self) -> npt.NDArray[np.object_]:
        """Land that no strip covers, on the local plane."""
        parts = [block.frame.turn_areas_back(block.pieces.leftover) for block in self.blocks]
        return np.concatenate(parts)
