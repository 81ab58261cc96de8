"""Turn the ground onto a page: at a true scale, rows along the paper, north wherever it then is."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.ground import Ground
from striplay.sheets.fonts import width_pt, write
from striplay.sheets.paint import arrow_heads, draw_lines
from striplay.sheets.style import HAIR_PT, INK, LINE_PT, MM, SMALLEST_PT, THIN_PT
from striplay.units import FOOT_M, UnitSystem, said

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

Floats = npt.NDArray[np.float64]

LADDER = (
    500, 750, 1000, 1250, 1500, 2000, 2500, 3000, 4000, 5000, 6000, 7500, 8000, 10_000, 12_500,
    15_000, 20_000, 25_000, 30_000, 40_000, 50_000, 60_000, 75_000, 100_000, 125_000, 150_000,
    200_000, 250_000, 300_000, 400_000, 500_000,
)  # fmt: skip
"""Scales a map may have: one to so many."""
MANY, UNSEEN_PT = 2000, 0.04
"""Vertices of shapes from which on those that move an edge by less, 0.014 mm, are left out: a third
of a dot of an office printer."""
OFF_AXIS_DEG = 0.01
"""Rows that are turned off the paper's edge by less run along it."""
QUARTER_DEG = 90.0


@dataclass(frozen=True, slots=True)
class View:
    """Ground as it stands on a page.

    Attributes:
        center_m: the place on the local plane that stands in the middle of the frame.
        turn_deg: how far the ground is turned counter-clockwise; at 0 north is up.
        scale: one to so many.
        frame_pt: left, bottom, right and top of its frame on the page.
    """

    center_m: tuple[float, float]
    turn_deg: float
    scale: int
    frame_pt: tuple[float, float, float, float]

    @property
    def pt_per_m(self) -> float:
        """Points on the page to a meter on the ground."""
        return 1000 * MM / self.scale

    @property
    def middle_pt(self) -> Floats:
        """Middle of the frame."""
        left, bottom, right, top = self.frame_pt
        return np.array([(left + right) / 2, (bottom + top) / 2])

    @property
    def box(self) -> shapely.Polygon:
        """The frame as a polygon on the page."""
        return shapely.box(*self.frame_pt)

    def directions(self, vectors_m: Floats) -> Floats:
        """Turn directions on the ground, (n, 2), as they point on the page."""
        turn = math.radians(self.turn_deg)
        cos, sin = math.cos(turn), math.sin(turn)
        x, y = vectors_m[:, 0], vectors_m[:, 1]
        # column by column: the product with a matrix is many times as slow for long arrays
        return np.column_stack([x * cos - y * sin, x * sin + y * cos])

    def points(self, points_m: Floats) -> Floats:
        """Turn places on the local plane, (n, 2), into points on the page."""
        off_m = np.atleast_2d(points_m) - np.array(self.center_m)
        return self.directions(off_m) * self.pt_per_m + self.middle_pt

    def on_page(self, geometries: Any) -> Any:  # noqa: ANN401 - one or an array
        """Turn a geometry on the local plane, or an array of them, into points on the page.

        What has very many vertices, as curves do, loses those that no printer shows.
        """
        return shapely.transform(self.thinned(geometries), self.points)

    def thinned(self, geometries: Any) -> Any:  # noqa: ANN401 - one or an array
        """Give a geometry on the local plane, or an array of them, without what isn't seen."""
        if np.sum(shapely.get_num_coordinates(geometries)) < MANY:
            return geometries
        unseen_m = UNSEEN_PT / self.pt_per_m
        fewer = np.asarray(shapely.simplify(geometries, unseen_m, preserve_topology=False))
        spoiled = ~shapely.is_valid(fewer) | shapely.is_empty(fewer)
        return np.where(spoiled, geometries, fewer)[()]

    def on_ground(self, points_pt: Floats) -> Floats:
        """Turn points on the page, (n, 2), into places on the local plane."""
        turn = math.radians(self.turn_deg)
        cos, sin = math.cos(turn), math.sin(turn)
        off = (np.atleast_2d(points_pt) - self.middle_pt) / self.pt_per_m
        return np.asarray(off @ np.array([[cos, -sin], [sin, cos]]) + np.array(self.center_m))

    @property
    def north(self) -> Floats:
        """Which way true north points on the page: a unit vector."""
        return np.asarray(self.directions(np.array([[0.0, 1.0]]))[0])


def fitting_scale(wide_m: float, high_m: float, wide_pt: float, high_pt: float) -> int:
    """Choose the finest scale of the ladder at which ground fits a frame.

    >>> fitting_scale(804.672, 804.672, 191.9 * MM, 170.0 * MM)
    5000
    """
    needed = 1000 * MM * max(wide_m / max(wide_pt, 1.0), high_m / max(high_pt, 1.0))
    rung = next((one for one in LADDER if one >= needed - 1e-6), None)
    return rung or 100_000 * math.ceil(needed / 100_000)


