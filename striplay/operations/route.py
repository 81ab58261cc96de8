"""Hold a job as it is driven: its passes in order, from gate to gate, and the way between them."""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from striplay.ground import Ground
from striplay.notices import Notice
from striplay.operations.jobs import Job
from striplay.operations.passes import Passes
from striplay.plan.models import Plan

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]


@dataclass(frozen=True)
class Links:
    """The ways between passes: from the gate to the first, from each to the next, and home.

    Attributes:
        line: each as driven, (n + 1,).
        length_m: how long, in reverse included, (n + 1,).
        reverse_m: how much of it in reverse, (n + 1,).
        kind: flat, bulb, loop, fishtail, along headland or across; first and last gate, (n + 1,).
        beyond_m: how much of each lies out of the field, over what is gone around, and over crop
            that stands, (n + 1, 3).
    """

    line: Geometries
    length_m: Floats
    reverse_m: Floats
    kind: Geometries
    beyond_m: Floats


@dataclass(frozen=True)
class Linked:
    """The ways between the passes of a job, and what they lack.

    Attributes:
        links: the ways.
        notices: what their turns lack.
    """

    links: Links
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True)
class Route:
    """A job driven from gate to gate, pass by pass in the order driven, on the local plane.

    Attributes:
        job: what is done.
        width_m: how wide its machine is.
        crop: what each pass works, as in `Passes.crop`, (n,).
        place: strips or headland, (n,).
        block: index of the block, (n,).
        owner: index of the piece of strip in its block, the first of several; -1 on a headland,
            (n,).
        line: each pass as driven, (n,).
        worked_m: length of each at work, lifted stretches left out, (n,).
        area_m2: ground that its rows or sections on work, (n,).
        sown_m2: of strips, the ground of its rows that carry each layer of the set, (n, layers).
        rows_on: its units, rows or sections on, in words such as "units 1-8 on", (n,).
        stops_at: the obstacles each stops at, or empty, (n,).
        between: finds the ways between them; which takes longer than all else.
        beside_m: the way between them were they driven side by side.
        gate_m: where it comes from and goes to, (2,).
        groups: the same passes as drawn, of one crop, block and place each.
    """

    job: Job
    width_m: float
    crop: Geometries
    place: Geometries
    block: Integers
    owner: Integers
    line: Geometries
    worked_m: Floats
    area_m2: Floats
    sown_m2: Floats
    rows_on: Geometries
    stops_at: Geometries
    between: Callable[[], Linked] = field(repr=False)
    beside_m: float
    gate_m: Floats = field(default_factory=lambda: np.zeros(2))
    groups: tuple[Passes, ...] = field(default=(), repr=False)

    def __len__(self) -> int:
        return len(self.line)

    @cached_property
    def _linked(self) -> Linked:
        return self.between()

    @property
    def links(self) -> Links:
        """The ways between its passes; found when asked."""
        return self._linked.links

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What its turns lack; found when asked."""
        return self._linked.notices


def gate_of(plan: Plan, ground: Ground) -> Floats | None:
    """Give a plan's gate on the local plane, (2,); None where it states none."""
    return None if plan.gate is None else ground.plane.to_plane(np.array([plan.gate]))[0]
