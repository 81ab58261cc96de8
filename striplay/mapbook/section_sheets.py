"""Draw the section over a sheet, its words under it."""

from collections.abc import Iterator

from striplay.mapbook.sheet import FOOT_MM, Paper, Place, Sheet
from striplay.mapbook.style import LINE_MM, MARGIN_MM
from striplay.mapbook.text import height_mm, paragraphs
from striplay.sheets.section_axes import pen_on
from striplay.sheets.section_picture import PLANTS_MM, Picture, draw_section
from striplay.sheets.section_scene import Scene


def section_sheets(paper: Paper, scene: Scene) -> Iterator[Sheet]:
    """Draw the section over a sheet, its words under it."""
    sheet = paper.sheet("Across one set")
    picture = Picture(scene, paper.inner_mm)
    words = paragraphs(paper.inner_mm, *picture.caption)
    over_mm = picture.height_mm - (sheet.top_mm - FOOT_MM - height_mm(words) - 1.5 * LINE_MM)
    if over_mm > 0:
        picture = Picture(scene, paper.inner_mm, min(PLANTS_MM, picture.plants_mm) - over_mm)
    bottom_mm = sheet.top_mm - picture.height_mm
    place = Place(MARGIN_MM, bottom_mm, picture.width_mm, picture.height_mm)
    draw_section(pen_on(sheet.axes(place), picture), picture)
    sheet.write(words, bottom_mm - 6.0 + LINE_MM)
    yield sheet
