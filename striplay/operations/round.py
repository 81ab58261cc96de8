"""Drive machines round a planted headland."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.inset import inset_all_round
from striplay.geometry.path import DECIMALS, Path, along_line
from striplay.ground import Ground
from striplay.operations.clear import without_stops
from striplay.operations.inside import Runs
from striplay.operations.passes import Passes, parts_under, stops_at
from striplay.operations.route import gate_of
from striplay.plan.models import Plan
from striplay.section.passes import Work, shares, works_on
from striplay.tolerances import INSIDE_M, SHORTEST_PASS_M, WIDTH_M

Floats = npt.NDArray[np.float64]
Geometries = npt.NDArray[np.object_]

STOPS_SOONER_M = 0.5
"""A round of the headland stops so much sooner at a pole than it must (our choice)."""
WHEELS_M = 2.0
"""Wheels take so much on either side of a machine's middle (our choice)."""


@dataclass(frozen=True)
class Verge:
    """A piece of strip too narrow to be planted as such, beside the headland that it joined.

    Attributes:
        path: what it lies along.
        begin: where it begins along the path.
        end: where it ends.
        low_m: its lower edge across.
        high_m: its upper edge.
        left: whether the headland lies to its left.
    """

    path: Path
    begin: float
    end: float
    low_m: float
    high_m: float
    left: bool

    def line(self, width_m: float, headland_m: float) -> shapely.LineString:
        """Give the middle of a machine that works it, reaching over the headland beside it.

        A machine wider than both together keeps to the field, as on the headland's first round.
        """
        both_m = self.high_m - self.low_m + headland_m
        in_m = min(width_m / 2, max(both_m - width_m / 2, WHEELS_M))
        across_m = self.low_m + in_m if self.left else self.high_m - in_m
        at = (np.array([value]) for value in (self.begin, self.end, across_m))
        return self.path.lines(*at)[0]


def headland_passes(
    plan: Plan, ground: Ground, headland: Geometries, verges: Sequence[Verge] = ()
) -> list[Passes]:
    """Drive every machine round a planted headland; none where it is not planted.

    Args:
        plan: its headland and machines.
        ground: the field.
        headland: polygons of the headland, on the local plane.
        verges: strips of ground that joined it.
    """
    crop, width_m = plan.headland_crop, plan.headland_width_m
    if crop is None or not len(headland):
        return []
    found = []
    works = works_on(plan, crop)
    middles = [middles_m(work, width_m) for work in works]
    # machines that run equally far from the boundary run on the same line
    ahead, gate_m = _ahead_by_depth(plan, works), gate_of(plan, ground)
    lines_at = {
        at_m: _begun(_round(ground, headland, at_m), ground, gate_m, at_m, ahead, width_m)
        for at_m in {*chain(*middles)}
    }
    for work, own_m in zip(works, middles, strict=True):
        rounds = [lines_at[at_m] for at_m in own_m]
        along = np.array([verge.line(work.width_m, width_m) for verge in verges], dtype=object)
        lines = np.concatenate([*rounds, along])
        lines = _clear(lines[shapely.length(lines) > WIDTH_M], work.width_m, ground)
        lines = lines[shapely.length(lines) >= SHORTEST_PASS_M]
        lines = lines[np.argsort(parts_under(lines, ground), kind="stable")]
        count = len(lines)
        found.append(
            Passes(
                operation=work.operation,
                machine=work.machine,
                crop=crop,
                width_m=work.width_m,
                place="headland",
                block=0,
                owner=np.full(count, -1),
                line=lines,
                stretch=lines,
                stretch_of=np.arange(count),
                working=np.ones(count, dtype=bool),
                stops_at=stops_at(lines, work.width_m, ground),
                idle_m=np.zeros(count),
                back=np.zeros(count, dtype=bool),
                only_so=np.zeros(count, dtype=bool),
            )
        )
    return found


