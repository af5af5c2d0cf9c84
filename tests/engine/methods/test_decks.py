"""Ledgers, stairs, decks and roof decking. Amounts: common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.case import Case
from service.engine.method import Method
from service.engine.methods.beams import METHODS as BEAM_METHODS
from service.engine.methods.boards import METHODS as BOARD_METHODS
from service.engine.methods.decks import METHODS
from service.engine.methods.interim import METHODS as INTERIM_METHODS
from tests.engine.cases import FT, make_case
from tests.engine.methods.readings import (
    bought,
    forbidden_by,
    hours,
    money,
    named,
    scope,
    tasks,
    too_much_by,
    waits,
)

LEDGER, FOOT, STAIR, DECK, ROOF_DECK = (
    named(METHODS, c) for c in ("ledger_rebuild", "stringer_foot", "stair_replace", "deck_replace", "roof_deck_replace")
)
SISTER = named(BEAM_METHODS, "sister")
BOARDS = named(BOARD_METHODS, "board_replace")
SHORE = named(INTERIM_METHODS, "temp_shore")


def stringer(up_in: float = 7.0, *, count: int = 2, flags: dict[str, bool] | None = None, **facts: float) -> Case:
    """Log stringers of 10 in that stand on soil; the stair rises 7 ft."""
    numbers: dict[str, Any] = {
        "section": 10.0,
        "from_end": up_in,
        "moisture": 27.0,
        "height": 7.0,
        "depth": 4.0,
        "treads": 11.0,
    }
    return make_case("stringer", "foot_rot", count=count, flags=flags, **(numbers | facts))


def deck_joist(count: int = 3, depth: float = 0.75, **facts: float) -> Case:
    """Soft top edges among twelve joists, 2 x 10."""
    numbers: dict[str, Any] = {
        "section": 10.0,
        "section_other": 2.0,
        "length": 60.0,
        "depth": depth,
        "moisture": 18.0,
        "of": 12.0,
    }
    return make_case("deck_joist", "soft_wood", count=count, **(numbers | facts))


def ledger(feet: float = 16.0) -> Case:
    """A soft ledger."""
    return make_case("deck_ledger", "soft_wood", clear_length=feet * FT, length=60.0, section=2.0, depth=1.0)


@pytest.mark.parametrize(("up_in", "out"), [(11.9, False), (12.0, False), (12.1, True), (20.0, True)])
def test_a_stringer_gets_a_new_foot_up_to_twelve_inches(up_in: float, out: bool) -> None:
    assert ("R11" in forbidden_by(FOOT, stringer(up_in))) is out


def test_a_touched_tread_notch_takes_a_new_stair() -> None:
    notched = stringer(7.0, flags={"tread_notch": True})
    assert forbidden_by(FOOT, notched) == ["R11"]
    assert not too_much_by(STAIR, notched)


@pytest.mark.parametrize(("up_in", "more"), [(7.0, True), (12.0, True), (12.1, False)])
def test_a_new_stair_is_more_than_a_soft_foot_needs(up_in: float, more: bool) -> None:
    assert bool(too_much_by(STAIR, stringer(up_in))) is more
    assert not forbidden_by(STAIR, stringer(up_in))


@pytest.mark.parametrize("only_exit", [True, False])
def test_two_new_feet_cost_a_quarter_to_two_thirds_of_a_new_stair(only_exit: bool) -> None:
    """0.25 to 0.65 (common practice, no source)."""
    case = stringer(flags={"only_exit": only_exit})
    assert 0.25 < float(money(scope(FOOT, case))) / float(money(scope(STAIR, case))) < 0.65


def test_feet_and_sisters_together_cost_what_restorers_charge() -> None:
    """$1,200 to 3,600 for two feet and three sisters (common practice, no source)."""
    feet = float(money(scope(FOOT, stringer(flags={"only_exit": True}))))
    assert 1200.0 < feet + float(money(scope(SISTER, deck_joist()))) < 3600.0


@pytest.mark.parametrize("method", [FOOT, STAIR], ids=lambda m: m.code)
def test_the_only_stair_is_not_taken_out_before_another_stands(method: Method) -> None:
    work = scope(method, stringer(flags={"only_exit": True}))
    assert "temporary stair stands before" in tasks(work)[0].text
    assert bought(work, "temporary_stair") == 1.0
    assert bought(scope(method, stringer()), "temporary_stair") == 0.0


def test_a_new_foot_takes_six_hours_and_no_wood() -> None:
    """6 hours each; rods and borate on top (common practice, no source)."""
    work = scope(FOOT, stringer(count=1))
    assert hours(work) == pytest.approx(6.0, abs=0.5)
    assert not work.needs


def test_a_stair_of_two_stringers_is_one_stair() -> None:
    one, two = scope(STAIR, stringer(20.0, count=1)), scope(STAIR, stringer(20.0, count=2))
    assert float(money(two)) == pytest.approx(float(money(one)))
    assert sum(float(n.each) for n in two.needs) * 2 == pytest.approx(sum(float(n.each) for n in one.needs))


@pytest.mark.parametrize(("count", "more"), [(3, True), (5, True), (6, False), (9, False)])
def test_a_new_deck_is_priced_from_half_of_the_joists_on(count: int, more: bool) -> None:
    assert bool(too_much_by(DECK, deck_joist(count))) is more


def test_a_joist_too_soft_for_a_sister_leaves_a_new_deck() -> None:
    assert forbidden_by(SISTER, deck_joist(1, 6.0))
    assert not too_much_by(DECK, deck_joist(1, 6.0))


def test_a_deck_of_nine_soft_joists_is_one_deck() -> None:
    one, nine = scope(DECK, deck_joist(6, area=160.0)), scope(DECK, deck_joist(9, area=160.0))
    assert float(money(one)) == pytest.approx(float(money(nine)))


def test_a_free_standing_beam_takes_the_hours_and_footings_of_the_trade() -> None:
    """16 ft: 28 hours and 3 footings, posts and beam for $608 (common practice, no source)."""
    work = scope(LEDGER, ledger())
    assert hours(work) == pytest.approx(28.0)
    assert bought(work, "ledger_rebuild.footing") == 3.0
    assert bought(work, "permit") == 1.0
    assert {"lead.permit", "lead.engineer_letter"} <= set(work.leads)
    assert work.needs[0].treated


def test_the_deck_stays_closed_while_the_footings_cure() -> None:
    work = scope(LEDGER, ledger())
    (cure,) = waits(work)
    assert cure.load == 1.0
    assert 3.0 <= float(cure.days) <= 7.0
    assert all(s.load == 1.0 for s in tasks(work))


def test_roof_decking_opens_its_own_roof_at_least_as_large_as_itself() -> None:
    work = scope(ROOF_DECK, make_case("roof_deck", "soft_wood", section=2.0, area=60.0, opening_area=100.0))
    assert bought(work, "tarp") == 100.0
    wide = scope(ROOF_DECK, make_case("roof_deck", "soft_wood", section=2.0, area=60.0, opening_area=40.0))
    assert bought(wide, "tarp") == 60.0
    (need,) = work.needs
    assert float(need.net_ft3) == pytest.approx(10.0)
    assert bought(work, "roof_decking") == pytest.approx(60.0 * 1.12)


@pytest.mark.parametrize("cover", ["asphalt", "metal", "shingle", "tile"])
def test_every_roof_cover_has_its_price(cover: str) -> None:
    case = make_case("roof_deck", "soft_wood", words={"roof_cover": cover}, section=2.0, area=60.0, opening_area=100.0)
    assert bought(scope(ROOF_DECK, case), f"roof_relay_{cover}") == 100.0


@pytest.mark.parametrize(
    ("method", "case"),
    [(LEDGER, ledger()), (FOOT, stringer()), (STAIR, stringer(20.0)), (DECK, deck_joist(9))],
    ids=["ledger", "foot", "stair", "deck"],
)
def test_shares_of_a_stage_add_up_and_there_is_a_hold_point(method: Method, case: Case) -> None:
    steps = tasks(scope(method, case))
    assert sum(s.share for s in steps) == pytest.approx(1.0)
    assert any(s.hold for s in steps)


def test_more_rot_never_makes_the_same_repair_cheaper() -> None:
    series = (
        [scope(FOOT, stringer(n)) for n in (3.0, 7.0, 12.0)],
        [scope(STAIR, stringer(n)) for n in (3.0, 12.0, 30.0)],
        [scope(LEDGER, ledger(n)) for n in (8.0, 16.0, 24.0)],
        [scope(DECK, deck_joist(9, d)) for d in (0.75, 3.0, 9.0)],
    )
    for works in series:
        prices = [float(money(w)) for w in works]
        assert prices == sorted(prices)


def deck_boards(count: int, **facts: float) -> Case:
    """Soft boards of a deck of 2 x 6."""
    numbers: dict[str, Any] = {"section": 1.5, "section_other": 6.0, "length": 36.0, "depth": 1.0, "moisture": 18.0}
    return make_case("deck", "soft_wood", count=count, **(numbers | facts))


@pytest.mark.parametrize(("count", "few"), [(1, True), (19, True), (20, False), (40, False)])
def test_few_soft_boards_of_a_deck_are_renewed_and_not_the_deck(count: int, *, few: bool) -> None:
    """Below half of them, J."""
    case = deck_boards(count, of=40.0)
    assert bool(forbidden_by(BOARDS, case)) is not few
    assert bool(too_much_by(DECK, case)) is few
    assert ("M25" in forbidden_by(SHORE, case)) is few


def test_a_soft_deck_of_which_nobody_counted_the_boards_is_renewed_as_a_whole() -> None:
    assert forbidden_by(BOARDS, deck_boards(1)) == ["R2"]
    assert not too_much_by(DECK, deck_boards(1))


def test_boards_beside_each_other_are_set_out_once() -> None:
    """R21: set-up once where one serves all; each board pays its own feet."""
    one, six = hours(scope(BOARDS, deck_boards(1, of=40.0))), hours(scope(BOARDS, deck_boards(6, of=40.0)))
    assert one < six < 3.0 * one


@pytest.mark.parametrize("method", [FOOT, STAIR], ids=lambda m: m.code)
def test_a_stair_is_set_on_precast_pads_in_frost_and_waits_for_no_spring(method: Method) -> None:
    """Concrete 3 days or precast (common practice, no source)."""
    work = scope(method, stringer())
    assert "concrete" not in work.cures
    assert any("precast" in note for note in work.notes)


@pytest.mark.parametrize("element", ["guard", "rail_post", "tread", "deck"])
def test_what_people_lean_or_stand_on_is_renewed_in_frost_and_coated_later(element: str) -> None:
    """A stain that does not cure in winter is no reason to leave a gap where people fall."""
    assert not scope(BOARDS, make_case(element, "soft_wood", section=4.0, of=40.0, count=2)).cures
    assert scope(BOARDS, make_case("trim", "soft_wood", section=1.0)).cures == ["borate_liquid", "stain"]


def test_half_the_treads_of_a_stair_take_less_work_than_a_new_stair() -> None:
    """Treads of one stair are set out once (R21)."""
    treads = make_case("tread", "soft_wood", count=6, of=12.0, section=2.0, section_other=11.0, length=12.0, treads=12.0)
    assert hours(scope(BOARDS, treads)) < hours(scope(STAIR, treads))


@pytest.mark.parametrize(("element", "title"), [("deck_joist", "new deck joist"), ("girder", "")])
def test_a_joist_that_comes_out_is_called_a_joist(element: str, title: str) -> None:
    replaced = named(BEAM_METHODS, "beam_replace")
    assert replaced.title_of is not None
    assert replaced.title_of(make_case(element, "soft_wood")) == title
