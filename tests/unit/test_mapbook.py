"""The map book: true scale, type of 7 pt and more, nothing printed over anything else."""

from datetime import date

import matplotlib as mpl
import numpy as np
import pytest
import shapely
from fields import NAMES, SHED, lay_on, sample, square
from matplotlib.backends.backend_agg import FigureCanvasAgg
from pypdf import PdfReader
from striplay.mapbook.book import sheets, write_map_book
from striplay.mapbook.scale import fitting_scale, tiles, useful_scale
from striplay.mapbook.strip_numbers import place_labels
from striplay.mapbook.style import RC, SMALLEST_PT

MM_PER_INCH = 25.4


def drawn(layout, paper="letter"):
    with mpl.rc_context(RC):
        for figure in sheets(layout, printed=date(2026, 4, 1), paper=paper):
            canvas = FigureCanvasAgg(figure)
            canvas.draw()
            yield figure, canvas.get_renderer()


def texts(figure):
    return [t for t in figure.findobj(mpl.text.Text) if t.get_text().strip() and t.get_visible()]


EIGHT = """
[machines.drill]
does = "plant"
width = "30 ft"
spacing = "7.5 in"
[machines.tool]
does = "plant"
width = "40 ft"
[mixtures.oat_pea]
planter = "drill"
harvester = "platform"
parts = {oats = 0.5, pea = 0.6}
rate_increase = 0.25
batch = "1000 lb"
""" + "".join(
    f'[crops.{name}]\nplanter = "{planter}"\nharvester = "platform"\nrate = "900000 seeds/acre"\n'
    'seed_size = "14000 seeds/lb"\n'
    for name, planter in (
        ("oats", "drill"), ("pea", "drill"), ("wheat", "drill"), ("rye", "tool"),
        ("barley_of_a_very_long_name", "tool"),
    )
)  # fmt: skip
EIGHT_STRIPS = (
    '[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\nperiod = "30 in"\npattern = ["4 in", "12 in"]\n'
    + "".join(f'[[strips]]\ncrop = "{crop}"\nwidth = "{width} ft"\n' for crop, width in (
        ("corn", 40), ("oat_pea", 60), ("rye", 40), ("barley_of_a_very_long_name", 40),
        ("oats", 30), ("pea", 60), ("soybean", 40)))
    + '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\nrows = 2\ngap = "20 in"\n'
    + '[[quick_crop]]\ncrop = "oats"\ninto = "corn"\nseeder = "drill"\n'
)  # fmt: skip


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_many_crops_and_systems_have_room(tmp_path, paper):
    layout = lay_on(tmp_path, square(1320), shed=SHED + EIGHT, strips=EIGHT_STRIPS)
    assert_legible(layout, paper)


@pytest.mark.parametrize("name", NAMES)
def test_type_is_legible_and_never_overlaps(name):
    assert_legible(sample(name), "letter")


def assert_legible(layout, paper):
    for figure, renderer in drawn(layout, paper):
        found = texts(figure)
        assert min(t.get_fontsize() for t in found) >= SMALLEST_PT
        page = figure.bbox
        plain = [t for t in found if t.get_gid() != "strip number"]
        boxes = [t.get_window_extent(renderer) for t in plain]
        for index, box in enumerate(boxes):
            assert page.x0 <= box.x0 <= box.x1 <= page.x1, plain[index].get_text()
            for other_index in range(index):
                assert not overlaps(box, boxes[other_index]), (
                    plain[index].get_text(), plain[other_index].get_text()
                )  # fmt: skip


def overlaps(one, other):
    wide = min(one.x1, other.x1) - max(one.x0, other.x0)
    high = min(one.y1, other.y1) - max(one.y0, other.y0)
    return wide > 0.5 and high > 0.5


@pytest.mark.parametrize("name", NAMES)
def test_strip_numbers_never_overlap(name):
    layout = sample(name)
    figure, renderer = next(drawn(layout))
    numbers = [t for t in texts(figure) if t.get_gid() == "strip number"]
    asked = set(layout.strips["strip"])
    if any(t.get_text().startswith("Narrow strips: every fifth") for t in texts(figure)):
        asked = {number for number in asked if number % 5 == 0 or number in (1, max(asked))}
    assert len(numbers) >= 0.9 * len(asked)
    # all are turned alike, so their middles and upright sizes tell
    angle = np.radians(numbers[0].get_rotation())
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    boxes = []
    for text in numbers:
        text.set_rotation(0)
        box = text.get_window_extent(renderer)
        x, y = turn @ text.axes.transData.transform(text.get_position())
        boxes.append(
            (x, y, box.width, min(box.height, 0.8 * text.get_fontsize() / 72 * figure.dpi))
        )
    for index, (x, y, wide, high) in enumerate(boxes):
        for other_x, other_y, other_wide, other_high in boxes[:index]:
            apart_x = abs(x - other_x) >= (wide + other_wide) / 2 - 0.5
            apart_y = abs(y - other_y) >= (high + other_high) / 2 - 0.5
            assert apart_x or apart_y


