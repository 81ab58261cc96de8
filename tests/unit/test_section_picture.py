"""The picture across a set: to scale, exact, legible; and the season's bars."""

from datetime import date

import matplotlib as mpl
import pytest
from books import texts_of, told
from click.testing import CliRunner
from fields import NAMES, SAMPLES, SHED, lay_on, square, write_plan_for
from matplotlib.backends.backend_agg import FigureCanvasAgg
from pypdf import PdfReader

from striplay.cli import main
from striplay.files.plan import read_plan
from striplay.section.systems import sections_of
from striplay.sheets.appendix_sheets import appendix_story
from striplay.sheets.section_axes import our_look, pen_on
from striplay.sheets.section_machines import NAME_ROOM_MM, lanes_of
from striplay.sheets.section_picture import LEFT_MM, Picture, draw_section, wide_mm
from striplay.sheets.section_plants import silhouette
from striplay.sheets.section_scene import scene_of
from striplay.sheets.style import SMALLEST_PT

RELAY_SHED = """
[machines.drill]
does = "plant"
width = "30 ft"
spacing = "7.5 in"
tread = "120 in"
tire = "16 in"
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


def pictured(plan, day=None, width_mm=190.0):
    picture = Picture(scene_of(plan, sections_of(plan)[0], day, south=False), width_mm)
    with our_look():
        figure = mpl.figure.Figure(figsize=(width_mm / 25.4, picture.height_mm / 25.4))
        axes = figure.add_axes((0, 0, 1, 1))
        draw_section(pen_on(axes, picture), picture)
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
    return picture, axes, canvas


def drawn(folder, strips, shed="", day=None, base=SHED):
    path = write_plan_for(folder, square(1320), shed=base + shed, strips=strips)
    return pictured(read_plan(path), day, 260.0)


def plants_of(axes):
    return [patch for patch in axes.patches if (patch.get_gid() or "").startswith("plant")]


def boxes_of(axes):
    """Give what is drawn of machines."""
    return [p for p in axes.patches if len(p.get_path()) == 5]


def words_of(axes):
    return [text.get_text() for text in axes.texts]


def said(picture):
    return " ".join(picture.caption)


def dashes_of(axes, pattern):
    """Give where lines of a dash pattern stand: x, in order."""
    found = [line for line in axes.lines if line._unscaled_dash_pattern[1] == pattern]
    return sorted(line.get_xdata()[0] for line in found)


GUESS = (4, 2.2)


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


CORN_SOYBEAN = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 48\n'


def test_it_is_to_scale_and_exact(tmp_path):
    _, axes, _ = drawn(tmp_path, CORN_SOYBEAN)
    boxes = [plant.get_path().get_extents() for plant in plants_of(axes)]
    assert len(boxes) == 64
    middles = sorted((box.x0 + box.x1) / 2 for box in boxes)
    assert middles[:2] == pytest.approx([0.381, 1.143], abs=0.02)
    assert [box.y0 for box in boxes] == pytest.approx([0.0] * 64, abs=1e-9)
    # FAO-56: corn 2.0 m, soybean 0.75 m
    assert sorted(box.y1 for box in boxes) == pytest.approx([0.75] * 48 + [2.0] * 16)
    here, there = axes.transData.transform([(0, 0), (1, 1)])
    assert there[0] - here[0] == pytest.approx(there[1] - here[1], rel=1e-6)
    assert {"2 ft", "4 ft", "6 ft"} <= set(words_of(axes))


@pytest.mark.parametrize("habit", ["tall", "grain", "bush", "round"])
def test_silhouettes_reach_their_height_and_width(habit):
    rings = silhouette(habit)
    assert max(ring[:, 1].max() for ring in rings) == pytest.approx(1.0)
    assert max(abs(ring[:, 0]).max() for ring in rings) == pytest.approx(0.5)
    assert min(ring[:, 1].min() for ring in rings) == pytest.approx(0.0, abs=1e-9)


def boom_over(folder, rows, boom, sections):
    """Draw strips of corn and soybean under a boom, and give its lane's boxes."""
    strips = "".join(f'[[strips]]\ncrop = "{crop}"\nrows = {rows}\n' for crop in TWO)
    shed = SHED.replace('width = "120 ft"\nsections = 12', f"{boom}\nsections = {sections}")
    picture, _, _ = drawn(folder, strips, base=shed)
    return picture, lanes_of(picture.scene)[-1].boxes


