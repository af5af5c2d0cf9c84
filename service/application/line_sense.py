"""What a number of a line may be at all: with others no quote could be worked out, and an answer would fail.

These are bounds of sense, far outside of what anybody charges or measures. Whether a number that can be is also meant is
asked when it is published (`judging`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

MONTHS = 12
MOST_OF_UNIT: Mapping[str, int] = {
    "%": 99, "fraction": 10, "x": 100, "degF": 150, "d": 3_650, "wk": 520, "month": 120, "yr": 200, "yr/in": 100, "deg": 90,
}
"""The most that a number may be, by its unit."""
MOST, MOST_OF_WORK, MOST_MONEY = 1_000_000, 10_000, 1_000_000_000
"""The same in any other unit, in a norm's hours, and of a resource: its unit is what is bought, and its number is money."""
LEAST_DEGREES = -100
"""The lowest temperature [degF]."""
LEAST, LEAST_YEARS = Decimal("0.0001"), Decimal("0.01")
"""The least that something is divided by; of years, because a plan is looked at until the horizon, one life after another."""
DIVIDED_BY = frozenset({("terms", "crew_day_step"), ("terms", "hours_per_day"), ("terms", "visit_least")})
"""Terms that something is divided by."""

Nonsense = tuple[str, str]
"""Code and reason of a fault."""


def nonsense(section: str, code: str, unit: str, number: Decimal) -> Iterator[Nonsense]:
    """What is wrong with a number of a line: one thing at most."""
    most = _most(section, unit)
    if number > most:
        yield "too_large", f"must not be above {most}."
    elif unit == "degF" and number < LEAST_DEGREES:
        yield "too_small", f"must not be below {LEAST_DEGREES}."
    elif section == "terms" and code.startswith("markup.") and number < 0:
        # Something may be taken off, but not all of it and more.
        if number <= -1:
            yield "too_small", "must be above -1."
    elif unit != "degF" and number < 0:
        yield "negative", "must not be below zero."
    elif _divides(section, code, unit) and number < (least := LEAST_YEARS if unit == "yr" else LEAST):
        yield "too_small", f"must be at least {least}, because something is divided by it."
    elif section == "climate" and code.endswith("_month") and (number != int(number) or number > MONTHS):
        yield "no_month", f"must be a month, a whole number from 1 to {MONTHS}, or 0 for none."


def _most(section: str, unit: str) -> int:
    if section == "resources":
        return MOST_MONEY
    if section == "norms" and unit.startswith("h"):
        return MOST_OF_WORK
    return MOST_OF_UNIT.get(unit, MOST)


def _divides(section: str, code: str, unit: str) -> bool:
    """Whether something is or may be divided by a line."""
    if section == "norms":
        # Hours and shares may be nothing; spacings, yields and coverages may not.
        return not unit.startswith("h") and unit != "fraction"
    return section == "lives" or unit in ("x", "mi/h") or (section, code) in DIVIDED_BY or code == "horizon"
