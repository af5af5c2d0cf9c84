"""How a region's hours run against its norms, what the reports can and cannot say, and what they suggest.

The hours of a report were quoted by the norms of their day. Norms may have moved since, perhaps because of these very
reports, so the quoted hours are first restated by today's norms: nothing is corrected twice.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from statistics import fmean

from service.application.hours import Report, hour_norms
from service.engine.rates import Line, RateBook
from service.engine.science.ratios import Middle, credible, middle_of, odd_ones

WITHIN = 0.95
"""Confidence of the interval of a mean."""
DIGITS = 3
"""Digits of a suggested norm: no office knows its hours better."""
WIDE = 1.5
"""Jobs that differ by such a factor either way are said to differ widely (J)."""


@dataclass(frozen=True, slots=True)
class Odd:
    """A report that stands apart from the others of its method. It counts all the same."""

    id: int
    job: str
    ratio: float


@dataclass(frozen=True, slots=True)
class SuggestedLine:
    """A norm as it is and as it would be."""

    line: Line
    low: Decimal
    likely: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True)
class Drift:
    """How the hours of one method run.

    Attributes:
        method: code of the method.
        middle: hours taken over hours that today's norms would quote.
        first, last: days of the oldest and the newest work.
        odd: reports that stand apart.
        verdict: too_few, none_shown, over or under.
        says: what the reports say, in words. cannot_say: what they do not.
        factor: by what its norms would be multiplied; None where nothing is suggested.
        weight: weight of the reports in that factor, the rest is the book's.
        lines: the norms as they would be.
    """

    method: str
    middle: Middle
    first: date
    last: date
    odd: tuple[Odd, ...]
    verdict: str
    says: str
    cannot_say: str
    factor: float | None
    weight: float
    lines: tuple[SuggestedLine, ...]


def drifts(reports: Iterable[Report], book: RateBook) -> tuple[Drift, ...]:
    """How each method runs of which there are reports, by code.

    Raises:
        MissingRateError: the book does not say from how many reports on a mean is judged.
    """
    by_method: dict[str, list[Report]] = {}
    for report in reports:
        by_method.setdefault(report.said.method, []).append(report)
    return tuple(_drift(method, some, book) for method, some in sorted(by_method.items()))


def ratio_of(report: Report, norms: Mapping[str, Decimal]) -> float:
    """Hours taken over the hours that these norms would have quoted.

    Norms of one method move together for the most part; where they did not, the geometric mean of their moves stands for all.
    """
    moved = [math.log(norms[c] / then) for c, then in report.norms.items() if norms.get(c, 0) > 0 and then > 0]
    quoted = float(report.said.quoted_hours) * math.exp(fmean(moved) if moved else 0.0)
    return float(report.said.actual_hours) / quoted


def scaled(line: Line, factor: float) -> SuggestedLine:
    """A norm multiplied, in as many digits as an office knows its hours; low, likely and high keep their order."""
    return SuggestedLine(line, *(_rounded(value * Decimal(repr(factor))) for value in (line.low, line.likely, line.high)))


def _drift(method: str, reports: Sequence[Report], book: RateBook) -> Drift:
    norms = hour_norms(book, method)
    ratios = [ratio_of(r, norms) for r in reports]
    middle = middle_of(ratios, WITHIN)
    least, worth = (book.likely("terms", f"feedback.{name}") for name in ("least_reports", "reports_worth"))
    verdict = _verdict(middle, least)
    factor = credible(middle.mean, middle.count, worth) if verdict in ("over", "under") else None
    odd = tuple(
        Odd(r.id, r.said.job, ratio)
        for r, ratio, apart in zip(reports, ratios, odd_ones(ratios), strict=True) if apart and middle.count >= least
    )
    lines = tuple(scaled(book.line("norms", code), factor) for code in sorted(norms)) if factor else ()
    days = [r.said.done_on for r in reports]
    return Drift(
        method=method, middle=middle, first=min(days), last=max(days), odd=odd, verdict=verdict,
        says=_says(middle, verdict, least), cannot_say=_cannot_say(middle, odd, least), factor=factor,
        weight=middle.count / (middle.count + worth) if factor else 0.0,
        lines=tuple(s for s in lines if (s.low, s.likely, s.high) != (s.line.low, s.line.likely, s.line.high)),
    )


def _verdict(middle: Middle, least: float) -> str:
    if middle.count < least:
        return "too_few"
    if middle.low <= 1.0 <= middle.high:
        return "none_shown"
    return "over" if middle.mean > 1.0 else "under"


def _says(middle: Middle, verdict: str, least: float) -> str:
    reports = f"{middle.count} report{'s' if middle.count > 1 else ''}"
    match verdict:
        case "too_few":
            return f"{reports}: nothing yet. From {least:g} reports on the mean is judged."
        case "none_shown":
            return f"{reports}: no drift is shown. The mean lies between {_percent(middle.low)} and {_percent(middle.high)}."
        case "over":
            ends = f"{(middle.low - 1.0) * 100.0:.0f} to {(middle.high - 1.0) * 100.0:.0f} %"
        case _:
            ends = f"{(1.0 - middle.high) * 100.0:.0f} to {(1.0 - middle.low) * 100.0:.0f} %"
    return f"{reports}: runs {ends} {verdict} the quoted hours, likely {abs(middle.mean - 1.0) * 100.0:.0f} %."


def _percent(ratio: float) -> str:
    if abs(ratio - 1.0) < 0.005:
        return "as quoted"
    return f"{abs(ratio - 1.0) * 100.0:.0f} % {'over' if ratio > 1.0 else 'under'}"


def _cannot_say(middle: Middle, odd: Sequence[Odd], least: float) -> str:
    said = ["It does not say why: crew, access, weather, or what was left out of the quote."]
    if middle.count >= least and middle.spread > WIDE:
        said.append(
            f"Single jobs differ by a factor of {middle.spread:.1f} either way, so one job may still run far off the mean."
        )
    if odd:
        jobs = ", ".join(f"{o.id} ({o.job}, {o.ratio:.2g} times)" for o in odd[:3])
        said.append(f"These stand apart, and count all the same: {jobs}. Look at them before you believe the mean.")
    return " ".join(said)


def _rounded(value: Decimal) -> Decimal:
    if not value:
        return Decimal(0)
    step = Decimal(1).scaleb(value.adjusted() - DIGITS + 1)
    return Decimal(f"{value.quantize(step, ROUND_HALF_EVEN).normalize():f}")
