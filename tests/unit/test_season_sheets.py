"""The picture of the season: bars where they belong, every day written, nothing over anything."""

from datetime import date
from itertools import pairwise
from types import SimpleNamespace

import matplotlib as mpl
import pytest
from fields import AROUND, SHED, square, write_plan_for
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex
from matplotlib.patches import Rectangle

from striplay.files.plan import read_plan
from striplay.growing import season_of
from striplay.mapbook.season_sheets import PITCH_MM, bars_of, season_sheets
from striplay.mapbook.sheet import Paper
from striplay.mapbook.style import HEADLAND, PAPERS_MM, RC, SMALLEST_PT
from striplay.mapbook.text import spread
from striplay.section.systems import sections_of
from striplay.sheets.section_scene import scene_of

DRILL = '[machines.drill]\ndoes = "plant"\nwidth = "30 ft"\nspacing = "7.5 in"\n'


def crop(name, *lines):
    listed = "\n".join(lines)
    return f'[crops.{name}]\nplanter = "drill"\nharvester = "platform"\n{listed}\n'


def days(**crops):
    shed = SHED
    for name, lines in crops.items():
        shed = shed.replace(f"[crops.{name}]", f"[crops.{name}]\n{lines}")
    return shed + DRILL


def strips(*names):
    return "".join(f'[[strips]]\ncrop = "{name}"\npasses = 1\n' for name in names)


