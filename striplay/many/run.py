"""Lay many fields: read them one at a time, have them laid, and write them part by part."""

import time
from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from striplay.columns import FIELD_JOBS, MANY_TABLES
from striplay.files.fields import FieldsFile, mark_of_file, opened_fields
from striplay.files.ledger import Ledger, ledger
from striplay.files.many_parts import settled_kind, write_part
from striplay.limits import MOST_OPEN_PARTS
from striplay.many.crew import Take, lay_by_crew, lay_here
from striplay.many.entry import check_entry, entry_of
from striplay.many.field import SHAPE, Columns, Feature, Outcome
from striplay.many.index import Sums, write_results
from striplay.many.shared import Shared
from striplay.many.template import Template, Wishes, read_template
from striplay.many.version import version_here
from striplay.notices import Notice

FIELDS_A_PART = 500
"""Fields of a part of the results: some ten megabytes, and half a minute that a kill may cost."""

Lay = Callable[[Template, Take], Generator[Outcome, None, None]]
"""Lays fields, in any order, taking them only as far ahead as it needs them."""


@dataclass(frozen=True)
class Asked:
    """What is asked of a run.

    Attributes:
        fields: the file of the fields.
        plan: the plan that each is laid by.
        folder: where results go.
        wishes: columns that change the plan, the column of names, whether operations are driven.
        layer: of the file, where it has several.
        where: which of its features, as a condition.
        files: the kind of files; GeoParquet where it can be, if None.
    """

    fields: Path
    plan: Path
    folder: Path
    wishes: Wishes = field(default_factory=Wishes)
    layer: str | None = None
    where: str | None = None
    files: str | None = None


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a run is.

    Attributes:
        done: fields that are done, in earlier runs too.
        fresh: those of them that this run did.
        count: features in the file; None where that is not known.
    """

    done: int
    fresh: int
    count: int | None


@dataclass(frozen=True)
class Results:
    """What came of a run.

    Attributes:
        template: what was asked of each field.
        sums: what all fields come to together.
        fresh: fields that this run laid; the others were there.
        seconds: how long that took.
        page: the page to open.
        notices: what there is to know of the file and its fields together.
    """

    template: Template
    sums: Sums
    fresh: int
    seconds: float
    page: Path
    notices: tuple[Notice, ...] = ()

    @property
    def count(self) -> int:
        """How many fields there are."""
        return sum(self.sums.verdicts.values())

    @property
    def earlier(self) -> int:
        """How many of them an earlier run did, so that this one had not to."""
        return self.count - self.fresh

    @property
    def laid(self) -> dict[str, int]:
        """How many fields came to each verdict, those refused left out."""
        return {one: count for one, count in self.sums.verdicts.items() if one != "refused"}


def lay_many(
    asked: Asked,
    *,
    jobs: int = 0,
    lay: Lay | None = None,
    tell: Callable[[Progress], None] = lambda _: None,
) -> Results:
    """Lay every field of a file by one plan, or go on where an earlier run was ended.

    Args:
        asked: what.
        jobs: worker processes on this machine; 0 lays in this process, without a limit of time.
        lay: lays the fields instead, such as on a cluster.
        tell: is told of progress, field by field.

    Raises:
        PlanError: a plan that can't be used, or is of one field; no such key or column.
        BoundaryError: a file that can't be read, or has no field.
        OutputError: the folder holds something else, or was begun otherwise.
        WriteError: it can't be written.
    """
    kind = settled_kind(asked.files)
    with opened_fields(asked.fields, asked.layer, asked.where) as source:
        columns = source.columns
        source.check_any()
        template = read_template(asked.plan, source.source, columns, asked.wishes, source.crs)
        marks = {
            "file of fields": mark_of_file(asked.fields),
            "plan or columns": template.mark,
            "layer": str(asked.layer),
            "where": str(asked.where),
            "kind of files": kind,
            "version of striplay": version_here(),
        }
        with ledger(asked.folder, marks, _check) as kept:
            began = time.monotonic()
            shared = _shared(template, source)
            run = _Run(template, source, kept, kind, tell, shared.of_each())
            how = lay or (partial(lay_by_crew, jobs=jobs) if jobs else lay_here)
            run.through(how)
            seconds = time.monotonic() - began
            told = (*template.of_file, *shared.notices())
            sums, page = write_results(template, kept, told)
            return Results(template, sums, run.fresh, seconds, page, told)


def _shared(template: Template, source: FieldsFile) -> Shared:
    """Hold the fields of a file beside each other, which takes a reading of its own."""
    shared = Shared(template)
    for number, values, geometry in source.features():
        shared.add(Feature(number, template.kept(values), geometry))
        if shared.full:
            break
    return shared


class _Run:
    """A run on its way: parts that are open, and what was done."""

    def __init__(
        self,
        template: Template,
        source: FieldsFile,
        kept: Ledger,
        kind: str,
        tell: Callable[[Progress], None],
        beside: Mapping[int, tuple[Notice, ...]],
    ) -> None:
        self.template, self.source, self.kept, self.kind = template, source, kept, kind
        self.tell, self.beside = tell, beside
        self.open: dict[int, _Part] = {}
        self.done = self.fresh = 0
        self.features = self._left()
        self.next: Feature | None = None

    def through(self, how: Lay) -> None:
        """Lay all fields that no part holds yet, and keep each part as its last one comes."""
        with closing(self.features), closing(how(self.template, self.take)) as outcomes:
            self._gather(outcomes)
        for part in self.open.values():
            part.whole = True
        self._close()

    def _gather(self, outcomes: Iterable[Outcome]) -> None:
        for outcome in outcomes:
            self.open[part_of(outcome.number)].outcomes.append(outcome)
            self.done += 1
            self.fresh += 1
            self.tell(Progress(self.done, self.fresh, self.source.count))
            self._close()

    def take(self) -> Feature | None:
        """Give the next field; None where none is left, or others must be done before."""
        self.next = self.next or next(self.features, None)
        if self.next is None:
            return None
        number = part_of(self.next.number)
        if number not in self.open:
            for before in self.open.values():
                before.whole = True
            self._close()
            if len(self.open) >= MOST_OPEN_PARTS:
                return None
            self.open[number] = _Part()
        self.open[number].asked += 1
        taken, self.next = self.next, None
        return taken

    def _left(self) -> Generator[Feature, None, None]:
        """Give the fields that are still to be laid."""
        there = frozenset(self.kept.done)
        for number, values, geometry in self.source.features():
            if part_of(number) in there:
                self.done += 1
            else:
                kept, told = self.template.kept(values), self.beside.get(number, ())
                yield Feature(number, kept, geometry, told)

    def _close(self) -> None:
        """Keep the parts whose every field is done."""
        for number, part in list(self.open.items()):
            if part.whole and len(part.outcomes) == part.asked:
                del self.open[number]
                self._keep(number, sorted(part.outcomes, key=lambda one: one.number))

    def _keep(self, number: int, outcomes: Sequence[Outcome]) -> None:
        tables = tables_of(outcomes, driven=self.template.driven)

        def write(folder: Path) -> Mapping[str, Path]:
            return write_part(folder, number, tables, self.kind)

        self.kept.keep(number, write, entry_of(outcomes, tables))


@dataclass
class _Part:
    """A part that is open: how many fields it has, whether that is all, and what came of them."""

    asked: int = 0
    whole: bool = False
    outcomes: list[Outcome] = field(default_factory=list)


def _check(number: int, entry: object) -> None:
    """Check what a ledger holds of a part; errors as `check_entry`."""
    first = (number - 1) * FIELDS_A_PART
    check_entry(entry, range(first + 1, first + FIELDS_A_PART + 1))


def part_of(number: int) -> int:
    """Give the part that a field belongs to, from 1, by its number."""
    return (number - 1) // FIELDS_A_PART + 1


def tables_of(outcomes: Sequence[Outcome], *, driven: bool) -> dict[str, Columns]:
    """Join the tables of fields, each line with its field's number and name."""
    names = [name for name in MANY_TABLES if driven or name != FIELD_JOBS]
    return {name: _joined(name, outcomes) for name in names}


def _joined(name: str, outcomes: Sequence[Outcome]) -> Columns:
    """Join one table; a value that a field lacks is empty."""
    given = [(one, one.tables.get(name, {})) for one in outcomes]
    counts = [len(next(iter(table.values()))) if table else 0 for _, table in given]
    columns = dict.fromkeys([SHAPE, *(key for _, table in given for key in table)])
    joined: dict[str, Any] = {
        "number": np.repeat([one.number for one in outcomes], counts).tolist(),
        "field": [one.field for one, count in zip(outcomes, counts, strict=True)
                  for _ in range(count)],
    }  # fmt: skip
    for column in columns:
        values: list[Any] = []
        for (_, table), count in zip(given, counts, strict=True):
            values.extend(table.get(column, [None] * count))
        joined[column] = values
    return joined
