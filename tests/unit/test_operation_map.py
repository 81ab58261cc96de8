"""An operation's map, measured on its paper: passes where they are driven, each numbered."""

import shutil
from dataclasses import replace

import numpy as np
import pytest
import shapely
from fields import NAMES, SAMPLES, lay_on, sample, square, write_field, write_shapes
from paths import drawn_on
from pdfs import MM, check_page, pages
from reportlab.pdfgen.canvas import Canvas

from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.sheets.book import book_of, write_pages
from striplay.sheets.cover_sheets import cover_of, draw_cover
from striplay.sheets.flow import begin
from striplay.sheets.ground import View
from striplay.sheets.land import NOT_FARMED, obstacles_named, put_names
from striplay.sheets.operation_map import draw_operation, heads, operation_map
from striplay.sheets.pass_numbers import RING_PT, driven_on, fill_places, kept_numbers
from striplay.sheets.turned import turned_alike

MARGIN_PT, FOOT_PT = 12 * MM, 18 * MM
FRAME = (20.0, 100.0, 540.0, 640.0)


def maps(layout, tmp_path, chosen=None, ink="color"):
    book = book_of(layout, ink=ink)
    sheets = [one for one in layout.worksheets if chosen is None or one.name in chosen]
    path = tmp_path / "maps.pdf"
    stories = [[*begin(one.name), *operation_map(book, layout, one)] for one in sheets]
    write_pages(book, path, stories, "maps")
    return sheets, pages(path), path


@pytest.mark.parametrize(("name", "ink"), [
    *((name, "color") for name in NAMES), ("quarter_section", "gray"),
])  # fmt: skip
def test_every_pass_is_numbered_and_the_pages_are_sound(tmp_path, name, ink):
    layout = sample(name)
    sheets, made, _ = maps(layout, tmp_path, ink=ink)
    assert len(made) == len(sheets)
    for sheet, page in zip(sheets, made, strict=True):
        check_page(page)
        told = " ".join(page.texts)
        texts = set(page.texts)
        missing = [one for one in sheet.number if str(one) not in texts]
        assert len(missing) <= 1, (sheet.name, missing)
        for one in missing:
            assert f"without room for a number here: {one}" in told
        assert f"{sheet.name}: " in told
        assert f"{len(sheet)} passes, {sheet.number[0]} to {sheet.number[-1]}" in told


def test_a_number_stands_at_the_start_of_its_pass():
    layout = sample("quarter_section")
    book = book_of(layout)
    for sheet in layout.worksheets[:3]:
        canvas = Canvas("unwritten.pdf")
        numbers = draw_operation(canvas, book, layout, sheet, (540.0, 660.0))
        first = numbers.passes.leader[:, 0]
        assert numbers.passes.found.all()
        # each leader begins on its own pass, at its start
        lines = driven_on(sheet, numbers.view).line
        starts = shapely.get_coordinates(shapely.get_point(lines, 0))
        assert np.linalg.norm(first - starts, axis=1).max() < 2.0
        assert shapely.distance(lines, shapely.points(first)).max() < 0.01


def view_of(layout, sheet):
    """Give the view that an operation's map is drawn by on letter paper."""
    book = book_of(layout)
    size_pt = book.inner_mm * MM, book.room_mm * MM
    return draw_operation(Canvas("unwritten.pdf"), book, layout, sheet, size_pt).view


def test_passes_are_drawn_where_they_are_driven(tmp_path):
    layout = sample("quarter_section")
    sheets, _, path = maps(layout, tmp_path, {"plant corn"})
    (sheet,) = sheets
    view = view_of(layout, sheet)
    wanted = shapely.get_coordinates(view.on_page(sheet.judged.route.line))
    lines = [one for one in drawn_on(path) if one.stroked == "#000000" and not one.filled]
    (drawn,) = [one for one in lines if one.wide_pt > 0.8 and len(one.parts) == len(sheet)
                and np.ptp(one.parts[0], axis=0).max() > 100]  # fmt: skip
    found = drawn.points - np.array([MARGIN_PT, FOOT_PT])
    # a tenth of a millimeter on the paper
    assert np.abs(np.sort(found, axis=0) - np.sort(wanted, axis=0)).max() < 0.1 * MM


