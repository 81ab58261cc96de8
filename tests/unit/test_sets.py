"""Which set an adviser would choose: the rank of `fit` and `lay`, criterion by criterion."""

import json

import pytest
import shapely
from click.testing import CliRunner
from fields import AROUND, FOOT_M, NAMES, SAMPLES, SHED, square, write_plan_for

from striplay.cli import main
from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.flow import lay, weigh
from striplay.search import headings
from striplay.section.sets import are_equal, fit_sets, settle_widths
from striplay.section.systems import sections_of

FIT = '[[strips]]\ncrop = "corn"\nrows = "fit"\n[[strips]]\ncrop = "soybean"\nrows = "fit"\n'
NO_SWAP = "[season]\nswap = false\n"
SWAP_SAID = "equal widths: crops can swap places next season"
BEST = 'heading = "best"'
NONE = '[headland]\nwhere = "none"\n'


def shares(**wishes):
    """Give the tests' shed with wished shares."""
    shed = SHED
    for crop, share in wishes.items():
        shed = shed.replace(f"[crops.{crop}]\n", f"[crops.{crop}]\nshare = {share}\n")
    return shed


def coarse(monkeypatch):
    """Search few headings: what is looked at does not depend on how many."""
    for name, value in (("GRID_DEG", 5.0), ("CLIMBS", 1), ("REACH", 4)):
        monkeypatch.setattr(headings, name, value)


@pytest.fixture
def plan_with(tmp_path):
    """A function that reads a plan of the tests' shed on a square."""

    def read(shed=SHED, strips=FIT, **parts):
        return read_plan(write_plan_for(tmp_path, square(1320), shed=shed, strips=strips, **parts))

    return read


def rows(plan):
    """Give the rows of the sets to choose from, best first."""
    return [tuple(strip.rows for strip in found.strips) for found in settle_widths(plan)]


# --- the rank -------------------------------------------------------------------------------------


def test_equal_widths_come_first_then_the_narrowest(plan_with):
    # widths of 16, 32 and 48 rows fit both crops; soybean uses its platform fully at 48 only
    assert rows(plan_with()) == [(16, 16), (32, 32), (48, 48), (16, 32), (32, 16), (16, 48)]


def test_equal_widths_come_before_wished_shares(plan_with):
    assert rows(plan_with(shares(corn=0.25, soybean=0.75)))[:2] == [(16, 16), (32, 32)]


def test_without_a_swap_shares_come_first_then_the_narrowest(plan_with):
    plan = plan_with(shares(corn=0.25, soybean=0.75), FIT + NO_SWAP)
    # the wish is met by 16 + 48 alone; next best are 16 + 32 (a third), then 32 + 48 (0.4)
    assert rows(plan)[:3] == [(16, 48), (16, 32), (32, 48)]
    assert rows(plan_with(shares(corn=0.5), FIT + NO_SWAP))[:3] == [(16, 16), (32, 32), (48, 48)]


def test_one_wish_said_of_one_crop_or_of_all_ranks_alike(plan_with):
    found = [
        [
            (one.strips, one.off_wish)
            for one in settle_widths(plan_with(shares(**wish), FIT + NO_SWAP))
        ]
        for wish in ({"corn": 0.7}, {"soybean": 0.3}, {"corn": 0.7, "soybean": 0.3})
    ]
    for other in found[1:]:
        assert [strips for strips, _ in other] == [strips for strips, _ in found[0]]
        assert [off for _, off in other] == pytest.approx([off for _, off in found[0]])
    # 16 + 16 rows: a fifth of the land is soybean that is wished to be corn
    assert {round(off, 9) for strips, off in found[0] if {s.rows for s in strips} == {16}} == {0.2}


def test_what_does_not_fit_all_machines_is_never_taken(plan_with):
    # a header of 12 rows takes no whole passes of 16 or 32 rows, so equal widths are 48 rows
    shed = SHED.replace("rows = 8", "rows = 12")
    assert rows(plan_with(shed))[0] == (48, 48)


