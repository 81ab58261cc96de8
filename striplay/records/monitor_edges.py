"""Tell from a yield monitor's runs what rows at edges yielded, where the width of cut allows it."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from striplay.errors import YieldError
from striplay.laid import Laid
from striplay.limits import EDGE_ROWS
from striplay.records.analysis import LEVEL
from striplay.records.edge_gains import EdgeGain, edge_gains
from striplay.records.monitored import Monitored, RunYield
from striplay.records.plots import Plot
from striplay.tolerances import WHOLE_NUMBER

MONITOR = "monitor"


@dataclass(frozen=True, slots=True)
class RowsOfRun:
    """The rows of its strip that a run took, from 1 at the strip's lower edge, and of how many."""

    run: RunYield
    first: int
    last: int
    rows: int

    @property
    def place(self) -> int:
        """Place from the nearer edge of its outermost row, from 1."""
        return min(self.first, self.rows + 1 - self.last)

    @property
    def inner(self) -> bool:
        """Whether all its rows lie farther in than edges reach."""
        return self.place > EDGE_ROWS


@dataclass(frozen=True)
class EdgeRuns:
    """What runs tell of rows at edges.

    Attributes:
        by_row: gains row by row; none where the header takes several rows at an edge at once.
        by_pass: gain of the passes along an edge over those inside; None where none is told.
        rows: rows that the header takes.
        why: why rows or passes are not told apart; empty where they are.
        taken: the runs that rows are told by.
    """

    by_row: tuple[EdgeGain, ...]
    by_pass: EdgeGain | None
    rows: int
    why: str
    taken: tuple[RowsOfRun, ...] = ()

    @property
    def data(self) -> dict[str, Any]:
        """The same for scripts: gains as shares."""
        return {
            "by_row": [asdict(one) for one in self.by_row],
            "by_pass": None if self.by_pass is None else asdict(self.by_pass),
            "header_rows": self.rows,
            "why": self.why,
        }


def edges_of_runs(found: Monitored, laid: Laid, header_m: float | None) -> EdgeRuns:
    """Tell the gains of rows at edges, or of passes along edges, from a monitor's runs.

    Args:
        found: what the file comes to.
        laid: the field, swept.
        header_m: width of the header.
    """
    taken = [] if header_m is None else _taken(found, laid, header_m)
    if not taken:
        return EdgeRuns((), None, 0, "no run lies on counted rows of a strip that lies whole")
    most = max(one.last - one.first + 1 for one in taken)
    inside = [one for one in taken if one.inner]
    if not inside:
        why = (
            f"every pass takes rows up to {EDGE_ROWS} from an edge, so there are none inside to "
            "hold them against: wider strips, or rows cut by hand, would tell"
        )
        return EdgeRuns((), None, most, why)
    outer = [one for one in taken if one.first == one.last and not one.inner]
    if outer:
        gains, why = _gains([*inside, *outer], found.crop, by_row=True)
        return EdgeRuns(gains, None, most, why, (*inside, *outer))
    along = [one for one in taken if one.place == 1]
    gains, why = _gains([*inside, *along], found.crop, by_row=False)
    why = why or (
        f"the header takes {most} rows at once, so which of them gain is not told: a header of one "
        "row, or rows cut by hand, would tell"
    )
    return EdgeRuns((), gains[0] if gains else None, most, why)


def _taken(found: Monitored, laid: Laid, header_m: float) -> list[RowsOfRun]:
    """Give the rows that each run with a yield took; those of strips in part are left out."""
    strips: dict[int, tuple[float, float, int]] = {}
    for block in laid.blocks:
        own = block.pieces.strips
        each = zip(block.strip_number.tolist(), own.kind.tolist(), own.whole.tolist(), strict=True)
        for number, kind, whole in each:
            strip = laid.section.strips[kind]
            if whole and strip.counted and not strip.empty:
                strips[number] = strip.lead_m, strip.spacing_m, strip.rows
    taken = []
    for run in found.runs:
        if run.kg_per_m2 is None or run.strip not in strips:
            continue
        lead_m, spacing_m, rows = strips[run.strip]
        low = (run.from_m - header_m / 2 - lead_m) / spacing_m
        first = max(1, round(low + WHOLE_NUMBER) + 1)
        last = min(rows, round(low + header_m / spacing_m))
        if first <= last:
            taken.append(RowsOfRun(run, first, last, rows))
    return taken


def _gains(
    runs: Sequence[RowsOfRun], crop: str, *, by_row: bool
) -> tuple[tuple[EdgeGain, ...], str]:
    """Hold runs at edges against those inside, strip by strip; why not, where they can't be."""
    plots = [
        Plot(
            MONITOR, MONITOR, crop, one.run.kg_per_m2 or 0.0, strip=one.run.strip,
            row=None if one.inner else one.place if by_row else 1, inner=one.inner,
        )
        for one in runs
    ]  # fmt: skip
    try:
        return edge_gains(plots, crop), ""
    except YieldError as error:
        return (), str(error)


def edge_lines(found: EdgeRuns) -> list[str]:
    """Say it, for people."""
    lines = [f"rows at the edge against those inside: row {one.row} {_range(one)}"
             for one in found.by_row]  # fmt: skip
    one = found.by_pass
    if one is not None:
        all_of = found.rows * one.gain.value
        lines.append(
            f"passes along an edge against those inside: {_range(one)}; in all as much as "
            f"gain = [{all_of:.2f}] of the outer row alone under [[edges]]"
        )
    if found.why:
        lines.append(f"edges: {found.why}")
    return lines


def _range(one: EdgeGain) -> str:
    gain = one.gain
    return (
        f"{gain.value:+.0%} ({gain.low:+.0%} to {gain.high:+.0%}, {LEVEL:.0%} interval), "
        f"{one.strips} strips"
    )