TWO = ("corn", "soybean")


def test_a_boom_is_drawn_whole_and_centered_with_every_section(tmp_path):
    """Strip by strip, a boom of 90 ft over 60: in sections of 15 ft; in sections of 18."""
    foot = 0.3048
    picture, (box, other) = boom_over(tmp_path, 24, 'width = "90 ft"', 6)
    assert "Arrow: a pass runs on beyond the set." in said(picture)
    assert (box.low_m / foot, box.high_m / foot) == pytest.approx((-15, 75))
    assert (other.low_m / foot, other.high_m / foot) == pytest.approx((45, 135))
    assert [part.state for part in box.parts] == ["off", *["on"] * 4, "off"]
    assert [part.low_m / foot for part in box.parts] == pytest.approx(range(-15, 75, 15))
    _, (box, _) = boom_over(tmp_path, 24, 'width = "90 ft"', 5)
    assert [part.state for part in box.parts] == ["edge", "on", "on", "on", "edge"]


def test_a_boom_over_several_strips_is_one_pass_an_operation(tmp_path):
    """120 ft over strips of 40 ft, each sprayed alone; two of 8 sections lie over borders."""
    foot = 0.3048
    for sections, corn in ((12, "++++----++++"), (8, "++e--e++")):
        picture, (box,) = boom_over(tmp_path, 16, 'width = "120 ft"', sections)
        assert "Arrow: a pass runs on beyond the set." in said(picture)
        assert "white are shut off" in said(picture)
        lanes = {lane.name: lane.boxes for lane in picture.lanes if "sprays" in lane.name}
        assert list(lanes) == ["sprayer sprays corn", "sprayer sprays soybean"]
        states = {}
        for name, (box,) in lanes.items():
            assert (box.low_m / foot, box.high_m / foot) == pytest.approx((0, 120))
            states[name] = "".join({"on": "+", "off": "-", "edge": "e"}[part.state]
                                   for part in box.parts)  # fmt: skip
        other = corn.translate(str.maketrans("+-", "-+"))
        assert list(states.values()) == [corn, other]


def test_passes_that_overlap_lie_above_one_another(tmp_path):
    picture, axes, _ = drawn(tmp_path, CORN_SOYBEAN)
    names = [lane.name for lane in picture.lanes]
    assert names == [
        "planter plants corn, soybean", "corn_head harvests corn", "platform harvests soybean",
        "sprayer sprays corn, soybean",
    ]  # fmt: skip
    assert [lane.levels for lane in picture.lanes] == [1, 1, 1, 2]
    assert [len(lane.boxes) for lane in picture.lanes] == [4, 2, 4, 2]
    first, last = -1.5 * picture.mm, picture.scene.section.width_m + 1.5 * picture.mm
    boxes = [box.get_path().get_extents() for box in boxes_of(axes)]
    assert len(boxes) > 12
    assert all(first - 1e-9 <= box.x0 <= box.x1 <= last + 1e-9 for box in boxes)


def test_guess_rows_are_where_passes_meet_and_say_their_gap(tmp_path):
    _, axes, _ = drawn(tmp_path, CORN_SOYBEAN)
    foot = 0.3048
    assert dashes_of(axes, GUESS) == pytest.approx(
        [0, 40 * foot, 80 * foot, 120 * foot, 160 * foot]
    )
    assert words_of(axes).count("30 in") == 5


