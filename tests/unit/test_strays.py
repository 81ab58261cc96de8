"""Sums of powers by Bernoulli polynomials, and the least of values over stretches of offsets."""

import numpy as np
import pytest

from striplay.geometry.strays import STRETCHES, Spans, bernoulli, least_within


@pytest.mark.parametrize("power", [0, 1, 2])
@pytest.mark.parametrize(
    ("below", "apart", "count"), [(0.0, 7.0, 5), (3.25, 7.0, 1), (6.9, 9.5, 12)]
)
def test_bernoulli_polynomials_add_up_powers(power, below, apart, count):
    """Against adding them up, as the formula in the module's docstring says."""
    summed = sum((below + apart * number) ** power for number in range(count))
    top = below + apart * (count - 1)
    ends = bernoulli(power + 1, np.array([top / apart + 1, below / apart]))
    assert apart**power / (power + 1) * (ends[0] - ends[1]) == pytest.approx(summed, rel=1e-12)


@pytest.mark.parametrize("order", [1, 2, 3])
def test_what_is_left_of_a_sum_has_no_mean(order):
    places = (np.arange(4000) + 0.5) / 4000
    assert bernoulli(order, places).mean() == pytest.approx(0.0, abs=1e-7)


@pytest.mark.parametrize("count", [1, 2, 3, 7, 8, 21])
def test_the_least_of_neighbors(count):
    values = np.random.default_rng(count).normal(size=(3, 60))
    found = least_within(values, count)
    assert found.shape == (3, 61 - count)
    assert np.array_equal(found[1], [values[1, at : at + count].min() for at in range(61 - count)])


@pytest.mark.parametrize("steps", [5, 128, 1000, 1281])
def test_no_offset_of_a_stretch_has_less(steps):
    """Wherever within a step a vertex lies: all that its stretch of offsets touches."""
    random = np.random.default_rng(steps)
    values = random.normal(size=(2, steps))
    spans = Spans(values)
    assert spans.stretches <= STRETCHES
    assert spans.stretches * spans.span >= steps
    which, place = random.integers(0, 2, 40), random.integers(0, steps, 40)
    found = spans.of_all(place)[which, np.arange(len(which))]
    for row, kind, at in zip(found, which, place, strict=True):
        first = at + np.arange(spans.stretches)[:, None] * spans.span
        touched = values[kind][(first + np.arange(spans.span + 1)) % steps]
        assert np.array_equal(row, touched.min(axis=1))
