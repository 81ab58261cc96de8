"""Tables of plots: read with their units, refused with their line, told in a few lines."""

import json

import numpy as np
import pytest
from fields import SHED, square, write_plan_for

from striplay.errors import YieldError
from striplay.files.plan import read_plan
from striplay.files.plots import read_plots
from striplay.records.analysis_report import findings_data, findings_report
from striplay.records.findings import findings_of

HEADS = "block,treatment,crop,yield,land_share,strip,row\n"


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return read_plan(write_plan_for(tmp_path_factory.mktemp("plots"), square(660), shed=SHED))


def trial(blocks=5, seed=1):
    """Write a trial of strips against each crop alone, with rows of strips besides."""
    random = np.random.default_rng(seed)
    lines = [HEADS]
    for block in range(1, blocks + 1):
        for crop, alone, together in (("corn", 180, 196), ("soybean", 55, 51)):
            for treatment, mean in (("alone", alone), ("strips", together)):
                share = 0.5 if treatment == "strips" else ""
                amount = mean * (1 + 0.03 * random.normal())
                lines.append(f"{block},{treatment},{crop},{amount:.1f} bu/acre,{share},,\n")
        for row, mean in ((1, 225), (2, 190), ("inside", 185)):
            amount = mean * (1 + 0.03 * random.normal())
            lines.append(f"{block},strips,corn,{amount:.1f} bu/acre,,{block},{row}\n")
    return "".join(lines)


def read(plan, folder, text):
    path = folder / "plots.csv"
    path.write_text(text)
    return read_plots(path, plan)


def findings(plan, folder, text):
    table = read(plan, folder, text)
    return findings_of("plots.csv", table.plots, table.shares)


@pytest.fixture(scope="module")
def found(plan, tmp_path_factory):
    return findings(plan, tmp_path_factory.mktemp("trial"), trial())


def test_all_that_a_trial_tells_stands_in_25_lines_with_effect_and_interval(plan, found):
    lines = list(findings_report(found, plan))
    assert len(lines) <= 25
    text = "\n".join(lines)
    assert "corn: 10 plots in 5 blocks" in text
    assert "land equivalent ratio of strips: 0.99 (0.97 to 1.02), corn 0.55 + soybean 0.44" in text
    assert "corn, rows at the edge against those inside: row 1 +2" in text
    for line in lines:  # no p without what it is of, and how much
        if " p " in line:
            assert ("bu/acre (" in line and "%" in line) or "F(" in line, line
    assert "*" not in text
    assert lines[-1].startswith("can't be told: one field in one season: it can't tell of another")


def test_few_blocks_are_told_with_the_difference_they_would_have_seen(plan, tmp_path):
    found = findings(plan, tmp_path, trial(blocks=2))
    text = "\n".join(findings_report(found, plan))
    assert "2 blocks are few" in text
    assert "would have seen 4 times out of 5" in text.replace("been seen", "seen")
    pair = found.crops[0].differences[0]
    assert pair.least_kg_per_m2 > abs(pair.kg_per_m2.value)


def test_findings_are_plain_data(found):
    data = json.loads(json.dumps(findings_data(found), allow_nan=False))
    assert [one["crop"] for one in data["crops"]] == ["corn", "soybean"]
    assert data["crops"][0]["lines"][-1]["source"] == "error"
    assert data["land_equivalent_ratios"][0]["treatment"] == "strips"
    assert [one["row"] for one in data["edges"]["corn"]] == [1, 2]


def test_without_shares_of_land_no_ratio_is_made_up(plan, tmp_path):
    text = trial().replace(",0.5,", ",,")
    found = findings(plan, tmp_path, text)
    assert found.ratios == ()
    assert "the ratio of land of strips, for want of land_share" in found.untold


BAD = {
    "1,strips,corn,180,,,": (
        'plots.csv: line 2: yield: "180" is not a yield; write a number and a unit, such as '
        '"180 bu/acre"'
    ),
    "1,strips,maize,180 bu/acre,,,": (
        'plots.csv: line 2: crop: no crop "maize"; known are corn, soybean'
    ),
    "1,strips,corn,,,,": "plots.csv: line 2: yield: is missing; for example 180 bu/acre",
    "1,strips,corn,180 bu/acre,2,,": (
        'plots.csv: line 2: land_share: "2" is no share; it is above 0, at most 1'
    ),
    "1,strips,corn,180 bu/acre,,one,": (
        'plots.csv: line 2: strip: "one" is no whole number from 1'
    ),
    "1,strips,corn,180 bu/acre,,,,,": (
        "plots.csv: line 2: has more values than the 7 columns; see its commas"
    ),
}


@pytest.mark.parametrize(("line", "said"), BAD.items())
def test_a_line_that_cant_be_is_refused_with_its_number(plan, tmp_path, line, said):
    with pytest.raises(YieldError) as refused:
        read(plan, tmp_path, HEADS + line + "\n")
    assert str(refused.value) == said


def test_a_table_without_its_columns_says_which_it_has(plan, tmp_path):
    with pytest.raises(YieldError) as refused:
        read(plan, tmp_path, "plot,crop\n1,corn\n")
    assert str(refused.value) == (
        "plots.csv: line 1: has no column block, treatment, yield; it has plot, crop"
    )
