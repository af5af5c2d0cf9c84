"""What cannot be is rejected with its likely slip, what can be spared is dropped, contradictions go to the worse (R36).

Source of the cases: common practice, no source (B1, G01, G02, S29).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from service.engine.likeness import letters_apart, near_codes
from service.engine.sense import Checked, check_defect, check_house
from service.engine.survey import CauseSeen, Defect, House, Span, WoodOnHand
from tests.engine.cases import knowledge, make_defect


def look(defect: Defect, house: House | None = None) -> Checked:
    return check_defect(defect, knowledge(), house)


def codes(checked: Checked) -> list[str]:
    return [slip.code for slip in checked.slips]


def test_a_plain_pocket_passes_untouched() -> None:
    defect = make_defect("wall_mid", "pocket_shallow", section=11, depth=0.5, length=5, width=3, moisture=13)
    assert look(defect) == Checked(defect, (), (), provisional=False)


def test_a_depth_past_the_thickness_is_rejected_and_asks_whether_it_was_swapped_or_rotted_through() -> None:
    checked = look(make_defect("wall_mid", "band", section=10, depth=14, length=36))
    assert checked.defect is None
    [slip] = checked.slips
    assert (slip.path, slip.value, slip.code, slip.fatal) == (("depth",), "14 in", "depth_over_section", True)
    assert "Swapped?" in slip.right
    assert "through" in slip.right


def test_a_depth_of_the_whole_thickness_is_no_slip() -> None:
    assert codes(look(make_defect("wall_mid", "through", section=10, depth=10, length=36))) == []
    assert codes(look(make_defect("wall_mid", "band", section=10, depth=10, length=36))) == []


def test_a_depth_past_the_thickness_that_is_named_through_is_priced_as_through_and_provisional() -> None:
    checked = look(make_defect("wall_mid", "through", section=10, depth=14, length=36))
    assert checked.defect is not None
    assert "depth" not in checked.defect.numbers
    assert checked.provisional


@pytest.mark.parametrize(("name", "value"), [("length", -36.0), ("section", 0.0), ("width", -1.0), ("span", 0.0)])
def test_a_size_that_is_zero_or_negative_rejects_its_defect(name: str, value: float) -> None:
    defect = make_defect("header_log", "band", section=12, depth=2, length=36)
    checked = look(replace(defect, numbers={**defect.numbers, name: (Span(value, value),)}))
    assert checked.defect is None
    assert [(s.path, s.code) for s in checked.slips] == [((name,), "not_positive")]


def test_a_negative_length_suggests_the_same_length_without_its_sign() -> None:
    [slip] = look(make_defect("wall_mid", "band", section=12, depth=2, length=-36)).slips
    assert slip.right == "Probably 36 in."


def test_a_zero_section_is_named_once_and_not_as_depth_over_section_as_well() -> None:
    assert codes(look(make_defect("wall_mid", "band", section=0, depth=1, length=24))) == ["not_positive"]


def test_decay_longer_than_its_log_is_rejected() -> None:
    checked = look(make_defect("wall_mid", "band", section=12, depth=2, length=480, clear_length=264))
    assert checked.defect is None
    assert codes(checked) == ["length_over_clear"]
    assert checked.slips[0].value == "40 ft"


def test_every_impossible_value_of_a_defect_is_named_at_once() -> None:
    checked = look(make_defect("wall_mid", "band", section=-12, depth=-2, length=-36))
    assert {s.path[0] for s in checked.slips} == {"section", "depth", "length"}


def test_no_depth_beside_rotted_through_is_priced_as_through_and_provisional() -> None:
    checked = look(make_defect("wall_low", "through", section=11, depth=0, length=48))
    assert checked.defect is not None
    assert "depth" not in checked.defect.numbers
    assert codes(checked) == ["depth_against_through"]
    assert checked.provisional
    assert "rotted through" in checked.notes[0]


def test_no_depth_beside_other_rot_is_rejected() -> None:
    checked = look(make_defect("wall_low", "pocket_deep", section=11, depth=0, length=48))
    assert checked.defect is None
    assert codes(checked) == ["depth_zero"]


@pytest.mark.parametrize("reading", [180.0, 4.0, -3.0])
def test_a_reading_that_no_meter_gives_is_dropped_and_the_defect_priced_without_it(reading: float) -> None:
    checked = look(make_defect("wall_mid", "band", section=12, depth=1, length=24, moisture=reading))
    assert checked.defect is not None
    assert "moisture" not in checked.defect.numbers
    assert codes(checked) == ["moisture_impossible"]
    assert not checked.provisional


@pytest.mark.parametrize("reading", [5.0, 100.0])
def test_the_ends_of_what_a_meter_reads_are_kept(reading: float) -> None:
    checked = look(make_defect("wall_mid", "band", section=12, depth=1, length=24, moisture=reading))
    assert checked.slips == ()


def test_a_reading_in_frozen_wood_is_not_trusted() -> None:
    defect = make_defect("wall_low", "band", section=14, depth=3, length=10, moisture=18)
    frozen = look(defect, House(numbers={"wood_temperature": Span(25, 25)}))
    assert codes(frozen) == ["moisture_frozen"]
    assert frozen.defect is not None
    assert "moisture" not in frozen.defect.numbers
    thawed = look(defect, House(numbers={"wood_temperature": Span(33, 33)}))
    assert thawed.slips == ()


def test_an_empty_member_asks_which_part_of_the_building_it_is() -> None:
    checked = look(make_defect("", "band"))
    assert checked.defect is None
    [slip] = checked.slips
    assert slip.code == "unknown_element"
    assert "wall_mid" in slip.right


def test_a_misspelt_member_and_damage_suggest_the_near_codes() -> None:
    checked = look(make_defect("wall-midd", "pocket deap"))
    assert "wall_mid" in checked.slips[0].right.split("?")[0]
    assert "pocket_deep" in checked.slips[1].right.split("?")[0]


def test_damage_that_such_a_member_cannot_have_is_rejected_with_what_it_can_have() -> None:
    checked = look(make_defect("chink_line", "foot_rot"))
    assert codes(checked) == ["damage_not_on_member"]
    assert "seal_fail_adh" in checked.slips[0].right


def test_a_list_has_one_value_a_piece() -> None:
    defect = replace(
        make_defect("log_tail", "end_rot", count=3, section=12), numbers={"from_end": (Span(3, 3), Span(9, 9))}
    )
    checked = look(defect)
    assert checked.defect is None
    assert codes(checked) == ["list_length"]


def test_a_list_of_one_beside_three_pieces_is_no_list_for_them() -> None:
    """R35: a list is one value a piece; a single value is sent bare."""
    three = make_defect("post_porch", "foot_rot", count=3, from_end=4.0)

    assert check_defect(three, knowledge()).defect is not None
    assert codes(check_defect(replace(three, listed=("from_end",)), knowledge())) == ["list_length"]


def test_the_piece_whose_value_is_impossible_is_pointed_at() -> None:
    defect = replace(
        make_defect("wall_mid", "band", count=2, length=30),
        numbers={"section": (Span(10, 10),), "depth": (Span(3, 3), Span(12, 12)), "length": (Span(30, 30),)},
    )
    assert [(s.path, s.code) for s in look(defect).slips] == [(("depth", 1), "depth_over_section")]


def test_more_damaged_pieces_than_there_are_is_a_slip() -> None:
    checked = look(make_defect("deck_joist", "soft_wood", count=12, of=3, depth=0.75, section=9.5))
    assert codes(checked) == ["count_over_of"]


def test_decay_higher_than_its_post_is_a_slip_and_decay_past_a_tail_runs_into_the_notch() -> None:
    assert codes(look(make_defect("post_porch", "foot_rot", section=8, from_end=120, post_height=96))) == [
        "from_end_over_height"
    ]
    tail = look(make_defect("log_tail", "end_rot", section=12, from_end=20, tail=18))
    assert tail.defect is not None
    assert "notch" in tail.notes[0]


def test_a_width_past_half_the_girth_is_said_and_not_fatal() -> None:
    checked = look(make_defect("wall_mid", "band", section=12, depth=2, length=36, width=24))
    assert checked.defect is not None
    assert checked.defect.numbers["width"] == (Span(24, 24),)
    assert checked.provisional
    assert "half way round" in checked.notes[0]


@pytest.mark.parametrize("element", ["log_siding", "roof_deck"])
def test_rot_runs_across_as_many_boards_as_it_likes(element: str) -> None:
    """Ten boards side by side are no slip, and no log that is measured round its girth."""
    wide = make_defect(element, "soft_wood", section=1.5, depth=1.5, length=120.0, width=72.0)
    assert look(wide) == Checked(wide, (), (), provisional=False)
    assert codes(look(make_defect(element, "soft_wood", section=1.5, length=120.0, width=500.0))) == ["out_of_range"]
    assert codes(look(make_defect("wall_mid", "band", section=12.0, length=120.0, width=72.0))) == ["out_of_range"]


@pytest.mark.parametrize("element", ["trim", "threshold", "tread"])
def test_a_board_is_wider_than_a_log_as_thick_is_round(element: str) -> None:
    checked = look(make_defect(element, "soft_wood", section=1.5, depth=0.5, length=6.0, width=4.0))
    assert (checked.notes, checked.provisional) == ((), False)


def test_a_depth_past_what_is_usual_beside_an_unmeasured_thickness_is_said() -> None:
    checked = look(make_defect("wall_mid", "band", depth=13, length=36))
    assert checked.defect is not None
    assert checked.provisional
    assert look(make_defect("wall_mid", "band", depth=3, length=36)).notes == ()


def test_rot_that_is_called_old_and_read_soaking_counts_as_live() -> None:
    checked = look(make_defect("wall_mid", "band", section=12, depth=2, moisture=34, words={"activity": "old"}))
    assert checked.defect is not None
    assert "activity" not in checked.defect.words
    assert checked.provisional


def test_a_sound_inner_face_beside_rot_on_both_faces_counts_as_soft() -> None:
    checked = look(make_defect("wall_mid", "band", section=12, depth=4, words={"inner_face": "sound", "side": "both"}))
    assert checked.defect is not None
    assert "inner_face" not in checked.defect.words
    assert checked.provisional


@pytest.mark.parametrize(("damage", "loss", "kept"), [
    ("soft_wood", 0.0, False), ("soft_wood", 9.0, False), ("soft_wood", 11.0, True), ("through", 50.0, False),
    ("joint_decay", 40.0, True),
])
def test_a_share_lost_that_is_far_less_than_the_rot_takes_does_not_count(damage: str, loss: float, kept: bool) -> None:
    sizes: dict[str, Any] = {} if damage in ("through", "joint_decay") else {"depth": 3.0}
    checked = look(make_defect("girder", damage, section=10, section_loss=loss, **sizes))
    assert checked.defect is not None
    assert ("section_loss" in checked.defect.numbers) is kept
    assert codes(checked) == ([] if kept else ["loss_against_depth"])


def test_an_unknown_word_cause_or_empty_piece_of_wood_is_dropped_and_the_rest_is_priced() -> None:
    defect = replace(
        make_defect("wall_mid", "band", section=12, depth=2, length=36, words={"side": "outter"}),
        causes=(CauseSeen("K99", "open"), CauseSeen("K02", "open")), wood=(WoodOnHand("log", 0.0, 120.0, 14.0, None),),
    )
    checked = look(defect)
    assert checked.defect is not None
    assert (checked.defect.words, checked.defect.wood) == ({}, ())
    assert [c.code for c in checked.defect.causes] == ["K02"]
    assert set(codes(checked)) == {"unknown_word", "unknown_cause", "not_positive"}
    assert "outer" in checked.slips[0].right


def test_a_house_fact_that_cannot_be_is_dropped_and_counts_as_not_stated() -> None:
    numbers = {"year_built": Span(12, 12), "distance": Span(40, 40)}
    house = House(numbers=numbers, words={"heritage": "listed", "snow": "none"})
    cleaned, slips = check_house(house, knowledge())
    assert set(cleaned.numbers) == {"distance"}
    assert cleaned.words == {"snow": "none"}
    assert [(s.path, s.code, s.fatal) for s in slips] == [
        (("year_built",), "year_out_of_range", False), (("heritage",), "unknown_word", False),
    ]


@pytest.mark.parametrize(("one", "other", "apart"), [("kitten", "sitting", 3), ("", "abc", 3), ("same", "same", 0)])
def test_letters_apart_is_levenshteins_distance(one: str, other: str, apart: int) -> None:
    """Source: the textbook example kitten / sitting (Wagner and Fischer 1974)."""
    assert letters_apart(one, other) == apart


def test_nothing_near_gives_no_suggestion() -> None:
    assert near_codes("zzzzzz", knowledge().elements) == ()


def test_a_month_beside_another_day_of_prices_is_a_contradiction_and_is_said() -> None:
    """R36: the cold would be of the one, and the waits of the other."""
    january = House(numbers={"month": Span(1.0, 1.0)})
    kept, (slip,) = check_house(january, knowledge(), priced_on=date(2026, 5, 4))
    assert (slip.path, slip.code, slip.fatal) == (("month",), "month_against_day", False)
    assert "month" in kept.numbers
    assert check_house(january, knowledge(), priced_on=date(2026, 1, 4))[1] == ()
    measured = House(numbers={"month": Span(1.0, 1.0), "wood_temperature": Span(30.0, 30.0)})
    assert check_house(measured, knowledge(), priced_on=date(2026, 5, 4))[1] == ()


def test_a_course_above_the_top_of_the_wall_is_asked_about() -> None:
    checked = look(make_defect("wall_mid", "band", section=10, depth=2, length=36, course=9, courses=5))
    assert checked.provisional
    assert any("Course 9 of 5" in note for note in checked.notes)
    assert not look(make_defect("wall_mid", "band", section=10, depth=2, length=36, course=5, courses=5)).provisional


def test_every_slip_of_a_defect_is_told_at_once() -> None:
    """A size that cannot be does not hide that two others contradict each other."""
    checked = look(make_defect("sill_log", "band", section=11, depth=15.75, length=-79, clear_length=-3))
    assert checked.defect is None
    assert codes(checked) == ["not_positive", "not_positive", "depth_over_section"]


def test_what_cannot_be_is_not_held_against_the_rest() -> None:
    checked = look(make_defect("wall_mid", "band", section=10, depth=-14, length=36, clear_length=24))
    assert codes(checked) == ["not_positive", "length_over_clear"]


def test_a_list_of_another_length_is_no_reason_to_fail() -> None:
    defect = replace(
        make_defect("log_tail", "end_rot", depth=4, section=10), count=3,
        numbers={"from_end": (Span(3, 3), Span(9, 9)), "section": (Span(10, 10),), "tail": (Span(-1, -1),)},
    )
    assert codes(look(defect)) == ["list_length", "not_positive"]


@pytest.mark.parametrize(("element", "feet", "found"), [("caulk_line", 2400.0, []), ("wall_mid", 240.0, ["out_of_range"])])
def test_joints_are_told_by_the_house_and_rot_by_the_log(element: str, feet: float, found: list[str]) -> None:
    """Two long walls of eight joints are some hundreds of feet of caulk; no log is that long (common practice, no source)."""
    damage = "seal_fail_adh" if element == "caulk_line" else "band"
    assert codes(look(make_defect(element, damage, length=feet * 12.0))) == found


@pytest.mark.parametrize("clock", [0.5, 12.5])
def test_half_past_twelve_can_be_said_both_ways(clock: float) -> None:
    assert codes(look(make_defect("wall_mid", "check", length=24.0, clock=clock, check_width=0.5))) == []