def middles_m(work: Work, width_m: float) -> list[float]:
    """Give how far from the boundary a machine's middle runs on each round, outermost first.

    The first round's swath ends at the boundary; a machine wider than the headland reaches over
    what lies inside it, where booms are shut, as far as its wheels stay on the headland.

    >>> middles_m(Work("harvest", "platform", 9.0, None), 24.0)
    [4.5, 12.0, 19.5]
    >>> middles_m(Work("spray", "boom", 36.0, None), 24.0)
    [18.0]
    >>> middles_m(Work("spray", "boom", 36.0, None), 12.0)
    [10.0]
    """
    by_width = Work("harvest", work.machine, work.width_m, None)
    inside_m = min(work.width_m / 2, width_m - WHEELS_M)
    # to a nanometer, so that those of machines as wide are the same
    return [
        round(max(share.middle_m, inside_m), DECIMALS)
        for share in shares(by_width, width_m, width_m)
    ]


def _round(ground: Ground, headland: Geometries, at_m: float) -> Geometries:
    """Give the lines of one round, where there is headland."""
    inner = inset_all_round(ground.rowed, at_m)
    own = shapely.boundary(inner)
    return _joined_lines(overlay.intersection(own, headland))


def _ahead_by_depth(plan: Plan, works: Sequence[Work]) -> float:
    """Give how much farther on a round must begin, by how much deeper it lies, to be shifted to.

    A machine of radius r shifts w aside, to go on as before, over the root of w (4 r - w) ahead, by
    two arcs; over 2 r where w is more. The most of any machine, so that all keep the same lines.
    """
    most = 0.0
    for work in works:
        radius_m, aside_m = plan.machines[work.machine].turn_radius_m, work.width_m
        within_m = min(aside_m, 2 * radius_m)
        most = max(most, math.sqrt(within_m * (4 * radius_m - within_m)) / aside_m)
    return EASILY * most


EASILY = 1.2
"""A shift from round to round is given so much more than it must have (our choice)."""


def _begun(
    lines: Geometries,
    ground: Ground,
    gate_m: Floats | None,
    at_m: float,
    ahead: float,
    deep_m: float,
) -> Geometries:
    """Let closed rounds begin where a machine shifts to each from the round outside it.

    All go counterclockwise. The outermost begins where a straight edge does that is long enough for
    all, each deeper one farther on along it.

    Args:
        lines: of one round.
        ground: the field.
        gate_m: where machines come from, (2,).
        at_m: how far from the edge the round lies.
        ahead: how much farther on rounds begin, by how much deeper they lie.
        deep_m: how far from the edge the deepest may lie.
    """
    parts = shapely.get_parts(shapely.get_parts(ground.rowed))
    edges = np.asarray(shapely.get_rings(parts), dtype=object)
    gate = None if gate_m is None else shapely.Point(gate_m)
    near_gate = -1 if gate is None else int(np.argmin(shapely.distance(edges, gate)))
    found = lines.copy()
    for index in np.flatnonzero(shapely.is_closed(lines)):
        line = lines[index]
        if not shapely.is_ccw(line):
            line = shapely.reverse(line)
        of = int(np.argmin(shapely.distance(edges, line)))
        edge = edges[of] if shapely.is_ccw(edges[of]) else shapely.reverse(edges[of])
        beside = gate if of == near_gate else None
        from_m = _first_m(edge, beside, (1.0 + ahead) * deep_m) + (1.0 + ahead) * at_m
        found[index] = _begun_at(line, line.project(edge.interpolate(from_m % edge.length)))
    return found


def _begun_at(line: shapely.LineString, begin_m: float) -> shapely.LineString:
    """Let a closed line begin so far on along it."""
    points = shapely.get_coordinates(line)
    at_m = np.append(0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T)))[:-1]
    begin, points = shapely.get_coordinates(line.interpolate(begin_m)), points[:-1]
    ring = [begin, points[at_m > begin_m], points[at_m < begin_m], begin]
    return shapely.LineString(np.concatenate(ring))


