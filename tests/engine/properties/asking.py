"""Ask the engine, and read its answers, in the words of the properties."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from hypothesis import HealthCheck, settings

from service.engine.method import Method
from service.engine.outcome import Answer, Findings, Option
from service.engine.quote import quote
from service.engine.rates import RateBook
from service.engine.registry import all_methods
from service.engine.survey import Defect, Span, Survey
from tests.engine.books import book
from tests.engine.cases import knowledge


@lru_cache(maxsize=1)
def registry() -> dict[str, Method]:
    """All methods, once."""
    return all_methods()


def ask(survey: Survey, rates: RateBook | None = None) -> Answer:
    """The answer of the engine from the base book, or from another."""
    return quote(survey, rates or book(), knowledge(), registry())


def tries(examples: int) -> settings:
    """So many examples, each as slow as it likes; a failure prints what it takes to run it again."""
    slow = (HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much, HealthCheck.large_base_example)
    return settings(
        max_examples=examples, deadline=None, derandomize=settings().derandomize, print_blob=True,
        suppress_health_check=slow, database=None,
    )


def findings(answer: Answer) -> Iterator[Findings]:
    """Findings of all groups of all defects."""
    for defect in answer.defects:
        yield from defect.findings


def options(answer: Answer) -> Iterator[Option]:
    """All options of an answer."""
    for found in findings(answer):
        yield from found.options


def by_plan(found: Findings) -> dict[tuple[str, str], Option]:
    """Options by method and variant."""
    return {(o.method, o.variant): o for o in found.options}


def single(survey: Survey) -> Defect:
    """The only defect of a survey."""
    (defect,) = survey.defects
    return defect


def with_defect(survey: Survey, defect: Defect) -> Survey:
    """The same survey with another defect in place of the only one."""
    return replace(survey, defects=(replace(defect, index=0),))


def stating(defect: Defect, **numbers: float) -> Defect:
    """The same defect with these numbers stated."""
    return replace(defect, numbers={**defect.numbers, **{n: (Span(v, v),) for n, v in numbers.items()}})
