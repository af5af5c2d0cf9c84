"""What a report of hours can be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from service.application.hours import NewReport, Report
from service.application.nonsense import Nonsense, meant

MOST = Decimal(20_000)
"""More person-hours than any one method of one job takes: ten people for a year (J) [h]."""
LARGEST_CREW = 50
"""More people than work on one house (J)."""


@dataclass(frozen=True, slots=True)
class Known:
    """Codes that there are."""

    methods: frozenset[str]
    elements: frozenset[str]


def nonsense(report: NewReport, known: Known, region: str, today: date, index: int = 0) -> Iterator[Nonsense]:
    """Every value of a report that cannot be."""
    for name, reason in (*_words(report, known), *_figures(report, today), *_chain(report, region)):
        yield Nonsense(index, name, reason)


def conflicts(reports: Sequence[NewReport], there: Sequence[Report]) -> Iterator[Nonsense]:
    """Every report of what was reported before, and every correction of what is not there to be corrected.

    Args:
        reports: what is to be kept.
        there: what is kept of the same jobs, methods and members, and all that is to be corrected.
    """
    by_id = {r.id: r for r in there}
    standing = {r.said.key: r for r in there if r.corrected_by is None}
    seen: dict[tuple[str, str, str], int] = {}
    for k, report in enumerate(reports):
        if seen.setdefault(report.key, k) != k:
            yield Nonsense(k, "job", f"the same job, method and member stands before, as report {seen[report.key] + 1}.")
        elif report.corrects is None:
            if report.key in standing:
                old = standing[report.key].id
                yield Nonsense(k, "job", f"this was reported before, as {old}. To put it right send corrects: {old}.")
        else:
            reason = _not_corrected(report, by_id.get(report.corrects))
            if reason:
                yield Nonsense(k, "corrects", reason)


def _not_corrected(report: NewReport, old: Report | None) -> str:
    if old is None:
        return f"the region has no report {report.corrects}."
    if old.said.key != report.key:
        job, method, element = old.said.key
        return f"report {old.id} is of {job!r}, {method}{', ' + element if element else ''}: a correction is of the same."
    if old.corrected_by is not None:
        return f"report {old.id} was corrected by {old.corrected_by} already. Correct that one."
    return ""


def _words(report: NewReport, known: Known) -> Iterator[tuple[str, str]]:
    if not report.job:
        yield "job", "is empty. Name the job."
    if report.method not in known.methods:
        yield "method", f"{report.method!r} is no method with hours of its own.{meant(report.method, known.methods)}"
    if report.element and report.element not in known.elements:
        yield "element", f"{report.element!r} is no member of the catalogue.{meant(report.element, known.elements)}"
    if not report.counts and report.corrects is None:
        yield "counts", "only a correction may say that it does not count: it takes back what it corrects."


def _figures(report: NewReport, today: date) -> Iterator[tuple[str, str]]:
    for name, value in (("quoted_hours", report.quoted_hours), ("actual_hours", report.actual_hours)):
        if not 0 < value <= MOST:
            yield name, f"{value:f} must be above 0 and at most {MOST:f} person-hours."
    if report.done_on > today:
        yield "done_on", f"{report.done_on} is to come; today is {today}. Report work that is done."
    if report.crew is not None and not 1 <= report.crew <= LARGEST_CREW:
        yield "crew", f"{report.crew} must be from 1 to {LARGEST_CREW} people."


def _chain(report: NewReport, region: str) -> Iterator[tuple[str, str]]:
    last = report.rates.rpartition("/")[2].partition("@")[0]
    if last != region:
        yield "rates", f"{report.rates!r} is no revision of {region}. Send `rates` of the quote as it was."
