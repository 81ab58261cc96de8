"""What passes work: units on counted from the machine's left as driven, held to the drawing."""

import re

import numpy as np
import pytest
import shapely
from fields import AROUND, SAMPLES, SHED, lay_on, sample

from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.operations.under import ranges


def numbers(words, count):
    """Read unit numbers out of words such as "units 1-3, 7 on"."""
    words = words.partition(";")[0]
    if words.startswith("all "):
        return set(range(1, count + 1))
    assert " of " not in words
    found = set()
    for low, high in re.findall(r"(\d+)(?:-(\d+))?", words):
        found |= set(range(int(low), int(high or low) + 1))
    return found


def drawn_units(line, rows, width_m, count):
    """Count the units over rows at the middle of a pass, by where they are drawn on its left."""
    at, ahead = (line.interpolate(share, normalized=True) for share in (0.5, 0.501))
    way = np.array([ahead.x - at.x, ahead.y - at.y])
    way /= np.hypot(*way)
    left = np.array([-way[1], way[0]])
    here = np.array([at.x, at.y])
    across = shapely.LineString([here - left * width_m / 2, here + left * width_m / 2])
    met = shapely.intersection(rows, across)
    points = shapely.get_coordinates(met[~shapely.is_empty(met)])
    from_left_m = width_m / 2 - (points - here) @ left
    return set((np.floor(from_left_m / (width_m / count) + 1e-6) + 1).astype(int).tolist())


@pytest.mark.parametrize(
    ("name", "machine", "count"),
    [("pond_ell/plan", "planter", 12), ("pond_ell/quick_crop", "bed_seeder", 6),
     ("creek_side/relay", "row_seeder", 12), ("creek_side/plan", "planter", 8)],
)  # fmt: skip
def test_units_on_are_those_drawn_over_rows_from_the_left_as_driven(name, machine, count):
    layout = lay(read_plan(SAMPLES / f"{name}.toml"))
    passes = layout.passes
    mine = passes[(passes["operation"] == "plant") & (passes["machine"] == machine)]
    mine = mine[(mine["place"] == "strips") & mine["working"] & (mine["length_m"] > 100)]
    assert len(mine) > 20
    partly = more = 0
    for one in mine.itertuples():
        rows = layout.rows[layout.rows["crop"] == one.crop].geometry.to_numpy()
        near = rows[shapely.distance(rows, one.geometry.centroid) < one.width_m]
        drawn = drawn_units(one.geometry, near, one.width_m, count)
        told = numbers(one.rows_on, count)
        assert drawn <= told, (one.number, one.rows_on, drawn)
        partly += len(told) < count
        # more are on where rows under it begin or end elsewhere along the pass
        more += len(told) > len(drawn)
    assert more <= len(mine) / 10
    assert partly or name == "creek_side/plan"


def test_ground_under_planting_passes_is_the_crops():
    layout = sample("pond_ell")
    for route in layout.routes:
        if route.job.does == "plant":
            (crop,) = route.job.crops
            on_strips = route.place == "strips"
            area_m2 = layout.land_accounts["crops"][crop]["area_m2"]
            assert route.area_m2[on_strips].sum() == pytest.approx(area_m2, rel=5e-3)


def test_a_boom_has_the_sections_on_that_lie_over_its_crop(tmp_path):
    # strips of 20 ft under 12 sections of 10 ft: 120 ft of boom lie over three sets
    strips = "".join(f'[[strips]]\ncrop = "{crop}"\nrows = 8\n' for crop in ("corn", "soybean"))
    side_m = 6 * 36.576 / 2
    field = shapely.box(-side_m, -200, side_m, 200)
    layout = lay_on(tmp_path, field, headland="", strips=strips)
    sprayed = layout.passes[layout.passes["operation"] == "spray"]
    on = {crop: set(own["rows_on"]) for crop, own in sprayed.groupby("crop")}
    first, second = "sections 1-2, 5-6, 9-10 on", "sections 3-4, 7-8, 11-12 on"
    assert on == {"corn": {first, second}, "soybean": {first, second}}
    # corn is the first strip from the west: driven north the first sections are on
    for one in sprayed[sprayed["crop"] == "corn"].itertuples():
        assert one.rows_on == (first if one.starts == "south" else second)


def test_headland_passes_work_the_headland(tmp_path):
    layout = lay_on(tmp_path, shapely.box(0, 0, 400, 400), headland=AROUND)
    (route,) = (r for r in layout.routes if (r.job.does, r.job.crops) == ("plant", ("corn",)))
    edge = route.place == "headland"
    assert route.area_m2[edge].sum() == pytest.approx(layout.areas_m2["headland"], rel=1e-9)
    assert set(route.rows_on[edge]) == {"all units on"}


def test_ranges_of_numbers():
    assert ranges([3, 1, 2, 9]) == "1-3, 9"


NONE = '[headland]\nwhere = "none"\n'
BOOM = SHED.replace("sections = 12", "sections = 6")


def words_of(layout, job):
    (sheet,) = [one for one in layout.worksheets if one.name.startswith(job)]
    return sheet, sheet.rows_on.tolist()


