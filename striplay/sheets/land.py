"""Draw a layout's land on a map: crops, headland, obstacles with their names, gate and start."""

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.looks import HEADLAND, LEFTOVER, OBSTACLE, Fill
from striplay.sheets.book import Book
from striplay.sheets.fonts import fitted, width_pt
from striplay.sheets.ground import View, draw_flag, draw_gate, draw_outline
from striplay.sheets.label_room import overlaps
from striplay.sheets.paint import HIGH, draw_lines, fill_shape, on_white
from striplay.sheets.style import GRAY, HAIR_PT, PALE, SMALLEST_PT

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

Floats = npt.NDArray[np.float64]
Geometries = npt.NDArray[np.object_]

PALE_SHARE = 0.3
"""How much of a crop's color is left of it where it stands back."""
NAME_PT = 90.0
"""Longest name of an obstacle on a map."""


def strips_on(layout: "Layout", book: Book, view: View) -> Geometries:
    """Give the pieces of strips on a view, (n,)."""
    pieces = layout.strips.geometry.to_numpy()
    seen = book.kept.of(layout, ("strips", view.scale), lambda: view.thinned(pieces))
    return np.asarray(shapely.transform(seen, view.points), dtype=object)


def planted_on(layout: "Layout", book: Book, view: View) -> Geometries:
    """Give the ground of all strips on a view: straight ones each, curved ones in one, (k,).

    Rings have very many vertices, and each reaches over all others.
    """
    if not layout.plan.curved:
        return strips_on(layout, book, view)

    def planted() -> shapely.Geometry:
        laid, ground = layout.laid, layout.ground
        off = shapely.union_all([*laid.headland, ground.obstacles, *laid.leftover])
        return shapely.difference(ground.outline, off)

    whole = book.kept.of(layout, ("planted",), planted)
    return np.asarray(shapely.get_parts(view.on_page(whole)), dtype=object)


def paled(fill: Fill) -> Fill:
    """Give a fill as it looks where it stands back: pale, without lines over it.

    >>> paled(Fill("#000000", "rising")).color
    '#b2b2b2'
    """
    parts = (int(fill.color[at : at + 2], 16) for at in (1, 3, 5))
    mixed = (round(255 - (255 - part) * PALE_SHARE) for part in parts)
    return Fill("#" + "".join(f"{part:02x}" for part in mixed), "", PALE)


def draw_land(
    canvas: Canvas, view: View, layout: "Layout", book: Book, strips: Geometries,
    which: npt.NDArray[np.int64] | None = None,
) -> None:  # fmt: skip
    """Draw headland, crops, what is left over, obstacles and boundary.

    Args:
        canvas: the page, clipped to the frame where the view shows a part of the field.
        view: the ground on it.
        layout: what is drawn.
        book: how its crops look.
        strips: pieces of strips on the view, (k,).
        which: which pieces these are; all when left out.
    """
    fill_shape(canvas, view.on_page(layout.laid.headland), HEADLAND, 0.0)
    leftover = layout.laid.leftover
    if len(leftover):
        fill_shape(canvas, view.on_page(leftover), LEFTOVER, HAIR_PT)
    crops = layout.strips["crop"].to_numpy()
    crops = crops if which is None else crops[which]
    for name, look in book.looks.items():
        fill_shape(canvas, strips[crops == name], look.fill, HAIR_PT)
    obstacles = shapely.get_parts(layout.ground.obstacles)
    if len(obstacles):
        fill_shape(canvas, view.on_page(obstacles), OBSTACLE, HAIR_PT)
    draw_outline(canvas, view, layout.ground)


def headland_lines(layout: "Layout") -> Any:  # noqa: ANN401 - an array of lines
    """Give the passes round the headland that are planted first, on the local plane."""
    rounds = [one for one in layout.side_by_side if one.place == "headland"]
    planted = [one for one in rounds if one.operation == "plant"] or rounds
    return planted[0].line if planted else np.empty(0, dtype=object)


def draw_headland_lines(canvas: Canvas, view: View, layout: "Layout") -> bool:
    """Draw these passes thin; tell whether there are any."""
    lines = headland_lines(layout)
    draw_lines(canvas, view.on_page(lines), 0.4, GRAY, (4.0, 2.0))
    return bool(len(lines))


