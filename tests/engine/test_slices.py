"""Prices cut into slices: points of sums with a bounded lump in them against numerical convolution."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from service.engine.slices import Column, Lump, points_of, scores, slices_of

AT = (np.arange(600) + 0.5) / 600
"""Probabilities of the convolution: 360,000 sums, whose points are exact to a thousandth."""
SHARES = (0.1, 0.5, 0.9)
WORLDS = 128
BOUNDED = {
    "as the base book has mobilisation": (350.0, 900.0, 2200.0), "from next to nothing": (100.0, 900.0, 2200.0),
    "narrow": (700.0, 900.0, 1300.0), "symmetric": (400.0, 900.0, 1400.0), "long to the left": (400.0, 1100.0, 1300.0),
}


@lru_cache(maxsize=8)
def pert(name: str) -> tuple[Lump, Column]:
    """A PERT by its cumulants, and its quantiles (scipy's beta distribution with shape 4, R19)."""
    low, likely, high = BOUNDED[name]
    mode = (likely - low) / (high - low)
    beta = stats.beta(1.0 + 4.0 * mode, 5.0 - 4.0 * mode, loc=low, scale=high - low)
    mean, variance, skew, excess = (float(m) for m in beta.stats("mvsk"))
    return Lump(mean, variance, skew * variance**1.5, excess * variance**2), beta.ppf(AT)


def log_normal(mean: float, cv: float) -> stats.rv_continuous:
    shape = float(np.sqrt(np.log1p(cv**2)))
    return stats.lognorm(shape, scale=mean * float(np.exp(-(shape**2) / 2.0)))


def points(mean: float, variance: float, lump: Lump | None, worlds: int = WORLDS) -> tuple[float, float, float]:
    """Points of so many worlds that are all alike."""
    slices = slices_of(np.full(worlds, mean), np.full(worlds, variance), scores(worlds), lump)
    return points_of(slices.ravel())


@pytest.mark.parametrize("name", BOUNDED)
@given(share=st.floats(0.5, 10.0), cv=st.floats(0.05, 0.3))
def test_points_of_work_with_a_bounded_lump_are_those_of_their_sum_within_1_pct(name: str, share: float, cv: float) -> None:
    """R19. The work is half to ten times the lump; a price of the lump alone is no job."""
    lump, quantiles = pert(name)
    work = share * lump.mean
    sums = np.add.outer(quantiles, log_normal(work, cv).ppf(AT)).ravel()
    stated = points(work + lump.mean, (work * cv) ** 2 + lump.variance, lump)
    assert stated == pytest.approx(tuple(np.quantile(sums, SHARES)), rel=0.01)


def test_without_its_shape_the_same_lump_would_be_off_by_more_than_2_pct() -> None:
    """What the shape is for: the log-normal of equal mean and variance lies too high at the 10 % point."""
    lump, quantiles = pert("as the base book has mobilisation")
    work = 0.5 * lump.mean
    sums = np.add.outer(quantiles, log_normal(work, 0.15).ppf(AT)).ravel()
    low = points(work + lump.mean, (work * 0.15) ** 2 + lump.variance, None)[0]
    assert low > 1.02 * float(np.quantile(sums, 0.1))


@given(worlds=st.integers(1, WORLDS), cv=st.floats(0.01, 0.4))
def test_worlds_that_are_all_alike_have_the_points_of_one_of_them(worlds: int, cv: float) -> None:
    """However many worlds there are, their slices do not pile up on sixteen points."""
    expected = log_normal(1000.0, cv).ppf(SHARES)
    assert points(1000.0, (1000.0 * cv) ** 2, None, worlds) == pytest.approx(tuple(expected), rel=0.003)


@given(worlds=st.integers(1, WORLDS))
def test_the_slices_of_all_worlds_are_equally_likely(worlds: int) -> None:
    probabilities = np.sort(stats.norm.cdf(scores(worlds).z).ravel())
    size = probabilities.size
    assert probabilities == pytest.approx((np.arange(size) + 0.5) / size, abs=1e-9)


@pytest.mark.parametrize("name", BOUNDED)
@given(share=st.floats(0.01, 10.0), cv=st.floats(0.0, 0.5))
def test_a_slice_further_up_is_never_cheaper(name: str, share: float, cv: float) -> None:
    lump, work = pert(name)[0], share * pert(name)[0].mean
    mean, variance = np.full(WORLDS, work + lump.mean), np.full(WORLDS, (work * cv) ** 2 + lump.variance)
    assert (np.diff(slices_of(mean, variance, scores(WORLDS), lump), axis=1) > 0.0).all()


def test_a_price_without_a_spread_is_one_price() -> None:
    for lump in (None, Lump(900.0, 0.0, 0.0, 0.0)):
        assert points(1000.0, 0.0, lump) == pytest.approx((1000.0, 1000.0, 1000.0))
