"""Corrections of causes, insects, settling, and boards. Amounts: common practice, no source, or own judgement."""

from __future__ import annotations

import pytest

from service.engine.case import Case
from service.engine.methods import boards, corrections
from service.engine.methods.corrections import METHODS, insect, run_ft
from service.engine.survey import CauseSeen
from service.engine.work import Work
from tests.engine.cases import make_case
from tests.engine.methods.readings import bought, forbidden_by, money, named, scope, tasks, waits

INSECTS, SETTLE, ROOF, GUTTER = (
    named(METHODS, c) for c in ("insect_treat", "settle_release", "roof_fix", "gutter")
)
BOARD = named(boards.METHODS, "board_replace")


def leak(length: float = 7.0, **causes: str) -> Case:
    """A pocket behind a leak."""
    seen = [CauseSeen(code, state) for code, state in causes.items()]
    return make_case("wall_low", "pocket_deep", section=10.0, depth=2.0, length=length, width=5.0, causes=seen)


@pytest.mark.parametrize("code", ["deck_gap", "flashing", "gutter", "grade_veg", "roof_fix"])
def test_a_correction_is_never_the_whole_plan(code: str) -> None:
    assert forbidden_by(named(METHODS, code), leak()) == ["R1"]
    assert forbidden_by(named(METHODS, code), make_case("wall_mid", "check")) == ["R1"]


def test_a_correction_stands_in_its_own_part_and_phase() -> None:
    work = Work(leak(), 1.0)
    work.part = "correction"
    GUTTER.scope(work.case, work)
    assert {c.part for c in work.charges} == {"correction"}
    assert {s.phase for s in work.stages} == {"correction"}


def test_a_leaking_downspout_costs_what_restorers_charge() -> None:
    """$80 to 450."""
    assert 80.0 <= float(money(scope(GUTTER, leak()))) <= 450.0


@pytest.mark.parametrize("code", ["deck_gap", "flashing", "gutter", "grade_veg"])
def test_a_correction_reaches_past_the_damage_and_grows_with_it(code: str) -> None:
    lengths = [float(run_ft(leak(length), code)) for length in (6.0, 60.0, 120.0, 240.0)]
    assert lengths == sorted(lengths)
    assert lengths[-1] == pytest.approx(20.0 + 4.0)


def test_the_roofer_is_booked_for_the_leak_or_for_the_ice_dam() -> None:
    assert bought(scope(ROOF, leak(K10="open")), "cause.k10") == 1.0
    assert bought(scope(ROOF, leak(K11="open")), "cause.k11") == 1.0
    assert scope(ROOF, leak(K10="open")).leads == ["lead.roofer"]


@pytest.mark.parametrize(("said", "damage", "resource"), [
    ("termite_sub_live", "termite_sub", "insect_termite_sub"), ("", "termite_sub", "insect_termite_sub"),
    ("termite_dry", "termite_dry", "insect_fumigate"), ("beetle_live", "beetle_live", "insect_beetle"),
    ("", "ants", "insect_ants"), ("", "bees", "insect_bees"), ("frass", "pocket_deep", "insect_beetle"),
])
def test_each_insect_gets_its_own_treatment_with_the_firms_waiting_time(said: str, damage: str, resource: str) -> None:
    work = scope(INSECTS, make_case("sill_log", damage, words={"insects": said} if said else None))
    assert bought(work, resource) == 1.0
    assert work.leads == ["lead.insect"]
    assert any(t.hold for t in tasks(work))


def test_only_fumigation_empties_the_house() -> None:
    dry, soil = (scope(INSECTS, make_case("sill_log", d)) for d in ("termite_dry", "termite_sub"))
    assert [w.room for w in waits(dry)] == [1.0]
    assert [w.room for w in waits(soil)] == [0.0]


def test_old_dry_holes_are_not_treated() -> None:
    assert forbidden_by(INSECTS, make_case("wall_low", "beetle_old")) == ["M40"]
    assert forbidden_by(INSECTS, make_case("wall_low", "ants", words={"activity": "old"})) == ["M40"]


@pytest.mark.parametrize(("depth", "codes"), [(0.75, []), (0.76, ["R1"]), (4.0, ["R1"])])
def test_treatment_is_the_whole_plan_only_where_the_wood_is_as_good_as_sound(depth: float, codes: list[str]) -> None:
    assert forbidden_by(INSECTS, make_case("sill_log", "termite_sub", section=12.0, depth=depth)) == codes


def test_a_hung_up_wall_is_freed_point_by_point() -> None:
    one, three = (make_case("wall_mid", "hung_up", openings=n) for n in (1.0, 3.0))
    assert forbidden_by(SETTLE, one) == []
    assert float(money(scope(SETTLE, three))) == pytest.approx(3.0 * float(money(scope(SETTLE, one))))


def test_log_siding_gets_a_new_board_from_nailing_to_nailing() -> None:
    siding = make_case("log_siding", "pocket_deep", section=2.0, section_other=8.0, depth=1.0, length=36.0, width=6.0)
    assert float(boards.board_length_in(siding)) == 60.0
    work = scope(BOARD, siding)
    assert bought(work, "log_siding_board") == pytest.approx(5.0 * 1.12)
    assert [n.form for n in work.needs] == ["board"]


def test_a_wider_or_longer_softness_never_takes_fewer_boards() -> None:
    prices = []
    for k in range(1, 12):
        siding = make_case(
            "log_siding", "band", section=2.0, section_other=8.0, depth=1.0, length=10.0 * k, width=2.0 + 1.5 * k
        )
        prices.append(float(money(scope(BOARD, siding))))
    assert prices == sorted(prices)


def test_a_soft_tread_is_closed_until_the_new_one_is_in() -> None:
    tread = make_case("tread", "soft_wood", section=2.0, section_other=10.0, depth=1.0, length=12.0, width=4.0)
    first = scope(BOARD, tread).stages[0]
    assert all(getattr(part, "load", 0.0) == 1.0 for part in first.parts)


def test_insects_named_nowhere_are_called_unknown() -> None:
    assert corrections.insect(make_case("wall_low", "pocket_deep")) == "pocket_deep"
    assert bought(scope(INSECTS, make_case("wall_low", "pocket_deep")), "insect_beetle") == 1.0


def test_live_insects_hold_against_a_word_that_calls_them_gone() -> None:
    """R36: of two facts that contradict each other the worse holds; said to be old, they are gone."""
    both_said = make_case("buck_door", "ants", words={"insects": "old_holes"})
    assert insect(both_said) == "ants"
    assert insect(make_case("buck_door", "pocket_shallow", words={"insects": "old_holes"})) == "old_holes"


def test_joists_and_boards_of_one_deck_have_one_edge_that_is_cut_back() -> None:
    gap = named(METHODS, "deck_gap")
    one, eight = (make_case("deck_joist", "soft_wood", count=n, length=36.0, section=9.25) for n in (1, 8))
    assert float(money(scope(gap, one))) == float(money(scope(gap, eight)))
    logs = make_case("wall_low", "band", count=2, length=36.0, section=10.0)
    assert bought(scope(gap, logs), "deck_gap.flashing") == 2.0 * float(run_ft(logs, "deck_gap"))
