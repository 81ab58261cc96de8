"""Set headlands inside a boundary and round obstacles.

Both kinds take ground near its boundary: all of it, or only where rows meet it.
"""

from collections.abc import Hashable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.facing import corners_of, facing
from striplay.geometry.frame import Frame
from striplay.tolerances import MITRE_LIMIT, WIDTH_M, WIGGLE_SHARE

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

SHORT_SIDE = 2.0
"""A stretch shorter than two headlands are wide is no side: the ends beside it meet there."""


def inset_all_round(ground: shapely.Geometry, width_m: float) -> shapely.Geometry:
    """Offset ground inward by `width_m`, and so outward round its holes, with mitered corners."""
    return mitered(ground, -width_m)


def mitered(shape: shapely.Geometry, by_m: float, *, ends: str = "round") -> shapely.Geometry:
    """Widen a shape with mitered corners; with round ones where a miter lies nowhere.

    Args:
        shape: on the plane.
        by_m: how far; below 0 inward.
        ends: of lines, "round" or "flat".
    """
    with np.errstate(all="ignore"):  # the library divides by the length of edges that have none
        found = shapely.buffer(
            shape, by_m, cap_style=ends, join_style="mitre", mitre_limit=MITRE_LIMIT
        )
    if not np.isfinite(shapely.get_coordinates(found)).all():
        return shapely.buffer(shape, by_m, cap_style=ends)
    return found


@dataclass(frozen=True)
class _Chain:
    """A run of boundary that rows end on.

    Attributes:
        first: its first vertex.
        count: of its vertices.
        passed_before: whether rows run on past its first vertex.
        passed_after: whether they do past its last.
    """

    first: int
    count: int
    passed_before: bool
    passed_after: bool


class Ends:
    """Ground where rows end, whichever way they run: beside all boundary but level sides.

    A side is level where the rows that end on it are together less wide than a planter pass: see
    `facing`. Neighboring edges that rows meet from the same side make a chain, and all within
    `width_m` of the chain is an end. At an outward corner of the field the end runs on to the next
    edge; at an inward corner, where neighboring rows run on past the chain, it stops at the
    corner. What runs on may come back into the field further on, so no more is taken than all
    round, and only what hangs together with the chain.

    A search asks for a thousand directions, and few chains differ between them: what lies beside a
    chain is kept.
    """

    def __init__(self, ground: shapely.Geometry, width_m: float, pass_m: float) -> None:
        """Prepare ground.

        Args:
            ground: polygon or multipolygon.
            width_m: how deep an end is, at right angles to the boundary.
            pass_m: width of a planter pass.
        """
        self._ground, self._width_m = ground, width_m
        parts = shapely.get_parts(shapely.remove_repeated_points(ground))
        self._rings = [
            _Ring(ring, around, width_m, pass_m)
            for part in shapely.orient_polygons(parts)
            for around in [overlay.difference(part, inset_all_round(part, width_m))]
            for ring in shapely.get_rings(part)
        ]
        self._last: tuple[Frame, tuple[tuple[_Chain, ...], ...]] | None = None
        self._last_taken: tuple[Frame, shapely.Geometry] | None = None

    def at(self, frame: Frame) -> shapely.Geometry:
        """Give the ends of rows that run along a frame's x."""
        return overlay.intersection(self._ground, self._taken(frame))

    def inside(self, frame: Frame) -> shapely.Geometry:
        """Give the ground without them."""
        return overlay.difference(self._ground, self._taken(frame))

    def _taken(self, frame: Frame) -> shapely.Geometry:
        """Give the ends, their sides along the boundary a rounding beside it; the last kept."""
        last = self._last_taken
        if last is None or last[0] != frame:
            each = zip(self._rings, self._chains(frame), strict=True)
            sides = [ring.beside(chain) for ring, own in each for chain in own]
            held = _up_to_corners([side for side in sides if side.holds], frame)
            self._last_taken = last = frame, overlay.union_all(held)
        return last[1]

    def _chains(self, frame: Frame) -> tuple[tuple[_Chain, ...], ...]:
        """Give the chains of each ring, the last direction's kept."""
        last = self._last
        if last is None or last[0] != frame:
            self._last = last = frame, tuple(tuple(ring.chains(frame)) for ring in self._rings)
        return last[1]

    def alike(self, frame: Frame) -> Hashable | None:
        """Give a key that directions with the very same ends share.

        None where an end stops at an inward corner, along the rows: then each direction has its
        own.
        """
        chains = self._chains(frame)
        cut = any(c.passed_before or c.passed_after for of_ring in chains for c in of_ring)
        return None if cut else chains

    def length_m(self, frame: Frame) -> float:
        """Measure the boundary that rows along a frame's x end on."""
        each = zip(self._rings, self._chains(frame), strict=True)
        return sum(ring.length_m(chain) for ring, own in each for chain in own)


