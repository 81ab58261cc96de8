"""A season's journal: what is recorded beside what was planned, its pictures and its sentences."""

from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest
from books import book, texts_of, told, written
from fields import SHED, lay_on, square
from pdfs import shapes

from striplay.errors import OutputError, YieldError
from striplay.journaling import NO_PLOTS, season_told, write_journal
from striplay.looks import looks_of
from striplay.plan.systems import Mixture
from striplay.recording import edition_of
from striplay.records.analysis import Compared, Difference, Interval
from striplay.records.analysis_report import Findings
from striplay.records.edge_gains import EdgeGain
from striplay.records.entry import Done, Event, Recorded, Remark, Stand, Undo, Yield
from striplay.records.findings import findings_of
from striplay.records.journal import PlannedWork, journal_of
from striplay.records.land_ratio import LandRatio
from striplay.records.plots import Plot
from striplay.records.sentences import sentences
from striplay.sheets.journal_charts import Bar, bar_chart
from striplay.sheets.journal_map import shares_of_mean
from striplay.sheets.journal_sheets import journal_story
from striplay.sheets.yield_sheets import RAMP
from striplay.units import ACRE_M2, POUND_KG

STRIPS = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
DAY, LATER = date(2026, 5, 4), date(2026, 10, 3)
BUSHEL_KG = 56 * POUND_KG


@pytest.fixture(scope="module")
def layout(tmp_path_factory):
    shed = SHED.replace("[crops.corn]\n", '[crops.corn]\nyield = "200 bu/acre"\n')
    return lay_on(tmp_path_factory.mktemp("season"), square(660), shed=shed, strips=STRIPS)


@pytest.fixture(scope="module")
def edition(layout):
    return edition_of(layout)


def recorded(edition, *entries):
    at = datetime(2026, 12, 1, tzinfo=UTC)
    return [Recorded(number, edition.mark, at, one) for number, one in enumerate(entries, start=1)]


def weighed(edition, strip, bu_per_acre, **rows):
    (piece,) = edition.of_strip(strip)
    grain_kg = bu_per_acre * BUSHEL_KG / ACRE_M2 * piece.area_m2
    return Yield(day=LATER, strip=strip, crop="corn", grain_kg=grain_kg, moisture=0.155,
                 area_m2=piece.area_m2, **rows)  # fmt: skip


class Kept:
    """Records of the edition, as the store would give them."""

    def __init__(self, edition, *entries):
        self.edition, self._entries = edition, entries

    def recorded(self):
        return recorded(self.edition, *self._entries)


def test_passes_are_counted_by_pass_strip_and_operation_and_what_is_withdrawn_is_not(
    layout, edition
):
    corn = [one for one in edition.passes if one.operation == "plant corn"]
    (third, *_) = [one.number for one in corn if one.strip == 3]
    around = {one.number for one in corn if one.strip is None}
    entries = (
        Done(day=DAY, operation="plant corn", pass_number=third, lot="A"),
        Done(day=LATER, operation="plant corn", strip=5, lot="B"),
        Done(day=LATER, operation="plant corn", strip=1, lot="C"),
        Undo(day=LATER, withdraws=3),
        Done(day=DAY, operation="plant corn", headland=True, lot="A"),
        Done(day=LATER, operation="harvest corn"),
    )
    planned = [
        PlannedWork("plant corn", DAY, ("corn",)),
        PlannedWork("harvest corn", None),
        PlannedWork("plant soybean", None, ("soybean",)),
    ]
    found = journal_of(layout.plan, edition, planned, recorded(edition, *entries))
    plant, harvest, soybean = found.work
    assert (plant.planned, plant.first, plant.last, plant.lots) == (DAY, DAY, LATER, ("A", "B"))
    assert (plant.done, plant.passes) == (2 + len(around), len({one.number for one in corn}))
    assert harvest.done == harvest.passes > 0
    assert (soybean.done, soybean.first) == (0, None)
    lots = {one.strip: (one.planted, one.lots) for one in found.strips if one.planted}
    assert lots == {3: (DAY, ("A",)), 5: (LATER, ("B",))}
    assert (found.entries, found.days) == (4, (DAY, LATER))


