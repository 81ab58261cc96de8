"""Hold a yield monitor's points as its file has them, in SI and in the order of time."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from striplay.tolerances import GAP_S, GAP_STEPS

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class MonitorLog:
    """A yield monitor's points, in the order of time; what a line lacks is NaN.

    Attributes:
        source: name of the file.
        line: line of the file that each stands in, (n,).
        time_s: when, from any beginning, (n,).
        lonlat_deg: longitude and latitude, WGS 84, (n, 2).
        grain: flow or yield as harvested, (n,).
        grain_unit: what one of it is in SI: kg_per_s, bu_per_s, kg_per_m2 or bu_per_m2.
        moisture: share of weight, (n,); None where it was not measured.
        width_m: width cut, (n,); None where it was not written.
        speed_mps: (n,); None where it was not written.
    """

    source: str
    line: Integers
    time_s: Floats
    lonlat_deg: Floats
    grain: Floats
    grain_unit: str
    moisture: Floats | None = None
    width_m: Floats | None = None
    speed_mps: Floats | None = None

    def __len__(self) -> int:
        return len(self.time_s)

    @property
    def by_area(self) -> bool:
        """Whether the sensor's flow is written as a yield."""
        return self.grain_unit.endswith("_per_m2")

    @cached_property
    def complete(self) -> Bools:
        """Whether each has all that is needed of it, (n,)."""
        columns = [self.time_s, *self.lonlat_deg.T, self.grain]
        columns += [one for one in (self.moisture, self.width_m, self.speed_mps) if one is not None]
        return np.asarray(np.all(np.isfinite(columns), axis=0), dtype=bool)

    def chosen(self, those: Bools) -> "MonitorLog":
        """Give some of its points."""
        moisture, width_m, speed_mps = (
            None if one is None else one[those]
            for one in (self.moisture, self.width_m, self.speed_mps)
        )
        return MonitorLog(
            self.source,
            self.line[those],
            self.time_s[those],
            self.lonlat_deg[those],
            self.grain[those],
            self.grain_unit,
            moisture,
            width_m,
            speed_mps,
        )

    @cached_property
    def step_s(self) -> float:
        """Usual time from a point to the next."""
        steps_s = np.diff(self.time_s)
        steps_s = steps_s[steps_s > 0]
        return float(np.median(steps_s)) if len(steps_s) else 1.0

    @cached_property
    def stretch(self) -> Integers:
        """Number of the stretch without a gap that each is on, from 0, (n,)."""
        if not len(self):
            return np.empty(0, dtype=np.int64)
        gap_s = max(GAP_S, GAP_STEPS * self.step_s)
        return np.cumsum(np.append(False, np.diff(self.time_s) > gap_s))

    @cached_property
    def last(self) -> Integers:
        """Index of the last point of the stretch of each, (n,)."""
        ends = np.append(np.flatnonzero(np.diff(self.stretch)), len(self) - 1)
        return np.asarray(ends[self.stretch], dtype=np.int64)

    @cached_property
    def first(self) -> Integers:
        """Index of the first point of the stretch of each, (n,)."""
        begins = np.append(0, np.flatnonzero(np.diff(self.stretch)) + 1)
        return np.asarray(begins[self.stretch], dtype=np.int64)

    def about(self, by_s: float) -> tuple[Integers, Integers]:
        """Give the points so long before and after each, on its stretch, one at least."""
        steps = max(1, round(by_s / self.step_s))
        at = np.arange(len(self))
        return np.maximum(at - steps, self.first), np.minimum(at + steps, self.last)

    @cached_property
    def held_s(self) -> Floats:
        """Time that each stands for: half of that to the one before and to the one after, (n,)."""
        at = np.arange(len(self))
        before, after = np.maximum(at - 1, self.first), np.minimum(at + 1, self.last)
        share = np.maximum(after - before, 1)
        return np.asarray((self.time_s[after] - self.time_s[before]) / share, dtype=np.float64)
