"""Ways up: the cheapest safe one, never cheaper for being higher."""

from __future__ import annotations

from itertools import pairwise

import pytest

from service.engine.case import Case
from service.engine.site import means_of_access, put_access
from service.engine.work import Work
from tests.engine.cases import make_case


def high_up(height: float, *, slope: float = 0.0, length: float = 12.0, access: str = "drive_up") -> Case:
    """A soft place on a gable log."""
    return make_case(
        "gable_log", "pocket_deep", section=11.0, depth=2.0, length=length, width=5.0, height=height, ground_slope=slope,
        words={"access": access},
    )


def price_of_way_up(case: Case, days: float) -> float:
    """What the cheapest way up costs [$]."""
    work = Work(case, 1.0)
    put_access(work, means_of_access(case, days), days)
    return sum(float(c.amount) for c in work.charges)


@pytest.mark.parametrize("slope", [0.0, 27.0])
@pytest.mark.parametrize("length", [12.0, 240.0, 480.0])
@pytest.mark.parametrize("days", [0.5, 1.0, 2.0])
def test_no_way_up_is_cheaper_for_a_higher_place(slope: float, length: float, days: float) -> None:
    """P3, in steps of a tenth of a foot, across every height from which another way up is allowed."""
    prices = [
        price_of_way_up(high_up(tenth / 10.0, slope=slope, length=length, access="carry_in"), days)
        for tenth in range(40, 560)
    ]
    assert all(lower <= higher + 1e-9 for lower, higher in pairwise(prices))
    assert prices[0] == 0.0 < prices[-1]


def test_ropes_are_for_a_day_at_few_spots_where_a_scaffold_would_be_dear() -> None:
    steep = high_up(28.0, slope=27.0, access="no_vehicle")
    assert means_of_access(steep, 1.0) == "rope"
    assert means_of_access(steep, 1.5) == "scaffold"


def test_a_low_place_on_the_flat_gets_a_scaffold_and_no_ropes() -> None:
    assert means_of_access(high_up(10.0, access="no_vehicle"), 1.0) == "scaffold"


def test_no_lift_stands_on_a_slope() -> None:
    """G25: on grade up to 5 degrees."""
    assert means_of_access(high_up(40.0, slope=5.0), 2.0) == "boom"
    assert means_of_access(high_up(40.0, slope=5.1), 2.0) != "boom"
