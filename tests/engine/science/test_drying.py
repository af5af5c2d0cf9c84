"""Drying by diffusion against tabulated solutions and against scipy's own special functions.

Crank, The Mathematics of Diffusion (2nd ed. 1975): half of the moisture of a slab of thickness h is gone at
D t / h2 = 0.049; scipy gives the Bessel zeros and the root of the series independently.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import erfc, jn_zeros

from service.engine.science.drying import (
    bound_water_diffusivity_m2_s,
    cylinder_fourier_number,
    cylinder_loss,
    drying_days,
    drying_days_range,
    evaporable_loss,
    slab_fourier_number,
    slab_loss,
    square_prism_fourier_number,
    square_prism_loss,
    transverse_diffusivity_m2_s,
    yard_drying_years_bound,
)

losses = st.floats(0.001, 0.98)
ZEROS = jn_zeros(0, 400)


def cylinder_by_scipy(fo: float) -> float:
    return float(1.0 - np.sum(4.0 / ZEROS**2 * np.exp(-(ZEROS**2) * fo)))


def slab_by_scipy(fo: float) -> float:
    odd = (2.0 * np.arange(400) + 1.0) ** 2 * np.pi**2
    return float(1.0 - np.sum(8.0 / odd * np.exp(-odd * fo / 4.0)))


def test_half_a_slab_dries_at_the_textbook_number() -> None:
    """Crank (1975) eq. 10.10: D t / h2 = 0.049 for the full thickness h, three decimals."""
    assert slab_fourier_number(0.5) / 4.0 == pytest.approx(0.049, abs=0.0005)


@pytest.mark.parametrize("loss", [0.3, 0.5, 0.7, 0.9, 0.95])
def test_fourier_numbers_are_the_roots_that_scipy_finds(loss: float) -> None:
    assert cylinder_fourier_number(loss) == pytest.approx(
        brentq(lambda f: cylinder_by_scipy(f) - loss, 1e-4, 3), rel=1e-6
    )
    slab = brentq(lambda f: slab_by_scipy(f) - loss, 1e-4, 5)
    assert slab_fourier_number(loss) == pytest.approx(slab, rel=1e-6)
    prism = brentq(lambda f: 1 - (1 - slab_by_scipy(f)) ** 2 - loss, 1e-4, 5)
    assert square_prism_fourier_number(loss) == pytest.approx(prism, rel=1e-6)


@pytest.mark.parametrize("fo", [1e-4, 9.9e-4, 1.01e-3, 0.039, 0.041, 0.3, 1.0])
def test_both_ends_of_the_time_scale_join(fo: float) -> None:
    assert cylinder_loss(fo) == pytest.approx(cylinder_by_scipy(fo), abs=2e-5 if fo < 1e-3 else 1e-7)
    assert slab_loss(fo) == pytest.approx(slab_by_scipy(fo), abs=2e-4 if fo < 1e-3 else 1e-7)


def test_early_drying_of_a_slab_goes_with_the_root_of_time() -> None:
    """Crank (1975) eq. 4.20 with its first image term by scipy's error function."""
    fo = 0.02
    root = fo**0.5
    image = np.exp(-1 / fo) / np.sqrt(np.pi) - erfc(1 / root) / root
    assert slab_loss(fo) == pytest.approx(2 * root * (1 / np.sqrt(np.pi) - 2 * image), abs=1e-9)


@given(losses)
def test_loss_from_the_fourier_number_undoes_the_fourier_number(loss: float) -> None:
    assert cylinder_loss(cylinder_fourier_number(loss)) == pytest.approx(loss, abs=1e-7)
    assert slab_loss(slab_fourier_number(loss)) == pytest.approx(loss, abs=1e-9)
    assert square_prism_loss(square_prism_fourier_number(loss)) == pytest.approx(loss, abs=1e-9)