CORN = "sown = 2026-05-01\nharvested = 2026-10-10\ncanopy_closure = 2026-06-20"
SOYBEAN = "sown = 2026-05-25\nharvested = 2026-09-25"
WHEAT = crop("wheat", "sown = 2025-10-01", "harvested = 2026-07-05")
OATS = crop("oats", "sown = 2026-04-10", "harvested = 2026-07-20")
PEA = crop("field_pea", "sown = 2026-04-10", "harvested = 2026-08-10")
MIX = '[mixtures.oat_pea]\nplanter = "drill"\nparts = {oats = 0.5, field_pea = 0.6}\n'
CASES = {
    "relay": (
        days(soybean=SOYBEAN) + WHEAT,
        ('[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\nperiod = "30 in"\n'
        'pattern = ["4 in", "12 in"]\n'
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\ngap = "20 in"\n'),
        "",
    ),
    "quick crop": (
        days(corn=CORN) + crop("radish", "sown = 2026-04-20", "harvested = 2026-04-29"),
        strips("corn")
        + '[[quick_crop]]\ncrop = "radish"\ninto = "corn"\nseeder = "drill"\n',
        "",
    ),
    "mixture": (days(corn=CORN) + OATS + PEA + MIX, strips("corn", "oat_pea"), ""),
    "six crops": (
        days(corn=CORN, soybean=SOYBEAN) + WHEAT + OATS
        + crop("sunflower", "sown = 2026-05-26", "harvested = 2026-09-26")
        + crop("alfalfa_with_a_little_grass", "sown = 2025-08-20"),
        strips("corn", "soybean", "wheat", "oats", "sunflower", "alfalfa_with_a_little_grass"),
        AROUND,
    ),
    "over new year by two days": (
        days(corn=CORN) + crop("rye", "sown = 2026-10-01", "harvested = 2027-01-02"),
        strips("corn", "rye"),
        "",
    ),
    "ten years": (
        days(corn=CORN) + crop("alfalfa", "sown = 2020-05-01", "harvested = 2029-10-01"),
        strips("corn", "alfalfa"),
        "",
    ),
}  # fmt: skip


def season(folder, case):
    shed, listed, headland = CASES[case]
    path = write_plan_for(folder, square(1320), shed=shed, strips=listed, headland=headland)
    plan = read_plan(path)
    return season_of(plan, sections_of(plan)[0])


def drawn(found, paper="letter"):
    with mpl.rc_context(RC):
        (page,) = season_sheets(Paper(*PAPERS_MM[paper], "Test", "foot"), found)
        canvas = FigureCanvasAgg(page.figure)
        canvas.draw()
    return page, canvas.get_renderer()


def texts(page):
    return [t for t in page.figure.findobj(mpl.text.Text) if t.get_text().strip()]


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("case", CASES)
def test_type_is_legible_and_never_overlaps(tmp_path, case, paper):
    page, renderer = drawn(season(tmp_path, case), paper)
    found = texts(page)
    assert min(t.get_fontsize() for t in found) >= SMALLEST_PT
    boxes = [t.get_window_extent(renderer) for t in found]
    for index, box in enumerate(boxes):
        assert page.figure.bbox.x0 <= box.x0 <= box.x1 <= page.figure.bbox.x1
        assert page.figure.bbox.y0 <= box.y0
        for other_index, other in enumerate(boxes[:index]):
            wide = min(box.x1, other.x1) - max(box.x0, other.x0)
            high = min(box.y1, other.y1) - max(box.y0, other.y0)
            assert wide <= 0.5 or high <= 0.5, (
                found[index].get_text(), found[other_index].get_text()
            )  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_every_day_is_written_and_every_year_named(tmp_path, case):
    found = season(tmp_path, case)
    page, _ = drawn(found)
    said = [t.get_text() for t in texts(page)]
    for bar in bars_of(found):
        window = bar.window
        for key, day in (("sown", window.sown), ("harvested", window.harvested),
                         ("closes", window.canopy_closure)):  # fmt: skip
            if day is not None:
                assert f"{key} {day.isoformat()}" in said
                assert str(day.year) in said
        if window.harvested is None:
            assert "harvest not said" in said


def bar_patches(page):
    axes = page.figure.axes[1]
    return [p for p in axes.patches if isinstance(p, Rectangle) and p.get_edgecolor()[0] < 0.5]


@pytest.mark.parametrize("case", CASES)
def test_bars_begin_and_end_on_their_days(tmp_path, case):
    """Days lie evenly along the picture: two bars' ends give all others."""
    found = season(tmp_path, case)
    page, _ = drawn(found)
    patches = [p for p in bar_patches(page) if p.get_height() < PITCH_MM]
    bars = bars_of(found)
    assert len(patches) == len(bars)
    first, last = min(bars, key=lambda b: b.window.sown), max(bars, key=lambda b: b.window.sown)
    (low_x, high_x) = (patches[bars.index(b)].get_x() for b in (first, last))
    if first.window.sown == last.window.sown:
        assert low_x == high_x
        return
    per_day = (high_x - low_x) / (last.window.sown - first.window.sown).days
    assert per_day > 0
    for bar, patch in zip(bars, patches, strict=True):
        begin = (bar.window.sown - first.window.sown).days
        assert patch.get_x() == pytest.approx(low_x + begin * per_day)
        if bar.window.harvested is not None:
            length = (bar.window.harvested - bar.window.sown).days
            assert patch.get_width() == pytest.approx(length * per_day)


def test_months_stand_on_their_days_and_bars_inside(tmp_path):
    """Wheat from 1 October 2025: a month's line at its sowing, the year's 92 days after."""
    found = season(tmp_path, "relay")
    page, _ = drawn(found)
    axes = page.figure.axes[1]
    wheat, soybean = bar_patches(page)
    low_x, high_x = axes.get_xlim()
    per_day = wheat.get_width() / 277
    assert wheat.get_x() - low_x == pytest.approx(7 * per_day)
    assert high_x - (soybean.get_x() + soybean.get_width()) == pytest.approx(7 * per_day)
    # the marks are one point long, the months' lines two
    lines = [line for line in axes.lines if len(line.get_xdata()) == 2]
    places = [line.get_xdata()[0] for line in lines]
    assert places[0] == pytest.approx(wheat.get_x())
    (year,) = [line for line in lines if line.get_linewidth() > 0.5]
    assert year.get_xdata()[0] == pytest.approx(wheat.get_x() + 92 * per_day)


@pytest.mark.parametrize("case", CASES)
def test_bars_have_the_maps_colors(tmp_path, case):
    found = season(tmp_path, case)
    scene = scene_of(found.plan, found.section, None)
    page, _ = drawn(found)
    for bar, patch in zip(bars_of(found), bar_patches(page), strict=True):
        assert to_hex(patch.get_facecolor()) == scene.color(bar.window.crop)
        assert bar.fill.color == scene.color(bar.window.crop)
        assert patch.get_hatch() == bar.fill.hatch


def bars(found):
    return [(bar.window.crop, bar.note, bar.part) for bar in bars_of(found)]


def test_what_has_a_bar(tmp_path):
    assert bars(season(tmp_path, "relay")) == [
        ("wheat", "", False), ("soybean", "into wheat", False),
    ]  # fmt: skip
    assert bars(season(tmp_path, "quick crop")) == [
        ("corn", "", False), ("radish", "into corn", False),
    ]  # fmt: skip
    # soybean and wheat are in the shed and not in the field
    assert bars(season(tmp_path, "mixture")) == [
        ("corn", "", False), ("oat_pea", "", False),
        ("oats", "in oat_pea", True), ("field_pea", "in oat_pea", True),
    ]  # fmt: skip


def test_a_headland_of_another_crop_has_a_gray_bar(tmp_path):
    path = write_plan_for(tmp_path, square(1320), shed=days(corn=CORN, soybean=SOYBEAN),
                          strips=strips("soybean"), headland=AROUND)  # fmt: skip
    plan = read_plan(path)
    found = season_of(plan, sections_of(plan)[0])
    assert bars(found) == [("soybean", "", False), ("corn", "headland", False)]
    assert bars_of(found)[1].fill == HEADLAND


def shaded_days(page, found):
    """Give how many days each gray ground covers."""
    axes = page.figure.axes[1]
    patches = bar_patches(page)
    bar, patch = next(
        (bar, patch) for bar, patch in zip(bars_of(found), patches, strict=True)
        if bar.window.harvested is not None
    )  # fmt: skip
    per_day = patch.get_width() / (bar.window.harvested - bar.window.sown).days
    gray = [p for p in axes.patches if p not in patches]
    return [round(p.get_width() / per_day, 6) for p in gray]


def test_ground_is_gray_where_two_stand(tmp_path):
    """Wheat to 5 July, soybean from 25 May: 41 days."""
    found = season(tmp_path, "relay")
    assert shaded_days(drawn(found)[0], found) == [41]


def test_parts_of_a_mixture_do_not_stand_beside_themselves(tmp_path):
    """Corn from 1 May, the mixture to 10 August: 101 days; from 10 April the mixture is alone."""
    found = season(tmp_path, "mixture")
    assert sum(shaded_days(drawn(found)[0], found)) == 101


def test_days_of_conflict_are_numbered_in_picture_and_words(tmp_path):
    found = season(tmp_path, "six crops")
    page, _ = drawn(found)
    said = [t.get_text() for t in texts(page)]
    numbered = sorted({conflict.day for conflict in found.conflicts})
    assert len(numbered) > 2
    for number, day in enumerate(numbered, start=1):
        assert str(number) in said
        assert any(text.startswith(f"{number}  {day.isoformat()}: ") for text in said)
    (key,) = [text for text in said if text.startswith("Arrow: sown.")]
    assert "Gray ground: two or more crops in the field." in key


@pytest.mark.parametrize(("case", "closes"), [("quick crop", True), ("relay", False)])
def test_a_closing_canopy_is_explained_only_where_drawn(tmp_path, case, closes):
    page, _ = drawn(season(tmp_path, case))
    said = " ".join(text.get_text() for text in texts(page))
    assert ("closes 2026-06-20" in said) == closes
    assert ("Thick line: its canopy closes." in said) == closes
    assert "Arrow: sown. Square: harvested." in said


def test_what_has_no_room_is_told_of(tmp_path):
    names = [f"crop_{number}" for number in range(20)]
    shed = days() + "".join(
        crop(name, "sown = 2026-04-10", "harvested = 2026-07-20") for name in names
    )
    path = write_plan_for(tmp_path, square(5280), shed=shed, strips=strips(*names), headland="")
    plan = read_plan(path)
    page, _ = drawn(season_of(plan, sections_of(plan)[0]))
    said = [t.get_text() for t in texts(page)]
    shown = [name for name in names if name in said]
    assert 8 <= len(shown) < 20
    assert f"{20 - len(shown)} more crops have no room here; accounts.json has all." in said
    many = SimpleNamespace(day=date(2026, 7, 20), said="in the way " * 30)
    crowded = season(tmp_path, "relay")
    crowded = type(crowded)(crowded.plan, crowded.section, crowded.windows, [many] * 40, ())
    page, _ = drawn(crowded)
    assert "More conflicts: accounts.json has all." in [t.get_text() for t in texts(page)]
    assert min(t.get_position()[1] for t in texts(page)) >= 7


@given(
    st.lists(st.tuples(st.floats(0, 100), st.floats(0.5, 20)), min_size=1, max_size=8),
)
def test_labels_spread_without_overlap_and_within(labels):
    labels = sorted(labels)
    total = sum(width for _, width in labels)
    found = spread(labels, 0.0, max(100.0, total))
    edges = [
        edge for (_, width), middle in zip(labels, found, strict=True)
        for edge in (middle - width / 2, middle + width / 2)
    ]  # fmt: skip
    assert all(after >= before - 1e-6 for before, after in pairwise(edges))
    assert edges[0] >= -1e-6
    assert edges[-1] <= max(100.0, total) + 1e-6


def test_labels_that_have_room_stay():
    assert spread([(10.0, 4.0), (14.0, 4.0), (30.0, 4.0)], 0.0, 40.0) == [10.0, 14.0, 30.0]
    assert spread([(10.0, 4.0), (10.0, 4.0), (30.0, 4.0)], 0.0, 40.0) == [8.0, 12.0, 30.0]
    assert spread([], 0.0, 40.0) == []
