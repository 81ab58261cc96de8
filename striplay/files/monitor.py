"""Read a yield monitor's file: a CSV with a line a point, columns named in the plan."""

import csv
import io
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from striplay.errors import MonitorError
from striplay.files.regular import text_of
from striplay.limits import MAX_MONITOR_BYTES
from striplay.plain import plain, shortened
from striplay.plan.monitor import MonitorSource
from striplay.records.monitor_log import MonitorLog

if TYPE_CHECKING:
    import pandas as pd

Floats = npt.NDArray[np.float64]
BLANK = ("", "NaN", "nan", "NA", "N/A", "n/a", "null")
"""What stands for no value."""
PARTED_BY = (",", ";", "\t")
MOST_LATITUDE_DEG, MOST_LONGITUDE_DEG = 90.0, 180.0


def read_monitor(path: str | Path, columns: MonitorSource) -> MonitorLog:
    """Read a yield monitor's points, put in the order of time.

    Columns are parted by commas, semicolons or tabs; with semicolons a comma in a number is its
    decimal point.

    Args:
        path: the file.
        columns: their names and units.

    Raises:
        MonitorError: a file that can't be read, without a column that is named, or with a value
            that is no number; the message says where.
    """
    path = Path(path)
    text = _text(path)
    found = _table(path, text, columns)
    number = _Numbers(path.name, found)
    longitude, latitude = number.of(columns.longitude), number.of(columns.latitude)
    number.check_degrees(columns, longitude, latitude)
    time_s = number.times(columns.time)
    named = columns.flow or columns.yield_column
    unit = columns.flow_unit or columns.yield_unit
    assert named is not None  # noqa: S101 - checked when the plan was read
    assert unit is not None  # noqa: S101 - likewise
    grain = number.of(named) * unit.value
    moisture = width_m = speed_mps = None
    if columns.moisture is not None:
        moisture = number.of(columns.moisture) / (100.0 if columns.moisture_unit == "%" else 1.0)
    if columns.width is not None and columns.width_unit is not None:
        width_m = number.of(columns.width) * columns.width_unit.value
    if columns.speed is not None and columns.speed_unit is not None:
        speed_mps = number.of(columns.speed) * columns.speed_unit.value
    order = np.argsort(time_s, kind="stable")  # what has no time comes last
    lonlat = np.column_stack([longitude, latitude])
    log = MonitorLog(
        source=path.name,
        line=number.line[order],
        time_s=time_s[order],
        lonlat_deg=lonlat[order],
        grain=grain[order],
        grain_unit=unit.si_unit,
        moisture=None if moisture is None else moisture[order],
        width_m=None if width_m is None else width_m[order],
        speed_mps=None if speed_mps is None else speed_mps[order],
    )
    if not len(log):
        raise MonitorError(f"{path.name}: holds no points; write a line for each below its heads")
    return log


