"""What carries is mended as much as it lost, by the trade's own order, and priced open until somebody has signed.

Limits: common practice, no source (B2, B3, B8, G04, G14, G24, M00, M06, M16 to M19, M22); from the rulings R6, R9, R31.
"""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.outcome import DefectAnswer, Findings, Option
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import Defect
from tests.engine.books import book
from tests.engine.cases import knowledge, make_defect, make_survey


def answered(defect: Defect) -> DefectAnswer:
    return quote(make_survey(defect), book(), knowledge(), all_methods()).defects[0]


def found(element: str, damage: str, **facts: Any) -> Findings:
    return answered(make_defect(element, damage, **facts)).findings[0]


def offered(one: Findings) -> list[str]:
    return [o.method for o in one.options]


def option(one: Findings, method: str) -> Option:
    return next(o for o in one.options if o.method == method)


@pytest.mark.parametrize("element", ["rafter", "floor_joist", "deck_joist"])
def test_a_split_joist_or_rafter_gets_a_new_one_beside_it_and_stays(element: str) -> None:
    one = found(element, "split", section=9.25, section_other=1.5, span=14.0)
    assert offered(one)[0] == "sister"
    assert "beam_replace" not in offered(one)


def test_what_goes_first_is_not_called_a_mere_comparison() -> None:
    """G24 puts a replacement first where a repair costs most of it and lasts less than half as long."""
    for element in ("rafter", "purlin", "wall_mid", "under_window", "post_porch", "girder"):
        for damage in ("split", "soft_wood", "mech_damage"):
            one = found(element, damage, section=8.0, section_other=8.0, depth=4.5, length=30.0)
            assert not one.options[0].comparison_only, (element, damage)


def test_char_that_ate_into_a_header_is_not_watched() -> None:
    deep = found("header_log", "fire_char", section=12.0, depth=2.5, length=24.0, span=6.0)
    skin = found("header_log", "fire_char", section=12.0, depth=0.25, length=24.0, span=6.0)
    assert "monitor" not in offered(deep)
    assert "monitor" in offered(skin)


@pytest.mark.parametrize("element", ["wall_mid", "header_log", "plate_log"])
def test_a_charred_skin_is_scraped_back_and_no_log_is_faced_or_renewed_for_it(element: str) -> None:
    one = found(element, "fire_char", section=12.0, depth=0.25, length=48.0, width=8.0)
    assert set(offered(one)) == {"clean_leave", "monitor"}


def test_a_new_deck_joist_lasts_as_long_as_a_new_deck_and_not_as_a_beam() -> None:
    joists = found("deck_joist", "soft_wood", section=9.25, section_other=1.5, depth=6.0, length=60.0, of=16.0, count=12)
    new, deck = option(joists, "beam_replace"), option(joists, "deck_replace")
    assert new.life == deck.life
    indoors = found("floor_joist", "through", section=9.25, section_other=1.5, length=60.0, span=12.0)
    assert option(indoors, "beam_replace").life.corrected == (40.0, 60.0, 90.0)


def test_a_deck_of_which_most_joists_are_soft_is_renewed_as_a_deck() -> None:
    joists = found("deck_joist", "soft_wood", section=9.25, section_other=1.5, depth=6.0, length=60.0, of=16.0, count=12)
    assert offered(joists)[0] == "deck_replace"


@pytest.mark.parametrize(("hollow", "urgency"), [(5.0, "U1"), (8.0, "U1"), (8.25, "U0"), (10.0, "U0")])
def test_a_hollow_post_is_as_urgent_as_what_is_left_of_it_and_not_as_the_hollow_is_wide(hollow: float, urgency: str) -> None:
    """A square of 8 in out of 12 x 12 leaves 1 - 64 / 144 = 56 %, in a shell of 2 in; a thinner one carries little (B3)."""
    assert found("post_interior", "core", section=12.0, depth=hollow, post_height=96.0).assessment.urgency == urgency


def test_a_post_that_is_soft_from_outside_past_half_is_still_urgent() -> None:
    assert found("post_interior", "soft_wood", section=12.0, depth=6.5, post_height=96.0).assessment.urgency == "U0"


def test_a_hollow_post_of_which_nobody_knows_how_far_up_gets_no_new_foot() -> None:
    unknown = found("post_interior", "core", section=12.0, depth=8.0, post_height=96.0)
    drilled = found("post_interior", "core", section=12.0, depth=8.0, post_height=96.0, length=20.0)
    feet = {"post_epoxy_foot", "post_pedestal", "post_foot_splice"}
    assert not feet & set(offered(unknown))
    assert offered(unknown)[0] == "post_replace"
    assert offered(drilled)[0] == "post_foot_splice"


