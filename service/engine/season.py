"""The year at the site: temperatures, rain, snow and the moisture that wood comes to, from the climate of the book."""

from __future__ import annotations

from datetime import date, timedelta

from service.engine.rates import RateBook
from service.engine.science.decay_climate import scheffer_index
from service.engine.science.moisture import equilibrium_moisture_pct

MONTHS = tuple(range(1, 13))
DAYS_A_YEAR = 365


def _month_row(book: RateBook, name: str, month: int) -> float:
    return book.likely("climate", f"{name}.month{month:02d}")


def mean_degf(book: RateBook, month: int) -> float:
    """Mean air temperature of a month [degF]; wood in the shade follows it."""
    return _month_row(book, "temp", month)


def cold_degf(book: RateBook, month: int) -> float:
    """Lowest temperature that sheltered wood usually has in a month [degF]: half way between mean and night low (J)."""
    line = book.line("climate", f"temp.month{month:02d}")
    return (float(line.likely) + float(line.low)) / 2.0


def outdoor_equilibrium_pct(book: RateBook) -> float:
    """Moisture that sheltered wood outdoors comes to over the year [%] (Wood Handbook eq. 4-5 on monthly means)."""
    return book.once("outdoor_equilibrium", _equilibrium_over_the_year)


def _equilibrium_over_the_year(book: RateBook) -> float:
    values = [
        equilibrium_moisture_pct(mean_degf(book, m), _month_row(book, "rh", m) / 100.0) for m in MONTHS
    ]
    return float(sum(values) / len(values))


def decay_index(book: RateBook) -> float:
    """Climate index of decay of the region (Scheffer 1971, degF form)."""
    return float(
        scheffer_index([mean_degf(book, m) for m in MONTHS], [_month_row(book, "rain_days", m) for m in MONTHS])
    )


def days_until_warm(book: RateBook, day: date, least_degf: float) -> int:
    """Days from `day` until the first month in which wood stays at `least_degf` or warmer; 0 where it does in this one.

    A year where no month of the region is that warm: then only heating helps.
    """
    for ahead in range(13):
        month = (day.month - 1 + ahead) % 12 + 1
        if cold_degf(book, month) >= least_degf:
            return 0 if ahead == 0 else (_first_of(day, ahead) - day).days
    return DAYS_A_YEAR


def _first_of(day: date, months_ahead: int) -> date:
    """First day of the month that many months ahead."""
    months = day.year * 12 + day.month - 1 + months_ahead
    return date(months // 12, months % 12 + 1, 1)


def in_snow_season(book: RateBook, day: date) -> bool:
    """Whether snow is to be expected on roofs; a region without snow has 0 as both months."""
    first = int(book.line("climate", "snow.from_month").likely)
    last = int(book.line("climate", "snow.to_month").likely)
    if not first:
        return False
    if first <= last:
        return first <= day.month <= last
    return day.month >= first or day.month <= last


def days_until_snow_is_gone(book: RateBook, day: date) -> int:
    """Days from `day` to the end of the snow season; 0 outside it, a year where it never ends."""
    ends = (_first_of(day, months) if months else day for months in range(len(MONTHS) + 1))
    return next(((ahead - day).days for ahead in ends if not in_snow_season(book, ahead)), DAYS_A_YEAR)


def later(day: date, days: float) -> date:
    """The date that many days on, part days up; past all calendars their last day."""
    return day + timedelta(days=min(int(-(-days // 1)), (date.max - day).days))
