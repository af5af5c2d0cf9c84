"""The heavier repair stays away where the lighter one does, and the lighter one where it would hang on nothing.

Limits: common practice, no source (M00, B2, B3, B10, G03, G07, G13, R6, R8, R9).
"""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.outcome import DefectAnswer, Findings, Option
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import Defect, House
from tests.engine.books import book
from tests.engine.cases import FT, knowledge, make_defect, make_survey


def answered(defect: Defect) -> DefectAnswer:
    return quote(make_survey(defect), book(), knowledge(), all_methods()).defects[0]


def found(defect: Defect) -> Findings:
    return answered(defect).findings[0]


def offered(one: Findings) -> list[str]:
    return [o.method for o in one.options]


def escalated(defect: Defect) -> set[str]:
    return {e.code for e in answered(defect).escalations}


def girder(sag: float, **words: str) -> Defect:
    return make_defect("girder", "sag", words=words, section=12.0, span=14.0, sag=sag)


def test_a_sag_that_has_stopped_is_watched_with_an_engineers_letter_and_gets_no_steel() -> None:
    """M00: monitor is for sag that has stopped, sign-off 2; B3: old green-timber sag."""
    one = found(girder(0.75, activity="old"))
    assert offered(one) == ["monitor"]
    assert any(line.resource == "engineer_letter" for line in one.options[0].lines)
    assert {r.method for r in one.ruled_out} >= {"steel_plates", "beam_replace"}


def test_a_sag_within_a_240th_of_the_span_is_not_yet_a_sag() -> None:
    """B3: string line over 1/240 of the span; 14 ft take 0.7 in."""
    assert offered(found(girder(0.69)))[0] == "monitor"
    assert offered(found(girder(0.71)))[0] == "steel_plates"


def test_a_sag_of_which_nobody_said_whether_it_stopped_is_shored_and_asked_about() -> None:
    """R14: a sagging beam is for today; whether it has stopped settles everything."""
    one = found(girder(2.0))
    assert one.assessment.urgency == "U0"
    assert "activity" in {q.fact for q in one.questions}
    assert "activity" not in {q.fact for q in found(girder(2.0, activity="live")).questions}


@pytest.mark.parametrize(("element", "more"), [("header_log", {"span": 6.0}), ("truss_web", {"to_joint": 60.0})])
def test_a_dimple_in_a_member_that_bends_is_ground_back_and_not_plated(element: str, more: dict[str, Any]) -> None:
    """R9: clean_leave holds on members in bending up to a tenth of their section modulus; R6: more than it needs."""
    dimple = make_defect(
        element, "pocket_shallow", section=12.0, depth=0.4, length=5.0, width=3.0, moisture=14.0,
        **{"height": 8.0, "to_joint": 36.0, **more},
    )
    one = found(dimple)
    assert offered(one)[0] == "clean_leave"
    assert "steel_plates" not in offered(one)


def test_a_cup_in_the_same_member_is_plated() -> None:
    cup = make_defect("header_log", "band", section=10.0, depth=3.0, length=36.0, span=6.0, to_joint=36.0)
    assert offered(found(cup))[0] == "steel_plates"


def test_a_scar_in_a_stacked_log_is_not_shored() -> None:
    """R26: shored where it carries and more than half is gone."""
    scar = make_defect("wall_low", "mech_damage", section=10.0, depth=1.0, length=6.0, width=3.0, moisture=12.0)
    assert "temp_shore" not in offered(found(scar))


DIMPLE: dict[str, Any] = {"section": 10.0, "section_other": 10.0, "length": 12.0, "width": 4.0, "span": 14.0, "height": 10.0}


@pytest.mark.parametrize(("more", "held"), [
    ({"depth": 0.5}, False),  # a twentieth: this season, nobody is kept off
    ({"depth": 1.5}, True),  # past a tenth: load is kept off it (U1)
    ({"depth": 0.5, "sag": 2.0}, True),  # it sags over more than 1/240 of its span (U0)
])
def test_a_beam_is_held_up_only_where_its_use_is_restricted(more: dict[str, float], *, held: bool) -> None:
    """R26: shored where it carries and more than half is gone, or it is urgent."""
    purlin = found(make_defect("purlin", "pocket_shallow", **{**DIMPLE, **more}))
    assert ("temp_shore" in offered(purlin)) is held


