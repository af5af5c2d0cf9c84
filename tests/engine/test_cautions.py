"""Cautions, hazards, escalations and the waiver: what nobody knows counts as there (B10, R16, R31 to R33)."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from service.engine.case import Case
from service.engine.cautions import cautions_of, defect_cautions, waiver_words
from service.engine.escalations import escalations_of
from service.engine.hazards import hazard_charges, hazard_conditionals, laboratory_tests
from service.engine.knowledge import MethodRecord
from service.engine.methods.interim import cover, shore
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import CauseSeen, House, Span
from service.engine.urgency import urgency_of
from service.engine.work import Work
from tests.engine.books import book
from tests.engine.cases import knowledge, make_case, make_defect, make_survey


def built(year: int, **words: str) -> House:
    return House(numbers={"year_built": Span(year, year)}, words=words)


def planned(case: Case, code: str, *, heated: bool = False) -> tuple[str, ...]:
    """Cautions of one method's own scope."""
    work = Work(case, 1.0)
    all_methods()[code].scope(case, work)
    return cautions_of(case, knowledge().methods[code], work, heated)


def _thought_of(record: MethodRecord, element: str, damage: str) -> bool:
    return (not record.elements or element in record.elements) and (not record.damages or damage in record.damages)


def sent_to(case: Case) -> list[str]:
    return [e.code for e in escalations_of(case, knowledge(), urgency_of(case)[0])]


STRUCTURAL = ("structural_provisional", "engineer", "zero_strength", "suspect_length")


@pytest.mark.parametrize(("element", "damage", "method"), [
    ("truss_bottom_chord", "soft_wood", "steel_plates"), ("sill_log", "band", "sill_needle"),
    ("purlin", "band", "beam_replace"), ("deck_ledger", "soft_wood", "ledger_rebuild"),
    ("notch", "notch_rot", "notch_rebuild"),
])
def test_no_structural_plan_goes_out_without_its_cautions(element: str, damage: str, method: str) -> None:
    assert set(STRUCTURAL) <= set(planned(make_case(element, damage), method))


@pytest.mark.parametrize("level", ["told", "photos"])
def test_nothing_is_called_adequate_before_it_was_opened_up(level: str) -> None:
    assert "not_adequate" in planned(make_case("wall_mid", "band", level=level), "face_veneer")
    assert "not_adequate" not in planned(make_case("wall_mid", "band", level="opened"), "face_veneer")


def test_a_shore_in_the_plan_brings_the_engineer_s_word_no_lift_schedule_and_a_date() -> None:
    case = make_case("wall_mid", "band", section=12, depth=3)
    work = Work(case, 1.0)
    shore(case, work, 3.0)
    all_methods()["face_veneer"].scope(case, work)
    codes = cautions_of(case, knowledge().methods["face_veneer"], work, heated=False)
    assert {"shoring", "shore_loads", "no_lift_schedule", "expiry"} <= set(codes)


def test_a_cover_is_a_stop_gap_with_a_date() -> None:
    case = make_case("wall_mid", "band")
    work = Work(case, 1.0)
    cover(case, work, 3.0)
    assert "expiry" in cautions_of(case, knowledge().methods["dutchman"], work, heated=False)


def test_a_heated_tent_warns_of_carbon_monoxide_fire_and_vapour_and_cold_of_none_of_it() -> None:
    case = make_case("wall_low", "pocket_deep", section=14, depth=3, length=10, width=6)
    assert {"heated_tent", "hot_work"} <= set(planned(case, "epoxy_fill", heated=True))
    assert "heated_tent" not in planned(case, "epoxy_fill")


def test_epoxy_says_its_lifts_and_asks_for_asthma() -> None:
    codes = planned(make_case("wall_low", "pocket_deep", section=14, depth=3, length=10, width=6), "epoxy_fill")
    assert {"resin", "resin_lifts", "solvent_asthma", "cold_cure"} <= set(codes)


def test_a_house_without_children_or_asthma_is_not_asked_again() -> None:
    nobody = House(flags={"children": False, "asthma": False})
    case = make_case("buck_window", "pocket_deep", section=6, depth=1.5, length=8, width=4, house=nobody)
    codes = planned(case, "epoxy_fill")
    assert "lead_paint" in codes
    assert not {"lead_children", "solvent_asthma"} & set(codes)


