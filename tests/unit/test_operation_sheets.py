"""Operators' pages, measured in the PDF: what stands on them, and that it is that of the passes."""

import re
from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
import shapely
from fields import AROUND, NAMES, SHED, lay_on, sample, square
from pdfs import check_page, pages
from pypdfium2 import raw

from striplay.handover import print_operation
from striplay.sheets.book import book_of, write_pages
from striplay.sheets.driven_columns import BOX_PT
from striplay.sheets.driven_table import driven_table
from striplay.sheets.flow import begin
from striplay.sheets.operation_sheets import operation_story
from striplay.sheets.record_sheets import RECORD, record_story
from striplay.sheets.spoken import spoken
from striplay.sheets.style import MM, PAPERS_MM
from striplay.worksheet import Entry, collapsed

NONE = '[headland]\nwhere = "none"\n'
THREE = (
    '[crops.oats]\nplanter = "planter"\nrate = "100 lb/acre"\n'
    '[crops.pea]\nplanter = "planter"\nrate = "80 lb/acre"\nunit = "50 lb"\n'
    '[crops.vetch]\nplanter = "planter"\nrate = "20 lb/acre"\n'
    '[mixtures.trio]\nplanter = "planter"\nparts = {oats = 0.5, pea = 0.75, vetch = 0.5}\n'
)
ROW_SET = '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 8 soybean, 4 corn"\n'
LONG = "a name as long as names may be, of a crop that nobody grows but for these sheets"


KEPT = {}
"""Layouts, and pages read, by name: they are drawn once for all tests."""


@pytest.fixture(scope="module")
def named(tmp_path_factory):
    """Give layouts by name."""

    def kept(name):
        if name not in KEPT:
            KEPT[name] = laid(tmp_path_factory.mktemp("plan"), name)
        return KEPT[name]

    return kept


@pytest.fixture(scope="module")
def printed(named, tmp_path_factory):
    """Give the path of the operations' pages of a layout, and the right pages of each."""

    def kept(name, paper="letter"):
        if (name, paper) not in KEPT:
            layout = named(name)
            path = drawn(tmp_path_factory.mktemp("pages"), layout, paper)
            KEPT[name, paper] = path, right_pages(path, layout)
        return KEPT[name, paper]

    return kept


def laid(folder, name):
    """Lay a sample, or a plan whose sheets are full in another way."""
    if name in NAMES:
        return sample(name)
    if name == "row set":
        shed = SHED.replace("rows = 16", 'rows = 16\nholds = "900000 seeds"')
        return lay_on(folder, square(1320), shed=shed, strips=ROW_SET)
    if name == "three in a row":
        strips = '[[strips]]\ncrop = "trio"\nrows = 16\n'
        return lay_on(folder, square(1320), shed=SHED + THREE, strips=strips)
    if name == "many passes":
        slanting = shapely.affinity.skew(square(1980), 20)
        return lay_on(folder, slanting, strips='[[strips]]\ncrop = "corn"\nrows = 16\n')
    if name == "odd sections":  # what is on has more words than room
        units = ", ".join(["1 corn", "1 soybean"] * 8)
        strips = ROW_SET.replace("4 corn, 8 soybean, 4 corn", units)
        return lay_on(folder, square(400), strips=strips)
    shed = SHED.replace("[crops.corn]", f'[crops."{LONG}"]').replace(
        'does = "spray"', 'does = "spray"\nholds = "500 gal"')  # fmt: skip
    spray = (
        '[[operations]]\ndoes = "spray"\nmachine = "sprayer"\nrate = "15 gal/acre"\n'
        f'product = "{LONG}, mixed with what the label allows"\n'
    )
    strips = f'[[strips]]\ncrop = "{LONG}"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    around = AROUND.replace('"corn"', f'"{LONG}"')
    return lay_on(folder, square(1320), shed=shed + spray, strips=strips, headland=around)


FULL = ("row set", "three in a row", "many passes", "odd sections", "long names")


