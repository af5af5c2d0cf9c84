"""Strength adjustments against examples printed in the Wood Handbook (FPL-GTR-190, 2010), as transcribed."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.science.strength import rupture_at_size, strength_at_angle, strength_at_moisture

strengths = st.floats(100.0, 20_000.0)


def test_white_ash_at_8_pct_is_as_strong_as_the_printed_example() -> None:
    """Wood Handbook (2010) eq. 5-3, printed example: 119 500 kPa from 103 000 and 66 000; four figures."""
    assert strength_at_moisture(103_000.0, 66_000.0, 8.0, 24.0) == pytest.approx(119_500.0, rel=0.0005)


def test_a_large_beam_is_weaker_than_the_small_one_by_the_printed_example() -> None:
    """Wood Handbook (2010) eq. 9-18, example: 2 x 28 in at mid-span 10 000 psi, 10 x 216 in at thirds 7 330."""
    assert rupture_at_size(10_000.0, 10.0, 216.0, 72.0, 2.0, 28.0) == pytest.approx(7_330.0, rel=0.0005)


@given(strengths, strengths, st.floats(20.0, 28.0))
def test_strength_meets_both_columns_of_the_table(dry: float, green: float, intersection: float) -> None:
    assert strength_at_moisture(dry, green, 12.0, intersection) == pytest.approx(dry)
    assert strength_at_moisture(dry, green, intersection, intersection) == pytest.approx(green)
    assert strength_at_moisture(dry, green, 80.0, intersection) == pytest.approx(green)


@given(strengths, strengths, st.floats(0.0, 90.0))
def test_strength_at_an_angle_lies_between_along_and_across(along: float, across: float, angle: float) -> None:
    low, high = sorted((along, across))
    assert low * (1 - 1e-12) <= strength_at_angle(along, across, angle) <= high * (1 + 1e-12)


@given(strengths, strengths)
def test_strength_along_and_across_is_given_back(along: float, across: float) -> None:
    assert strength_at_angle(along, across, 0.0) == pytest.approx(along)
    assert strength_at_angle(along, across, 90.0) == pytest.approx(across)


def test_at_45_degrees_strength_is_the_harmonic_mean() -> None:
    """Hankinson's formula at 45 degrees is 2PQ/(P + Q)."""
    assert strength_at_angle(1000.0, 400.0, 45.0) == pytest.approx(2 * 1000.0 * 400.0 / 1400.0)


def test_a_beam_of_the_size_that_is_known_keeps_its_rupture() -> None:
    assert rupture_at_size(5_000.0, 8.0, 120.0, 0.0, 8.0, 120.0) == pytest.approx(5_000.0)


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    agree(strength_at_moisture, [85.0, 90.0, 65.0], [53.0, 51.0, 38.0], [8.0, 19.0, 40.0])
    agree(lambda p, q: strength_at_angle(p, q, 30.0), [85.0, 90.0, 65.0], [5.0, 6.0, 7.0])
    agree(lambda r, d: rupture_at_size(r, d, 216.0, 72.0, 2.0, 28.0), [85.0, 90.0, 65.0], [5.0, 6.0, 7.0])