def test_scale_is_true():
    figure, _ = next(drawn(sample("quarter_section")))
    axes = figure.axes[1]
    width_in = axes.get_position().width * figure.get_figwidth()
    height_in = axes.get_position().height * figure.get_figheight()
    scale_x = np.ptp(axes.get_xlim()) / (width_in * MM_PER_INCH / 1000)
    scale_y = np.ptp(axes.get_ylim()) / (height_in * MM_PER_INCH / 1000)
    assert scale_x == pytest.approx(5000, rel=1e-9)
    assert scale_y == pytest.approx(5000, rel=1e-9)
    assert any(text.get_text() == "1:5,000" for text in texts(figure))
    # 1 in = 400 ft is 1:4,800 by arithmetic; 5,000 is the next round scale
    assert fitting_scale(400 * 0.3048, 0, 25.4, 25.4) == 5000


def test_sheets_say_what_they_must(tmp_path):
    layout = sample("quarter_section")
    path = tmp_path / "book.pdf"
    write_map_book(layout, path, printed=date(2026, 5, 2), paper="a4")
    reader = PdfReader(path)
    assert len(reader.pages) == 9
    assert [float(v) for v in reader.pages[0].mediabox[2:]] == pytest.approx(
        [595.3, 841.9], abs=0.1
    )
    first = reader.pages[0].extract_text()
    for words in ("Alder Bend", "2026-05-02", "WGS 84", "true N", "1:5,000", "corn", "soybean",
                  "headland", "leftover", "obstacles", "Power lines", "label is the law",
                  "Not a legal survey", "157.11 ac", "30 units"):  # fmt: skip
        assert words in first, words
    across = reader.pages[3].extract_text()
    for words in ("Across one set", "soybean, 16 rows of 30 in, 40 ft", "planter plants"):
        assert words in across, words
    costs = reader.pages[5].extract_text()
    for words in ("Cost of every heading", "headland", "bare land", "partial-width passes", "turns",
                  "Solid line: the heading chosen", "Dashed: along the longest edge"):  # fmt: skip
        assert words in costs, words
    seeds = layout.accounts["seed_to_buy"]["corn"]["seeds"]
    suits = reader.pages[6].extract_text()
    for words in ("How the crops suit each other", "corn and soybean", "height: ", "Sources: "):
        assert words in suits, words
    assert "Keep every part of every machine" in reader.pages[7].extract_text()
    last = reader.pages[8].extract_text()
    for words in (f"{seeds / 1e6:.3g} million", "30 units of 80,000 seeds", "To set the planter"):
        assert words in last, words


def test_no_date_is_printed_unless_given(tmp_path):
    write_map_book(sample("quarter_section"), tmp_path / "a.pdf", printed=None, paper="letter")
    assert "printed" not in PdfReader(tmp_path / "a.pdf").pages[0].extract_text()


def test_large_field_is_tiled(tmp_path):
    layout = lay_on(tmp_path, square(12_000))
    figures = [figure for figure, _ in drawn(layout)]
    whole = [t.get_text() for t in texts(figures[0])]
    assert "Key to the sheets" in whole
    count = sum("Sheet " in t.get_text() for figure in figures for t in texts(figure))
    assert count == len(tiles(square(12_000).bounds, 10_000, 191.9, 171.4))
    assert str(count) in whole


def test_tiles_cover_the_ground_and_overlap():
    covered = tiles((0, 0, 5000, 3000), 10_000, 190, 170)
    assert min(t.left_m for t in covered) <= 0
    assert max(t.right_m for t in covered) >= 5000
    assert min(t.bottom_m for t in covered) <= 0
    assert max(t.top_m for t in covered) >= 3000
    assert useful_scale(0.5) == 500


def test_a_strip_too_small_goes_without_a_number():
    strips = sample("quarter_section").laid.blocks[0].pieces.strips.polygon
    labels, missing = place_labels(np.arange(len(strips)), strips, 400.0)
    assert len(labels) + missing == len(strips)
    assert missing > 0


