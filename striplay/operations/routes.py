"""Drive the season's jobs: the passes of each in the order that drives least, from gate to gate."""

import logging
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.path import Path
from striplay.ground import Ground
from striplay.layout.pieces import RowPieces
from striplay.limits import MOST_AT_ONCE
from striplay.operations.jobs import Job, crops_of
from striplay.operations.order import best_order
from striplay.operations.passes import Passes
from striplay.operations.route import Linked, Route, gate_of
from striplay.operations.stands import standing_at
from striplay.operations.turn_room import Room
from striplay.operations.turning import Turner, links_of, turned
from striplay.operations.turns_told import Told, across_notices, turn_notices, way_notices
from striplay.operations.under import area_under_m2, on_words
from striplay.operations.ways import Rings, Ways, ways_of
from striplay.plan.models import Plan
from striplay.section.section import Section

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]


_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Land:
    """What routes lie on.

    Attributes:
        ground: the field.
        section: the set.
        blocks: the path and the rows of each block.
        strips: pieces of strips on the local plane, (n,).
        grown: the crops and mixtures that each of these may hold, (n,).
        headland: polygons of the headland, on the local plane.
        rings: what machines follow from pass to pass.
    """

    ground: Ground
    section: Section
    blocks: Sequence[tuple[Path, RowPieces]]
    strips: Geometries
    grown: Sequence[frozenset[str]]
    headland: Geometries
    rings: Rings

    def room(self, standing: Container[str]) -> Room:
        """Give the ground to turn on while some crops stand."""
        held = [any(name in standing for name in names) for names in self.grown]
        return Room.of(self.ground, overlay.union_all(self.strips[np.array(held, dtype=bool)]))


def routes_of(
    plan: Plan,
    jobs: Sequence[Job],
    days: Mapping[tuple[str, str], date],
    driven: Sequence[Passes],
    land: Land,
) -> list[Route]:
    """Drive jobs one after the other; a job without a pass is left out.

    Args:
        plan: its machines and gate.
        jobs: in the order done.
        days: when each planting and harvest happens, by operation and crop, as far as known.
        driven: the passes of every work, side by side.
        land: what they lie on.
    """
    rooms: dict[frozenset[str], Room] = {}
    found = []
    for job, standing in zip(jobs, standing_at(jobs, days), strict=True):
        groups = _groups(job, driven)
        if not groups:
            continue
        _log.info("ordering the passes of %s", job.name)
        # what it plants or harvests is kept off too
        kept_off = standing | frozenset(crops_of(job))
        if kept_off not in rooms:
            rooms[kept_off] = land.room(kept_off)
        found.append(_route(plan, job, groups, land, rooms[kept_off]))
    return found


def _groups(job: Job, driven: Sequence[Passes]) -> list[Passes]:
    """List a job's passes crop by crop: harvest opens the headland first, the others end with it.

    The headland is opened before strips are harvested, for the header to turn on; it is planted
    when no machine turns on it any more.
    """
    work = (job.does, job.machine)
    mine = [one for one in driven if (one.operation, one.machine) == work and len(one)]
    own = job.crops if job.does in {"plant", "harvest"} else crops_of(job)
    strips = [one for crop in job.crops for one in mine
              if one.crop == crop and one.place == "strips"]  # fmt: skip
    around = [one for one in mine if one.crop in own and one.place == "headland"]
    return [*around, *strips] if job.does == "harvest" else [*strips, *around]


@dataclass(frozen=True)
class _Between:
    """Find the ways between the passes of a job.

    Attributes:
        ways: between the ends of its passes.
        entered: the end at which each is entered, in the order driven.
        turner: its machine.
        room: what that may turn on.
        told: what notices say of it.
    """

    ways: Ways
    entered: Integers
    turner: Turner
    room: Room
    told: Told

    def __call__(self) -> Linked:
        """Turn from each pass to the next."""
        turning = turned(self.ways, self.entered, self.turner, self.room)
        links = links_of(turning, self.ways, self.entered, self.room)
        notices = (
            *across_notices(self.ways, self.entered, links, self.told),
            *way_notices(self.ways, self.entered, links, turning, self.room, self.told),
            *turn_notices(turning, self.told),
        )
        return Linked(links, notices)


def _route(plan: Plan, job: Job, groups: Sequence[Passes], land: Land, room: Room) -> Route:
    """Order a job's passes group by group."""
    machine = plan.machines[job.machine]
    lines = np.concatenate([one.line for one in groups])
    ways = ways_of(lines, machine.turn_radius_m, land.rings, gate_of(plan, land.ground))
    ordered, entered, beside_m = _ordered(groups, ways, _edges(land.ground))
    each = [_figures(plan, one, land) for one in ordered]
    turner = Turner(job.machine, machine.length_m or 0.0, machine.reversing)
    told = Told(job.name, turner, land.ground, plan.headland_width_m, plan.units)
    counts = [len(one) for one in ordered]

    def repeated(name: str) -> Geometries:
        values = np.empty(len(ordered), dtype=object)
        values[:] = [getattr(one, name) for one in ordered]
        return np.repeat(values, counts)

    return Route(
        job=job,
        width_m=machine.width_m,
        crop=repeated("crop"),
        place=repeated("place"),
        block=repeated("block").astype(np.int64),
        owner=np.concatenate([one.owner for one in ordered]),
        line=np.concatenate([one.line for one in ordered]),
        worked_m=np.concatenate([one.worked_m for one in ordered]),
        area_m2=np.concatenate([one.area_m2 for one in each]),
        sown_m2=np.concatenate([one.sown_m2 for one in each]),
        rows_on=np.concatenate([one.rows_on for one in each]),
        stops_at=np.concatenate([one.stops_at for one in ordered]),
        between=_Between(ways, entered, turner, room, told),
        beside_m=beside_m,
        gate_m=ways.gate_m,
        groups=tuple(ordered),
    )


