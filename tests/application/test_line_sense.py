"""Whatever numbers a draft lets a line have, quotes can be worked out with them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from random import Random
from types import MappingProxyType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.application.line_sense import nonsense
from service.engine.rates import Line, RateBook
from service.engine.survey import Survey
from tests.engine.baskets import basket
from tests.engine.books import book
from tests.engine.pricing_desk import priced

EXTREMES = [Decimal(n) for n in (
    "-1000000000", "-100", "-0.999999999", "0", "0.000000001", "0.0001", "0.01", "1", "10", "12", "90", "99", "100", "120", "150",
    "200", "520", "1000", "3650", "10000", "1000000", "1000000000",
)]
REGIONS = ("base", "kestrel-range", "heron-bayou", "sollavik")


def taken(line: Line) -> list[Decimal]:
    """The numbers, out of the extremes and the line's own, that a draft takes for it."""
    key = (line.section, line.code, line.unit)
    return sorted(n for n in [*EXTREMES, line.low, line.likely, line.high] if not list(nonsense(*key, n)))


def strange_book(seed: int, share: float) -> RateBook:
    """A book with a share of its lines at the ends of what they may be: by a seed, because there are hundreds."""
    plain, chance = book(), Random(seed)
    lines = dict(plain.lines)
    for key in sorted(lines):
        if chance.random() < share:
            low, likely, high = sorted(chance.choices(taken(lines[key]), k=3))
            lines[key] = replace(lines[key], low=low, likely=likely, high=high)
    return replace(plain, lines=MappingProxyType(lines))


@settings(max_examples=60, deadline=None)
@given(job=st.sampled_from(basket()), seed=st.integers(0, 2**32), share=st.sampled_from([0.02, 0.2, 1.0]))
@pytest.mark.filterwarnings("ignore::RuntimeWarning")  # prices of a billion have no sensible range
def test_no_book_that_can_be_published_makes_a_quote_fail(job: Survey, seed: int, share: float) -> None:
    answer = priced(job, strange_book(seed, share))
    assert answer.defects[0].findings


@pytest.mark.parametrize("region", REGIONS)
def test_every_number_of_the_books_that_are_shipped_makes_sense(region: str) -> None:
    for (section, code), line in book(region).lines.items():
        for number in (line.low, line.likely, line.high):
            assert not list(nonsense(section, code, line.unit, number)), (section, code)


@pytest.mark.parametrize(("section", "code", "unit", "number", "reason"), [
    ("climate", "rh.month01", "%", "100", "must not be above 99."),
    ("climate", "snow.from_month", "each", "13", "must be a month, a whole number from 1 to 12, or 0 for none."),
    ("climate", "snow.from_month", "each", "4.5", "must be a month, a whole number from 1 to 12, or 0 for none."),
    ("climate", "temp.month01", "degF", "-101", "must not be below -100."),
    ("terms", "crew_day_step", "d", "0", "must be at least 0.0001, because something is divided by it."),
    ("terms", "markup.labour", "fraction", "-1", "must be above -1."),
    ("terms", "discount_rate", "fraction", "-0.01", "must not be below zero."),
    ("lives", "dutchman.corrected", "yr", "0", "must be at least 0.01, because something is divided by it."),
    ("norms", "stain.coverage", "ft2/gal", "0", "must be at least 0.0001, because something is divided by it."),
    ("norms", "rechink.per_ft", "h/ft", "10001", "must not be above 10000."),
    ("resources", "lead", "h", "-1", "must not be below zero."),
    ("resources", "lead", "h", "1000000001", "must not be above 1000000000."),
])
def test_what_a_number_cannot_be_is_said(section: str, code: str, unit: str, number: str, reason: str) -> None:
    assert [why for _, why in nonsense(section, code, unit, Decimal(number))] == [reason]


@pytest.mark.parametrize(("section", "code", "unit", "number"), [
    ("climate", "snow.from_month", "each", "0"), ("climate", "temp.month01", "degF", "-40"), ("norms", "fixed", "h", "0"),
    ("terms", "markup.labour", "fraction", "-0.1"), ("resources", "lead", "h", "0"), ("waits", "wood.log", "wk", "0"),
])
def test_what_is_rare_but_can_be_is_taken(section: str, code: str, unit: str, number: str) -> None:
    assert not list(nonsense(section, code, unit, Decimal(number)))