def drawn(folder, layout, paper="letter"):
    width_mm, height_mm = PAPERS_MM[paper]
    book = replace(book_of(layout), width_mm=width_mm, height_mm=height_mm)
    path = folder / f"{paper}.pdf"
    stories = [operation_story(book, layout, sheet) for sheet in layout.worksheets]
    assert write_pages(book, path, [*stories, record_story(book, layout.worksheets)], "") == []
    return path


def right_pages(path, layout):
    """Give each operation's pages of settings and passes: not the map's, the record's, notes."""
    read = pages(path)
    mine = [page for page in read if "settings and passes" in page.text]
    groups = []
    for page in mine:
        if groups and groups[-1][-1].number == page.number - 1:
            groups[-1].append(page)
        else:
            groups.append([page])
    assert len(groups) == len(layout.worksheets)
    return dict(zip((sheet.name for sheet in layout.worksheets), groups, strict=True))


def said(page):
    return " ".join(page.text.split())


@pytest.mark.parametrize(
    ("name", "paper"),
    [*((name, "letter") for name in ("quarter_section", *FULL)), ("two_parts", "a4"),
     ("long names", "a4"), ("row set", "a4")],
)  # fmt: skip
def test_pages_are_whole(printed, name, paper):
    """No type under 7 points, no word on another, nothing in the margins; maps are not asked."""
    path, right = printed(name, paper)
    maps = {found[0].number - 1 for found in right.values()}
    for page in pages(path):
        if page.number not in maps:
            check_page(page)


@pytest.mark.parametrize("name", ["quarter_section", *FULL])
def test_a_and_b_are_those_of_the_passes(named, printed, name):
    layout = named(name)
    table = layout.passes.drop_duplicates(["job", "number"]).set_index(["job", "number"])
    for sheet in layout.worksheets:
        numbers = [float(text) for page in printed(name)[1][sheet.name]
                   for text in re.findall(r"-?\d+\.\d{7}\b", page.text)]  # fmt: skip
        told = np.array(numbers).reshape(-1, 4)
        ends = [index for one in collapsed(sheet) for index in sorted({one.first, one.last})]
        rows = table.loc[[(sheet.name, sheet.number[index]) for index in ends]]
        columns = ["a_latitude", "a_longitude", "b_latitude", "b_longitude"]
        assert told.shape == (len(rows), 4)
        assert np.abs(told - rows[columns].to_numpy()).max() <= 0.5e-7 + 1e-12


@pytest.mark.parametrize("name", ["quarter_section", *FULL])
def test_a_box_to_tick_for_every_pass(named, printed, name):
    path, right = printed(name)
    with pdfium.PdfDocument(path) as document:
        for sheet in named(name).worksheets:
            count = 0
            for page in right[sheet.name]:
                for one in document[page.number - 1].get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
                    left, bottom, right_pt, top = one.get_bounds()
                    # a line's width is told with them
                    square = abs(top - bottom - BOX_PT - 1.0) < 0.2
                    count += square and BOX_PT - 2 < right_pt - left < 4 * BOX_PT
            assert count == len(sheet), sheet.name


@pytest.mark.parametrize("name", ["quarter_section", *FULL])
def test_rate_and_totals(named, printed, name):
    for sheet in named(name).worksheets:
        text = " ".join(map(said, printed(name)[1][sheet.name]))
        for load in sheet.loads:
            assert load.rate in text
            assert load.total_words(load.total) in text
            assert f"{load.what}, {load.rate}: {load.to_load_words}" in text
            told = sum(float(load.used_words(used).replace(",", "")) for used in load.used)
            step = 10.0 ** -len(load.used_words(load.used[0]).partition(".")[2])
            assert told == pytest.approx(load.total, abs=step / 2 * len(sheet) + 1e-9)
        for one in sheet.cautions:
            assert one.text in text, one.about