@given(losses, st.floats(0.001, 0.01))
def test_more_loss_takes_longer(loss: float, more: float) -> None:
    for fourier in (cylinder_fourier_number, slab_fourier_number, square_prism_fourier_number):
        assert fourier(loss + more) > fourier(loss)


@given(st.floats(0.05, 0.98))
def test_a_log_dries_before_a_square_timber_and_that_before_a_slab(loss: float) -> None:
    assert cylinder_fourier_number(loss) < square_prism_fourier_number(loss) < slab_fourier_number(loss)


@given(losses, st.floats(0.5, 12.0))
def test_twice_the_size_takes_four_times_as_long(loss: float, reach: float) -> None:
    fo = slab_fourier_number(loss)
    assert drying_days(fo, 2.0 * reach, 1e-10) == pytest.approx(4.0 * drying_days(fo, reach, 1e-10))


@pytest.mark.parametrize("fourier", [cylinder_fourier_number, slab_fourier_number, square_prism_fourier_number])
@pytest.mark.parametrize("loss", [-0.1, 1.0, 1.5])
def test_nothing_dries_all_the_way(fourier: Callable[[float], float], loss: float) -> None:
    with pytest.raises(ValueError, match="share lost"):
        fourier(loss)


def test_no_loss_takes_no_time() -> None:
    assert slab_fourier_number(0.0) == 0.0
    assert cylinder_fourier_number(0.0) == 0.0


def test_loss_counts_from_the_start_to_what_the_air_allows() -> None:
    assert evaporable_loss(45.0, 27.0, 9.0) == pytest.approx(0.5)
    assert evaporable_loss(15.0, 18.0, 9.0) == 0.0
    with pytest.raises(ValueError, match="equilibrium"):
        evaporable_loss(30.0, 12.0, 12.0)


@given(st.floats(5.0, 28.0), st.floats(0.0, 50.0))
def test_warmer_and_wetter_walls_let_water_through_faster(moisture: float, degc: float) -> None:
    here = bound_water_diffusivity_m2_s(moisture, degc)
    assert bound_water_diffusivity_m2_s(moisture, degc + 5.0) > here
    assert bound_water_diffusivity_m2_s(moisture + 1.0, degc) > here
    assert transverse_diffusivity_m2_s(moisture, degc, 0.0) == pytest.approx(here)
    assert transverse_diffusivity_m2_s(moisture, degc, 0.7) > transverse_diffusivity_m2_s(moisture, degc, 0.5)


def test_a_foot_thick_log_takes_months_but_no_longer_than_a_year_per_inch_of_radius() -> None:
    """E19, common practice, no source: 12 in takes 5 to 6 years at most."""
    days = drying_days(cylinder_fourier_number(0.9), 6.0, transverse_diffusivity_m2_s(20.0, 20.0, 0.7))
    bound = 365.0 * yard_drying_years_bound(12.0)
    assert 5.0 <= yard_drying_years_bound(12.0) <= 6.0
    assert 90.0 < days < bound
    low, likely, high = drying_days_range(days, bound)
    assert (low, likely, high) == (days / 2, days, days * 3)
    assert drying_days_range(bound, bound) == (bound / 2, bound, bound)


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    loss, fo = [0.0, 0.01, 0.5, 0.97], [0.0, 0.0005, 0.03, 0.9]
    for inverse in (cylinder_fourier_number, slab_fourier_number, square_prism_fourier_number):
        agree(inverse, loss)
    for curve in (cylinder_loss, slab_loss, square_prism_loss):
        agree(curve, fo)
    agree(transverse_diffusivity_m2_s, [12.0, 20.0, 25.0, 28.0], [0.0, 20.0, 27.0, 35.0], [0.5, 0.6, 0.7, 0.0])
    agree(evaporable_loss, [45.0, 30.0, 12.0], [18.0, 20.0, 15.0], [12.0, 9.0, 10.0])
    agree(drying_days, [0.1, 0.2], [6.0, 3.0], [1e-10, 2e-10])
