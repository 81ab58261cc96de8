"""Draw machines' lanes above a section: passes as boxes, boom sections, wheels."""

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from striplay.mapbook.lanes import APART_MM, BOX_MM, NAME_MM, WHEEL_MM, Box, Lane, Part
from striplay.mapbook.style import SMALLEST_PT

BEYOND_MM = 1.5
"""How far past the set a pass is drawn that runs on."""
FACES = {"on": "#b9b9b9", "off": "#ffffff", "edge": "#ffffff"}


def draw_lanes(axes: Axes, lanes: list[Lane], place: tuple[float, float, float]) -> None:
    """Draw lanes one above the other.

    Args:
        axes: where.
        lanes: from the lowest.
        place: width of the set, where the lowest lane begins, metres to a millimetre.
    """
    width_m, y, mm = place
    for lane in lanes:
        for box in lane.boxes:
            low_y = y + box.level * lane.line_mm * mm
            if box.wheels:
                low_y += WHEEL_MM * mm
            _box(axes, box, low_y, (width_m, mm))
        top = y + lane.levels * lane.line_mm * mm
        axes.text(0, top + (NAME_MM - APART_MM - 1.9) * mm, lane.name, fontsize=SMALLEST_PT,
                  parse_math=False)  # fmt: skip
        y = top + NAME_MM * mm


def _box(axes: Axes, box: Box, y: float, sizes: tuple[float, float]) -> None:
    """Draw a pass as far as the picture goes, an arrow where it runs on."""
    width_m, mm = sizes
    first, last = -BEYOND_MM * mm, width_m + BEYOND_MM * mm
    low, high, tall = max(box.low_m, first), min(box.high_m, last), BOX_MM * mm
    body = Rectangle((low, y), high - low, tall, facecolor="white", linewidth=0, gid=None)
    axes.add_patch(body)
    for part in box.parts:
        _part(axes, part, (first, last), (y, tall))
    for level in (y, y + tall):
        axes.plot([low, high], [level, level], color="black", linewidth=0.7)
    for end, runs_on, mark, side in (
        (low, box.low_m < first, "<", -1), (high, box.high_m > last, ">", 1),
    ):  # fmt: skip
        if runs_on:
            axes.plot([end + side * 1.1 * mm], [y + tall / 2], marker=mark, markersize=2.6,
                      color="black")  # fmt: skip
        else:
            axes.plot([end, end], [y, y + tall], color="black", linewidth=0.7)
    for x, wide_m in box.wheels:
        if first <= x and x + wide_m <= last:
            axes.add_patch(
                Rectangle((x, y - WHEEL_MM * mm), wide_m, WHEEL_MM * mm, facecolor="black")
            )


def _part(axes: Axes, part: Part, ends: tuple[float, float], place: tuple[float, float]) -> None:
    """Draw a boom's section, as far as the picture goes."""
    low, high = max(part.low_m, ends[0]), min(part.high_m, ends[1])
    if high <= low:
        return
    y, tall = place
    shape = Rectangle((low, y), high - low, tall, linewidth=0.35, edgecolor="black")
    shape.set(facecolor=FACES[part.state], hatch="////////" if part.state == "edge" else None)
    axes.add_patch(shape)
