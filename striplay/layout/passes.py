"""Draw each machine's passes over the pieces of strips, in the order they are driven."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.geometry.frame import Frame
from striplay.layout.across import Across
from striplay.layout.divide import divide
from striplay.layout.pieces import Lines, Pieces, RowPieces, lines_along
from striplay.layout.side_passes import driven_back, side_crops, side_pass_of, side_rows
from striplay.section.section import Section, SidePasses, Work
from striplay.tolerances import LENGTH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Passes:
    """Passes of one machine doing one operation, in the order driven.

    Attributes:
        operation: plant, spray or harvest.
        machine: its name in the plan.
        owner: index of the strip piece each goes over, the first where there are several, (n,).
        crop: what it plants, sprays or harvests, (n,).
        start_x_m: x where it begins; greater than its end where driven against the heading, (n,).
        end_x_m: x where it ends, (n,).
        y_m: y of the machine's centre, (n,).
    """

    operation: str
    machine: str
    owner: Integers
    crop: npt.NDArray[np.object_]
    start_x_m: Floats
    end_x_m: Floats
    y_m: Floats

    @property
    def length_m(self) -> Floats:
        """Length of each pass."""
        return np.abs(self.end_x_m - self.start_x_m)

    def lines(self, frame: Frame) -> Lines:
        """Give the passes as driven, on the local plane."""
        return lines_along(frame, self.start_x_m, self.end_x_m, self.y_m)


Bridge = Callable[[Floats], npt.NDArray[np.bool_]]
"""Say which gaps between two points, (n, 2, 2), a machine drives on over."""


def draw_passes(
    pieces: Pieces[RowPieces], section: Section, across: Across, start: str, bridge: Bridge | None
) -> list[Passes]:
    """Draw the passes of every operation over every strip, back and forth from the start side.

    A pass runs as long as one of its rows does. A crop is planted, sprayed or harvested over the
    whole field before the next one by the same machine. The order inside a field of several parts
    is across, part by part within a pass.

    Args:
        pieces: strips and rows.
        section: the set.
        across: the set repeated over the land.
        start: the side the first strip lies on.
        bridge: says where machines lift and drive on; None where they never do.
    """
    jobs: dict[tuple[str, str], list[tuple[int, Work]]] = {}
    for index, strip in enumerate(section.strips):
        for work in strip.works:
            jobs.setdefault((work.operation, work.machine), []).append((index, work))
    season = {"plant": 0, "spray": 1, "harvest": 2}
    sides = [_over_sides(side, pieces, section, across, start) for side in section.side_passes]
    if bridge is not None:
        sides = [_bridged(passes, None, bridge) for passes in sides]
    every = [
        _ordered(
            side.operation,
            side.machine,
            drawn,
            drawn[1],
            np.full(len(drawn[0]), side_crops(side, section), dtype=object),
            driven_back(side, section, drawn[1], start),
        )
        for side, drawn in zip(section.side_passes, sides, strict=True)
    ]
    every += [_one_machine(jobs[key], pieces, section, across, start, bridge) for key in jobs]
    return sorted(every, key=lambda passes: season[passes.operation])


def _one_machine(
    jobs: list[tuple[int, Work]],
    pieces: Pieces[RowPieces],
    section: Section,
    across: Across,
    start: str,
    bridge: Bridge | None,
) -> Passes:
    """Draw one machine's passes, crop by crop."""
    names = [work.crop or section.strips[index].crop for index, work in jobs]
    crops = list(dict.fromkeys(names))
    drawn = [_over_strips(index, work, pieces, section, across, start) for index, work in jobs]
    if bridge is not None:
        drawn = [_bridged(passes, pieces.strips.strip, bridge) for passes in drawn]
    counts = [len(d[0]) for d in drawn]
    turn = np.repeat([crops.index(name) for name in names], counts)
    layer = np.repeat([work.layer for _, work in jobs], counts)
    owner, number, left_m, right_m, y_m = (
        np.concatenate(column) for column in zip(*drawn, strict=True)
    )
    _, line = np.unique(
        np.stack([turn, pieces.strips.strip[owner], layer, number]), axis=1, return_inverse=True
    )
    return _ordered(
        jobs[0][1].operation,
        jobs[0][1].machine,
        (owner, number, left_m, right_m, y_m),
        line.reshape(-1),
        np.repeat(np.array(names, dtype=object), counts),
    )


def _ordered(
    operation: str,
    machine: str,
    drawn: "_Drawn",
    line: Integers,
    crop: npt.NDArray[np.object_],
    back: npt.NDArray[np.bool_] | None = None,
) -> Passes:
    """Order passes by the line they run on.

    Args:
        operation: of the passes.
        machine: that drives them.
        drawn: as drawn.
        line: which line each runs on.
        crop: what each works.
        back: whether each runs against the heading, the same along a line; None where every second
            line does.
    """
    owner, _, left_m, right_m, y_m = drawn
    order = np.lexsort((left_m, line))
    owner, line, crop = owner[order], line[order], crop[order]
    left_m, right_m, y_m = left_m[order], right_m[order], y_m[order]
    turns = np.cumsum(np.append(False, line[1:] != line[:-1])[: len(owner)])
    back = turns % 2 == 1 if back is None else back[order]
    again = np.lexsort((np.where(back, -right_m, left_m), turns))
    return Passes(
        operation=operation,
        machine=machine,
        owner=owner[again],
        crop=crop[again],
        start_x_m=np.where(back, right_m, left_m)[again],
        end_x_m=np.where(back, left_m, right_m)[again],
        y_m=y_m[again],
    )


