"""Log ends and corners: trimmed, spliced or rebuilt, by where the rot stops.

Amounts, ratios and lengths: common practice, no source. Dollars are those of the base book.
"""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.case import Case
from service.engine.method import Method
from service.engine.methods import notch, tails
from tests.engine.cases import make_case
from tests.engine.methods.readings import (
    bought,
    forbidden_by,
    gates,
    hours,
    money,
    named,
    same_everywhere,
    scope,
    tasks,
    too_much_by,
)

TRIM, SPLICE = (named(tails.METHODS, code) for code in ("end_trim_cap", "end_splice"))
REBUILD = named(notch.METHODS, "notch_rebuild")
ALL = (*tails.METHODS, *notch.METHODS)


def log_end(
    rot_in: float = 6.0, tail_in: float = 20.0, *, element: str = "log_tail", damage: str = "end_rot", count: int = 1,
    words: dict[str, str] | None = None, flags: dict[str, bool] | None = None, bears: tuple[str, ...] = (),
    many: bool = False, level: str = "visited", **facts: float,
) -> Case:
    """A 12 in log end past a corner."""
    numbers: dict[str, Any] = {
        "section": 12.0, "from_end": rot_in, "tail": tail_in, "moisture": 28.0, "depth": 6.0, "length": rot_in,
        "width": 10.0, "height": 0.0, "drip_line": 14.0, "clear_length": 42.0,
    } | facts
    return make_case(
        element, damage, count=count, words=words, flags=flags, bears=bears, many=many, level=level, **numbers
    )


@pytest.mark.parametrize(
    ("tail_in", "rot_in", "out"),
    [(22.0, 9.0, False), (18.0, 9.0, False), (18.0, 9.1, True), (18.0, 8.9, False), (17.0, 9.0, True)],
)
def test_a_trimmed_end_keeps_eight_inches_past_the_corner(tail_in: float, rot_in: float, out: bool) -> None:
    """22 in with 9 in of rot leave 12 in, 18 in leave 8 in: just passes."""
    assert ("G09" in forbidden_by(TRIM, log_end(rot_in, tail_in))) is out


@pytest.mark.parametrize(("tail_in", "out"), [(18.9, True), (19.0, False), (19.1, False)])
def test_a_thick_log_keeps_half_its_diameter(tail_in: float, out: bool) -> None:
    """20 in of log: 10 in have to stay past the notch."""
    assert ("G09" in forbidden_by(TRIM, log_end(8.0, tail_in, section=20.0))) is out


def test_an_end_that_carries_the_porch_is_spliced_under_an_engineer_and_never_trimmed() -> None:
    case = log_end(bears=("porch",))
    assert forbidden_by(TRIM, case) == ["G09"]
    assert not forbidden_by(SPLICE, case)
    work = scope(SPLICE, case)
    assert "lead.engineer_stamp" in work.leads
    assert bought(work, "end_splice.shoring") == 1.0
    assert "lead.engineer_stamp" not in scope(SPLICE, log_end()).leads


def test_protected_log_ends_keep_their_shape() -> None:
    case = log_end(words={"heritage": "registered"})
    assert forbidden_by(TRIM, case) == ["M09"]
    assert not forbidden_by(SPLICE, case)


@pytest.mark.parametrize(("rot_in", "splice_out"), [(17.9, False), (18.0, False), (18.1, True), (21.0, True)])
def test_a_splice_needs_two_inches_of_sound_tail_and_past_that_the_corner_is_rebuilt(
    rot_in: float, splice_out: bool
) -> None:
    case = log_end(rot_in, 20.0)
    assert ("G10" in forbidden_by(SPLICE, case)) is splice_out
    assert (too_much_by(REBUILD, case) == []) is splice_out


@pytest.mark.parametrize("case", [
    log_end(22.0, 20.0), log_end(4.0, 20.0, flags={"past_notch": True}), log_end(4.0, 20.0, damage="notch_rot"),
], ids=["longer_than_the_tail", "said", "notch_rot"])
def test_rot_that_runs_into_the_corner_is_neither_trimmed_nor_spliced(case: Case) -> None:
    assert "G09" in forbidden_by(TRIM, case)
    assert "G10" in forbidden_by(SPLICE, case)
    assert not gates(REBUILD, case).struck