def upright(turn_deg: float) -> float:
    """Give the same turn, or the opposite one, that has north rather up than down.

    >>> upright(178.0), upright(-90.0), upright(90.0)
    (-2.0, 90.0, 90.0)
    """
    turned = turn_deg % (2 * QUARTER_DEG)
    return turned if turned <= QUARTER_DEG else turned - 2 * QUARTER_DEG


def turns_of(outline: shapely.Geometry, headings_deg: Sequence[float]) -> list[tuple[float, int]]:
    """List the turns that a field's map may have, with the axis that rows then run along.

    Rows of one heading run along an edge of the paper; where there is no one heading, the smallest
    rectangle round the field does, or north is up.

    Args:
        outline: the field.
        headings_deg: of its rows; of more than one, or none, along curves.

    Returns:
        Each turn, and 0 where rows run across the page, 1 where they run up, -1 where neither.
    """
    if headings_deg and np.ptp(headings_deg) < OFF_AXIS_DEG:
        return [(upright(headings_deg[0]), 1), (upright(headings_deg[0] - QUARTER_DEG), 0)]
    ring = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    side = ring[1] - ring[0]
    along_deg = 90.0 - math.degrees(math.atan2(side[1], side[0]))
    return [(0.0, -1), (upright(along_deg), -1), (upright(along_deg - QUARTER_DEG), -1)]


def heading_of(layout: "Layout") -> list[float]:
    """List the headings of a layout's rows: one where all run alike, none along a curve."""
    if layout.plan.curved:
        return []
    return [block.heading_deg % 180.0 for block in layout.laid.blocks]


def extent(shape: shapely.Geometry, turn_deg: float) -> Floats:
    """Give the bounds of ground turned about the plane's origin, (4,)."""
    turned = View((0.0, 0.0), turn_deg, 1, (0.0, 0.0, 0.0, 0.0))
    hull = shapely.get_coordinates(shapely.convex_hull(shape))
    at = turned.directions(hull)
    return np.concatenate([at.min(axis=0), at.max(axis=0)])


def view_at(
    shape: shapely.Geometry,
    turn_deg: float,
    frame_pt: tuple[float, float, float, float],
    pads_pt: tuple[float, float] = (0.0, 0.0),
    scale: int | None = None,
) -> View:
    """View ground by a turn, in the middle of a frame, at the finest scale that fits.

    Args:
        shape: the ground.
        turn_deg: the turn.
        frame_pt: the frame on the page.
        pads_pt: room left beside the ground, left and right, and above and below.
        scale: the scale; the finest that fits when left out.
    """
    bounds = extent(shape, turn_deg)
    wide_m, high_m = bounds[2:] - bounds[:2]
    if scale is None:
        wide_pt = frame_pt[2] - frame_pt[0] - 2 * pads_pt[0]
        high_pt = frame_pt[3] - frame_pt[1] - 2 * pads_pt[1]
        scale = fitting_scale(float(wide_m), float(high_m), wide_pt, high_pt)
    middle = (bounds[:2] + bounds[2:]) / 2
    back = View((0.0, 0.0), -turn_deg, 1, (0.0, 0.0, 0.0, 0.0))
    center = back.directions(middle[None])[0]
    return View((float(center[0]), float(center[1])), turn_deg, scale, frame_pt)


PARTS = np.linspace(-0.5, 1.5, 17)[:, None]
NICE_DEG = (1.0, 2.0, 5.0)
GRATICULE = 3
"""Lines of the graticule that cross the ground each way, about (our choice)."""
TICK_PT, TICK_ROOM_PT = 5.0, 9.5
"""Length of a tick, and the room outside the frame that its words take."""


@dataclass(frozen=True, slots=True)
class Tick:
    """Where a round parallel or meridian crosses the frame.

    Attributes:
        side: of the frame: 0 left, 1 bottom, 2 right, 3 top.
        at_pt: where on the page.
        text: its degrees; empty where they stand at its other end.
    """

    side: int
    at_pt: tuple[float, float]
    text: str


