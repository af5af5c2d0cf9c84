"""Public holidays of a region."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

import holidays

YEARS_AHEAD = 6
"""A calendar reaches this far: seasoning a thick green timber takes years, and its last days are still working days."""


@lru_cache(maxsize=256)
def holidays_around(country: str, subdiv: str, year: int) -> frozenset[date]:
    """Holidays of the year before, the year and the years ahead; none for a region without a calendar."""
    if not country:
        return frozenset()
    years = range(max(year - 1, date.min.year), min(year + YEARS_AHEAD, date.max.year) + 1)
    return frozenset(holidays.country_holidays(country, subdiv=subdiv or None, years=years))


def calendar_fault(country: str, subdiv: str) -> str | None:
    """What is wrong with the name of a calendar, or None."""
    if not country:
        return "a subdivision needs a country" if subdiv else None
    known = holidays.list_supported_countries(include_aliases=True)
    if country not in known:
        return f"no holiday calendar for country {country!r}"
    if subdiv and subdiv not in known[country]:
        return f"no holiday calendar for subdivision {subdiv!r} of {country}"
    return None