def test_from_six_feet_up_fall_protection_is_named() -> None:
    assert "fall_protection" in planned(make_case("gable_log", "pocket_deep", height=6), "dutchman")
    assert "fall_protection" not in planned(make_case("gable_log", "pocket_deep", height=5.9), "dutchman")


def test_new_wood_is_never_green_and_a_log_is_read_in_its_core() -> None:
    codes = planned(make_case("wall_mid", "band", section=12, depth=7), "log_partial")
    assert {"green_wood", "kiln_dried"} <= set(codes)


def test_the_only_way_out_is_not_taken_out() -> None:
    only = make_case("stringer", "foot_rot", from_end=7, flags={"only_exit": True})
    assert "egress" in planned(only, "stringer_foot")
    assert "egress" in defect_cautions(only)


def test_a_declined_cause_is_said_beside_every_plan_and_in_the_waiver() -> None:
    case = make_case("wall_low", "band", causes=[CauseSeen("K02", "declined")])
    assert "waiver" in planned(case, "dutchman")
    assert "waiver" in defect_cautions(case)
    words = waiver_words(("gutter or downspout fault", "splash from the ground"))
    assert "gutter or downspout fault and splash from the ground" in words
    assert "no warranty" in words


def test_lead_is_printed_while_the_year_is_unknown_and_gone_once_the_house_is_young() -> None:
    assert {"lead_paint", "lead_children"} <= set(defect_cautions(make_case("buck_window", "soft_wood")))
    assert "lead_paint" not in defect_cautions(make_case("buck_window", "soft_wood", house=built(1996)))
    assert "lead_paint" in defect_cautions(make_case("buck_window", "soft_wood", house=built(1977)))
    assert "lead_paint" not in planned(make_case("buck_window", "soft_wood", house=built(1978)), "buck_trim")


def test_a_penetrating_stain_is_no_old_paint() -> None:
    case = make_case("wall_mid", "band", house=built(1938, finish="penetrating"))
    assert "lead_paint" not in defect_cautions(case)
    assert "lead_test" not in laboratory_tests(case)


def test_old_felt_under_a_roof_that_is_opened_is_named_until_the_house_is_known_to_be_young() -> None:
    case = make_case("truss_bottom_chord", "soft_wood", section=12)
    assert "asbestos" in planned(case, "chord_replace")
    assert "asbestos" not in planned(make_case("truss_bottom_chord", "soft_wood", house=built(1990)), "chord_replace")


def test_a_known_year_is_tested_once_a_defect_and_waited_for() -> None:
    case = make_case("buck_window", "soft_wood", count=3, house=built(1938, finish="paint"))
    work = Work(case, 1.0)
    work.stage("buck_trim", ("carpenter",))
    hazard_charges(work)
    bought = {c.resource: float(c.units) * float(c.factor) for c in work.charges}
    assert bought == {"lead_test": 1.0, "hazard_lab_test": 1.0}
    assert work.leads == ["lead.lab"]
    assert hazard_conditionals(case, Decimal(1000), case.book) == ()


def test_a_young_house_is_not_tested() -> None:
    assert laboratory_tests(make_case("buck_window", "soft_wood", house=built(2010))) == ()


def test_an_unknown_year_costs_only_if_outside_the_sum_with_its_probability() -> None:
    """Source: test 150 and a quarter more hours (common practice, from memory); probabilities J."""
    case = make_case("buck_window", "soft_wood")
    lead, asbestos = hazard_conditionals(case, Decimal(1000), case.book)
    assert (lead.code, lead.price, lead.probability) == ("lead", Decimal("400.00"), 0.35)
    assert (asbestos.code, asbestos.price, asbestos.probability) == ("asbestos", Decimal("300.00"), 0.1)
    assert laboratory_tests(case) == ()


def test_deck_wood_from_before_2004_is_not_sanded_and_needs_no_laboratory() -> None:
    case = make_case("deck_joist", "soft_wood", house=built(1999))
    assert {"arsenic", "treated_offcuts"} <= set(defect_cautions(case))
    assert laboratory_tests(case) == ()
    assert "arsenic" not in defect_cautions(make_case("deck_joist", "soft_wood", house=built(2004)))


