"""Show one set across as it is seen driving: strips, rows and machines, then pass by pass."""

from functools import partial
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.geometry.directions import HALF_TURN_DEG, compass
from striplay.looks import Fill, Look
from striplay.one_set import DrivenPass, OneSet, one_set
from striplay.operations.under import ranges
from striplay.section.section import Section
from striplay.sheets.book import Book
from striplay.sheets.flow import (
    Drawn,
    Story,
    begin,
    gap,
    heading,
    high_mm,
    paragraph,
    side_by_side,
    together,
)
from striplay.sheets.fonts import fitted, width_pt, write
from striplay.sheets.paint import fill_shape, on_white
from striplay.sheets.section_page import draw_on_page
from striplay.sheets.section_picture import LEFT_MM, RIGHT_MM, Picture, wide_mm
from striplay.sheets.section_scene import Scene, scene_of
from striplay.sheets.style import GRAY, HAIR_PT, INK, MM, SMALLEST_PT, TEXT_PT, THIN_PT
from striplay.tolerances import WIDTH_M
from striplay.units import format_length

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

PART_M = 48.8
"""A wider set, 160 ft, is drawn in parts: rows 30 in apart are then 3 mm apart on paper."""
PLANTS_MM = 45.0
TIGHT_MM, PASS_MM, ROOMY_MM, CELL_MM = 14.5, 18.0, 25.0, 5.0
"""Height of a pass's picture: for all to have room on the page, else, and at most; of a row unit
in it."""
COLUMN_GAP_MM = 7.0
NUMBER_MM = 3.9
"""Numbers of units stand at least so far apart."""
BOX_MM = 11.0
"""Height of a seed box."""
OFF = Fill("#ffffff")


def across_story(book: Book, layout: "Layout") -> Story:
    """Show one set across, and how its planters drive it."""
    seen = one_set(layout.plan, layout.laid, layout.worksheets)
    story = begin("Across one set, as seen driving")
    story.append(paragraph(_intro(layout, seen), TEXT_PT, below_mm=1.5))
    story.append(Drawn(book.inner_mm * MM, 8 * MM, lambda c, w, _h: _facing(c, w, seen)))
    story += _pictures(book, layout, seen)
    boxes = _boxes(layout.section, seen)
    if boxes:
        story += _seed_boxes(book, boxes)
    return [*story, *_passes(book, layout.section, seen, high_mm(story[1:], book.inner_mm))]


def _intro(layout: "Layout", seen: OneSet) -> str:
    """Say which set is shown, and how it repeats."""
    strips = [number for number in seen.strips if number]
    sets = max(int(block.set_number.max(initial=0)) for block in layout.laid.blocks)
    named = f"strip {strips[0]}" if len(strips) == 1 else f"strips {ranges(strips)}"
    width = format_length(seen.section.width_m, layout.plan.units)
    which = f"Set {seen.number} of {sets}" if sets > 1 else "The set"
    first = "" if seen.number == 1 or not seen.whole else ", the first whole one"
    said = [f"{which}{first}: {named}, {width} across, looking along the rows."]
    if not seen.whole:
        said.append("No set is whole in this field: the boundary cuts some of its rows.")
    if sets > 1:
        said += _repeat_words(layout)
    headings = [round(block.heading_deg) % 180 for block in layout.laid.blocks]
    if len(set(headings)) > 1:
        others = ", ".join(
            f"{_degrees(block.heading_deg)} in block {number}"
            for number, block in enumerate(layout.laid.blocks, start=1)
        )
        said.append(f"Blocks face {others}.")
    return " ".join(said)


def _repeat_words(layout: "Layout") -> list[str]:
    """Say what of the set the others repeat: not tramlines where these repeat less often."""
    lines = [one for one in layout.section.tramlines if one.sets > 1]
    if not lines:
        return ["The others repeat it across the field."]
    said = ["The others repeat its rows; lines across strips lie otherwise over them."]
    for one in lines:
        wide = format_length(one.pattern_m, layout.plan.units)
        said.append(f"Lines of the {one.machine} repeat after {one.sets} sets, {wide}.")
    return said


def _degrees(heading_deg: float) -> str:
    """Write a heading as a compass has it: three digits."""
    return f"{round(heading_deg) % 360:03d}°"


def _toward(heading_deg: float) -> str:
    return str(compass(np.array([heading_deg % (2 * HALF_TURN_DEG)]))[0])


def facing_words(seen: OneSet) -> tuple[str, str, str]:
    """Say what lies left, which way is looked, and what lies right."""
    if seen.around:
        return "LEFT: outward", "facing clockwise round the center", "RIGHT: toward the center"
    about = "about " if seen.curved else ""
    left, right = seen.heading_deg - 90.0, seen.heading_deg + 90.0
    ahead = f"facing {about}{_degrees(seen.heading_deg)} ({_toward(seen.heading_deg)})"
    return f"LEFT: {_toward(left)}", ahead, f"RIGHT: {_toward(right)}"


