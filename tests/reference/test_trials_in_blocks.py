"""Trials in blocks, against published analyses of classic ones, and against other libraries."""

import numpy as np
import pytest
from classic_trials import IMMER, NPK, OATS, SLEEP, STOOLS
from scipy import linalg, optimize, stats

from striplay.errors import YieldError
from striplay.records.analysis import _random_blocks, compare, least_seen, paired, variance_lines
from striplay.records.edge_gains import edge_gains
from striplay.records.land_ratio import land_ratio
from striplay.records.plots import Plot


def lines_of(plots):
    return {line.source: line for line in variance_lines(plots)}


def test_varieties_of_oats_in_whole_plots():
    """R's table of yield by block and variety, error of whole plots: from memory."""
    plots = [Plot(block, one, "oats", float(np.mean(tons))) for (block, one), tons in OATS.items()]
    lines = lines_of(plots)
    # of means of four subplots, so that sums of squares are a quarter
    assert 4 * lines["block"].mean_square == pytest.approx(3175.1, abs=0.05)
    assert 4 * lines["treatment"].mean_square == pytest.approx(893.2, abs=0.05)
    assert 4 * lines["error"].mean_square == pytest.approx(601.3, abs=0.05)
    assert (lines["treatment"].df, lines["error"].df) == (2, 10)
    assert lines["treatment"].f == pytest.approx(1.485, abs=5e-4)
    assert lines["treatment"].p == pytest.approx(0.272, abs=5e-4)
    found = compare(plots, "oats")
    assert not any(pair.seen for pair in found.differences)


def test_barley_at_six_places():
    """R's table of 1931 yields by place and variety: from memory."""
    plots = [
        Plot(place, variety, "barley", tons)
        for place, own in IMMER.items()
        for variety, tons in own.items()
    ]
    lines = lines_of(plots)
    assert lines["block"].sum_of_squares == pytest.approx(17829.8, abs=0.05)
    assert lines["treatment"].sum_of_squares == pytest.approx(2756.6, abs=0.05)
    assert (lines["block"].df, lines["treatment"].df, lines["error"].df) == (5, 4, 20)


def test_peas_with_and_without_nitrogen():
    """R's table of npk: sums of squares 343.3 of blocks, 189.3 of nitrogen: from memory."""
    means: dict[tuple[str, int], list[float]] = {}
    for block, nitrogen, pounds in NPK:
        means.setdefault((block, nitrogen), []).append(pounds)
    plots = [
        Plot(block, f"nitrogen {level}", "peas", float(np.mean(own)))
        for (block, level), own in means.items()
    ]
    lines = lines_of(plots)
    assert 2 * lines["block"].sum_of_squares == pytest.approx(343.3, abs=0.05)
    assert 2 * lines["treatment"].sum_of_squares == pytest.approx(189.3, abs=0.05)


def test_sleep_of_ten_patients_is_a_paired_t_test_either_way():
    """R's t.test: t -4.0621, p 0.002833, interval -2.4598858 to -0.7001142: from memory."""
    plots = [
        Plot(str(patient), drug, "sleep", 10 + hours)
        for drug, own in SLEEP.items()
        for patient, hours in enumerate(own)
    ]
    less, p = paired(plots, "1", "2")
    assert (less.value, less.low, less.high) == pytest.approx((-1.58, -2.4598858, -0.7001142))
    assert p == pytest.approx(0.002833, abs=5e-7)
    pair = compare(plots, "sleep").differences[0]
    assert (pair.one, pair.other) == ("2", "1")
    assert pair.p == pytest.approx(p, rel=1e-9)
    assert pair.kg_per_m2.low == pytest.approx(-less.high, rel=1e-9)
    assert pair.kg_per_m2.high == pytest.approx(-less.low, rel=1e-9)


def stools():
    return [
        Plot(str(person), stool, "effort", float(effort))
        for stool, own in STOOLS.items()
        for person, effort in enumerate(own)
    ]


