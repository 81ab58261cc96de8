"""Speed of the store of records, ten years of fifty fields. No timed assertion: read its print.

Run with `pytest tests/benchmarks/test_records.py --benchmark-only -s`.
"""

import sqlite3
from contextlib import closing
from dataclasses import replace

import numpy as np
import pyogrio
import pytest
from alternate import alternate
from recorded import DAY, edition

from striplay.files.store import _line, open_store
from striplay.records.edition import Pass
from striplay.records.entry import Done, Stand, Yield, kind_of

FIELDS, YEARS, STRIPS = 50, 10, 60


def of_a_season():
    """Give a field's edition of sixty strips, and five entries for each of them."""
    one = edition()
    numbers = range(1, STRIPS + 1)
    own = replace(
        one,
        pieces=tuple(replace(one.pieces[0], strip=number) for number in numbers),
        polygons=np.array([one.polygons[0]] * STRIPS, dtype=object),
        sown=tuple(replace(one.sown[0], strip=number) for number in numbers),
        passes=tuple(
            Pass(name, number, number, 1)
            for name in ("plant corn", "spray corn", "spray corn 2", "harvest corn")
            for number in numbers
        ),
    )
    entries = [
        entry
        for number in numbers
        for entry in (
            *(Done(day=DAY, strip=number, operation=name, lot="A12")
              for name in ("plant corn", "spray corn", "harvest corn")),
            Stand(day=DAY, strip=number, crop="corn", plants=31, length_m=5.3, row_m=0.762),
            Yield(day=DAY, strip=number, crop="corn", grain_kg=1900.0, moisture=0.18,
                  area_m2=1850.0),
        )
    ]  # fmt: skip
    return own, entries


@pytest.fixture(scope="module")
def full(tmp_path_factory):
    """A store of 500 editions and 150,000 entries, written past what checks them."""
    path = tmp_path_factory.mktemp("records") / "records.gpkg"
    own, entries = of_a_season()
    lines = [
        {"kind": kind_of(one), "at": "2027-05-04T12:00:00.000Z", **_line(one)} for one in entries
    ]
    with open_store(path) as store:
        store._base.execute("PRAGMA synchronous = OFF")
        for season in range(FIELDS * YEARS):
            mark = f"{season:08d}"
            store.add_edition(
                replace(own, mark=mark, field=f"field {season % FIELDS}", strips_mark=mark)
            )
            with store._writing():
                store._insert("entries", [{**line, "mark": mark} for line in lines])
    return path


def bare(path):
    """Read how many entries there are, as a script would that checks nothing."""
    with closing(sqlite3.connect(path)) as base:
        return base.execute("SELECT count(*) FROM entries").fetchone()


def test_opening_ten_years_of_fifty_fields(benchmark, full, tmp_path):
    benchmark.pedantic(lambda: None, rounds=1)
    small = tmp_path / "small.gpkg"
    with open_store(small):
        pass

    def opened(path):
        with open_store(path) as store:
            return len(store.editions())

    rounds = alternate(
        lambda: opened(full), lambda: opened(small), lambda: bare(full),
        lambda: pyogrio.read_info(full, layer="entries")["features"],
    )  # fmt: skip
    (whole, empty, script, gdal), (editions, _, (entries,), features) = rounds
    assert (editions, entries, features) == (500, 150_000, 150_000)
    print(
        f"\n{full.stat().st_size / 1e6:.0f} MB checked and open in {whole:.3f} processor seconds; "
        f"an empty store in {empty:.3f} s; counted by a script in {script:.3f} s; "
        f"described by GDAL in {gdal:.3f} s"
    )


def test_reading_and_adding_in_a_full_store(benchmark, full):
    benchmark.pedantic(lambda: None, rounds=1)
    own, _ = of_a_season()
    with open_store(full) as store:
        (read, kept), (recorded, known) = alternate(
            lambda: store.recorded(["00000007"]), lambda: store.edition("00000007")
        )
    assert len(recorded) == 5 * STRIPS
    assert known.pieces == own.pieces
    print(f"\n300 entries of a season read in {read:.4f} s, its edition in {kept:.4f} s")