def _facing(canvas: Canvas, wide_pt: float, seen: OneSet) -> None:
    """Mark left and right, and which way is looked."""
    left, ahead, right = facing_words(seen)
    y_pt = 2.2 * MM
    canvas.setFillColor(INK)
    for x_pt, way in ((0.0, 1), (wide_pt, -1)):
        tip = np.array(
            [[x_pt, y_pt + 2.9], [x_pt + way * 7, y_pt + 6.1], [x_pt + way * 7, y_pt - 0.3]]
        )
        fill_shape(canvas, shapely.polygons(tip), Fill(INK), 0.0)
    write(canvas, 11, y_pt, left, TEXT_PT, bold=True)
    write(canvas, wide_pt - 11, y_pt, right, TEXT_PT, bold=True, align=1)
    write(canvas, wide_pt / 2, y_pt, ahead, TEXT_PT, bold=True, align=0.5)


def parts_of_set(section: Section, most_m: float = PART_M) -> list[tuple[float, float]]:
    """Part a wide set for the page: at strips' edges, a wider strip where planter passes meet.

    Args:
        section: the set.
        most_m: how wide a part may be.

    Returns:
        From where to where each part lies, from the set's first edge.
    """
    borders = [strip.right_m for strip in section.strips]
    passes = [one.high_m for one in section.passes if one.operation == "plant"]
    ends, at_m = [0.0], 0.0
    while (left_m := section.width_m - at_m) > most_m + WIDTH_M:
        wanted_m = left_m / np.ceil(left_m / most_m - WIDTH_M)
        best_m = at_m + wanted_m
        for edges in (borders, passes):
            near = [edge for edge in edges if wanted_m / 2 <= edge - at_m <= most_m + WIDTH_M]
            if near:
                best_m = min(near, key=lambda edge: abs(edge - best_m))
                break
        at_m = best_m
        ends.append(at_m)
    return list(pairwise([*ends, section.width_m]))


def _most_m(scene: Scene, across_mm: float) -> float:
    """Give how wide a part may be for each strip's number and letter to have room under it."""
    strips = enumerate(scene.section.strips)
    room = min(strip.width_m / (wide_mm(scene.name_of(index)) + 1.0) for index, strip in strips)
    return min(PART_M, across_mm * room)


def _scene(book: Book, layout: "Layout", seen: OneSet) -> Scene:
    """Gather what the picture shows, each strip by its number and letter."""
    south = layout.ground.plane.latitude_deg < 0
    named = tuple(
        f"{number or '-'} {book.looks[strip.crop].letter}"
        for number, strip in zip(seen.strips, seen.section.strips, strict=True)
    )
    facts = scene_of(layout.plan, layout.section, None, south=south)
    return Scene(
        layout.plan, seen.section, facts.facts, facts.windows, None, south, book.looks, named,
        seen.booms,
    )  # fmt: skip


def _pictures(book: Book, layout: "Layout", seen: OneSet) -> Story:
    """Draw the set, in parts where it is wide, all to one scale; its words under the last."""
    scene, across_mm = _scene(book, layout, seen), book.inner_mm - LEFT_MM - RIGHT_MM
    parts = parts_of_set(seen.section, _most_m(scene, across_mm))
    widest_m = max(high_m - low_m for low_m, high_m in parts)
    least_mm = max(widest_m / across_mm, scene.top_m / PLANTS_MM)
    story: Story = []
    for number, part_m in enumerate(parts, start=1):
        picture = Picture(scene, book.inner_mm, part_m=part_m, least_mm=least_mm,
                          keyed=number == len(parts))  # fmt: skip
        drawn = Drawn(
            book.inner_mm * MM, picture.height_mm * MM,
            partial(_draw_picture, picture=picture),
        )  # fmt: skip
        if len(parts) > 1:
            low, high = (format_length(at_m, layout.plan.units) for at_m in part_m)
            said = f"Part {number} of {len(parts)}, from {low} to {high} from the set's left edge"
            story.append(together(heading(said), drawn))
        else:
            story.append(drawn)
    words = " ".join(Picture(scene, book.inner_mm).caption)
    return [*story, paragraph(words, above_mm=1.0, below_mm=1.0)]


def _draw_picture(canvas: Canvas, _wide_pt: float, _high_pt: float, picture: Picture) -> None:
    draw_on_page(canvas, picture)