def test_stools_with_people_drawn_at_random():
    """Pinheiro and Bates, Mixed-Effects Models in S and S-PLUS, 2000, section 1.2: from memory."""
    fit = _random_blocks(stools(), 1.0)
    assert fit.fe_params.tolist() == pytest.approx(
        [8.555556, 3.888889, 2.222222, 0.666667], abs=1e-6
    )
    assert float(np.sqrt(fit.cov_re.iloc[0, 0])) == pytest.approx(1.332465, abs=5e-5)
    assert float(np.sqrt(fit.scale)) == pytest.approx(1.100295, abs=5e-5)


def restricted(plots):
    """Fit the same model by its likelihood written out: matrices whole, the ratio searched."""
    names = list(dict.fromkeys(one.treatment for one in plots))
    blocks = list(dict.fromkeys(one.block for one in plots))
    y = np.array([one.kg_per_m2 for one in plots])
    x = np.array([[1.0, *(one.treatment == name for name in names[1:])] for one in plots])
    z = np.array([[one.block == block for block in blocks] for one in plots], dtype=float)

    def solved(log_ratio):
        v = np.eye(len(y)) + np.exp(log_ratio) * z @ z.T
        w = linalg.inv(v)
        inner = x.T @ w @ x
        beta = linalg.solve(inner, x.T @ w @ y)
        left = y - x @ beta
        scale = left @ w @ left / (len(y) - x.shape[1])
        size = (len(y) - x.shape[1]) * np.log(scale)
        return (
            size + np.linalg.slogdet(v)[1] + np.linalg.slogdet(inner)[1],
            beta,
            scale * linalg.inv(inner),
        )

    best = optimize.minimize_scalar(lambda at: solved(at)[0], bounds=(-8, 6), method="bounded")
    _, beta, covariance = solved(best.x)
    return names, beta, covariance


def test_blocks_that_are_not_whole_against_the_likelihood_written_out():
    plots = [one for number, one in enumerate(stools()) if number not in {0, 13, 30}]
    found = compare(plots, "effort")
    assert found.how == "random blocks"
    assert found.lines == ()
    names, beta, covariance = restricted(plots)
    firsts = [pair for pair in found.differences if pair.other == names[0]]
    assert [pair.one for pair in firsts] == names[1:]
    assert [pair.kg_per_m2.value for pair in firsts] == pytest.approx(beta[1:].tolist(), rel=2e-4)
    wide = [pair.kg_per_m2.high - pair.kg_per_m2.low for pair in firsts]
    # 33 plots less 9 people and 3 differences: degrees of freedom as nlme counts them within people
    expected = 2 * stats.t.ppf(0.975, 21) * np.sqrt(np.diag(covariance)[1:])
    # the library has its errors from the curvature of the likelihood, this from the model
    assert wide == pytest.approx(expected.tolist(), rel=5e-3)


def test_intervals_with_a_plot_missing_hold_the_truth_nineteen_times_of_twenty():
    """What they claim, where one degree of freedom is left."""
    stands = [(block, name) for block in "123" for name in "ab"][:-1]
    held = 0
    for seed in range(12):
        random = np.random.default_rng(seed)
        blocks = dict(zip("123", 0.05 * random.normal(size=3), strict=True))
        plots = [
            Plot(block, name, "corn", 1.0 + blocks[block] + 0.05 * random.normal())
            for block, name in stands
        ]
        held += not compare(plots, "corn").differences[0].seen
    assert held >= 10  # of 11.4; by the normal 8 do


@pytest.mark.parametrize(("effect", "plots"), [(0.2, 393), (0.5, 64), (0.8, 26)])
def test_smallest_difference_against_cohens_table(effect, plots):
    """Plots of each of two groups for power 0.8 at 0.05 (Cohen 1988, table 2.4.1): from memory."""

    def seen(each):
        return least_seen(np.sqrt(2 / each), 2 * each - 2)

    assert seen(plots) <= effect * 1.002
    assert seen(plots - 1) > effect