def test_the_first_start_is_ringed(tmp_path):
    layout = sample("quarter_section")
    (sheet,), _, path = maps(layout, tmp_path, {"plant corn"})
    view = view_of(layout, sheet)
    start = view.on_page(shapely.get_point(sheet.judged.route.line[0], 0))
    at = np.array([start.x + MARGIN_PT, start.y + FOOT_PT])
    paths = [one.points for one in drawn_on(path) if not one.filled]
    rings = [one for one in paths if np.ptp(one[:, 0]) == pytest.approx(8.4, abs=0.1)]
    middles = [(ring.min(axis=0) + ring.max(axis=0)) / 2 for ring in rings]
    assert min(np.linalg.norm(middle - at) for middle in middles) < 0.05


def test_arrows_point_the_way_that_is_driven():
    lines = np.array(
        [shapely.LineString([(0, 0), (400, 0)]), shapely.LineString([(5, 90), (5, 0)])]
    )
    tips, ways = heads(lines)
    assert tips[:, 0].tolist() == pytest.approx([16.0, 186.0, 356.0, 5.0])
    assert ways == pytest.approx(np.array([(1, 0), (1, 0), (1, 0), (0, -1)]), abs=1e-9)


def test_fills_are_marked_where_they_are(tmp_path):
    """Before a pass at the end of the one before; on its way where it runs out."""
    layout = sample("quarter_section")
    sheet = next(one for one in layout.worksheets if one.name == "harvest soybean")
    fills, route = sheet.judged.fills, sheet.judged.route
    places, dry = fill_places(sheet)
    assert len(places) == fills.count == 17
    before = np.flatnonzero(fills.before)
    ends = shapely.get_coordinates(shapely.get_point(route.line[before - 1], -1))
    assert places[~dry] == pytest.approx(ends)
    of, along_m = fills.mid_field()
    assert dry.sum() == len(of) == 2
    for place, index, along in zip(places[dry], of, along_m, strict=True):
        gone = shapely.line_locate_point(route.line[index], shapely.Point(place))
        assert gone == pytest.approx(along, abs=1e-6)
    (page,) = maps(layout, tmp_path, {"harvest soybean"})[1]
    assert "unload here, before the next pass" in page.texts
    assert "tank full about here: unload" in page.texts


def test_stretches_with_the_implement_up_are_dashed(tmp_path):
    layout = sample("creek_side")
    (sheet,), (page,), path = maps(layout, tmp_path, {"spray oats"})
    lifted = sum(int((~group.working).sum()) for group in sheet.judged.route.groups)
    assert lifted
    assert "implement up, boom shut" in page.texts
    dashed = [one for one in drawn_on(path) if one.dashed and one.stroked == "#000000"]
    assert lifted in {len(one.parts) for one in dashed}


def test_strips_that_are_not_worked_stay_bare(tmp_path):
    layout = sample("quarter_section")
    _, (page,), path = maps(layout, tmp_path, {"plant corn"})
    strips = layout.land_accounts["crops"]["soybean"]["strips"]
    white = [one for one in drawn_on(path) if one.filled == "#ffffff" and len(one.parts) == strips]
    assert white
    # their numbers stand there all the same
    assert {"1 S", "3 S", "61 S"} <= set(page.texts)


def test_what_to_look_out_for_stands_under_the_map(tmp_path):
    layout = sample("quarter_section")
    (sheet,), (page,), _ = maps(layout, tmp_path, {"harvest corn"})
    told = " ".join(page.texts)
    (first, *_) = [one for one in sheet.judged.notices if one.severity == "mind"]
    assert book_of(layout).say(first.text.removeprefix("harvest corn: ")) in told
    route = sheet.judged.route
    driven_mi = (shapely.length(route.line).sum() + route.links.length_m.sum()) / 1609.344
    assert f"{driven_mi:.1f} mi driven" in told


