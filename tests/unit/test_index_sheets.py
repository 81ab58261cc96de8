"""The index of strips on paper: every strip, its pieces apart, totals that are the accounts'."""

import re

import numpy as np
import pytest
import shapely
from books import texts_of, told
from fields import FOOT_M, NAMES, SHED, lay_on, sample, square

from striplay.accounts.sowings import NO_SEED
from striplay.accounts.strip_lines import piece_lines, strip_lines
from striplay.sheets.book import book_of
from striplay.sheets.index_sheets import index_story
from striplay.sheets.legend import land_rows
from striplay.units import ACRE_M2, HECTARE_M2

NONE = '[headland]\nwhere = "none"\n'
MIXED = """
[machines.drill]
does = "plant"
width = "30 ft"
spacing = "7.5 in"
[crops.oats]
planter = "drill"
rate = "64 lb/acre"
[crops.pea]
planter = "drill"
rate = "100 lb/acre"
[mixtures.duo]
planter = "drill"
parts = {oats = 0.5, pea = 0.6}
"""
DUO = '[[strips]]\ncrop = "duo"\nwidth = "60 ft"\n[[strips]]\ncrop = "corn"\nrows = 16\n'
QUICK = '[[quick_crop]]\ncrop = "soybean"\ninto = "corn"\nseeder = "planter"\n'


def lines_of(layout):
    return strip_lines(layout.plan, layout.laid, layout.figures)


def rows_of(pages):
    """Give the rows of the tables of strips: by what stands first in them, what follows."""
    texts = texts_of(pages)
    texts = texts[: texts.index("In all")]
    begins = [
        at for at, text in enumerate(texts[:-1])
        if re.fullmatch(r"\d+(\.\d+)?( \*)?", text) and re.match(r"[A-Z] ", texts[at + 1])
    ]  # fmt: skip
    return {texts[at].removesuffix(" *"): texts[at + 1 : at + 7] for at in begins}


@pytest.mark.parametrize("name", NAMES)
def test_every_strip_of_a_sample_has_its_line(tmp_path, name):
    layout = sample(name)
    pages = told(tmp_path, layout, index_story)
    assert len(pages) == 1
    rows, strips = rows_of(pages), layout.strips
    area_m2 = ACRE_M2 if layout.plan.units == "us" else HECTARE_M2
    by_strip = strips.groupby("strip")
    assert {int(name.partition(".")[0]) for name in rows} == set(strips["strip"])
    for number, pieces in by_strip:
        mine = {name: row for name, row in rows.items() if name.partition(".")[0] == str(number)}
        crop = pieces["crop"].iloc[0]
        assert {row[0] for row in mine.values()} == {f"{crop[0].upper()} {crop}"}
        planted = [rows for row in mine.values() for rows in row[1].split(" / ")]
        wanted = [str(rows) for rows in pieces.sort_values("piece")["rows"]]
        assert planted == (wanted if len(planted) > 1 else list(dict.fromkeys(wanted)))
        assert sum(len(row[3].split(" / ")) for row in mine.values()) == len(pieces)
        areas = sum(float(row[4]) for row in mine.values())
        assert areas == pytest.approx(pieces["area_m2"].sum() / area_m2, abs=0.0051 * len(mine))


@pytest.mark.parametrize("name", NAMES)
def test_totals_are_the_accounts_and_add_up_as_printed(tmp_path, name):
    """Crops' areas are rounded up or down so that they make the area of all strips."""
    layout, printed = sample(name), []
    unit_m2 = ACRE_M2 if layout.plan.units == "us" else HECTARE_M2
    texts = texts_of(told(tmp_path, layout, index_story))
    totals = texts[texts.index("In all") :]
    for crop, account in layout.land_accounts["crops"].items():
        at = totals.index(f"{crop[0].upper()} {crop}")
        strips, area, seed = totals[at + 1 : at + 4]
        assert strips == str(account["strips"])
        printed.append(float(area.split()[0]))
        assert abs(printed[-1] - account["area_m2"] / unit_m2) < 0.01
        units = layout.land_accounts["seed_to_buy"][crop]["for_strips"]["seed_units"]
        assert float(seed.removesuffix(" units")) == pytest.approx(units, abs=0.05001)
    at = totals.index("all strips")
    whole = float(totals[at + 2].split()[0])
    # in whole hundredths, since the field's ground adds up to the field as printed
    assert abs(whole - layout.areas_m2["strips"] / unit_m2) < 0.01
    assert round(sum(printed), 2) == whole
    # the cover has the same
    cover = {row.text: row.right for row in land_rows(layout, book_of(layout))}
    assert [cover[crop] for crop in layout.land_accounts["crops"]] == [
        totals[totals.index(f"{crop[0].upper()} {crop}") + 2]
        for crop in layout.land_accounts["crops"]
    ]


