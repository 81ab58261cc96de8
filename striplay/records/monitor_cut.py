"""Tell how much of the header was in grain that no run had cut before."""

import numpy as np
import numpy.typing as npt

from striplay.laid import Laid
from striplay.records.monitor_log import MonitorLog
from striplay.records.monitor_place import NONE, Placed
from striplay.tolerances import CUT_ACROSS_M, CUT_ALONG_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


def cut_anew(
    log: MonitorLog, placed: Placed, laid: Laid, middle_m: Floats, width_m: Floats
) -> Floats:
    """Give the share of the header that cuts ground first, of each point; 1 where on no run, (n,).

    The ground is parted into cells along and across; a cell is cut by the first run over it. Noise
    of the receiver moves a run by less than the least share that counts.

    Args:
        log: the points.
        placed: where they lie.
        laid: the field, swept.
        middle_m: where the middle of the header is across, (n,).
        width_m: width cut, (n,).
    """
    anew = np.ones(len(log))
    on = np.flatnonzero(placed.run != NONE)
    if not len(on):
        return anew
    station = _stations(placed, laid, on)
    # one header a run and station: its mean place and width
    key = np.stack([placed.run[on], placed.block[on], station])
    each, of = np.unique(key, axis=1, return_inverse=True)
    of, count = of.reshape(-1), each.shape[1]
    points = np.bincount(of, minlength=count)
    line_m = np.bincount(of, middle_m[on], count) / points
    wide_m = np.bincount(of, width_m[on], count) / points
    first_s = np.full(count, np.inf)
    np.minimum.at(first_s, of, log.time_s[on])

    low = np.round((line_m - wide_m / 2) / CUT_ACROSS_M).astype(np.int64)
    cells = np.maximum(np.round(wide_m / CUT_ACROSS_M).astype(np.int64), 1)
    header = np.repeat(np.arange(count), cells)
    within = np.arange(len(header)) - np.repeat(np.cumsum(cells) - cells, cells)
    cell = _cell_numbers(each[1][header], each[2][header], low[header] + within)
    order = np.argsort(first_s[header], kind="stable")
    _, first = np.unique(cell[order], return_index=True)
    own = np.bincount(header[order][first], minlength=count)
    anew[on] = (own / cells)[of]
    return anew


def _stations(placed: Placed, laid: Laid, on: Integers) -> Integers:
    """Number the stretches along the path that points on runs lie in."""
    along_m = np.zeros(len(on))
    for index, one in enumerate(laid.blocks):
        mine = placed.block[on] == index
        across_m = placed.across_m[on][mine]
        place = one.path.located(placed.point_m[on][mine], np.round(across_m))
        along_m[mine] = place if one.path.around is None else place * across_m
    return np.floor(along_m / CUT_ALONG_M).astype(np.int64)


def _cell_numbers(block: Integers, station: Integers, across: Integers) -> Integers:
    """Give each cell one number."""
    station, across = station - station.min(), across - across.min()
    wide, long = across.max() + 1, station.max() + 1
    return np.asarray((block * long + station) * wide + across, dtype=np.int64)
