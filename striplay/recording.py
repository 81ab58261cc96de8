"""Record what happens on a plan's field, in the store beside the plan."""

import hashlib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import islice
from operator import itemgetter
from pathlib import Path
from types import MappingProxyType
from typing import Self

import numpy as np
import shapely

from striplay.columns import STANDS_CSV, STORE_FILE, YIELDS_CSV
from striplay.errors import OutputError
from striplay.files.folder import replace_file
from striplay.files.plan import contents_beside
from striplay.files.record_table import RecordTable, read_record_table, record_table
from striplay.files.store import Known, Store, open_store
from striplay.files.write_csv import csv_of
from striplay.flow import lay_on_ground, read_ground
from striplay.laid_plan import Layout
from striplay.mark import DECIMALS, LETTERS, mark_of
from striplay.notices import Notice
from striplay.operations.amounts import base_moisture, bushel_kg
from striplay.plain import plain
from striplay.plan.models import Plan
from striplay.records.check import check_entry
from striplay.records.edition import CropFacts, Edition, Pass, Piece, Sown
from striplay.records.entry import Entry, Recorded
from striplay.records.standing import faults_of_new, standing
from striplay.records.unusual import unusual_entries
from striplay.records.yields import stands_of, yields_of


@dataclass
class Records:
    """The store beside a plan, open, and the edition of the plan; use it in a `with` statement.

    Attributes:
        plan: whose records.
        path: of the store.
        edition: the edition of the plan as it is now.
        store: what is recorded, of this plan and of others; None before anything is.
    """

    plan: Plan
    path: Path
    edition: Edition
    store: Store | None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self.store is not None:
            self.store.close()

    @property
    def folder(self) -> Path:
        """The folder that the store lies in, from which photos are named."""
        return self.path.absolute().parent

    def add(self, entries: Sequence[Entry], *, today: date | None = None) -> list[Recorded]:
        """Check entries and write them, all or none; once given back they are on the disk.

        Args:
            entries: what to write.
            today: the last day that they may be of; today when left out.

        Raises:
            RecordError: one can't be, or is there already.
            StoreError: another run is writing the store, or it is damaged.
            WriteError: the store can't be written.
        """
        for entry in entries:
            check_entry(entry, self.edition, today or date.today())  # noqa: DTZ011 - the farm's
        if self.store is None:
            self.store = open_store(self.path)
        self.store.add_edition(self.edition)
        return self.store.append(entries, self.edition.mark)

    def unusual(self, new: Sequence[Recorded]) -> list[Notice]:
        """Tell of entries just written that come to far more than a field can have."""
        return list(unusual_entries(self.plan, self.edition, new, self.recorded()))

    def recorded(self) -> list[Recorded]:
        """Give what is recorded of editions with the same strips as this one, withdrawn too."""
        return self._of([self.edition.mark, *(one.mark for one in self.alike)])

    def all_recorded(self) -> list[Recorded]:
        """Give what is recorded of every edition of the field, in the order written."""
        return self._of([self.edition.mark, *(one.mark for one in self._others)])

    def _of(self, marks: Sequence[str]) -> list[Recorded]:
        return [] if self.store is None else self.store.recorded(marks)

    def read_table(
        self, path: Path, today: date, *, for_all: Mapping[str, str] = MappingProxyType({})
    ) -> RecordTable:
        """Read a table of entries; what is there already, or twice, is a fault of its line.

        Args:
            path: the CSV file.
            today: the last day that its entries may be of.
            for_all: words that stand once on a sheet, for lines that do not state their own.

        Raises:
            RecordError: the file can't be read, or has no such columns.
        """
        edition, folder = self.edition, self.folder
        read = read_record_table(path, edition, today, folder, for_all=for_all)
        new = [entry for line in read.lines for entry in line.entries]
        faults = iter(faults_of_new(new, self.recorded()))
        lines, told = [], list(read.faults)
        for line in read.lines:
            own = [fault for fault in islice(faults, len(line.entries)) if fault]
            told += [(line.number, fault) for fault in own]
            lines += [] if own else [line]
        return RecordTable(tuple(lines), tuple(sorted(told, key=itemgetter(0))), read.blank)

    def export(self, path: Path, table: str = "entries") -> None:
        """Write a table as CSV; one that is there is replaced.

        Args:
            path: the file to write.
            table: entries, as `read_table` reads them; yields or stands, worked out of them.

        Raises:
            OutputError: another ending, or something else than a file is there.
            WriteError: it can't be written.
        """
        if path.suffix.lower() != ".csv":
            raise OutputError(f"{path.name}: must end in .csv")
        recorded, edition = self.recorded(), self.edition
        if table == "entries":
            folder, to = self.folder, path.absolute().parent
            data = record_table(standing(recorded), edition.units, folder, to)
        else:
            from striplay import lists  # noqa: PLC0415 - pandas is heavy to load

            bushels_kg = {crop: facts.bushel_kg for crop, facts in edition.crops.items()}
            data = (
                csv_of(
                    lists.yield_list(yields_of(recorded, edition), bushels_kg, edition.units),
                    YIELDS_CSV,
                )
                if table == "yields"
                else csv_of(lists.stand_list(stands_of(recorded), edition.units), STANDS_CSV)
            )

        def write(fresh: Path) -> None:
            fresh.write_bytes(data)

        replace_file(path, write)

    @property
    def apart(self) -> list[str]:
        """What to tell of records of other editions of the field; mostly nothing."""
        counted = Counter(one.mark for one in self.all_recorded())
        found = []
        for one in self._others:
            count = counted[one.mark]
            if not count:
                continue
            entries = "1 entry is" if count == 1 else f"{count:,} entries are"
            same = one.strips_mark == self.edition.strips_mark
            how = (
                "the same strips, and counts with this one"
                if same
                else "other strips, and is kept apart: list --all tells it"
            )
            found.append(plain(f"{entries} of edition {one.mark} of this plan, which has {how}"))
        return found

    @property
    def alike(self) -> list[Known]:
        """Other editions of the field with the same strips."""
        mine = self.edition.strips_mark
        return [one for one in self._others if one.strips_mark == mine]

    @property
    def _others(self) -> list[Known]:
        return [] if self.store is None else self.store.beside(self.edition)