def test_a_row_set_shows_borders_within_its_passes(tmp_path):
    """4 corn, 8 soybean, 4 corn: passes meet in the middle of 8 corn rows, strips twice a pass."""
    units = '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 8 soybean, 4 corn"\n'
    picture, _, _ = drawn(tmp_path, units)
    marks = [(round(edge.at_m / 0.762, 6), edge.mark) for edge in picture.edges]
    assert marks == [(0, "border"), (4, "guess"), (8, "border"), (16, "border")]
    told = said(picture)
    assert "Dashed: guess rows" in told
    assert "Dotted: strips' borders within a pass" in told
    told = said(drawn(tmp_path, CORN_SOYBEAN)[0])
    assert "Dotted" not in told
    assert "wheels" not in told


def test_empty_units_make_wider_gaps(tmp_path):
    units = (
        '[[row_set]]\nplanter = "planter"\nunits = "1 empty, 6 corn, 2 empty, 6 soybean, 1 empty"\n'
    )
    _, axes, _ = drawn(tmp_path, units)
    assert words_of(axes).count("90 in") == 5
    assert "corn, 12 rows, 30 in and 90 in apart, 40 ft" in words_of(axes)


def test_twin_rows_are_said_as_they_stand(tmp_path):
    _, axes, _ = drawn(tmp_path, RELAY, RELAY_SHED)
    assert "wheat, 24 rows, 8 in and 22 in apart, 30 ft" in words_of(axes)


def test_a_drill_without_openers_claims_no_rows(tmp_path):
    shed = (
        '[machines.tool]\ndoes = "plant"\nwidth = "20 ft"\n[crops.rye]\nplanter = "tool"\n'
        'harvester = "platform"\n'
    )
    picture, axes, _ = drawn(tmp_path, '[[strips]]\ncrop = "rye"\nwidth = "40 ft"\n', shed)
    assert "rye, drilled, 40 ft" in words_of(axes)
    assert not [word for word in words_of(axes) if word.endswith(" in") or word.isdigit()]
    assert "their rows are nominal" in said(picture)


SINGLE = ", ".join(["1 corn, 1 soybean"] * 8)
CASES = {
    "single rows": (f'[[row_set]]\nplanter = "planter"\nunits = "{SINGLE}"\n', ""),
    "relay": (RELAY, RELAY_SHED),
    "wide": (
        '[[strips]]\ncrop = "wheat"\nwidth = "180 ft"\n[[strips]]\ncrop = "corn"\nrows = 8\n',
        RELAY_SHED,
    ),
    "narrow and tall": ('[[strips]]\ncrop = "corn"\nrows = 5\n', ""),
    "two crops between": (
        RELAY + RELAY[RELAY.index("[[relay]]") :].replace("soybean", "corn"), RELAY_SHED
    ),
}  # fmt: skip


def assert_legible(axes, canvas, figure_box):
    found = [t for t in axes.texts if t.get_text().strip()]
    assert min(t.get_fontsize() for t in found) >= SMALLEST_PT
    boxes = [t.get_window_extent(canvas.get_renderer()) for t in found]
    for index, box in enumerate(boxes):
        said = found[index].get_text()
        assert figure_box.x0 <= box.x0 <= box.x1 <= figure_box.x1, said
        assert figure_box.y0 <= box.y0 <= box.y1 <= figure_box.y1, said
        for other_index in range(index):
            other = boxes[other_index]
            wide = min(box.x1, other.x1) - max(box.x0, other.x0)
            high = min(box.y1, other.y1) - max(box.y0, other.y0)
            assert wide <= 0.5 or high <= 0.5, (said, found[other_index].get_text())


@pytest.mark.parametrize("name", NAMES)
def test_numbers_and_words_never_overlap(name):
    _, axes, canvas = pictured(read_plan(SAMPLES / name / "plan.toml"))
    assert_legible(axes, canvas, axes.figure.bbox)