class _Ring:
    """A ring of boundary, ground on its left, and what lies beside its chains."""

    def __init__(
        self, ring: shapely.Geometry, around: shapely.Geometry, width_m: float, pass_m: float
    ) -> None:
        self._points = shapely.get_coordinates(ring)[:-1]
        self._around, self._width_m, self._pass_m = around, width_m, pass_m
        self._corner = corners_of(self._points, width_m * WIGGLE_SHARE, closed=True)
        twice = np.concatenate([self._points, self._points])
        self._along_m = np.append(0.0, np.cumsum(np.hypot(*np.diff(twice, axis=0).T)))
        self._beside: dict[_Chain, _Beside] = {}

    def chains(self, frame: Frame) -> Iterator[_Chain]:
        """Give the runs of it that rows end on.

        The direction of a stretch is judged with wiggles smoothed away, so that a ragged side
        stays a side; the chain itself keeps every vertex.
        """
        corners = frame.turn_points(self._points[self._corner])
        faces = facing(corners, self._pass_m, SHORT_SIDE * self._width_m, closed=True)
        return _chains(corners, faces, self._corner, len(self._points))

    def length_m(self, chain: _Chain) -> float:
        """Measure a chain."""
        last = chain.first + chain.count - 1
        return float(self._along_m[last] - self._along_m[chain.first])

    def beside(self, chain: _Chain) -> "_Beside":
        """Give what lies beside a chain, found once."""
        if chain not in self._beside:
            points = self._points[(chain.first + np.arange(chain.count)) % len(self._points)]
            all_of_it = _beside(chain, points, self._width_m)
            ground = overlay.intersection(all_of_it, near(self._around, all_of_it))
            self._beside[chain] = _Beside(
                chain, ground, shapely.LineString(points), points[[0, -1]], _corners(ground)
            )
        return self._beside[chain]


@dataclass(frozen=True)
class _Beside:
    """What lies beside a chain.

    Attributes:
        chain: the chain.
        ground: all within the headland's width of it, run on at outward corners.
        line: the chain's edges.
        ends: its first and last vertex, (2, 2).
        corners: of the rectangle about the ground, (4, 2).
    """

    chain: _Chain
    ground: shapely.Geometry
    line: shapely.LineString
    ends: Floats
    corners: Floats

    @property
    def holds(self) -> bool:
        """Whether there is any."""
        return not self.ground.is_empty


def _corners(ground: shapely.Geometry) -> Floats:
    left_m, bottom_m, right_m, top_m = shapely.bounds(ground)
    return np.array([[left_m, bottom_m], [right_m, bottom_m], [right_m, top_m], [left_m, top_m]])


def near(ground: shapely.Geometry, other: shapely.Geometry) -> shapely.Geometry:
    """Give the ground in a rectangle about another geometry, to make an overlay of them faster."""
    left_m, bottom_m, right_m, top_m = other.bounds
    clipped = shapely.clip_by_rect(ground, left_m - 1.0, bottom_m - 1.0, right_m + 1.0, top_m + 1.0)
    return clipped if shapely.is_valid(clipped) else ground


def _chains(corners: Floats, faces: Integers, index: Integers, count: int) -> Iterator[_Chain]:
    """Split a ring into the chains of edges that face the same way.

    Args:
        corners: the vertices that are left of it when smoothed, turned, (m, 2).
        faces: which way each edge between them faces, 0 where rows do not end on it, (m,).
        index: which of the ring's vertices the corners are, (m,).
        count: of the ring's vertices.
    """
    steps = np.diff(np.concatenate([corners[-1:], corners, corners[:1]]), axis=0)
    turn, steps = steps[:-1], steps[1:]
    inward = turn[:, 0] * steps[:, 1] - turn[:, 1] * steps[:, 0] < 0
    starts = np.flatnonzero(faces != np.append(faces[-1:], faces[:-1]))
    stops = np.append(starts[1:], starts[:1])
    met = faces[starts] != 0
    each = (values[met].tolist() for places in (starts, stops)
            for values in (index[places], inward[places]))  # fmt: skip
    for first, before, last, after in zip(*each, strict=True):
        yield _Chain(first, (last - first) % count + 1, passed_before=before, passed_after=after)


