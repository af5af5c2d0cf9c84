"""Beams, joists and tails. Lengths and amounts: common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.case import Case
from service.engine.methods.beams import METHODS, sister_length_in, tail_length_in
from tests.engine.cases import FT, make_case
from tests.engine.methods.readings import bought, forbidden_by, hours, money, named, scope, tasks, too_much_by

BEAM, SISTER, TAIL = (named(METHODS, c) for c in ("beam_replace", "sister", "tail_renew"))


def purlin(length: float = 120.0, loss: float = 60.0, **facts: float) -> Case:
    """A purlin of 12 in and 18 ft."""
    numbers: dict[str, Any] = {
        "section": 12.0,
        "clear_length": 18.0 * FT,
        "section_loss": loss,
        "length": length,
        "height": 14.0,
        "depth": 7.2,
        "opening_area": 120.0,
    } | facts
    return make_case("purlin", "band", **numbers)


def joist(
    length: float = 60.0,
    depth: float = 0.75,
    *,
    count: int = 1,
    damage: str = "soft_wood",
    element: str = "deck_joist",
    words: dict[str, str] | None = None,
    **facts: float,
) -> Case:
    """A 2 x 10 joist with a soft top edge."""
    numbers: dict[str, Any] = {
        "section": 10.0,
        "section_other": 2.0,
        "length": length,
        "depth": depth,
        "moisture": 18.0,
        "of": 12.0,
    }
    return make_case(element, damage, count=count, words=words, **(numbers | facts))


def rafter_tail(from_end: float = 10.0, **facts: float) -> Case:
    """A rafter tail of 8 in, 24 in past its bearing."""
    numbers: dict[str, Any] = {
        "section": 8.0,
        "section_other": 8.0,
        "from_end": from_end,
        "tail": 24.0,
        "moisture": 15.0,
    } | facts
    return make_case("rafter_tail", "end_rot", **numbers)


# ---- a new beam --------------------------------------------------------------------------------------------------


def test_a_beam_takes_the_hours_and_the_wood_of_the_trade() -> None:
    """60 to 200 hours; 18 ft of 12 in is 14.1 ft3 (common practice, no source)."""
    work = scope(BEAM, purlin())
    assert 60.0 < hours(work) < 200.0
    (need,) = work.needs
    assert float(need.length_in) == 216.0
    assert float(need.net_ft3) == pytest.approx(14.1, abs=0.1)


@pytest.mark.parametrize(("length", "loss", "more"), [(48.0, 40.0, True), (48.5, 40.0, False), (36.0, 95.0, False)])
def test_a_new_beam_is_more_than_local_decay_needs(length: float, loss: float, more: bool) -> None:
    assert bool(too_much_by(BEAM, purlin(length, loss))) is more
    assert not forbidden_by(BEAM, purlin(length, loss))


def test_a_purlin_opens_the_roof_and_a_girder_does_not() -> None:
    over, under = scope(BEAM, purlin()), scope(BEAM, make_case("girder", "band", section=12.0, length=120.0))
    assert float(money(over, "roof_opening")) > 0.0
    assert any(s.roof for s in tasks(over))
    assert float(money(under, "roof_opening")) == 0.0
    assert not any(s.roof for s in tasks(under))
    assert bought(under, "crane_half_day") == 0.0


def test_a_sawn_joist_goes_out_without_towers_or_crane() -> None:
    deep = scope(BEAM, joist(40.0, 8.0, element="floor_joist"))
    assert hours(deep) < 20.0
    assert bought(deep, "engineer_letter") == 1.0
    assert too_much_by(BEAM, joist(40.0, 2.0, element="floor_joist"))
    assert not too_much_by(BEAM, joist(40.0, 8.0, element="floor_joist"))


# ---- a sister ----------------------------------------------------------------------------------------------------


def test_a_sister_beside_five_feet_of_soft_edge_is_thirteen_feet_of_treated_two_by_ten() -> None:
    (need,) = scope(SISTER, joist()).needs
    assert float(need.length_in) == 13.0 * FT
    assert (float(need.thickness_in), float(need.width_in)) == (2.0, 10.0)
    assert need.treated


@pytest.mark.parametrize("length", [6.0, 24.0, 48.0, 60.0, 90.0])
@pytest.mark.parametrize("depth", [0.75, 2.5, 2.6, 4.9])
def test_a_sister_reaches_four_feet_past_the_rot_and_three_times_deep_rot(length: float, depth: float) -> None:
    reach = float(sister_length_in(joist(length, depth)))
    assert reach >= length + 96.0
    if depth > 2.5:
        assert reach >= 3.0 * length


def test_a_sister_is_never_longer_than_its_joist() -> None:
    assert float(sister_length_in(joist(90.0, 4.0, clear_length=14.0 * FT))) == 14.0 * FT


def test_a_lost_bearing_takes_a_sister_of_full_length() -> None:
    case = joist(12.0, 6.0, words={"side": "end"}, element="floor_joist", clear_length=14.0 * FT)
    assert float(sister_length_in(case)) == 14.0 * FT
    assert not forbidden_by(SISTER, case)


@pytest.mark.parametrize(("depth", "out"), [(4.9, False), (5.0, False), (5.1, True)])
def test_a_sister_needs_half_of_the_joist_sound(depth: float, out: bool) -> None:
    assert ("M22" in forbidden_by(SISTER, joist(24.0, depth))) is out


def test_no_sister_goes_beside_a_truss_chord() -> None:
    case = make_case("truss_bottom_chord", "joint_decay", section=12.0, length=18.0, section_loss=40.0)
    assert forbidden_by(SISTER, case) == ["M22"]


@pytest.mark.parametrize(("count", "letters"), [(3, 0.0), (4, 1.0)])
def test_more_than_three_sisters_take_an_engineer(count: int, letters: float) -> None:
    assert bought(scope(SISTER, joist(count=count)), "engineer_letter") == letters


def test_a_new_deck_joist_closes_the_deck_and_a_new_floor_joist_the_room() -> None:
    """Six clocks, never mixed: a room out of use is not a deck that is not walked on (common practice, no source)."""
    outside, inside = (tasks(scope(BEAM, joist(depth=6.0, element=e))) for e in ("deck_joist", "floor_joist"))
    assert all((t.room, t.load) == (0.0, 1.0) for t in outside)
    assert all((t.room, t.load) == (1.0, 0.0) for t in inside)


def test_a_sistered_rafter_takes_an_engineer() -> None:
    assert bought(scope(SISTER, joist(element="rafter")), "engineer_letter") == 1.0


def test_three_chewed_joists_cost_what_restorers_charge() -> None:
    """$600 to 3,000 for three (common practice, no source)."""
    case = joist(12.0, 6.0, count=3, damage="termite_sub", element="floor_joist", moisture=22.0)
    assert 600.0 < float(money(scope(SISTER, case))) < 3000.0
    assert not forbidden_by(SISTER, case)


# ---- a renewed tail ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("from_end", "out"), [(23.5, False), (24.0, False), (24.5, True)])
def test_rot_back_to_the_bearing_leaves_no_tail_to_renew(from_end: float, out: bool) -> None:
    assert bool(forbidden_by(TAIL, rafter_tail(from_end))) is out


@pytest.mark.parametrize(("from_end", "more"), [(23.5, ["M23"]), (24.5, [])])
def test_past_the_bearing_of_a_tail_the_rafter_behind_it_is_sistered_and_before_it_is_left_alone(
    from_end: float, more: list[str]
) -> None:
    """Where rot reaches the bearing, renewing the tail is out and the member itself is next (M23, B2: sister first)."""
    assert too_much_by(SISTER, rafter_tail(from_end)) == more
    assert not forbidden_by(SISTER, rafter_tail(from_end))
    assert "M23" not in too_much_by(BEAM, rafter_tail(from_end)) or more


def test_the_sister_of_a_rafter_whose_bearing_is_soft_is_as_long_as_the_rafter_and_takes_an_engineer() -> None:
    """M22: full length where the bearing is lost; a letter for rafters."""
    past = rafter_tail(26.0, clear_length=12 * FT)
    assert float(sister_length_in(past)) == 144.0
    assert bought(scope(SISTER, past), "engineer_letter") == 1.0


def test_a_purlin_that_is_soft_inside_is_no_matter_of_its_tail() -> None:
    assert forbidden_by(TAIL, purlin()) == ["M23"]


def test_a_tail_takes_about_three_feet_of_wood_and_half_its_hours_a_crew_day() -> None:
    """14 hours and about 3 ft of the same section (common practice, no source)."""
    assert float(tail_length_in(rafter_tail(14.0))) == pytest.approx(36.0, abs=6.0)
    assert hours(scope(TAIL, rafter_tail(14.0))) == pytest.approx(14.0 + 1.5, abs=0.6)


@pytest.mark.parametrize(("from_end", "letters"), [(15.9, 0.0), (16.1, 1.0)])
def test_within_its_size_of_the_bearing_an_engineer_looks(from_end: float, letters: float) -> None:
    assert bought(scope(TAIL, rafter_tail(from_end)), "engineer_letter") == letters


# ---- all of them -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("case", [purlin(), joist(), rafter_tail()], ids=["purlin", "joist", "tail"])
def test_shares_of_a_stage_add_up_and_there_is_a_hold_point(case: Case) -> None:
    method = {"purlin": BEAM, "deck_joist": SISTER, "rafter_tail": TAIL}[case.element.code]
    steps = tasks(scope(method, case))
    assert sum(s.share for s in steps) == pytest.approx(1.0)
    assert any(s.hold for s in steps)


def test_more_rot_never_makes_the_same_repair_cheaper() -> None:
    series = (
        [scope(BEAM, purlin(n)) for n in (24.0, 60.0, 120.0, 216.0)],
        [scope(SISTER, joist(60.0, d)) for d in (0.5, 2.4, 2.6, 4.0, 5.0)],
        [scope(SISTER, joist(n)) for n in (6.0, 24.0, 60.0, 120.0)],
        [scope(TAIL, rafter_tail(n)) for n in (2.0, 8.0, 15.0, 17.0, 24.0)],
    )
    for works in series:
        prices = [float(money(w)) for w in works]
        assert prices == sorted(prices)