@pytest.mark.parametrize(("case", "code"), [
    (make_case("truss_bottom_chord", "soft_wood"), "engineer"),
    (make_case("sill_log", "band"), "engineer"),
    (make_case("deck_ledger", "soft_wood"), "engineer"),
    (make_case("flyway_log", "band"), "engineer"),
    (make_case("truss_bottom_chord", "check", flags={"past_bolt_line": True}), "engineer"),
    (make_case("keystone_log", "band", point_loads=2), "engineer"),
    (make_case("deck_ledger", "soft_wood"), "owner_stay_off"),
    (make_case("stringer", "foot_rot"), "owner_stay_off"),
    (make_case("sill_log", "termite_sub"), "pest"),
    (make_case("buck_window", "soft_wood", house=built(1938, finish="paint")), "lead_renovator"),
    (make_case("buck_window", "soft_wood", house=built(1938)), "asbestos_test"),
    (make_case("wall_mid", "band", house=built(1980)), "penta_test"),
    (make_case("wall_mid", "band", house=House(words={"heritage": "registered"})), "heritage"),
    (make_case("wall_mid", "band", house=built(1854)), "heritage"),
    (make_case("wall_mid", "fire_char"), "specialist"),
    (make_case("gable_log", "woodpecker"), "wildlife"),
])
def test_whoever_has_to_look_is_named(case: Case, code: str) -> None:
    assert code in sent_to(case)


@pytest.mark.parametrize("case", [
    make_case("wall_mid", "check_down", check_width=0.44, house=built(2008)),
    make_case("wall_mid", "pocket_shallow", section=11, depth=0.5, house=built(2008)),
    make_case("plate_log", "pocket_shallow", section=12, depth=0.5, house=built(2008)),
    make_case("log_tail", "end_rot", section=12, from_end=6, house=built(2008)),
])
def test_an_ordinary_crack_or_a_small_pocket_sends_for_nobody(case: Case) -> None:
    assert sent_to(case) == []


def test_two_neighbouring_courses_past_a_third_send_for_the_engineer() -> None:
    one = make_case("wall_mid", "band", section=10, depth=7)
    assert "engineer" not in sent_to(one)
    assert "engineer" in sent_to(replace(one, adjacent_courses=2))


def test_a_low_wall_log_past_half_sends_for_the_engineer() -> None:
    assert "engineer" not in sent_to(make_case("wall_low", "band", section=10, depth=5))
    assert "engineer" in sent_to(make_case("wall_low", "band", section=10, depth=5.1))


def test_a_heavy_post_or_one_past_half_sends_for_the_engineer() -> None:
    assert "engineer" not in sent_to(make_case("post_porch", "foot_rot", section=8, depth=4, load=4500))
    assert "engineer" in sent_to(make_case("post_porch", "foot_rot", section=8, depth=4, load=5100))
    assert "engineer" in sent_to(make_case("post_porch", "foot_rot", section=8, depth=4.2))


def test_a_log_on_which_many_loads_land_always_sends_for_the_engineer() -> None:
    assert "engineer" in sent_to(make_case("keystone_log", "band", section=12, depth=1))


def test_no_price_is_firm_before_the_engineer_whoever_signs_for_the_method() -> None:
    joist = make_defect("floor_joist", "soft_wood", section=9.25, section_other=1.5, depth=2, length=24)
    options = quote(make_survey(joist, level="opened"), book(), knowledge(), all_methods()).defects[0].findings[0].options
    assert options[0].method == "sister"
    assert options[0].provisional
    assert {"structural_provisional", "engineer"} <= set(options[0].cautions)


def test_a_reading_in_cold_or_treated_wood_is_said_to_mislead() -> None:
    cold = House(numbers={"wood_temperature": Span(45, 45)})
    assert "meter_cold" in defect_cautions(make_case("wall_mid", "band", house=cold))
    frozen = House(numbers={"wood_temperature": Span(25, 25)})
    assert "meter_frozen" in defect_cautions(make_case("wall_mid", "band", house=frozen))
    assert "meter_borate" in defect_cautions(make_case("wall_mid", "band", flags={"treated_before": True}))


