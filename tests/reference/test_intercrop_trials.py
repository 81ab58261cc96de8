"""Indices against published trials: each ratio as its source prints it, from the yields it prints.

Only sets whose ratios follow from their own figures, to half of the last digit printed, stand here.
`read` figures were read in their source, or in the database named; `from memory` are recalled.
`reckoned` sets print parts or rows alone, and the ratio is arithmetic on these.
"""

from dataclasses import dataclass
from fractions import Fraction

import pytest
from click.testing import CliRunner

from striplay.cli import main
from striplay.economics.indices import (
    Grown,
    aggressivity,
    area_time_equivalent_ratio,
    competitive_ratio,
    land_equivalent_ratio,
    monetary_advantage,
    monetary_equivalent_ratio,
    net_effect_ratio,
)

PAUT = "in a database of intercropping trials, Paut and others, Scientific Data, 2024; read"


@dataclass(frozen=True)
class Published:
    """A trial as printed: yields together and alone, t/ha or as shares, and its ratios as text.

    Attributes:
        source: where, and whether read, reckoned or from memory.
        crops: name, yield together, yield alone, as printed.
        parts: its partial ratios as printed; empty where it prints none.
        ratio: its land equivalent ratio as printed.
        shares: of the land; empty where they are not told.
    """

    source: str
    crops: tuple[tuple[str, str, str], ...]
    parts: tuple[str, ...]
    ratio: str
    shares: tuple[str, ...] = ()


TRIALS = {
    "maize and potato": Published(
        f"Bantie 2015, {PAUT}",
        (("maize", "4.1", "4.2"), ("potato", "23.3", "24.7")), ("0.976", "0.943"), "1.92",
        ("0.5", "0.5"),
    ),
    "maize and bean": Published(
        f"Temesgen 2015, {PAUT}",
        (("maize", "5.7", "5.88"), ("bean", "0.21", "0.62")), ("0.969", "0.339"), "1.308",
    ),
    "carrot and groundnut": Published(
        f"Mondal 2012, {PAUT}",
        (("carrot", "13.88", "22.61"), ("groundnut", "1.15", "2.01")), ("0.614", "0.572"), "1.186",
    ),
    "maize, bean and squash": Published(
        "Amador 1980, in Gliessman, Agroecology, 1998: 1,720, 110 and 80 kg/ha beside the best of "
        "four stands alone, 1,230, 740 and 430; from memory",
        (("maize", "1.72", "1.23"), ("bean", "0.11", "0.74"), ("squash", "0.08", "0.43")),
        ("1.40", "0.15", "0.19"), "1.73",
    ),
    "corn and soybean in 8-row strips": Published(
        "West & Griffith, Journal of Production Agriculture 5:107-110, 1992: outside rows +25.8 "
        "and -26.6 %; reckoned: +6.45 and -6.65 % of half the land each",
        (("corn", "0.53225", "1"), ("soybean", "0.46675", "1")), ("0.532", "0.467"), "0.999",
        ("0.5", "0.5"),
    ),
    "corn and soybean in 6-row strips north and south": Published(
        "Iragavarapu & Randall, Journal of Production Agriculture 9, 1996: corn's rows +23 and +27 "
        "%, soybean's -19 and -21; reckoned: sums over 6 rows, half the land each",
        (("corn", "0.541667", "1"), ("soybean", "0.466667", "1")), (), "1.008", ("0.5", "0.5"),
    ),
    "corn and soybean in strips, least": Published(
        "Verdelli and others, International Journal of Agronomy, 980284, 2012: strips of corn +13 "
        "and of soybean -11 %; reckoned, half the land each",
        (("corn", "0.565", "1"), ("soybean", "0.445", "1")), (), "1.01", ("0.5", "0.5"),
    ),
    "corn and soybean in strips, most": Published(
        "the same: strips of corn +16 and of soybean -2 %; reckoned, half the land each",
        (("corn", "0.58", "1"), ("soybean", "0.49", "1")), (), "1.07", ("0.5", "0.5"),
    ),
    "wheat and soybean in relay": Published(
        "62 and 71 % of alone; reckoned", (("wheat", "0.62", "1"), ("soybean", "0.71", "1")),
        ("0.62", "0.71"), "1.33",
    ),
}  # fmt: skip