def _boxes(section: Section, seen: OneSet) -> list[str]:
    """Name what each seed box of a planter over several strips holds; empty ones by no name.

    None where planters pass over one strip at a time.
    """
    over = {one.machine for one in section.passes if one.operation == "plant" and one.strip is None}
    mine = [one for one in seen.passes if one.machine in over and len(set(one.strip_of) - {0}) > 1]
    if not mine:
        return []
    best = max(mine, key=lambda one: sum(row >= 0 for row in one.rows))
    return ["" if row < 0 else section.rows[row].label for row in best.rows]


def box_words(boxes: list[str]) -> str:
    """Say which boxes hold which crop.

    >>> box_words(["corn", "soybean", "soybean", ""])
    'corn: box 1 · soybean: boxes 2-3 · empty: box 4'
    """
    said = []
    for crop in sorted(set(boxes), key=lambda one: (one == "", boxes.index(one))):
        numbers = [place for place, one in enumerate(boxes, start=1) if one == crop]
        word = "box" if len(numbers) == 1 else "boxes"
        said.append(f"{crop or 'empty'}: {word} {ranges(numbers)}")
    return " · ".join(said)


FILLED_ONCE = (
    "Seed boxes from behind the planter, as its operator sits. Boxes are filled once: the planter "
    "turns, the crops stay in their boxes. A planter that feeds its units from shared tanks must "
    "be able to part the crops so."
)


def _seed_boxes(book: Book, boxes: list[str]) -> Story:
    """Draw which seed box holds which crop."""
    wide_pt = min(book.inner_mm, 9.0 * len(boxes)) * MM

    def draw(canvas: Canvas, _wide_pt: float, high_pt: float) -> None:
        each_pt = wide_pt / len(boxes)
        for place, crop in enumerate(boxes):
            left, right = place * each_pt + 0.8, (place + 1) * each_pt - 0.8
            slope, foot = 0.3 * each_pt, high_pt - BOX_MM * MM
            corners = [(left, high_pt), (right, high_pt), (right, foot + 0.4 * BOX_MM * MM),
                       (right - slope, foot), (left + slope, foot),
                       (left, foot + 0.4 * BOX_MM * MM)]  # fmt: skip
            look = book.looks.get(crop, Look(OFF, "-"))
            fill_shape(canvas, shapely.Polygon(corners), look.fill, THIN_PT, INK)
            middle = (left + right) / 2
            on_white(canvas, middle, foot + 0.62 * BOX_MM * MM, look.letter, TEXT_PT, bold=True)
            if _numbered(place, each_pt):
                write(canvas, middle, foot - 8.5, str(place + 1), SMALLEST_PT, align=0.5)

    drawn = Drawn(book.inner_mm * MM, (BOX_MM + 3.6) * MM, draw)
    words = [paragraph(FILLED_ONCE), paragraph(box_words(boxes), TEXT_PT, bold=True)]
    return [together(heading("Which box holds which crop"), drawn, gap(0.6), *words)]


def _numbered(place: int, each_pt: float) -> bool:
    """Tell whether a unit has its number under it: all, or every second, fifth ... where narrow."""
    every = next(step for step in (1, 2, 5, 10, 20, 50) if step * each_pt >= NUMBER_MM * MM)
    return place % 2 == 0 if every == 2 else place == 0 or (place + 1) % every == 0  # noqa: PLR2004


PASSES = (
    "Each as its operator sees it: unit 1 is at the machine's left. On the way back left and right "
    "change sides, and the rows lie under the units the other way round."
)


