"""Joint widths, rods, beads and reach against the estimator's worked checks (E6, E7; common practice, no source)."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.science.joints import (
    ROD_SIZES_IN,
    backer_rod_in,
    bead_depth_in,
    sealant_feet_per_unit,
    sealant_joint_width_in,
    thermal_movement_in,
)

gaps = st.floats(0.05, 3.2)


@pytest.mark.parametrize(("gap", "rod"), [(0.375, 0.5), (0.5, 0.625), (0.75, 1.0), (1.0, 1.25)])
def test_the_rod_is_the_next_size_up(gap: float, rod: float) -> None:
    assert backer_rod_in(gap) == rod


@given(gaps)
def test_a_rod_in_trade_is_at_least_a_quarter_over_the_gap(gap: float) -> None:
    rod = backer_rod_in(gap)
    assert rod in ROD_SIZES_IN
    assert rod >= 1.25 * gap - 1e-6


def test_a_gap_past_the_largest_rod_wants_one_a_quarter_over() -> None:
    assert backer_rod_in(4.0) == pytest.approx(5.0)


@pytest.mark.parametrize(("width", "depth"), [(0.25, 0.25), (0.5, 0.25), (0.75, 0.375), (1.0, 0.5), (3.0, 0.5)])
def test_a_bead_is_half_as_deep_as_wide_between_a_quarter_and_a_half(width: float, depth: float) -> None:
    assert bead_depth_in(width) == depth


@pytest.mark.parametrize(
    ("unit_in3", "width", "depth", "feet", "tolerance"),
    [(18.2, 0.5, 0.25, 10.3, 0.05), (52.3, 0.5, 0.25, 29.6, 0.05), (1155.0, 3.0, 0.375, 73.0, 0.5)],
)
def test_a_cartridge_reaches_as_far_as_the_worked_check(
    unit_in3: float, width: float, depth: float, feet: float, tolerance: float
) -> None:
    assert sealant_feet_per_unit(unit_in3, width, depth) == pytest.approx(feet, abs=tolerance)


@given(st.floats(0.01, 1.0), st.sampled_from([0.125, 0.25, 0.35, 0.5]))
def test_the_joint_strains_its_sealant_to_its_class_and_no_further(movement: float, capability: float) -> None:
    """ASTM C1472 base formula; classes of ASTM C920."""
    width = sealant_joint_width_in(movement, capability)
    assert movement / width == pytest.approx(capability)
    assert sealant_joint_width_in(movement, capability, 0.125) == pytest.approx(width + 0.125)


def test_wood_hardly_moves_with_temperature_along_the_grain() -> None:
    """2 to 3 millionths per degF along the grain: a 20 ft log over 100 degF stays under 0.1 in."""
    assert 0.0 < thermal_movement_in(240.0, 3e-6, 100.0) < 0.1


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    gap = [0.2, 0.4, 0.75, 5.0]
    agree(backer_rod_in, gap)
    agree(bead_depth_in, gap)
    agree(lambda w: sealant_feet_per_unit(18.2, w, bead_depth_in(w)), gap)
    agree(lambda w: sealant_joint_width_in(w, 0.25), gap)
    agree(lambda length: thermal_movement_in(length, 3e-6, 50.0), gap)
