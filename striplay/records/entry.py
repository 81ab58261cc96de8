"""Say what an entry of a season's records holds: what was done, counted, seen and weighed.

All values are SI. An entry is never changed: another one withdraws it, or stands in its place.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What every entry says.

    Attributes:
        day: the day it was done, counted, seen or weighed.
        strip: number of the strip; None where it is of no one strip.
        piece: number of the piece of that strip; None where it is of all its pieces.
        headland: whether it is of the headland.
        operator: who did it, or who says so; mostly empty.
        remark: whatever else there is to say, in one line.
        withdraws: number of the entry that this one stands in the place of; mostly None.
    """

    day: date
    strip: int | None = None
    piece: int | None = None
    headland: bool = False
    operator: str = ""
    remark: str = ""
    withdraws: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Done(Entry):
    """An operation, or a pass of it, that was driven.

    Attributes:
        operation: its name in the plan, such as "plant corn".
        pass_number: of the pass, as sheets and files number it; None where it is no one pass.
        start: when it began, hours and minutes as 07:30; empty where not known.
        stop: when it ended, likewise.
        lot: of the seed or product; mostly empty.
    """

    operation: str
    pass_number: int | None = None
    start: str = ""
    stop: str = ""
    lot: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand(Entry):
    """Plants counted along one row, or in a frame.

    Attributes:
        crop: its name in the plan.
        row: number of the row within the strip; None where it is any of its rows.
        plants: how many.
        length_m: of row that they were counted on; None where in a frame.
        row_m: ground that a row stands for, across.
        frame_m2: ground in the frame; None where along a row.
    """

    crop: str
    row: int | None = None
    plants: int
    length_m: float | None = None
    row_m: float
    frame_m2: float | None = None

    @property
    def area_m2(self) -> float:
        """Ground that they were counted on."""
        along_m2 = 0.0 if self.length_m is None else self.length_m * self.row_m
        return along_m2 if self.frame_m2 is None else self.frame_m2

    @property
    def plants_per_m2(self) -> float:
        """Plants by area."""
        return self.plants / self.area_m2


@dataclass(frozen=True, slots=True, kw_only=True)
class Event(Entry):
    """Something seen or that happened: hail, lodging, weeds, a broken tile.

    Attributes:
        what: it was, in a few words.
        lonlat: where, longitude and latitude in degrees (WGS 84); None where no place is stated.
        photo: path of a picture, from the folder of the records; mostly empty.
    """

    what: str
    lonlat: tuple[float, float] | None = None
    photo: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Yield(Entry):
    """Grain weighed of a strip, a piece of it or some of its rows.

    Attributes:
        crop: its name in the plan.
        rows: the first and last row within the strip that it came from; None where of all.
        grain_kg: weight as harvested.
        moisture: of it as weighed, a share of weight; None where the crop is sold at none.
        length_m: harvested along the rows; None where all of the strip's, or piece's, length.
        area_m2: ground it came from.
        test_weight_kg_per_m3: of the grain by volume; None where not known.
    """

    crop: str
    rows: tuple[int, int] | None = None
    grain_kg: float
    moisture: float | None = None
    length_m: float | None = None
    area_m2: float
    test_weight_kg_per_m3: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark(Entry):
    """A remark alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Undo(Entry):
    """Nothing but that another entry is withdrawn."""


KINDS: Mapping[str, type[Entry]] = MappingProxyType(
    {
        "done": Done,
        "stand": Stand,
        "event": Event,
        "yield": Yield,
        "remark": Remark,
        "undo": Undo,
    }
)
"""The kinds of entries, by the word that stands for each in the store and in files."""


def kind_of(entry: Entry) -> str:
    """Give the word for the kind of an entry.

    >>> kind_of(Remark(day=date(2027, 5, 4), remark="rain"))
    'remark'
    """
    return next(word for word, kind in KINDS.items() if type(entry) is kind)


@dataclass(frozen=True, slots=True)
class Recorded:
    """An entry as the store holds it.

    Attributes:
        number: its own, from 1 in the order written; never given again.
        mark: of the edition of the plan that it was recorded for.
        at: when it was written, in UTC.
        entry: what it says.
    """

    number: int
    mark: str
    at: datetime
    entry: Entry