def test_where_no_equal_widths_fit_the_nearest_shares_are_taken_and_told(plan_with):
    # of 40, 80 and 120 ft a header of 32 rows fits 80 alone; a platform of 90 ft reaches 25 ft and
    # 5 ft past the sides of the first two, and cuts the last in two
    shed = shares(corn=0.4).replace("rows = 8", "rows = 32").replace('"30 ft"', '"90 ft"')
    plan = plan_with(shed, headland=NONE, strips=FIT)
    assert rows(plan) == [(32, 48)]
    told = [str(notice) for notice in lay(plan).notices_as_laid]
    assert (
        'rows = "fit" took corn 80 ft + soybean 120 ft; no equal widths fit all machines: crops '
        "can't swap places next season"
    ) in told


def test_a_width_that_is_stated_is_kept_and_the_other_made_equal(plan_with):
    assert rows(plan_with(strips=FIT.replace('"fit"', "32", 1)))[0] == (32, 32)


def test_a_crop_may_have_several_strips(plan_with):
    strips = FIT + '[[strips]]\ncrop = "soybean"\nrows = "fit"\n'
    (first, *_) = settle_widths(plan_with(shares(corn=0.33, soybean=0.67), strips))
    assert [strip.rows for strip in first.strips] == [16, 16, 16]
    assert first.shares == pytest.approx({"corn": 1 / 3, "soybean": 2 / 3})
    assert first.off_wish < 1e-9 + 0.005


def test_strips_within_an_inch_are_equal():
    assert are_equal([12.0, 12.025])
    assert not are_equal([12.0, 12.026])


def test_equal_sets_are_found_among_very_many_combinations(plan_with):
    # 8 strips of up to 24 widths are 10^11 sets; the one of equal widths is among those ranked
    shed = SHED.replace("rows = 16", "rows = 4").replace("rows = 8", "rows = 4")
    shed = shed.replace('"30 ft"', '"20 ft"')  # which 4 rows, 10 ft, are too narrow for
    (first, *_) = settle_widths(plan_with(shed, FIT * 4))
    assert first.equal
    assert {strip.rows for strip in first.strips} == {8}


def test_swap_must_be_true_or_false(plan_with):
    with pytest.raises(PlanError, match=r"season\.swap: 1 must be true or false$"):
        plan_with(strips=FIT + "[season]\nswap = 1\n")


def test_a_plan_without_crops_is_refused(tmp_path):
    path = write_plan_for(tmp_path, square(1320), shed="", strips="", headland=NONE)
    result = CliRunner().invoke(main, ["fit", str(path)])
    assert result.exit_code == 2
    assert result.stderr == (
        "striplay: plan.toml: crops: none are given; add a [crops.NAME] table for each\n"
    )


# --- fit and lay alike ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_lay_takes_the_first_set_of_fit(name):
    plan = read_plan(SAMPLES / name / "plan.toml")
    fit = [wish.model_copy(update={"rows": "fit", "passes": None, "width_m": None})
           for wish in plan.strips]  # fmt: skip
    plan = plan.model_copy(update={"strips": tuple(fit)})
    first, section = fit_sets(plan)[0], sections_of(plan)[0]
    assert first.equal  # each of the farms has machines that go together
    assert [strip.width_m for strip in section.strips] == [strip.width_m for strip in first.strips]


def test_the_plan_that_start_writes_has_equal_narrow_strips(tmp_path):
    write_plan_for(tmp_path, square(1320))
    asked = [str(tmp_path / "field.geojson"), "-o", str(tmp_path / "north.toml")]
    assert CliRunner().invoke(main, ["start", *asked]).exit_code == 0
    layout = lay(read_plan(tmp_path / "north.toml"))
    widths_m = [strip.width_m for strip in layout.section.strips]
    assert widths_m == pytest.approx([40 * FOOT_M] * 2)  # a planter pass, two of the header
    said = [notice for notice in layout.notices_as_laid if SWAP_SAID in str(notice)]
    assert [(notice.kind, notice.severity) for notice in said] == [("fit", "know")]