@pytest.mark.parametrize("ink", ["color", "gray"])
def test_pages_are_legible_and_say_what_is_recorded(layout, edition, tmp_path, ink):
    corn = [one.strip for one in edition.sown if one.crop == "corn"]
    entries = [
        Stand(day=DAY, strip=3, crop="corn", plants=31, length_m=5.3, row_m=0.762),
        Event(day=DAY, strip=3, what="hail <b>&"),
        Remark(day=DAY, remark="dry"),
        *(weighed(edition, strip, 190 + strip) for strip in corn[:-1]),
    ]
    for strip in corn[:3]:
        entries += [
            weighed(edition, strip, level * (180 + strip), rows=(row, row))
            for row, level in ((1, 1.2), (2, 1.1), (8, 1.0), (9, 1.02))
        ]
    season = season_told(layout, Kept(edition, *entries))
    found = told(tmp_path, layout, lambda one, laid: journal_story(one, laid, season), ink)
    said = " ".join(" ".join(texts_of(found)).split())
    for each in (
        f"{len(entries)} entries from 2026-05-04 to 2026-10-03.", "hail <b>&", "dry",
        "Yield of corn at 15.5 % moisture", "dashed: planned alone, 200.0 bu/acre",
        "193.0 bu/acre", "Rows of corn by place", "What it tells",
        "What this can't tell: one field",
    ):  # fmt: skip
        assert each in said
    # each strip stands in the table, those without an entry with dashes
    assert f"{len(corn) - 1} weighed" in said
    assert {str(one.strip) for one in edition.sown} <= set(texts_of(found))


def test_the_map_shades_strips_by_their_share_of_their_crops_mean(layout, edition, tmp_path):
    corn = [one.strip for one in edition.sown if one.crop == "corn"]
    levels = dict(zip(corn, (0.8, 1.2, 1.0), strict=False))
    entries = [weighed(edition, strip, 200 * level) for strip, level in levels.items()]
    hail = Event(day=DAY, strip=corn[1], what="hail")
    season = season_told(layout, Kept(edition, *entries, hail))
    assert shares_of_mean(season.journal) == pytest.approx(levels)
    found = told(tmp_path, layout, lambda one, laid: journal_story(one, laid, season))
    number = f"{len(entries) + 1}"
    assert f"{number}: 2026-05-04, hail" in found[-1].texts
    drawn = shapes(tmp_path / "told.pdf", len(found))
    land = {one.fill: one.box for one in drawn if np.ptp(one.points[:, 1]) > 100}
    assert {*land} & {*RAMP} == {RAMP[0], RAMP[2], RAMP[4]}
    # what was seen stands on its strip
    (mark,) = [one for one in found[-1].words if one.text == number and "Bold" in one.font]
    left, bottom, right, top = land[RAMP[4]]
    middle_x, middle_y = ((mark.box[at] + mark.box[at + 2]) / 2 for at in (0, 1))
    assert left < middle_x < right
    assert bottom < middle_y < top


def test_what_is_to_stand_is_told_of_a_mixture_by_the_share_of_each(layout, edition):
    """Half a rate of corn in the mixture's strips, a full one in the others."""
    mixture = Mixture(parts={"corn": 0.5, "soybean": 0.5}, planter="planter", harvester="platform")
    plan = layout.plan.model_copy(update={"mixtures": {"both": mixture}})
    pieces = [replace(one, crop="both") if one.strip == 1 else one for one in edition.pieces]
    both = replace(edition, pieces=tuple(pieces))
    found = journal_of(plan, both, (), ())
    told = {(one.strip, one.crop): one.planned_per_m2 for one in found.strips}
    assert told[3, "corn"] == pytest.approx(34_000 * 0.95 / ACRE_M2)
    assert told[1, "corn"] == pytest.approx(told[3, "corn"] / 2)


def test_what_cant_be_compared_is_told(layout, edition, tmp_path):
    season = season_told(layout, Kept(edition, weighed(edition, 1, 190)))
    assert (season.findings, season.untold) == (None, NO_PLOTS)
    alone = season_told(layout, Kept(edition, weighed(edition, 1, 190, rows=(1, 1))))
    assert alone.untold == (
        "Yields are not compared: corn: has no rows inside, that rows at edges are held against."
    )
    with pytest.raises(OutputError, match=r"^season\.png: must end in \.pdf$"):
        write_journal(layout, season, tmp_path / "season.png")
    assert not list(tmp_path.iterdir())


def test_bars_are_as_high_as_their_values(tmp_path):
    look = looks_of(["corn"], "color")["corn"]
    values = (50.0, 200.0, None, 120.0)
    bars = [Bar(str(number), value, number == 4) for number, value in enumerate(values, start=1)]
    chart = bar_chart(bars, look, "bu/acre", 80.0, level=100.0, words="dashed: plan")
    path = tmp_path / "bars.pdf"
    (page,) = written(path, book(), [chart])
    assert {"1", "2", "3", "4", "-", "0", "200"} <= {word.text for word in page.words}
    drawn = shapes(path)
    outlines = [one for one in drawn if one.line == "#000000" and one.wide_pt == 0.5]
    (frame,) = [one for one in outlines if len(one.points) >= 3 * 4]
    boxes = frame.points.reshape(3, -1, 2)
    high = np.ptp(boxes[:, :, 1], axis=1)
    assert sorted(high / high.max()) == pytest.approx([0.25, 0.6, 1.0], abs=2e-3)
    (dashed,) = [one for one in drawn if one.dashed]
    foot = boxes[:, :, 1].min()
    assert (dashed.box[1] - foot) / high.max() == pytest.approx(0.5, abs=2e-3)