@pytest.mark.parametrize("width_mm", [186.0, 260.0])
@pytest.mark.parametrize("case", CASES)
def test_words_of_every_system_are_legible(tmp_path, case, width_mm):
    strips, shed = CASES[case]
    base = SHED
    if case == "narrow and tall":
        base = SHED.replace("rows = 16", "rows = 5").replace(
            "[crops.corn]", '[crops.corn]\nheight = "11.5 ft"'
        )
    if case == "wide":
        base = SHED.replace("rows = 16", "rows = 8")
    path = write_plan_for(tmp_path, square(1320), shed=base + shed, strips=strips)
    picture, axes, canvas = pictured(read_plan(path), None, width_mm)
    assert_legible(axes, canvas, axes.figure.bbox)
    assert picture.plants_mm <= 100 + 1e-9
    low, high = axes.get_xlim()
    assert (high - low) / picture.mm == pytest.approx(width_mm)
    assert low == pytest.approx(-LEFT_MM * picture.mm)


SOUTHERN = SHED.replace(
    "[crops.soybean]\n",
    '[crops.wheat]\nplanter = "planter"\nharvester = "platform"\nsown = 2026-05-20\n'
    "harvested = 2026-12-15\n[crops.soybean]\n",
)
WHEAT = '[[strips]]\ncrop = "wheat"\nrows = 16\n'


def test_plants_on_a_day_grow_as_in_their_hemisphere(tmp_path):
    """Wheat from 20 May to 15 December stands over midwinter in the south: a tenth to spring."""
    path = write_plan_for(tmp_path, square(1320), shed=SOUTHERN, strips=WHEAT)
    plan, day = read_plan(path), date(2026, 9, 20)
    section = sections_of(plan)[0]
    assert scene_of(plan, section, day, south=True).height_m("wheat") == pytest.approx(0.1)
    assert scene_of(plan, section, day, south=False).height_m("wheat") == pytest.approx(1.0)


def page_of(path):
    """Give the words of a picture that is written as PDF."""
    (page,) = PdfReader(path).pages
    return " ".join(page.extract_text().split())


def test_the_command_takes_the_hemisphere_from_the_boundary_or_says_which(tmp_path):
    path = write_plan_for(tmp_path, square(1320), shed=SOUTHERN, strips=WHEAT)
    field, picture = tmp_path / "field.geojson", tmp_path / "section.pdf"
    assumed = "growth assumed as north of the equator, since no boundary says where the field lies"
    north = field.read_text()
    for text, high, said in (
        (north, "wheat, 3.3 ft high", False),
        (north.replace(", 4", ", -4"), "wheat, 0.3 ft high", False),
        (None, "wheat, 3.3 ft high", True),
    ):
        field.unlink() if text is None else field.write_text(text)
        done = run(path, "-o", picture, "--day", "2026-09-20")
        assert done.exit_code == 0, done.output
        words = page_of(picture)
        assert high in words
        assert (assumed in words) is said
    run(path, "-o", picture)
    assert "equator" not in page_of(picture)


def test_the_command_tells_which_set_was_taken(tmp_path):
    strips = "".join(f'[[strips]]\ncrop = "{one}"\nrows = "fit"\n' for one in ("corn", "soybean"))
    path = write_plan_for(tmp_path, square(1320), strips=strips)
    done = run(path, "-o", tmp_path / "section.svg")
    assert 'rows = "fit" took corn ' in done.output


def test_plants_grow_to_the_day(tmp_path):
    """Wheat from 1 October to 5 July is a winter crop: of 107 days from 20 March, 45 % are 48."""
    shed = RELAY_SHED
    base = SHED.replace("[crops.soybean]", "[crops.soybean]\nsown = 2026-05-25")
    path = write_plan_for(tmp_path, square(1320), shed=base + shed, strips=RELAY)
    plan = read_plan(path)
    section = sections_of(plan)[0]
    assert scene_of(plan, section, date(2026, 1, 15)).height_m("wheat") == pytest.approx(0.1)
    assert scene_of(plan, section, date(2026, 5, 8)).height_m("wheat") == pytest.approx(1.0)
    assert scene_of(plan, section, date(2026, 5, 8)).height_m("soybean") == 0.0
    assert scene_of(plan, section, date(2026, 7, 5)).height_m("wheat") == 0.0
    # 34 of 140 days: t = (0.2429 - 0.03) / 0.42 = 0.5068, 3t^2 - 2t^3 = 0.5102 of 0.75 m
    day = date(2026, 6, 28)
    assert scene_of(plan, section, day).height_m("soybean") == pytest.approx(0.38265, abs=1e-5)
    assert scene_of(plan, section, None).height_m("soybean") == 0.75
    picture, _, _ = pictured(plan, day)
    assert picture.caption[0].endswith("plants as on 2026-06-28, growth assumed.")
    assert "Ring" not in said(picture)
    assert pictured(plan)[0].caption[0].endswith("plants at full height.")
    # 2 of 140 days: sown, and not up; its rings are told of
    soon = pictured(plan, date(2026, 5, 27))[0]
    assert soon.scene.state("soybean") == "not up"
    assert "Ring at the ground: a row not yet up." in said(soon)


