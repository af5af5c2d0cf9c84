"""Old coatings, dips, putty and deck wood: tested where the year says so, conditional where nobody knows (G20, R16)."""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from service.engine.case import Case, once_a_case
from service.engine.modifiers import LEAD_PAINT_BEFORE
from service.engine.outcome import Conditional
from service.engine.pricing import cents
from service.engine.rates import RateBook
from service.engine.work import Work

PENTA_BEFORE = 1988
"""Logs dipped or brushed on houses built before this year are tested (G20; from memory)."""
ASBESTOS_BEFORE = 1980
"""Putty, mastic, felt and mineral chinking put in before this year are tested (G20; from memory)."""
ARSENIC_BEFORE = 2004
"""Deck and stair wood put in before this year may hold arsenic (G20; from memory)."""
COATED = ("paint", "solid", "film", "")
"""Finishes that may be an old coating; not said counts as may be."""
OUTSIDE = ("deck", "stair", "guard")
LAB_DONE_BY = {"penta": "hazard_lab_test", "asbestos": "hazard_lab_test", "lead": "lead_test"}


class Hazard(NamedTuple):
    """A hazard that may lie in a member. `known`: the year says it is there; else nobody knows."""

    code: str
    what: str
    known: bool


BEFORE = {"lead": LEAD_PAINT_BEFORE, "penta": PENTA_BEFORE, "asbestos": ASBESTOS_BEFORE, "arsenic": ARSENIC_BEFORE}


def old_enough(case: Case, hazard: str) -> bool:
    """Whether the house may be from before the year of a hazard; nobody knowing counts as may be (R16)."""
    return case.year_built is None or case.year_built < BEFORE[hazard]


def hazards_of(case: Case) -> tuple[Hazard, ...]:
    """Hazards that may lie in this member: known by the year, or open because nobody said."""
    return case.once("hazards", _hazards)


def _hazards(case: Case) -> tuple[Hazard, ...]:
    found = []
    for code, holds, sure, what in (
        ("lead", _coated(case), bool(case.word("finish")), "old coating with lead"),
        ("penta", _maybe_dipped(case), case.flag("treated_before"), "old dip with penta or arsenic"),
        ("asbestos", _old_joint(case), True, "asbestos in old putty, felt or chinking"),
        ("arsenic", case.element.family in OUTSIDE, True, "arsenic in old treated wood"),
    ):
        if holds and old_enough(case, code):
            found.append(Hazard(code, what, case.year_built is not None and sure))
    return tuple(found)


def _coated(case: Case) -> bool:
    return case.word("finish") in COATED


def _maybe_dipped(case: Case) -> bool:
    """Logs outdoors; treated before counts, and so does nobody knowing."""
    log = case.element.round_by_default and case.element.family not in ("stair", "guard")
    return log and case.flags.get("treated_before", True)


def _old_joint(case: Case) -> bool:
    """Putty of a window, mastic and mineral chinking of a joint, felt under a roof."""
    if case.element.family in ("frame", "seal", "roof_deck"):
        return True
    return case.word("wall_system") == "chinked" and case.heritage


@once_a_case
def laboratory_tests(case: Case) -> tuple[str, ...]:
    """Laboratory tests that the year asks for, each once; none for arsenic, whose handling is the same either way."""
    rows = [LAB_DONE_BY[h.code] for h in hazards_of(case) if h.known and h.code in LAB_DONE_BY]
    return tuple(dict.fromkeys(rows))


def disturbs(role: str, work: Work) -> bool:
    """Whether a plan cuts, strips or drills what may hold a hazard: watching, shores and covers leave it alone (J)."""
    return role != "interim" and any(stage.parts for stage in work.stages if stage.phase in ("main", "finish"))


def hazard_charges(work: Work) -> None:
    """Tests of known hazards, once, before anything is cut; containment is in the hours (D7)."""
    if not work.stages:
        return
    for resource in laboratory_tests(work.case):
        work.buy(resource, once=True)
        work.lead("lead.lab")


def hazard_conditionals(case: Case, package_labour: Decimal, book: RateBook) -> tuple[Conditional, ...]:
    """What unknown hazards would cost if they are there, outside the sum (R16).

    Args:
        case: in the world as stated.
        package_labour: labour of the package, to which containment adds.
        book: for tests, containment and probabilities.
    """
    found = []
    for one in hazards_of(case):
        if one.known:
            continue
        price = Decimal(0)
        if one.code in LAB_DONE_BY:
            row = book.line("resources", LAB_DONE_BY[one.code])
            price += row.likely * (1 + book.markup(row))
        if one.code == "lead":
            price += package_labour * (book.line("norms", "factor.lead").likely - 1)
        if price > 0:
            chance = book.likely("terms", f"probability.{one.code}")
            found.append(Conditional(one.code, f"If there is {one.what}: test and containment", cents(price), chance))
    return tuple(found)
