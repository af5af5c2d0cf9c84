"""At most three questions: missing facts that can change the first plan, move its price, or touch safety.

What a question narrows is the share of the whole range that its answer would remove on average: the variance that goes with
the fact, against the variance of the whole price of whatever is first, over the facts that nobody knows and over the
prices and norms that spread in every world. What is left when all questions are answered is the spread of prices and norms.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from service.engine.array import any_of, truth_a_world
from service.engine.inquiry import Inquiry
from service.engine.option import Uncertain, conditional_spread, whole_of
from service.engine.outcome import Question
from service.engine.score import priced_amount
from service.engine.worlds import unknown_axes
from service.engine.worth import Column, changes_first, price_swing, ranked, share_of_facts, shares_of

LOADS = frozenset({"load", "line_load"})
"""Two ways of saying what rests on a member: one of them is enough."""
MOVES_PRICE = 0.20
"""A fact that moves the price by more than this is worth asking for (A4)."""
TELLS = 0.05
"""Share of the whole range below which a swing of the price is chance among the worlds and not this fact (J)."""
NOT_ASKED = frozenset({"growth_depth", "growth_length", "hazard_lead", "hazard_other", "cause"})
"""Axes that no answer can settle: hidden growth, and what only a laboratory tells."""


def outcome_of(inquiry: Inquiry) -> NDArray[np.float64]:
    """Price (without shared costs) of whatever stands first in each world."""
    price = np.zeros(inquiry.worlds)
    for k, one in enumerate(inquiry.found):
        here = inquiry.first == k
        if one.many is None or not any_of(here):
            continue
        price = np.where(here, priced_amount(one.many), price)
    return price


def _answers(inquiry: Inquiry) -> Iterator[tuple[str, Column]]:
    """What the answer to each missing fact would be in each world: its coordinate, or 1 for yes and 0 for no."""
    for axis, column in unknown_axes(inquiry.draw):
        if axis == "inner_face":
            yield axis, truth_a_world(inquiry.many.inner_soft, inquiry.worlds).astype(np.float64)
        else:
            yield axis, column


def whole_of_first(inquiry: Inquiry, conditional: Sequence[Uncertain]) -> tuple[Column, Column]:
    """Mean and variance, from prices and norms, of the whole price of whatever stands first in each world.

    Args:
        inquiry: of the group.
        conditional: costs that come in some worlds only, on top of any plan.
    """
    mean, variance = np.zeros(inquiry.worlds), np.zeros(inquiry.worlds)
    more = conditional_spread(conditional, inquiry.many.book)
    for k, one in enumerate(inquiry.found):
        here = inquiry.first == k
        if one.many is not None and any_of(here):
            its_mean, its_variance = whole_of(one, inquiry.setting).and_more(more).moments(inquiry.worlds)
            mean, variance = np.where(here, its_mean, mean), np.where(here, its_variance, variance)
    return mean, variance


def questions_of(inquiry: Inquiry, conditional: Sequence[Uncertain], most: int) -> tuple[Question, ...]:
    """The facts worth asking for, most telling first, with the share of the whole range that each would remove.

    Args:
        inquiry: of the group.
        conditional: costs that come in some worlds only, on top of any plan.
        most: questions at most.
    """
    stands = inquiry.first >= 0
    columns = {axis: column[stands] for axis, column in _answers(inquiry)}
    price, first = outcome_of(inquiry)[stands], inquiry.first[stands]
    mean, within = (column[stands] for column in whole_of_first(inquiry, conditional))
    shares = shares_of(mean, columns)
    of_facts = share_of_facts(mean, within)
    contested = any_of(first != first[0]) if first.size else False
    reasons: dict[str, str] = {}
    for axis, column in columns.items():
        if axis in NOT_ASKED or axis not in inquiry.setting.knowledge.facts or not shares:
            continue
        if contested and changes_first(first, column):
            reasons[axis] = "it can change which plan is first"
        elif shares.get(axis, 0.0) * of_facts >= TELLS and price_swing(price, column) > MOVES_PRICE:
            reasons[axis] = "it moves the price by more than a fifth"
    facts, element = inquiry.setting.knowledge.facts, inquiry.stated.element
    picked = [
        Question(name, facts[name].asked_of(element), round(share * of_facts, 2), reasons[name])
        for name, share in ranked(shares, list(reasons), most)
    ]
    safety = _safety(inquiry, {q.fact for q in picked})
    if safety:
        picked = [*picked[: most - 1], *safety][:most]
    return tuple(picked)


def _safety(inquiry: Inquiry, asked: set[str]) -> list[Question]:
    """Missing facts that settle such damage or touch safety for this member; the first keeps a place among the three."""
    stated, facts = inquiry.stated, inquiry.setting.knowledge.facts
    missing = [
        Question(name, facts[name].asked_of(stated.element), 0.0, "it can change which plan is first")
        for name in stated.damage.questions
        if name not in asked and not _said(inquiry, name)
    ]
    for name in (*stated.element.questions, "year_built"):
        record = facts.get(name)
        if record is None or not record.safety or name in asked or _said(inquiry, name):
            continue
        missing.append(Question(name, record.asked_of(stated.element), 0.0, "it touches safety"))
    return missing[:1]


def _said(inquiry: Inquiry, name: str) -> bool:
    stated = inquiry.stated
    return (
        name in stated.known
        or (name in LOADS and bool(LOADS & stated.known))
        or bool(stated.words.get(name))
        or name in stated.flags
        or (name == "year_built" and stated.year_built is not None)
        or (name == "bears" and bool(stated.bears))
    )
