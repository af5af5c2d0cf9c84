"""A line of the book that moves by a tenth moves the plans that use it, and no other plan."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import lru_cache

import pytest

from service.engine.choice import Candidate
from service.engine.findings import inquire
from service.engine.rates import RateBook
from service.engine.registry import all_methods
from service.engine.worlds import groups_of
from tests.engine.baskets import looked_into
from tests.engine.books import book, with_line
from tests.engine.cases import knowledge, make_defect, make_survey

Key = tuple[int, str, bool]
METHODS = tuple(all_methods())
RESOURCES = (
    "lead", "carpenter", "helper", "borate_rod", "epoxy_paste", "slab_dry", "log_dry_10_12", "scaffold_rent", "mobilisation",
    "truck_mile", "cause.k02", "clear_quarter_sawn",
)


def plans(rates: RateBook) -> dict[Key, Candidate]:
    """All plans that the basket is offered: case, method, heated or not."""
    return {(k, one.code, one.heated): one for k, inquiry in looked_into(rates) for one in inquiry.ranked}


@lru_cache(maxsize=1)
def plain() -> dict[Key, Candidate]:
    """The plans from the base book."""
    return plans(book())


def amounts(one: Candidate) -> list[float]:
    """Amounts of all charges."""
    assert one.stated is not None
    return [float(c.amount) for c in one.stated.charges]


def charged(one: Candidate) -> Iterator[tuple[str, str | None]]:
    """Resource and norm of everything that a plan pays for."""
    assert one.stated is not None
    for charge in one.stated.charges:
        if float(charge.units) * float(charge.factor) > 0.0:
            yield charge.resource, charge.norm


def assert_moves(section: str, code: str, uses: Callable[[Candidate], bool]) -> None:
    """Exactly the plans that use a line move with it."""
    before, after = plain(), plans(with_line(book(), section, code, 1.1))
    assert before.keys() == after.keys()
    moved = {k for k in before if amounts(before[k]) != amounts(after[k]) or before[k].total != after[k].total}
    used = {k for k in before if uses(before[k])}
    assert used, f"no plan of the basket uses {section}/{code}"
    assert moved == used


def own_line(method: str) -> tuple[str, str]:
    """Section and code of the first line that a plan of the basket pays for a method: its hours, or its lump."""
    norms = [n for one in plain().values() for _, n in charged(one) if n and n.startswith(f"{method}.")]
    if norms:
        return "norms", norms[0]
    lumps = [r for one in plain().values() for r in _bought_in(one, method)]
    assert lumps, f"no plan of the basket pays anything for {method}"
    return "resources", lumps[0]


def _bought_in(one: Candidate, method: str) -> Iterator[str]:
    assert one.stated is not None
    stages = one.stated.stages
    for charge in one.stated.charges:
        if charge.stage < len(stages) and stages[charge.stage].method == method and float(charge.amount) > 0.0:
            yield charge.resource


def test_the_basket_brings_out_every_method() -> None:
    seen = {one.code for one in plain().values()}
    for one in plain().values():
        assert one.stated is not None
        seen |= {stage.method for stage in one.stated.stages}
        seen |= {norm.split(".")[0] for _, norm in charged(one) if norm}
    assert set(METHODS) - seen == set()


@pytest.mark.parametrize("method", METHODS)
def test_a_line_of_a_method_moves_exactly_the_plans_in_which_it_is_done(method: str) -> None:
    section, code = own_line(method)
    assert_moves(section, code, lambda one: any(code in line for line in charged(one)))


@pytest.mark.parametrize("code", RESOURCES)
def test_a_price_moves_exactly_the_plans_that_buy_it(code: str) -> None:
    assert_moves("resources", code, lambda one: any(resource == code for resource, _ in charged(one)))


@pytest.mark.parametrize("row", ["face_veneer", "epoxy_fill", "sill_needle", "rechink"])
def test_a_life_moves_exactly_the_plans_of_its_method(row: str) -> None:
    def lives_by(one: Candidate) -> bool:
        assert one.stated is not None
        return one.method.life_row(one.stated.case) == row

    assert_moves("lives", f"{row}.corrected", lives_by)


@pytest.mark.parametrize("row", ["lead.slab_dry", "lead.engineer_letter"])
def test_a_lead_moves_exactly_the_plans_that_wait_for_it(row: str) -> None:
    """Only waits are compared: a longer lead may also rent a shore for longer."""
    def waits(one: Candidate) -> list[float]:
        assert one.decisions is not None
        return [lead.days for lead in one.decisions.leads]

    def asks_for(one: Candidate) -> bool:
        assert one.stated is not None
        slab = row == "lead.slab_dry" and any(n.form == "slab" for n in one.stated.needs)
        return slab or row in one.stated.leads

    before, after = plain(), plans(with_line(book(), "waits", row, 1.1))
    moved = {k for k in before if waits(before[k]) != waits(after[k])}
    assert moved == {k for k in before if asks_for(before[k])}
    assert moved


@pytest.mark.parametrize("element", sorted(knowledge().elements))
def test_a_wage_moves_exactly_the_plans_of_a_member_that_pay_it(element: str) -> None:
    family = knowledge().elements[element].family
    damage = next(c for c in ("soft_wood", "seal_fail_adh") if family in knowledge().damages[c].families)
    defect = make_defect(element, damage)

    def offered(rates: RateBook) -> dict[tuple[str, bool], Candidate]:
        found = inquire(
            make_survey(defect), defect, groups_of(defect)[0], rates, knowledge(), all_methods(), adjacent_courses=1
        )
        return {(c.code, c.heated): c for c in found.ranked}

    before, after = offered(book()), offered(with_line(book(), "resources", "carpenter", 1.1))
    assert before.keys() == after.keys()
    moved = {k for k in before if amounts(before[k]) != amounts(after[k])}
    assert moved == {k for k in before if any(r == "carpenter" for r, _ in charged(before[k]))}
