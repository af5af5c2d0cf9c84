"""Student's t against published tables and an independent library; middles of ratios against the same."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from service.engine.science.ratios import credible, middle_of, odd_ones
from service.engine.science.student_t import probability_within, two_sided_t

RATIOS = st.lists(st.floats(0.2, 5.0), min_size=2, max_size=40)


@pytest.mark.parametrize(
    ("freedom", "within", "t"),
    [
        (1, 0.5, 1.000), (1, 0.95, 12.706), (2, 0.95, 4.303), (4, 0.95, 2.776), (5, 0.8, 1.476), (9, 0.95, 2.262),
        (10, 0.99, 3.169), (19, 0.95, 2.093), (29, 0.95, 2.045), (30, 0.9, 1.697), (60, 0.95, 2.000), (120, 0.95, 1.980),
    ],
)
def test_t_is_that_of_the_table(freedom: int, within: float, t: float) -> None:
    """Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, Table 26.10, three decimals."""
    assert two_sided_t(within, freedom) == pytest.approx(t, abs=5e-4)


@given(st.integers(1, 400), st.floats(0.01, 0.999))
def test_t_is_that_of_an_independent_library(freedom: int, within: float) -> None:
    t = two_sided_t(within, freedom)
    assert t == pytest.approx(stats.t.ppf((1.0 + within) / 2.0, freedom), rel=1e-7)
    assert probability_within(t, freedom) == pytest.approx(within, abs=1e-12)


@pytest.mark.parametrize(("within", "freedom"), [(0.0, 3), (1.0, 3), (0.95, 0)])
def test_what_is_no_probability_or_has_no_freedom_is_refused(within: float, freedom: int) -> None:
    with pytest.raises(ValueError, match=r"probability|freedom"):
        two_sided_t(within, freedom)


@given(RATIOS)
def test_the_middle_of_ratios_is_that_of_an_independent_library(ratios: list[float]) -> None:
    logs = np.log(ratios)
    made = middle_of(ratios, 0.95)
    assert made.mean == pytest.approx(stats.gmean(ratios))
    assert made.spread == pytest.approx(math.exp(np.std(logs, ddof=1)))
    if made.spread > 1.0 + 1e-9:
        low, high = stats.t.interval(0.95, len(ratios) - 1, loc=logs.mean(), scale=stats.sem(logs))
        assert (made.low, made.high) == pytest.approx((math.exp(low), math.exp(high)))


@given(RATIOS)
def test_twice_as_long_and_half_as_long_are_equally_far(ratios: list[float]) -> None:
    made, upside_down = middle_of(ratios, 0.9), middle_of([1.0 / r for r in ratios], 0.9)
    assert upside_down.mean == pytest.approx(1.0 / made.mean)
    assert (upside_down.low, upside_down.high) == pytest.approx((1.0 / made.high, 1.0 / made.low))


def test_one_ratio_says_nothing_of_how_far_off_it_may_be() -> None:
    made = middle_of([1.3], 0.95)
    assert (made.low, made.high) == (0.0, math.inf)


def test_the_odd_one_stands_apart() -> None:
    """The worked modified z-scores of a robust library: median absolute deviation scaled to the normal."""
    ratios = [1.0, 1.1, 0.9, 1.05, 0.95, 12.5]
    logs = np.log(ratios)
    scores = np.abs(logs - np.median(logs)) / stats.median_abs_deviation(logs, scale="normal")
    assert odd_ones(ratios) == tuple(scores > 3.5)
    assert odd_ones(ratios)[-1]


def test_where_most_are_alike_one_that_is_not_is_seen_all_the_same() -> None:
    assert odd_ones([1.0] * 9 + [4.0]) == (*([False] * 9), True)
    assert odd_ones([1.0] * 5) == (False,) * 5
    assert odd_ones([]) == ()


@given(st.floats(0.3, 3.0), st.integers(0, 1000), st.floats(1.0, 50.0))
def test_a_mean_is_drawn_towards_one_and_less_so_the_more_it_rests_on(mean: float, count: int, worth: float) -> None:
    few, more = credible(mean, count, worth), credible(mean, count + 1, worth)
    assert abs(math.log(few)) <= abs(math.log(more)) <= abs(math.log(mean)) + 1e-12
    assert credible(mean, 0, worth) == 1.0
    assert credible(mean, round(worth), float(round(worth))) == pytest.approx(math.sqrt(mean))
