"""What may be published, what is refused, and what is asked about."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.application.inheritance import Lines
from service.application.judging import judge
from service.application.money_lines import OtherMoney
from service.application.publishing import (
    ConfirmationNeededError,
    NothingChangesError,
    PublishRefusedError,
    Scheduled,
    Situation,
)
from service.engine.rates import Line

DAY = date(2026, 5, 4)
LEAD, HELPER = ("resources", "lead"), ("resources", "helper")


def row(key: tuple[str, str] = LEAD, likely: str = "90", region: str = "office", **changed: Any) -> Line:
    value = Decimal(likely)
    made = Line(
        section=key[0], code=key[1], unit="h", low=value, likely=value, high=value, kind="labour", region=region,
        source="test", what=key[1],
    )
    return replace(made, **changed)


def met(lines: Lines, in_force: Lines, **more: Any) -> Situation:
    """A publication of `lines` in place of `in_force`, on which the draft is based."""
    usual: dict[str, Any] = {"above": {}, "number": 1, "base": in_force, "base_number": 1, "later": None}
    return Situation(day=DAY, lines=lines, in_force=in_force, **(usual | more))


def questions(situation: Situation, *confirmed: str) -> list[str]:
    """Tokens of what is asked about."""
    try:
        judge(situation, frozenset(confirmed))
    except ConfirmationNeededError as asked:
        return [question.token for question in asked.questions]
    return []


def faults(situation: Situation) -> list[tuple[str, tuple[str, str]]]:
    with pytest.raises(PublishRefusedError) as refused:
        judge(situation, frozenset())
    return [(fault.code, fault.key) for fault in refused.value.faults]


def test_what_changes_is_told() -> None:
    assert judge(met({LEAD: row(likely="95"), HELPER: row(HELPER)}, {LEAD: row()}), frozenset()) == (HELPER, LEAD)


def test_the_same_lines_are_not_published_again() -> None:
    with pytest.raises(NothingChangesError):
        judge(met({LEAD: row(likely="90.00")}, {LEAD: row()}), frozenset())


def test_a_line_that_would_stand_nowhere_is_a_gap() -> None:
    assert faults(met({}, {LEAD: row()})) == [("gap", LEAD)]


def test_a_line_that_is_inherited_again_is_no_gap() -> None:
    assert judge(met({}, {LEAD: row()}, above={LEAD: row(region="base", likely="80")}), frozenset()) == (LEAD,)


def test_all_faults_are_told_at_once_and_what_would_be_asked_besides() -> None:
    third = ("norms", "sill_needle.fixed")
    lines = {LEAD: row(likely="95"), HELPER: row(HELPER, "9", low=Decimal(10)), ("resources", "glue"): row(likely="2000")}
    in_force = {LEAD: row(), HELPER: row(HELPER), third: row(third), ("resources", "glue"): row(likely="2")}
    situation = met(lines, in_force, above={LEAD: row(region="base", locked=True)})
    with pytest.raises(PublishRefusedError) as refused:
        judge(situation, frozenset())
    assert [(f.code, f.key) for f in refused.value.faults] == [("gap", third), ("line-locked", LEAD), ("out-of-order", HELPER)]
    assert [q.token for q in refused.value.questions] == ["resources/glue=2000/2000/2000 h", "resources/helper=10/9/9 h"]


@given(st.decimals("0.01", "1000", places=2), st.decimals("0.001", "10000", places=3))
def test_just_a_factor_of_ten_either_way_is_asked_about(old: Decimal, new: Decimal) -> None:
    if old == new:
        return
    far = new >= old * 10 or new * 10 <= old
    asked = questions(met({LEAD: row(likely=str(new))}, {LEAD: row(likely=str(old))}))
    assert bool(asked) is far
    assert not far or not questions(met({LEAD: row(likely=str(new))}, {LEAD: row(likely=str(old))}), *asked)


@given(st.decimals("0.01", "1000", places=2), st.decimals("0.001", "10000", places=3))
def test_a_new_own_line_is_held_against_the_parents(above: Decimal, own: Decimal) -> None:
    far = own >= above * 10 or own * 10 <= above
    situation = met({LEAD: row(likely=str(own))}, {}, above={LEAD: row(region="base", likely=str(above))})
    assert bool(questions(situation)) is far


def test_a_price_that_becomes_zero_is_asked_about_and_one_that_was_zero_is_not() -> None:
    assert questions(met({LEAD: row(likely="0")}, {LEAD: row(likely="1")})) == ["resources/lead=0/0/0 h"]
    assert questions(met({LEAD: row(likely="1")}, {LEAD: row(likely="0")})) == []


def test_another_unit_is_asked_about() -> None:
    assert questions(met({LEAD: row(unit="d")}, {LEAD: row()})) == ["resources/lead=90/90/90 d"]


def test_inheriting_again_is_held_against_what_was_in_force() -> None:
    above = {LEAD: row(region="base", likely="9")}
    assert questions(met({}, {LEAD: row()}, above=above)) == ["resources/lead=as inherited"]


def test_leaving_an_own_line_that_a_lock_keeps_from_counting_is_not_asked_about() -> None:
    above = {LEAD: row(region="base", likely="9", locked=True)}
    assert judge(met({}, {LEAD: row()}, above=above), frozenset()) == (LEAD,)


def test_lines_that_stay_are_not_asked_about_again() -> None:
    in_force = {LEAD: row(likely="2000"), HELPER: row(HELPER)}
    situation = met({**in_force, HELPER: row(HELPER, "91")}, in_force, above={LEAD: row(region="base", likely="90")})
    assert questions(situation) == []


def test_a_token_of_another_value_says_nothing() -> None:
    situation = met({LEAD: row(likely="900")}, {LEAD: row()})
    assert questions(situation, "resources/lead=901/901/901 h") == ["resources/lead=900/900/900 h"]
    assert questions(situation, "resources/lead=900/900/900 h") == []


def test_what_a_scheduled_revision_will_undo_is_asked_about() -> None:
    later = Scheduled(2, date(2026, 6, 1), {LEAD: row(), HELPER: row(HELPER, "91")})
    in_force = {LEAD: row(), HELPER: row(HELPER)}
    undone = met({**in_force, LEAD: row(likely="95")}, in_force, later=later)
    kept = met({**in_force, HELPER: row(HELPER, "91")}, in_force, later=later)
    assert questions(undone) == ["until:2"]
    assert questions(undone, "until:2") == []
    assert questions(kept) == []


def test_what_a_draft_brings_along_from_a_scheduled_revision_is_asked_about() -> None:
    base = {LEAD: row(likely="99"), HELPER: row(HELPER)}
    situation = met({**base, HELPER: row(HELPER, "91")}, {LEAD: row(), HELPER: row(HELPER)}, base=base, base_number=2)
    assert questions(situation) == ["carries:2-over-1"]


ABROAD = {LEAD: row(region="base"), HELPER: row(HELPER, region="base")}


def test_a_price_is_not_inherited_from_a_region_with_other_money() -> None:
    """A number in dollars would be quoted as so many euros."""
    abroad = OtherMoney(above=frozenset({"base"}))
    both = {LEAD: row(), HELPER: row(HELPER)}
    assert faults(met({LEAD: row()}, both, above=ABROAD, other=abroad)) == [("other-money", HELPER)]
    assert judge(met({LEAD: row()}, both, above=ABROAD), frozenset()) == (HELPER,)
    assert judge(met({**both, LEAD: row(likely="95")}, both, above=ABROAD, other=abroad), frozenset()) == (LEAD,)


def test_hours_and_shares_are_inherited_across_moneys_and_moneys_worth_is_not() -> None:
    keys = [("norms", "sister.fixed"), ("terms", "tax.rate"), ("terms", "minimum_charge"), ("weights", "room_day"),
            ("weights", "share.seen")]
    units = ["h", "fraction", "each", "each", "fraction"]
    above = {key: row(key, region="base", unit=unit, kind="") for key, unit in zip(keys, units, strict=True)}
    assert faults(met({LEAD: row()}, {}, above=above, other=OtherMoney(above=frozenset({"base"})))) == [
        ("other-money", ("terms", "minimum_charge")), ("other-money", ("weights", "room_day")),
    ]


def test_no_price_is_locked_above_a_region_with_other_money() -> None:
    abroad = OtherMoney(below=frozenset({"office"}))
    hours = ("norms", "sister.fixed")
    locked = {LEAD: row(locked=True), hours: row(hours, kind="", locked=True)}
    assert faults(met(locked, {LEAD: row()}, other=abroad)) == [("other-money", LEAD)]
    assert judge(met(locked, {LEAD: row()}), frozenset()) == (hours, LEAD)
