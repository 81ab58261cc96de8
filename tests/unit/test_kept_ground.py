"""What is kept with a ground is what would be found again, whatever changed in between."""

import copy
import itertools

import pytest
import shapely
from fields import lay_on, square, write_plan_for, write_shapes

import striplay.flow
import striplay.geometry.inset
import striplay.layout.headland
from striplay.files.plan import plan_in
from striplay.files.plan_changes import with_changes
from striplay.flow import lay, lay_on_ground, read_ground
from striplay.kept import Kept

ELL = shapely.union(shapely.box(-300, -200, 0, 200), shapely.box(-10, -200, 260, 20))
CHANGES = (
    {"headland.where": "ends"}, {"headland.passes": 1}, {"direction.heading": 33.0},
    {"headland.where": "none"}, {"headland.where": "around", "headland.passes": 2},
    {"cost.land": "200 per acre"}, {"direction.start": "right"}, {"headland.crop": None},
    {"machines.planter.rows": 8, "headland.where": "ends"}, {"direction.offset": "best"},
    {"direction.heading": 90.0, "direction.offset": None}, {"headland.passes": 2},
)  # fmt: skip


def alike(one, other):
    """Whether two layouts are the very same."""
    assert one.land_accounts == other.land_accounts
    assert one.laid.parts == other.laid.parts
    for name in ("headland", "leftover"):
        mine, theirs = getattr(one.laid, name), getattr(other.laid, name)
        assert shapely.equals_exact(mine, theirs).all()


@pytest.mark.parametrize("blocks", ["", '[[blocks]]\nfile = "cut.geojson"\nheading = 20\n'])
def test_any_sequence_of_changes_on_a_kept_ground_lays_as_afresh(tmp_path, blocks):
    write_shapes(tmp_path, shapely.LineString([(-5, -300), (-5, 300)]))
    path = write_plan_for(tmp_path, ELL)
    text = f"{path.read_text()}\n{blocks}"
    ground = read_ground(plan_in(text, path))
    for change in CHANGES[:7] if blocks else CHANGES:
        text = with_changes(text, change, path.name)
        plan = plan_in(text, path)
        alike(lay_on_ground(plan, ground), lay(plan))


def test_the_headland_is_set_inside_the_ground_once_for_all_that_do_not_change_it(
    tmp_path, monkeypatch
):
    inset, asked = striplay.layout.headland.inset_all_round, []

    def watched(ground, width_m):
        asked.append(width_m)
        return inset(ground, width_m)

    monkeypatch.setattr(striplay.layout.headland, "inset_all_round", watched)
    first = lay_on(tmp_path, square(900))
    plan, ground = first.plan, first.ground
    count = len(asked)
    for heading_deg, start in itertools.product((10.0, 20.0), ("left", "right")):
        changed = plan.direction.model_copy(update={"heading": heading_deg, "start": start})
        lay_on_ground(plan.model_copy(update={"direction": changed}), ground)
    assert len(asked) == count
    wider = plan.headland.model_copy(update={"passes": 3})
    lay_on_ground(plan.model_copy(update={"headland": wider}), ground)
    assert len(asked) > count


def test_the_latest_are_kept_and_nothing_is_pickled():
    kept, made = Kept(2), []

    def find(key):
        def made_now():
            made.append(key)
            return key

        return kept.once("kind", key, made_now)

    assert [find(key) for key in ([1], [2], [1], [3], [1], [2])] == [[1], [2], [1], [3], [1], [2]]
    assert made == [[1], [2], [3], [2]]
    assert copy.copy(kept)._found == {}


def test_what_a_heading_does_not_change_is_found_once_for_all_and_its_own_ends_once(
    tmp_path, monkeypatch
):
    path = write_plan_for(tmp_path, ELL)
    plan = plan_in(with_changes(path.read_text(), {"headland.where": "ends"}, path.name), path)
    ground, asked = read_ground(plan), []

    def watch(module, name):
        find = getattr(module, name)

        def watched(*given, **named):
            asked.append(name)
            return find(*given, **named)

        monkeypatch.setattr(module, name, watched)

    for module, name in (
        (striplay.flow, "sections_of"), (striplay.flow, "season_of"),
        (striplay.geometry.inset, "_up_to_corners"),
    ):  # fmt: skip
        watch(module, name)
    for heading_deg, start in itertools.product((120.0, 135.0, 150.0), ("left", "right")):
        update = {"heading": heading_deg, "start": start}
        changed = plan.model_copy(update={"direction": plan.direction.model_copy(update=update)})
        layout = lay_on_ground(changed, ground)
        assert layout.season.plan is changed
    # at each of these headings an end stops at the inward corner, along the rows
    assert sorted(asked) == ["_up_to_corners"] * 3 + ["season_of", "sections_of"]


def test_passes_that_nothing_stops_are_not_driven_to_find_what_they_can_not_reach(
    tmp_path, monkeypatch
):
    monkeypatch.setattr("striplay.operations.clear.runs_inside", None)
    assert len(lay_on(tmp_path, ELL).laid.blocks) == 1