def test_a_soft_seat_gets_a_bearing_block_on_shores_with_an_engineer_and_no_filling() -> None:
    """G04: not bearing. M06: in bearing only fitted tight as a bearing block. R32: nothing is cut under load."""
    facts: dict[str, Any] = {"section": 11.0, "depth": 2.0, "length": 12.0, "width": 6.0, "words": {"side": "top"}}
    for element, bears in (("plate_log", ()), ("wall_low", ("joists",))):
        one = found(element, "pocket_deep", bears=bears, **facts)
        assert not {"epoxy_fill", "polyester_fill"} & set(offered(one)), element
        block = option(one, "dutchman")
        assert block.provisional
        assert block.sign_off == 2
        assert any(s.method == "temp_shore" for s in block.steps)
        assert {"engineer", "shoring", "structural_provisional"} <= set(block.cautions)


def test_a_soft_top_that_was_measured_to_lie_between_the_seats_is_patched_as_any_log() -> None:
    one = found(
        "plate_log", "pocket_deep", section=11.0, depth=2.0, length=12.0, width=6.0, to_joint=20.0, words={"side": "top"}
    )
    assert one.assessment.urgency == "U2"
    assert not any(s.method == "temp_shore" for s in option(one, "dutchman").steps)


def test_a_girder_that_termites_ate_an_inch_into_is_treated_and_left_on_a_letter_before_it_gets_steel() -> None:
    one = found("girder", "termite_sub", section=10.0, section_other=8.0, depth=1.0, length=30.0, span=12.0)
    assert offered(one)[:2] == ["leave_by_letter", "steel_plates"]
    steps = [s.method for s in one.options[0].steps]
    assert steps.index("insect_treat") < steps.index("leave_by_letter")


@pytest.mark.parametrize("element", ["post_interior", "post_porch", "deck", "deck_joist", "girder", "stringer"])
def test_no_price_of_what_carries_is_firm_before_somebody_has_signed(element: str) -> None:
    for one in found(element, "soft_wood", section=8.0, section_other=8.0, depth=2.0, length=10.0).options:
        assert one.provisional, one.method
        assert "structural_provisional" in one.cautions, one.method


def test_a_hollow_post_that_lost_less_than_a_third_is_left_on_a_letter_and_a_soft_foot_is_not() -> None:
    assert offered(found("post_interior", "core", section=12.0, depth=6.0, post_height=96.0))[0] == "leave_by_letter"
    past_a_third = found("post_interior", "core", section=12.0, depth=7.0, post_height=96.0)
    assert "leave_by_letter" not in offered(past_a_third)
    for damage in ("soft_wood", "foot_rot"):
        assert "leave_by_letter" not in offered(found("post_porch", damage, section=8.0, depth=1.0, post_height=96.0)), damage


def test_a_shell_is_as_thick_as_it_is_at_its_thinnest() -> None:
    """A hollow of 5 in leaves 3 1/2 in of a beam 12 in deep above and below it, and 1 1/2 in of its 8 in beside it."""
    deep = found("girder", "core", section=12.0, section_other=8.0, depth=5.0, span=12.0, length=24.0)
    square = found("girder", "core", section=12.0, section_other=12.0, depth=5.0, span=12.0, length=24.0)
    assert "leave_by_letter" not in offered(deep)
    assert "leave_by_letter" in offered(square)


def test_a_cover_high_up_pays_a_way_up_alone_and_before_the_work_it_waits_for() -> None:
    """R23: from 6 ft on nothing that takes two hands is done from a ladder."""
    facts: dict[str, Any] = {"section": 11.0, "depth": 7.0, "length": 40.0, "ground_slope": 15.0}
    low, high = (found("gable_log", "soft_wood", height=height, **facts) for height in (5.0, 20.0))
    assert "access" not in option(low, "temp_cover").parts
    assert option(high, "temp_cover").parts["access"] > 0
    scaffolded = found("wall_high", "soft_wood", section=11.0, depth=7.0, length=60.0, height=10.0)
    waiting = option(scaffolded, "log_partial")
    assert any(s.method == "temp_cover" for s in waiting.steps)
    rent = next(line for line in waiting.lines if line.resource == "scaffold_rent")
    months = float(rent.quantity) / (13.0 * 20.0)
    assert months == pytest.approx(2.0), "six weeks for the log and the days of the work, on 13 ft x 20 ft"


def test_a_stop_gap_that_costs_as_much_as_the_repair_says_so() -> None:
    joists = found("deck_joist", "soft_wood", section=9.25, section_other=1.5, depth=3.0, length=60.0, of=16.0, count=3)
    assert "costs as much as a repair" in option(joists, "temp_shore").why
    dear = found("girder", "soft_wood", section=10.0, section_other=8.0, depth=6.0, length=30.0, span=12.0)
    assert "costs as much" not in option(dear, "temp_shore").why


@pytest.mark.parametrize(("element", "damage", "facts"), [
    ("purlin", "through", {"section": 10.0, "length": 48.0, "span": 12.0}),
    ("girder", "core", {"section": 12.0, "section_other": 8.0, "depth": 4.0, "span": 12.0}),
    ("post_interior", "core", {"section": 12.0, "depth": 6.0, "post_height": 96.0}),
])
def test_a_first_plan_that_will_hardly_hold_says_so_in_its_reason_and_in_the_headline(
    element: str, damage: str, facts: dict[str, Any],
) -> None:
    """R13: growth does not reorder the plans; where another one is first in most worlds, the headline says so."""
    one = found(element, damage, **facts)
    assert one.options[0].holds < 0.5
    assert one.headline.startswith("More likely: ")
    assert one.options[0].why.startswith("First only if nothing more is found")


