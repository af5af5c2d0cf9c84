"""Fillings and let-in patches. Limits, sizes and amounts: common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.case import Case
from service.engine.methods.fill import METHODS, patch_in
from tests.engine.cases import make_case
from tests.engine.methods.readings import (
    bought,
    forbidden_by,
    money,
    named,
    same_everywhere,
    scope,
    tasks,
    too_much_by,
    waits,
)

EPOXY, POLYESTER, PATCH = (named(METHODS, c) for c in ("epoxy_fill", "polyester_fill", "dutchman"))


def pocket(
    depth: float = 2.0, length: float = 7.0, width: float = 5.0, *, section: float = 12.0, element: str = "wall_low",
    damage: str = "pocket_deep", count: int = 1, words: dict[str, str] | None = None,
    flags: dict[str, bool] | None = None, **facts: float,
) -> Case:
    """A pocket in the outside of a wall log, dry, in mild weather."""
    numbers: dict[str, Any] = {
        "section": section, "depth": depth, "length": length, "width": width, "moisture": 14.0, "height": 3.0,
        "wood_temperature": 70.0, "forecast_low": 60.0,
    } | facts
    said = {"side": "outer", "profile": "round", "inner_face": "sound"} | (words or {})
    return make_case(element, damage, count=count, words=said, flags=flags, **numbers)


@pytest.mark.parametrize(("depth", "section", "length", "out"), [
    (2.9, 14.0, 8.0, False), (3.0, 14.0, 8.0, False), (3.1, 14.0, 8.0, True), (2.5, 10.0, 8.0, False),
    (2.6, 10.0, 8.0, True), (1.0, 12.0, 18.0, False), (1.0, 12.0, 18.1, True),
])
def test_epoxy_goes_3_in_deep_a_quarter_of_the_log_and_18_in_long(
    depth: float, section: float, length: float, *, out: bool
) -> None:
    assert ("G04" in forbidden_by(EPOXY, pocket(depth, length, 4.0, section=section))) is out


@pytest.mark.parametrize(("width", "more", "out"), [
    (4.7, False, False), (4.8, True, False), (11.1, True, False), (11.2, False, True),
])
def test_epoxy_stops_paying_at_150_cubic_inches_and_stops_at_350(width: float, *, more: bool, out: bool) -> None:
    """Volume 0.7 l w d: 15 x w x 3 in makes 31.5 in3 for each inch of width."""
    case = pocket(3.0, 15.0, width, section=16.0)
    assert ("G04" in too_much_by(EPOXY, case)) is more
    assert ("G04" in forbidden_by(EPOXY, case)) is out


@pytest.mark.parametrize(("depth", "width", "out"), [(1.0, 4.0, False), (1.01, 4.0, True), (1.0, 4.1, True)])
def test_polyester_goes_1_in_deep_and_20_cubic_inches(depth: float, width: float, *, out: bool) -> None:
    assert ("G05" in forbidden_by(POLYESTER, pocket(depth, 7.1, width))) is out


@pytest.mark.parametrize(("depth", "section", "length", "out"), [
    (3.0, 12.0, 10.0, False), (3.01, 12.0, 10.0, True), (2.64, 8.0, 10.0, False), (2.65, 8.0, 10.0, True),
    (2.0, 12.0, 29.9, False), (2.0, 12.0, 30.0, True),
])
def test_a_patch_goes_3_in_deep_a_third_of_the_log_and_less_than_30_in_long(
    depth: float, section: float, length: float, *, out: bool
) -> None:
    assert ("G06" in forbidden_by(PATCH, pocket(depth, length, section=section))) is out


def test_a_shallow_spot_needs_no_patch_unless_it_holds_water() -> None:
    assert too_much_by(PATCH, pocket(0.7)) == ["G06"]
    assert too_much_by(PATCH, pocket(0.7, flags={"holds_water": True})) == []


@pytest.mark.parametrize("element", [
    "header_log", "girder", "purlin", "rafter", "truss_bottom_chord", "deck_joist", "deck_ledger", "stringer", "tread",
    "guard", "post_porch",
])
def test_nothing_is_filled_or_patched_where_it_would_have_to_carry(element: str) -> None:
    for method in METHODS:
        assert "R9" in forbidden_by(method, pocket(1.0, 3.0, 2.0, element=element, to_joint=40.0))


def test_end_grain_of_a_tail_is_not_filled_while_its_flank_may_be() -> None:
    end = pocket(1.0, 4.0, 3.0, element="log_tail", damage="end_rot", from_end=4.0)
    assert "R9" in forbidden_by(EPOXY, end)
    assert forbidden_by(EPOXY, pocket(1.0, 4.0, 3.0, element="log_tail", tail=20.0)) == []


def test_a_hard_filling_never_goes_into_a_check_or_a_wall_that_settles() -> None:
    assert "R8" in forbidden_by(EPOXY, pocket(check_width=0.3))
    assert "R8" in forbidden_by(POLYESTER, pocket(0.8, 4.0, 3.0, flags={"moving": True}))


def test_failed_bearing_is_no_case_for_filler() -> None:
    assert "G04" in forbidden_by(EPOXY, pocket(flags={"bearing_failed": True}))
    assert "G15" in forbidden_by(PATCH, pocket(to_joint=5.9))
    assert forbidden_by(PATCH, pocket(to_joint=6.0)) == []


def test_a_large_filling_is_kept_off_old_logs_that_are_protected() -> None:
    listed = {"heritage": "registered"}
    assert "M04" in forbidden_by(EPOXY, pocket(words=listed))
    assert forbidden_by(EPOXY, pocket(1.0, 5.0, 4.0, words=listed)) == []
    assert forbidden_by(PATCH, pocket(words=listed)) == []


@pytest.mark.parametrize(("length", "out"), [(11.9, False), (12.0, False), (12.1, True)])
def test_a_frame_is_mended_only_at_one_end_of_one_part(length: float, *, out: bool) -> None:
    for method in (EPOXY, PATCH):
        frame = pocket(1.0, length, 3.0, element="buck_window", section=9.0)
        assert ("R11" in forbidden_by(method, frame)) is out


def test_paste_for_94_cubic_inches_is_just_under_half_a_gallon() -> None:
    """9 x 6 x 2.5 x 0.7 = 94.5 in3 = 0.47 gal with 15 % waste; 5 rods (common practice, no source)."""
    work = scope(EPOXY, pocket(2.5, 9.0, 6.0))
    assert bought(work, "epoxy_paste") == pytest.approx(0.47, abs=0.005)
    assert bought(work, "borate_rod") == 5.0


def test_a_fist_sized_pocket_costs_what_restorers_charge_either_way() -> None:
    """$400 to 1,250; epoxy over patch 0.7 to 1.6; 4 to 8 rods."""
    wet = pocket(2.0, 7.0, 5.0, section=10.0, moisture=27.0)
    resin, wood = float(money(scope(EPOXY, wet))), float(money(scope(PATCH, wet)))
    assert 400.0 <= resin <= 1250.0
    assert 400.0 <= wood <= 1250.0
    assert 0.7 <= resin / wood <= 1.6
    assert 4.0 <= bought(scope(PATCH, wet), "borate_rod") <= 8.0


def test_a_wet_pocket_waits_two_to_six_weeks_and_a_dry_one_does_not() -> None:
    for method in (EPOXY, PATCH):
        drying = [float(w.days) for w in waits(scope(method, pocket(moisture=27.0))) if w.kind == "drying"]
        assert 14.0 <= sum(drying) <= 42.0
        assert not [w for w in waits(scope(method, pocket(moisture=17.0))) if w.kind == "drying"]


def test_a_filling_takes_two_visits_and_a_patch_one() -> None:
    assert sum(s.return_visit for s in scope(EPOXY, pocket()).stages) == 1
    assert sum(s.return_visit for s in scope(PATCH, pocket()).stages) == 0


def test_epoxy_sets_slower_in_cool_wood_and_takes_the_cold_hardener_below_50() -> None:
    """24 h at 70 degF, 52 h at 50 (common practice, no source); 36 h for the cold hardener."""
    at_70 = waits(scope(EPOXY, pocket()))[-1]
    at_50 = waits(scope(EPOXY, pocket(wood_temperature=50.0, forecast_low=50.0)))[-1]
    at_44 = scope(EPOXY, pocket(wood_temperature=55.0, forecast_low=44.0))
    assert float(at_70.days) * 24.0 == pytest.approx(24.0)
    assert float(at_50.days) * 24.0 == pytest.approx(52.0, abs=0.5)
    assert at_44.cures[-1] == "epoxy_cold"
    assert bought(at_44, "epoxy_cold_extra") > 0.0


def test_too_cold_for_any_hardener_asks_for_standard_epoxy_and_so_for_warmth() -> None:
    assert "epoxy" in scope(EPOXY, pocket(wood_temperature=25.0, forecast_low=12.0)).cures


def test_a_patch_is_cut_an_inch_past_the_rot_and_half_an_inch_behind_it() -> None:
    """10 x 6 x 2.5 of rot: a cut of 12 x 8 x 3 in, 0.17 ft3 (common practice, no source)."""
    case = pocket(2.5, 10.0, 6.0)
    assert [float(x) for x in patch_in(case)] == [3.0, 8.0, 12.0]
    need = scope(PATCH, case).needs[0]
    assert float(need.net_ft3) == pytest.approx(0.17, abs=0.005)


def test_fillings_bring_no_wood() -> None:
    assert scope(EPOXY, pocket()).needs == []
    assert scope(POLYESTER, pocket(0.8, 4.0, 3.0)).needs == []


def test_the_shares_of_every_stage_add_up() -> None:
    for method in METHODS:
        for stage in scope(method, pocket()).stages:
            assert sum(t.share for t in tasks(scope(method, pocket())) if t in stage.parts) == pytest.approx(1.0)


def test_deeper_or_longer_never_makes_the_same_method_cheaper() -> None:
    for method in METHODS:
        prices = [float(money(scope(method, pocket(0.3 * k, 4.0 + 2.0 * k)))) for k in range(1, 12)]
        assert prices == sorted(prices)


def test_one_world_and_many_worlds_agree() -> None:
    facts: dict[str, Any] = {
        "section": 12.0, "depth": 2.0, "length": 7.0, "width": 5.0, "moisture": 14.0, "height": 3.0,
        "wood_temperature": 70.0, "forecast_low": 60.0, "to_joint": 40.0, "clear_length": 240.0, "from_end": 0.0,
    }
    words = {"side": "outer", "profile": "round", "inner_face": "sound"}
    plain = make_case("wall_low", "pocket_deep", level="cut_out", words=words, **facts)
    many = make_case("wall_low", "pocket_deep", level="cut_out", many=True, words=words, **facts)
    assert all(same_everywhere(m, plain, many) for m in METHODS)
