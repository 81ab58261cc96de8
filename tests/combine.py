"""Harvest strips in a model of a combine: what its yield monitor writes, and what truly grew.

Nothing here is the importer turned round. Grain is cut where header and standing crop meet, waits,
is mixed on its way (dead time, then a lag of the first order), and is weighed with noise while the
receiver drifts. Truth is what was cut, added up strip by strip before any of that.
"""

from dataclasses import dataclass, field

import numpy as np
from scipy.signal import lfilter

STEP_S = 0.2
LOG_EVERY = 5
MPS = 2.0
DEAD_S, LAG_S = 8.0, 4.0


@dataclass
class Drive:
    """A pass to drive.

    Attributes:
        strip: number of its strip.
        x_m: its middle.
        cut_m: from where to where it finds standing crop, across.
        low_m: where the crop begins along.
        high_m: where it ends.
        stop: whether the combine stands still for a while in its middle.
    """

    strip: int
    x_m: float
    cut_m: tuple[float, float]
    low_m: float
    high_m: float
    stop: bool = False


@dataclass
class Harvest:
    """What the monitor wrote, and the truth."""

    lines: list[str]
    kg_per_m2: dict[int, float] = field(default_factory=dict)


HEADS = "Seconds,Lon,Lat,Flow kg/s,Moist %,Swath m"


def harvest(plane, drives, grown, *, seed=1, out_m=18.0, noise_m=0.4, base=0.155):
    """Drive passes one after the other, turning between them with the monitor on.

    Args:
        plane: the field's.
        drives: passes, up and down by turns.
        grown: dry yield at a place, of arrays of x, y and strip, kg/m2 at base moisture.
        seed: of the noise.
        out_m: how far the combine drives on past the crop.
        noise_m: standard deviation of the receiver's drift.
        base: moisture that yields are told at.
    """
    random = np.random.default_rng(seed)
    x, y, mps, wide, dry, strip = ([] for _ in range(6))
    up = True
    for number, one in enumerate(drives):
        ends = (one.low_m - out_m, one.high_m + out_m)
        way = _speeds(ends[1] - ends[0], one.stop, random)
        along = np.cumsum(way) * STEP_S
        here_y = ends[0] + along if up else ends[1] - along
        cuts = (here_y > one.low_m) & (here_y < one.high_m)
        here_x = np.full(len(along), one.x_m)
        x.append(here_x), y.append(here_y), mps.append(way)
        cut_m = np.where(cuts, one.cut_m[1] - one.cut_m[0], 0.0)
        wide.append(cut_m)
        dry.append(grown(here_x, here_y, one.strip) * cut_m * way)
        strip.append(np.full(len(along), one.strip))
        if number + 1 < len(drives):
            turn_x, turn_y = _turn(one.x_m, drives[number + 1].x_m, ends[1] if up else ends[0], up)
            x.append(turn_x), y.append(turn_y)
            for values, value in ((mps, MPS), (wide, 0.0), (dry, 0.0), (strip, 0)):
                values.append(np.full(len(turn_x), value))
        up = not up
    x, y, mps, wide, dry, strip = map(np.concatenate, (x, y, mps, wide, dry, strip))
    cut = strip > 0
    truth = {
        int(one): float(dry[strip == one].sum() / (wide * mps)[strip == one].sum())
        for one in np.unique(strip[cut])
    }
    moisture = 0.19 + 0.005 * np.sin(np.arange(len(x)) / 900)
    wet = dry * (1 - base) / (1 - moisture)
    keep = np.exp(-STEP_S / LAG_S)
    wait = round(DEAD_S / STEP_S)
    sensed = lfilter([1 - keep], [1, -keep], np.append(np.zeros(wait), wet)[: len(wet)])
    at = np.arange(0, len(x), LOG_EVERY)
    flow = sensed[at] * (1 + 0.04 * random.normal(size=len(at)))
    drift = lfilter([1], [1, -0.995], random.normal(size=(2, len(at))), axis=1)
    drift *= noise_m * np.sqrt(1 - 0.995**2)
    places = np.column_stack([x[at], y[at]]) + drift.T + 0.03 * random.normal(size=(len(at), 2))
    lonlat = plane.to_lonlat(places)
    moist = 100 * moisture[at] + 0.2 * random.normal(size=len(at))
    stated = max(one.cut_m[1] - one.cut_m[0] for one in drives)
    lines = [HEADS] + [
        f"{t:.1f},{a:.8f},{b:.8f},{f:.4f},{m:.2f},{stated:.3f}"
        for t, (a, b), f, m in zip(at * STEP_S, lonlat, flow, moist, strict=True)
    ]
    return Harvest(lines, truth)


def _speeds(length_m, stop, random):
    """Give speeds step by step that cover a length, wavering, perhaps with a halt."""
    count = int(length_m / MPS / STEP_S * 1.3)
    wave = lfilter([1], [1, -0.98], random.normal(size=count)) * np.sqrt(1 - 0.98**2)
    mps = MPS * (1 + 0.06 * wave)
    mps = mps[np.cumsum(mps) * STEP_S < length_m]
    if stop:
        half = len(mps) // 2
        slow = np.linspace(1, 0, 15)
        halt = MPS * np.concatenate([slow, np.zeros(100), slow[::-1]])
        mps = np.concatenate([mps[:half], halt, mps[half:]])
        mps = mps[np.cumsum(mps) * STEP_S < length_m]
    return mps


def _turn(from_m, to_m, end_m, up):
    """Give places of a half circle, and a way along the end where passes lie far apart."""
    radius = abs(to_m - from_m) / 2 or 5.0
    count = max(int(np.pi * radius / MPS / STEP_S), 60)
    angle = np.linspace(0, np.pi, count)
    toward = np.sign(to_m - from_m) or 1.0
    bulge = min(radius, 15.0) * (1 if up else -1)
    middle = (from_m + to_m) / 2
    return middle - toward * radius * np.cos(angle), end_m + bulge * np.sin(angle)


COLUMNS = """
[monitor]
time = "Seconds"
longitude = "Lon"
latitude = "Lat"
flow = "Flow kg/s"
flow_unit = "kg/s"
moisture = "Moist %"
moisture_unit = "%"
"""
HEADER_M, PLATFORM_M = 6.096, 9.144
PASSES = {"corn": HEADER_M, "soybean": PLATFORM_M}


def drives_on(layout, crop, *, stops=()):
    """Give the passes over a crop's strips, side by side, strips running north and south."""
    wide_m = PASSES[crop]
    for strip in layout.strips[layout.strips["crop"] == crop].itertuples():
        west, south, east, north = strip.geometry.bounds
        for number in range(round((east - west) / wide_m)):
            from_m = west + number * wide_m
            cut_m = (from_m, min(from_m + wide_m, east))
            stop = strip.strip in stops and number == 0
            yield Drive(strip.strip, from_m + wide_m / 2, cut_m, south, north, stop=stop)


def levels(layout, crop, mean):
    """Give each strip a yield of its own, that wavers along it."""
    random = np.random.default_rng(3)
    numbers = layout.strips[layout.strips["crop"] == crop]["strip"]
    own = {int(strip): mean * (1 + 0.15 * random.normal()) for strip in numbers}
    return lambda _, y, strip: own[strip] * (1 + 0.1 * np.sin(y / 40))
