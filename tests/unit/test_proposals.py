"""What records speak for next season, and what they are too few for."""

import tomllib
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import shapely
from fields import SHED
from scipy import stats

from striplay.files.plan import checked
from striplay.plan.trial import Trial
from striplay.records.analysis import Interval
from striplay.records.edition import Edition, Piece
from striplay.records.land_ratio import LandRatio
from striplay.records.proposals import proposals
from striplay.records.yields import StandOf, YieldOf
from striplay.units import ACRE_M2, POUND_KG

STRIPS = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
YIELDS = {"corn": "200 bu/acre", "soybean": "60 bu/acre"}
DAY = date(2026, 6, 1)


def planned():
    shed = SHED
    for crop, told in YIELDS.items():
        shed = shed.replace(f"[crops.{crop}]\n", f'[crops.{crop}]\nyield = "{told}"\n')
    return checked(tomllib.loads(shed + STRIPS), Path("plan.toml"))


def edition(own="corn", strips=9):
    """Give an edition whose strips all carry one crop or mixture in their own rows."""
    pieces = tuple(Piece(one, 1, own, 16, 12.2, ACRE_M2, 100.0) for one in range(1, strips + 1))
    return Edition(
        "abcdefgh", "north", "us", "abcdefgh", headland=False, pieces=pieces, sown=(), crops={},
        operations=(), passes=(), outline=shapely.Polygon(), polygons=np.empty(0, object),
    )  # fmt: skip


def proposed(plan, stands, yields, ratio=None, own="corn"):
    return proposals(plan, edition(own), stands, yields, ratio)


def stands(*per_acre, crop="corn"):
    return [
        StandOf(number, crop, round(one), ACRE_M2, 3, DAY)
        for number, one in enumerate(per_acre, start=1)
    ]


def yields(crop, bushel_lb, *bu_per_acre):
    return [
        YieldOf(number, crop, None, 16, 0.0, bu * bushel_lb * POUND_KG, ACRE_M2, 1, DAY)
        for number, bu in enumerate(bu_per_acre, start=1)
    ]


def test_a_stand_below_the_planned_one_proposes_emergence_and_rate():
    """34,000 seeds an acre, 0.95 planned to stand: 32,300; the interval as scipy gives it."""
    each = (28_800, 29_000, 29_300, 28_900)
    (found,) = proposed(planned(), stands(*each), ())
    low, high = stats.t.interval(0.95, 3, loc=29_000, scale=stats.sem(each))
    assert (round(low, -2), round(high, -2)) == (28_700, 29_300)
    assert str(found) == (
        '[crops.corn] emergence = 0.85, rate = "37900 seeds/acre": 85.3 % of the seeds stood, '
        "where the plan has 95 %; the rate is that for the stand planned (4 strips counted: 29000 "
        "plants/acre where 32300 were expected, 95% interval 28700 to 29300)"
    )


def test_rate_and_emergence_proposed_make_the_stand_planned_of_live_seed():
    """34,000 live seeds an acre of which 0.95 are to stand; of more, all of them stood."""
    plan = planned()
    live = plan.crops["corn"].model_copy(update={"germination": 0.9})
    plan = plan.model_copy(update={"crops": plan.crops | {"corn": live}})
    (found,) = proposed(plan, stands(28_800, 29_000, 29_300, 28_900), ())
    assert found.change == '[crops.corn] emergence = 0.85, rate = "37900 seeds/acre"'
    (found,) = proposed(plan, stands(36_000, 36_100, 36_200), ())
    assert found.change == '[crops.corn] emergence = 1.00, rate = "32300 seeds/acre"'


MIXED = """
[mixtures.both]
parts = { corn = 0.5, soybean = 0.5 }
planter = "planter"
harvester = "platform"
[[strips]]
crop = "both"
rows = 16
"""


def test_a_part_of_a_mixture_is_held_against_its_share_of_the_rate():
    """Half of 34,000 seeds an acre, 0.95 of them to stand: 16,150."""
    plan = checked(tomllib.loads(SHED + MIXED), Path("plan.toml"))
    assert proposed(plan, stands(16_000, 16_200, 16_250), (), own="both") == ()
    (found,) = proposed(plan, stands(14_400, 14_500, 14_600), (), own="both")
    assert found.change == '[crops.corn] emergence = 0.85, rate = "37900 seeds/acre"'
    assert "29000 plants/acre where 32300 were expected" in found.evidence
    assert found.evidence.endswith(", all told at the crop's full rate")


