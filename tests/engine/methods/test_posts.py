"""Feet of posts: what each method can and cannot, and what it costs against the others.

Amounts and ratios: common practice, no source. Dollars are those of the base book.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from service.engine.case import Case
from service.engine.method import Method
from service.engine.methods.posts import METHODS
from tests.engine.cases import make_case
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

EPOXY, PEDESTAL, SPLICE, REPLACE = (
    named(METHODS, code) for code in ("post_epoxy_foot", "post_pedestal", "post_foot_splice", "post_replace")
)


def post(
    up_in: float = 7.0,
    *,
    count: int = 1,
    flags: dict[str, bool] | None = None,
    words: dict[str, str] | None = None,
    damage: str = "foot_rot",
    **facts: float,
) -> Case:
    """A porch post, 8 x 8 and 8 ft high with 4,500 lb on it."""
    numbers: dict[str, Any] = {
        "section": 8.0,
        "section_other": 8.0,
        "post_height": 96.0,
        "load": 4500.0,
        "moisture": 16.0,
        "height": 0.0,
        "from_end": up_in,
        "depth": 4.0,
    } | facts
    return make_case("post_porch", damage, count=count, flags=flags, words=words, **numbers)


def soft_post(*, side: str = "", **facts: float) -> Case:
    """A porch post of 8 ft with a soft place of which nobody said that it is the foot."""
    numbers: dict[str, Any] = {
        "section": 8.0, "section_other": 8.0, "post_height": 96.0, "depth": 2.0, "length": 5.0, "load": 3000.0,
    }
    return make_case("post_porch", "soft_wood", words={"side": side} if side else None, **numbers | facts)


@pytest.mark.parametrize("method", [EPOXY, PEDESTAL, SPLICE], ids=lambda m: m.code)
def test_a_post_that_is_soft_at_its_top_gets_no_new_foot(method: Method) -> None:
    """M16 to M18 are for feet; the top of a post is another place (common practice, no source)."""
    assert forbidden_by(method, soft_post(side="top")) != []
    assert forbidden_by(method, soft_post(side="outer")) == []
    assert too_much_by(REPLACE, soft_post(side="top")) == []


@pytest.mark.parametrize(("height", "foot"), [(1.0, True), (2.6, True), (2.7, False), (7.0, False), (11.0, True)])
def test_a_soft_place_past_a_third_of_the_post_is_no_matter_of_its_foot(height: float, *, foot: bool) -> None:
    """M18: a new foot reaches a third of the height. Eleven feet up, the whole post stands on an upper floor."""
    assert (forbidden_by(SPLICE, soft_post(height=height)) == []) is foot


@pytest.mark.parametrize(("up_in", "out"), [(5.9, False), (6.0, False), (6.1, True), (9.0, True)])
def test_a_cast_foot_is_good_for_six_inches_of_rot(up_in: float, out: bool) -> None:
    assert ("M16" in forbidden_by(EPOXY, post(up_in))) is out


@pytest.mark.parametrize(("section", "out"), [(5.5, True), (6.0, False), (8.0, False)])
def test_a_cast_foot_needs_a_post_of_six_inches(section: float, out: bool) -> None:
    assert bool(forbidden_by(EPOXY, post(5.0, section=section))) is out


@pytest.mark.parametrize(("load", "out"), [(4950.0, False), (5000.0, False), (5050.0, True)])
def test_a_cast_foot_carries_five_thousand_pounds(load: float, out: bool) -> None:
    assert bool(forbidden_by(EPOXY, post(5.0, load=load))) is out


@pytest.mark.parametrize("method", [EPOXY, PEDESTAL, SPLICE], ids=lambda m: m.code)
def test_a_post_that_nothing_holds_at_the_top_gets_no_new_foot(method: Method) -> None:
    case = post(5.0, flags={"free_standing": True})
    assert forbidden_by(method, case)
    assert not forbidden_by(REPLACE, case)
    assert not too_much_by(REPLACE, case)


@pytest.mark.parametrize(("up_in", "out"), [(23.9, False), (24.0, False), (24.1, True)])
def test_a_pedestal_stands_two_feet_high_at_most(up_in: float, out: bool) -> None:
    assert bool(forbidden_by(PEDESTAL, post(up_in))) is out


def test_a_pedestal_is_out_where_the_look_is_protected() -> None:
    assert forbidden_by(PEDESTAL, post(words={"heritage": "registered"})) == ["M17"]


@pytest.mark.parametrize(("up_in", "out"), [(31.9, False), (32.0, False), (32.1, True)])
def test_a_foot_is_spliced_on_up_to_a_third_of_the_post(up_in: float, out: bool) -> None:
    assert bool(forbidden_by(SPLICE, post(up_in))) is out


def test_a_new_post_is_more_than_a_soft_foot_needs_up_to_a_third() -> None:
    assert too_much_by(REPLACE, post(32.0)) == ["M19"]
    assert not too_much_by(REPLACE, post(36.0))
    assert not too_much_by(REPLACE, post(damage="split"))


def test_nothing_forbids_a_new_post() -> None:
    assert not forbidden_by(REPLACE, post(60.0, flags={"free_standing": True}, load=12000.0))


def test_four_spliced_feet_take_the_wood_of_the_worked_example() -> None:
    """5, 6, 8 and 9 in of rot: about 3.5 ft of 8 x 8 each, 75 bd ft for four (common practice, no source)."""
    feet = [scope(SPLICE, post(up)).needs[0] for up in (5.0, 6.0, 8.0, 9.0)]
    assert sum(float(n.length_in) for n in feet) / 4.0 == pytest.approx(42.0, abs=1.0)
    assert sum(float(n.net_ft3) * 12.0 for n in feet) == pytest.approx(75.0, abs=2.0)
    assert all(n.treated for n in feet)


@pytest.mark.parametrize("method", [EPOXY, PEDESTAL], ids=lambda m: m.code)
def test_a_foot_without_wood_orders_none_and_keeps_the_shores_while_it_cures(method: Method) -> None:
    work = scope(method, post(5.0))
    assert not work.needs
    cure = next(w for w in waits(work) if w.kind == "cure")
    assert 3.0 <= float(cure.days) <= 7.0
    assert cure.load == 1.0


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
def test_the_porch_is_closed_and_shored_before_anything_is_cut(method: Method) -> None:
    steps = tasks(scope(method, post(5.0)))
    assert "Shore" in steps[0].text
    assert "no lifting" in steps[0].text
    assert all(s.load == 1.0 and s.room == 0.0 for s in steps)
    assert any(s.hold for s in steps)
    assert sum(s.share for s in steps) == pytest.approx(1.0)


@pytest.mark.parametrize(("method", "likely"), [(EPOXY, 11.0), (PEDESTAL, 12.0), (SPLICE, 13.0), (REPLACE, 19.0)])
def test_one_post_takes_the_hours_of_the_trade(method: Method, likely: float) -> None:
    """Hours with shoring: 11, 12, 13, 19; rods and borate of the foot come on top (common practice, no source)."""
    assert hours(scope(method, post(5.0))) == pytest.approx(likely, abs=0.6)


@pytest.mark.parametrize("method", [PEDESTAL, SPLICE], ids=lambda m: m.code)
def test_one_foot_costs_what_restorers_charge(method: Method) -> None:
    """$750 to 2,300 each (common practice, no source)."""
    assert 750.0 < float(money(scope(method, post()))) < 2300.0


def test_a_foot_costs_less_than_a_new_post() -> None:
    """Pedestal 0.5 to 0.95 and splice 0.45 to 0.85 of a new post (common practice, no source)."""
    whole = float(money(scope(REPLACE, post())))
    assert 0.5 < float(money(scope(PEDESTAL, post()))) / whole < 0.95
    assert 0.45 < float(money(scope(SPLICE, post()))) / whole < 0.85


@pytest.mark.parametrize("method", [PEDESTAL, SPLICE], ids=lambda m: m.code)
def test_four_posts_share_one_set_up_of_shores(method: Method) -> None:
    """Four cost 0.72 to 0.95 of four single ones (common practice, no source)."""
    single = float(money(scope(method, post())))
    four = float(money(scope(method, post(count=4))))
    assert 0.72 < four / (4.0 * single) < 0.95


@pytest.mark.parametrize(("load", "letters"), [(4500.0, 0.0), (5000.0, 0.0), (5100.0, 1.0)])
def test_an_engineer_looks_at_posts_above_five_kip(load: float, letters: float) -> None:
    work = scope(PEDESTAL, post(load=load))
    assert bought(work, "engineer_letter") == letters
    assert ("lead.engineer_letter" in work.leads) is (letters == 1.0)


def test_in_snow_country_an_unknown_load_takes_an_engineer() -> None:
    snow = {"snow_country": True}
    unknown = make_case("post_porch", "foot_rot", flags=snow, section=8.0, from_end=7.0, post_height=96.0)
    assert bought(scope(PEDESTAL, unknown), "engineer_letter") == 1.0
    stated = replace(post(flags=snow), known=frozenset({"from_end", "load"}))
    assert bought(scope(PEDESTAL, stated), "engineer_letter") == 0.0


def test_without_a_frost_footing_the_footing_comes_first_and_is_paid() -> None:
    plain = float(money(scope(PEDESTAL, post(flags={"frost_footing": True}))))
    work = scope(PEDESTAL, post(flags={"frost_footing": False}))
    assert float(money(work)) > plain + 500.0
    assert any("heaves" in n for n in work.notes)


def test_more_rot_never_makes_a_foot_cheaper() -> None:
    for method in METHODS:
        prices = [float(money(scope(method, post(up)))) for up in (3.0, 5.0, 6.0, 12.0, 24.0, 32.0, 60.0)]
        assert prices == sorted(prices), method.code


def test_an_inside_post_takes_the_room_and_not_a_porch() -> None:
    case = make_case("post_interior", "foot_rot", section=8.0, from_end=5.0, post_height=96.0, load=3000.0)
    assert all(s.room == 1.0 and s.load == 0.0 for s in tasks(scope(SPLICE, case)))
