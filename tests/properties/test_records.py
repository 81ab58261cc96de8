"""Any entries, written as CSV and read again, or kept and read again, are the same."""

from dataclasses import fields, replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from recorded import ACRE_M2, MARK, ROW_M, TODAY, edition

from striplay.errors import RecordError
from striplay.files.record_table import read_record_table, record_table
from striplay.files.store import open_store
from striplay.plain import plain
from striplay.records.entry import Done, Event, Recorded, Remark, Stand, Undo, Yield
from striplay.records.standing import faults_of_new, standing, withdrawn_by

EDITION = edition()
WORDS = st.text(max_size=40).map(lambda text: plain(text).strip())
SAID = WORDS.filter(bool)
CLOCKS = st.just("") | st.times().map(lambda time: time.strftime("%H:%M"))
DAYS = st.dates(date(1900, 1, 1), TODAY)
SHARED = {"day": DAYS, "operator": WORDS, "remark": WORDS}
STRIPS = st.sampled_from([(1, None), (1, 1), (3, None), (3, 2)])


def measured(entry):
    """Give the ground that a yield came from, as the plan has it."""
    (strip, piece), length_m, rows = entry["at"], entry["length_m"], entry["rows"]
    area_m2 = ACRE_M2 * (0.75 if (strip, piece) == (3, 2) else 1)
    width_m = 16 * ROW_M
    if rows is not None:
        width_m = (rows[1] - rows[0] + 1) * ROW_M
        area_m2 *= width_m / (16 * ROW_M)
    given = {name: value for name, value in entry.items() if name != "at"}
    ground_m2 = area_m2 if length_m is None else length_m * width_m
    kg = entry["grain_kg"] * ground_m2
    return Yield(**{**given, "strip": strip, "piece": piece, "grain_kg": kg, "area_m2": ground_m2})


ROWS = st.none() | st.tuples(st.integers(1, 8), st.integers(8, 16))
DONE = st.builds(
    Done, **SHARED, operation=st.sampled_from(EDITION.operations), start=CLOCKS, stop=CLOCKS,
    lot=WORDS, strip=st.sampled_from([None, 1]),  # both work it
)  # fmt: skip
STAND = st.builds(
    Stand, **SHARED, crop=st.just("corn"), strip=st.sampled_from([1, 3]),
    row=st.none() | st.integers(1, 16), plants=st.integers(0, 900),
    length_m=st.floats(1.0, 100.0), row_m=st.just(ROW_M),
)  # fmt: skip
FRAME = st.builds(
    Stand, **SHARED, crop=st.just("wheat"), strip=st.just(2), plants=st.integers(0, 20),
    frame_m2=st.floats(0.05, 1.0), row_m=st.just(ROW_M / 2),
)  # fmt: skip
EVENT = st.builds(
    Event, **SHARED, what=SAID,
    strip=st.sampled_from([1, 2]),
    lonlat=st.none() | st.tuples(st.floats(-93.503, -93.5), st.floats(42.0, 42.001)),
)  # fmt: skip
YIELD = st.fixed_dictionaries(
    {**SHARED, "at": STRIPS, "crop": st.just("corn"), "rows": ROWS,
     "grain_kg": st.floats(0.0, 2.0), "moisture": st.floats(0.0, 0.9),
     "length_m": st.none() | st.floats(1.0, 200.0),
     "test_weight_kg_per_m3": st.none() | st.floats(100.0, 900.0)},
).map(measured)  # fmt: skip
REMARK = st.builds(Remark, **{**SHARED, "remark": SAID}, headland=st.booleans())
ENTRIES = st.lists(DONE | STAND | FRAME | EVENT | YIELD | REMARK, min_size=1, max_size=6)


def same(one, other):
    """Tell whether entries are the same, numbers to a part in ten thousand million."""
    assert type(one) is type(other)
    for field in fields(one):
        mine, read = getattr(one, field.name), getattr(other, field.name)
        number = isinstance(mine, float) or (field.name == "lonlat" and mine is not None)
        assert read == (pytest.approx(mine, rel=1e-10, abs=1e-12) if number else mine), field.name


@settings(max_examples=60, deadline=None)
@given(written=ENTRIES, units=st.sampled_from(["us", "metric"]))
def test_entries_written_as_csv_are_read_the_same(written, units):
    of = replace(EDITION, units=units)
    lines = [Recorded(number, MARK, None, one) for number, one in enumerate(written, start=1)]
    with TemporaryDirectory() as folder:
        path = Path(folder) / "entries.csv"
        path.write_bytes(record_table(lines, units, path.parent, path.parent))
        table = read_record_table(path, of, TODAY, path.parent)
    assert table.told == []
    read = [line.entries for line in table.lines]
    assert len(read) == len(written)
    for one, (other,) in zip(written, read, strict=True):
        same(one, other)


@settings(max_examples=15, deadline=None)
@given(written=ENTRIES)
def test_entries_kept_are_read_the_same(written):
    with TemporaryDirectory() as folder:
        with open_store(Path(folder) / "records.gpkg") as store:
            store.add_edition(EDITION)
            try:
                kept = store.append(written, MARK)
            except RecordError as error:
                assert "is there twice" in str(error)  # noqa: PT017 - mostly there is none
                return
        with open_store(Path(folder) / "records.gpkg") as store:
            assert store.recorded() == kept
        assert [one.entry for one in kept] == written


@given(targets=st.lists(st.integers(1, 8), max_size=8))
def test_what_stands_is_what_no_standing_entry_withdraws(targets):
    """Held against the definition, entry by entry."""
    lines = [Recorded(1, MARK, None, Remark(day=TODAY, remark="0"))]
    for number, target in enumerate(targets, start=2):
        undo = Undo(day=TODAY, withdraws=target)
        new = Remark(day=TODAY, remark=f"{number}") if number % 3 else undo
        if faults_of_new([new], lines) == [""]:
            lines.append(Recorded(lines[-1].number + 1, MARK, None, new))
    gone = withdrawn_by(lines)

    def stands(one):
        return not any(other.entry.withdraws == one.number and stands(other) for other in lines)

    assert {one.number for one in lines if not stands(one)} == set(gone)
    shown = [one for one in lines if stands(one) and not isinstance(one.entry, Undo)]
    assert standing(lines) == shown