def _beside(chain: _Chain, points: Floats, width_m: float) -> shapely.Geometry:
    """Give all within `width_m` of a chain, run on at outward corners."""
    reach_m = MITRE_LIMIT * width_m
    run_on = [
        *([] if chain.passed_before else [_beyond(points[1], points[0], reach_m)]),
        *points,
        *([] if chain.passed_after else [_beyond(points[-2], points[-1], reach_m)]),
    ]
    return mitered(shapely.LineString(run_on), width_m, ends="flat")


def _up_to_corners(sides: list[_Beside], frame: Frame) -> npt.NDArray[np.object_]:
    """Cut what lies beside chains at inward corners, along the rows that run on past them.

    All at once; of each only what hangs together with its chain.
    """
    ground = np.array([side.ground for side in sides], dtype=object)
    before = np.array([side.chain.passed_before for side in sides], dtype=bool)
    after = np.array([side.chain.passed_after for side in sides], dtype=bool)
    cut = np.flatnonzero(before | after)
    if len(cut):
        ends = _turned([sides[i].ends for i in cut], frame)[..., 1]
        about = _turned([sides[i].corners for i in cut], frame)
        left_m, low_m = about.min(axis=1).T - 1.0
        right_m, high_m = about.max(axis=1).T + 1.0
        upward = ends[:, 1] > ends[:, 0]
        for passed, end_m, below in ((before, ends[:, 0], upward), (after, ends[:, 1], ~upward)):
            low_m = np.where(passed[cut] & below, end_m, low_m)
            high_m = np.where(passed[cut] & ~below, end_m, high_m)
        boxes = np.stack(
            [[right_m, low_m], [right_m, high_m], [left_m, high_m], [left_m, low_m]]
        ).transpose(2, 0, 1)
        bands = frame.turn_points_back(boxes.reshape(-1, 2)).reshape(boxes.shape)
        ground[cut] = overlay.intersection(ground[cut], shapely.polygons(bands))
    pieces, side = shapely.get_parts(ground, return_index=True)
    lines = np.array([side.line for side in sides], dtype=object)
    return np.asarray(pieces[shapely.dwithin(pieces, lines[side], WIDTH_M)], dtype=object)


def _turned(points: list[Floats], frame: Frame) -> Floats:
    stacked = np.stack(points)
    return frame.turn_points(stacked.reshape(-1, 2)).reshape(stacked.shape)


def _beyond(before: Floats, last: Floats, reach_m: float) -> Floats:
    """Go `reach_m` on past `last`, straight on from `before`."""
    step = last - before
    return np.asarray(last + step / np.hypot(*step) * reach_m)


class EndLines:
    """Lines, and which of their edges rows end on, whichever way they run: as in `Ends`."""

    def __init__(self, lines: shapely.Geometry, width_m: float, pass_m: float) -> None:
        """Prepare lines.

        Args:
            lines: a line or several.
            width_m: how deep the ends beside them are.
            pass_m: width of a planter pass.
        """
        self._short_m, self._pass_m = SHORT_SIDE * width_m, pass_m
        self._lines = []
        starts, ends = [np.empty((0, 2))], [np.empty((0, 2))]
        for line in shapely.get_parts(lines):
            points = shapely.get_coordinates(line)
            closed = bool(shapely.is_closed(line))
            starts.append(points[:-1])
            ends.append(points[1:])
            points = points[:-1] if closed else points
            corner = corners_of(points, width_m * WIGGLE_SHARE, closed=closed)
            edge_of = np.searchsorted(corner, np.arange(len(starts[-1])), side="right") - 1
            self._lines.append((points[corner], edge_of, closed))
        self.start, self.end = np.concatenate(starts), np.concatenate(ends)

    def met(self, frame: Frame) -> npt.NDArray[np.bool_]:
        """Tell which edges, from `start` to `end`, rows along a frame's x end on, (n,)."""
        met = [np.empty(0, dtype=bool)]
        for corners, edge_of, closed in self._lines:
            turned = frame.turn_points(corners)
            faces = facing(turned, self._pass_m, self._short_m, closed=closed)
            met.append(faces[edge_of] != 0)
        return np.concatenate(met)

    def length_m(self, frame: Frame) -> float:
        """Measure the edges that rows along a frame's x end on."""
        return float(np.hypot(*(self.end - self.start)[self.met(frame)].T).sum())
