"""Say whether a combine can unload on the go, and whether its tank lasts to the ends where not."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely

from striplay.ground import Ground
from striplay.notices import Notice
from striplay.operations.jobs import Job
from striplay.operations.lanes import EDGE, HEADER, TURN, Lane, in_the_way, lane_of
from striplay.operations.passes import Swept
from striplay.operations.route import Route
from striplay.operations.standing import HEADLAND
from striplay.plan.models import Plan
from striplay.units import format_length

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

PER_PASS = (
    "crop", "place", "block", "owner", "line", "worked_m", "area_m2", "sown_m2", "rows_on",
    "stops_at",
)  # fmt: skip
"""What a route holds of each pass."""


def unloading_verdict(
    plan: Plan,
    route: Route,
    blocks: Sequence[Swept],
    ground: Ground,
    stands: frozenset[str],
    grain: Floats | None = None,
    holds: float | None = None,
) -> Iterator[Notice]:
    """Say of a harvest whether its combine unloads on the go; nothing where its auger is not known.

    Args:
        plan: the machines.
        route: the harvest, in the order driven.
        blocks: the field's blocks, by index.
        ground: the field.
        stands: what stands that day besides the crop harvested.
        grain: grain of each pass, (n,); None where yields are not known.
        holds: what its tank holds; None where not known.
    """
    name, machine = route.job.name, route.job.machine
    lane = lane_of(plan, machine)
    if lane is None:
        return
    way = in_the_way(route, lane, blocks, ground, stands)
    if not lane.reaches:
        yield replace(_short(plan, machine, lane), job=name)
    free = way == ""
    side = "left" if lane.left else "right"
    if free.all():
        text = f"{name}: {machine} unloads on the go to its {side} on all {len(route)} passes"
        yield Notice("operations", "know", None, text, name)
        return
    text = (
        f"{name}: {machine} unloads on the go to its {side} on {int(free.sum())} of {len(route)} "
        f"passes; in the cart's way: {_counted(way[~free])}"
    )
    full = ~free & (grain > holds) if grain is not None and holds is not None else None
    edge = np.asarray(route.place == HEADLAND, dtype=bool)
    cure = _other_order(route, lane, blocks, ground, stands, int(free.sum()))
    if full is None:
        text += "; it unloads at the ends, if its tank lasts: state yield and holds to know"
    elif (full & ~edge).any():
        full &= ~edge
        assert grain is not None and holds is not None  # noqa: PT018, S101 - told by full
        worst = int(np.argmax(np.where(full, grain, 0.0)))
        center = shapely.get_coordinates(
            shapely.line_interpolate_point(route.line[worst], 0.5, normalized=True)
        )[0]
        text += (
            f"; its tank does not last {int(full.sum())} of these, the fullest with "
            f"{grain[worst] / holds:.1f} tanks (at {ground.plane.place(center)}): unload "
            "within the field on ground already cut, or make rows shorter with a crossing"
        )
        yield Notice("operations", "stop", ground.plane.spot(center), text + cure, name)
        return
    else:
        text += "; it unloads at the ends, where its tank lasts to"
        if full.any():
            text += (
                "; opening the headland it fills on the way: it stops, and a cart comes up behind "
                "on the ground just cut"
            )
    yield Notice("operations", "mind", None, text + cure, name)


def not_judged(plan: Plan, jobs: Iterable[Job]) -> Iterator[Notice]:
    """Say once of which combines it is not known whether they can unload on the go."""
    reaping = dict.fromkeys(job.machine for job in jobs if job.does == "harvest")
    unknown = [machine for machine in reaping if lane_of(plan, machine) is None]
    if unknown:
        text = (
            f"whether {', '.join(unknown)} can unload on the go is not judged: state auger_reach "
            "of each"
        )
        yield Notice("operations", "know", None, text)


def _short(plan: Plan, machine: str, lane: Lane) -> Notice:
    """Say that an auger does not reach past its header."""
    reach, needed = (
        format_length(m, plan.units) for m in ((lane.low_m + lane.high_m) / 2, lane.needed_m)
    )
    text = (
        f"{machine}: its auger reaches {reach} from its middle, and {needed} would clear half its "
        "header and the cart; a longer auger or a narrower header would do"
    )
    return Notice("operations", "mind", None, text)


def _counted(way: Geometries) -> str:
    """Say what is in the way, what most often is first."""
    words = {EDGE: EDGE, HEADER: HEADER, TURN: TURN}
    counts = Counter(way.tolist()).most_common()
    return ", ".join(f"{words.get(what, f'standing {what}')} ({count})" for what, count in counts)


def _other_order(
    route: Route,
    lane: Lane,
    blocks: Sequence[Swept],
    ground: Ground,
    stands: frozenset[str],
    now: int,
) -> str:
    """Name the order that gives the cart a lane on most passes, where one gives it on more."""
    edge = route.place == HEADLAND
    same = np.arange(len(route))
    back = np.concatenate([same[edge], same[~edge][::-1]])  # the headland is opened first
    tries: dict[str, Route] = {
        "strips in the opposite order": driven(route, back),
        "each pass over strips driven the other way": driven(route, same, ~edge),
        "strips in the opposite order, each pass the other way": driven(route, back, ~edge[back]),
    }
    free = {
        said: int((in_the_way(one, lane, blocks, ground, stands) == "").sum())
        for said, one in tries.items()
    }
    best = max(free, key=lambda said: free[said])
    if free[best] <= now + WORTH * len(route):
        return ""
    return f"; {best}, it would be on the go on {free[best]}"


WORTH = 0.1
"""Another order is named where it gives so large a share of the passes a lane more (our choice)."""


def driven(route: Route, order: Integers, back: Bools | None = None) -> Route:
    """Give a route's passes in another order, without the way between them.

    Args:
        route: the passes.
        order: which comes first, second and so on.
        back: which of these, in their new order, are turned round.
    """
    each = {name: getattr(route, name)[order] for name in PER_PASS}
    if back is not None:
        each["line"] = np.where(back, shapely.reverse(each["line"]), each["line"])
    return replace(route, **each)
