"""Checks, caulk, chink and flat tops. Limits, runs and amounts: common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.case import Case
from service.engine.methods.seal import METHODS
from tests.engine.cases import FT, make_case
from tests.engine.methods.readings import bought, forbidden_by, money, named, same_everywhere, scope, waits

SEAL, CAULK, CHINK, CAP = (named(METHODS, c) for c in ("check_seal", "recaulk", "rechink", "cap_slope"))


def check(
    feet: float = 2.0, *, element: str = "wall_mid", damage: str = "check", count: int = 1,
    words: dict[str, str] | None = None, flags: dict[str, bool] | None = None, **facts: float,
) -> Case:
    """A check on the upper outside of a log."""
    numbers: dict[str, Any] = {
        "section": 12.0, "check_width": 0.44, "length": feet * FT, "clock": 1.0, "moisture": 17.0, "height": 6.0,
    } | facts
    return make_case(element, damage, count=count, words=words, flags=flags, **numbers)


@pytest.mark.parametrize(("clock", "out"), [
    (12.0, False), (1.0, False), (2.5, False), (2.6, True), (4.0, True), (5.5, True), (9.0, True), (11.9, True),
])
def test_a_check_is_sealed_only_where_it_holds_water(clock: float, *, out: bool) -> None:
    assert ("G18" in forbidden_by(SEAL, check(clock=clock))) is out


@pytest.mark.parametrize(("gap", "out"), [(0.125, True), (0.24, True), (0.25, False), (0.26, False)])
def test_a_check_is_sealed_from_a_quarter_of_an_inch_on(gap: float, *, out: bool) -> None:
    assert ("G18" in forbidden_by(SEAL, check(check_width=gap))) is out


def test_checks_indoors_are_left_open() -> None:
    assert "G18" in forbidden_by(SEAL, check(words={"side": "inner"}))


def test_a_structural_split_is_not_sealed() -> None:
    assert "R8" in forbidden_by(SEAL, check(flags={"past_bolt_line": True}))
    assert "R8" in forbidden_by(SEAL, check(element="truss_bottom_chord"))


def test_a_check_named_by_its_direction_needs_no_clock() -> None:
    facts: dict[str, Any] = {"section": 12.0, "check_width": 0.44, "length": 24.0, "moisture": 17.0}
    assert forbidden_by(SEAL, make_case("wall_mid", "check_up", **facts)) == []
    assert "G18" in forbidden_by(SEAL, make_case("wall_mid", "check_down", **facts))


def test_two_feet_of_check_take_one_small_tube_and_cost_what_restorers_charge() -> None:
    """$50 to 220 for 2 ft; 7 to 18 a foot for 100 ft on the same day, a tenth to half of the single foot."""
    short, long = scope(SEAL, check()), scope(SEAL, check(100.0))
    assert bought(short, "sealant_10oz") == 1.0
    assert 50.0 <= float(money(short)) <= 220.0
    assert 7.0 <= float(money(long)) / 100.0 <= 18.0
    assert 0.1 <= (float(money(long)) / 100.0) / (float(money(short)) / 2.0) <= 0.5


def test_a_small_tube_reaches_ten_feet_of_half_inch_joint() -> None:
    """1/2 x 1/4: 10.3 ft a 10-oz tube, 29.6 ft a 29-oz tube (common practice, no source)."""
    assert bought(scope(SEAL, check(10.3, check_width=0.5)), "sealant_29oz") == 0.0
    assert bought(scope(SEAL, check(10.4, check_width=0.5)), "sealant_29oz") == 1.0
    assert bought(scope(SEAL, check(29.6, check_width=0.5)), "sealant_29oz") == 1.0
    assert bought(scope(SEAL, check(29.8, check_width=0.5)), "sealant_29oz") == 2.0


def test_pieces_of_one_day_share_their_tubes() -> None:
    assert bought(scope(SEAL, check(2.0, count=10, check_width=0.5)), "sealant_29oz") == pytest.approx(1.0)


def test_a_wet_check_gets_rods_and_dries_first() -> None:
    dry, wet = scope(SEAL, check()), scope(SEAL, check(moisture=26.0))
    assert bought(dry, "borate_rod") == 0.0
    assert bought(wet, "borate_rod") > 0.0
    assert "drying" in {w.kind for w in waits(wet)}
    assert "drying" not in {w.kind for w in waits(dry)}


def test_a_pail_chinks_73_feet_of_3_in_joint() -> None:
    """3 x 3/8 in: 73 ft a pail (common practice, no source)."""
    wall = make_case("chink_line", "seal_fail_coh", length=73.0 * FT, width=3.0, moisture=14.0)
    assert bought(scope(CHINK, wall), "chink_pail") == pytest.approx(1.0, abs=0.01)


def test_old_daub_on_a_protected_house_is_mended_with_daub_and_never_with_synthetic_chink() -> None:
    words = {"heritage": "registered", "wall_system": "chinked"}
    work = scope(CHINK, make_case("chink_line", "seal_fail_coh", length=120.0, width=3.0, words=words))
    assert bought(work, "chink_pail") == 0.0
    assert bought(work, "daub_lime") > 0.0
    assert "chink" not in work.cures


def test_new_caulk_needs_a_dry_day_and_brings_no_wood() -> None:
    work = scope(CAULK, make_case("caulk_line", "seal_fail_adh", length=480.0, width=0.5, moisture=14.0))
    assert [float(w.days) for w in waits(work) if w.kind == "weather"] == [1.0]
    assert work.needs == []


@pytest.mark.parametrize(("depth", "section", "codes"), [
    (0.75, 12.0, []), (0.76, 12.0, ["R1"]), (0.56, 7.0, []), (0.57, 7.0, ["R1"]),
])
def test_a_flat_top_is_capped_over_sound_wood_or_a_shallow_hollow(
    depth: float, section: float, codes: list[str]
) -> None:
    top = make_case("wall_mid", "pocket_shallow", flags={"holds_water": True}, depth=depth, section=section)
    assert forbidden_by(CAP, top) == codes


def test_nothing_is_capped_that_sheds_water_by_itself() -> None:
    assert "M28" in forbidden_by(CAP, make_case("wall_mid", "pocket_shallow", depth=0.5, section=12.0))


def test_longer_joints_never_cost_less() -> None:
    prices = [float(money(scope(SEAL, check(0.7 * k)))) for k in range(1, 90)]
    assert prices == sorted(prices)


def test_one_world_and_many_worlds_agree() -> None:
    facts: dict[str, Any] = {
        "section": 12.0, "check_width": 0.44, "length": 24.0, "width": 3.0, "clock": 1.0, "moisture": 17.0,
        "height": 6.0, "wood_temperature": 65.0, "to_joint": 40.0, "clear_length": 240.0,
    }
    words = {"side": "outer", "inner_face": "sound"}
    plain = make_case("wall_mid", "check", words=words, **facts)
    many = make_case("wall_mid", "check", words=words, many=True, **facts)
    assert all(same_everywhere(m, plain, many) for m in METHODS)