def _first_m(edge: shapely.LinearRing, gate: shapely.Point | None, needed_m: float) -> float:
    """Give how far along a ring the first straight edge begins, on from the gate, that is so long.

    Where none is, or no gate lies there, that is the longest.
    """
    side_m = np.hypot(*np.diff(shapely.get_coordinates(edge), axis=0).T)
    begin_m = np.cumsum(side_m) - side_m
    if gate is not None and (side_m >= needed_m).any():
        gate_at_m = edge.project(gate)
        here = (begin_m <= gate_at_m) & (begin_m + side_m >= gate_at_m + needed_m)
        if here.any():
            return float(gate_at_m)
        on_m = np.mod(begin_m - gate_at_m, edge.length)
        return float(begin_m[np.argmin(np.where(side_m >= needed_m, on_m, np.inf))])
    return float(begin_m[np.argmax(side_m)])


def _joined_lines(geometries: Geometries) -> Geometries:
    """Join lines that meet, and drop the points where lines only touch."""
    parts = shapely.get_parts(geometries)
    lines = shapely.get_parts(parts[shapely.get_dimensions(parts) == 1])
    return np.asarray(shapely.get_parts(shapely.line_merge(shapely.multilinestrings(lines))))


def _from_far(line: shapely.LineString, beside: Geometries) -> shapely.LineString:
    """Let a closed round begin where it is farthest from small obstacles, so that none is there."""
    if not line.is_closed:
        return line
    points = shapely.get_coordinates(shapely.segmentize(line, STOPS_SOONER_M * 10))[:-1]
    away_m = shapely.distance(shapely.points(points), overlay.union_all(beside))
    points = np.roll(points, -int(np.argmax(away_m)), axis=0)
    return shapely.LineString(np.concatenate([points, points[:1]]))


def _clear(lines: Geometries, width_m: float, ground: Ground) -> Geometries:
    """Part rounds where their machine would come too near to a small obstacle."""
    if not ground.beside:
        return lines
    beside = np.array(ground.beside, dtype=object)
    near = shapely.STRtree(beside).query(lines, predicate="dwithin", distance=width_m)[0]
    found = [lines[np.setdiff1d(np.arange(len(lines)), near)]]
    for index in np.unique(near):
        path = along_line(_from_far(lines[index], beside))
        zero, none = np.zeros(1), np.zeros(1, dtype=np.int64)
        end = path.track.places[-1:]
        whole = Runs(zero, end, zero, none, none, none, none, zero, zero, zero)
        runs = without_stops(whole, path, width_m, beside, give_m=STOPS_SOONER_M)
        near_m = width_m / 2 + STOPS_SOONER_M
        found.append(
            _longer(
                path.lines(runs.begin, runs.end, runs.across_m),
                _joined_lines(
                    np.array([overlay.difference(lines[index], _within(beside, near_m))])
                ),
                width_m,
                beside,
            )
        )
    return np.concatenate(found)


def _within(beside: Geometries, near_m: float) -> shapely.Geometry:
    """Give the ground near small obstacles: a machine's middle outside it passes clear."""
    return overlay.union_all(shapely.buffer(beside, near_m))


def _longer(exact: Geometries, safe: Geometries, width_m: float, beside: Geometries) -> Geometries:
    """Take lines that stop just before obstacles where they are clear of them and not the shorter.

    At a sharp bend they may not be; lines that end half a width sooner are clear at any.
    """
    swaths = shapely.buffer(exact, width_m / 2, cap_style="flat")
    met = overlay.intersection(overlay.union_all(swaths), overlay.union_all(beside))
    clear = shapely.area(met) <= INSIDE_M**2
    enough = shapely.length(exact).sum() >= shapely.length(safe).sum()
    return exact if clear and enough else safe
