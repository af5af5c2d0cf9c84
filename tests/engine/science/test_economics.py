"""Worth over time against `numpy_financial` and the printed discount factors.

NIST Handbook 135 / annual supplement, 3 % real: factors printed to three or two decimals (from memory).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import triang

from service.engine.science.economics import (
    annual_cost,
    capital_recovery,
    escalating_present_value,
    margin_from_markup,
    markup_from_margin,
    pert_mean,
    pert_variance,
    price_at_margin,
    single_present_value,
    triangular_mean,
    uniform_present_value,
)

rates = st.floats(0.001, 0.20)
years = st.integers(1, 60)


@given(rates, years)
def test_present_values_are_those_of_the_library(rate: float, n: int) -> None:
    assert single_present_value(rate, float(n)) == pytest.approx(-npf.pv(rate, n, 0, 1), rel=1e-9)
    assert uniform_present_value(rate, float(n)) == pytest.approx(-npf.pv(rate, n, 1), rel=1e-9)
    assert capital_recovery(rate, float(n)) == pytest.approx(-npf.pmt(rate, n, 1), rel=1e-9)


@given(rates, st.floats(-0.05, 0.20), years)
def test_escalating_payments_are_worth_their_cash_flow(rate: float, growth: float, n: int) -> None:
    flow = [0.0, *((1.0 + growth) ** k for k in range(1, n + 1))]
    assert escalating_present_value(rate, growth, float(n)) == pytest.approx(npf.npv(rate, flow), rel=1e-6)


@pytest.mark.parametrize(
    ("n", "spv", "upv"),
    [(5, 0.863, 4.58), (10, 0.744, 8.53), (15, 0.642, 11.94), (20, 0.554, 14.88), (30, 0.412, 19.60)],
)
def test_factors_at_3_pct_are_the_printed_ones(n: int, spv: float, upv: float) -> None:
    assert single_present_value(0.03, float(n)) == pytest.approx(spv, abs=0.0005)
    assert uniform_present_value(0.03, float(n)) == pytest.approx(upv, abs=0.005)


@given(st.floats(0.0, 0.20), years)
def test_payments_that_grow_at_the_discount_rate_are_worth_their_number(rate: float, n: int) -> None:
    assert escalating_present_value(rate, rate, float(n)) == float(n)
    assert escalating_present_value(rate + 1e-7, rate, float(n)) == pytest.approx(n, rel=1e-4)


def test_money_without_interest_is_counted() -> None:
    assert uniform_present_value(0.0, 12.0) == 12.0
    assert capital_recovery(0.0, 12.0) == pytest.approx(1.0 / 12.0)


@given(st.floats(0.0, 0.9))
def test_markup_and_margin_undo_each_other(margin: float) -> None:
    assert margin_from_markup(markup_from_margin(margin)) == pytest.approx(margin, abs=1e-12)
    assert price_at_margin(100.0, margin) == pytest.approx(100.0 * (1.0 + markup_from_margin(margin)))


def test_the_estimators_worked_check_of_margin() -> None:
    """E9, common practice, no source: 50 % markup is 33.3 % margin; $10,000 at 38 % is $16,129, 61.3 % markup."""
    assert margin_from_markup(0.5) == pytest.approx(0.333, abs=0.0005)
    assert price_at_margin(10_000.0, 0.38) == pytest.approx(16_129.0, abs=0.5)
    assert markup_from_margin(0.38) == pytest.approx(0.613, abs=0.0005)


@pytest.mark.parametrize(("price", "life", "a_year"), [(2300.0, 30.0, 77.0), (700.0, 15.0, 47.0), (700.0, 4.0, 175.0)])
def test_the_estimators_worked_check_of_cost_a_year(price: float, life: float, a_year: float) -> None:
    """E22, common practice, no source: whole dollars."""
    assert annual_cost(price, life) == pytest.approx(a_year, abs=0.5)


def test_the_estimators_worked_check_of_a_three_point_estimate() -> None:
    """E13, common practice, no source: 1.4/2.3/3.9k gives 2.42k."""
    assert pert_mean(1.4, 2.3, 3.9) == pytest.approx(2.42, abs=0.005)


@pytest.mark.parametrize(
    ("low", "likely", "high", "mean"),
    [(1.0, 2.0, 3.0, 2.0), (2.0, 3.5, 8.0, 4.0), (6.0, 9.0, 18.0, 10.0), (5.0, 8.0, 17.0, 9.0), (3.0, 9.0, 9.0, 8.0)],
)
def test_means_of_a_published_construction_network(low: float, likely: float, high: float, mean: float) -> None:
    """Hillier and Lieberman, Reliable Construction example (from memory)."""
    assert pert_mean(low, likely, high) == pytest.approx(mean)


def test_the_variance_of_a_published_critical_path() -> None:
    """Hillier and Lieberman, Reliable Construction example (from memory): 9 on A-B-C-E-F-J-L-N."""
    path = [(1, 3), (2, 8), (6, 18), (1, 5), (4, 10), (3, 9), (1, 7), (5, 9)]
    assert sum(pert_variance(float(a), float(b)) for a, b in path) == pytest.approx(9.0)


@given(st.floats(0.0, 100.0), st.floats(0.1, 50.0), st.floats(0.1, 50.0))
def test_the_triangular_mean_is_that_of_the_distribution(low: float, up: float, further: float) -> None:
    likely, high = low + up, low + up + further
    reference = triang.mean(up / (up + further), loc=low, scale=high - low)
    assert triangular_mean(low, likely, high) == pytest.approx(reference)
    assert low < pert_mean(low, likely, high) < high


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    d, e, n = [0.03, 0.03, 0.07], [0.01, 0.03, 0.10], [5.0, 20.0, 30.0]
    agree(single_present_value, d, n)
    agree(uniform_present_value, [0.0, 0.03, 0.07], n)
    agree(escalating_present_value, d, e, n)
    agree(capital_recovery, [0.0, 0.03, 0.07], n)
    for of_two in (annual_cost, pert_variance):
        agree(of_two, [700.0, 900.0], [4.0, 15.0])
    agree(markup_from_margin, d)
    agree(margin_from_markup, d)
    agree(price_at_margin, n, d)
    agree(pert_mean, d, e, n)
    agree(triangular_mean, d, e, n)