def test_fit_says_that_crops_can_swap_and_which_wish_is_missed(tmp_path):
    path = write_plan_for(tmp_path, square(1320), shed=shares(corn=0.67, soybean=0.33), strips=FIT)
    lines = CliRunner().invoke(main, ["fit", str(path)]).stdout.splitlines()
    assert f'  rows = "fit" takes the first; {SWAP_SAID}' in lines
    assert (
        "  of the first, corn is 50% of the strips' land, wished 67%, soybean is 50% of the "
        "strips' land, wished 33%; list a crop in more strips, or state rows; equal widths go "
        "before shares, but for swap = false under [season]"
    ) in lines
    path.write_text(path.read_text() + NO_SWAP)
    after = CliRunner().invoke(main, ["fit", str(path)]).stdout
    assert "swap" not in after
    assert "wished" not in after  # 32 + 16 rows are two thirds and one


# --- one wish -------------------------------------------------------------------------------------


@pytest.mark.parametrize("swap", ["", NO_SWAP])
@pytest.mark.parametrize("name", ["quarter_section", "pond_ell", "two_parts"])
def test_a_share_of_0_33_or_0_3333_is_one_wish(name, swap, monkeypatch):
    coarse(monkeypatch)
    plan = read_plan(SAMPLES / name / "plan.toml")
    first = plan.strips[0].crop
    fit = tuple(wish.model_copy(update={"rows": "fit", "passes": None, "width_m": None})
                for wish in plan.strips)  # fmt: skip
    headland = plan.headland.model_copy(update={"crop": first})
    direction = plan.direction.model_copy(update={"heading": "best"})
    season = plan.season.model_copy(update={"swap": not swap})
    laid = []
    for share in (0.33, 0.3333):
        crops = {n: c.model_copy(update={"share": share if n == first else None})
                 for n, c in plan.crops.items()}  # fmt: skip
        found = weigh(plan.model_copy(update={
            "crops": crops, "strips": fit, "headland": headland, "direction": direction,
            "season": season,
        }))  # fmt: skip
        best = found.best[0]
        laid.append((best.heading_deg, best.offset_m, best.section.strips, best.parts))
    assert laid[0] == laid[1]
    assert laid[0][3][4] > 0.0  # what is off the wish is priced


@pytest.mark.parametrize(
    ("asked", "wished"),
    [
        ({"corn": 0.3333}, {"corn": 0.33}),
        ({"corn": 0.333, "soybean": 0.667}, {"corn": 0.33, "soybean": 0.67}),
        # two thirds and a third, each cut off, are still all of the land
        ({"corn": 0.66, "soybean": 0.33}, {"corn": 2 / 3, "soybean": 1 / 3}),
        ({"corn": 0.6, "soybean": 0.3}, {"corn": 0.6, "soybean": 0.3}),
        ({"corn": 0.001}, {"corn": 0.01}),
    ],
)
def test_wishes_are_read_to_the_whole_per_cent(plan_with, asked, wished):
    assert plan_with(shares(**asked)).wished_shares == pytest.approx(wished)


# --- what other sets cost -------------------------------------------------------------------------


def test_weigh_shows_what_other_sets_would_cost(tmp_path, monkeypatch):
    coarse(monkeypatch)
    path = write_plan_for(tmp_path, square(1320), strips=FIT, direction=BEST)
    found = weigh(read_plan(path))
    assert len(found.sets) == len(rows(read_plan(path))) == 6
    assert found.sets[0] is found.best[0]
    result = CliRunner().invoke(main, ["weigh", str(path)])
    lines = result.stdout.splitlines()
    head = next(i for i, line in enumerate(lines) if line.startswith("sets, best first"))
    assert lines[head].split()[-3:] == ["cost", "difference", "passes"]
    assert lines[head + 1].split("  ")[0] == "corn 40 ft + soybean 40 ft"
    assert "laid" in lines[head + 1]
    assert max(map(len, lines)) <= 120
    for choice, line in zip(found.sets[1:], lines[head + 2 :], strict=False):
        # a set stated costs what was said of it, or less where another heading suits it better
        cost = float(line.split()[-3].replace(",", ""))
        assert cost == pytest.approx(choice.money, abs=0.51)
        widths = [round(strip.width_m / 0.762) for strip in choice.section.strips]
        stated = FIT
        for count in widths:
            stated = stated.replace('"fit"', str(count), 1)
        again = write_plan_for(tmp_path, square(1320), strips=stated, direction=BEST)
        alone = weigh(read_plan(again))
        assert len(alone.sets) == 1
        assert alone.best[0].money <= choice.money * (1 + 1e-3)
        assert alone.best[0].money == pytest.approx(choice.money, rel=0.02)
    write_plan_for(tmp_path, square(1320), strips=FIT, direction=BEST)
    data = json.loads(CliRunner().invoke(main, ["weigh", str(path), "--json"]).stdout)
    assert [one["cost"]["total"] for one in data["sets"]] == pytest.approx(
        [choice.money for choice in found.sets]
    )


