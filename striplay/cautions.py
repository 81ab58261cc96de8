"""Hold the usual cautions of the trade, each with when it applies."""

import re
from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Literal

from striplay.units import UnitSystem

Occasion = Literal[
    "always", "several crops", "crop between rows", "second crop", "crops in one row", "harvest",
    "no harvester", "obstacles",
]  # fmt: skip
"""What a plan may hold that calls for a caution."""


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution.

    Attributes:
        about: what it is about, as a heading.
        text: whole in itself.
        when: what calls for it.
        short: the same in a line, for the page with the map; empty where it has no line there.
        work: the kinds of work whose operators are told it on their sheets.
        grave: 1 where it kills at once, 2 where it harms people, land or a crop, 3 what else.
    """

    about: str
    text: str
    when: Occasion = "always"
    short: str = ""
    work: tuple[str, ...] | Literal["all"] = ()
    grave: int = 2


SLOPES = Caution(
    "Slopes",
    "Rows straight down a fall, and turns on it, roll machines over. Stay off slopes above what "
    "each maker's manual allows; keep the roll-over protection up and wear the belt.",
    short="Slopes: rows down a fall, and turns on it, roll machines over; heed the manual, belt "
    "up. Ditches, banks: keep off by at least their depth.",
    work="all",
    grave=1,
)
BANKS = Caution(
    "Ditches and banks",
    "Keep wheels off an edge by at least the depth of the ditch or bank: it gives way.",
    work="all",
    grave=1,
)
CAUTIONS = (
    Caution(
        "Boundary",
        "The map is not a legal survey: check boundary, gates and obstacles on the ground before "
        "driving.",
        short="Not a legal survey: check boundary, gates and obstacles on the ground before "
        "driving.",
        work="all",
        grave=3,
    ),
    Caution(
        "Power lines",
        "Keep every part of every machine and auger at least 10 ft (3.05 m) from a power line, in "
        "every direction, up to about 50 kV; above that ask the utility how far. Lower augers to "
        "travel (Ohio State Agricultural Safety, 2019, from memory). If a machine touches a line, "
        "stay in the cab, keep others away and call the utility and the emergency number. Only if "
        "fire forces you out: jump clear with feet together, never touch machine and ground at "
        "once, and shuffle away (from memory).",
        short="Power lines: keep all machines and augers 10 ft (3.05 m) away in every direction; "
        "above about 50 kV ask the utility.",
        work="all",
        grave=1,
    ),
    Caution(
        "People",
        "Nobody but the operator on or near a machine: no extra riders, children kept off. Stop "
        "the engine before anyone clears, hitches or adjusts anything.",
        short="People: nobody but the operator on or near a machine; no extra riders, children "
        "kept off.",
        work="all",
        grave=1,
    ),
    Caution(
        "Spraying beside another crop",
        "Neighboring strips are susceptible crops, side by side for the whole season. The label "
        "is the law: a product must suit both crops or be kept off the one it does not suit.",
        "several crops",
        short="Spray: strips are susceptible neighbors. The label is the law: a product suits "
        "both crops or is kept off.",
        work=("spray",),
    ),
    Caution(
        "Spraying a crop between rows",
        "Two crops in one strip are sprayed together: the label must allow the product on both, "
        "at the stage each has reached.",
        "crop between rows",
        short="Crops between rows: the label must allow a product on both; mind plant-back "
        "intervals.",
        work=("spray",),
    ),
    Caution(
        "Spraying a mixture",
        "Crops in one row are sprayed together: the label must allow the product on each of them.",
        "crops in one row",
        short="Mixtures: the label must allow a product on each crop of them.",
        work=("spray",),
    ),
    Caution(
        "Plant-back",
        "Before a second crop is sown, the plant-back interval must be over for everything the "
        "strip was sprayed with; the labels name it crop by crop.",
        "second crop",
        work=("plant", "spray"),
    ),
    Caution(
        "Drift, pollinators, water",
        "Mind wind, still air at dawn and dusk, crops in bloom and the bees on them, wells and "
        "open water: label and local rules say when not to spray and how far off to stay. Where a "
        "license is needed, leave it to who holds one.",
        short="Drift, pollinators, wells, water: the label and local rules say when to spray and "
        "how far off to stay.",
        work=("spray",),
    ),
    Caution(
        "Entry and harvest after spraying",
        "Nobody enters a sprayed strip before the re-entry interval of its label is over. No crop "
        "is cut, grazed or picked before its pre-harvest interval is over; with strips side by "
        "side that goes for the neighbor's spray too, if it drifted.",
        work=("spray", "harvest", "mow"),
    ),
    Caution(
        "Hand work",
        "Scouting, weeding and picking by hand begin after the label's re-entry interval, and a "
        "hand-picked crop waits for its pre-harvest interval. Keep people out of strips beside a "
        "machine at work.",
        "no harvester",
        work=("spray",),
    ),
    SLOPES,
    BANKS,
    Caution(
        "Treated seed",
        "Wear gloves and what else the label says. Never use treated seed for food, feed or oil; "
        "pick up spills, since birds and stock eat them.",
        work=("plant",),
    ),
    Caution(
        "Augers and grain",
        "Keep guards on augers and shafts. Nobody enters a bin or wagon while it unloads: grain "
        "buries a person in seconds.",
        "harvest",
        work=("harvest", "haul"),
        grave=1,
    ),
    Caution(
        "Obstacles",
        "What is on the map is what the file holds: guy wires, stand pipes and wet spots may not "
        "be on it. Walk to what is new before the first pass.",
        "obstacles",
        work="all",
        grave=3,
    ),
    Caution(
        "Ponds and other ground left out",
        "No clearance is kept round holes of the boundary and areas that machines lift through, "
        "and round other obstacles only what the plan states: what is sown and sprayed may come "
        "up to their edge. Round water the label says how far off to stop: shut off there, keep "
        "wheels off the bank, or state or draw that much.",
        "obstacles",
        work=("plant", "spread", "spray"),
    ),
    Caution(
        "Waterways and outlets",
        "Keep grassed waterways and drainage outlets uncropped, and shut off over them.",
        work=("plant", "spread", "spray", "till"),
        grave=3,
    ),
    Caution(
        "Digging",
        "Call before digging: have pipes and cables marked.",
    ),
    Caution(
        "Roads",
        "Sight lines at road corners, and turning in the road, go by local rules.",
        short="Roads: local rules decide on sight lines and on turning there. Call before digging.",
        work="all",
        grave=3,
    ),
)
"""All of them, in the order they are told; common practice, no source, where none is named."""


def cautions_for(occasions: Collection[Occasion], units: UnitSystem = "us") -> list[Caution]:
    """Choose the cautions that what a plan holds calls for.

    Args:
        occasions: what it holds; "always" goes without saying.
        units: the plan's: its own stand before the other's.
    """
    mine = [one for one in CAUTIONS if one.when in {*occasions, "always"}]
    if units == "us":
        return mine
    return [replace(one, text=_metric(one.text), short=_metric(one.short)) for one in mine]


def _metric(text: str) -> str:
    """Put meters before feet.

    >>> _metric("keep 10 ft (3.05 m) away")
    'keep 3.05 m (10 ft) away'
    """
    return re.sub(r"([\d.]+ ft) \(([\d.]+ m)\)", r"\2 (\1)", text)


def cautions_of(
    does: str, occasions: Collection[Occasion], units: UnitSystem = "us"
) -> list[Caution]:
    """Choose the cautions that an operation calls for, the gravest first.

    Args:
        does: its kind of work.
        occasions: what its plan holds, as in `cautions_for`.
        units: the plan's.
    """
    told = cautions_for(occasions, units)
    mine = [one for one in told if one.work == "all" or does in one.work]
    return sorted(mine, key=lambda one: one.grave)
