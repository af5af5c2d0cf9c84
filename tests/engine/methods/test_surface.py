"""Watching, grinding back, borate and finish. Limits and amounts: common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.array import maximum
from service.engine.case import Case
from service.engine.methods.surface import METHODS, ground_area_ft2, modulus_loss, skin_ft2
from tests.engine.cases import make_case
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

WATCH, CLEAN, SPOT, WALL = (
    named(METHODS, c) for c in ("monitor", "clean_leave", "spot_refinish", "wall_refinish")
)


def dimple(
    depth: float = 0.5, section: float = 11.0, *, element: str = "wall_mid", words: dict[str, str] | None = None,
    flags: dict[str, bool] | None = None, **facts: float,
) -> Case:
    """A hand-sized soft spot at chest height, dry."""
    numbers: dict[str, Any] = {
        "section": section, "depth": depth, "length": 5.0, "width": 3.0, "moisture": 13.0, "height": 4.0,
        "wood_temperature": 65.0,
    } | facts
    return make_case(
        element, "pocket_shallow", words={"side": "outer", "profile": "round"} | (words or {}), flags=flags, **numbers
    )


def check(element: str = "wall_mid", *, flags: dict[str, bool] | None = None, **facts: float) -> Case:
    """A drying check of 2 ft."""
    numbers: dict[str, Any] = {
        "section": 12.0, "check_width": 0.44, "length": 24.0, "clock": 5.5, "moisture": 14.0, "height": 6.0,
    }
    return make_case(element, "check", flags=flags, **numbers | facts)


def test_watching_a_check_that_faces_down_costs_at_most_an_hour_and_no_time_at_all() -> None:
    work = scope(WATCH, check())
    assert forbidden_by(WATCH, check()) == []
    assert 0.0 <= float(money(work)) <= 150.0
    assert tasks(work) == []
    assert waits(work) == []


@pytest.mark.parametrize("flag", ["past_bolt_line", "on_loaded_joint"])
def test_a_crack_through_a_joint_is_not_watched(flag: str) -> None:
    assert "R8" in forbidden_by(WATCH, check(flags={flag: True}))


def test_a_crack_in_a_chord_whose_bolts_nobody_measured_counts_as_through_them() -> None:
    assert "R8" in forbidden_by(WATCH, check("truss_bottom_chord"))
    assert forbidden_by(WATCH, check("truss_bottom_chord", to_joint=30.0)) == []


@pytest.mark.parametrize(("moisture", "out"), [(17.9, False), (18.0, True), (24.0, True)])
def test_rot_is_watched_only_while_it_reads_below_18_percent(moisture: float, *, out: bool) -> None:
    assert ("M00" in forbidden_by(WATCH, dimple(moisture=moisture))) is out


def test_rot_said_to_be_live_is_not_watched_however_dry_it_reads() -> None:
    assert "M00" in forbidden_by(WATCH, dimple(words={"activity": "live"}))
    assert forbidden_by(WATCH, dimple(moisture=25.0, words={"activity": "old"})) == []


@pytest.mark.parametrize(("height", "out"), [(11.9, False), (12.0, False), (12.1, True)])
def test_rot_out_of_reach_is_not_watched_since_a_second_look_costs_the_same_access(height: float, *, out: bool) -> None:
    assert ("M00" in forbidden_by(WATCH, dimple(height=height))) is out


def test_rot_under_people_and_at_tails_is_not_watched() -> None:
    old = {"activity": "old"}
    assert "M00" in forbidden_by(WATCH, dimple(element="tread", words=old))
    assert "M00" in forbidden_by(WATCH, dimple(element="log_tail", words=old))


def test_a_sag_is_watched_with_an_engineers_letter_once_it_has_stopped() -> None:
    stopped = make_case("girder", "sag", words={"activity": "old"})
    assert forbidden_by(WATCH, stopped) == []
    assert bought(scope(WATCH, stopped), "engineer_letter") == pytest.approx(1.0)
    assert "M00" in forbidden_by(WATCH, make_case("girder", "sag"))


def test_old_beetle_holes_are_watched_and_live_insects_are_not() -> None:
    assert forbidden_by(WATCH, make_case("wall_low", "beetle_old")) == []
    assert "M40" in forbidden_by(WATCH, make_case("wall_low", "beetle_live"))


@pytest.mark.parametrize(("depth", "section", "out"), [
    (0.74, 11.0, False), (0.75, 11.0, False), (0.76, 11.0, True), (0.56, 7.0, False), (0.57, 7.0, True),
])
def test_a_pocket_is_ground_back_up_to_three_quarters_of_an_inch_and_8_percent(
    depth: float, section: float, *, out: bool
) -> None:
    assert ("G03" in forbidden_by(CLEAN, dimple(depth, section))) is out


@pytest.mark.parametrize("flag", ["holds_water", "crosses_seal_line"])
def test_a_hollow_that_holds_water_or_crosses_a_seam_is_not_left(flag: str) -> None:
    assert "G03" in forbidden_by(CLEAN, dimple(flags={flag: True}))


@pytest.mark.parametrize(("to_notch", "out"), [(5.9, True), (6.0, False), (6.1, False)])
def test_nothing_is_ground_off_within_6_in_of_a_notch(to_notch: float, *, out: bool) -> None:
    assert ("G03" in forbidden_by(CLEAN, dimple(to_joint=to_notch))) is out


def test_a_joist_is_ground_back_only_while_it_keeps_nine_tenths_of_its_modulus() -> None:
    """1 - (1 - d/D)^2 of a squared section, cut over its whole face (geometry): 10 % at d/D = 0.0513."""
    within, past = (
        dimple(d, 9.25, element="deck_joist", section_other=1.5, to_joint=40.0, words={"profile": "square"})
        for d in (0.47, 0.48)
    )
    assert float(modulus_loss(within)) == pytest.approx(1.0 - (1.0 - 0.47 / 9.25) ** 2)
    assert forbidden_by(CLEAN, within) == []
    assert forbidden_by(CLEAN, past) == ["R9"]


def test_a_pocket_ground_back_costs_what_restorers_charge() -> None:
    """$150 to 550 with borate and spot finish; an hour and a quarter of grinding; no wood."""
    work = scope(CLEAN, dimple())
    assert 150.0 <= float(money(work)) <= 550.0
    assert hours(work) == pytest.approx(1.25 + 1.5, abs=0.05)
    assert work.needs == []
    assert sum(float(w.days) for w in waits(work)) == pytest.approx(1.0)


def test_fair_edges_make_a_deeper_pocket_wider() -> None:
    assert float(ground_area_ft2(dimple(0.5))) == pytest.approx((5.0 + 4.0) * (3.0 + 4.0) / 144.0)


def test_borate_alone_is_never_a_plan() -> None:
    for code in ("borate_surface", "borate_rods"):
        assert forbidden_by(named(METHODS, code), dimple()) == ["R1"]


@pytest.mark.parametrize("words", [{"profile": "hewn"}, {"heritage": "registered"}])
def test_hewn_and_protected_walls_are_never_blasted_but_may_be_cleaned_by_hand(words: dict[str, str]) -> None:
    wall = make_case("wall_mid", "finish_fail", area=300.0, words=words)
    assert forbidden_by(WALL, wall) == ["M39"]
    assert forbidden_by(SPOT, wall) == []


@pytest.mark.parametrize(("area", "spot_out", "wall_more"), [
    (29.0, False, True), (30.0, False, True), (31.0, True, False),
])
def test_a_spot_is_blended_in_and_a_wall_is_finished_whole(area: float, *, spot_out: bool, wall_more: bool) -> None:
    wall = make_case("wall_mid", "finish_fail", area=area)
    assert ("M38" in forbidden_by(SPOT, wall)) is spot_out
    assert ("M39" in too_much_by(WALL, wall)) is wall_more


def test_a_wall_of_800_ft2_has_1040_ft2_of_skin_and_costs_5_to_13_dollars_for_each() -> None:
    wall = make_case("wall_mid", "finish_fail", area=800.0, moisture=15.0, words={"profile": "round"})
    assert float(skin_ft2(wall)) == pytest.approx(1040.0, rel=0.005)
    assert 5.0 <= float(money(scope(WALL, wall))) / 1040.0 <= 13.0


def test_one_world_and_many_worlds_agree() -> None:
    facts: dict[str, Any] = {
        "section": 11.0, "depth": 0.6, "length": 5.0, "width": 3.0, "moisture": 13.0, "height": 4.0,
        "wood_temperature": 65.0, "to_joint": 40.0, "area": 12.0, "clear_length": 240.0, "from_end": 0.0,
    }
    words = {"side": "outer", "profile": "round", "inner_face": "sound"}
    plain = make_case("wall_mid", "pocket_shallow", level="cut_out", words=words, **facts)
    many = make_case("wall_mid", "pocket_shallow", level="cut_out", many=True, words=words, **facts)
    assert all(same_everywhere(m, plain, many) for m in METHODS)


def test_deeper_or_longer_never_makes_grinding_cheaper() -> None:
    before = 0.0
    for k in range(1, 8):
        now = float(money(scope(CLEAN, dimple(0.1 * k, length=4.0 + k))))
        assert now == maximum(now, before)
        before = now


@pytest.mark.parametrize("element", ["notch", "flyway_log", "girder", "buck_window"])
@pytest.mark.parametrize("damage", ["uv_grey", "finish_fail"])
def test_weather_on_a_member_that_is_no_wall_takes_no_blasting_of_a_wall(element: str, damage: str) -> None:
    """M39 is for more than a quarter of a wall; a log end or a frame shows a few square feet (common practice, no source)."""
    case = make_case(element, damage)
    assert too_much_by(WALL, case) == ["M39"]
    assert not forbidden_by(SPOT, case)


@pytest.mark.parametrize(("element", "title"), [("wall_mid", ""), ("log_siding", ""), ("deck", "surface blasted and finished")])
def test_a_deck_that_is_finished_is_not_called_a_wall(element: str, title: str) -> None:
    refinish = named(METHODS, "wall_refinish")
    assert refinish.title_of is not None
    assert refinish.title_of(make_case(element, "finish_fail")) == title