def test_what_is_no_day_is_refused_in_words(tmp_path):
    plan, path = SAMPLES / "quarter_section" / "plan.toml", tmp_path / "section.svg"
    result = run(plan, "-o", path, "--day", "2026-02-30")
    assert result.exit_code == 2
    assert result.stderr.endswith(
        "'--day': 2026-02-30 is no day; write year-month-day, such as 2026-06-15\n"
    )
    assert not path.exists()


def test_a_relay_shows_rows_between_rows_and_wheels(tmp_path):
    picture, axes, _ = drawn(tmp_path, RELAY, RELAY_SHED)
    plants = plants_of(axes)
    assert len(plants) == len(picture.scene.section.rows) == 24 + 24
    assert sum(bool(plant.get_hatch()) for plant in plants) == 24
    black = [box for box in boxes_of(axes) if box.get_facecolor()[0] == 0]
    # two wheels, for sowing wheat and for sowing soybean on the same tracks, and for both together
    assert len(black) == 6
    assert black[0].get_path().get_extents().width == pytest.approx(16 * 0.0254)
    assert "drill plants soybean" in [lane.name for lane in picture.lanes]
    # two rows in a skip of 22 in: a third of it, 7.3 in, from the host's row
    said = "soybean between wheat, 2.5 ft high: 24 rows a strip, 7.3 in from the nearest row"
    assert said in words_of(axes)
    assert "7.3 in" in words_of(axes)


TRAMLINES = RELAY + 'tramlines = "sprayer"\n'
TIRES = SHED.replace('does = "spray"', 'does = "spray"\ntread = "120 in"\ntire = "14 in"')


def test_tramlines_are_marked_where_rows_are_left_out(tmp_path):
    whole, axes, _ = drawn(tmp_path, RELAY, RELAY_SHED, base=TIRES)
    assert whole.scene.section.tramlines_m == ()
    assert crosses(axes) == []
    assert "tramline" not in " ".join(words_of(axes))
    picture, axes, _ = drawn(tmp_path, TRAMLINES, RELAY_SHED, base=TIRES)
    between = [{row.offset_m for row in one.scene.section.rows if row.layer}
               for one in (whole, picture)]  # fmt: skip
    missing = sorted(between[0] - between[1])
    assert missing
    assert picture.scene.section.tramlines_m == pytest.approx(missing)
    # a boom over four strips of 360 in runs amid them, 4 in aside for its wheels to run 8 in clear
    # of rows 4 and 12 in from each 30: at 656 and 776 in
    wheels_m = [at % 360 * 0.0254 for at in (656, 776)]
    reach_m = (8 + 0.01) * 0.0254
    assert all(min(abs(at - wheel) for wheel in wheels_m) <= reach_m for at in missing)
    assert picture.scene.section.tramlines[0].middles_m == pytest.approx([716 * 0.0254])
    # a cross a row, then the key's
    assert sorted(crosses(axes)[:-1]) == pytest.approx(missing)
    assert "tramline: a row left out for wheels of sprayer" in words_of(axes)


def crosses(axes):
    return [line.get_xdata()[0] for line in axes.lines if line.get_marker() == "x"]


