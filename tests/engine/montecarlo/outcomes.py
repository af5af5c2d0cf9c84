"""Runs the whole choice of method in each drawn world, and gathers what a range has to agree with."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from service.engine.case import Case
from service.engine.causes import causes_of, declined, most_likely_unreported, to_price, waits
from service.engine.cautions import hazard_conditionals
from service.engine.choice import Candidate, candidates, compose_stated, order, settle
from service.engine.knowledge import Knowledge
from service.engine.method import Method
from service.engine.outcome import Conditional
from service.engine.plan import Setting
from service.engine.rates import RateBook
from service.engine.survey import Survey
from service.engine.urgency import urgency_of
from service.engine.words import Words
from service.engine.worlds import Draw, Facts, build_case, groups_of
from tests.engine.montecarlo.drawing import Column, FactDraws, drawn_books


@dataclass(slots=True)
class Outcomes:
    """What became of every method in the drawn worlds.

    Attributes:
        holds: method -> in which worlds nothing forbids it.
        package, whole: method -> its price in the worlds where it holds, NaN elsewhere.
        first: method that is first in each world, "" where none stands.
        paid: its whole price, NaN where none stands.
        seen: facts of each world as they would be seen, before anything grows.
    """

    worlds: int
    holds: dict[str, NDArray[np.bool_]] = field(default_factory=dict)
    package: dict[str, Column] = field(default_factory=dict)
    whole: dict[str, Column] = field(default_factory=dict)
    first: list[str] = field(default_factory=list)
    paid: list[float] = field(default_factory=list)
    seen: Mapping[str, Column] = field(default_factory=dict)

    def share_held(self, method: str) -> float:
        """Share of the worlds in which a method holds."""
        return float(self.holds[method].mean())

    def share_first(self, method: str) -> float:
        """Share of the worlds in which a method is first."""
        return self.first.count(method) / self.worlds


def drawn(
    survey: Survey, book: RateBook, knowledge: Knowledge, registry: Mapping[str, Method], watched: Sequence[str],
    *, count: int, seed: int, held: Mapping[str, Column] | None = None,
) -> Outcomes:
    """Draw worlds and choose in each of them; the methods in `watched` are priced wherever they hold, others where first.

    A fact that is `held` has these values, a world each, whatever the seed.
    """
    rng = np.random.default_rng(seed)
    facts = FactDraws(survey, book, knowledge, count, rng, held)
    said = _case(survey, book, knowledge).known
    hazard, cause = rng.random(count), rng.random(count)
    result = Outcomes(
        count, {m: np.zeros(count, np.bool_) for m in watched}, {m: np.full(count, np.nan) for m in watched},
        {m: np.full(count, np.nan) for m in watched}, seen=facts.seen,
    )
    worlds = zip(facts.worlds(), drawn_books(book, count, rng), strict=True)
    for k, (world, rates) in enumerate(worlds):
        case = _case(world, rates, knowledge)
        case.known = said  # what was said stays what was said; only the world differs
        first, found = _choose(case, world, knowledge, registry, watched)
        result.first.append(first.code if first else "")
        result.paid.append(np.nan)
        for one, extras in found:
            conditional = sum(
                float(e.price) for e in extras if (cause if e.code.startswith("K") else hazard)[k] < e.probability
            )
            whole = _amount(one, ()) + _rules(one) + conditional
            if one is first:
                result.paid[k] = whole
            if one.code in result.holds:
                result.holds[one.code][k] = True
                result.package[one.code][k] = _amount(one, ("package",))
                result.whole[one.code][k] = whole
    return result


def _case(survey: Survey, book: RateBook, knowledge: Knowledge) -> Case:
    """The one piece of a survey in its world as stated."""
    defect = survey.defects[0]
    facts = Facts(survey, defect, groups_of(defect)[0], book, knowledge, Draw(None))
    return build_case(facts, batch=defect.count, adjacent_courses=1)


def _choose(
    case: Case, survey: Survey, knowledge: Knowledge, registry: Mapping[str, Method], watched: Sequence[str]
) -> tuple[Candidate | None, list[tuple[Candidate, list[Conditional]]]]:
    """The first plan of one world; it and every watched method that holds in it, with its conditional costs."""
    causes = causes_of(case, knowledge)
    setting = Setting(
        knowledge=knowledge, registry=registry, words=Words(survey.units), urgency=urgency_of(case)[0],
        causes=to_price(causes), by_others=tuple(waits(causes, survey.priced_on)), latest_days=None, all_causes=causes,
    )
    found = candidates(case, setting, corrected=not declined(causes))
    settle(found)
    held = [c for c in found if c.code in watched and not c.gates.forbidden]
    for one in found:
        if one.offered or one in held:
            compose_stated(case, one, setting)
    ranked = order([c for c in found if c.offered], look_matters=case.flags.get("look_matters", True))
    likely = most_likely_unreported(causes, case)
    more = [likely] if likely is not None else []
    priced = [*held, *(c for c in ranked[:1] if c not in held)]
    return (ranked[0] if ranked else None), [
        (c, [*hazard_conditionals(case, _labour(c), case.book), *more]) for c in priced
    ]


def _labour(one: Candidate) -> Decimal:
    assert one.stated is not None
    book = one.stated.case.book
    return Decimal(
        sum(
            float(c.amount)
            for c in one.stated.charges
            if c.part == "package" and book.line("resources", c.resource).kind == "labour"
        )
    )


def _amount(one: Candidate, parts: Sequence[str]) -> float:
    """Sum of the charges of these parts, of all where none is named."""
    assert one.stated is not None
    return sum(float(c.amount) for c in one.stated.charges if not parts or c.part in parts)


def _rules(one: Candidate) -> float:
    """What is a rule and not a purchase, without the contingency (R18)."""
    return sum(float(f.amount) for f in one.fixed if f.part != "contingency")
