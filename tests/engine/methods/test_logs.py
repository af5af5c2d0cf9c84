"""New wood in a log wall: what each way of renewing a log can and cannot, and what it costs against the others.

Amounts, ratios and quantities: common practice, no source. Dollars are those of the base book.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from service.engine.case import Case
from service.engine.method import Method
from service.engine.methods import facing
from service.engine.methods.logs import METHODS
from tests.engine.cases import FT, make_case
from tests.engine.methods.readings import (
    bought,
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

PARTIAL, FULL, BYPASS = (named(METHODS, code) for code in ("log_partial", "log_full", "inplace_bypass"))
FACING = named(facing.METHODS, "face_veneer")
OUTSIDE = {"profile": "round", "side": "outer", "inner_face": "sound"}


def wall_log(
    element: str = "under_window", damage: str = "band", *, words: dict[str, str] | None = None,
    flags: dict[str, bool] | None = None, many: bool = False, level: str = "visited", count: int = 1, **facts: float,
) -> Case:
    """A 12 in log of 24 ft under a window, rotten 3 in deep over 8 ft on its outer face."""
    numbers: dict[str, Any] = {
        "section": 12.0, "depth": 3.0, "length": 8 * FT, "width": 9.0, "clear_length": 24 * FT, "moisture": 23.0,
        "course": 4.0, "openings": 1.0, "point_loads": 0.0, "height": 3.0,
    } | facts
    return make_case(
        element, damage, words=OUTSIDE if words is None else words, flags=flags, many=many, level=level, count=count,
        **numbers,
    )


def test_eight_feet_of_rot_take_ten_feet_of_new_log() -> None:
    (piece,) = scope(PARTIAL, wall_log()).needs
    assert float(piece.length_in) == pytest.approx(10 * FT)
    assert float(piece.net_ft3) == pytest.approx(0.005454 * 144.0 * 10.0, rel=1e-3)


@pytest.mark.parametrize(("rot_ft", "piece_ft"), [(9.0, 11.0), (6.0, 8.0)])
def test_nine_and_six_feet_of_rot_take_eleven_and_eight_feet_of_log(rot_ft: float, piece_ft: float) -> None:
    case = wall_log("wall_low", section=10.0, depth=7.0, length=rot_ft * FT, clear_length=22 * FT)
    (piece,) = scope(PARTIAL, case).needs
    assert float(piece.length_in) == pytest.approx(piece_ft * FT)


def test_ten_feet_under_a_window_cost_what_the_trade_takes_for_it() -> None:
    assert 4500.0 <= float(money(scope(PARTIAL, wall_log()))) <= 12000.0


def test_a_new_face_costs_about_a_third_of_a_piece_of_log_and_a_seventh_of_the_whole() -> None:
    case = wall_log()
    face = float(money(scope(FACING, case)))
    assert 0.2 <= face / float(money(scope(PARTIAL, case))) <= 0.38
    assert 0.09 <= face / float(money(scope(FULL, case))) <= 0.22


def test_a_whole_log_of_eighteen_feet_is_nineteen_feet_long_and_costs_what_the_trade_takes_for_it() -> None:
    case = wall_log("wall_mid", "core", section=14.0, depth=11.0, length=15 * FT, clear_length=18 * FT, course=7.0)
    work = scope(FULL, case)
    assert 8000.0 <= float(money(work)) <= 22000.0
    assert float(work.needs[0].length_in) == pytest.approx(19 * FT)
    assert float(work.needs[0].net_ft3) * 1.1 == pytest.approx(22.0, rel=0.05)


# ---- gates -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("length_ft", "out"), [(13.5, False), (13.6, False), (13.7, True), (20.0, True)])
def test_past_two_thirds_of_the_log_no_piece_is_let_in(length_ft: float, out: bool) -> None:
    """13.6 ft and 12 in each end make 15.6 of 24 ft: 65 %."""
    case = wall_log(length=length_ft * FT)
    assert ("G11" in forbidden_by(PARTIAL, case)) is out
    assert ("G12" in too_much_by(FULL, case)) is not out


@pytest.mark.parametrize("method", [PARTIAL, FULL], ids=lambda m: m.code)
@pytest.mark.parametrize(("loads", "out"), [(0.0, False), (1.0, False), (2.0, True), (3.0, True)])
def test_a_log_under_two_point_loads_stays(method: Method, loads: float, out: bool) -> None:
    case = wall_log(point_loads=loads)
    assert (forbidden_by(method, case) == ["G13"]) is out
    assert (too_much_by(BYPASS, case) == []) is out


@pytest.mark.parametrize("flag", ["masonry_tied", "engineer_says_keep"])
def test_a_log_that_masonry_or_the_engineer_holds_is_bypassed(flag: str) -> None:
    case = wall_log(flags={flag: True})
    assert "G13" in forbidden_by(PARTIAL, case)
    assert "G13" in forbidden_by(FULL, case)
    assert not forbidden_by(BYPASS, case)
    assert not too_much_by(BYPASS, case)


def test_the_log_on_which_everything_lands_is_bypassed() -> None:
    case = wall_log("keystone_log", depth=7.0)
    assert "G13" in forbidden_by(PARTIAL, case)
    assert "G13" in forbidden_by(FULL, case)
    assert not too_much_by(BYPASS, case)


def test_a_log_that_nothing_holds_needs_no_bypass() -> None:
    assert too_much_by(BYPASS, wall_log()) == ["G13"]


@pytest.mark.parametrize("method", [PARTIAL, FULL], ids=lambda m: m.code)
def test_a_sill_is_never_pieced_in(method: Method) -> None:
    assert "R7" in forbidden_by(method, wall_log("sill_log", depth=7.0))


def test_a_log_that_spans_an_opening_is_renewed_whole() -> None:
    for case in (wall_log("header_log", depth=7.0), wall_log(depth=7.0, flags={"over_opening": True})):
        assert "M12" in forbidden_by(PARTIAL, case)
        assert not forbidden_by(FULL, case)
        assert not too_much_by(FULL, case)


@pytest.mark.parametrize("flag", ["past_notch", "both_notches_gone"])
def test_rot_in_the_corner_leaves_no_room_for_an_end_joint(flag: str) -> None:
    case = wall_log(flags={flag: True})
    assert forbidden_by(PARTIAL, case) == ["G11"]
    assert not forbidden_by(FULL, case)
    assert not too_much_by(FULL, case)


@pytest.mark.parametrize(("length_in", "little"), [(23.7, True), (24.0, False), (24.3, False)])
def test_two_feet_of_rot_are_the_least_that_a_log_is_compared_for(length_in: float, little: bool) -> None:
    assert ("R6" in too_much_by(PARTIAL, wall_log(length=length_in))) is little


@pytest.mark.parametrize(("depth_in", "little"), [(5.9, True), (6.0, True), (6.1, False)])
def test_short_rot_past_half_the_log_is_reason_enough(depth_in: float, little: bool) -> None:
    assert ("R6" in too_much_by(PARTIAL, wall_log(depth=depth_in, length=12.0))) is little


def test_short_rot_through_both_faces_is_reason_enough() -> None:
    assert not too_much_by(PARTIAL, wall_log(length=12.0, words={"profile": "round", "inner_face": "soft"}))


def test_a_crushed_log_is_reason_enough_however_short() -> None:
    assert not too_much_by(PARTIAL, wall_log(damage="crush", length=10.0))


def test_there_is_no_log_behind_log_siding() -> None:
    case = wall_log(words={"profile": "log_siding"})
    assert all("B2" in forbidden_by(method, case) for method in METHODS)


# ---- who signs ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("rot_ft", "letter"), [(5.9, False), (6.0, False), (6.1, True)])
def test_a_cut_of_more_than_eight_feet_takes_an_engineers_letter(rot_ft: float, letter: bool) -> None:
    work = scope(PARTIAL, wall_log(length=rot_ft * FT))
    assert bool(bought(work, "engineer_letter")) is letter
    assert ("lead.engineer_letter" in work.leads) is letter


def test_a_point_load_on_a_short_piece_takes_an_engineers_letter() -> None:
    assert bought(scope(PARTIAL, wall_log(length=3 * FT, point_loads=1.0)), "engineer_letter") == 1.0


def test_two_neighbouring_courses_take_a_letter_and_three_a_stamped_design() -> None:
    short = wall_log(length=3 * FT)
    two, three = (scope(PARTIAL, replace(short, adjacent_courses=n)) for n in (2, 3))
    assert two.leads == ["lead.engineer_letter"]
    assert three.leads == ["lead.engineer_stamp"]
    assert bought(three, "engineer_stamp") == 1.0


def test_neighbouring_courses_share_one_set_up_of_needles() -> None:
    apart = wall_log(count=2, length=3 * FT)
    together = replace(apart, adjacent_courses=2)
    assert bought(scope(PARTIAL, apart), "log_partial.shoring") == 2.0
    assert bought(scope(PARTIAL, together), "log_partial.shoring") == 1.0
    assert hours(scope(PARTIAL, together)) < hours(scope(PARTIAL, apart))


@pytest.mark.parametrize(
    ("clear_ft", "course", "crane"), [(20.0, 5.0, False), (20.1, 5.0, True), (20.0, 6.0, True), (12.0, 2.0, False)]
)
def test_a_crane_comes_for_more_than_twenty_feet_or_above_the_fifth_course(
    clear_ft: float, course: float, crane: bool
) -> None:
    work = scope(FULL, wall_log("wall_low", length=12 * FT, clear_length=clear_ft * FT, course=course))
    assert bool(bought(work, "crane_half_day")) is crane


# ---- clocks, steps, wood -----------------------------------------------------------------------------------------


def test_the_room_is_out_while_both_faces_are_open_and_not_for_a_new_face() -> None:
    case = wall_log()
    room = sum(t.share * t.room for t in tasks(scope(PARTIAL, case)))
    assert room > 0.9
    assert sum(t.share * t.room for t in tasks(scope(FACING, case))) <= 0.25 * room


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
def test_shares_of_a_stage_add_up_and_somebody_looks_before_it_goes_on(method: Method) -> None:
    work = scope(method, wall_log("wall_mid", depth=7.0))
    assert sum(t.share for t in tasks(work)) == pytest.approx(1.0)
    assert any(t.hold for t in tasks(work))


def test_the_joints_of_a_piece_are_checked_against_the_neighbouring_courses() -> None:
    assert any(t.hold and "24 in" in t.text and "12 in" in t.text for t in tasks(scope(PARTIAL, wall_log())))


def test_a_squared_log_is_renewed_in_timber_of_both_its_sizes() -> None:
    case = wall_log(words={"profile": "hewn"}, section=8.0, section_other=12.0, depth=6.0)
    (piece,) = scope(PARTIAL, case).needs
    assert piece.form == "timber"
    assert (float(piece.thickness_in), float(piece.width_in)) == (8.0, 12.0)


def test_a_bypass_waits_for_its_bond_and_for_the_engineer() -> None:
    work = scope(BYPASS, wall_log("keystone_log"))
    assert "lead.engineer_stamp" in work.leads
    assert any(w.kind == "cure" and float(w.days) >= 3.0 for w in waits(work))


def test_a_bypass_past_half_the_log_takes_two_faces() -> None:
    shallow, deep = (scope(BYPASS, wall_log("keystone_log", depth=d)).needs[0].each for d in (5.0, 7.0))
    assert (float(shallow), float(deep)) == (1.0, 2.0)


def test_beside_a_crushed_log_the_engineers_frame_carries() -> None:
    plain = scope(BYPASS, wall_log("keystone_log"))
    crushed = scope(BYPASS, wall_log("keystone_log", "crush"))
    assert bought(plain, "inplace_bypass.frame") == 0.0
    assert bought(crushed, "inplace_bypass.frame") == 1.0


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
def test_longer_or_deeper_rot_never_makes_a_method_cheaper(method: Method) -> None:
    prices = [
        float(money(scope(method, wall_log(length=length_ft * FT, depth=depth))))
        for depth in (2.0, 4.0, 6.0, 9.0, 12.0) for length_ft in (2.0, 6.0, 12.0, 14.0, 20.0, 24.0)
    ]
    rows = [prices[n : n + 6] for n in range(0, len(prices), 6)]
    assert all(row == sorted(row) for row in rows)
    assert all(list(column) == sorted(column) for column in zip(*rows, strict=True))


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
@pytest.mark.parametrize("element", ["wall_low", "under_window", "plate_log", "keystone_log", "header_log", "sill_log"])
def test_a_case_with_nothing_unknown_reads_alike_in_one_world_and_in_many(method: Method, element: str) -> None:
    for damage, depth, length_ft in (("band", 3.0, 8.0), ("pocket_deep", 2.0, 1.5), ("through", 12.0, 15.0)):
        plain, many = (
            wall_log(
                element, damage, depth=depth, length=length_ft * FT, many=m, level="cut_out", joists=8.0, load=0.0
            )
            for m in (False, True)
        )
        assert same_everywhere(method, plain, many)


@pytest.mark.parametrize("code", ["face_veneer", "inlay_full_qs"])
def test_a_plate_log_gets_no_skin_under_a_seat(code: str) -> None:
    """Common practice, no source: between seats, not under one; a distance nobody gave may be none."""
    method, inlay = named(facing.METHODS, code), code == "inlay_full_qs"
    facts: dict[str, Any] = {"section": 12, "depth": 1.5 if inlay else 3, "length": 120, "width": 5, "clear_length": 150}
    words = {"inner_face": "sound", "side": "outer"}
    assert "B2" in forbidden_by(method, make_case("plate_log", "band", words=words, bears=["truss"], **facts))
    assert "B2" in forbidden_by(method, make_case("plate_log", "band", words=words, point_loads=1, to_joint=10, **facts))
    clear = make_case("plate_log", "band", words=words, bears=["truss"], to_joint=30, **facts)
    assert not forbidden_by(method, clear)