def open_records(
    plan: Plan,
    path: str | Path | None = None,
    *,
    make: bool = True,
    layout: Layout | None = None,
) -> Records:
    """Open the records of a plan.

    The plan is laid only where the store does not know this edition of it, and no layout is given.

    Args:
        plan: whose records.
        path: the store; records.gpkg beside the plan when left out.
        make: whether a store may be made, with its first entry, where there is none.
        layout: the plan as it is laid, where it is.

    Raises:
        StoreError: the store can't be used, or is not there.
        WriteError: it can't be written.
        PlanError: the plan can't be laid.
        BoundaryError: its boundary can't be used.
    """
    path = plan.path.parent / STORE_FILE if path is None else Path(path)
    ground = read_ground(plan)
    mark = mark_of(plan, ground, contents_beside(plan))
    # a store is made with its first entry, so that a refused one leaves none behind
    store = open_store(path, make=False) if path.exists() or not make else None
    try:
        edition = None if store is None else store.edition(mark)
        if edition is None:
            edition = edition_of(lay_on_ground(plan, ground) if layout is None else layout)
    except BaseException:
        if store is not None:
            store.close()
        raise
    return Records(plan, path, edition, store)


def edition_of(layout: Layout) -> Edition:
    """Give what records need of a layout."""
    plan, plane = layout.plan, layout.ground.plane
    strips = layout.strips
    rows = [None if one != one else int(one) for one in strips["rows"].astype(object)]  # noqa: PLR0124 - none
    columns = ("strip", "piece", "crop", "width_m", "area_m2", "row_length_m")
    lines = zip(*(strips[name].tolist() for name in columns), rows, strict=True)
    pieces = tuple(
        Piece(strip, piece, crop, rows, width_m, area_m2, row_length_m)
        for strip, piece, crop, width_m, area_m2, row_length_m, rows in lines
    )
    polygons = plane.geometries_to_lonlat(strips.geometry.to_numpy())
    sown = _sown(layout)
    crops = dict.fromkeys(one.crop for one in sown)
    return Edition(
        mark=layout.mark,
        field=plan.title or plan.path.stem,
        units=plan.units,
        strips_mark=_strips_mark(pieces, polygons),
        headland=bool(len(layout.laid.headland)),
        pieces=pieces,
        sown=sown,
        crops={crop: CropFacts(base_moisture(plan, crop), bushel_kg(plan, crop)) for crop in crops},
        operations=tuple(one.job.name for one in layout.routes),
        passes=_passes(layout),
        outline=plane.geometries_to_lonlat(layout.ground.outline),
        polygons=polygons,
    )


def _sown(layout: Layout) -> tuple[Sown, ...]:
    """Give each crop of each strip."""
    section = layout.section
    found: dict[tuple[int, str], Sown] = {}
    for block in layout.laid.blocks:
        kinds = dict(
            zip(block.strip_number.tolist(), block.pieces.strips.kind.tolist(), strict=True)
        )
        for strip, kind in kinds.items():
            mine = sorted(
                (row for row in section.rows if row.strip == kind), key=lambda row: row.layer
            )  # its own crop first
            for crop in dict.fromkeys(layer.crop for row in mine for layer in row.sown):
                of = [row for row in mine if any(layer.crop == crop for layer in row.sown)]
                row_m = sum(row.spacing_m for row in of) / len(of)
                rows = len(of) if section.counts(kind, of[0].sown[0]) else None
                drilled = any(layout.plan.planter_of(row.planter).rows is None for row in of)
                reaped = layout.plan.crops[crop].reaped
                found[strip, crop] = Sown(strip, crop, rows, row_m, drilled, reaped)
    return tuple(found[key] for key in sorted(found, key=lambda key: key[0]))


def _passes(layout: Layout) -> tuple[Pass, ...]:
    """Give what each pass of each operation works; on the headland no strip."""
    found = []
    for sheet in layout.worksheets:
        of, strips, pieces = sheet.worked.tolist()
        on_headland = sorted(set(range(len(sheet))) - set(of))
        worked = [
            *zip(of, strips, pieces, strict=True),
            *((one, None, None) for one in on_headland),
        ]
        found += [
            Pass(sheet.name, int(sheet.number[at]), strip, piece)
            for at, strip, piece in sorted(worked, key=lambda one: one[0])
        ]
    return tuple(found)


def _strips_mark(pieces: Sequence[Piece], polygons: np.ndarray) -> str:
    """Give eight letters of the SHA-256 hash of strips: their numbers, crops and ground."""
    named = "\n".join(f"{one.strip}/{one.piece} {one.crop}" for one in pieces)
    degrees, of = shapely.get_coordinates(shapely.normalize(polygons), return_index=True)
    hashed = hashlib.sha256(named.encode())
    hashed.update((np.round(degrees, DECIMALS) + 0.0).astype("<f8").tobytes())
    hashed.update(of.astype("<i8").tobytes())
    return hashed.hexdigest()[:LETTERS]
