"""Check sun, degree days and the crop table against published values and another library."""

import math
from datetime import UTC, date, datetime, timedelta

import astral
import astral.sun
import pytest

from striplay.files.crop_table import crop_table
from striplay.season.degree_days import Weather, add_up, degree_days_f, gaps_in
from striplay.season.growth import height_share
from striplay.season.sun import (
    _suns,
    declination_rad,
    midsummer,
    shade_sides,
    sun_at,
)

# --- sun ------------------------------------------------------------------------------------------


def test_the_worked_example_of_fao_56():
    """FAO-56, example 8, from memory: 3 September, 20 S: declination 0.120, sunset 1.527 rad."""
    day = date(2026, 9, 3)
    assert declination_rad(day) == pytest.approx(0.120, abs=0.0005)
    # 1.527 rad of hour angle after noon the sun stands on the horizon, to what 0.0005 rad make
    elevation, _ = sun_at(-20, day, 12 + 12 / math.pi * 1.527)
    assert elevation == pytest.approx(0.0, abs=math.degrees(0.0005))


@pytest.mark.parametrize(
    ("latitude", "day", "elevation"),
    [
        # noon: 90 - latitude + declination, arithmetic; obliquity 23.44 degrees
        (42.0, date(2026, 6, 21), 90 - 42 + 23.44),
        (42.0, date(2026, 12, 21), 90 - 42 - 23.44),
        (0.0, date(2026, 3, 21), 90.0),
        (-35.0, date(2026, 12, 21), 90 - 35 + 23.44),
    ],
)
def test_noon(latitude, day, elevation):
    found, azimuth = sun_at(latitude, day, 12.0)
    assert found == pytest.approx(elevation, abs=0.7)
    if latitude > 30:
        assert azimuth == pytest.approx(180, abs=1e-6)


@pytest.mark.parametrize("hours", [-5, -3, -1, 0, 2, 4, 6])
@pytest.mark.parametrize(("latitude", "day"), [(42.0, date(2026, 7, 1)), (-33.0, date(2026, 1, 9))])
def test_elevation_and_azimuth_agree_with_astral(latitude, day, hours):
    """The astral library, which goes by the equations of Meeus and NOAA."""
    place = astral.Observer(latitude, 0.0)
    noon = astral.sun.noon(place, day, tzinfo=UTC)
    moment = noon + timedelta(hours=hours)
    elevation, azimuth = sun_at(latitude, day, 12.0 + hours)
    assert elevation == pytest.approx(
        astral.sun.elevation(place, moment, with_refraction=False), abs=0.6
    )
    apart = (azimuth - astral.sun.azimuth(place, moment) + 180) % 360 - 180
    assert abs(apart) < 1.2
    assert isinstance(noon, datetime)


@pytest.mark.parametrize(("heading", "share"), [(0.0, 1.0), (30.0, math.cos(math.radians(30)))])
def test_shadows_by_hand(monkeypatch, heading, share):
    """A sun in the east, 45 degrees up: a crop's shadow is as long as the crop is taller."""
    monkeypatch.setattr("striplay.season.sun.sun_at", lambda *_: (45.0, 90.0))
    sides = shade_sides([1.25], heading, 1.0, [date(2026, 7, 1)])  # a latitude of no other test
    assert sides.right_share == 0.0
    assert sides.left_m == sides.mean_m == pytest.approx(1.25 * share)
    _suns.cache_clear()


def test_rows_north_and_south_throw_more_shade_across_in_summer():
    day = date(2026, 7, 1)
    along, across = (shade_sides([1.0], heading, 42.0, [day]) for heading in (0.0, 90.0))
    assert along.mean_m > 2 * across.mean_m


@pytest.mark.parametrize("latitude", [42.0, 5.0, -33.0])
def test_rows_north_and_south_give_each_side_half_the_day(latitude):
    """The sun's path is the same before noon and after it, mirrored (spherical astronomy)."""
    season = [date(2026, 4, 1) + timedelta(days=7 * n) for n in range(20)]
    sides = shade_sides([1.0] * len(season), 0.0, latitude, season)
    assert sides.right_share == pytest.approx(0.5)
    assert sides.right_m == pytest.approx(sides.left_m)