def test_what_to_look_out_for_is_never_cut(tmp_path):
    layout = sample("creek_side")
    sheets, made, _ = maps(layout, tmp_path)
    say, seen = book_of(layout).say, 0
    for sheet, page in zip(sheets, made, strict=True):
        told = " ".join(page.texts)
        texts = [say(one.text.removeprefix(f"{sheet.name}: ")) for one in sheet.judged.notices
                 if one.severity != "know"]  # fmt: skip
        whole = sum(text in told for text in texts)
        left = len(texts) - whole
        assert (f"{left} more to look out for: on the right page." in told) is bool(left)
        assert told.count("Look out: ") + told.count("STOP: ") == whole
        seen += whole
    assert seen


def test_which_strips_are_numbered_is_told_whole(tmp_path):
    layout = lay(read_plan(SAMPLES / "quarter_section" / "row_set.toml"))
    _, (page, *_), _ = maps(layout, tmp_path, {layout.worksheets[0].name})
    assert "of strips every 5th is numbered" in page.texts
    assert "…" not in " ".join(page.texts)


def test_obstacles_that_passes_stop_at_are_named(tmp_path):
    write_shapes(tmp_path, shapely.Point(10, 10), name="obstacles.geojson")
    field = 'obstacles = "obstacles.geojson"\n[obstacles]\nclearance = "6 ft"'
    layout = lay_on(tmp_path, square(1320), field=field)
    _, made, _ = maps(layout, tmp_path)
    assert any("Stops at feature 1: passes " in " ".join(page.texts) for page in made)
    for page in made:
        check_page(page)
        assert "feature 1" in page.texts


def test_where_few_numbers_have_room_every_fifth_and_the_ends_of_runs_do():
    layout = sample("quarter_section")
    sheet = layout.worksheets[0]
    kept = kept_numbers(sheet.judged.route, sheet.number)
    turned = np.isin(sheet.judged.route.links.kind, ["flat", "bulb", "loop", "fishtail"])
    assert kept[0]
    assert kept[-1]
    assert kept[sheet.number % 5 == 0].all()
    assert kept[np.flatnonzero(~turned[1:-1])].all()
    assert not kept.all()


def test_a_map_says_when_it_numbers_every_fifth_pass(tmp_path):
    """A machine of 7.5 ft over half a mile: hundreds of passes, closer than type is high."""
    shed = """
[machines.planter]
does = "plant"
rows = 16
spacing = "30 in"
[machines.mower]
does = "mow"
width = "5 ft"
[crops.corn]
planter = "planter"
[[operations]]
does = "mow"
machine = "mower"
crops = ["corn"]
"""
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n'
    headland = '[headland]\nwhere = "ends"\nwidth = "30 ft"\n'
    layout = lay_on(tmp_path, square(2640), shed=shed, strips=strips, headland=headland)
    (sheet,), (page,), _ = maps(layout, tmp_path, {"mow corn"})
    assert len(sheet) > 400
    check_page(page)
    assert "numbered here: every 5th, and the first and last of each run" in " ".join(page.texts)
    found = {int(text) for text in page.texts if text.isdigit()}
    assert {1, len(sheet)} <= found


@pytest.fixture(scope="module")
def quick_crop():
    """Lay 170 passes 2.6 points apart, about a pond in the boundary."""
    return lay(read_plan(SAMPLES / "pond_ell" / "quick_crop.toml"))


def size_of(book):
    return book.inner_mm * MM, book.room_mm * MM


def drawn(layout, sheet, book=None):
    """Draw an operation's map; give its numbers."""
    book = turned_alike(book_of(layout), layout) if book is None else book
    return draw_operation(Canvas("unwritten.pdf"), book, layout, sheet, size_of(book))


def test_all_maps_of_a_book_are_turned_alike(quick_crop):
    """The cover alone would have north up, and operations, at a finer scale, north left."""
    alone = book_of(quick_crop)
    book = turned_alike(alone, quick_crop)
    sheet = quick_crop.worksheets[-1]
    free, own = cover_of(alone, quick_crop).view, drawn(quick_crop, sheet, alone).view
    assert free.turn_deg != own.turn_deg
    cover, view = cover_of(book, quick_crop).view, drawn(quick_crop, sheet, book).view
    assert cover.turn_deg == view.turn_deg == book.turn_deg
    assert (cover.scale, view.scale) == (free.scale, own.scale)