def ticks_of(view: View, ground: Ground) -> list[Tick]:
    """List where round parallels and meridians cross a map's frame, each told once."""
    left, bottom, right, top = view.frame_pt
    corners = np.array([(left, bottom), (right, bottom), (right, top), (left, top)])
    degrees = ground.plane.to_lonlat(view.on_ground(corners))
    degrees[:, 0] -= 360 * np.round((degrees[:, 0] - ground.plane.longitude_deg) / 360)
    low, high = degrees.min(axis=0), degrees.max(axis=0)
    sides = [
        shapely.LineString(corners[[3, 0]]), shapely.LineString(corners[[0, 1]]),
        shapely.LineString(corners[[1, 2]]), shapely.LineString(corners[[2, 3]]),
    ]  # fmt: skip
    found: list[Tick] = []
    for axis, letters in ((0, "EW"), (1, "NS")):
        step, decimals = _round_step(float(high[axis] - low[axis]))
        for number in range(math.ceil(low[axis] / step), math.floor(high[axis] / step) + 1):
            places = low + (high - low) * PARTS  # a parallel is a little curved on the plane
            places[:, axis] = number * step
            line = shapely.LineString(view.points(ground.plane.to_plane(places)))
            value = (number * step + 180) % 360 - 180 if axis == 0 else number * step
            letter = "" if not round(value, 9) else letters[0] if value > 0 else letters[1]
            text = f"{abs(value):.{decimals}f}° {letter}".rstrip()
            for side, edge in enumerate(sides):
                met = shapely.intersection(line, edge)
                if met.geom_type == "Point":
                    found.append(Tick(side, (met.x, met.y), text))
    return list(_told_once(found))


def _round_step(span_deg: float) -> tuple[float, int]:
    """Choose how far apart lines of the graticule are, and the decimals that tell them."""
    most = span_deg / GRATICULE
    power = math.floor(math.log10(most))
    step = max(nice * 10.0**power for nice in NICE_DEG if nice * 10.0**power <= most * (1 + 1e-9))
    return step, max(0, -power)


def _told_once(ticks: list[Tick]) -> Iterator[Tick]:
    """Leave the words at one end of each line, at the left or the bottom, where they have room."""
    told: set[str] = set()
    taken: list[tuple[int, float]] = []
    for tick in sorted(ticks, key=lambda one: (one.side, one.at_pt)):
        place = tick.at_pt[1 if tick.side in {0, 2} else 0]
        free = all(side != tick.side or abs(at - place) > TOLD_PT for side, at in taken)
        if tick.side > 1 or tick.text in told or not free:
            yield Tick(tick.side, tick.at_pt, "")
            continue
        told.add(tick.text)
        taken.append((tick.side, place))
        yield tick


TOLD_PT = 60.0
"""How far apart words at ticks stand at least: no wider are they."""