@pytest.mark.parametrize("strips", [DUO + QUICK, DUO])
def test_lines_add_up_to_the_accounts(tmp_path, strips):
    """To 1e-9: area of each crop or mixture, and seed of each crop by layer."""
    pond = shapely.Point(20, 30).buffer(40)
    field = shapely.difference(square(900), pond)
    layout = lay_on(tmp_path, field, strips=strips, shed=SHED + MIXED, headland=NONE,
                    direction="heading = 20")  # fmt: skip
    lines, pieces = lines_of(layout), piece_lines(layout.plan, layout.laid, layout.figures)
    assert [one.number for one in lines] == list(range(1, len(lines) + 1))
    assert sum(len(one.pieces) for one in lines) == len(pieces) == len(layout.strips)
    for label in layout.section.labels:
        area_m2 = sum(one.area_m2 for one in lines if one.label == label)
        assert area_m2 == pytest.approx(layout.land_accounts["crops"][label]["area_m2"], rel=1e-9)
    for crop in layout.section.crops:
        wanted = layout.land_accounts["seed_to_buy"][crop]["for_strips"]
        for listed in (lines, pieces):
            sown = [each.seed for one in listed for each in one.sown if each.layer.crop == crop]
            for name, amount in sum(sown, NO_SEED).data.items():
                assert amount == (None if wanted[name] is None else pytest.approx(wanted[name]))
    length_m = layout.strips["row_length_m"].to_numpy()
    each = [rows * long_m for one in pieces
            for rows, long_m in zip(one.rows, one.length_m, strict=True)]  # fmt: skip
    assert np.array(each) == pytest.approx(length_m, rel=1e-9)
    told(tmp_path, layout, index_story)


def test_pieces_that_differ_are_never_one_figure(tmp_path):
    """A pond takes half of a strip: 16 rows before it, fewer beside it, 16 after."""
    pond = shapely.box(-150, 10, 150, 60)
    field = shapely.difference(square(900), shapely.box(-60, -20, -54, 20))
    layout = lay_on(tmp_path, shapely.difference(field, pond), headland=NONE)
    cut = [one for one in lines_of(layout) if len(set(one.rows)) > 1]
    rows = rows_of(told(tmp_path, layout, index_story))
    for one in [*cut, *(one for one in lines_of(layout) if len(one.pieces) > 1)]:
        mine = [row for name, row in rows.items() if name.partition(".")[0] == str(one.number)]
        lengths = [each for row in mine for each in row[3].split(" / ")]
        assert lengths == [f"{long_m / FOOT_M:,.0f}" for long_m in one.length_m]
    assert any(len(one.pieces) == 2 for one in lines_of(layout))


def test_many_strips_take_few_pages(tmp_path):
    """169 strips of 8 rows, no more than two pages."""
    shed = SHED.replace("rows = 16", "rows = 8")
    strips = "".join(f'[[strips]]\ncrop = "{crop}"\nrows = 8\n' for crop in ("corn", "soybean"))
    wide_m = 169 * 8 * 0.762
    field = shapely.box(0, 0, wide_m, 200)
    layout = lay_on(tmp_path, field, strips=strips, shed=shed, headland=NONE)
    pages = told(tmp_path, layout, index_story)
    assert len(rows_of(pages)) == 169
    assert len(pages) == 2


def test_what_is_sown_between_and_in_mixtures_stands_with_its_strip(tmp_path):
    layout = lay_on(tmp_path, square(900), strips=DUO + QUICK, shed=SHED + MIXED, headland=NONE)
    texts = texts_of(told(tmp_path, layout, index_story))
    duo, corn = lines_of(layout)[:2]
    at = texts.index("D duo")
    blend_lb = sum(one.seed.seed_kg for one in duo.own) / 0.45359237
    assert texts[at + 5] == f"{blend_lb:,.0f} lb"
    at = texts.index("+ S soybean")
    (between,) = corn.between
    assert texts[at + 1] == str(between.rows[0])
    assert texts[at + 2].endswith(" u")
    assert float(texts[at + 2].removesuffix(" u")) == pytest.approx(
        between.seed.seed_units, abs=0.051
    )
