"""Boards side by side: what is soft across them takes as many as it is wide, and as much roof as it covers."""

from __future__ import annotations

import pytest

from service.engine.methods.boards import METHODS, boards
from tests.engine.cases import FT, make_case
from tests.engine.methods.readings import hours, named, scope


@pytest.mark.parametrize(("width", "count"), [(6.0, 1.0), (8.0, 2.0), (36.0, 6.0), (72.0, 11.0)])
def test_siding_is_counted_in_boards_of_seven_inches(width: float, count: float) -> None:
    assert boards(make_case("log_siding", "soft_wood", section=1.5, depth=1.5, length=10 * FT, width=width)) == count


def test_more_boards_take_more_hours() -> None:
    method = named(METHODS, "board_replace")
    one, ten = (
        hours(scope(method, make_case("log_siding", "soft_wood", section=1.5, depth=1.5, length=10 * FT, width=w)))
        for w in (6.0, 66.0)
    )
    assert one < ten


def test_a_roof_deck_is_as_large_as_it_was_measured_unless_its_area_was_said() -> None:
    measured = make_case("roof_deck", "soft_wood", section=1.5, depth=1.5, length=10 * FT, width=48.0)
    assert measured.area_ft2 == pytest.approx(40.0)
    said = make_case("roof_deck", "soft_wood", section=1.5, depth=1.5, length=10 * FT, width=48.0, area=90.0)
    assert said.area_ft2 == pytest.approx(90.0)