def draw_ticks(canvas: Canvas, view: View, ground: Ground) -> None:
    """Draw a map's frame with its ticks; their words stand outside it, left and below."""
    left, bottom, right, top = view.frame_pt
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(THIN_PT)
    canvas.rect(left, bottom, right - left, top - bottom, stroke=1, fill=0)
    inward = np.array([(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]) * TICK_PT
    ticks = ticks_of(view, ground)
    if ticks:
        at = np.array([one.at_pt for one in ticks])
        ends = at + inward[[one.side for one in ticks]]
        draw_lines(canvas, np.stack([at, ends], axis=1), THIN_PT, INK)
    for one in ticks:
        if not one.text:
            continue
        x, y = one.at_pt
        half = width_pt(one.text, SMALLEST_PT) / 2
        if one.side == 0:
            y = min(max(y, bottom + half), top - half)
            write(canvas, left - 2.5, y, one.text, SMALLEST_PT, align=0.5, angle_deg=90.0)
        else:
            x = min(max(x, left + half), right - half)
            write(canvas, x, bottom - 7.5, one.text, SMALLEST_PT, align=0.5)


def bar_length(scale: int, units: UnitSystem, longest_mm: float) -> tuple[float, str]:
    """Choose the length of a scale bar: meters, and its label, at most `longest_mm` on paper.

    >>> bar_length(5000, "us", 60.0)[1], bar_length(5000, "metric", 60.0)[1]
    ('500 ft', '200 m')
    """
    unit_m, name = (FOOT_M, "ft") if units == "us" else (1.0, "m")
    most = longest_mm * scale / 1000 / unit_m
    power = 10 ** math.floor(math.log10(most))
    length = next(step * power for step in (5, 2, 1) if step * power <= most)
    return length * unit_m, f"{length:,.0f} {name}"


def scale_words(scale: int, units: UnitSystem) -> str:
    """Write a scale as a ratio, and as what an inch or a centimeter on the page is.

    >>> scale_words(5000, "us"), scale_words(2500, "metric"), scale_words(7920, "us")
    ('1:5,000 (1 in = 417 ft)', '1:2,500 (1 cm = 25 m)', '1:7,920 (1 in = 660 ft)')
    """
    on_ground = (
        f"1 in = {said(scale / 12)} ft" if units == "us" else f"1 cm = {said(scale / 100)} m"
    )
    return f"1:{scale:,} ({on_ground})"


BAR_MM, BAR_PT = 51.0, 4.0
"""Longest bar, and how high one is."""


def draw_bar(
    canvas: Canvas, x_pt: float, y_pt: float, scale: int, units: UnitSystem, room_pt: float = 200.0
) -> None:
    """Draw a scale: a bar to check with a ruler, and a ratio under it.

    Args:
        canvas: the page.
        x_pt: left end of the bar.
        y_pt: its foot; words stand up to 8 points over its top and 9 points under its foot.
        scale: one to so many.
        units: what it counts in.
        room_pt: how wide its words may be; how long the bar is to be is told where there is room.
    """
    length_m, label = bar_length(scale, units, BAR_MM)
    long_pt = length_m * 1000 * MM / scale
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(THIN_PT)
    for part in range(4):
        canvas.setFillColor(INK if part % 2 == 0 else "#ffffff")
        canvas.rect(x_pt + part * long_pt / 4, y_pt, long_pt / 4, BAR_PT, stroke=1, fill=1)
    write(canvas, x_pt, y_pt + BAR_PT + 2, "0", SMALLEST_PT)
    write(canvas, x_pt + long_pt, y_pt + BAR_PT + 2, label, SMALLEST_PT, align=0.5)
    ratio = scale_words(scale, units)
    checked = f"; bar {long_pt / MM:.1f} mm at 100 %"
    wide_pt = write(canvas, x_pt, y_pt - 8, ratio, SMALLEST_PT, bold=True)
    if wide_pt + width_pt(checked, SMALLEST_PT) <= room_pt:
        write(canvas, x_pt + wide_pt, y_pt - 8, checked, SMALLEST_PT)


NORTH_PT, NORTH_WORDS_PT = 28.0, 9.0
"""Room of the arrow to north each way, and of the words under it."""


def draw_north(canvas: Canvas, x_pt: float, y_pt: float, view: View) -> None:
    """Draw an arrow to true north, its words under it, about a place."""
    middle = np.array([x_pt, y_pt + NORTH_WORDS_PT / 2])
    tip, foot = middle + view.north * NORTH_PT / 2, middle - view.north * NORTH_PT / 2
    draw_lines(canvas, np.array([[foot, tip - view.north * 6]]), 1.0, INK)
    arrow_heads(canvas, tip[None], view.north[None], 9.0)
    under = y_pt - (NORTH_PT + NORTH_WORDS_PT) / 2 + 1.0
    write(canvas, x_pt, under, "true N", SMALLEST_PT, bold=True, align=0.5)


def draw_outline(canvas: Canvas, view: View, ground: Ground, wide_pt: float = 1.1) -> None:
    """Draw the field's boundary."""
    draw_lines(canvas, shapely.boundary(view.on_page(ground.outline)), wide_pt, INK)


def draw_gate(canvas: Canvas, at_pt: Floats, label: str = "gate") -> None:
    """Draw a gate: two posts and a bar, its name beside it."""
    x, y = float(at_pt[0]), float(at_pt[1])
    canvas.setFillColor("#ffffff")
    canvas.rect(x - 4.5, y - 3.5, 9, 7, stroke=0, fill=1)
    posts = np.array([[(x - 4, y - 3.5), (x - 4, y + 3.5)], [(x + 4, y - 3.5), (x + 4, y + 3.5)]])
    rails = np.array([[(x - 4, y - 1.5), (x + 4, y - 1.5)], [(x - 4, y + 1.5), (x + 4, y + 1.5)]])
    draw_lines(canvas, posts, 1.4, INK)
    draw_lines(canvas, rails, LINE_PT, INK)
    if label:
        write(canvas, x, y - 12, label, SMALLEST_PT, bold=True, align=0.5)


def draw_flag(canvas: Canvas, at_pt: Floats, size_pt: float = 10.0, side: float = 1.0) -> None:
    """Draw a flag whose pole stands at a place; it flies to the right, or left where -1."""
    x, y = float(at_pt[0]), float(at_pt[1])
    canvas.setStrokeColor(INK)
    canvas.setFillColor(INK)
    draw_lines(canvas, np.array([[(x, y), (x, y + size_pt)]]), 1.0, INK)
    cloth = canvas.beginPath()
    cloth.moveTo(x, y + size_pt)
    cloth.lineTo(x + side * 0.8 * size_pt, y + 0.78 * size_pt)
    cloth.lineTo(x, y + 0.52 * size_pt)
    cloth.close()
    canvas.setLineWidth(HAIR_PT)
    canvas.drawPath(cloth, stroke=1, fill=1)
    canvas.circle(x, y, 1.3, stroke=0, fill=1)