def compared(value, low, high, spread=0.04):
    """Give corn in strips and alone, with a difference between them in bushels to the acre."""
    one = BUSHEL_KG / ACRE_M2
    means = {"alone": Interval(180 * one, 0, 0), "strips": Interval((180 + value) * one, 0, 0)}
    ends = Interval(*(each * one for each in (value, low, high)))
    pair = Difference("strips", "alone", ends, value / 180, 0.04, 9 * one)
    return Compared("corn", 8, 4, "blocks", means, (), (pair,), spread)


@pytest.mark.parametrize(
    ("ends", "said"),
    [
        (
            (10.0, 4.0, 16.0),
            (
                "Corn, strips: 10.0 bu/acre more than alone (5.6 %); the true difference lies "
                "between 4.0 bu/acre and 16.0 bu/acre more, 19 times out of 20. That is 1.4 times "
                "what a plot strays by chance."
            ),
        ),
        (
            (-10.0, -16.0, -4.0),
            (
                "Corn, strips: 10.0 bu/acre less than alone (5.6 %); the true difference lies "
                "between 4.0 bu/acre and 16.0 bu/acre less, 19 times out of 20. That is 1.4 times "
                "what a plot strays by chance."
            ),
        ),
        (
            (2.0, -5.0, 9.0),
            (
                "Corn, strips: 2.0 bu/acre more than alone (1.1 %), which may be chance: the true "
                "difference lies anywhere from 5.0 bu/acre less to 9.0 bu/acre more, 19 times out "
                "of 20. It is 0.3 times what a plot strays by chance. A difference of 9.0 bu/acre "
                "(5 %) would have been seen 4 times out of 5."
            ),
        ),
    ],
)
def test_a_difference_is_told_with_its_interval_and_its_size(layout, ends, said):
    found = Findings("records", (compared(*ends),), (), {}, ())
    first, second, last = sentences(found, layout.plan)
    assert first.startswith("Corn: alone 180.0 bu/acre, strips ")
    assert second == said
    assert last.startswith("What this can't tell: one field in one season")


def test_land_and_edges_are_told_with_their_intervals(layout):
    ratio = LandRatio("strips", Interval(1.08, 1.02, 1.14), {"corn": 0.6, "soybean": 0.48}, 4)
    gain = EdgeGain(1, "west", Interval(0.17, 0.12, 0.22), 0.01, 4)
    found = Findings("records", (), (ratio,), {"corn": (gain,)}, ())
    land, edges, _ = sentences(found, layout.plan)
    assert land == (
        "Land equivalent ratio of strips: 1.08 (1.02 to 1.14, 19 times out of 20). For what they "
        "yielded, the crops alone would have needed 1.08 times the land (corn 0.60, soybean 0.48); "
        "above 1 land is saved, below it lost: here land is saved."
    )
    assert edges == (
        "Corn: row 1 from the edge on the west side yielded 17 % more than rows inside (+12 to "
        "+22 %, 19 times out of 20), on 4 strips."
    )


def test_that_ground_may_differ_is_not_said_of_treatments_drawn_by_lot(layout):
    by_ground = "treatments that were not drawn by lot may differ by their ground"
    said = [
        list(sentences(Findings("records", (compared(10.0, 4.0, 16.0),), (), {}, (), drawn),
                       layout.plan))[-1]
        for drawn in (False, True)
    ]  # fmt: skip
    assert [by_ground in one for one in said] == [True, False]


def test_rows_that_tell_nothing_leave_what_strips_tell():
    random = np.random.default_rng(1)
    plots = [
        Plot(f"{block}", treatment, "corn", 1.0 + 0.02 * random.normal())
        for block in range(4)
        for treatment in ("strips", "alone")
    ]
    lone = Plot("0", "strips", "corn", 1.2, strip=1, row=1)
    found = findings_of("records", [*plots, lone], {})
    assert [one.plots for one in found.crops] == [8]
    assert "rows at edges of corn: has no rows inside, that rows at edges are held against" in (
        found.untold
    )
    with pytest.raises(YieldError, match="has no rows inside"):
        findings_of("records", [lone], {})
