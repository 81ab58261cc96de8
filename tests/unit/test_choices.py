"""Which of several layouts is chosen: the least, ties by a rule, and so that it can be typed in."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from brute import ENDS, KINDS, random_field
from fields import AROUND, FOOT_M, STRIPS, square, write_plan_for, write_shapes

from striplay.accounts.count import count_passes
from striplay.files.plan import read_plan
from striplay.flow import lay, read_ground, weigh
from striplay.layout.blocks import one_block
from striplay.search import headings, weigher
from striplay.search.choice import Choice, in_order, is_better
from striplay.search.cost import weigh_headings
from striplay.search.headings import search, usual
from striplay.search.weigher import _middle_of_best
from striplay.section.section import Section
from striplay.section.strips import strip_sections
from striplay.tolerances import EQUAL_COST_SHARE
from striplay.units import degrees, format_typed, typed_about_m

NONE = '[headland]\nwhere = "none"\n'
SET = Section(10.0, (), ())


@pytest.fixture
def coarse(monkeypatch):
    """Search few headings: what is looked at does not depend on how many."""
    for name, value in (("GRID_DEG", 3.0), ("CHECKED", 8), ("SHOWN_DEG", 20.0), ("CLIMBS", 2)):
        monkeypatch.setattr(headings, name, value)


def choice(money, heading_deg=0.0, offset_m=0.0, aim=0.0):
    return Choice(heading_deg, offset_m, SET, (money,), 1, aim, money)


# --- ties -----------------------------------------------------------------------------------------


def test_a_tie_goes_to_the_lower_heading_then_offset():
    least = 3263.0
    hair = least * (1 + 1e-12)
    tied = [
        choice(least, 90.0),
        choice(hair, 0.5, 3.0),
        choice(hair, 0.5, 1.0),
    ]
    found = in_order([choice(least * (1 + 1e-8)), *tied])
    assert found == [tied[2], tied[1], tied[0], choice(least * (1 + 1e-8))]
    assert not is_better(tied[0], tied[1])
    assert not is_better(tied[1], tied[0])
    assert is_better(tied[1], found[-1])


def test_the_aim_goes_before_money_and_land_before_all():
    none = choice(np.inf, aim=-1.0)
    dear, cheap, other = choice(9.0, aim=1.0), choice(8.0, aim=1.0 + 1e-9), choice(1.0, aim=2.0)
    assert in_order([none, other, dear, cheap]) == [cheap, dear, other, none]
    assert is_better(cheap, other)
    assert is_better(cheap, dear)
    assert is_better(other, none)
    assert not is_better(none, other)


@pytest.mark.parametrize("hair", [0.0, 1e-12, -1e-12])
def test_of_stretches_that_tie_the_one_with_the_lowest_offset_is_taken(hair):
    money = np.full(40, 200.0)
    money[5:10], money[20:25] = 100.0, 100.0 * (1 + hair)
    assert _middle_of_best(np.zeros(40), money) == 7
    money[20:25] = 100.0 * (1 - EQUAL_COST_SHARE / 2)
    assert _middle_of_best(np.zeros(40), money) == 22
    money[:2] = 100.0
    assert _middle_of_best(np.zeros(40), money) == 0
    assert _middle_of_best(np.zeros(40), np.full(40, np.inf)) == 0


@pytest.mark.usefixtures("coarse")
@pytest.mark.parametrize(
    ("shape", "headland"),
    [(square(1320), AROUND), (square(1320), ENDS), (shapely.box(-240, -160, 240, 160), NONE)],
)
def test_rounding_of_another_processor_changes_nothing(tmp_path, monkeypatch, shape, headland):
    """Symmetric fields have many layouts of the same cost: costs are off by 1e-12 at random."""
    plan = read_plan(
        write_plan_for(tmp_path, shape, headland=headland, direction='heading = "best"')
    )
    block = one_block(plan, read_ground(plan))
    section = strip_sections(plan)[0]

    def place(seed):
        random = np.random.default_rng(seed)

        def weigh_off(*arguments):
            found = weigh_headings(*arguments)
            offs = (1 + random.uniform(-1e-12, 1e-12, len(one.money)) for one in found)
            each = zip(found, offs, strict=True)
            return [replace(one, money=one.money * off) for one, off in each]

        monkeypatch.setattr(weigher, "weigh_headings", weigh_off)
        best = search(plan, section, block).best
        return [(one.heading_deg, one.offset_m) for one in best[:2]]

    first = place(0)
    assert all(place(seed) == first for seed in range(1, 4))


# --- the usual heading ----------------------------------------------------------------------------


@pytest.mark.usefixtures("coarse")
@pytest.mark.parametrize("headland", [ENDS, AROUND])
@pytest.mark.parametrize("seed", range(4))
def test_the_best_is_never_dearer_than_the_usual(tmp_path, headland, seed):
    field = random_field(KINDS[seed % 4], np.random.default_rng(100 + seed))
    found = weigh(
        read_plan(write_plan_for(tmp_path, field, headland=headland, direction='heading = "best"'))
    )
    assert found.best[0].money <= found.usual.money * (1 + 1e-9)


def test_the_usual_is_weighed_exactly_and_climbed_from(tmp_path, monkeypatch):
    """With nothing else weighed exactly, it and what lies about it are."""
    field = shapely.Polygon([(0, 0), (700, 60), (640, 420), (180, 500), (-60, 220)])
    plan = read_plan(write_plan_for(tmp_path, field, headland=ENDS, direction='heading = "best"'))
    block = one_block(plan, read_ground(plan))
    monkeypatch.setattr(headings, "CHECKED", 1)
    monkeypatch.setattr(headings, "SHOWN", 1)
    monkeypatch.setattr(headings, "CLIMBS", 1)
    monkeypatch.setattr(headings, "SHOWN_DEG", 200.0)
    beside = usual(plan, strip_sections(plan)[0], block)
    found = search(plan, strip_sections(plan)[0], block)
    assert beside.heading_deg in found.headings_deg
    near = np.abs(found.headings_deg - beside.heading_deg)
    assert np.count_nonzero(near < 0.26) >= 20


# --- typed in again -------------------------------------------------------------------------------


def test_headings_and_offsets_are_written_as_they_are_typed():
    assert [degrees(h) for h in (0.0, 7.5, 12.345, 111.1809, 179.99996)] == [
        "0.00", "7.50", "12.345", "111.181", "0.00",
    ]  # fmt: skip
    for meters in (0.0, 0.003, 3.71551, 12.19207, 48.7):
        for units, unit_m in (("us", FOOT_M), ("metric", 1.0)):
            below, above = typed_about_m(meters, units)
            assert meters - 0.0031 < below <= meters + 1e-9
            assert above - meters < 0.0031
            for typed in (below, above):
                number, _ = format_typed(typed, units).split()
                assert float(number) * unit_m == typed
                assert typed_about_m(typed, units) == (typed, typed)


SHAPED = shapely.Polygon([(0, 0), (710, 64), (655, 431), (190, 520), (-60, 220)])


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("headland", [AROUND, ENDS, NONE])
def test_a_layout_found_can_be_typed_in_again(tmp_path, units, headland):
    path = write_plan_for(tmp_path, SHAPED, headland=headland, direction='heading = "best"')
    path.write_text(f'units = "{units}"\n' + path.read_text())
    found = lay(read_plan(path))
    field = found.land_accounts["field"]
    heading, offset = degrees(field["heading_deg"]), format_typed(field["offset_m"], units)
    path = write_plan_for(
        tmp_path, SHAPED, headland=headland,
        direction=f'heading = {float(heading)}\noffset = "{offset}"',
    )  # fmt: skip
    path.write_text(f'units = "{units}"\n' + path.read_text())
    typed = lay(read_plan(path))
    assert typed.land_accounts["field"] | {"mark": ""} == field | {"mark": ""}  # other words
    assert typed.areas_m2 == pytest.approx(found.areas_m2, rel=1e-9, abs=1e-6)
    assert count_passes(typed.routes) == count_passes(found.routes)
    typed_cost, found_cost = (sum(one.laid.parts.values()) for one in (typed, found))
    assert typed_cost == pytest.approx(found_cost, rel=1e-9)
    assert len(typed.strips) == len(found.strips)


def test_blocks_say_their_offsets(tmp_path):
    write_shapes(tmp_path, shapely.LineString([(-500, 0), (500, 30)]))
    path = write_plan_for(tmp_path, square(), direction='heading = "best"')
    path.write_text(path.read_text() + '\n[[blocks]]\nfile = "cut.geojson"\n')
    layout = lay(read_plan(path))
    offsets = layout.land_accounts["field"]["block_offsets_m"]
    assert offsets == [block.choice.offset_m for block in layout.laid.blocks]
    assert all(typed_about_m(offset, "us") == (offset, offset) for offset in offsets)


@pytest.mark.parametrize(
    "strips", [STRIPS, '[[row_set]]\nplanter = "planter"\nunits = "10 corn, 6 soybean"\n']
)
def test_no_offset_is_an_offset_of_nought(tmp_path, strips):
    field = shapely.box(-150, -200, 150, 200)
    none, nought = (
        lay(read_plan(write_plan_for(tmp_path, field, direction=direction, strips=strips)))
        for direction in ("heading = 0", 'heading = 0\noffset = "0 ft"')
    )
    for layout in (none, nought):
        del layout.accounts["field"]["mark"]  # the plans' words differ
    assert none.accounts == nought.accounts
    assert none.accounts["field"]["offset_m"] == 0.0
    # the first planter pass begins at the land's side
    _, _, _, top_m = none.laid.blocks[0].path.onto(none.laid.blocks[0].inner)[0].bounds
    rows_m = none.laid.blocks[0].pieces.rows.across_m
    assert top_m - rows_m.max() == pytest.approx(0.381)