def gate_m(layout: "Layout") -> Floats | None:
    """Give the gate on the local plane, (2,); None where none is stated."""
    gate = layout.plan.gate
    if gate is None:
        return None
    return np.asarray(layout.ground.plane.to_plane(np.array([gate], dtype=np.float64))[0])


NEAR_M = 60.0
"""A gate no farther from its field stands on the map."""


def shown_land(layout: "Layout") -> shapely.Geometry:
    """Give the field, with its gate where that is near: what a map of it shows."""
    at, outline = gate_m(layout), layout.ground.outline
    if at is None or shapely.distance(outline, shapely.Point(at)) > NEAR_M:
        return outline
    return shapely.union(outline, shapely.Point(at))


def first_pass(layout: "Layout") -> shapely.LineString | None:
    """Give the first planting pass of the season, as driven; None without one."""
    plants = (route for route in layout.routes if route.job.does == "plant")
    first = next((route for route in plants if len(route)), None)
    return None if first is None else first.line[0]


def box_of(x: float, y: float, left: float, right: float, down: float, up: float) -> Floats:
    """Give the box that reaches so far about a place, (1, 4)."""
    return np.array([[x - left, y - down, x + right, y + up]])


def put_gate(
    canvas: Canvas, view: View, layout: "Layout", taken: Floats, *, only_near: bool = False
) -> Floats:
    """Draw the gate, at the frame where it lies far off; give the boxes taken.

    Args:
        canvas: the page.
        view: the ground on it.
        layout: whose gate.
        taken: boxes of what is there.
        only_near: whether one far off is left out.
    """
    at_m = gate_m(layout)
    if at_m is None:
        return taken
    left, bottom, right, top = view.frame_pt
    x, y = view.points(at_m)[0]
    if only_near and not shapely.dwithin(view.box, shapely.Point(x, y), NEAR_M * view.pt_per_m):
        return taken
    x = min(max(float(x), left + 12.0), right - 12.0)
    y = min(max(float(y), bottom + 14.0), top - 6.0)
    draw_gate(canvas, np.array([x, y]))
    return np.concatenate([taken, box_of(x, y, 10.0, 10.0, 13.5, 5.0)])


FLAG_PT, FLAG_IN_PT = 9.0, 7.0
"""Size of the flag, and how far inside the start of its pass it stands."""


def put_flag(canvas: Canvas, view: View, layout: "Layout", taken: Floats) -> Floats:
    """Draw the flag where the first planting pass starts; give the boxes taken.

    It stands a little way into the pass, so that the number of its strip has room.
    """
    line = first_pass(layout)
    if line is None:
        return taken
    on_page = view.on_page(line)
    at = shapely.line_interpolate_point(on_page, min(FLAG_IN_PT, 0.3 * on_page.length))
    x, y = float(at.x), float(at.y)
    if not shapely.intersects(view.box, at):
        return taken
    begin = shapely.get_coordinates(on_page)[0]
    side = -1.0 if begin[0] > x + 1.0 else 1.0  # it flies on into the pass
    draw_flag(canvas, np.array([x, y]), FLAG_PT, side)
    wide = sorted([2.0 * side, -0.8 * FLAG_PT * side])
    return np.concatenate([taken, box_of(x, y, wide[1], -wide[0], 1.5, FLAG_PT + 0.5)])


Named = list[tuple[str, shapely.Geometry]]
"""Obstacles with their names, on the local plane."""


