"""Hold what is published of machines at work: how they use their time, and what they burn.

A figure is told beside what is published, never changed for it. Where a value has no source it is
from memory.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from striplay.plan.machines import Machine, Planter
from striplay.units import ACRE_M2, GALLON_M3


@dataclass(frozen=True, slots=True)
class Range:
    """What is usual of a figure, in SI.

    Attributes:
        low: the least that is usual.
        high: the most.
        source: where it is from.
    """

    low: float
    high: float
    source: str = "from memory"

    def holds(self, value: float, factor: float = 1.0) -> bool:
        """Tell whether a value lies within, or within so many times of it."""
        return self.low / factor <= value <= self.high * factor


EP496 = "ASABE EP496.3"
D497 = "ASABE D497.7, from memory"
BOTH = f"{EP496}, {D497}"
MISSOURI = "Univ. of Missouri G1208, 1993"
PURDUE = "Purdue Univ., 2006"

EFFICIENCY: Mapping[str, Range] = {
    "till": Range(0.70, 0.90, BOTH),
    "plant": Range(0.50, 0.75, BOTH),
    "drill": Range(0.55, 0.80, BOTH),
    "spread": Range(0.60, 0.80, BOTH),
    "cultivate": Range(0.70, 0.90, BOTH),
    "spray": Range(0.50, 0.80, BOTH),
    "mow": Range(0.75, 0.85, D497),
    "harvest": Range(0.60, 0.80, BOTH),
}
"""Field efficiency by kind of work: the wider of two standards.

EP496.3 (M. Spekken, S. de Bruin, Precision Agriculture 14, 2013, doi 10.1007/s11119-012-9290-5):
tillage 80 to 85 %, fertilizer spreaders 70, seeding and planting 65 to 70, sprayers 60 to 65,
harvesters 60 to 70. D497.7, from memory: tillage and row cultivators 70 to 90, row planters 50 to
75, drills 55 to 80, spreaders 60 to 80, boom sprayers 50 to 80, mowers 75 to 85, combines 65 to 80.
"""


def _gallons(low: float, high: float | None = None, source: str = "from memory") -> Range:
    per_m2 = GALLON_M3 / ACRE_M2
    return Range(low * per_m2, (low if high is None else high) * per_m2, source)


FUEL: Mapping[tuple[str, str], Range] = {
    ("till", ""): _gallons(0.60, 1.10, f"field cultivator to chisel plow, {MISSOURI}"),
    ("cultivate", ""): _gallons(0.45, None, MISSOURI),
    ("plant", ""): _gallons(0.50, None, MISSOURI),
    ("harvest", "soybean"): _gallons(2.02, None, PURDUE),
    ("harvest", "corn"): _gallons(2.40, None, f"at 165 bu/acre, {PURDUE}"),
    ("harvest", ""): _gallons(2.02, 2.40, f"soybean to corn, {PURDUE}"),
    ("spray", ""): _gallons(0.10),
    ("spread", ""): _gallons(0.15),
    ("mow", ""): _gallons(0.35),
}
"""Diesel by area, by kind of work and crop; no crop for all others.

Without tillage a planter takes 0.35 gal/acre (Missouri) to 0.53 (Purdue, corn). Those from memory
are orders of magnitude of our own.
"""
FUEL_OFF = 0.35
"""True use lies up to so much above or below (Iowa State Univ. A3-27)."""


def efficiency_of(machine: Machine) -> Range | None:
    """Give the published field efficiency of a machine's kind of work; None where there is none.

    A machine that plants and is given by its width is a drill.
    """
    drill = isinstance(machine, Planter) and machine.width_given_m is not None
    return EFFICIENCY.get("drill" if drill else machine.does)


def fuel_per_m2(does: str, kind: str) -> Range | None:
    """Give published fuel by area for a kind of work on a kind of crop; None where none is."""
    return FUEL.get((does, kind), FUEL.get((does, "")))