def test_rows_east_and_west_shade_the_side_away_from_the_equator():
    """North of the tropic noon's shadow points north; at equal nights so does all the day's."""
    equal = shade_sides([1.0], 90.0, 42.0, [date(2026, 9, 20)])  # by FAO-56
    assert 1 - equal.right_share == pytest.approx(1.0, abs=0.02)  # left of east is north
    # then the shadow's tip runs along a straight line, latitude's tangent north of the crop
    assert equal.left_m == pytest.approx(math.tan(math.radians(42.0)), rel=0.01)
    south = shade_sides([1.0], 90.0, -33.0, [date(2026, 12, 21)])
    assert south.right_share > 0.6


@pytest.mark.parametrize(("latitude", "heading"), [(42.0, 0.0), (42.0, 90.0), (-33.0, 70.0)])
def test_sides_over_a_season_agree_with_astral(latitude, heading):
    """The same sums over the sun of the astral library (Meeus and NOAA), hour by hour."""
    season = [date(2026, 5, 11), date(2026, 6, 20), date(2026, 8, 1), date(2026, 9, 20)]
    taller_m = [0.3, 0.9, 1.2, 1.1]
    place, right, left = astral.Observer(latitude, 0.0), [], []
    for day, by_m in zip(season, taller_m, strict=True):
        noon = astral.sun.noon(place, day, tzinfo=UTC)
        for quarter in range(-40, 40):
            moment = noon + timedelta(minutes=15 * quarter + 7.5)
            up = math.radians(astral.sun.elevation(place, moment, with_refraction=False))
            if up < math.radians(5.0):
                continue
            from_heading = math.radians(astral.sun.azimuth(place, moment) + 180 - heading)
            reach_m = by_m / math.tan(up) * math.sin(from_heading)
            (right if reach_m > 0 else left).append((math.sin(up), abs(reach_m)))
    light = [sum(each for each, _ in side) for side in (right, left)]
    means = [sum(w * m for w, m in side) / sum(w for w, _ in side) for side in (right, left)]
    found = shade_sides(taller_m, heading, latitude, season)
    assert found.right_share == pytest.approx(light[0] / sum(light), abs=0.015)
    # FAO-56's declination is within a degree of theirs, most off at equal nights
    assert found.right_m == pytest.approx(means[0], abs=0.04)
    assert found.left_m == pytest.approx(means[1], abs=0.04)


def test_a_sun_that_stays_low_is_not_judged():
    """Noon at 66 N at midwinter: 90 - 66 - 23.44 = 0.6 degrees, arithmetic."""
    assert shade_sides([1.0], 0.0, 66.0, [date(2026, 12, 21)]) is None
    assert shade_sides([1.0], 0.0, 66.0, [date(2026, 6, 21)]).mean_m < 10


def test_high_summer_comes_after_the_day_asked_from():
    assert midsummer(42.0, date(2026, 7, 1)) == date(2026, 7, 1)
    assert midsummer(42.0, date(2026, 7, 2)) == date(2027, 7, 1)
    assert midsummer(-33.0, date(2025, 10, 1)) == date(2026, 1, 1)


# --- degree days ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("least", "greatest", "found"),
    [
        (56, 82, 19),  # from memory: Univ. of Minnesota Extension
        (48, 90, 18),  # arithmetic: 50 and 86
        (50, 86, 18),
        (40, 48, 0),  # all below the base
        (70, 95, 28),  # (86 + 70) / 2 - 50
        (88, 95, 36),  # all above the top
        (60, 60, 10),
    ],
)
def test_degree_days(least, greatest, found):
    assert degree_days_f(least, greatest) == pytest.approx(found)


def test_a_day_is_reached_when_the_sum_is():
    weather = [Weather(date(2026, 5, n), 10.0, 20.0) for n in range(1, 21)]
    # 5 a day from the third on
    assert add_up(weather, date(2026, 5, 3), 25.0).reached == date(2026, 5, 7)
    assert add_up(weather, date(2026, 5, 3), 5.0).reached == date(2026, 5, 3)
    never = add_up(weather, date(2026, 5, 3), 1e6)
    assert (never.total_c, never.until, never.reached) == (18 * 5.0, date(2026, 5, 20), None)
    assert gaps_in([*weather[:4], *weather[6:]]) == [date(2026, 5, 4)]
    assert gaps_in(weather) == []