def test_of_narrow_strips_every_fifth_is_numbered_on_its_middle():
    """Strips of 4 m at 1:4,000 are 1 mm wide, and digits 2.1 mm high."""
    strips = np.array([shapely.box(0, -4 * (n + 1), 900, -4 * n) for n in range(12)])
    labels, missing = place_labels(np.arange(12) + 1, strips, 4.0)
    assert [label.text for label in labels] == ["1", "5", "10", "12"]
    assert missing == 8
    assert all(label.narrow for label in labels)
    assert [label.y_m for label in labels] == pytest.approx([-2, -18, -38, -46])
    # at 1:1,000 they are 4 mm wide, and all numbered
    labels, missing = place_labels(np.arange(12) + 1, strips, 1.0)
    assert (len(labels), missing) == (12, 0)
    assert not any(label.narrow for label in labels)


def test_the_overview_says_how_many_narrow_strips_have_no_number(tmp_path):
    layout = lay_on(tmp_path, square(2000), strips=(
        '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 8 soybean, 4 corn"\n'))  # fmt: skip
    figure, _ = next(drawn(layout))
    numbers = {int(t.get_text()) for t in texts(figure) if t.get_gid() == "strip number"}
    count = layout.strips["strip"].nunique()
    assert numbers == {1, count, *range(5, count, 5)}
    said = f"Narrow strips: every fifth is numbered; {count - len(numbers)} have no number here."
    assert said in [t.get_text() for t in texts(figure)]


def test_pairs_have_a_sheet_only_where_something_is_judged():
    layout = sample("quarter_section")
    said = [t.get_text() for figure, _ in drawn(layout) for t in texts(figure)]
    assert ("How the crops suit each other" in said) == bool(layout.pairs)
    for one in layout.pairs:
        assert any(line.startswith(f"{one.about}: ") for line in said), one.about


def test_a_star_is_explained_only_where_one_stands(tmp_path):
    """A shape cut along its length has stars; a rectangle that sets fill has none."""
    seen = set()
    for layout in (lay_on(tmp_path, square(1320)), sample("creek_side")):
        for figure, _ in drawn(layout):
            said = [t.get_text() for t in texts(figure)]
            if not any("Mean row length: " in text for text in said):
                continue
            starred = any(text.endswith(" *") for text in said)
            assert starred == any(text.startswith("* a piece") for text in said)
            seen.add(starred)
    assert seen == {True, False}


def costs_of(layout):
    for figure, _ in drawn(layout):
        if any("Cost of every heading" in t.get_text() for t in texts(figure)):
            lines = [line for line in figure.axes[1].lines if len(set(line.get_xdata())) == 1]
            return lines, " ".join(t.get_text() for t in texts(figure)), figure.axes[1]
    raise AssertionError


def test_the_same_heading_is_drawn_once_and_said_so(tmp_path):
    layout = lay_on(tmp_path, square(1320), direction='heading = "best"')
    (block,) = layout.laid.blocks
    lines, said, axes = costs_of(layout)
    best, usual = block.choice, block.searched.usual
    assert best.heading_deg == pytest.approx(usual.heading_deg)
    # north, at 0 and at 180 degrees, neither on the frame
    assert [line.get_xdata()[0] for line in lines] == pytest.approx([0, 180], abs=1e-6)
    assert axes.get_xlim() == pytest.approx((-4, 184))
    assert "That is along the longest edge too" in said
    assert "Dashed" not in said


def test_headings_at_which_no_strip_can_be_laid_are_gaps(tmp_path):
    narrow = shapely.box(-150, -9, 150, 9)
    none = '[headland]\nwhere = "none"\n'
    layout = lay_on(tmp_path, narrow, headland=none, direction='heading = "best"')
    _, said, axes = costs_of(layout)
    assert "Gaps: headings at which no strip can be laid." in said
    (searched,) = [block.searched for block in layout.laid.blocks]
    across = searched.headings_deg < 20
    assert np.isnan(searched.parts[across]).all()
    assert np.isfinite(searched.parts[np.argmin(np.abs(searched.headings_deg - 90))]).all()
    assert np.isfinite(axes.get_ylim()).all()
    _, said, _ = costs_of(lay_on(tmp_path, square(1320), direction='heading = "best"'))
    assert "Gaps" not in said


def test_what_the_user_should_know_is_printed(tmp_path):
    layout = lay_on(tmp_path, square(), direction="heading = 0\n[slope]\npercent = 6")
    path = tmp_path / "book.pdf"
    write_map_book(layout, path, printed=None, paper="letter")
    last = PdfReader(path).pages[-1].extract_text()
    assert "Notes for this plan" in last
    assert "wider than the 100 ft of its table" in last
    assert "conservation office decide" in last