def grown(trial):
    shares = trial.shares or ("1",) * len(trial.crops)
    return [
        Grown(name, float(together), float(alone), float(share))
        for (name, together, alone), share in zip(trial.crops, shares, strict=True)
    ]


def half_a_digit(printed):
    """Give half of the last digit of a printed number."""
    return 0.5000001 * 10.0 ** -len(printed.partition(".")[2])


@pytest.mark.parametrize("name", TRIALS)
def test_ratios_follow_from_printed_yields(name):
    trial = TRIALS[name]
    crops = grown(trial)
    ratio = land_equivalent_ratio(crops)
    assert ratio == pytest.approx(float(trial.ratio), abs=half_a_digit(trial.ratio))
    for crop, part in zip(crops, trial.parts, strict=False):
        assert crop.land_equivalent == pytest.approx(float(part), abs=half_a_digit(part))


@pytest.mark.parametrize("name", [name for name in TRIALS if len(TRIALS[name].crops) == 2])
def test_other_indices_by_fractions(name):
    """The other indices, on the same printed yields, in whole fractions (arithmetic).

    Where shares of the land are not told, half and half is taken.
    """
    trial = TRIALS[name]
    crops = [Grown(c.name, c.together, c.alone, 0.5, days=d)
             for c, d in zip(grown(trial), (120, 90), strict=True)]  # fmt: skip
    (a, a_alone), (b, b_alone) = (
        (Fraction(together), Fraction(alone)) for _, together, alone in trial.crops
    )
    one, two = a / a_alone, b / b_alone
    assert competitive_ratio(*crops) == pytest.approx(float(a * b_alone / (a_alone * b)))
    assert aggressivity(*crops) == pytest.approx(float(2 * one - 2 * two))
    expected = (a_alone + b_alone) / 2
    assert net_effect_ratio(crops) == pytest.approx(float((a + b) / expected))
    timed = area_time_equivalent_ratio(crops, 120)
    assert timed == pytest.approx(float(one + two * Fraction(90, 120)))


def test_castor_and_groundnut_save_land_and_earn_less():
    """Castor and groundnut 1:5, source not at hand: LER 1.13, advantage 15,072, groundnut +12.5 %.

    What follows from these alone: value together 15,072 x 1.13 / 0.13, groundnut alone 1.125 times
    it, so that the monetary equivalent ratio is 1 / 1.125 = 0.889. How the 1.13 is shared between
    the crops is not told: any share gives the same, and two are tried.
    """
    value = 15_072 * 1.13 / 0.13
    for part in (0.33, 0.27):
        groundnut = Grown("groundnut", 1.13 - part, 1.0, 5 / 6, price=1.125 * value)
        left = value - groundnut.together * 1.125 * value
        castor = Grown("castor", part, 1.0, 1 / 6, price=left / part)
        crops = [castor, groundnut]
        assert land_equivalent_ratio(crops) == pytest.approx(1.13)
        assert monetary_advantage(crops) == pytest.approx(15_072)
        assert monetary_equivalent_ratio(crops) == pytest.approx(0.889, abs=5e-4)


def test_the_command_reads_these_trials_as_printed(tmp_path):
    lines = ["trial,crop,together,alone"]
    for name, trial in TRIALS.items():
        said = name.replace(",", "")
        lines += [f"{said},{crop},{one} t/ha,{alone} t/ha" for crop, one, alone in trial.crops]
    path = tmp_path / "trials.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    told = CliRunner().invoke(main, ["pay", "--trial", str(path)]).stdout.splitlines()
    assert len(told) == len(TRIALS)
    for line, (name, trial) in zip(told, TRIALS.items(), strict=True):
        assert line.startswith(f"{name.replace(',', '')}: land equivalent ratio ")
        ratio = line.partition("ratio ")[2].split()[0]
        step = half_a_digit(trial.ratio) + half_a_digit("0.000")
        assert float(ratio) == pytest.approx(float(trial.ratio), abs=step)