def test_more_load_never_makes_a_soft_beam_less_urgent_and_an_engineer_sees_it() -> None:
    """By hand: 10 x 9 in left, S 135 in3, carries 500 psi x 135 x 8 / 168^2 x 12 = 230 lb a foot at the grade assumed; 283 sound.

    Source: statics of a simple beam; NDS 2018, table 4D from memory for the grade assumed.
    """
    def girder_under(load: float) -> Defect:
        words = {"profile": "square"}
        return make_defect("girder", "band", **{**DIMPLE, "depth": 1.0, "line_load": load}, words=words)

    classes = [found(girder_under(load)).assessment.urgency for load in (200.0, 225.0, 235.0, 280.0, 300.0, 480.0)]
    assert classes == ["U2", "U2", "U1", "U1", "U1", "U1"]
    assert "engineer" in escalated(girder_under(300.0))
    assert "leave_by_letter" not in offered(found(girder_under(300.0)))


def test_a_soft_beam_that_sags_goes_to_an_engineer_however_little_is_gone() -> None:
    """B3, R14: 2 in over 14 ft is 1/84, far past 1/240."""
    sagging, level = (make_defect("purlin", "band", **{**DIMPLE, "depth": 0.5, **sag}) for sag in ({"sag": 2.0}, {}))
    assert "engineer" in escalated(sagging)
    assert "engineer" not in escalated(level)


@pytest.mark.parametrize(("damage", "said"), [("fire_char", "charred"), ("band", "soft")])
def test_a_shallow_loss_is_called_what_it_is(damage: str, said: str) -> None:
    one = found(make_defect("girder", damage, **{**DIMPLE, "depth": 0.4}))
    assert f"is {said} at the surface" in one.assessment.urgency_words
    assert "beam_replace" not in offered(one)


@pytest.mark.parametrize(("depth", "urgency", "engineer"), [(0.5, "U3", False), (2.0, "U1", True), (5.5, "U0", True)])
def test_a_notch_that_was_cut_into_a_beam_is_no_scar(depth: float, urgency: str, *, engineer: bool) -> None:
    """G14: past a tenth in bending an engineer looks, whatever took the wood (NDS 4.4.3 allows no deep notch at mid-span)."""
    cut = make_defect("girder", "mech_damage", **{**DIMPLE, "depth": depth})
    assert found(cut).assessment.urgency == urgency
    assert ("engineer" in escalated(cut)) is engineer
    assert (offered(found(cut))[0] in {"leave_by_letter", "steel_plates"}) is engineer
    assert ("monitor" in offered(found(cut))) is not engineer


def test_half_a_beam_burnt_away_goes_to_an_engineer() -> None:
    """G14: more than a tenth of the section of a member in bending, whatever took it."""
    assert "engineer" in escalated(make_defect("girder", "fire_char", **{**DIMPLE, "depth": 3.0}))


def test_a_split_post_is_changed_and_not_plated() -> None:
    """M19: split; several times cheaper than steel. Where the post itself is protected, plates keep it (M21: reversible)."""
    numbers: dict[str, Any] = {"section": 8.0, "length": 30.0, "post_height": 96.0}
    assert offered(found(make_defect("post_porch", "split", **numbers)))[0] == "post_replace"
    listed = make_survey(make_defect("post_porch", "split", **numbers), house=House(words={"heritage": "registered"}))
    kept = quote(listed, book(), knowledge(), all_methods()).defects[0].findings[0]
    assert "steel_plates" in offered(kept)


def test_a_tail_that_is_soft_outside_its_bearing_is_not_held_up() -> None:
    """R26: what is soft there carries nothing."""
    tail = make_defect("purlin", "end_rot", section=10.0, depth=8.0, from_end=10.0, tail=24.0, length=10.0, span=14.0)
    assert "temp_shore" not in offered(found(tail))


