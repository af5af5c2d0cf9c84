"""Days on the wire are written in one way."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.web.days import day_in
from service.web.limits import FIRST_DAY, LAST_DAY


@given(st.dates(FIRST_DAY, LAST_DAY))
def test_a_day_is_read_as_it_is_written(day: date) -> None:
    assert day_in(day.isoformat()) == day


@given(st.dates(FIRST_DAY, LAST_DAY))
def test_other_spellings_of_a_day_are_none(day: date) -> None:
    year, week, weekday = day.isocalendar()
    others = (f"{day:%Y%m%d}", f"{year}-W{week:02}-{weekday}", f"{day}T00:00:00", f" {day}", f"{day:%d.%m.%Y}", f"{day:%y-%m-%d}")
    assert [other for other in others if day_in(other) is not None] == []


@pytest.mark.parametrize("text", ["", "2026-02-30", "2026-13-01", "1999-12-31", "2100-01-01", "\u0662026-05-04"])
def test_what_no_calendar_has_or_no_request_may_name_is_none(text: str) -> None:
    assert day_in(text) is None