def test_a_long_table_goes_on_with_what_was_used(named, printed):
    sheet = next(one for one in named("many passes").worksheets if one.name == "plant corn")
    found = printed("many passes")[1]["plant corn"]
    assert len(found) > 1
    (load,) = sheet.loads
    running = {load.total_words(one) for one in load.running}
    for page, after in pairwise(found):
        over = re.search(r"carried over ([\d,.]+)", said(page))[1]
        before = re.search(r"from before ([\d,.]+)", said(after))[1]
        assert over == before
        assert over in running
    assert all("longitude" in page.text for page in found)
    assert "carried over" not in said(found[-1])


def test_a_run_of_more_passes_than_a_page_has_boxes_for(named, tmp_path):
    """The boxes of a run go over to the next page too."""
    layout = named("quarter_section")
    sheet = next(one for one in layout.worksheets if one.name == "plant corn")
    (run, *_) = [one for one in collapsed(sheet) if one.count > 1]
    rest = [index for index in range(len(sheet)) if index not in range(run.first, run.last + 1)]
    order = np.concatenate([np.tile(np.arange(run.first, run.first + 2), 1200), rest]).astype(int)
    many = Entry(0, 2399, run.step, turns=True)
    others = [Entry(2400 + at, 2400 + at) for at in range(len(rest))]
    longer = of_passes(sheet, order)
    path = tmp_path / "many.pdf"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("striplay.sheets.driven_table.collapsed", lambda _: (many, *others))
        book = book_of(layout)
        table = driven_table(book, longer, book.room_mm * MM, 7.0).story
        write_pages(book, path, [[*begin("many"), *table]], "")
    read = pages(path)
    assert len(read) > 1
    for page in read:
        check_page(page)
    assert "carried over" in said(read[0])
    text = " ".join(map(said, read))
    assert all(f" {number} " in text for number in range(2, 2400))


def of_passes(sheet, order):
    """Give a sheet with its passes chosen anew."""
    names = ("strips", "heading_deg", "length_m", "worked_m", "rows_on", "a_lonlat", "b_lonlat",
             "stops_at", "fill_words", "crop")  # fmt: skip
    chosen = {name: getattr(sheet, name)[order] for name in names}
    fills = replace(sheet.judged.fills, on_the_go=np.zeros(len(order), dtype=bool))
    judged = replace(sheet.judged, fills=fills)
    loads = tuple(replace(load, used=load.used[order]) for load in sheet.loads)
    number = np.arange(len(order)) + 1
    return replace(sheet, **chosen, judged=judged, loads=loads, number=number, fills=())


def test_a_fill_stands_where_it_is_due(printed):
    (page,) = printed("quarter_section")[1]["spray corn + soybean"]
    text = said(page)
    assert re.search(r"\b11 30-32 000° 2,480 all 991 gal 42\.", text)
    assert "before pass 11: 991 gal of herbicide A (invented)" in text


def test_what_is_on_and_over_which_strips_is_told_whole(named, printed):
    names = "unit|row|section|opener"
    for sheet in named("odd sections").worksheets:
        text = " ".join(map(said, printed("odd sections")[1][sheet.name]))
        for one in collapsed(sheet):
            words = str(sheet.rows_on[one.first])
            bare = words.removesuffix(", over the headland").removesuffix(" on")
            bare = re.sub(f"({names})s? | ({names})s$", "", bare)
            assert words in text or bare.replace(" on", "") in text
            assert sheet.strips[one.first] in text


def test_what_is_on_for_a_part_of_the_way_stands_below_its_pass(named, printed):
    seen = 0
    for sheet in named("pond_ell").worksheets:
        text = " ".join(map(said, printed("pond_ell")[1][sheet.name]))
        for one in collapsed(sheet):
            words = str(sheet.rows_on[one.first])
            if ";" in words:
                seen += 1
                assert f"pass {sheet.number[one.first]}: {words}" in text
    assert seen


