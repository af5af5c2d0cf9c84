"""Fastener values against a published worked example and the printed table of lag screws.

AWC Structural Wood Design Examples E2.1a and NDS table 12.2A (the latter from memory); Wood Handbook eq. 8-3.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.science.fasteners import (
    dowel_bearing_parallel_psi,
    dowel_bearing_perpendicular_psi,
    dowel_bearing_small_psi,
    lag_withdrawal_lb_in,
    nail_withdrawal_lb_in,
    screw_withdrawal_lb_in,
    withdrawal_lb,
)

gravity = st.floats(0.31, 0.73)


def test_a_nail_in_the_published_example_holds_49_5_lb() -> None:
    """AWC E2.1a, as transcribed: .131 nail, .105 in side plate, SPF G .42: 20.67 lb/in over 2.395 in; 0.5 %."""
    value = nail_withdrawal_lb_in(0.42, 0.131)
    assert value == pytest.approx(20.67, rel=0.005)
    assert withdrawal_lb(value, 2.5 - 0.105) == pytest.approx(49.5, rel=0.005)


@pytest.mark.parametrize(("diameter_in", "printed"), [(0.5, 378.0), (0.375, 305.0)])
def test_lag_screws_hold_what_the_table_prints(diameter_in: float, printed: float) -> None:
    """NDS table 12.2A, G = 0.50, whole lb/in (from memory)."""
    assert lag_withdrawal_lb_in(0.50, diameter_in) == pytest.approx(printed, abs=0.5)


@given(gravity)
def test_small_dowels_bear_as_the_wood_handbook_says_in_metric(specific_gravity: float) -> None:
    """Wood Handbook (2010) eq. 8-3: 114.5 G^1.84 MPa; 145.04 psi to the MPa, both constants rounded, so 0.1 %."""
    metric_psi = 114.5 * specific_gravity**1.84 * 145.038
    assert dowel_bearing_small_psi(specific_gravity) == pytest.approx(metric_psi, rel=0.001)


@pytest.mark.parametrize(
    ("specific_gravity", "printed"), [(0.50, 5600.0), (0.55, 6150.0), (0.42, 4700.0), (0.36, 4050.0)]
)
def test_dowels_bear_along_the_grain_as_the_table_prints(specific_gravity: float, printed: float) -> None:
    """NDS table 12.3.3, to the nearest 50 psi (from memory)."""
    assert dowel_bearing_parallel_psi(specific_gravity) == pytest.approx(printed, abs=25.0)


@pytest.mark.parametrize(("diameter_in", "printed"), [(0.5, 3150.0), (0.75, 2600.0), (1.0, 2250.0)])
def test_dowels_bear_across_the_grain_as_the_table_prints(diameter_in: float, printed: float) -> None:
    """NDS table 12.3.3, G = 0.50, to the nearest 50 psi (from memory)."""
    assert dowel_bearing_perpendicular_psi(0.50, diameter_in) == pytest.approx(printed, abs=25.0)


@given(gravity, st.floats(0.25, 1.0))
def test_denser_wood_and_thicker_fasteners_hold_more(specific_gravity: float, diameter: float) -> None:
    for value in (lag_withdrawal_lb_in, screw_withdrawal_lb_in, nail_withdrawal_lb_in):
        here = value(specific_gravity, diameter)
        assert value(specific_gravity + 0.02, diameter) > here
        assert value(specific_gravity, diameter + 0.05) > here
    assert dowel_bearing_perpendicular_psi(specific_gravity, diameter) < dowel_bearing_parallel_psi(specific_gravity)


def test_a_snow_load_raises_what_a_fastener_holds() -> None:
    assert withdrawal_lb(305.0, 4.0, 1.15) == pytest.approx(1403.0)


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    g, d = [0.31, 0.42, 0.5], [0.131, 0.375, 0.5]
    for of_both in (
        lag_withdrawal_lb_in,
        screw_withdrawal_lb_in,
        nail_withdrawal_lb_in,
        dowel_bearing_perpendicular_psi,
        withdrawal_lb,
    ):
        agree(of_both, g, d)
    agree(dowel_bearing_parallel_psi, g)
    agree(dowel_bearing_small_psi, g)
