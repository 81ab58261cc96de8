"""Work out of the entries that stand what each strip, or some rows of it, yielded and how it stood.

Grain is told at the moisture that its crop is sold at; as weighed where none is known.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from striplay.economics.grain import dry_share
from striplay.records.edition import Edition
from striplay.records.entry import Recorded, Stand, Yield
from striplay.records.standing import standing


@dataclass(frozen=True, slots=True)
class YieldOf:
    """What a strip, or some of its rows, yielded of a crop.

    Attributes:
        strip: number of the strip.
        crop: the crop.
        rows: the first and last row that it came from; None where of all.
        rows_of: rows of the strip that carry the crop; None where not known.
        weighed_kg: grain as harvested.
        grain_kg: the same at base moisture.
        area_m2: ground that it came from.
        loads: entries that it is made of.
        day: of the last of them.
    """

    strip: int
    crop: str
    rows: tuple[int, int] | None
    rows_of: int | None
    weighed_kg: float
    grain_kg: float
    area_m2: float
    loads: int
    day: date

    @property
    def kg_per_m2(self) -> float:
        """Yield by area, at base moisture."""
        return self.grain_kg / self.area_m2


def yields_of(recorded: Sequence[Recorded], edition: Edition) -> list[YieldOf]:
    """Give the yields, strip by strip; those of whole strips before those of some rows.

    Entries of a stated length are of ground of their own each, such as samples cut by hand; those
    without are loads of the same ground, which counts once.

    Args:
        recorded: what is recorded of the edition, or of one with the same strips.
        edition: facts of its strips and crops.
    """
    groups: dict[tuple[int, str, tuple[int, int] | None], list[Yield]] = {}
    for one in standing(recorded):
        entry = one.entry
        if isinstance(entry, Yield) and entry.strip is not None:
            groups.setdefault((entry.strip, entry.crop, entry.rows), []).append(entry)
    found = [
        YieldOf(
            strip=strip,
            crop=crop,
            rows=rows,
            rows_of=next((one.rows for one in edition.sown_in(strip) if one.crop == crop), None),
            weighed_kg=sum(one.grain_kg for one in loads),
            grain_kg=sum(_at_base_kg(one, edition) for one in loads),
            area_m2=_ground_m2(loads),
            loads=len(loads),
            day=max(one.day for one in loads),
        )
        for (strip, crop, rows), loads in groups.items()
    ]
    return sorted(found, key=lambda one: (one.strip, one.crop, one.rows or (0, 0)))


def _at_base_kg(entry: Yield, edition: Edition) -> float:
    """Give the weight of grain at the moisture that its crop is sold at."""
    facts = edition.crops.get(entry.crop)
    base = None if facts is None else facts.base_moisture
    if base is None or entry.moisture is None:
        return entry.grain_kg
    return entry.grain_kg * dry_share(entry.moisture, base)


def _ground_m2(loads: Iterable[Yield]) -> float:
    """Give the ground of loads; ground that several are of counts once."""
    own_m2 = 0.0
    whole: dict[int | None, float] = {}
    for one in loads:
        if one.length_m is not None:
            own_m2 += one.area_m2
        else:
            whole[one.piece] = one.area_m2
    # a load of the whole strip takes in its pieces
    return own_m2 + (whole[None] if None in whole else sum(whole.values()))


@dataclass(frozen=True, slots=True)
class StandOf:
    """How a crop stood in a strip.

    Attributes:
        strip: number of the strip.
        crop: the crop.
        plants: counted in all.
        area_m2: ground of the rows that they were counted on.
        counts: entries that it is made of.
        day: of the last of them.
    """

    strip: int
    crop: str
    plants: int
    area_m2: float
    counts: int
    day: date

    @property
    def plants_per_m2(self) -> float:
        """Plants by area."""
        return self.plants / self.area_m2


def stands_of(recorded: Sequence[Recorded]) -> list[StandOf]:
    """Give how crops stood, strip by strip: all plants counted over all ground counted on."""
    groups: dict[tuple[int, str], list[Stand]] = {}
    for one in standing(recorded):
        if isinstance(one.entry, Stand) and one.entry.strip is not None:
            groups.setdefault((one.entry.strip, one.entry.crop), []).append(one.entry)
    return [
        StandOf(
            strip=strip,
            crop=crop,
            plants=sum(one.plants for one in counts),
            area_m2=sum(one.area_m2 for one in counts),
            counts=len(counts),
            day=max(one.day for one in counts),
        )
        for (strip, crop), counts in sorted(groups.items())
    ]