def test_every_plan_of_every_member_and_damage_has_only_known_cautions_and_structure_never_goes_without() -> None:
    known, registry = knowledge(), all_methods()
    for element in known.elements:
        for damage in known.damages:
            case = make_case(element, damage)
            assert set(defect_cautions(case)) <= set(known.cautions), (element, damage)
            for escalation in escalations_of(case, known, urgency_of(case)[0]):
                assert all((escalation.text, escalation.send_to, escalation.before)), (element, damage)
            assert all(c.price > 0 for c in hazard_conditionals(case, Decimal(1000), case.book))
            for code, method in registry.items():
                record = known.methods[code]
                if not _thought_of(record, element, damage):
                    continue
                work = Work(case, 1.0)
                method.scope(case, work)
                hazard_charges(work)
                codes = set(cautions_of(case, record, work, heated=False))
                assert codes <= set(known.cautions), (element, damage, code)
                if record.sign_off >= 2:
                    assert {"structural_provisional", "engineer"} <= codes, (element, damage, code)


@pytest.mark.parametrize("element", ["stair", "deck", "deck_ledger", "tread"])
def test_a_way_out_that_is_closed_asks_for_another_one(element: str) -> None:
    assert "egress" in defect_cautions(make_case(element, "soft_wood", flags={"only_exit": True}))
    assert "egress" not in defect_cautions(make_case(element, "soft_wood"))


def test_a_shore_under_a_roof_or_floor_names_the_engineer() -> None:
    """No shore under a roof, floor or point load without the referral (R32)."""
    assert "engineer" in planned(make_case("post_porch", "foot_rot", section=8, from_end=6), "temp_shore")
    assert "engineer" in planned(make_case("wall_mid", "band", section=10, depth=6, bears=["joists"]), "temp_shore")
    assert "engineer" not in planned(make_case("wall_mid", "band", section=10, depth=6), "temp_shore")


def test_a_plate_or_tail_on_which_something_lands_sends_for_the_engineer() -> None:
    assert "engineer" in sent_to(make_case("plate_log", "band", section=12, depth=3, bears=["truss"]))
    assert "engineer" in sent_to(make_case("log_tail", "end_rot", section=12, from_end=6, bears=["porch"]))
    assert "engineer" not in sent_to(make_case("log_tail", "end_rot", section=12, from_end=6))


def test_a_long_log_of_which_half_is_gone_sends_for_the_engineer_where_nobody_said_what_it_bears() -> None:
    assert "engineer" in sent_to(make_case("wall_mid", "band", section=12, depth=7, length=100))
    assert "engineer" not in sent_to(make_case("wall_mid", "band", section=12, depth=7, length=60))
    assert "engineer" not in sent_to(make_case("wall_mid", "band", section=12, depth=5, length=100))


def test_a_sill_goes_to_the_engineer_once_a_third_is_gone_or_the_floor_tells_and_not_for_a_dimple() -> None:
    assert "engineer" not in sent_to(make_case("sill_log", "pocket_shallow", section=12, depth=0.5))
    assert "engineer" in sent_to(make_case("sill_log", "band", section=12, depth=5))
    assert "engineer" in sent_to(make_case("sill_log", "band", section=12))
    assert "engineer" in sent_to(make_case("sill_log", "pocket_shallow", section=12, depth=0.5, joists=3))
    assert "engineer" in sent_to(make_case("sill_log", "pocket_shallow", section=12, depth=0.5, floor_drop=0.5))
    assert "engineer" in sent_to(make_case("sill_log", "crush", section=12, depth=1))


@pytest.mark.parametrize(("side", "said"), [("inner", True), ("outer", False)])
def test_a_face_that_is_cut_from_the_room_has_wires_and_pipes_near_the_saw(side: str, *, said: bool) -> None:
    """B10: service wires, gas or water near the cut; the wall with a shower behind it (common practice, no source)."""
    case = make_case("wall_low", "band", section=10, depth=2.5, length=48, words={"side": side, "room": "bathroom"})
    assert ("utility" in planned(case, "face_veneer")) is said
