"""Truss chords: plates, a new end, a new chord. Amounts and ratios: common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.case import Case
from service.engine.method import Method
from service.engine.methods.truss import METHODS, plate_length_in
from tests.engine.cases import make_case
from tests.engine.methods.readings import bought, forbidden_by, hours, money, named, scope, tasks, too_much_by, waits

PLATES, NEW_END, NEW_CHORD = (named(METHODS, c) for c in ("steel_plates", "chord_end_splice", "chord_replace"))


def heel(
    length: float = 18.0,
    loss: float = 40.0,
    *,
    count: int = 1,
    flags: dict[str, bool] | None = None,
    damage: str = "joint_decay",
    **facts: float,
) -> Case:
    """A bottom chord of 12 in over 22 ft, soft at the heel and past the bolts."""
    numbers: dict[str, Any] = {
        "section": 12.0,
        "section_other": 12.0,
        "span": 22.0,
        "section_loss": loss,
        "length": length,
        "width": 8.0,
        "moisture": 18.0,
        "height": 10.0,
        "opening_area": 200.0,
        "depth": 5.0,
    } | facts
    return make_case(
        "truss_bottom_chord", damage, count=count, flags={"past_bolt_line": True} | (flags or {}), **numbers
    )


def chord_price(case: Case) -> float:
    work = scope(NEW_CHORD, case, 1.15)
    return float(money(work)) + float(money(work, "roof_opening"))


def test_plates_cost_what_restorers_charge_with_engineer_and_shores() -> None:
    """$5,500 to 15,000 (common practice, no source)."""
    assert 5500.0 < float(money(scope(PLATES, heel(), 1.15))) < 15000.0


def test_a_chord_costs_what_restorers_charge_with_its_roof() -> None:
    """$20,000 to 52,000 with about 200 ft2 of roof (common practice, no source)."""
    assert 20000.0 < chord_price(heel()) < 52000.0


def test_steel_costs_a_third_of_a_new_chord() -> None:
    """Plates 0.18 to 0.42 and a new end 0.28 to 0.55 of a chord (common practice, no source)."""
    chord = float(money(scope(NEW_CHORD, heel())))
    assert 0.18 < float(money(scope(PLATES, heel()))) / chord < 0.42
    assert 0.28 < float(money(scope(NEW_END, heel()))) / chord < 0.55


def test_hours_are_those_of_the_trade() -> None:
    """Shoring 16 and plates 32, end 60; shoring 32 and chord 180 (common practice, no source)."""
    assert hours(scope(PLATES, heel())) == pytest.approx(48.0, abs=1.5)
    assert hours(scope(NEW_END, heel())) == pytest.approx(76.0, abs=1.5)
    assert hours(scope(NEW_CHORD, heel())) == pytest.approx(212.0)


@pytest.mark.parametrize(("length", "out"), [(47.5, False), (48.0, False), (48.5, True), (84.0, True)])
def test_past_four_feet_of_more_than_half_gone_there_is_nothing_to_bolt_to(length: float, out: bool) -> None:
    assert ("M21" in forbidden_by(PLATES, heel(length, 60.0))) is out
    assert not forbidden_by(PLATES, heel(length, 50.0))


@pytest.mark.parametrize(("length", "out"), [(47.5, False), (48.0, False), (48.5, True)])
def test_a_new_end_is_for_the_last_four_feet(length: float, out: bool) -> None:
    assert ("M20" in forbidden_by(NEW_END, heel(length))) is out


def test_plates_reach_twice_the_size_past_the_rot_each_side() -> None:
    assert plate_length_in(heel(18.0)) == 18.0 + 4.0 * 12.0
    short = heel(18.0, clear_length=60.0)
    assert "M21" in forbidden_by(PLATES, short)
    assert not forbidden_by(PLATES, heel(18.0, clear_length=72.0))


@pytest.mark.parametrize(
    ("length", "loss", "more"), [(18.0, 40.0, True), (48.0, 40.0, True), (48.5, 40.0, False), (18.0, 90.0, False)]
)
def test_a_new_chord_is_more_than_local_decay_needs(length: float, loss: float, more: bool) -> None:
    assert bool(too_much_by(NEW_CHORD, heel(length, loss))) is more
    assert not forbidden_by(NEW_CHORD, heel(length, loss))


def test_a_chord_that_is_gone_for_seven_feet_leaves_only_a_new_one() -> None:
    gone = heel(84.0, 100.0, damage="through")
    assert forbidden_by(PLATES, gone)
    assert forbidden_by(NEW_END, gone)
    assert not forbidden_by(NEW_CHORD, gone)
    assert not too_much_by(NEW_CHORD, gone)


def test_a_soft_ornament_outside_a_sound_joint_needs_no_steel() -> None:
    for method in METHODS:
        assert "G09" in too_much_by(method, heel(flags={"ornamental_only": True}))


def test_plates_beside_a_rotten_post_foot_stand_on_nothing() -> None:
    assert forbidden_by(PLATES, make_case("post_porch", "foot_rot", section=8.0, from_end=7.0))


def test_the_wood_of_a_chord_is_that_of_the_worked_example() -> None:
    """12 in x 24 ft: 18.9 ft3 for a span of 22 ft; plates take none (common practice, no source)."""
    (need,) = scope(NEW_CHORD, heel()).needs
    assert float(need.length_in) == 288.0
    assert float(need.net_ft3) == pytest.approx(18.9, abs=0.1)
    assert not scope(PLATES, heel()).needs
    assert scope(NEW_END, heel()).needs


def test_only_a_new_chord_opens_the_roof_and_its_roof_is_a_part_of_its_own() -> None:
    assert all(s.roof == 0.0 for s in tasks(scope(PLATES, heel())) + tasks(scope(NEW_END, heel())))
    work = scope(NEW_CHORD, heel())
    assert 0.4 < sum(s.share for s in tasks(work) if s.roof) < 0.7
    assert bought(work, "tarp") == 200.0
    assert {c.part for c in work.charges if c.resource in ("tarp", "roof_relay_metal")} == {"roof_opening"}
    assert work.part == "package"


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
def test_shores_stand_and_a_design_is_stamped_before_the_first_cut(method: Method) -> None:
    work = scope(method, heel())
    steps = tasks(work)
    assert any(w in steps[0].text for w in ("Shore to solid ground", "towers"))
    assert "lead.engineer_stamp" in work.leads
    assert any(s.hold for s in steps)
    assert all(s.room == 1.0 for s in steps)
    assert sum(s.share for s in steps) == pytest.approx(1.0)
    assert not any("lift the truss" in s.text for s in steps)


def test_a_chord_is_loaded_slowly_over_one_or_two_days() -> None:
    (unload,) = [w for w in waits(scope(NEW_CHORD, heel())) if w.kind == "cure"]
    assert 1.0 <= float(unload.days) <= 2.0


def test_two_chords_share_shores_crane_and_design_and_go_one_at_a_time() -> None:
    two, one = scope(NEW_CHORD, heel(count=2)), scope(NEW_CHORD, heel())
    assert float(money(two)) < 2.0 * float(money(one)) - 5000.0
    assert bought(two, "engineer_stamp") == 1.0
    assert any("One member at a time" in n for n in two.notes)


def test_more_rot_never_makes_a_truss_repair_cheaper() -> None:
    for method in METHODS:
        prices = [float(money(scope(method, heel(n)))) for n in (6.0, 18.0, 40.0, 48.0, 60.0, 84.0, 120.0)]
        assert prices == sorted(prices), method.code


@pytest.mark.parametrize(("up_in", "held"), [(6.0, False), (39.0, False), (41.0, True)])
def test_plates_want_sound_wood_on_both_sides_and_a_free_end_has_none(up_in: float, *, held: bool) -> None:
    """M21: sound wood each side for bolts."""
    flyway = make_case("flyway_log", "end_rot", section=14.0, from_end=up_in, tail=40.0, clear_length=240.0, height=12.0)
    assert ("M21" not in forbidden_by(PLATES, flyway)) is held
