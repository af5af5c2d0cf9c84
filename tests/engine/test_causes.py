"""Causes: ranked from the evidence, priced where they are ours, said where they are not (B4, R17, G23, B9)."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from service.engine.case import Case
from service.engine.causes import (
    CauseWork,
    causes_of,
    correction_leads,
    declined,
    declined_titles,
    found,
    most_likely_unreported,
    put_corrections,
    waits,
)
from service.engine.pricing import price_line
from service.engine.registry import all_methods
from service.engine.survey import CauseSeen, House, Span
from service.engine.work import Wait, Work
from tests.engine.cases import knowledge, make_case


def seen(*states: str) -> list[CauseSeen]:
    """Causes from texts such as "K02 open"."""
    return [CauseSeen(code, state) for code, state in (text.split() for text in states)]


def ranked(case: Case) -> tuple[CauseWork, ...]:
    return causes_of(case, knowledge())


def corrections(case: Case, main: str = "dutchman") -> Work:
    work = Work(case, 1.0)
    put_corrections(work, ranked(case), knowledge(), all_methods(), main=main)
    return work


def bought(work: Work) -> dict[str, float]:
    return {c.resource: float(c.units) * float(c.factor) for c in work.charges}


@pytest.mark.parametrize(
    ("case", "first"),
    [
        (make_case("under_window", "band"), "K09"),
        (make_case("truss_bottom_chord", "soft_wood"), "K10"),
        (make_case("post_porch", "foot_rot"), "K17"),
        (make_case("sill_log", "band", soil_above=4), "K04"),
        (make_case("deck_ledger", "soft_wood"), "K05"),
        (make_case("wall_mid", "check_up"), "K06"),
        (make_case("log_tail", "end_rot", tail=22, drip_line=14), "K01"),
        (make_case("wall_mid", "beetle_old"), "K21"),
        (make_case("wall_mid", "old_patch_fail"), "K19"),
    ],
)
def test_member_damage_and_facts_point_at_the_cause(case: Case, first: str) -> None:
    assert ranked(case)[0].cause.code == first


def test_a_bathroom_behind_the_wall_points_at_the_pipes() -> None:
    case = make_case("wall_low", "band", words={"room": "bathroom", "inner_face": "damp"})
    assert ranked(case)[0].cause.code == "K14"


def test_a_finish_that_is_not_there_is_evidence_and_no_insects_are_none() -> None:
    bare = {c.cause.code for c in ranked(make_case("gable_log", "band", words={"finish": "none"}))}
    assert "K13" in bare
    assert "K13" not in {c.cause.code for c in ranked(make_case("gable_log", "band", words={"insects": "none"}))}


def test_likelihoods_are_shares_and_a_cause_that_somebody_saw_stands_first() -> None:
    causes = ranked(make_case("under_window", "band", causes=seen("K12 open")))
    assert causes[0].cause.code == "K12"
    assert sum(c.likelihood for c in causes) == pytest.approx(1.0, abs=0.001)


@pytest.mark.parametrize(("state", "then", "assumed"), [
    ("open", "in_price", True), ("suspected", "in_price", True), ("in_price", "in_price", False),
    ("by_others", "by_others", False), ("declined", "declined", False), ("corrected", "corrected", False),
])
def test_an_observation_is_answered_as_in_the_price_and_said_to_be_assumed(
    state: str, then: str, assumed: bool
) -> None:
    [cause] = [c for c in ranked(make_case("wall_low", "band", causes=seen(f"K02 {state}"))) if c.cause.code == "K02"]
    assert (cause.state, cause.assumed, cause.reported) == (then, assumed, True)


@pytest.mark.parametrize("state", ["by_others", "declined", "corrected"])
def test_a_cause_that_is_not_ours_costs_nothing(state: str) -> None:
    assert corrections(make_case("wall_low", "band", causes=seen(f"K02 {state}"))).charges == []


def test_a_declined_cause_is_said_by_its_title() -> None:
    causes = ranked(make_case("wall_low", "band", causes=seen("K02 declined")))
    assert declined(causes)
    assert declined_titles(causes) == ("gutter or downspout fault",)
    assert not declined(ranked(make_case("wall_low", "band", causes=seen("K02 open"))))


def test_others_are_waited_for_until_their_date() -> None:
    cause = CauseSeen("K14", "by_others", "the plumber", date(2026, 7, 1))
    [wait] = waits(ranked(make_case("wall_low", "band", causes=[cause])), date(2026, 6, 15))
    assert wait.days == 16.0
    assert "the plumber" in wait.text
    assert waits(ranked(make_case("wall_low", "band", causes=[cause])), date(2026, 7, 1)) == []


def test_a_correction_is_bought_at_its_installed_price_on_a_stage_of_its_own() -> None:
    """Source: 10 ft of gutter at least, at 16 a foot (common practice, from memory)."""
    work = corrections(make_case("wall_low", "pocket_deep", length=7, depth=2, causes=seen("K02 open")))
    assert [(s.phase, s.method) for s in work.stages] == [("correction", "gutter")]
    assert bought(work) == {"cause.k02": 10.0}
    assert {c.part for c in work.charges} == {"correction"}
    assert work.part == "package"


def test_a_correction_that_is_bought_takes_the_days_of_whoever_makes_it_and_none_of_the_crew() -> None:
    leak = make_case("wall_mid", "band", causes=seen("K10 open"))
    (stage,) = corrections(leak).stages
    days = [part.days for part in stage.parts if isinstance(part, Wait)]
    assert days == [leak.book.likely("waits", "correct.k10")]
    assert stage.hours == 0.0
    windows = make_case("wall_mid", "band", causes=seen("K09 open"), openings=3.0)
    (wait,) = (part for part in corrections(windows).stages[0].parts if isinstance(part, Wait))
    assert wait.days == 3.0 * leak.book.likely("waits", "correct.k09")


def test_the_price_that_is_said_is_the_price_that_is_charged() -> None:
    case = make_case("under_window", "band", length=96, depth=3, openings=1, causes=seen("K09 open"))
    work = corrections(case, main="face_veneer")
    [said] = [c for c in found(ranked(case), case.book, case) if c.code == "K09"]
    line = price_line(work.charges[0], case.book, None)
    assert line is not None
    assert said.price == line.amount == Decimal("253.00"), "220 and 15 % on a subcontract"


def test_water_is_stopped_before_ground_and_ground_before_joints() -> None:
    causes = seen("K08 open", "K04 open", "K02 open", "K10 open")
    case = make_case("wall_low", "band", length=24, depth=2, causes=causes)
    assert [s.method for s in corrections(case).stages] == ["roof_fix", "gutter", "grade_veg", "recaulk"]


@pytest.mark.parametrize(("cause", "element", "damage", "main"), [
    ("K16", "sill_log", "band", "sill_needle"), ("K17", "post_porch", "foot_rot", "post_pedestal"),
    ("K01", "log_tail", "end_rot", "end_trim_cap"), ("K06", "wall_mid", "check_up", "check_seal"),
    ("K07", "rail_post", "soft_wood", "cap_slope"), ("K05", "deck_ledger", "soft_wood", "ledger_rebuild"),
    ("K09", "buck_window", "soft_wood", "buck_trim"), ("K08", "chink_line", "seal_fail_adh", "rechink"),
    ("K07", "deck_joist", "soft_wood", "sister"), ("K13", "wall_mid", "finish_fail", "wall_refinish"),
])
def test_a_correction_that_the_main_method_holds_is_not_charged_twice(
    cause: str, element: str, damage: str, main: str
) -> None:
    assert corrections(make_case(element, damage, causes=seen(f"{cause} open")), main=main).charges == []


def test_soil_and_splash_at_one_place_are_dug_away_once() -> None:
    case = make_case("sill_log", "band", length=96, clear_length=288, causes=seen("K03 open", "K04 open"))
    assert bought(corrections(case)) == {"cause.k04": 24.0}, "along the whole sill"


def test_a_correction_without_a_price_of_its_own_is_priced_by_its_method_and_does_not_dry_the_wood_again() -> None:
    work = corrections(make_case("wall_low", "band", length=24, moisture=30, causes=seen("K05 open", "K06 open")))
    assert [s.method for s in work.stages] == ["deck_gap", "check_seal"]
    assert {s.phase for s in work.stages} == {"correction"}
    assert not [p for s in work.stages for p in s.parts if isinstance(p, Wait) and p.kind == "drying"]


def test_an_open_joint_is_as_wide_as_joints_are_and_a_chinked_one_is_chinked() -> None:
    narrow = corrections(make_case("wall_low", "band", length=24, width=9, causes=seen("K08 open")))
    wide = corrections(make_case("wall_low", "band", length=24, width=2, causes=seen("K08 open")))
    assert bought(narrow) == bought(wide)
    chinked = corrections(make_case("wall_low", "band", words={"wall_system": "chinked"}, causes=seen("K08 open")))
    assert [s.method for s in chinked.stages] == ["rechink"]


def test_live_insects_are_treated_before_the_wood_and_dead_ones_are_not() -> None:
    live = corrections(make_case("sill_log", "termite_sub", section=10, depth=6), main="sill_needle")
    assert live.stages[0].method == "insect_treat"
    old = make_case("sill_log", "termite_sub", words={"activity": "old"}, flags={"treated_before": True})
    assert corrections(old, main="sill_needle").charges == []
    assert corrections(make_case("wall_mid", "beetle_old")).charges == []
    assert corrections(make_case("gable_log", "pocket_deep", words={"insects": "unknown"})).charges == []


def test_a_woodpecker_speaks_for_insects_inside_until_somebody_looked() -> None:
    """B3: woodpecker = insects inside; looked for, and not priced."""
    pecked = make_case("gable_log", "woodpecker", depth=2.0, length=6.0)
    suspect = next(c for c in ranked(pecked) if c.cause.code == "insects")
    assert (suspect.state, suspect.reported) == ("suspected", False)
    assert not bought(corrections(pecked))
    looked = make_case("gable_log", "woodpecker", depth=2.0, length=6.0, words={"insects": "none"})
    assert "insects" not in {c.cause.code for c in ranked(looked)}


def test_who_corrects_it_has_to_be_waited_for() -> None:
    causes = ranked(make_case("wall_low", "band", causes=seen("K10 open", "K14 open", "K02 open")))
    assert correction_leads(causes) == ("lead.roofer", "lead.plumber")


def test_only_the_likeliest_cause_that_nobody_named_is_priced_and_outside_the_sum() -> None:
    case = make_case("under_window", "band", length=96, openings=1)
    likely = most_likely_unreported(ranked(case), case)
    assert likely is not None
    assert (likely.code, likely.price, likely.probability) == ("K09", Decimal("253.00"), 0.5)
    assert corrections(case).charges == []


@pytest.mark.parametrize("case", [
    make_case("under_window", "band", causes=seen("K09 open")),
    make_case("wall_mid", "check_down"),
    make_case("post_porch", "foot_rot"),
    make_case("log_tail", "end_rot", tail=22, drip_line=14),
])
def test_no_cost_is_imagined_where_a_cause_is_named_no_wood_is_lost_or_the_repair_holds_it(case: Case) -> None:
    assert most_likely_unreported(ranked(case), case) is None


def test_dry_wood_speaks_for_no_cause_at_all() -> None:
    house = House(numbers={"wood_temperature": Span(70, 70)})
    assert ranked(make_case("gable_log", "mech_damage", moisture=12, house=house))[0].cause.code == "K21"


def test_every_cause_on_every_member_and_damage_can_be_ranked_priced_and_said() -> None:
    known, registry = knowledge(), all_methods()
    every = [CauseSeen(code, "open") for code in known.causes]
    for element in known.elements:
        for damage in known.damages:
            case = make_case(element, damage, causes=every)
            causes = ranked(case)
            said = found(causes, case.book, case)
            assert all(c.test and c.correction and c.priced for c in said), (element, damage)
            work = Work(case, 1.0)
            put_corrections(work, causes, known, registry)
            lines = [price_line(c, case.book, None) for c in work.charges]
            assert {line.part for line in lines if line is not None} == {"correction"}
            ranked(make_case(element, damage))


def test_over_all_worlds_corrections_are_dictated_alike() -> None:
    known, registry = knowledge(), all_methods()
    every = [CauseSeen(code, "open") for code in known.causes]
    stated = ranked(make_case("wall_low", "band", causes=every))
    many = Work(make_case("wall_low", "band", causes=every, many=True), 1.0)
    put_corrections(many, stated, known, registry, main="face_veneer")
    one = corrections(make_case("wall_low", "band", causes=every), main="face_veneer")
    assert [c.resource for c in many.charges] == [c.resource for c in one.charges]