def test_lanes_names_are_cut_where_crops_are_many(tmp_path):
    names = [f"a_crop_of_a_very_long_name_{number}" for number in range(6)]
    shed = "".join(f'[crops.{name}]\nplanter = "planter"\n' for name in names)
    strips = "".join(f'[[strips]]\ncrop = "{name}"\nrows = 16\n' for name in names)
    picture, _, _ = drawn(tmp_path, strips, shed)
    name = picture.lanes[0].name
    assert name.startswith("planter plants a_crop_of_a_very_long_name_0, a_crop")
    assert name.endswith("…")
    assert wide_mm(name) <= NAME_ROOM_MM


def test_rows_before_sowing_and_after_harvest_are_marked(tmp_path):
    base = SHED.replace("[crops.soybean]", "[crops.soybean]\nsown = 2026-05-25")
    picture, axes, _ = drawn(tmp_path, RELAY, RELAY_SHED, date(2026, 5, 1), base)
    assert [bool(plant.get_hatch()) for plant in plants_of(axes)] == [False] * 24
    assert "Ring at the ground: a row not yet sown." in said(picture)
    picture, axes, _ = drawn(tmp_path, RELAY, RELAY_SHED, date(2026, 7, 20), base)
    assert [bool(plant.get_hatch()) for plant in plants_of(axes)] == [True] * 24
    told = said(picture)
    assert "Short stroke: a row harvested." in told
    assert "Ring" not in told


def test_section_tells_notices_as_lay_does(tmp_path):
    units = '[[row_set]]\nplanter = "planter"\nunits = "6 corn, 4 soybean, 6 corn"\n'
    path = write_plan_for(tmp_path, square(1320), strips=units)
    result = run(path, "-o", tmp_path / "section.svg")
    assert result.exit_code == 0
    lines = result.stderr.splitlines()
    assert lines[0].startswith("note: row set, back and forth: strips of 12 rows of corn")
    assert len(lines) == len(sections_of(read_plan(path))[0].notices)


def test_the_season_has_a_sheet_where_days_are_stated(tmp_path):
    base = SHED.replace("[crops.soybean]", "[crops.soybean]\nsown = 2026-05-25\n"
                        "harvested = 2026-09-25")  # fmt: skip
    layout = lay_on(tmp_path, square(1320), shed=base + RELAY_SHED, strips=RELAY)
    words = " ".join(texts_of(told(tmp_path, layout, appendix_story)))
    assert "The season" in words
    assert "wheat" in words
    assert "platform would run over soybean" in words
    bare = lay_on(tmp_path, square(1320))
    assert "The season" not in texts_of(told(tmp_path, bare, appendix_story))


def test_a_crop_with_days_but_no_strip_needs_no_season_sheet(tmp_path):
    layout = lay_on(tmp_path, square(1320), shed=SHED + RELAY_SHED)
    words = texts_of(told(tmp_path, layout, appendix_story))
    assert "Cautions" in words
    assert "The season" not in words


def test_wheels_of_all_machines_together_are_one_lane_nearest_the_ground(tmp_path):
    wheels = '[machines.{0}]\ntread = "120 in"\ntire = "18 in"\n'
    shed = SHED
    for name in ("planter", "platform"):
        shed = shed.replace(f"[machines.{name}]\n", wheels.format(name))
    strips = '[[strips]]\ncrop = "soybean"\nrows = 16\n'
    plan = read_plan(write_plan_for(tmp_path, square(1320), shed=shed, strips=strips))
    lanes = lanes_of(scene_of(plan, sections_of(plan)[0], None))
    (box,) = lanes[0].boxes
    # a planter pass midway, and two of the platform, 5 ft either side of it: 18 in each of 40 ft
    assert lanes[0].name == "known wheels together, on 19 % of the ground"
    assert not box.outlined
    middles = [round((low + wide / 2) / 0.3048, 3) for low, wide in box.wheels]
    assert middles == [10, 15, 20, 25, 30]
    plan = read_plan(write_plan_for(tmp_path, square(1320), strips=strips))
    lanes = lanes_of(scene_of(plan, sections_of(plan)[0], None))
    assert all(one.outlined for lane in lanes for one in lane.boxes)