def _passes(book: Book, section: Section, seen: OneSet, used_mm: float) -> Story:
    """Draw each planter pass: its units, what they plant, and what lies beside."""
    if not seen.passes:
        return []
    words = PASSES
    if any(not one.first for one in seen.passes):
        words += (
            " Where all passes of this set are driven one way, one of another set is shown too."
        )
    made = [heading("Planter passes over it, in the order driven"), paragraph(words, below_mm=1.5)]
    free_mm = book.room_mm - used_mm - high_mm(made, book.inner_mm)
    columns = 1 if TIGHT_MM * len(seen.passes) <= free_mm - 1.0 else 2
    room_mm = (book.inner_mm - COLUMN_GAP_MM * (columns - 1)) / columns
    each_mm = free_mm / -(-len(seen.passes) // columns) - 0.1
    high_pt = (PASS_MM if each_mm < TIGHT_MM else min(each_mm, ROOMY_MM)) * MM
    drawn = [
        Drawn(room_mm * MM, high_pt, partial(_draw_pass, book=book, section=section, one=one))
        for one in seen.passes
    ]
    lines = [
        side_by_side(drawn[first : first + columns], room_mm, COLUMN_GAP_MM)
        for first in range(0, len(drawn), columns)
    ]
    return [together(*made, lines[0]), *lines[1:]]


def pass_words(one: DrivenPass) -> str:
    """Say which pass it is, and which way it goes."""
    way = "back" if one.back else "out"
    elsewhere = "" if one.first else " (another set)"
    return f"pass {one.number}, {way}, facing {_degrees(one.heading_deg)}{elsewhere}"


def _draw_pass(
    canvas: Canvas, wide_pt: float, high_pt: float, book: Book, section: Section, one: DrivenPass
) -> None:
    """Draw a pass: its words, its units, the strips over them, and what lies beside."""
    said = pass_words(one)
    write(canvas, 0, high_pt - 8, said, TEXT_PT, bold=True)
    room_pt = wide_pt - width_pt(said, TEXT_PT, bold=True) - 10
    words = [f"{one.job}: {one.rows_on}", one.rows_on]
    fitting = (word for word in words if width_pt(word, SMALLEST_PT) <= room_pt)
    beside = next(fitting, fitted(one.rows_on, room_pt, SMALLEST_PT))
    write(canvas, wide_pt, high_pt - 8, beside, SMALLEST_PT, align=1)
    side_pt = 20 * MM if wide_pt > 120 * MM else 16 * MM
    left_pt, right_pt = side_pt, wide_pt - side_pt
    each_pt = (right_pt - left_pt) / len(one.rows)
    top_pt = high_pt - 20
    cell_pt = CELL_MM * MM + 0.7 * (high_pt - PASS_MM * MM)
    foot_pt = top_pt - cell_pt
    _units(canvas, book, section, one, (left_pt, foot_pt, each_pt), cell_pt)
    _strips_over(canvas, book, section, one, (left_pt, top_pt, each_pt))
    y_pt = (top_pt + foot_pt) / 2
    for x_pt, align, number, word in (
        (0.0, 0.0, one.left, "left"), (wide_pt, 1.0, one.right, "right"),
    ):  # fmt: skip
        lines = (f"{word}:", _beside_words(one, number))
        for place, line in enumerate(lines):
            write(canvas, x_pt, y_pt + 1.5 - 8.5 * place, line, SMALLEST_PT, align=align)


def _beside_words(one: DrivenPass, number: int | None) -> str:
    if number is None:
        return "no strip"
    return "same strip" if number in one.strip_of else f"strip {number}"


Corner = tuple[float, float, float]
"""Left, lower or upper edge of the units, and how wide one is, in points."""


def _units(
    canvas: Canvas,
    book: Book,
    section: Section,
    one: DrivenPass,
    where: Corner,
    cell_pt: float,
) -> None:
    """Draw a pass's units, so high, those of one crop in one go, with their numbers."""
    left_pt, foot_pt, each_pt = where
    cells: dict[str, list[int]] = {}
    for place, row in enumerate(one.rows):
        cells.setdefault("" if row < 0 else section.rows[row].label, []).append(place)
    for crop, places in cells.items():
        at_pt = left_pt + each_pt * np.array(places)
        boxes = shapely.box(at_pt, foot_pt, at_pt + each_pt, foot_pt + cell_pt)
        look = book.looks.get(crop, Look(OFF, ""))
        fill_shape(canvas, boxes, look.fill, THIN_PT if crop else HAIR_PT, INK)
        wide_pt = width_pt(look.letter, SMALLEST_PT, bold=True)
        if look.letter and wide_pt + 4.5 <= each_pt:
            for x_pt in at_pt.tolist():
                middle = (x_pt + each_pt / 2, foot_pt + cell_pt / 2)
                on_white(canvas, *middle, look.letter, SMALLEST_PT, bold=True)
    for place, row in enumerate(one.rows if len(one.rows) > 1 else ()):
        if _numbered(place, each_pt):
            color = GRAY if row < 0 else INK
            write(canvas, left_pt + (place + 0.5) * each_pt, foot_pt - 8, str(place + 1),
                  SMALLEST_PT, align=0.5, color=color)  # fmt: skip


def _strips_over(
    canvas: Canvas, book: Book, section: Section, one: DrivenPass, where: Corner
) -> None:
    """Name the strips over the units that plant them, at the units' left end."""
    left_pt, top_pt, each_pt = where
    on = [(place, number) for place, number in enumerate(one.strip_of) if number]
    free_pt = left_pt
    for number, same in groupby(on, key=lambda at: at[1]):
        places = [place for place, _ in same]
        begin_pt, room_pt = left_pt + places[0] * each_pt, (places[-1] + 1 - places[0]) * each_pt
        crop = section.rows[one.rows[places[0]]].label
        letter = book.looks[crop].letter
        tried = [
            f"strip {number} {letter} {crop}",
            f"strip {number} {letter}",
            f"{number} {letter}",
        ]
        fitting = (word for word in tried if width_pt(word, SMALLEST_PT) <= room_pt)
        word = next(fitting, str(number))
        if begin_pt >= free_pt - WIDTH_M:
            free_pt = begin_pt + 2 + write(canvas, begin_pt, top_pt + 2.2, word, SMALLEST_PT)
