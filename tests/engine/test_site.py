"""Ways up: the cheapest safe one, never cheaper for being higher."""

from __future__ import annotations

from itertools import pairwise

import pytest

from service.engine.case import Case
from service.engine.modifiers import hours_factor
from service.engine.site import means_of_access, put_access
from service.engine.work import Work
from tests.engine.books import book
from tests.engine.cases import make_case


def high_up(height: float, *, slope: float = 0.0, length: float = 12.0, access: str = "drive_up") -> Case:
    """A soft place on a gable log."""
    return make_case(
        "gable_log", "pocket_deep", section=11.0, depth=2.0, length=length, width=5.0, height=height, ground_slope=slope,
        words={"access": access},
    )


def price_of_way_up(case: Case, days_on_the_ground: float) -> float:
    """What the cheapest way up costs for work that would take so many days on the ground [$]."""
    work, days = Work(case, 1.0), days_on_the_ground * float(hours_factor(case))
    way_up = means_of_access(case, days)
    put_access(work, way_up, days_on_the_ground * float(hours_factor(case, way_up=way_up)))
    return sum(float(c.amount) for c in work.charges)


@pytest.mark.parametrize("slope", [0.0, 27.0])
@pytest.mark.parametrize("length", [12.0, 240.0, 480.0])
@pytest.mark.parametrize("days", [0.5, 0.65, 0.7, 0.75, 0.9, 1.0, 2.0])
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


@pytest.mark.parametrize("height", [8.0, 18.0, 30.0])
def test_hours_on_ropes_are_those_of_ropes_however_low_they_hang(height: float) -> None:
    """D3: over 24 ft or on ropes the same factor."""
    case = high_up(height, slope=27.0, access="drive_up")
    assert hours_factor(case, way_up="rope") == book().likely("access", "factor.rope")
    assert hours_factor(case, way_up="rope") >= hours_factor(case)


def test_a_day_of_work_that_would_take_longer_on_ropes_gets_a_scaffold() -> None:
    """At 20 ft a day off a scaffold is more than a day off ropes."""
    steep = high_up(20.0, slope=27.0, access="no_vehicle")
    assert means_of_access(steep, 0.9) == "rope"
    assert means_of_access(steep, 0.97) == "scaffold"