def test_the_way_up_stands_before_the_cover_that_is_reached_by_it() -> None:
    high = found("wall_high", "soft_wood", section=11.0, depth=7.0, length=60.0, height=10.0)
    for method in ("temp_cover", "log_partial"):
        plan = option(high, method)
        steps = [s.method for s in plan.steps]
        assert steps.index("access") < steps.index("temp_cover"), method
        if "temp_shore" in steps:
            assert steps.index("temp_shore") < steps.index("access"), "no shore waits for a scaffold"
        assert plan.clocks.crew_days > 0, method
    waits = option(high, "log_partial")
    assert waits.clocks.calendar_days < 20, "six weeks of waiting are no days on site"


@pytest.mark.parametrize("element", ["post_porch", "purlin", "flyway_log"])
def test_what_is_split_where_it_carries_is_held_up_and_not_covered(element: str) -> None:
    one = found(element, "split", section=10.0)
    assert "temp_cover" not in offered(one)
    assert "temp_shore" in offered(one)


@pytest.mark.parametrize("hollow", [6.5, 7.0, 7.5, 8.0, 8.5, 10.0])
def test_an_engineer_signs_for_a_hollow_post_and_goes_on_signing_as_the_hollow_grows(hollow: float) -> None:
    """P8: the structural flag never disappears when a defect gets worse."""
    assert found("post_interior", "core", section=12.0, depth=hollow, post_height=96.0).options[0].sign_off == 2


def test_a_soft_seat_gets_no_new_face() -> None:
    one = found("plate_log", "soft_wood", section=11.0, depth=4.0, length=40.0, width=6.0, words={"side": "top"})
    assert not {"face_veneer", "inlay_full_qs", "dutchman"} & set(offered(one))
    assert offered(one)[0] == "log_partial"


@pytest.mark.parametrize("depth", [0.25, 0.5, 0.75])
def test_a_girder_that_termites_only_scratched_gets_neither_steel_nor_a_new_beam(depth: float) -> None:
    one = found("girder", "termite_sub", section=10.0, section_other=10.0, depth=depth, length=30.0, span=14.0)
    assert not {"steel_plates", "beam_replace", "temp_shore"} & set(offered(one))


@pytest.mark.parametrize(("depth", "urgency"), [(0.5, "U3"), (4.0, "U3"), (7.0, "U2")])
def test_a_log_of_which_more_than_half_is_burnt_away_does_not_wait_for_years(depth: float, urgency: str) -> None:
    assert found("wall_high", "fire_char", section=12.0, depth=depth, length=40.0).assessment.urgency == urgency


def test_char_is_scraped_off_and_not_picked_out_as_if_it_were_rot() -> None:
    charred = option(found("header_log", "fire_char", section=12.0, depth=1.5, length=30.0, span=6.0), "leave_by_letter")
    assert any(s.text.startswith("Scrape the char off") for s in charred.steps)


def test_work_on_a_log_that_sticks_out_takes_the_porch_and_no_room() -> None:
    plates = option(found("flyway_log", "soft_wood", section=11.0, depth=2.0, length=30.0), "steel_plates")
    assert plates.clocks.room_out_days == 0
    assert plates.clocks.load_restricted_days > 0
    inside = option(found("purlin", "soft_wood", section=11.0, depth=4.0, length=30.0), "steel_plates")
    assert inside.clocks.room_out_days > 0


@pytest.mark.parametrize(("length", "depth", "first"), [
    (20.0, 2.0, "dutchman"), (60.0, 2.0, "sill_needle"), (20.0, 3.5, "sill_needle"),
])
def test_a_sill_that_is_soft_under_its_joists_gets_a_block_where_one_does_and_else_a_new_sill(
    length: float, depth: float, first: str,
) -> None:
    """R7: a sill that is past facing is renewed on needles or in masonry, and not strengthened round it."""
    one = found("sill_log", "soft_wood", section=12.0, depth=depth, length=length, joists=4.0, words={"side": "top"})
    assert offered(one)[0] == first
    assert "inplace_bypass" not in offered(one)


@pytest.mark.parametrize(("hollow", "urgency"), [(3.0, "U2"), (4.0, "U1"), (8.5, "U1")])
def test_a_hollow_header_is_as_urgent_as_the_share_that_is_gone(hollow: float, urgency: str) -> None:
    """Of a round log (3 / 12) ** 2 = 6 %, (4 / 12) ** 2 = 11 %; G14 draws the line at a tenth, B3 at a shell of 2 in."""
    one = found("header_log", "core", section=12.0, depth=hollow, length=40.0, span=6.0, words={"profile": "round"})
    assert one.assessment.urgency == urgency