@pytest.mark.parametrize("name", NAMES)
def test_where_maps_are_turned_alike_the_cover_loses_no_scale(name):
    layout = sample(name)
    alone = book_of(layout)
    book = turned_alike(alone, layout)
    assert cover_of(book, layout).view.scale == cover_of(alone, layout).view.scale
    assert drawn(layout, layout.worksheets[0], book).view.turn_deg == book.turn_deg


def test_no_line_shows_between_numbers_one_behind_the_other(quick_crop, tmp_path):
    """What shows there reads as a dash: "165-163" would be a range."""
    sheet = quick_crop.worksheets[1]
    _, (page,), path = maps(quick_crop, tmp_path, {sheet.name})
    check_page(page)
    grounds = [one for one in drawn_on(path) if one.filled == "#ffffff" and len(one.parts) > 100]
    rings = [part - (MARGIN_PT, FOOT_PT) for one in grounds for part in one.parts if len(part) > 3]
    white = shapely.union_all(shapely.polygons(rings))
    passes = drawn(quick_crop, sheet, book_of(quick_crop)).passes
    box, leader = passes.box[passes.found], passes.leader[passes.found]
    apart = box[None, :, 1] - box[:, None, 3]
    same = np.abs(box[None, :, 0] - box[:, None, 0]) < 0.01
    pairs = np.argwhere(same & (apart > 0) & (apart < 4.6))
    assert len(pairs) > 20
    for one, other in pairs:
        left, _, right, low = box[one]
        high = box[other, 1]
        assert white.covers(shapely.box(left, low, right, high).buffer(-0.2))
        middle = (left + right) / 2
        lines = shapely.linestrings(leader[[one, other]])
        between = shapely.box(middle - 0.8, low + 1.3, middle + 0.8, high - 1.3)
        assert not shapely.intersects(lines, between).any()


def test_no_number_stands_in_the_ring_of_the_first_start(quick_crop):
    for sheet in quick_crop.worksheets:
        numbers = drawn(quick_crop, sheet)
        start = numbers.view.on_page(shapely.get_point(sheet.judged.route.line[0], 0))
        placed = (numbers.passes, numbers.strips)
        boxes = np.concatenate([one.box[one.found] for one in placed])
        assert shapely.distance(shapely.box(*boxes.T), start).min() >= RING_PT


def test_a_strips_number_stands_where_its_own_pass_does_not_start(tmp_path):
    """Its neighbor's pass starts within 6 points of it on paper, and has no say in that."""
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n'
    layout = lay_on(tmp_path, square(1320), strips=strips, direction="heading = 0")
    sheet, book = layout.worksheets[0], book_of(layout)
    numbers = draw_operation(Canvas("unwritten.pdf"), book, layout, sheet, (330.0, 380.0))
    driven = driven_on(sheet, numbers.view)
    pitch = float(np.median(layout.strips["width_m"])) * numbers.view.pt_per_m
    assert sheet.judged.route.width_m == pytest.approx(layout.strips["width_m"].median())
    assert pitch / 2 < pitch < pitch / 2 + 6.0  # a neighbor's start lies within reach
    first = numbers.strips.leader[numbers.strips.found, 0]
    starts = shapely.get_coordinates(shapely.get_point(driven.line, 0))
    away = np.linalg.norm(first[:, None] - starts, axis=2).min(axis=1)
    assert len(away) >= 0.9 * len(layout.strips)
    assert (away < pitch / 4).sum() == 0  # two once stood at their own passes' starts


def test_strips_that_end_at_a_pond_are_numbered_at_the_fields_edge(quick_crop):
    """Where passes' numbers leave room there; seven once stood about the pond."""
    sheet = quick_crop.worksheets[0]
    numbers = drawn(quick_crop, sheet)
    pond = numbers.view.on_page(quick_crop.ground.obstacles)
    boxes = shapely.box(*numbers.strips.box[numbers.strips.found].T)
    assert (shapely.distance(boxes, pond) < 20.0).sum() <= 2


