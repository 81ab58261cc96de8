"""Notices: what they hold, their order, and that they reach accounts, report and map book."""

from dataclasses import asdict
from typing import get_args

import pytest
import shapely
from fields import SHED, lay_on, square, texts, write_shapes

from striplay.notices import KINDS, SEVERITIES, Kind, Notice, Severity, gravest_first
from striplay.report import notice_lines


def test_a_notice_is_its_text_to_a_reader():
    notice = Notice("slope", "mind", None, "rows fall by 3 %")
    assert str(notice) == f"{notice}" == "rows fall by 3 %"
    assert notice_lines([notice]) == ["note: rows fall by 3 %"]


@pytest.mark.parametrize(
    ("place", "held"), [((-93.5, 42.0), [-93.5, 42.0]), ("strip 3", "strip 3"), (None, None)]
)
def test_as_data_it_has_four_keys(place, held):
    assert Notice("wheels", "stop", place, "said").data == {
        "kind": "wheels",
        "severity": "stop",
        "place": held,
        "text": "said",
    }


def test_the_gravest_come_first_and_others_stay_in_order():
    given = [Notice("fit", grave, None, str(number)) for number, grave in
             enumerate(["know", "mind", "stop", "mind", "know", "stop"])]  # fmt: skip
    assert texts(gravest_first(given)) == ["2", "5", "1", "3", "0", "4"]
    assert gravest_first([]) == []


def test_every_kind_and_severity_has_its_meaning():
    assert set(KINDS) == set(get_args(Kind))
    assert tuple(SEVERITIES) == get_args(Severity)


SOWN = {"corn": "sown = 2026-05-01\nharvested = 2026-10-01",
        "soybean": "sown = 2026-05-20\nharvested = 2026-09-20"}  # fmt: skip


def test_a_layout_gives_them_gravest_first_in_the_order_of_the_flow(tmp_path):
    write_shapes(tmp_path, shapely.box(900, 0, 950, 50), name="trees.geojson")
    shed = SHED
    for crop, days in SOWN.items():
        shed = shed.replace(f"[crops.{crop}]\n", f"[crops.{crop}]\n{days}\n")
    # a platform wider than its strip runs over the corn beside it
    layout = lay_on(
        tmp_path,
        square(1320),
        field='obstacles = "trees.geojson"',
        shed=shed.replace('width = "30 ft"', 'width = "60 ft"'),
        strips='[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n',
        direction="heading = 0\n[slope]\npercent = 6\ndownhill = 0",
    )
    kinds = [(notice.severity, notice.kind) for notice in layout.notices]
    assert kinds[0] == ("stop", "season")
    assert kinds[1] == ("mind", "obstacle")
    rest = [kind for _, kind in kinds[1:]]
    assert rest == sorted(rest, key=["obstacle", "fit", "slope", "operations", "season"].index)
    assert {"slope", "season"} <= set(rest)
    over = "2026-09-20: platform would run over corn, standing until 2026-10-01, beside soybean"
    assert layout.notices[0].text == over
    assert layout.accounts["notices"] == [notice.data for notice in layout.notices]


def test_conflicts_that_may_be_none_are_to_be_minded(tmp_path):
    shed = SHED
    for crop, days in SOWN.items():
        shed = shed.replace(f"[crops.{crop}]\n", f"[crops.{crop}]\n{days}\n")
    layout = lay_on(tmp_path, square(1320), shed=shed)
    turns = [notice for notice in layout.notices if "turns on the headland's corn" in notice.text]
    assert len(turns) == 2
    assert {(notice.kind, notice.severity) for notice in turns} == {("season", "mind")}


def test_accounts_hold_their_parts_in_order(tmp_path):
    layout = lay_on(tmp_path, square(1320))
    always = ["field", "areas_m2", "crops", "headland_crop", "rates_in_rows", "seed_to_buy"]
    always += ["passes", "operations", "operations_together", "notices"]
    weeks = "machine_weeks"
    assert list(layout.accounts) == [*always, "shares", "cost", weeks, "pairs"]
    # most tests read them where nothing need be driven
    assert layout.land_accounts.items() <= layout.accounts.items()
    cost = layout.accounts["cost"]
    assert cost["total"] == sum(cost["parts"].values())
    assert cost["parts"] == layout.laid.parts
    assert cost["point_rows"] == [asdict(each) for each in layout.point_rows]
    alone = '[[strips]]\ncrop = "corn"\nrows = 16\n'
    one = lay_on(tmp_path, square(1320), strips=alone, direction="pivot = [-93.5, 42.0]")
    assert list(one.accounts) == [*always, weeks]
