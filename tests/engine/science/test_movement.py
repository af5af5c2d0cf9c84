"""Shrinkage and movement against printed tables.

Coefficients: Wood Handbook (FPL-GTR-190, 2010), table 13-5, with shrinkage from its table 4-3, both as printed.
Lumber: FPL-RP-489 (Green 1989) against the allowance of PS 20-70.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.science.movement import (
    FLAT_SHRINK_A_POINT,
    QUARTER_SHRINK_A_POINT,
    check_width_bound_in,
    dimension_change_coefficient,
    dimension_change_in,
    dimension_change_short_in,
    log_wall_settlement_in,
    lumber_thickness_shrinkage_pct,
    lumber_width_shrinkage_pct,
    shrink_gap_in,
    shrinkage_pct,
)

total = st.floats(1.0, 12.0)
moisture = st.floats(0.0, 60.0)


@pytest.mark.parametrize(
    ("species", "total_pct", "printed"),
    [
        ("white ash radial", 4.9, 0.00169),
        ("white ash tangential", 7.8, 0.00274),
        ("black cherry radial", 3.7, 0.00126),
        ("black cherry tangential", 7.1, 0.00248),
        ("butternut radial", 3.4, 0.00116),
        ("butternut tangential", 6.4, 0.00223),
        ("sweetgum radial", 5.3, 0.00183),
        ("sweetgum tangential", 10.2, 0.00365),
        ("red alder radial", 4.4, 0.00151),
        ("red alder tangential", 7.3, 0.00256),
        ("American elm radial", 4.2, 0.00144),
        ("American elm tangential", 9.5, 0.00338),
    ],
)
def test_the_coefficient_is_the_one_printed(species: str, total_pct: float, printed: float) -> None:
    """Wood Handbook (2010), table 13-5: five decimals, so half of the last one."""
    assert dimension_change_coefficient(total_pct) == pytest.approx(printed, abs=5.1e-6), species


@pytest.mark.parametrize(("of_lumber", "allowance_pct"), [("width", 2.80), ("thickness", 2.35)])
def test_lumber_shrinks_to_15_pct_as_the_product_standard_allows(of_lumber: str, allowance_pct: float) -> None:
    """PS 20-70, shrinkage from green to 15 %: tolerance 0.01 point."""
    formula = {"width": lumber_width_shrinkage_pct, "thickness": lumber_thickness_shrinkage_pct}[of_lumber]
    assert formula(15.0) == pytest.approx(allowance_pct, abs=0.01)


@given(total)
def test_shrinkage_runs_from_nothing_at_fibre_saturation_to_all_of_it_ovendry(total_pct: float) -> None:
    assert shrinkage_pct(total_pct, 30.0) == 0.0
    assert shrinkage_pct(total_pct, 80.0) == 0.0
    assert shrinkage_pct(total_pct, 0.0) == total_pct


@given(total, st.floats(0.0, 29.0), st.floats(0.01, 1.0))
def test_wetter_wood_has_shrunk_less(total_pct: float, moisture_pct: float, more: float) -> None:
    assert shrinkage_pct(total_pct, moisture_pct + more) < shrinkage_pct(total_pct, moisture_pct)


@given(total, moisture, moisture)
def test_drying_and_wetting_back_restores_the_size(total_pct: float, start: float, end: float) -> None:
    there = 10.0 + dimension_change_in(10.0, total_pct, start, end)
    assert there + dimension_change_in(there, total_pct, end, start) == pytest.approx(10.0, rel=1e-12)


@given(total)
def test_the_exact_form_from_green_to_ovendry_is_the_total_shrinkage(total_pct: float) -> None:
    """Anchor of the definition in Wood Handbook table 4-3."""
    assert dimension_change_in(100.0, total_pct, 30.0, 0.0) == pytest.approx(-total_pct, rel=1e-12)


@given(total, st.floats(6.0, 14.0), st.floats(6.0, 14.0))
def test_the_short_form_holds_between_6_and_14_pct(total_pct: float, start: float, end: float) -> None:
    """The short form takes 10 % as the start of every change: within 2 % of the exact form."""
    short = dimension_change_short_in(10.0, dimension_change_coefficient(total_pct), start, end)
    assert short == pytest.approx(dimension_change_in(10.0, total_pct, start, end), rel=0.02, abs=1e-9)


def test_a_green_12_inch_log_opens_a_third_of_an_inch() -> None:
    """E17, common practice, no source: 28 to 14 % on 12 in gives 0.34 in."""
    assert shrink_gap_in(12.0, 28.0, 14.0) == pytest.approx(0.34, abs=0.005)


def test_the_mean_log_moves_between_quarter_and_flat_sawn() -> None:
    quarter = shrink_gap_in(12.0, 28.0, 14.0, QUARTER_SHRINK_A_POINT)
    flat = shrink_gap_in(12.0, 28.0, 14.0, FLAT_SHRINK_A_POINT)
    assert quarter < shrink_gap_in(12.0, 28.0, 14.0) < flat


def test_wood_that_gets_wetter_opens_no_gap() -> None:
    assert shrink_gap_in(12.0, 12.0, 18.0) == 0.0
    assert log_wall_settlement_in(96.0, 4.8, 12.0, 18.0) == 0.0
    assert check_width_bound_in(12.0, 7.6, 4.8, 12.0, 18.0) == 0.0


@given(st.floats(12.0, 300.0), total, st.floats(0.0, 30.0), st.floats(0.0, 30.0))
def test_a_wall_settles_by_the_shrinkage_of_its_logs(height: float, radial: float, wet: float, dry: float) -> None:
    """Wood Handbook (2010) eq. 4-9 at both ends, differenced."""
    wet, dry = max(wet, dry), min(wet, dry)
    lost_pct = shrinkage_pct(radial, dry) - shrinkage_pct(radial, wet)
    assert log_wall_settlement_in(height, radial, wet, dry, 0.5) == pytest.approx(
        height * lost_pct / 100.0 + 0.5, rel=1e-9, abs=1e-9
    )


def test_a_green_wall_settles_within_the_rule_of_thumb_per_foot() -> None:
    """From memory: 3/8 to 3/4 in per ft green, compaction and scribing included; shrinkage makes up most of it."""
    per_ft = log_wall_settlement_in(96.0, 4.8, 30.0, 12.0) / 8.0
    assert 0.3 < per_ft < 0.75


def test_checks_open_by_the_difference_of_two_rates_round_the_log() -> None:
    """Douglas-fir, Wood Handbook table 4-3: the circumference wants to shrink by 7.6 %, its radius lets it by 4.8 %."""
    around_in = 12.0 * 3.141592653589793
    wanted = around_in * shrinkage_pct(7.6, 12.0) / 100.0
    let = around_in * shrinkage_pct(4.8, 12.0) / 100.0
    assert check_width_bound_in(12.0, 7.6, 4.8, 45.0, 12.0) == pytest.approx(wanted - let, rel=1e-12)


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    wet, dry = [28.0, 60.0, 12.0], [12.0, 20.0, 18.0]
    agree(shrinkage_pct, [4.8, 7.6, 2.4], wet)
    agree(dimension_change_coefficient, [4.8, 7.6, 2.4])
    agree(dimension_change_in, [10.0, 12.0, 8.0], [4.8, 7.6, 2.4], wet, dry)
    agree(dimension_change_short_in, [10.0, 12.0, 8.0], [0.001, 0.002, 0.003], wet, dry)
    agree(shrink_gap_in, [10.0, 12.0, 8.0], wet, dry)
    agree(log_wall_settlement_in, [96.0, 108.0, 12.0], [4.8, 7.6, 2.4], wet, dry)
    agree(check_width_bound_in, [10.0, 12.0, 8.0], [7.6, 6.1, 5.0], [4.8, 2.1, 2.4], wet, dry)