def test_a_purlin_end_is_trimmed_only_where_it_is_ornament() -> None:
    plain = log_end(element="purlin")
    ornament = log_end(element="purlin", flags={"ornamental_only": True})
    assert "G09" in forbidden_by(TRIM, plain)
    assert not forbidden_by(TRIM, ornament)


def test_fourteen_ends_cost_what_the_trade_takes_and_a_fraction_of_fourteen_splices() -> None:
    case = log_end(count=14)
    trim = float(money(scope(TRIM, case)))
    assert 1300.0 <= trim <= 3600.0
    assert 0.12 <= trim / float(money(scope(SPLICE, case))) <= 0.32


def test_an_end_of_fourteen_costs_half_to_seven_eighths_of_a_single_one() -> None:
    fourteen = float(money(scope(TRIM, log_end(count=14)))) / 14.0
    assert 0.5 <= fourteen / float(money(scope(TRIM, log_end()))) <= 0.85


def test_the_first_end_takes_two_and_a_half_hours_in_all() -> None:
    assert hours(scope(TRIM, log_end())) == pytest.approx(2.5)


def test_a_twelve_inch_end_gets_four_rods_and_no_wood() -> None:
    work = scope(TRIM, log_end())
    assert bought(work, "borate_rod") == 4.0
    assert not work.needs


def test_a_new_end_is_no_longer_than_the_tail() -> None:
    assert float(scope(SPLICE, log_end(6.0, 20.0)).needs[0].length_in) == pytest.approx(20.0)
    assert float(scope(SPLICE, log_end(6.0, 60.0)).needs[0].length_in) == pytest.approx(6.0 + 1.0 + 24.0)


def test_a_rebuilt_corner_takes_four_to_six_feet_of_log_and_an_engineers_letter() -> None:
    work = scope(REBUILD, log_end(element="notch", damage="notch_rot", tail_in=18.0, rot_in=6.0))
    assert 48.0 <= float(work.needs[0].length_in) <= 72.0
    assert work.leads == ["lead.engineer_letter"]
    assert 42.0 <= hours(work) <= 46.0


def test_a_corner_under_a_plate_is_shored_by_a_stamped_design() -> None:
    case = log_end(element="notch", damage="notch_rot", bears=("plate",))
    assert scope(REBUILD, case).leads == ["lead.engineer_stamp"]


def test_two_ends_of_one_corner_are_shored_once() -> None:
    one, two = (scope(REBUILD, log_end(element="notch", damage="notch_rot", count=n)) for n in (1, 2))
    assert bought(two, "notch_rebuild.shoring") == bought(one, "notch_rebuild.shoring") == 1.0
    assert hours(two) < 2.0 * hours(one)


@pytest.mark.parametrize("method", ALL, ids=lambda m: m.code)
def test_shares_of_a_stage_add_up_and_somebody_looks_before_it_goes_on(method: Method) -> None:
    for bears in ((), ("porch",)):
        work = scope(method, log_end(bears=bears))
        assert sum(t.share for t in tasks(work)) == pytest.approx(1.0)
        assert any(t.hold for t in tasks(work))


@pytest.mark.parametrize("method", ALL, ids=lambda m: m.code)
def test_longer_rot_never_makes_an_end_cheaper(method: Method) -> None:
    prices = [float(money(scope(method, log_end(r)))) for r in (1.0, 4.0, 9.0, 15.0, 18.0, 22.0)]
    assert prices == sorted(prices)


@pytest.mark.parametrize("method", ALL, ids=lambda m: m.code)
@pytest.mark.parametrize("rot_in", [3.0, 9.0, 18.5, 22.0])
def test_a_case_with_nothing_unknown_reads_alike_in_one_world_and_in_many(method: Method, rot_in: float) -> None:
    plain, many = (log_end(rot_in, many=m, level="cut_out") for m in (False, True))
    assert same_everywhere(method, plain, many)
