"""The working calendar: people rest on weekends and holidays, cures do not."""

from __future__ import annotations

from datetime import date

import pytest

from service.engine.calendar import WorkCalendar

THURSDAY = date(2026, 7, 2)
OBSERVED = date(2026, 7, 3)
"""4 July 2026 is a Saturday; the holiday is observed on Friday the 3rd (5 U.S.C. 6103(b)(1))."""


def calendar(first: date = THURSDAY, lost: float = 0.0) -> WorkCalendar:
    return WorkCalendar(first, frozenset({OBSERVED}), lost)


def test_nobody_works_on_a_holiday_that_is_observed_on_the_friday_before() -> None:
    assert [calendar().works(day) for day in range(5)] == [True, False, False, False, True]


def test_work_that_would_begin_on_the_holiday_begins_on_monday() -> None:
    assert calendar().next_start(1.25) == 4.0
    assert calendar().date_of(4.5) == date(2026, 7, 6)


def test_two_days_of_work_from_thursday_end_on_monday_evening() -> None:
    assert calendar().after_work(0.0, 2.0) == 5.0
    assert calendar().date_of(5.0) == date(2026, 7, 6)


def test_work_of_part_of_a_day_ends_within_it() -> None:
    assert calendar().after_work(0.25, 0.5) == 0.75


def test_work_of_one_day_that_starts_at_noon_runs_over_the_weekend() -> None:
    assert calendar().after_work(0.5, 1.0) == 4.5


def test_a_weekend_without_a_holiday_takes_two_days() -> None:
    plain = WorkCalendar(date(2026, 6, 19), frozenset(), 0.0)
    assert plain.after_work(0.0, 2.0) == 4.0


def test_rain_stretches_work_by_what_it_takes_from_each_day() -> None:
    assert calendar(date(2026, 7, 6), lost=0.5).after_work(0.0, 1.0) == pytest.approx(2.0)


def test_day_nought_is_the_day_of_the_prices() -> None:
    assert calendar().date_of(0.0) == THURSDAY
    assert calendar().date_of(1.0) == THURSDAY
    assert calendar().date_of(1.01) == OBSERVED



def test_work_of_decades_is_counted_in_weeks_beyond_the_known_holidays() -> None:
    """A list of hundreds of defects on one crew takes longer than anybody publishes holidays for; it has an end all the same."""
    calendar = WorkCalendar(date(2026, 6, 15), frozenset({date(2026, 7, 3)}), 0.0)
    start = calendar.after_work(0.0, 100.0)

    assert calendar.after_work(start, 5000.0) == pytest.approx(start + 7000.0, abs=3.0)
    assert calendar.works(int(calendar.after_work(start, 5000.5)))


def test_what_is_never_over_ends_on_the_last_day_of_all_calendars() -> None:
    assert calendar().date_of(1e12) == date.max
    assert calendar().date_of(calendar().after_work(0.0, 1e9)) == date.max