# --- crops: R. G. Allen, L. S. Pereira, D. Raes, M. Smith, Crop evapotranspiration: guidelines for
# computing crop water requirements, FAO Irrigation and Drainage Paper 56, FAO, Rome 1998, tables
# 11, 12 and 22, read from a transcription that averages ranges of height -------------------------


@pytest.mark.parametrize(
    ("crop", "height_m", "root_m", "season_days"),
    [
        ("corn", 2.0, (1.0, 1.7), (150, 170)),
        ("sweet_corn", 1.5, (0.8, 1.2), (80, 110)),
        ("winter_wheat", 1.0, (1.5, 1.8), (240, 335)),
        ("spring_wheat", 1.0, (1.0, 1.5), (135, 135)),
        ("oats", 1.0, (1.0, 1.5), (135, 135)),
        ("barley", 1.0, (1.0, 1.5), (135, 135)),
        ("sorghum", 1.5, (1.0, 2.0), (130, 140)),
        ("millet", 1.5, (1.0, 2.0), (140, 140)),
        ("sunflower", 2.0, (0.8, 1.5), (130, 130)),
        ("canola", 0.6, (1.0, 1.5), None),
        ("flax", 1.2, (1.0, 1.5), (150, 150)),
        ("safflower", 0.8, (1.0, 2.0), (125, 145)),
        ("cotton", 1.35, (1.0, 1.7), (180, 195)),
        ("alfalfa", 0.7, (1.0, 2.0), None),
        ("soybean", 0.75, (0.6, 1.3), (140, 140)),
        ("dry_bean", 0.4, (0.6, 0.9), (100, 110)),
        ("field_pea", 0.5, (0.6, 1.0), (90, 110)),
        ("faba_bean", 0.8, (0.5, 0.7), (235, 235)),
        ("lentil", 0.5, (0.6, 0.8), (150, 150)),
        ("chickpea", 0.4, (0.6, 1.0), None),
        ("groundnut", 0.4, (0.5, 1.0), (130, 140)),
        ("cowpea", 0.4, (0.6, 1.0), (110, 110)),
        ("potato", 0.6, (0.4, 0.6), (130, 165)),
        ("sugar_beet", 0.5, (0.7, 1.2), None),
        ("winter_squash", 0.4, (1.0, 1.5), (100, 120)),
        ("red_clover", 0.6, (0.6, 0.9), None),
    ],
)
def test_heights_roots_and_seasons(crop, height_m, root_m, season_days):
    facts = crop_table()[crop]
    assert facts.height_m == height_m
    assert facts.root_m == root_m
    assert facts.season_days == season_days
    assert facts.source("height_m").startswith("FAO-56")


@pytest.mark.parametrize(
    ("crop", "family", "season_days"),
    [("lettuce", "sunflower family", (75, 140)), ("radish", "brassicas", (35, 40))],
)
def test_garden_crops_are_from_memory(crop, family, season_days):
    """No source: every figure from memory, and said so."""
    facts = crop_table()[crop]
    assert (facts.family, facts.season_days) == (family, season_days)
    assert (facts.height_m, facts.root_m) == (0.3, (0.3, 0.5))
    assert {facts.source(key) for key in ("family", "height_m", "root_m", "season_days")} == {
        "from memory"
    }


# --- growth: our choice, worked by hand from 3t^2 - 2t^3 ------------------------------------------

SPRING_SOWN = (date(2026, 5, 1), date(2026, 8, 9))  # 100 days
AUTUMN_SOWN = (date(2025, 10, 5), date(2026, 7, 8))  # 276 days, 110 of them from 20 March


@pytest.mark.parametrize(
    ("days", "on", "share"),
    [
        (SPRING_SOWN, date(2026, 5, 1), 0.0),
        (SPRING_SOWN, date(2026, 5, 4), 0.0),  # 3 %
        (SPRING_SOWN, date(2026, 5, 25), 0.5),  # 24 %, halfway from 3 to 45
        (SPRING_SOWN, date(2026, 6, 15), 1.0),  # 45 %
        (SPRING_SOWN, date(2026, 8, 8), 1.0),
        (AUTUMN_SOWN, date(2025, 10, 10), 0.0),  # 1.8 % of all its days
        (AUTUMN_SOWN, date(2026, 1, 15), 0.1),
        (AUTUMN_SOWN, date(2026, 3, 20), 0.1),
        (AUTUMN_SOWN, date(2026, 3, 23), 0.1),  # 2.7 % of 110 days
        (AUTUMN_SOWN, date(2026, 4, 11), 0.422),  # 22 of 110: t = 0.405, 0.359 of nine tenths
        (AUTUMN_SOWN, date(2026, 5, 9), 1.0),  # 50 of 110
    ],
)
def test_heights_on_a_day(days, on, share):
    assert height_share(on, *days) == pytest.approx(share, abs=0.001)