def shaped(blocks, spread, seed):
    """Give plots of two crops in strips and alone, their errors going together within blocks."""
    random = np.random.default_rng(seed)
    truth = {("corn", "strips"): 1.15, ("corn", "alone"): 1.0, ("bean", "strips"): 0.30,
             ("bean", "alone"): 0.35}  # fmt: skip
    for block in range(blocks):
        own = 1 + spread * random.normal()
        for (crop, grown), mean in truth.items():
            yield Plot(str(block), grown, crop, mean * own * (1 + spread * random.normal()))


SHARES = {"corn": 0.5, "bean": 0.5}
TRUE_RATIO = 0.5 * 1.15 + 0.5 * 0.30 / 0.35


def test_ratio_of_land_against_the_bootstrap_of_another_library():
    plots = list(shaped(40, 0.12, 2))
    found = land_ratio(plots, "strips", SHARES).ratio
    each = {(one.block, one.crop, one.treatment): one.kg_per_m2 for one in plots}
    columns = [("corn", "strips"), ("corn", "alone"), ("bean", "strips"), ("bean", "alone")]
    table = [np.array([each[str(block), *column] for block in range(40)]) for column in columns]

    def ratio(a, b, c, d, axis=-1):
        means = [one.mean(axis=axis) for one in (a, b, c, d)]
        return 0.5 * means[0] / means[1] + 0.5 * means[2] / means[3]

    drawn = stats.bootstrap(
        table, ratio, paired=True, n_resamples=4000, method="percentile",
        rng=np.random.default_rng(1),
    ).confidence_interval  # fmt: skip
    assert found.value == pytest.approx(float(ratio(*table)), rel=1e-12)
    assert found.high - found.low == pytest.approx(drawn.high - drawn.low, rel=0.12)
    assert found.low == pytest.approx(drawn.low, abs=0.02)


@pytest.mark.parametrize("blocks", [4, 8])
def test_intervals_of_the_ratio_of_land_hold_the_truth_nineteen_times_of_twenty(blocks):
    held = 0
    for seed in range(250):
        found = land_ratio(list(shaped(blocks, 0.1, seed)), "strips", SHARES).ratio
        held += found.low <= TRUE_RATIO <= found.high
    assert 0.91 <= held / 250 <= 0.99  # 0.95, give or take three standard errors


def test_ratio_of_land_of_published_means():
    """Maize and potato 1:1, 4.2 and 24.7 t/ha alone, 4.1 and 23.3 together: .976, .943, 1.92.

    Bantie 2015, as in the database of Paut et al., Sci. Data 2024; from memory. Yields together are
    by all of the land, so that on each crop's own half they are twice as much.
    """
    plots = [
        Plot(block, grown, crop, tons)
        for block in ("1", "2")
        for crop, alone, together in (("maize", 4.2, 4.1), ("potato", 24.7, 23.3))
        for grown, tons in (("alone", alone), ("1:1", 2 * together))
    ]
    found = land_ratio(plots, "1:1", {"maize": 0.5, "potato": 0.5})
    assert found.parts == pytest.approx({"maize": 0.976, "potato": 0.943}, abs=5e-4)
    assert found.ratio.value == pytest.approx(1.92, abs=5e-3)


