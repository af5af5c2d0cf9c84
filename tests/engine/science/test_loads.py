"""Snow and shore loads against worked figures."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.science.loads import (
    flat_roof_snow_psf,
    least_roof_snow_psf,
    shore_load_lb,
    shore_pad_ft2,
    warm_roof_slope_factor,
)


@pytest.mark.parametrize(("ground", "thermal", "roof"), [(36.0, 1.1, 27.7), (30.0, 1.0, 21.0)])
def test_a_flat_roof_carries_seven_tenths_of_the_ground_snow(ground: float, thermal: float, roof: float) -> None:
    """ASCE 7-16 eq. 7.3-1, worked figures to 0.1 psf (from memory)."""
    assert flat_roof_snow_psf(ground, thermal=thermal) == pytest.approx(roof, abs=0.05)


@pytest.mark.parametrize(("ground", "least"), [(0.0, 0.0), (15.0, 15.0), (20.0, 20.0), (60.0, 20.0)])
def test_a_low_roof_carries_at_least_the_ground_snow_up_to_20(ground: float, least: float) -> None:
    """ASCE 7-16, 7.3.4 (from memory)."""
    assert least_roof_snow_psf(ground) == least
    assert least_roof_snow_psf(ground, 1.1) == pytest.approx(1.1 * least)


@pytest.mark.parametrize(("slope", "factor"), [(0.0, 1.0), (30.0, 1.0), (50.0, 0.5), (70.0, 0.0), (80.0, 0.0)])
def test_snow_slides_off_steep_warm_roofs(slope: float, factor: float) -> None:
    """ASCE 7-16 figure 7.4-1a, other surfaces (from memory)."""
    assert warm_roof_slope_factor(slope) == pytest.approx(factor)


def test_a_row_of_shores_of_the_estimators_worked_check() -> None:
    """E20, common practice, no source: 1,800 plf x 5 ft is 9,000 lb, on 6 ft2."""
    load = shore_load_lb(1800.0, 5.0)
    assert load == pytest.approx(9000.0)
    assert shore_pad_ft2(load) == pytest.approx(6.0)


@given(st.floats(1.0, 20_000.0), st.floats(500.0, 4000.0))
def test_better_soil_wants_a_smaller_pad(load: float, soil: float) -> None:
    assert shore_pad_ft2(load, soil * 1.1) < shore_pad_ft2(load, soil)


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    agree(flat_roof_snow_psf, [0.0, 20.0, 60.0])
    agree(least_roof_snow_psf, [0.0, 20.0, 60.0])
    agree(warm_roof_slope_factor, [0.0, 45.0, 75.0])
    agree(shore_load_lb, [100.0, 1800.0], [4.0, 5.0])
    agree(shore_pad_ft2, [100.0, 9000.0])
