"""Little gone from a beam: cleaned and left on an engineer's letter (G14, R9, R31). Hours and lives are judgement."""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.methods.leave import METHODS, strength_lost
from service.engine.outcome import Findings
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import Defect
from tests.engine.books import book
from tests.engine.cases import knowledge, make_case, make_defect, make_survey
from tests.engine.methods.readings import forbidden_by, money, named, scope, tasks, too_much_by

LEAVE = named(METHODS, "leave_by_letter")
BEAM: dict[str, Any] = {
    "section": 10.0, "section_other": 10.0, "length": 12.0, "width": 4.0, "span": 14.0, "words": {"profile": "square"},
}


def found(defect: Defect) -> Findings:
    return quote(make_survey(defect, level="opened"), book(), knowledge(), all_methods()).defects[0].findings[0]


def offered(one: Findings) -> list[str]:
    return [o.method for o in one.options]


@pytest.mark.parametrize(("depth", "struck"), [(1.0, []), (1.83, []), (1.84, ["G14"]), (4.0, ["G14"])])
def test_a_beam_is_left_while_two_thirds_of_its_bending_strength_are_left(depth: float, struck: list[str]) -> None:
    """By hand, b (D - d)^2 / 6 of b D^2 / 6 by hand: two thirds at d = 10 (1 - sqrt(2/3)) = 1.835 in."""
    assert forbidden_by(LEAVE, make_case("purlin", "pocket_deep", depth=depth, **BEAM)) == struck


def test_a_hollow_heart_takes_little_of_the_bending_strength() -> None:
    """Round: di / d = 8 / 12 leaves .8025 of the modulus (closed form checked against polygon integrals).

    Square 12 in with a 6 in hole: 1 - 6^4 / 12^4, by hand.
    """
    assert strength_lost(make_case("ridge", "core", section=12, depth=8)) == pytest.approx(1.0 - 0.8025, abs=1e-4)
    square = make_case("ridge", "core", section=12, section_other=12, depth=6, words={"profile": "square"})
    assert strength_lost(square) == pytest.approx(1.0 / 16.0)


@pytest.mark.parametrize(("hollow", "struck"), [(7.9, []), (8.1, ["B3"])])
def test_a_shell_of_less_than_two_inches_is_not_left(hollow: float, struck: list[str]) -> None:
    """A shell under 2 in carries little (common practice, no source)."""
    assert forbidden_by(LEAVE, make_case("girder", "core", section=12, depth=hollow, length=24)) == struck


@pytest.mark.parametrize(("more", "struck"), [
    ({"to_joint": 4.0}, ["G15"]), ({"sag": 2.0}, ["M25"]), ({"sag": 0.5}, []),
])
def test_nothing_is_left_at_a_joint_or_where_the_beam_has_moved(more: dict[str, Any], struck: list[str]) -> None:
    assert forbidden_by(LEAVE, make_case("girder", "band", depth=1.0, **BEAM, **more)) == struck


def test_a_dimple_needs_no_letter() -> None:
    assert too_much_by(LEAVE, make_case("purlin", "pocket_shallow", depth=0.3, **BEAM)) == ["G03"]


def test_it_costs_little_more_than_the_letter() -> None:
    """A visit and letter are 600 to 1,800 (common practice, no source); some hours of cleaning beside it (J)."""
    work = scope(LEAVE, make_case("purlin", "pocket_deep", depth=1.0, moisture=14.0, **BEAM))
    assert 900.0 < float(money(work)) < 2600.0
    assert any(t.hold and "letter" in t.text for t in tasks(work))
    assert "lead.engineer_letter" in work.leads


def test_steel_stands_behind_the_letter_and_not_in_its_place() -> None:
    """An inch out of ten is no case for steel before an engineer has looked; if he says no, it is (G14, M21)."""
    one = found(make_defect("purlin", "pocket_deep", depth=1.0, **BEAM))
    first = one.options[0]
    assert offered(one)[:2] == ["leave_by_letter", "steel_plates"]
    assert first.provisional
    assert {"structural_provisional", "engineer", "zero_strength"} <= set(first.cautions)
    assert any("engineer_letter" in line.resource for line in first.lines)
    assert any("plates or a new one" in note for note in first.notes)


@pytest.mark.parametrize(("load", "stays"), [(180.0, True), (220.0, False)])
def test_nothing_stays_as_it_is_under_more_load_than_it_may_carry(load: float, *, stays: bool) -> None:
    """By hand: S of 10 x 8.5 in left is 120.4 in3, of 10 x 10 sound 166.7; at 500 psi x 1.0 x 120.4 in3 over 14 ft the line
    load may be 8 x 60,208 / 168^2 x 12 = 204.8 lb a foot (NDS 2018, table 4D from memory, No.2 softwood not known).
    """
    beam = make_defect("girder", "pocket_deep", depth=1.5, line_load=load, moisture=14.0, **BEAM)
    left = {"leave_by_letter", "monitor", "clean_leave"} & set(offered(found(beam)))
    assert bool(left) is stays


def test_who_watches_a_log_on_which_nothing_may_be_put_has_an_engineer_look_first() -> None:
    """A sill with a soft seat and joists on it (B2, B10, R14); watching itself takes no time on site (R25)."""
    words = {"activity": "old", "side": "bottom"}
    sill = make_defect("sill_log", "pocket_deep", section=12.0, depth=2.0, moisture=13.0, joists=3.0, height=1.0, words=words)
    watch = next(o for o in found(sill).options if o.method == "monitor")
    assert any("engineer_letter" in line.resource for line in watch.lines)
    assert watch.clocks.lead_days > 0.0
    assert watch.clocks.crew_days == watch.clocks.calendar_days == 0.0