def test_the_double_page_lies_open(named, printed):
    path, right = printed("quarter_section")
    read = pages(path)
    for sheet in named("quarter_section").worksheets:
        first = right[sheet.name][0]
        assert first.number % 2 == 1
        assert f"{sheet.name}, {sheet.judged.job.day}" in read[first.number - 2].text


def test_a_record_sheet_has_a_line_for_every_piece(tmp_path):
    layout = sample("quarter_section")
    book = book_of(layout)
    path = tmp_path / "records.pdf"
    write_pages(book, path, [record_story(book, layout.worksheets)], "records")
    read = pages(path)
    for page in read:
        check_page(page)
    text = " ".join(map(said, read))
    planted = sum(one.judged.job.does == "plant" for one in layout.worksheets)
    assert text.count("done " + " ".join(RECORD)) >= planted
    without = "done " + " ".join(name for name in RECORD if name != "stand count")
    assert text.count(without) >= len(layout.worksheets) - planted > 0
    soybean = [page for page in read if "Record: plant soybean" in page.text]
    numbers = re.findall(r"\b(\d+) 1(?= |$)", " ".join(map(said, soybean)).partition("remark")[2])
    table = layout.strips[layout.strips["crop"] == "soybean"]
    assert [int(one) for one in numbers] == sorted(table["strip"])
    assert "headland" in said(soybean[-1])
    # 43.56 square feet in rows 2.5 ft apart
    assert "17 ft 5 in of one row, 1/1000 acre in rows 30 in apart" in text


def test_what_to_mind_stands_whole_on_the_settings_page(named, printed):
    seen = 0
    for sheet in named("two_parts").worksheets:
        text = " ".join(map(said, printed("two_parts", "a4")[1][sheet.name]))
        for notice in sheet.judged.notices:
            if notice.severity != "know":
                seen += notice.text != sheet.judged.reason
                words = " ".join(notice.text.removeprefix(f"{sheet.name}: ").split())
                assert spoken(named("two_parts").plan)(words) in text
    assert seen


def test_an_operator_s_pages_alone(tmp_path):
    layout = sample("quarter_section")
    path = tmp_path / "plant.pdf"
    assert print_operation(layout, "plant corn", path, printed=date(2026, 5, 1)) == []
    cover, left, right, record, strips = pages(path)
    assert "Cover map" in cover.text
    assert "Record: plant corn" in record.text
    assert "Strips by number" in strips.text
    for page in (left, right, record):
        assert "plant corn" in page.text
    for page in pages(path):
        assert "2026-05-01" in page.text
        assert layout.mark in page.text
        assert "Alder Bend Farm" in page.text
        assert "not a legal survey" in page.text
    assert "Power lines" in right.text
    again = tmp_path / "again.pdf"
    print_operation(layout, "1", again, printed=date(2026, 5, 1))
    assert Path(again).read_bytes() == path.read_bytes()


def test_who_plants_a_row_set_is_shown_its_seed_boxes(named, tmp_path):
    path = tmp_path / "row_set.pdf"
    print_operation(named("row set"), "plant corn + soybean", path)
    read = pages(path)
    assert any("Which box holds which crop" in page.text for page in read)
    assert any("corn: boxes 1-4, 13-16 · soybean: boxes 5-12" in page.text for page in read)
    print_operation(named("row set"), "harvest corn", path)
    assert not any("Which box holds which crop" in page.text for page in pages(path))


def test_who_sows_a_mixture_is_told_its_blend(named, printed, tmp_path):
    """50 + 60 + 10 lb/acre: half of 100, three quarters of 80, half of 20."""
    path = tmp_path / "trio.pdf"
    print_operation(named("three in a row"), "plant trio", path)
    read = pages(path)
    assert any("Blend of trio" in page.text for page in read)
    (right,) = [page for page in read if "settings and passes" in page.text]
    assert "rate of trio blend 120 lb/acre: calibrate by it" in said(right)
    assert "trio blend, 120 lb/acre:" in said(right)
    assert "What else each pass takes" not in right.text