@pytest.mark.parametrize(
    ("sown", "harvested"),
    [
        (date(2025, 12, 20), date(2026, 7, 8)),  # 200 days, over midwinter
        (date(2025, 12, 21), date(2026, 12, 21)),  # between one midwinter and the next
        (date(2026, 1, 1), date(2026, 12, 1)),
    ],
)
def test_what_is_no_winter_crop_grows_all_its_days(sown, harvested):
    later = sown + (harvested - sown) * 0.24
    assert height_share(later, sown, harvested) == pytest.approx(0.5, abs=0.01)


def test_a_crop_never_shrinks_and_reaches_its_height():
    for sown, harvested in (SPRING_SOWN, AUTUMN_SOWN, (date(2025, 8, 1), date(2027, 8, 1))):
        count = (harvested - sown).days
        shares = [height_share(sown + timedelta(days=n), sown, harvested) for n in range(count)]
        assert shares == sorted(shares)
        assert (shares[0], shares[-1]) == (0.0, 1.0)


def test_without_a_harvest_the_table_s_season_is_taken_or_120_days():
    sown = date(2026, 5, 1)
    on = sown + timedelta(days=24)
    assert height_share(on, sown, None, 100) == pytest.approx(0.5)
    assert height_share(on, sown, None) == height_share(on, sown, sown + timedelta(days=120))
    # and after it the crop stands on
    assert height_share(date(2028, 1, 1), sown, None, 100) == 1.0


def test_midwinter_is_in_june_south_of_the_equator():
    sown, harvested = date(2026, 4, 20), date(2026, 12, 1)
    assert height_share(date(2026, 8, 1), sown, harvested, south=True) == pytest.approx(0.1)
    assert height_share(date(2026, 8, 1), sown, harvested) > 0.9


@pytest.mark.parametrize(
    ("crop", "low", "high", "bushel_lb"),
    # from memory: nitrogen removed, lb a bushel, after Ontario's Field Crop News, 2025; bushels
    # after USDA, Weights, Measures, and Conversion Factors for Agricultural Commodities and Their
    # Products, Agricultural Handbook 697, 1992; of dry bean and canola without a source
    [("corn", 0.65, 1.0, 56), ("soybean", 3.7, 4.0, 60), ("winter_wheat", 1.15, 1.25, 60),
     ("barley", 0.83, 1.11, 48), ("oats", 0.63, 0.80, 32), ("dry_bean", 2.5, 2.5, 60),
     ("canola", 2.0, 2.2, 50)],
)  # fmt: skip
def test_nitrogen_removed(crop, low, high, bushel_lb):
    facts = crop_table()[crop]
    # a pound to the bushel is so many kilograms to the tonne
    assert facts.nitrogen_kg_per_t == pytest.approx(
        (low / bushel_lb * 1000, high / bushel_lb * 1000)
    )
    assert facts.bushel_kg == pytest.approx(bushel_lb * 0.45359237)
    assert facts.source("nitrogen_kg_per_t").endswith("Field Crop News, 2025, from memory")
    remembered = crop in {"dry_bean", "canola"}
    handbook = "bushels: USDA, Agricultural Handbook 697, 1992, from memory"
    assert facts.source("bushel_kg") == ("from memory" if remembered else handbook)


def test_every_value_of_the_table_has_its_source():
    valued = ("family", "height_m", "root_m", "season_days", "elsewhere_days", "today_m", "shade",
              "nitrogen_kg_per_t", "bushel_kg")  # fmt: skip
    for facts in crop_table().values():
        told = {key for key in valued if getattr(facts, key) is not None}
        assert told <= set(facts.sources), facts.name
        assert facts.source("shade") in {"from memory", "no source"}


def test_the_table_has_24_crops_or_more():
    names = {facts.name for facts in crop_table().values() if facts.height_m is not None}
    assert len(names) >= 24
    assert {facts.shade for facts in crop_table().values()} == {None, "low", "medium", "high"}