@pytest.mark.parametrize("first", [0, 1])
def test_sections_off_for_a_part_of_the_way_are_told(tmp_path, first):
    """A boom of 120 ft over 80 ft of corn as long as the field and 40 ft half as long."""
    foot = 0.3048
    long, short = shapely.box(0, 0, 80 * foot, 2000 * foot), shapely.box(0, 0, 120 * foot, 300)
    field = shapely.union(long, short)
    if first:
        field = shapely.affinity.scale(field, yfact=-1, origin=(0, 0))
    corn = '[[strips]]\ncrop = "corn"\nrows = 16\n'
    layout = lay_on(tmp_path, field, shed=BOOM, strips=corn, headland=NONE)
    sheet, words = words_of(layout, "spray")
    half_ft, cut = 300 / foot, None
    for said in words:
        found = re.fullmatch(r"all sections on; sections ([\d-]+) only (to|from) ([\d,]+) ft", said)
        cut = found or cut
    assert cut, words
    north = abs(sheet.heading_deg[0]) < 90 or sheet.heading_deg[0] > 270
    # the short part lies east: on the right as driven north, and south of the long one's end
    assert cut[1] == ("5-6" if north else "1-2")
    at_start = north != bool(first)
    assert cut[2] == ("to" if at_start else "from")
    expected = half_ft if at_start else 2000 - half_ft
    assert float(cut[3].replace(",", "")) == pytest.approx(expected, abs=10)
    assert (
        sheet.rows_on.tolist()
        == layout.passes[layout.passes["operation"] == "spray"]["rows_on"].tolist()
    )


def test_a_stretch_off_shorter_than_the_machine_is_wide_is_not_told(tmp_path):
    layout = lay_on(tmp_path, shapely.affinity.skew(shapely.box(0, 0, 400, 400), 0, 20),
                    headland=NONE)  # fmt: skip
    for sheet in layout.worksheets:
        assert not [words for words in sheet.rows_on if ";" in words], sheet.name


def gaps_drawn_m(line, rows, width_m, count):
    """Give where some section has no row under it, between rows before and behind, (k, 2)."""
    gaps = []
    for part in range(count):
        middle = shapely.offset_curve(line, width_m * (0.5 - (part + 0.5) / count))
        swath = shapely.buffer(middle, width_m / count / 2 - 0.1, cap_style="flat")
        met = shapely.get_parts(shapely.intersection(rows, swath))
        met = met[~shapely.is_empty(met)]
        ends = shapely.points(shapely.get_coordinates(met)).reshape(-1, 2)
        at_m = np.sort(shapely.line_locate_point(line, ends), axis=1)
        covered = shapely.union_all(shapely.box(at_m[:, 0], 0, at_m[:, 1], 1))
        edges_m = shapely.bounds(shapely.get_parts(covered))[:, [0, 2]]
        edges_m = edges_m[np.argsort(edges_m[:, 0])]
        between_m = np.stack([edges_m[:-1, 1], edges_m[1:, 0]], axis=1)
        gaps.append(between_m[np.diff(between_m)[:, 0] > 4])
    return np.concatenate(gaps)


def test_sections_off_beside_a_round_pond_are_told_from_where_to_where(tmp_path):
    """A boom grazes a pond whose edge bends: rows end one after the other, none far from the next.

    From where to where is held to the drawing: ground under each section without a row.
    """
    pond = shapely.Point(230, 170).buffer(45)
    field = shapely.difference(shapely.box(0, 0, 460, 300), pond)
    layout = lay_on(tmp_path, field, direction="heading = 90")
    sprayed = layout.passes[layout.passes["operation"] == "spray"]
    by_turns = 0
    for one in sprayed[sprayed["length_m"] > 300].itertuples():
        if one.place != "strips":
            continue
        rows = layout.rows[layout.rows["crop"].isin(one.crop.split(" + "))].geometry.to_numpy()
        drawn_m = gaps_drawn_m(one.geometry, rows, one.width_m, 12)
        words = one.rows_on.partition(";")[2]
        told_m = [0.3048 * float(each.replace(",", ""))
                  for each in re.findall(r"(?:from|to) ([\d,]+) ft", words)]  # fmt: skip
        assert bool(told_m) == bool(len(drawn_m)), one.rows_on
        if told_m:
            assert [min(told_m), max(told_m)] == pytest.approx(
                [drawn_m.min(), drawn_m.max()], abs=3.5
            ), one.rows_on
        by_turns += "off one by one from" in words
    assert by_turns


@pytest.mark.parametrize("mirrored", [False, True])
def test_sections_over_the_headland_are_named(tmp_path, mirrored):
    """Two passes of 40 ft: of a boom of 120 ft in 12 sections the outer 8, by its side."""
    field = shapely.box(0, 0, 400, 500)
    field = shapely.affinity.scale(field, xfact=-1) if mirrored else field
    layout = lay_on(tmp_path, field)
    sheet, words = words_of(layout, "spray corn")
    around = [at for at, strips in enumerate(sheet.strips) if strips == "headland"]
    assert around
    for at in around:
        line = sheet.judged.route.line[at]
        # driven with the sun the boundary is on the left, and so are the outer sections
        left = not shapely.is_ccw(line)
        parts = "1-8" if left else "5-12"
        assert words[at] == f"sections {parts} on, over the headland"