def test_a_crushed_log_gets_no_new_face() -> None:
    """G07: the log has to be continuously supported; B3: crush is a bearing failure."""
    numbers: dict[str, Any] = {"section": 10.0, "depth": 2.0, "length": 36.0, "clear_length": 20 * FT, "moisture": 15.0}
    crushed, soft = (found(make_defect("wall_low", damage, **numbers)) for damage in ("crush", "band"))
    assert "face_veneer" in offered(soft)
    assert "face_veneer" not in offered(crushed)
    assert crushed.options[0].method == "log_partial"
    stop_gaps = [o.method for o in crushed.options if o.stop_gap]
    assert stop_gaps[0] == "temp_shore"


def test_a_log_that_an_engineer_wants_kept_goes_back_to_him() -> None:
    """B10 with G13: the engineer sees what is done to a log that he said has to stay."""
    flags = {"engineer_says_keep": True}
    log = make_defect("wall_mid", "band", section=12.0, depth=7.0, length=84.0, flags=flags, clear_length=24 * FT)
    assert "engineer" in escalated(log)
    assert offered(found(log))[0] == "inplace_bypass"


@pytest.mark.parametrize(("count", "engineer"), [(2, False), (3, True)])
def test_more_than_two_logs_of_a_gable_go_to_an_engineer(count: int, *, engineer: bool) -> None:
    """B2: gable logs carry little and are laterally weak; engineer if more than two."""
    logs = make_defect("gable_log", "band", count=count, section=10.0, depth=6.0, length=60.0, height=14.0)
    assert ("engineer" in escalated(logs)) is engineer


@pytest.mark.parametrize("insect", ["ants", "beetle_live"])
def test_wood_that_live_insects_made_soft_is_treated_first_and_then_mended(insect: str) -> None:
    """B9 and M40: treated before the wood is closed in, then repaired like any other hole."""
    eaten = make_defect(
        "wall_mid", insect, section=10.0, depth=2.0, length=10.0, width=5.0, moisture=17.0, height=3.0,
        words={"inner_face": "sound"},
    )
    first: Option = found(eaten).options[0]
    assert first.method == "dutchman"
    order = [s.method for s in first.steps]
    assert order.index("insect_treat") < order.index("dutchman")


def test_ants_without_soft_wood_are_only_treated() -> None:
    assert offered(found(make_defect("wall_mid", "ants", section=10.0)))[0] == "insect_treat"


@pytest.mark.parametrize(("section", "thick", "wide"), [(2.0, 2.0, None), (10.0, None, 10.0)])
def test_siding_measured_like_a_log_gets_a_board_as_wide_and_not_as_thick(
    section: float, thick: float | None, wide: float | None
) -> None:
    """B2: log siding is a board on a frame, 1 1/2 to 2 in thick."""
    siding = make_defect("wall_mid", "soft_wood", words={"profile": "log_siding"}, section=section, depth=1.0, length=10.0)
    [board] = found(siding).options[0].wood
    assert board.thickness.value <= 3.0
    assert thick is None or board.thickness.value == thick
    assert wide is None or board.width.value == wide


def test_what_is_said_of_a_sagging_beam_speaks_of_no_rot() -> None:
    plates = found(girder(2.0)).options[0]
    texts = " ".join(s.text for s in plates.steps if s.method == "steel_plates")
    assert "rot" not in texts
    assert "soft wood" not in texts


def test_a_purlin_tail_is_not_said_to_carry_something_and_nothing_at_once() -> None:
    """M23 and G09: a tail under a barge is not trimmed; it stays outside the bearing all the same."""
    tail = make_defect("purlin", "end_rot", section=12.0, from_end=10.0, tail=30.0, height=14.0)
    why = {r.method: r.why for r in found(tail).ruled_out}
    assert "Something stands or hangs" in why["end_trim_cap"]
    assert "carries nothing" not in why["steel_plates"]


def test_siding_and_trim_get_no_caution_about_guards() -> None:
    for element in ("log_siding", "trim"):
        board = found(make_defect(element, "soft_wood", section=1.5, depth=1.0, length=12.0)).options[0]
        assert board.method == "board_replace"
        assert "guard_load" not in board.cautions
    guard = found(make_defect("rail_post", "soft_wood", section=6.0, depth=1.0, length=12.0)).options[0]
    assert "guard_load" in guard.cautions
