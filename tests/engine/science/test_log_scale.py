"""Log volumes and log rules against published tables.

Doyle: a published scale table, as printed. International 1/4-inch: the long-published table (from memory), which the
USDA Forest Service volume library reproduces. Scribner: official factors of that library (as printed).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.science.log_scale import (
    cylinder_ft3,
    doyle_board_feet,
    huber_ft3,
    international_board_feet,
    newton_ft3,
    round_area_ft2,
    sawn_board_feet,
    scribner_board_feet,
    smalian_ft3,
    solid_board_feet,
)

diameters = st.floats(6.0, 40.0)
lengths = st.floats(4.0, 24.0)


@pytest.mark.parametrize(
    ("diameter", "length", "printed"),
    [
        (8, 16, 16),
        (10, 16, 36),
        (12, 16, 64),
        (14, 16, 100),
        (16, 16, 144),
        (18, 16, 196),
        (20, 16, 256),
        (24, 16, 400),
        (30, 16, 676),
        (36, 16, 1024),
        (12, 12, 48),
        (10, 10, 23),
        (36, 8, 512),
    ],
)
def test_doyle_scale_is_that_of_the_printed_table(diameter: float, length: float, printed: float) -> None:
    """Whole board feet, halves rounded up."""
    assert math.floor(doyle_board_feet(float(diameter), float(length)) + 0.5) == printed


@pytest.mark.parametrize(
    ("diameter", "printed"),
    [(6, 20), (8, 40), (10, 65), (12, 95), (16, 180), (18, 230), (20, 290), (24, 425), (30, 675)],
)
def test_international_scale_is_that_of_the_published_table(diameter: float, printed: float) -> None:
    assert international_board_feet(float(diameter), 16.0) == printed


@given(st.floats(8.0, 30.0), st.sampled_from([8.0, 12.0, 16.0]))
def test_international_scale_follows_its_closed_polynomial(d: float, length: float) -> None:
    """The polynomial in circulation, as transcribed: within rounding to 5 and half a percent."""
    polynomial = (
        0.049621 * length * d**2
        + 0.00622 * length**2 * d
        - 0.185476 * length * d
        + 0.000259 * length**3
        - 0.011592 * length**2
        + 0.04222 * length
    )
    assert international_board_feet(d, length) == pytest.approx(polynomial, abs=2.5 + 0.005 * polynomial)


@pytest.mark.parametrize(("diameter", "factor"), [(12, 4.900), (16, 10.000), (20, 17.499), (24, 25.218), (30, 41.060)])
def test_the_scribner_formula_stays_within_a_tenth_of_the_official_factors(diameter: float, factor: float) -> None:
    """USDA Forest Service volume library, board feet per foot of length."""
    assert scribner_board_feet(float(diameter), 16.0) == pytest.approx(16.0 * factor, rel=0.10)


def test_a_twelve_inch_log_of_the_estimators_worked_check() -> None:
    """E1, common practice, no source: 12 in x 16 ft: 12.57 ft3, 150.8 bd ft solid; the harshest rule says 64."""
    volume = cylinder_ft3(12.0, 16.0)
    assert volume == pytest.approx(12.57, abs=0.005)
    assert solid_board_feet(volume) == pytest.approx(150.8, abs=0.05)
    assert doyle_board_feet(12.0, 16.0) == 64.0


def test_the_foresters_constant() -> None:
    assert round_area_ft2(1.0) == pytest.approx(0.005454, abs=5e-7)


def test_a_board_foot_is_a_foot_square_and_an_inch_thick() -> None:
    assert sawn_board_feet(1.0, 12.0, 1.0) == 1.0
    assert solid_board_feet(1.0) == 12.0
    assert sawn_board_feet(8.0, 8.0, 12.0) == pytest.approx(64.0)


@given(diameters, st.floats(0.0, 8.0), lengths)
def test_newton_is_exact_on_a_cone_and_the_others_lie_either_side(small: float, taper: float, length: float) -> None:
    """Volume of a frustum of a cone: pi L (r2 + r R + R2) / 3."""
    large, middle = small + taper, small + taper / 2.0
    frustum = math.pi * length / 3.0 * (small**2 + small * large + large**2) / 4.0 / 144.0
    assert newton_ft3(small, middle, large, length) == pytest.approx(frustum, rel=1e-9)
    assert huber_ft3(middle, length) <= frustum * (1 + 1e-9)
    assert smalian_ft3(small, large, length) >= frustum * (1 - 1e-9)


@given(diameters, st.floats(0.0, 8.0), lengths)
def test_on_a_paraboloid_all_three_agree(small: float, taper: float, length: float) -> None:
    large = small + taper
    middle = math.sqrt((small**2 + large**2) / 2.0)
    smalian = smalian_ft3(small, large, length)
    assert huber_ft3(middle, length) == pytest.approx(smalian)
    assert newton_ft3(small, middle, large, length) == pytest.approx(smalian)


@given(st.floats(8.0, 30.0), lengths)
def test_no_rule_gives_more_than_the_solid_log(diameter: float, length: float) -> None:
    solid = solid_board_feet(cylinder_ft3(diameter + length * 0.125, length))
    for rule in (doyle_board_feet, scribner_board_feet, international_board_feet):
        assert rule(diameter, length) < solid


def test_a_pole_scales_nothing() -> None:
    assert doyle_board_feet(3.0, 16.0) == 0.0
    assert scribner_board_feet(3.0, 16.0) == 0.0
    assert international_board_feet(2.0, 4.0) == 0.0


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    d, length = [6.0, 11.0, 24.0], [8.0, 10.0, 16.0]
    for rule in (doyle_board_feet, scribner_board_feet, international_board_feet, cylinder_ft3, huber_ft3):
        agree(rule, d, length)
    agree(smalian_ft3, d, [8.0, 12.0, 26.0], length)
    agree(newton_ft3, d, [7.0, 11.5, 25.0], [8.0, 12.0, 26.0], length)
    agree(sawn_board_feet, d, d, length)
