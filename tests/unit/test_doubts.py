"""What is hardly meant is told first: few strips, much headland, crops without a place."""

import json

import pytest
import shapely
from fields import FOOT_M, PLANE, SHED, STRIPS, lay_on, square, texts, write_plan_for

from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.notices import Notice
from striplay.tolerances import LARGE_FIELD_M2

NONE = '[headland]\nwhere = "none"\n'
OATS = SHED + '[crops.oats]\nplanter = "planter"\nrate = "1200000 seeds/acre"\n'


def told(layout, words):
    """Give the notices with some words, and whether one comes before all that is less grave."""
    found = [notice for notice in layout.notices if words in notice.text]
    if found:
        grave = [notice for notice in layout.notices if notice.severity == "stop"]
        assert layout.notices.index(found[0]) < len(grave) + 4
    return found


HEADLAND_79 = '[headland]\nwhere = "around"\nwidth = "79 ft"\n'


def test_a_field_mostly_without_strips_is_told(tmp_path):
    # 160 ft by 160 ft of 318 ft by 318 ft are just over a quarter
    over = lay_on(tmp_path, square(318), headland=HEADLAND_79)
    share = over.areas_m2["strips"] / over.ground.outline.area
    assert 0.25 < share < 0.26
    assert not told(over, "of the field is in strips")
    layout = lay_on(tmp_path, square(400))
    assert not told(layout, "of the field is in strips")
    (few,) = told(lay_on(tmp_path, square(300)), "of the field is in strips")
    assert few.severity == "mind"
    assert few.text.startswith("only 22% of the field is in strips, 0.45 ac of 2.07 ac: ")


def test_a_headland_over_two_fifths_is_told(tmp_path):
    # 80 ft all round a square of 710 ft take just under two fifths, of 700 ft just over
    assert not told(lay_on(tmp_path, square(712)), "the headland of 80 ft takes")
    (much,) = told(lay_on(tmp_path, square(706)), "the headland of 80 ft takes")
    assert "takes 40% of the field" in much.text


def test_a_crop_without_a_strip_is_told(tmp_path):
    assert not told(lay_on(tmp_path, square(1320)), "no strip of it")
    narrow = shapely.box(-200, -6, 200, 6)
    layout = lay_on(tmp_path, narrow, headland=NONE, direction="heading = 90")
    assert texts(told(layout, "no strip of it")) == [
        "soybean: no strip of it fits on the field, though the set holds one"
    ]


MIXED = '[mixtures.feed]\nplanter = "planter"\nparts = { oats = 0.5, soybean = 0.5 }\n'


@pytest.mark.parametrize(
    ("shed", "strips", "headland", "nowhere"),
    [
        (OATS, STRIPS, NONE, ["oats"]),
        (OATS, STRIPS, NONE.replace("none", "around") + 'width = "60 ft"\ncrop = "oats"\n', []),
        (OATS, STRIPS + '[[relay]]\ncrop = "oats"\ninto = "soybean"\n', NONE, []),
        (OATS, STRIPS, NONE + 'crop = "oats"\n', ["oats"]),
        (OATS + MIXED, STRIPS, NONE, ["feed"]),
        (OATS + MIXED, STRIPS.replace('"soybean"', '"feed"'), NONE, []),
    ],
)
def test_a_crop_of_the_plan_that_is_nowhere_is_told(tmp_path, shed, strips, headland, nowhere):
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=strips, headland=headland)
    found = texts(told(layout, "nowhere on the field"))
    assert [text.split(":")[0] for text in found] == nowhere


def test_a_headland_planted_to_a_mixture_holds_its_crops(tmp_path):
    headland = '[headland]\nwhere = "around"\nwidth = "60 ft"\ncrop = "feed"\n'
    layout = lay_on(tmp_path, square(1320), shed=OATS + MIXED, headland=headland)
    assert not told(layout, "nowhere on the field")


# --- the boundary ---------------------------------------------------------------------------------


def lay_features(folder, *shapes, head="", field=""):
    """Lay a plan on several features of one file."""
    path = write_plan_for(folder, shapes[0], headland=NONE, field=field)
    path.write_text(head + path.read_text())
    features = [
        {
            "type": "Feature",
            "properties": {"kind": "field"},
            "geometry": json.loads(shapely.to_geojson(PLANE.geometries_to_lonlat(shape))),
        }
        for shape in shapes
    ]
    content = {"type": "FeatureCollection", "features": features}
    (folder / "field.geojson").write_text(json.dumps(content))
    return lay(read_plan(path))


def test_several_features_taken_as_one_field_are_told_with_how_far_apart(tmp_path):
    parts = shapely.box(0, 0, 200, 300), shapely.box(230, 0, 400, 300), shapely.box(900, 0, 990, 99)
    (several,) = told(lay_features(tmp_path, *parts), "taken as one field")
    assert several.severity == "mind"
    assert several.text == (
        "field.geojson: 3 features are taken as one field, up to 1,640.4 ft apart; "
        "field.where chooses among them"
    )
    (beside,) = told(
        lay_features(tmp_path, parts[0], shapely.box(200, 0, 400, 300)), "taken as one field"
    )
    assert "2 features are taken as one field, side by side" in beside.text


def test_how_far_apart_is_in_the_plan_s_units_and_not_told_of_those_chosen(tmp_path):
    parts = shapely.box(0, 0, 200, 300), shapely.box(212, 0, 400, 300)
    (metric,) = told(lay_features(tmp_path, *parts, head='units = "metric"\n'), "taken as one")
    assert "2 features are taken as one field, up to 12 m apart;" in metric.text
    chosen = lay_features(tmp_path, *parts, field="where = \"kind = 'field'\"")
    assert chosen.ground.outline.area == pytest.approx(388 * 300, rel=1e-6)
    assert not told(chosen, "taken as one field")


def test_one_feature_in_several_parts_is_one(tmp_path):
    parts = shapely.MultiPolygon([shapely.box(0, 0, 200, 300), shapely.box(230, 0, 400, 300)])
    assert not told(lay_features(tmp_path, parts), "taken as one field")


def test_polygons_that_overlap_are_told_with_the_place(tmp_path):
    field = shapely.box(0, 0, 200, 300)
    layout = lay_features(tmp_path, field, shapely.box(190, 0, 400, 300))
    (over,) = told(layout, "overlap")
    assert over.text.startswith(
        "field.geojson: feature 1 and feature 2 overlap by 0.74 ac at -93.4"
    )
    assert over.place is not None
    assert layout.ground.outline.area == pytest.approx(400 * 300, rel=1e-6)
    # a hand's breadth of digitizing is none
    hair = lay_features(tmp_path, field, shapely.box(199.9, 0, 400, 300))
    assert not told(hair, "overlap")


def test_the_same_polygon_twice_overlaps(tmp_path):
    twice = lay_features(tmp_path, square(660), square(660))
    (over,) = told(twice, "overlap by")
    assert "10.00 ac" in over.text


def test_a_field_over_1000_acres_is_told(tmp_path):
    side_m = LARGE_FIELD_M2**0.5
    (large,) = told(lay_on(tmp_path, square((side_m + 2) / FOOT_M)), "more than most")
    assert large == Notice(
        "boundary",
        "mind",
        None,
        "field.geojson: the field has 1,001.99 ac, more than most; are its file, its "
        "crs and `where` right?",
    )
    assert not told(lay_on(tmp_path, square((side_m - 2) / FOOT_M)), "more than most")