# --- shares of the whole field --------------------------------------------------------------------


def test_shares_count_the_headland(tmp_path):
    path = write_plan_for(
        tmp_path, square(1320), shed=shares(corn=0.5, soybean=0.5), strips=FIT, headland=AROUND
    )
    layout = lay(read_plan(path))
    # by hand: a square of 1,320 ft less 80 ft all round is 1,160 ft wide: 29 strips of 40 ft, the
    # first and the last of corn; the headland is corn too
    strip_ft2, headland_ft2 = 40 * 1160, 1320**2 - 1160**2
    corn = (15 * strip_ft2 + headland_ft2) / 1320**2
    found = layout.land_accounts["shares"]
    assert found["corn"]["share"] == pytest.approx(corn, rel=1e-4)
    assert found["soybean"]["share"] == pytest.approx(1 - corn, rel=1e-4)
    assert found["corn"]["area_m2"] + found["soybean"]["area_m2"] == pytest.approx(
        layout.areas_m2["strips"] + layout.areas_m2["headland"]
    )
    # both are so much off the half each that was wished; 40 acres at 50 an acre
    assert layout.laid.parts["departure from wished shares"] == pytest.approx(
        (corn - 0.5) * 40 * 50, rel=1e-4
    )
    told = [str(notice) for notice in layout.notices_as_laid]
    assert (
        f"shares of the cropped land, headland included: corn {corn:.0%} (wished 50%), soybean "
        f"{1 - corn:.0%} (wished 50%); plant the headland to another crop"
    ) in told
    result = CliRunner().invoke(
        main, ["lay", str(path), "-o", str(tmp_path / "out"), "--no-map-book"]
    )
    line = f"corn {corn:.0%} of the cropped land, soybean {1 - corn:.0%}"
    assert f"shares: {line}; wished corn 50%, soybean 50%" in result.stdout.splitlines()


@pytest.mark.parametrize(("wish", "told"), [(0.46, False), (0.44, True)])
def test_a_share_off_by_more_than_five_points_is_told(tmp_path, wish, told):
    # by hand: 1,280 ft in 32 strips of 40 ft, no headland: half of it is corn
    field = shapely.box(-640 * FOOT_M, -500 * FOOT_M, 640 * FOOT_M, 500 * FOOT_M)
    path = write_plan_for(tmp_path, field, shed=shares(corn=wish), strips=FIT, headland=NONE)
    said = [
        text for n in lay(read_plan(path)).notices_as_laid if "shares of the" in (text := str(n))
    ]
    expected = (
        f"shares of the cropped land: corn 50% (wished {wish:.0%}); list a crop in more strips, or "
        "state rows; equal widths go before shares, but for swap = false under [season]"
    )
    assert said == ([expected] if told else [])


def test_a_crop_sown_between_rows_has_no_share(tmp_path):
    between = '[[relay]]\ncrop = "wheat"\ninto = "corn"\n'
    wheat = '[crops.wheat]\nplanter = "planter"\nshare = 0.2\n'
    path = write_plan_for(tmp_path, square(1320), shed=SHED + wheat, strips=FIT + between)
    layout = lay(read_plan(path))
    assert list(layout.land_accounts["shares"]) == ["corn", "soybean"]
    assert not any("wished" in str(notice) for notice in layout.notices_as_laid)


def test_a_crop_that_is_wished_and_not_planted_has_a_share_of_nothing(tmp_path):
    wheat = '[crops.wheat]\nplanter = "planter"\nshare = 0.2\n'
    path = write_plan_for(tmp_path, square(1320), shed=SHED + wheat, strips=FIT)
    layout = lay(read_plan(path))
    assert layout.land_accounts["shares"]["wheat"] == {"area_m2": 0.0, "share": 0.0, "wished": 0.2}
    assert any("wheat 0% (wished 20%)" in str(notice) for notice in layout.notices_as_laid)
