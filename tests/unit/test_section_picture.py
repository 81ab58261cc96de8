"""The picture across a set: to scale, exact, legible; and the season's bars."""

from datetime import date

import matplotlib as mpl
import pytest
from click.testing import CliRunner
from fields import NAMES, SAMPLES, SHED, lay_on, square, write_plan_for
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.patches import Ellipse, Rectangle

from striplay.cli import main
from striplay.files.plan import read_plan
from striplay.mapbook.book import sheets
from striplay.mapbook.scene import scene_of
from striplay.mapbook.section_picture import draw_section, picture_height_mm
from striplay.mapbook.style import RC, SMALLEST_PT
from striplay.section.systems import sections_of

RELAY_SHED = """
[machines.drill]
does = "plant"
width = "30 ft"
spacing = "7.5 in"
track = "120 in"
tyre = "16 in"
[crops.wheat]
planter = "drill"
harvester = "platform"
sown = 2025-10-01
harvested = 2026-07-05
"""
RELAY = (
    '[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\nperiod = "30 in"\npattern = ["4 in", "12 in"]\n'
    '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\nrows = 2\ngap = "20 in"\n'
)


def run(*arguments):
    return CliRunner().invoke(main, ["section", *map(str, arguments)])


def drawn(folder, strips, shed="", day=None, width_mm=260.0):
    path = write_plan_for(folder, square(1320), shed=SHED + shed, strips=strips)
    plan = read_plan(path)
    scene = scene_of(plan, sections_of(plan)[0], day)
    with mpl.rc_context(RC):
        high_mm = picture_height_mm(scene, width_mm)
        figure = mpl.figure.Figure(figsize=(width_mm / 25.4, high_mm / 25.4))
        axes = figure.add_axes((0, 0, 1, 1))
        draw_section(axes, scene, width_mm)
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
    return scene, axes, canvas


@pytest.mark.parametrize("suffix", ["svg", "png", "pdf"])
def test_a_picture_is_written(tmp_path, suffix):
    path = tmp_path / f"section.{suffix}"
    result = run(SAMPLES / "quarter_section" / "plan.toml", "-o", path)
    assert result.exit_code == 0, result.stderr
    first = path.read_bytes()
    assert len(first) > 5000
    run(SAMPLES / "quarter_section" / "plan.toml", "-o", path)
    assert path.read_bytes() == first


def test_another_ending_is_refused(tmp_path):
    result = run(SAMPLES / "quarter_section" / "plan.toml", "-o", tmp_path / "section.gif")
    assert result.exit_code == 2
    assert result.stderr == "striplay: section.gif: must end in .svg, .png, .pdf\n"


def test_it_is_to_scale_and_exact(tmp_path):
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 48\n'
    scene, axes, _ = drawn(tmp_path, strips)
    crowns = [patch for patch in axes.patches if isinstance(patch, Ellipse)]
    assert len(crowns) == 64
    assert [crown.center[0] for crown in crowns[:2]] == pytest.approx([0.381, 1.143])
    tops = [crown.center[1] + crown.height / 2 for crown in crowns]
    # FAO-56: corn 2.0 m, soybean 0.75 m
    assert tops[0] == pytest.approx(2.0)
    assert tops[-1] == pytest.approx(0.75)
    across, up = axes.transData.transform([(1, 1)])[0] - axes.transData.transform([(0, 0)])[0]
    assert across == pytest.approx(up, rel=1e-6)
    boxes = [p for p in axes.patches if isinstance(p, Rectangle)]
    # planter 1 + 3, header 2, platform 4, boom 1 + 1
    assert len(boxes) == 12
    assert sum(box.get_width() for box in boxes) == pytest.approx(3 * scene.section.width_m)


@pytest.mark.parametrize("name", NAMES)
def test_numbers_and_words_never_overlap(name):
    plan = read_plan(SAMPLES / name / "plan.toml")
    scene = scene_of(plan, sections_of(plan)[0], None)
    with mpl.rc_context(RC):
        width_mm = 190.0
        high_mm = picture_height_mm(scene, width_mm)
        figure = mpl.figure.Figure(figsize=(width_mm / 25.4, high_mm / 25.4))
        axes = figure.add_axes((0, 0, 1, 1))
        draw_section(axes, scene, width_mm)
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
    found = [t for t in axes.texts if t.get_text().strip()]
    assert min(t.get_fontsize() for t in found) >= SMALLEST_PT
    boxes = [t.get_window_extent(canvas.get_renderer()) for t in found]
    for index, box in enumerate(boxes):
        for other_index in range(index):
            other = boxes[other_index]
            wide = min(box.x1, other.x1) - max(box.x0, other.x0)
            high = min(box.y1, other.y1) - max(box.y0, other.y0)
            assert wide <= 0.5 or high <= 0.5, (
                found[index].get_text(), found[other_index].get_text()
            )  # fmt: skip


def test_plants_grow_to_the_day(tmp_path):
    """Wheat from 1 October to 5 July stands full after half of 277 days; soybean not yet sown."""
    shed = RELAY_SHED
    base = SHED.replace("[crops.soybean]", "[crops.soybean]\nsown = 2026-05-25")
    path = write_plan_for(tmp_path, square(1320), shed=base + shed, strips=RELAY)
    plan = read_plan(path)
    section = sections_of(plan)[0]
    assert scene_of(plan, section, date(2026, 5, 1)).height_m("wheat") == pytest.approx(1.0)
    assert scene_of(plan, section, date(2026, 5, 1)).height_m("soybean") == 0.0
    assert scene_of(plan, section, date(2026, 7, 5)).height_m("wheat") == 0.0
    # 35 of the 70 days to full height
    assert scene_of(plan, section, date(2026, 6, 29)).height_m("soybean") == pytest.approx(0.375)
    assert scene_of(plan, section, None).height_m("soybean") == 0.75


def test_a_relay_shows_rows_between_rows_and_wheels(tmp_path):
    scene, axes, _ = drawn(tmp_path, RELAY, RELAY_SHED)
    crowns = [patch for patch in axes.patches if isinstance(patch, Ellipse)]
    assert len(crowns) == len(scene.section.rows) == 24 + 22
    black = [p for p in axes.patches if isinstance(p, Rectangle) and p.get_facecolor()[0] == 0]
    # two wheels, for sowing wheat and for sowing soybean
    assert len(black) == 4
    assert black[0].get_width() == pytest.approx(16 * 0.0254)


def test_the_season_has_a_sheet_where_days_are_stated(tmp_path):
    base = SHED.replace("[crops.soybean]", "[crops.soybean]\nsown = 2026-05-25\n"
                        "harvested = 2026-09-25")  # fmt: skip
    layout = lay_on(tmp_path, square(1320), shed=base + RELAY_SHED, strips=RELAY)
    with mpl.rc_context(RC):
        pages = list(sheets(layout, printed=None, paper="letter"))
    words = [[t.get_text() for t in page.findobj(mpl.text.Text)] for page in pages]
    (season,) = [page for page in words if "The season" in page]
    assert {"wheat", "soybean"} <= set(season)
    assert any("platform runs over soybean" in text for text in season)
    bare = lay_on(tmp_path, square(1320))
    with mpl.rc_context(RC):
        titles = [
            t.get_text()
            for page in sheets(bare, printed=None, paper="letter")
            for t in page.findobj(mpl.text.Text)
        ]
    assert "The season" not in titles
