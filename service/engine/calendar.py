"""The working calendar: people work on weekdays that are no holiday, cures and drying run on every day."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

from service.engine.rates import RateBook

FAR = 260.0
"""Crew-days from which work is counted in weeks; a year of them [d]."""


@dataclass(frozen=True, slots=True)
class WorkCalendar:
    """Days counted from `first`, which is day 0.

    Attributes:
        holidays: days on which nobody works.
        lost: share of a working day that weather takes from outdoor work.
    """

    first: date
    holidays: frozenset[date]
    lost: float

    @classmethod
    def of(cls, book: RateBook, first: date) -> WorkCalendar:
        """Calendar of a region: its holidays, and what rain takes in the month of the start."""
        rain = book.likely("climate", f"rain_days.month{first.month:02d}") / 30.0
        return cls(first, book.holidays, min(rain * book.likely("waits", "weather.lost_share"), 0.9))

    def works(self, day: int) -> bool:
        """Whether people work on that day."""
        if (self.first.weekday() + day) % 7 >= 5:
            return False
        return not self.holidays or self._day(day) not in self.holidays

    def next_start(self, t: float) -> float:
        """The first moment at or after t at which people work."""
        day = math.floor(t)
        if self.works(day):
            return t
        while not self.works(day := day + 1):
            pass
        return float(day)

    def after_work(self, t: float, days: float) -> float:
        """When work of so many crew-days is over that starts at t."""
        left = days / (1.0 - self.lost)
        now = self.next_start(t)
        last = max(((day - self.first).days for day in self.holidays), default=0) if left > FAR else 0
        while left > 1e-9:
            now = self.next_start(now)
            if left > FAR and now > last:  # no holidays are known from here on: seven days hold five of work
                weeks = left // 5.0 - 1.0
                now, left = now + 7.0 * weeks, left - 5.0 * weeks
                continue
            free = math.floor(now) + 1.0 - now
            used = min(free, left)
            left -= used
            now += used
        return now

    def date_of(self, t: float) -> date:
        """The date on which a moment falls; the end of a day belongs to that day."""
        return self._day(max(math.ceil(t - 1e-9) - 1, 0) if t > 0 else 0)

    def _day(self, number: int) -> date:
        """The date of a day; past all calendars their last one."""
        return self.first + timedelta(days=min(number, (date.max - self.first).days))