def _text(path: Path) -> str:
    try:
        text = text_of(path, MAX_MONITOR_BYTES)
    except ValueError as error:
        raise MonitorError(f"{path}: {error}") from error
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _table(path: Path, text: str, columns: MonitorSource) -> "pd.DataFrame":
    """Read the columns that are named, as text; the index is the line."""
    import pandas as pd  # noqa: PLC0415 - slow to load

    first = text.split("\n", 1)[0]
    if not first.strip():
        raise MonitorError(f"{path.name}: is empty, or has no column heads in its first line")
    parted = max(PARTED_BY, key=first.count)
    heads = [head.strip() for head in next(csv.reader([first], delimiter=parted))]
    asked = {
        key: name
        for key, name in (
            ("time", columns.time), ("longitude", columns.longitude),
            ("latitude", columns.latitude), ("flow", columns.flow),
            ("yield", columns.yield_column), ("moisture", columns.moisture),
            ("width", columns.width), ("speed", columns.speed),
        )
        if name is not None
    }  # fmt: skip
    missing = [f'"{shortened(name)}" ({key})' for key, name in asked.items() if name not in heads]
    if missing:
        has = ", ".join(f'"{shortened(head)}"' for head in heads)
        raise MonitorError(
            f"{path.name}: has no column {', '.join(missing)}; it has {has[:500]}; name its "
            "columns under [monitor] of the plan"
        )
    twice = [name for name in asked.values() if heads.count(name) > 1]
    if twice:
        raise MonitorError(f'{path.name}: has "{plain(twice[0])}" twice; keep one of them')
    places = {heads.index(name): name for name in asked.values()}
    beyond = len(heads)  # a value that no column stands over
    lines = text.replace(first, first + parted, 1)  # so that there is such a column
    try:
        found = pd.read_csv(
            io.StringIO(lines), sep=parted, header=None, names=range(beyond + 1), dtype=str,
            usecols=[*sorted(places), beyond], keep_default_na=False, na_values=list(BLANK),
            skipinitialspace=True, skip_blank_lines=False, index_col=False,
        )  # fmt: skip
    except pd.errors.ParserError as error:
        told = " ".join(str(error).replace("Error tokenizing data. C error: ", "").split())
        raise MonitorError(f"{path.name}: is no CSV: {told}; see its commas and quotes") from error
    found.index = found.index + 1
    found = found.iloc[1:]
    more = found.index[found[beyond].notna()]
    if len(more):
        has = f"has more values than the {beyond} columns; see its commas"
        raise MonitorError(f"{path.name}: line {more[0]}: {has}")
    found = found[list(places)].rename(columns=places)
    found = found[found.notna().any(axis=1)]  # lines without anything
    if parted == ";":
        found = found.apply(lambda column: column.str.replace(",", ".", regex=False))
    return found


class _Numbers:
    """Turns a file's text into numbers; a refusal names the line and what stands there."""

    def __init__(self, source: str, table: "pd.DataFrame") -> None:
        self.source, self.table = source, table
        self.line = np.asarray(table.index, dtype=np.int64)

    def of(self, name: str) -> Floats:
        """Give a column's numbers; NaN where a line has none."""
        import pandas as pd  # noqa: PLC0415 - slow to load

        texts = self.table[name]
        numbers = pd.to_numeric(texts, errors="coerce").to_numpy(np.float64)
        wrong = np.flatnonzero(~np.isfinite(numbers) & texts.notna().to_numpy())
        if len(wrong):
            self._refuse(name, int(wrong[0]), "is no number", len(wrong))
        return np.asarray(numbers, dtype=np.float64)

    def times(self, name: str) -> Floats:
        """Give a column's times in seconds, written so or as dates with times."""
        import pandas as pd  # noqa: PLC0415 - slow to load

        texts = self.table[name]
        told = texts.dropna()
        if not len(told) or np.isfinite(pd.to_numeric(told.iloc[:1], errors="coerce")).all():
            return self.of(name)
        read = pd.to_datetime(texts, format="ISO8601", errors="coerce", utc=True)
        wrong = np.flatnonzero((read.isna() & texts.notna()).to_numpy())
        if len(wrong):
            what = "is no time; write seconds, or date and time such as 2027-10-02T14:03:05"
            self._refuse(name, int(wrong[0]), what, len(wrong))
        moments = read.dt.tz_localize(None).to_numpy("datetime64[ms]")
        seconds = moments.astype(np.int64) / 1000.0
        return np.where(np.isnat(moments), np.nan, seconds)

    def check_degrees(self, columns: MonitorSource, longitude: Floats, latitude: Floats) -> None:
        """Check that places are in degrees."""
        for name, degrees, most in (
            (columns.longitude, longitude, MOST_LONGITUDE_DEG),
            (columns.latitude, latitude, MOST_LATITUDE_DEG),
        ):
            wrong = np.flatnonzero(np.abs(degrees) > most)
            if len(wrong):
                what = f"is beyond {most:g} degrees; longitude and latitude of WGS 84 are read"
                self._refuse(name, int(wrong[0]), what, len(wrong))

    def _refuse(self, name: str, at: int, what: str, count: int) -> None:
        text = shortened(str(self.table[name].iloc[at]))
        more = f" ({count - 1:,} more such lines)" if count > 1 else ""
        raise MonitorError(
            f'{self.source}: line {self.line[at]}: {plain(name)}: "{text}" {what}{more}'
        )