def _over_strips(
    index: int,
    work: Work,
    pieces: Pieces[RowPieces],
    section: Section,
    across: Across,
    start: str,
) -> tuple[Integers, Integers, Floats, Floats, Floats]:
    """Draw a machine's passes over all pieces of one strip of the set.

    Returns:
        Owner, number within the strip, least x, greatest x and y of each pass.
    """
    strip = section.strips[index]
    rows = pieces.rows
    worked = np.array([r.strip == index and r.layer == work.layer for r in section.rows])
    chosen = np.flatnonzero(worked[rows.kind])
    owner = rows.owner[chosen]
    begin_m = strip.left_m + (strip.rows_span_m[0] if work.layer == 0 else 0.0)
    at_m = np.array([row.offset_m for row in section.rows])[rows.kind[chosen]] - begin_m
    half_m = np.array([row.spacing_m for row in section.rows])[rows.kind[chosen]] / 2
    count = len(section.rows) + int(strip.width_m / min(work.width_m, strip.spacing_m))
    which, offset_m = divide(strip, work, owner, at_m, half_m, pieces.strips)
    key = owner * count + which
    left_m, right_m = rows.start_x_m[chosen], rows.end_x_m[chosen]
    order = np.lexsort((left_m, key))
    key, left_m, right_m = key[order], left_m[order], right_m[order]
    first = _first_of_runs(key, left_m, right_m)
    piece, number = np.divmod(key[first], count)
    from_edge_m = offset_m[order][first]
    left_m = left_m[first]
    right_m = np.maximum.reduceat(right_m, first) if len(first) else right_m
    at = pieces.strips.strip[piece]
    y_m = across.high_m[at] - from_edge_m if start == "left" else across.low_m[at] + from_edge_m
    return piece, number, left_m, right_m, y_m


def _first_of_runs(key: Integers, left_m: Floats, right_m: Floats) -> Integers:
    """Give where each run begins among rows ordered by key and by their left ends.

    A run ends where none of its key's rows goes on.
    """
    far_m = 2.0 * (1.0 + np.ptp(np.append(left_m, right_m)) if len(key) else 1.0)
    rank = np.cumsum(np.diff(key, prepend=key[:1]) != 0) * far_m
    reach_m = np.maximum.accumulate(rank + right_m)
    new = np.append(True, (rank + left_m)[1:] > reach_m[:-1] + LENGTH_M)
    return np.flatnonzero(new[: len(key)])


_Drawn = tuple[Integers, Integers, Floats, Floats, Floats]


def _over_sides(
    side: SidePasses, pieces: Pieces[RowPieces], section: Section, across: Across, start: str
) -> _Drawn:
    """Draw passes that run side by side over the field, whatever strips lie under them.

    Returns:
        The first piece, number from the first side, least x, greatest x and y of each pass.
    """
    rows = pieces.rows
    chosen = np.flatnonzero(side_rows(side, section)[rows.kind])
    owner = rows.owner[chosen]
    of_set = across.set_number[pieces.strips.strip[owner]]
    number, beyond_m = side_pass_of(side, section, of_set, rows.kind[chosen])
    left_m, right_m = rows.start_x_m[chosen], rows.end_x_m[chosen]
    y_m = rows.y_m[chosen] + (-beyond_m if start == "left" else beyond_m)
    order = np.lexsort((left_m, number))
    owner, number, y_m = owner[order], number[order], y_m[order]
    left_m, right_m = left_m[order], right_m[order]
    first = _first_of_runs(number, left_m, right_m)
    right_m = np.maximum.reduceat(right_m, first) if len(first) else right_m
    return owner[first], number[first], left_m[first], right_m, y_m[first]


def _bridged(passes: _Drawn, strips: Integers | None, bridge: Bridge) -> _Drawn:
    """Join passes over the same rows where the machine drives on between them.

    Args:
        passes: as drawn.
        strips: the strip of each piece; None where passes run over several.
        bridge: says where machines drive on.
    """
    piece, number, left_m, right_m, y_m = passes
    strip = np.zeros(len(piece), dtype=np.int64) if strips is None else strips[piece]
    order = np.lexsort((left_m, number, strip))
    strip = strip[order]
    piece, number = piece[order], number[order]
    left_m, right_m, y_m = left_m[order], right_m[order], y_m[order]
    same = (strip[1:] == strip[:-1]) & (number[1:] == number[:-1])
    joined = np.zeros(len(piece), dtype=bool)
    at = np.flatnonzero(same)
    gaps = np.stack([right_m[at], y_m[at], left_m[at + 1], y_m[at + 1]], axis=1)
    joined[at + 1] = bridge(gaps.reshape(-1, 2, 2))
    first = np.flatnonzero(~joined)
    if len(first):
        right_m = np.maximum.reduceat(right_m, first)
    return piece[first], number[first], left_m[first], right_m, y_m[first]