def put_names(
    canvas: Canvas, view: View, named: Named, taken: Floats, *, inside: bool = False
) -> tuple[Floats, Named]:
    """Write the names of obstacles, on them or close by.

    Args:
        canvas: the page.
        view: the ground on it.
        named: the obstacles.
        taken: boxes of what is there.
        inside: whether only names that their obstacle holds whole are written.

    Returns:
        The boxes taken, and the obstacles whose name is not written.
    """
    left: Named = []
    for name, shape in named:
        on_page = shapely.intersection(view.on_page(shape), view.box)
        if shapely.is_empty(on_page):
            continue
        point = shapely.get_coordinates(shapely.point_on_surface(on_page))[0]
        said = fitted(name, NAME_PT, SMALLEST_PT, bold=True)
        box = _free_box(said, on_page, point, view, taken)
        small = shapely.get_dimensions(on_page) == 0 or on_page.area < DOT_AREA
        if small and not inside:
            canvas.setFillColor(OBSTACLE.color)
            canvas.circle(point[0], point[1], 1.6, stroke=0, fill=1)
        if box is None or (inside and not shapely.covers(on_page, shapely.box(*box))):
            left.append((name, shape))
            continue
        middle = (box[:2] + box[2:]) / 2
        on_white(canvas, float(middle[0]), float(middle[1]), said, SMALLEST_PT, bold=True)
        taken = np.concatenate([taken, box[None]])
    return taken, left


def _free_box(
    said: str, on_page: shapely.Geometry, point: Floats, view: View, taken: Floats
) -> Floats | None:
    """Give the nearest free box for a name on an obstacle or close by, (4,)."""
    size = np.array([width_pt(said, SMALLEST_PT, bold=True), HIGH * SMALLEST_PT]) / 2 + 1.2
    bounds, frame = shapely.bounds(on_page), np.array(view.frame_pt)
    aside = size[0] + 1.8
    near = [
        (x, y)
        for off in (6.0, 15.0)
        for x, y in ((point[0], bounds[3] + off), (point[0], bounds[1] - off),
                     (bounds[2] + aside, point[1]), (bounds[0] - aside, point[1]))
    ]  # fmt: skip
    far = [
        (x, y)
        for off in FAR_PT
        for y in (bounds[3] + off, bounds[1] - off, point[1])
        for x in (point[0], bounds[2] + aside + off, bounds[0] - aside - off)
    ]
    places = np.array([point, *along_of(on_page), *near, *far])
    boxes = np.column_stack([places - size, places + size])
    away = shapely.distance(shapely.box(*boxes.T), on_page)  # beside one that slants is far off
    order = np.argsort(away, kind="stable")
    boxes = boxes[order[away[order] <= FAR_PT[-1]]]
    free = ~overlaps(boxes, taken).any(axis=1)
    free &= (boxes[:, :2] >= frame[:2]).all(axis=1) & (boxes[:, 2:] <= frame[2:]).all(axis=1)
    return boxes[int(np.argmax(free))] if free.any() else None


FAR_PT = (0.0, 8.0, 16.0, 24.0, 32.0)
"""So far beside an obstacle its name is tried where there is no room closer by."""
SLICES = 9
"""Places along a long obstacle where its name is tried."""


def along_of(shape: shapely.Geometry) -> Floats:
    """Give places on a shape down its length, (k, 2); none of a point."""
    left, bottom, right, top = shapely.bounds(shape)
    upright = top - bottom > right - left
    low, high = (bottom, top) if upright else (left, right)
    edges = np.linspace(low, high, SLICES + 1)
    if high - low < LONG_PT:
        return np.empty((0, 2))
    slices = (
        shapely.box(left - 1, edges[:-1], right + 1, edges[1:])
        if upright
        else shapely.box(edges[:-1], bottom - 1, edges[1:], top + 1)
    )
    on = shapely.point_on_surface(shapely.intersection(shape, slices))
    return np.asarray(shapely.get_coordinates(on[~shapely.is_empty(on)]))


LONG_PT = 30.0
DOT_AREA = 9.0
"""An obstacle smaller on paper, in square points, is marked with a dot."""


NOT_FARMED = "not farmed"
"""What a hole of the boundary is called: it may be a pond, a building, a pivot's pad."""


def obstacles_named(layout: "Layout") -> Named:
    """List obstacles with their names, and holes of the boundary, of which no file tells more."""
    ground = layout.ground
    listed = list(ground.named)
    shapes = np.array([shape for _, shape in listed], dtype=object)
    holes = shapely.get_parts(ground.obstacles)
    own = [
        (NOT_FARMED, hole)
        for hole in holes[~shapely.is_empty(holes)]
        if not shapely.intersects(shapes, hole).any()
    ]
    return [*listed, *own]