@pytest.mark.parametrize(
    "each",
    [
        (29_000, 29_100),  # too few
        (29_000, 36_000, 31_000),  # as planned, as far as they tell
        (29_000, 29_000, 29_000),  # counted all alike: no spread to tell by
        (),
    ],
)
def test_counts_that_tell_too_little_propose_nothing(each):
    assert proposed(planned(), stands(*each), ()) == ()


def test_a_crop_that_the_plan_says_nothing_of_proposes_nothing():
    assert proposed(planned(), stands(1e5, 1.1e5, 1.2e5, crop="soybean"), ()) == ()
    assert proposed(planned(), stands(1e5, 1.1e5, 1.2e5, crop="oats"), ()) == ()


def test_strips_sure_to_yield_less_than_the_crops_alone_propose_to_part_them():
    poor = [*yields("corn", 56, 180, 176, 184), *yields("soybean", 60, 48, 45, 51)]
    (found,) = proposed(planned(), (), poor)
    assert found.change == (
        "grow corn and soybean apart, or other strips: striplay compare and pay say which"
    )
    # half the land each: (0.9 + 0.8) / 2
    assert found.reason.startswith("the strips yielded 0.85 of what the same land yields")
    assert "by strips: corn 0.90 on 3, soybean 0.80 on 3" in found.evidence


@pytest.mark.parametrize(
    "told",
    [
        [*yields("corn", 56, 180, 176, 184), *yields("soybean", 60, 70, 68, 72)],  # as much in all
        [*yields("corn", 56, 180, 176, 184)],  # of one crop alone
        [*yields("corn", 56, 180, 176), *yields("soybean", 60, 48, 45)],  # too few
    ],
)
def test_yields_that_tell_too_little_propose_nothing(told):
    assert proposed(planned(), (), told) == ()


def rows_of(outer, inner=200.0):
    """Give the first row and one inside of strips of corn, in bushels an acre."""
    return [
        YieldOf(strip, "corn", (row, row), 16, 0.0, bu * 56 * POUND_KG, ACRE_M2, 1, DAY)
        for strip, bu_out in enumerate(outer, start=1)
        for row, bu in ((1, bu_out), (8, inner))
    ]


def test_rows_at_edges_that_yield_more_propose_the_gains_that_pay_takes():
    """Outer rows of 240, 250 and 260 bu beside 200 inside: a quarter more."""
    (found,) = proposed(planned(), (), rows_of((240, 250, 260)))
    assert found.change.startswith(
        '[[edges]] crop = "corn", beside = "soybean", gain = [0.25], low = ['
    )
    assert found.change.endswith("striplay pay then says which width of strip pays best")
    table = tomllib.loads(found.change.split("; ")[0].replace(", ", "\n").replace("[[edges]] ", ""))
    assert table["low"][0] < 0.25 < table["high"][0]
    assert found.evidence.startswith("rows weighed in 3 strips; ")
    assert proposed(planned(), (), rows_of((190, 200, 212))) == ()
    assert proposed(planned(), (), rows_of((240, 260))) == ()


def test_a_trial_tells_by_its_checks_and_not_by_the_yields_of_the_plan():
    poor = [*yields("corn", 56, 180, 176, 184), *yields("soybean", 60, 48, 45, 51)]
    plan = planned()
    tried = plan.model_copy(update={"trial": Trial()})
    assert proposed(tried, (), poor) == ()
    parts = {"corn": 0.45, "soybean": 0.4}
    (found,) = proposed(tried, (), poor, LandRatio("strips", Interval(0.85, 0.75, 0.95), parts, 4))
    assert str(found) == (
        "grow corn and soybean apart, or other strips: striplay compare and pay say which: the "
        "land equivalent ratio of the trial is 0.85 (4 replicates with check strips, 95% interval "
        "0.75 to 0.95; of one field in one year)"
    )
    unsure = LandRatio("strips", Interval(0.85, 0.65, 1.05), parts, 4)
    assert proposed(tried, (), poor, unsure) == ()
