"""Hold what a yield monitor's file comes to: yields by strip and run, and what is not counted."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from striplay.notices import Notice

Floats = npt.NDArray[np.float64]
Words = npt.NDArray[np.object_]

REASONS: Mapping[str, str] = {
    "missing": "a value is missing",
    "outside": "outside the field",
    "no strip": "on the headland, or other ground without a strip",
    "width": "no width cut, or more than the header has",
    "two strips": "header over two strips",
    "other crop": "in strips of another crop",
    "across": "driven across the rows, as in turns",
    "speed": "too slow or too fast",
    "no flow": "the record ends before their grain reached the sensor",
    "start": "start of a run, while flow builds up",
    "end": "end of a run, while flow fades",
    "partly full": "header partly over ground cut before",
    "moisture": "moisture that grain can't have",
    "no grain": "no grain",
    "outlier": "far from the yields around them in their run",
}
"""Why a point is not counted, in the order it is asked; one that is for several counts once."""


@dataclass(frozen=True, slots=True)
class StripYield:
    """What a strip yielded, by its points that count.

    Attributes:
        strip: its number.
        kg_per_m2: yield at base moisture.
        moisture: of the grain as harvested; None where it was not measured.
        grain_kg: as harvested, on the ground that counts.
        area_m2: ground that counts.
        share: of the strip's ground.
        points: how many count.
        runs: on how many runs.
    """

    strip: int
    kg_per_m2: float
    moisture: float | None
    grain_kg: float
    area_m2: float
    share: float
    points: int
    runs: int


@dataclass(frozen=True, slots=True)
class RunYield:
    """What a run yielded: a stretch along the rows, in one strip and one direction.

    Attributes:
        strip: number of the strip.
        pass_number: of the planned pass that it is; None where it is none.
        from_m: how far its middle lies from the strip's lower edge across.
        lines: first and last line of the file.
        kg_per_m2: yield at base moisture; None where no point counts.
        area_m2: ground that counts.
        points: how many count.
    """

    strip: int
    pass_number: int | None
    from_m: float
    lines: tuple[int, int]
    kg_per_m2: float | None
    area_m2: float
    points: int


@dataclass(frozen=True)
class Monitored:
    """A yield monitor's file, told by strip.

    Attributes:
        source: name of the file.
        crop: what was harvested.
        base_moisture: that yields are told at, and taken to be where none was measured; None where
            it is not known.
        points: in the file.
        dropped: how many are not counted, by reason, none of nought.
        strips: yields by strip, in order.
        runs: yields by run, in the order driven.
        notices: what the user should know.
        point_m: places of complete points on the local plane, (n, 2).
        way: unit vector that each is driven along, (n, 2).
        width_m: width cut, (n,).
        kg_per_m2: yield of each at base moisture; NaN where it is not counted, (n,).
        reason: why each is not counted; empty where it is, (n,).
    """

    source: str
    crop: str
    base_moisture: float | None
    points: int
    dropped: Mapping[str, int]
    strips: tuple[StripYield, ...]
    runs: tuple[RunYield, ...]
    notices: tuple[Notice, ...]
    point_m: Floats = field(repr=False)
    way: Floats = field(repr=False)
    width_m: Floats = field(repr=False)
    kg_per_m2: Floats = field(repr=False)
    reason: Words = field(repr=False)

    @property
    def counted(self) -> int:
        """How many points count."""
        return self.points - sum(self.dropped.values())
