"""What a question claims to be worth is what its answer does: the fact is fixed at its 10, 50 and 90 % points.

The price is drawn again with the fact known, at each of the three points. What the three mean prices vary among each
other (Swanson's rule: weights of 30, 40 and 30 % on them; Hurst, Brown and Swanson, AAPG Bulletin 84, 2000; from memory)
against the variance with the fact unknown is the share that the answer removes. Three points of a curve with steps in it
are a rough measure: 0.2 is allowed, and the order has to agree where the measured shares lie further apart than that.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from service.engine.outcome import Question
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import Span, Survey
from tests.engine.books import book
from tests.engine.cases import knowledge, make_defect, make_survey
from tests.engine.montecarlo.drawing import Column, FactDraws
from tests.engine.montecarlo.outcomes import drawn
from tests.engine.montecarlo.surveys import HOUSE, SURVEYS

DRAWS, SEED, ROUGHLY = 400, 8, 0.20
SWANSON = ((10, 0.3), (50, 0.4), (90, 0.3))

ASKED = {
    "a sill probed here and there": SURVEYS["a sill"],
    "a sill that nobody probed": make_survey(
        make_defect("sill_log", "band", section=12.0, clear_length=288.0, height=0.7, words={"inner_face": "sound"}),
        house=HOUSE,
    ),
}


def _prices(survey: Survey) -> Column:
    """Whole price of whatever is first, in drawn worlds at the prices of the book."""
    methods = sorted(all_methods())
    outcomes = drawn(survey, book(), knowledge(), all_methods(), methods, count=DRAWS, seed=SEED, prices=False)
    prices = outcomes.price_of_first()
    return prices[~np.isnan(prices)]


def _points(survey: Survey, fact: str) -> list[float]:
    """10, 50 and 90 % points of a fact as it is drawn, before anything has grown."""
    seen = replace(survey, level="cut_out")
    facts = FactDraws(seen, book(), knowledge(), 4000, np.random.default_rng(SEED))
    return [float(np.percentile(facts.numbers[fact], p)) for p, _ in SWANSON]


def _fixed(survey: Survey, fact: str, value: float) -> Survey:
    defect = survey.defects[0]
    return replace(survey, defects=(replace(defect, numbers={**defect.numbers, fact: (Span(value, value),)}),))


def _removed(survey: Survey, fact: str) -> float:
    """Share of the variance of the price that goes when the fact is known."""
    means = np.array([_prices(_fixed(survey, fact, v)).mean() for v in _points(survey, fact)])
    weights = np.array([w for _, w in SWANSON])
    middle = float(means @ weights)
    return float(weights @ (means - middle) ** 2) / float(_prices(survey).var())


def _questions(survey: Survey) -> list[Question]:
    findings = quote(survey, book(), knowledge(), all_methods()).defects[0].findings[0]
    return [q for q in findings.questions if q.narrows > 0.0]


@pytest.mark.parametrize("name", ASKED)
def test_a_question_is_worth_what_its_answer_removes(name: str) -> None:
    survey = ASKED[name]
    questions = _questions(survey)
    assert questions, "something is worth asking for"
    removed = {q.fact: _removed(survey, q.fact) for q in questions}
    for question in questions:
        assert question.narrows == pytest.approx(removed[question.fact], abs=ROUGHLY), question.fact
    for one, other in pairwise(questions):
        assert removed[other.fact] <= removed[one.fact] + ROUGHLY, f"{one.fact} is asked for before {other.fact}"
