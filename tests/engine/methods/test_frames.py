"""Window and door frames renewed: when, what it costs, and what it needs.

Amounts and quantities: common practice, no source. Dollars are those of the base book.
"""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.case import Case
from service.engine.methods.frames import METHODS
from tests.engine.cases import make_case
from tests.engine.methods.readings import (
    forbidden_by,
    hours,
    money,
    named,
    same_everywhere,
    scope,
    tasks,
    too_much_by,
)

BUCKS = named(METHODS, "buck_trim")


def frame(
    length_in: float = 30.0, *, element: str = "buck_window", count: int = 1, words: dict[str, str] | None = None,
    flags: dict[str, bool] | None = None, many: bool = False, level: str = "visited", **facts: float,
) -> Case:
    """A painted window frame, soft over some length."""
    numbers: dict[str, Any] = {
        "section": 2.0, "section_other": 6.0, "depth": 1.0, "length": length_in, "width": 2.0, "moisture": 22.0,
        "height": 4.0, "clear_length": 60.0,
    } | facts
    said = {"side": "outer", "inner_face": "sound", "finish": "paint"} if words is None else words
    return make_case(element, "soft_wood", count=count, words=said, flags=flags, many=many, level=level, **numbers)


@pytest.mark.parametrize(("length_in", "too_much"), [(11.9, True), (12.0, True), (12.1, False), (30.0, False)])
def test_one_soft_end_of_one_part_is_patched_and_past_that_the_frame_is_renewed(
    length_in: float, too_much: bool
) -> None:
    assert (too_much_by(BUCKS, frame(length_in)) == ["R11"]) is too_much
    assert not forbidden_by(BUCKS, frame(length_in))


def test_a_part_that_is_soft_right_through_is_renewed_however_short() -> None:
    assert not too_much_by(BUCKS, frame(6.0, words={"inner_face": "soft"}))


def test_soft_trim_takes_a_board_and_not_a_frame() -> None:
    assert too_much_by(BUCKS, frame(element="trim")) == ["M36"]


def test_three_windows_cost_what_the_trade_takes_for_them_without_lead() -> None:
    """$3,500 to 8,500 with lead-safe work, which adds 12 to 60 %."""
    three = float(money(scope(BUCKS, frame(count=3))))
    assert 3500.0 / 1.6 <= three <= 8500.0 / 1.12


def test_an_opening_takes_twelve_hours_and_thirty_board_feet_of_clear_stock() -> None:
    work = scope(BUCKS, frame())
    assert hours(work) == pytest.approx(12.0)
    (stock,) = work.needs
    assert float(stock.net_ft3) * float(stock.each) * 12.0 == pytest.approx(30.0)
    assert stock.grain == "clear"


def test_the_room_is_out_for_half_a_day_to_a_day_an_opening() -> None:
    work = scope(BUCKS, frame())
    days = hours(work) / 6.5 * sum(t.share * t.room for t in tasks(work))
    assert 0.5 <= days <= 1.0
    assert sum(t.share for t in tasks(work)) == pytest.approx(1.0)


def test_a_settling_wall_keeps_a_gap_above_the_frame() -> None:
    moving = scope(BUCKS, frame(flags={"moving": True})).notes
    settled = scope(BUCKS, frame()).notes
    assert any("3/8 in a foot" in note for note in moving)
    assert any("1/8 in above" in note for note in settled)


@pytest.mark.parametrize("length_in", [6.0, 30.0])
def test_a_case_with_nothing_unknown_reads_alike_in_one_world_and_in_many(length_in: float) -> None:
    plain, many = (frame(length_in, many=m, level="cut_out") for m in (False, True))
    assert same_everywhere(BUCKS, plain, many)
