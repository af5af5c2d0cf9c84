"""The year at the site, also where a region's climate knows no end of a season."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from types import MappingProxyType

from service.engine.rates import RateBook
from service.engine.season import days_until_snow_is_gone, days_until_warm, later
from tests.engine.books import book


def with_climate(**likely: str) -> RateBook:
    """The base book with other numbers in its climate; `__` stands for the point of a code."""
    plain = book()
    lines = dict(plain.lines)
    for name, number in likely.items():
        key = ("climate", name.replace("__", "."))
        lines[key] = replace(lines[key], low=Decimal(number), likely=Decimal(number), high=Decimal(number))
    return replace(plain, lines=MappingProxyType(lines))


def test_snow_goes_with_the_first_month_after_its_season() -> None:
    assert days_until_snow_is_gone(with_climate(snow__from_month="11", snow__to_month="3"), date(2026, 2, 10)) == 50
    assert days_until_snow_is_gone(with_climate(snow__from_month="11", snow__to_month="3"), date(2026, 7, 1)) == 0


def test_snow_that_lies_all_year_is_waited_for_a_year() -> None:
    assert days_until_snow_is_gone(with_climate(snow__from_month="1", snow__to_month="12"), date(2026, 2, 10)) == 365


def test_warmth_that_no_month_brings_is_waited_for_a_year() -> None:
    assert days_until_warm(book(), date(2026, 2, 10), 150.0) == 365
    assert 0 < days_until_warm(book(), date(2026, 2, 10), 50.0) < 365


def test_a_day_past_all_calendars_is_their_last() -> None:
    assert later(date(2026, 2, 10), 1.5) == date(2026, 2, 12)
    assert later(date(2026, 2, 10), 1e10) == date.max