ACROSS_M = 2_000.0
"""To cross where no headland leads counts so much longer when passes are ordered: it costs crop, or
a drive by the road (our choice)."""


def _edges(ground: Ground) -> Geometries:
    """Give the rings of the ground's edge, the outer one of each part first."""
    parts = shapely.get_parts(shapely.get_parts(ground.rowed))
    rings, part = shapely.get_rings(parts, return_index=True)
    inner = np.diff(part, prepend=-1) == 0
    return np.concatenate([rings[~inner], rings[inner]])


def _in_turn(group: Passes, edges: Geometries) -> list[Integers]:
    """List which passes of a group are ordered together, in turn.

    Rounds of a headland are driven ring by ring of the field's edge: harvest opens the outer edge
    first, its outermost round before the next, then the rounds of a pond; the others end there.
    """
    count = len(group)
    if group.place != "headland":
        every = np.arange(count)
        return np.split(every, np.arange(MOST_AT_ONCE, count, MOST_AT_ONCE))
    away_m = shapely.distance(group.line[:, None], edges)
    ring = np.argmin(away_m, axis=1)
    number = np.rint(away_m[np.arange(count), ring] / ROUND_M).astype(np.int64)
    keys, of = np.unique(np.stack([ring, number], axis=1), axis=0, return_inverse=True)
    rounds = [np.flatnonzero(of.reshape(-1) == index) for index in range(len(keys))]
    return rounds if group.operation == "harvest" else rounds[::-1]


ROUND_M = 0.5
"""Rounds of a headland that are nearer to the edge by less are one (our choice)."""


def _ordered(
    groups: Sequence[Passes], ways: Ways, edges: Geometries
) -> tuple[list[Passes], Integers, float]:
    """Order the passes of each group in turn, the next one from where the last has ended.

    Args:
        groups: in the order driven.
        ways: between the ends of all their passes.
        edges: the field's edges, the outer one of each part before those of its ponds.

    Returns:
        The groups; the ends entered, in order; and the length of the ways between were they driven
        side by side.
    """
    entered: list[Integers] = []
    beside_m, ordered = 0.0, 0
    firsts = np.cumsum([0, *(len(group) for group in groups)])
    for first, group in zip(firsts.tolist(), groups, strict=False):
        for those in _in_turn(group, edges):
            nodes = (2 * (first + those)[:, None] + np.arange(2)).ravel()
            among = ways.among(nodes)
            every = np.arange(len(nodes))
            from_m, to_m = among.from_m, np.zeros(len(nodes))
            kept_from, kept_to = among.gate_across(every), np.zeros(len(nodes), dtype=np.bool_)
            if entered:
                left = np.full(len(nodes), entered[-1][-1] ^ 1)
                from_m, kept_from = ways.lengths_m(left, nodes), ways.is_across(left, nodes)
            ordered += len(those)
            if ordered == firsts[-1]:
                to_m, kept_to = among.to_m, among.gate_across(every)
            fixed = group.only_so[those].astype(np.int8)
            best = best_order(
                among.between_m + ACROSS_M * among.is_across(every[:, None], every),
                from_m + ACROSS_M * kept_from,
                to_m + ACROSS_M * kept_to,
                fixed,
                len(group),
            )
            entered.append(nodes[2 * best.order + best.back])
            beside, out = best.beside, best.beside ^ 1
            between_m = among.between_m[out[:-1], beside[1:]].sum()
            beside_m += float(from_m[beside[0]] + between_m + to_m[out[-1]])
    driven = np.concatenate(entered)
    found = []
    for first, end, group in zip(firsts[:-1].tolist(), firsts[1:].tolist(), groups, strict=True):
        mine = driven[(driven // 2 >= first) & (driven // 2 < end)]
        found.append(group.driven(mine // 2 - first, mine % 2 == 1))
    return found, driven, beside_m


@dataclass(frozen=True)
class _Figures:
    """Figures of passes, as `Route` has them."""

    area_m2: Floats
    sown_m2: Floats
    rows_on: Geometries


def _figures(plan: Plan, passes: Passes, land: Land) -> _Figures:
    """Give the ground that passes work, and which units, rows or sections are on."""
    machine = plan.machines[passes.machine]
    if passes.place == "headland":
        share = passes.length_m / max(float(passes.length_m.sum()), 1e-9)
        area_m2 = float(shapely.area(land.headland).sum()) * share
        words = on_words(passes, machine, None, land.section, None, plan.units, land.headland)
        return _Figures(area_m2, np.zeros((len(passes), len(land.section.layers))), words)
    path, rows = land.blocks[passes.block]
    area_m2, sown_m2 = area_under_m2(passes, rows, land.section, path)
    words = on_words(passes, machine, rows, land.section, path, plan.units)
    return _Figures(area_m2, sown_m2, words)
