"""How urgent it is, by what the member does and not by the size of the hole (R14; common practice, no source)."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from service.engine.case import Case
from service.engine.urgency import urgency_of
from tests.engine.cases import knowledge, make_case


def level(case: Case) -> str:
    return urgency_of(case)[0]


@pytest.mark.parametrize("element", ["deck_ledger", "guard", "rail_post", "flyway_log", "tread"])
def test_soft_wood_where_people_can_fall_is_for_today(element: str) -> None:
    assert level(make_case(element, "soft_wood", section=6, depth=1)) == "U0"


@pytest.mark.parametrize("element", ["truss_bottom_chord", "truss_top_chord", "truss_king_post"])
def test_a_truss_joint_whose_distance_nobody_gave_is_for_today(element: str) -> None:
    assert level(make_case(element, "soft_wood", section=12)) == "U0"


def test_a_truss_that_is_soft_far_from_its_joints_is_for_the_next_weeks() -> None:
    assert level(make_case("truss_bottom_chord", "soft_wood", section=12, depth=2, to_joint=60)) == "U1"


def test_an_ornamental_end_outside_the_wall_is_for_this_season() -> None:
    assert level(make_case("truss_bottom_chord", "end_rot", section=12, flags={"ornamental_only": True})) == "U2"


@pytest.mark.parametrize(("from_end", "wanted"), [(12.0, "U2"), (26.0, "U1")])
def test_a_rafter_tail_soft_past_its_bearing_is_for_the_next_weeks(from_end: float, wanted: str) -> None:
    """Outside the wall it carries nothing; once the rot has run in, the roof bears on it (M23, R14)."""
    assert level(make_case("rafter_tail", "end_rot", section=8, tail=24, from_end=from_end)) == wanted


def test_a_stringer_soft_at_the_foot_with_sound_notches_is_for_the_next_weeks() -> None:
    assert level(make_case("stringer", "foot_rot", section=10, from_end=7)) == "U1"


def test_a_stringer_soft_in_a_tread_notch_is_for_today() -> None:
    assert level(make_case("stringer", "foot_rot", section=10, from_end=20, flags={"tread_notch": True})) == "U0"


def test_a_stringer_soft_past_its_foot_is_for_today() -> None:
    assert level(make_case("stringer", "foot_rot", section=10, from_end=12)) == "U1"
    assert level(make_case("stringer", "foot_rot", section=10, from_end=12.5)) == "U0"


def test_tread_notches_are_called_sound_only_where_somebody_said_so() -> None:
    said = make_case("stringer", "foot_rot", section=10, from_end=7, flags={"tread_notch": False})
    assert "notches are sound" in urgency_of(said)[1]
    assert "probe every tread notch" in urgency_of(make_case("stringer", "foot_rot", section=10, from_end=7))[1]


@pytest.mark.parametrize("element", ["guard", "rail_post", "tread", "stringer", "deck_ledger", "flyway_log"])
def test_a_split_where_people_can_fall_is_for_today(element: str) -> None:
    assert level(make_case(element, "split")) == "U0"


@pytest.mark.parametrize("element", ["plate_log", "keystone_log"])
def test_a_log_on_which_loads_land_is_for_the_next_weeks_once_it_is_rotten_through(element: str) -> None:
    assert level(make_case(element, "through")) == "U1"
    assert level(make_case("wall_mid", "through")) == "U2"


def test_a_beam_of_which_nothing_is_left_is_for_today_whichever_way_it_was_said() -> None:
    assert level(make_case("girder", "soft_wood", section=10, section_loss=95)) == "U0"
    assert level(make_case("girder", "soft_wood", section=10, depth=5, words={"side": "both"})) == "U0"
    assert level(make_case("girder", "soft_wood", section=10, depth=4, words={"side": "both"})) == "U1"


def test_a_crack_in_a_beam_that_nobody_has_seen_is_not_called_harmless() -> None:
    assert "no strength that counts" not in urgency_of(make_case("purlin", "check_down", level="told"))[1]


def test_a_tail_that_carries_a_porch_is_for_the_next_weeks() -> None:
    assert level(make_case("log_tail", "end_rot", section=12, from_end=6, bears=["porch"])) == "U1"
    assert level(make_case("log_tail", "end_rot", section=12, from_end=6)) == "U2"


def test_a_beam_that_sags_past_a_240th_of_its_span_is_for_today_and_an_old_sag_is_not() -> None:
    assert level(make_case("purlin", "sag", span=20, sag=1.1)) == "U0"
    assert level(make_case("purlin", "sag", span=20, sag=0.9)) == "U2"
    assert level(make_case("purlin", "sag", span=20, sag=1.1, words={"activity": "old"})) == "U2"


def test_post_feet_are_for_the_next_weeks_until_more_than_half_the_post_is_gone() -> None:
    assert level(make_case("post_porch", "foot_rot", section=8, from_end=9)) == "U1"
    assert level(make_case("post_porch", "foot_rot", section=8, depth=6, from_end=9)) == "U0"


def test_joists_close_the_deck_once_half_of_them_are_soft() -> None:
    few = make_case("deck_joist", "soft_wood", section=9.5, depth=0.75, count=3, of=12)
    many = make_case("deck_joist", "soft_wood", section=9.5, depth=0.75, count=9, of=12)
    assert (level(few), level(many)) == ("U1", "U0")


def test_a_drying_crack_can_wait_unless_it_faces_up_or_runs_into_a_bolt_line() -> None:
    assert level(make_case("wall_mid", "check_down", check_width=0.44)) == "U3"
    assert level(make_case("wall_mid", "check_up", check_width=0.44)) == "U2"
    assert level(make_case("truss_bottom_chord", "check", flags={"past_bolt_line": True})) == "U0"


def test_a_rotten_wall_log_is_for_this_season_and_several_past_half_are_for_the_next_weeks() -> None:
    one = make_case("wall_low", "band", section=10, depth=7)
    assert level(one) == "U2"
    assert level(replace(one, adjacent_courses=2)) == "U1"


def test_a_sill_whose_floor_has_dropped_is_for_the_next_weeks() -> None:
    assert level(make_case("sill_log", "band", section=12, depth=3)) == "U2"
    assert level(make_case("sill_log", "band", section=12, depth=3, floor_drop=1)) == "U1"


def test_a_bearing_that_has_failed_is_for_today_wherever_it_is() -> None:
    assert level(make_case("wall_low", "band", section=14, depth=3, flags={"bearing_failed": True})) == "U0"


@pytest.mark.parametrize(
    ("damage", "urgency"), [("uv_grey", "U3"), ("beetle_old", "U3"), ("mould_stain", "U3"), ("ants", "U2")]
)
def test_what_takes_no_wood_away_is_no_alarm(damage: str, urgency: str) -> None:
    assert level(make_case("wall_mid", damage)) == urgency


def test_every_member_with_every_damage_has_a_class_and_a_sentence_to_read_out() -> None:
    known = knowledge()
    for element in known.elements:
        for damage in known.damages:
            urgency, sentence = urgency_of(make_case(element, damage))
            assert urgency in ("U0", "U1", "U2", "U3"), (element, damage)
            assert sentence.endswith("."), (element, damage)
            assert ": ." not in sentence, (element, damage, sentence)
            assert len(sentence) > 25, (element, damage)


@pytest.mark.parametrize("side", ["top", "bottom"])
def test_a_soft_seat_under_what_lands_on_a_log_is_for_the_next_weeks(side: str) -> None:
    carries = make_case("wall_low", "band", section=12, depth=2, bears=["joists"], words={"side": side})
    assert level(carries) == "U1"
    assert "seat is soft" in urgency_of(carries)[1]
    assert level(make_case("wall_low", "band", section=12, depth=2, words={"side": side})) == "U2"
    assert level(make_case("wall_low", "band", section=12, depth=2, bears=["joists"], words={"side": "outer"})) == "U2"


def test_old_dry_rot_can_wait_only_while_half_of_the_log_is_left() -> None:
    """R26 shores such a log over a long wait: that is not one that can wait for years."""
    dry: dict[str, Any] = {"section": 10.0, "length": 96.0, "moisture": 14.0}
    assert level(make_case("sill_log", "soft_wood", words={"activity": "old"}, depth=4.9, **dry)) == "U3"
    assert level(make_case("sill_log", "soft_wood", words={"activity": "old"}, depth=5.1, **dry)) == "U2"


def test_the_only_stair_is_closed_once_another_way_out_stands() -> None:
    """R33: egress."""
    only = urgency_of(make_case("stringer", "foot_rot", from_end=20.0, flags={"only_exit": True}))
    other = urgency_of(make_case("stringer", "foot_rot", from_end=20.0))
    assert only[0] == other[0] == "U0"
    assert "until it stands one at a time, and only to leave" in only[1]
    assert other[1].startswith("Today: close the stair.")


def test_soft_boards_are_blocked_off_and_the_deck_stays_open() -> None:
    few = urgency_of(make_case("deck", "soft_wood", count=6, of=40.0))
    assert few[0] == "U1"
    assert "nobody steps on the soft boards; block them off" in few[1]
    assert level(make_case("deck", "through", count=6, of=40.0)) == "U0"
    assert "close the deck" in urgency_of(make_case("deck", "through", count=30, of=40.0))[1]


def test_a_soft_tail_is_not_said_to_let_water_in_behind_it() -> None:
    assert "the rot runs inwards" in urgency_of(make_case("log_tail", "end_rot", section=12.0, from_end=3.0))[1]
