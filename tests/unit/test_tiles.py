"""Sheets of parts: only where they gain, whole strips on each, every piece numbered on one."""

from functools import cache

import numpy as np
import pytest
import shapely
from fields import NAMES, SAMPLES, SHED, lay_on, sample, square
from pdfs import check_page, pages

from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.sheets.book import book_of, write_pages
from striplay.sheets.cover_sheets import cover_of
from striplay.sheets.strip_numbers import texts_of
from striplay.sheets.tile_sheets import GAIN, tile_story, tiles_of


@cache
def row_set():
    return lay(read_plan(SAMPLES / "quarter_section" / "row_set.toml"))


@pytest.mark.parametrize("name", NAMES)
def test_there_are_none_where_the_cover_does(name):
    layout = sample(name)
    assert tile_story(book_of(layout), layout) == []


def test_they_gain_at_least_half_again_in_scale():
    layout = row_set()
    book = book_of(layout)
    cover = cover_of(book, layout).view.scale
    tiles = tiles_of(book, layout)
    assert len(tiles) > 1
    assert cover / tiles[0].view.scale >= GAIN
    assert {tile.view.scale for tile in tiles} == {tiles[0].view.scale}


def test_together_they_show_all_strips_each_whole_across():
    layout = row_set()
    book = book_of(layout)
    tiles = tiles_of(book, layout)
    pieces = layout.strips.geometry.to_numpy()
    shown = np.zeros(len(pieces))
    for tile in tiles:
        seen = tile.view.on_page(pieces[tile.pieces])
        window = shapely.box(*tile.window)
        across = 1 - tile.axis
        low, high = tile.window[across], tile.window[across + 2]
        bounds = shapely.bounds(seen)
        # no strip is cut along its length
        assert (bounds[:, across] >= low - 0.01).all()
        assert (bounds[:, across + 2] <= high + 0.01).all()
        area = shapely.area(shapely.intersection(seen, window))
        shown[tile.pieces] += area / tile.view.pt_per_m**2
    assert (shown >= shapely.area(pieces) - 0.01).all()
    assert {(tile.first, tile.last) for tile in tiles} == {(1, 94), (95, 169)}


def test_every_piece_is_numbered_and_the_pages_are_sound(tmp_path):
    layout = row_set()
    book = book_of(layout, ink="gray")
    path = tmp_path / "tiles.pdf"
    write_pages(book, path, [tile_story(book, layout)], "parts")
    made = pages(path)
    for page in made:
        check_page(page)
    assert len(made) == len(tiles_of(book, layout))
    told = {text for page in made for text in page.texts}
    assert set(texts_of(layout, book)) <= told
    assert "Part 1 of 4: strips 1-94 of 169, stretch 1 of 2 along them" in told
    assert "1:3,000" in made[0].text


def test_fields_in_blocks_and_along_curves_have_parts_too(tmp_path):
    direction = "pivot = [-93.4952, 42.0036]"
    strips = '[[strips]]\ncrop = "corn"\nrows = 4\n[[strips]]\ncrop = "soybean"\nrows = 4\n'
    small = SHED.replace("rows = 16", "rows = 4").replace("rows = 8", "rows = 4")
    small = small.replace('"30 ft"', '"10 ft"')
    layout = lay_on(tmp_path, square(2640), direction=direction, strips=strips, shed=small,
                    headland='[headland]\nwhere = "around"\nwidth = "60 ft"\n')  # fmt: skip
    book = book_of(layout)
    tiles = tiles_of(book, layout)
    assert tiles
    assert {tile.axis for tile in tiles} == {-1}
    path = tmp_path / "tiles.pdf"
    write_pages(book, path, [tile_story(book, layout)], "parts")
    for page in pages(path):
        check_page(page)
