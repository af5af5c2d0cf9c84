"""The sill: needles or masonry, how much of it, and when a new face would do.

Amounts, ratios and quantities: common practice, no source. Dollars are those of the base book.
"""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.case import Case
from service.engine.method import Method
from service.engine.methods.sill import METHODS
from tests.engine.cases import FT, make_case
from tests.engine.methods.readings import (
    forbidden_by,
    hours,
    money,
    named,
    same_everywhere,
    scope,
    tasks,
    too_much_by,
    waits,
)

NEEDLE, MASONRY = (named(METHODS, code) for code in ("sill_needle", "sill_to_masonry"))


def sill(
    damage: str = "through", *, words: dict[str, str] | None = None, flags: dict[str, bool] | None = None,
    many: bool = False, level: str = "visited", **facts: float,
) -> Case:
    """A 12 in sill of 20 ft, rotten through over 14 ft, with 15 joists on it."""
    numbers: dict[str, Any] = {
        "section": 12.0, "depth": 12.0, "length": 14 * FT, "clear_length": 20 * FT, "joists": 15.0, "moisture": 40.0,
        "point_loads": 0.0, "width": 12.0, "height": 0.0,
    } | facts
    return make_case(
        "sill_log", damage, words={"side": "both"} if words is None else words, flags=flags, many=many, level=level,
        **numbers,
    )


def outer(depth_in: float, length_in: float = 48.0) -> Case:
    """The same sill, soft on its outer side only."""
    return sill("band", words={"side": "outer", "inner_face": "sound"}, depth=depth_in, length=length_in)


def termites() -> Case:
    """A 10 in sill of 24 ft, hollow past half over 8 ft, seven joists on it."""
    return sill(
        "termite_sub", words={"side": "outer"}, section=10.0, depth=6.0, length=8 * FT, clear_length=24 * FT,
        joists=7.0, moisture=22.0,
    )


def test_fourteen_of_twenty_feet_take_the_whole_sill() -> None:
    (piece,) = scope(NEEDLE, sill()).needs
    assert float(piece.length_in) == pytest.approx(20 * FT)
    assert float(piece.net_ft3) * 1.1 == pytest.approx(17.3, rel=0.01)
    assert piece.treated


def test_a_whole_sill_of_twenty_feet_costs_what_the_trade_takes_for_it() -> None:
    assert 13000.0 <= float(money(scope(NEEDLE, sill()))) <= 36000.0


def test_masonry_costs_somewhat_less_than_a_new_sill_and_takes_no_wood() -> None:
    masonry = scope(MASONRY, sill())
    assert 0.6 <= float(money(masonry)) / float(money(scope(NEEDLE, sill()))) <= 1.05
    assert not masonry.needs


def test_eight_feet_of_termites_take_ten_feet_of_sill() -> None:
    work = scope(NEEDLE, termites())
    assert float(work.needs[0].length_in) == pytest.approx(10 * FT)
    assert float(work.needs[0].net_ft3) * 1.1 == pytest.approx(6.0, rel=0.01)
    assert 8000.0 <= float(money(work)) <= 23000.0


@pytest.mark.parametrize(("length_ft", "whole"), [(10.9, False), (11.0, False), (11.1, True)])
def test_past_two_thirds_the_whole_sill_goes(length_ft: float, whole: bool) -> None:
    """11 ft and 12 in each end make 13 of 20 ft: 65 %."""
    piece = scope(NEEDLE, sill(length=length_ft * FT)).needs[0]
    assert (float(piece.length_in) == pytest.approx(20 * FT)) is whole


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
def test_every_counted_joist_is_carried_and_none_on_a_ledger_of_its_own(method: Method) -> None:
    fifteen = hours(scope(method, sill()))
    five = hours(scope(method, sill(joists=5.0)))
    ledger = hours(scope(method, sill(flags={"joists_on_ledger": True})))
    assert fifteen - five == pytest.approx(15.0)
    assert fifteen - ledger == pytest.approx(22.5)


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
def test_no_step_speaks_of_joists_where_none_bears_on_the_sill(method: Method) -> None:
    for free in (sill(joists=0.0), sill(flags={"joists_on_ledger": True}), sill(joists=0.0, many=True)):
        assert not [task for task in tasks(scope(method, free)) if "joist" in task.text.lower()]
    assert len([task for task in tasks(scope(method, sill())) if "joist" in task.text.lower()]) == 3


def test_counted_joists_are_carried_whatever_the_length_of_the_cut() -> None:
    assert hours(scope(NEEDLE, termites())) > 40.0 + 55.0 + 10.0


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
@pytest.mark.parametrize(("depth_in", "too_much"), [(3.0, True), (3.4, True), (3.6, False), (6.1, False)])
def test_a_sill_soft_in_its_outer_third_needs_no_needles(method: Method, depth_in: float, too_much: bool) -> None:
    """A face goes half an inch past the rot: 3 1/2 in of rot make a third of 12 in."""
    assert (too_much_by(method, outer(depth_in)) == ["M14"]) is too_much


@pytest.mark.parametrize("case", [
    sill("crush", words={"side": "outer"}, depth=2.0),
    sill("band", words={"side": "bottom"}, depth=2.0),
    sill("band", words={"side": "outer"}, depth=2.0, flags={"bearing_failed": True}),
], ids=["crushed", "wet_underside", "bearing_failed"])
def test_a_crushed_sill_or_a_wet_underside_goes_on_needles_however_shallow(case: Case) -> None:
    assert not too_much_by(NEEDLE, case)


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
@pytest.mark.parametrize("flag", ["masonry_tied", "engineer_says_keep"])
def test_a_sill_that_must_stay_is_not_cut_out(method: Method, flag: str) -> None:
    assert forbidden_by(method, sill(flags={flag: True})) == ["G13"]


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
def test_a_stamped_design_and_a_permit_come_first(method: Method) -> None:
    assert {"lead.engineer_stamp", "lead.permit"} <= set(scope(method, sill()).leads)


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
def test_the_wall_stays_on_its_needles_while_the_mortar_sets(method: Method) -> None:
    work = scope(method, sill())
    assert "concrete" in work.cures
    assert any(w.kind == "cure" and float(w.days) >= 3.0 and w.room == 1.0 and w.load == 1.0 for w in waits(work))
    assert sum(t.share for t in tasks(work)) == pytest.approx(1.0)


def test_a_floor_that_has_dropped_is_not_jacked_level_in_a_day() -> None:
    assert any("in a day" in note for note in scope(NEEDLE, sill(floor_drop=1.0)).notes)


def test_longer_rot_never_makes_a_sill_cheaper() -> None:
    for method in METHODS:
        prices = [float(money(scope(method, sill(length=n * FT)))) for n in (2, 4, 8, 11, 12, 14, 18, 20)]
        assert prices == sorted(prices)


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
def test_a_case_with_nothing_unknown_reads_alike_in_one_world_and_in_many(method: Method) -> None:
    for damage, depth, length_ft in (("band", 3.0, 4.0), ("band", 6.5, 8.0), ("through", 12.0, 14.0)):
        plain, many = (
            sill(
                damage, words={"side": "outer", "inner_face": "sound"}, depth=depth, length=length_ft * FT, many=m,
                level="cut_out",
            )
            for m in (False, True)
        )
        assert same_everywhere(method, plain, many)