def test_gains_of_one_row_a_strip_are_a_paired_t_test_of_logarithms():
    random = np.random.default_rng(4)
    inner = 0.9 * np.exp(0.1 * random.normal(size=7))
    outer = inner * 1.2 * np.exp(0.05 * random.normal(size=7))
    plots = [
        plot
        for strip, (inside, outside) in enumerate(zip(inner, outer, strict=True), start=1)
        for plot in (
            Plot("1", "strips", "corn", inside, strip, inner=True),
            Plot("1", "strips", "corn", outside, strip, row=1),
        )
    ]
    (found,) = edge_gains(plots, "corn")
    test = stats.ttest_rel(np.log(outer), np.log(inner))
    low, high = np.expm1(test.confidence_interval())
    assert found.gain.value == pytest.approx(np.expm1(np.log(outer / inner).mean()), rel=1e-9)
    assert (found.gain.low, found.gain.high) == pytest.approx((low, high), rel=1e-9)
    assert found.p == pytest.approx(float(test.pvalue), rel=1e-9)
    assert (found.row, found.side, found.strips) == (1, "", 7)


def test_gains_by_side_and_place_are_found_again():
    gains = {("east", 1): 0.23, ("west", 1): 0.27, ("west", 2): 0.05}
    random = np.random.default_rng(6)
    plots = []
    for strip in range(1, 7):
        level = 1 + 0.3 * random.normal() ** 2
        inside = [Plot("1", "strips", "corn", level, strip, inner=True) for _ in range(4)]
        edges = [
            Plot("1", "strips", "corn", level * (1 + gain), strip, row=row, side=side)
            for (side, row), gain in gains.items()
        ]
        plots += inside + edges
    found = {(one.side, one.row): one.gain.value for one in edge_gains(plots, "corn")}
    assert found == pytest.approx(gains, rel=1e-9)


def plots_of(*lines):
    return [Plot(block, treatment, "corn", tons) for block, treatment, tons in lines]


REFUSED = {
    "corn: has one treatment, a; two or more are compared": [("1", "a", 1.0), ("2", "a", 1.1)],
    (
        "corn: has one block, 1; without a second nothing tells what chance does"
    ): [("1", "a", 1.0), ("1", "b", 1.1)],
    (
        "corn: differs by treatment and block alone, to the last digit, so nothing tells what "
        "chance does; give yields as they were weighed"
    ): [("1", "a", 1.0), ("1", "b", 1.2), ("2", "a", 1.1), ("2", "b", 1.3), ("3", "a", 1.0)],
    "corn: a yield of b is not above 0": [("1", "a", 1.0), ("1", "b", 0.0), ("2", "a", 1.1)],
    (
        "corn: has a twice in block 1; give their mean, or tell blocks apart"
    ): [("1", "a", 1.0), ("1", "a", 1.1), ("2", "b", 1.0)],
    (
        "corn: has too few plots to tell treatments from blocks; each treatment is needed in two "
        "blocks or more, beside the others"
    ): [("1", "a", 1.0), ("1", "b", 1.1), ("2", "c", 1.0)],
}  # fmt: skip


def test_where_the_likelihood_finds_no_errors_pairs_within_blocks_tell():
    """The paired t-test of the blocks that have both, by hand: -0.115 and -0.031."""
    lines = [("1", "a", 1.0), ("1", "b", 0.885), ("2", "a", 0.991), ("2", "b", 0.96),
             ("3", "a", 1.091)]  # fmt: skip
    found = compare(plots_of(*lines), "corn")
    assert found.how == "uneven blocks"
    (pair,) = found.differences
    assert pair.kg_per_m2.value == pytest.approx(-0.073)
    reach = stats.t.ppf(0.975, 1) * 0.042
    assert pair.kg_per_m2.high - pair.kg_per_m2.value == pytest.approx(reach)


@pytest.mark.parametrize(("said", "lines"), REFUSED.items())
def test_plots_that_cant_be_compared_are_refused(said, lines):
    with pytest.raises(YieldError) as refused:
        compare(plots_of(*lines), "corn")
    assert str(refused.value) == said


def test_a_ratio_of_land_needs_both_crops_so_and_alone():
    plots = [one for one in shaped(4, 0.1, 0) if (one.crop, one.treatment) != ("bean", "alone")]
    with pytest.raises(YieldError, match=r"^bean: has no plot of alone, which "):
        land_ratio(plots, "strips", SHARES)