def test_a_pond_in_the_boundary_is_called_not_farmed_on_each_map(quick_crop, tmp_path):
    _, made, _ = maps(quick_crop, tmp_path)
    for page in made:
        assert NOT_FARMED in page.texts
        assert "hole" not in page.texts


def test_a_pass_has_its_number_before_a_strip_has():
    """At the pivot's pad strips' numbers once took the room of pass 35's."""
    layout = sample("pivot_circle")
    for sheet in layout.worksheets:
        assert drawn(layout, sheet).passes.found.all(), sheet.name


def test_a_wide_fields_map_leaves_lines_for_notes(tmp_path):
    layout = sample("two_parts")
    sheet = layout.worksheets[0]
    _, (page,), _ = maps(layout, tmp_path, {sheet.name})
    check_page(page)
    assert "Notes" in page.texts
    view = drawn(layout, sheet).view
    field = shapely.bounds(view.on_page(layout.ground.outline))
    high = view.frame_pt[3] - view.frame_pt[1]
    assert (field[3] - field[1]) / high > 0.55  # of a frame as high as the page it was 0.42
    # one that fills its frame has none
    quarter = sample("pond_ell")
    _, (page,), _ = maps(quarter, tmp_path, {quarter.worksheets[0].name})
    assert "Notes" not in page.texts


def test_a_name_stands_by_what_is_seen_of_its_obstacle(tmp_path):
    """Beside the box round a slanting waterway its name once stood 80 points off, in the crop."""
    layout = sample("creek_side")
    named = obstacles_named(layout)
    ((_, shape),) = named
    whole = cover_of(book_of(layout), layout).view
    left, low, right, high = shapely.bounds(whole.on_page(shape))
    part = (*whole.frame_pt[:2], (left + right) / 2, (low + high) / 2 + 60.0)
    for frame in (whole.frame_pt, part):
        view = View(whole.center_m, whole.turn_deg, whole.scale, frame)
        view = replace(view, center_m=tuple(whole.on_ground(view.middle_pt)[0]))
        on_page = shapely.intersection(view.on_page(shape), view.box)
        boxes, lacking = put_names(Canvas("unwritten.pdf"), view, named, np.empty((0, 4)))
        assert lacking == []
        assert shapely.distance(shapely.box(*boxes[0]), on_page) < 6.0


def test_a_name_takes_no_strips_number_its_room():
    layout = sample("creek_side")
    book = book_of(layout)
    numbered = draw_cover(Canvas("unwritten.pdf"), book, layout, cover_of(book, layout))
    # 31 and 32 end at the waterway, where its name once stood over their ends
    for text in ("31.1 O", "31.2 O"):
        assert numbered.text.count(text) == 2


def test_an_empty_view_keeps_its_scale():
    view = View((0.0, 0.0), 0.0, 5000, FRAME)
    assert view.pt_per_m == pytest.approx(0.5669, abs=1e-4)


def test_the_key_reads_a_strips_number_that_stands_on_the_map(tmp_path):
    """Of a strip worked here; once it was strip 12 of C everywhere, also where all grow rye."""
    write_field(tmp_path, square(1000))
    shutil.copy(SAMPLES / "quarter_section" / "cover.toml", tmp_path)
    after = lay(read_plan(tmp_path / "cover.toml"))
    cut = sample("creek_side")  # in pieces
    for layout, name, key in (
        (after, "plant corn", "1 C: strip 1"),
        (after, "plant soybean", "2 S: strip 2"),
        (after, "plant rye", "1 R: strip 1"),
        (cut, "plant corn", "2.1 C: strip 2, piece 1"),
        (cut, "harvest oats", "1.1 O: strip 1, piece 1"),
    ):
        _, (page,), _ = maps(layout, tmp_path, {name})
        assert [one for one in page.texts if ": strip" in one] == [key], name
        assert key.split(":")[0] in page.texts, name
        assert "shaded: worked here" in page.texts, name
