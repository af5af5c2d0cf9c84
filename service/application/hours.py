"""Hours that jobs really took, beside those that were quoted: reports, and who keeps them.

A report is never changed. One that was wrong is corrected by another, which counts in its place; both stay to be read.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Protocol

from service.application.access import Asker, Once
from service.application.nonsense import Nonsense
from service.engine.rates import RateBook


@dataclass(frozen=True, slots=True)
class NewReport:
    """What a job took, as somebody reports it.

    Attributes:
        job: the office's name of the job.
        done_on: when the work was done.
        method, element: what was done, and to which member; "" for one that nobody said.
        rates: revision of the rates by which the hours were quoted.
        quoted_hours, actual_hours: person-hours of the method, all people together [h].
        crew: how many worked; None where nobody said.
        corrects: id of the report that this one takes the place of; None for a first report.
        counts: whether it counts; a report that takes another one back does not.
    """

    job: str
    done_on: date
    method: str
    element: str
    rates: str
    quoted_hours: Decimal
    actual_hours: Decimal
    crew: int | None
    note: str
    corrects: int | None
    counts: bool

    @property
    def key(self) -> tuple[str, str, str]:
        """What is reported once."""
        return self.job, self.method, self.element


@dataclass(frozen=True, slots=True)
class Report:
    """A report as it is kept.

    Attributes:
        said: what was reported.
        norms: likely value of each norm of the method in hours, in the book by which the hours were quoted.
        corrected_by: id of the report that took its place; None for none.
        who, who_id: who reported it, as people call them and as the audit log has it.
    """

    id: int
    said: NewReport
    norms: Mapping[str, Decimal]
    corrected_by: int | None
    reported_at: datetime
    who: str
    who_id: str = ""

    @property
    def counts(self) -> bool:
        """Whether it counts: it was neither corrected nor does it take another one back."""
        return self.corrected_by is None and self.said.counts


class ReportedBeforeError(ValueError):
    """Reports of work that was reported before, or corrections of what is not there to be corrected."""

    def __init__(self, faults: Sequence[Nonsense]) -> None:
        """Keep the faults."""
        super().__init__("; ".join(f.reason for f in faults))
        self.faults = tuple(faults)


class HoursRoom(Protocol):
    """Where reports are kept. Reading raises BooksUnavailableError where the store does not answer."""

    async def add(
        self, asker: Asker, region: str, reports: Sequence[tuple[NewReport, Mapping[str, Decimal]]], once: Once | None,
        said: Callable[[tuple[Report, ...]], bytes],
    ) -> bytes:
        """Keep reports, all or none, each with the norms that its quote rested on, and give what is said of them.

        Raises:
            UnknownRegionError, ReportedBeforeError, NotStoredError, OutcomeUnknownError, OnceConflictError.
        """
        ...

    async def page(self, region: str, wanted: Mapping[str, str], below: int | None, limit: int) -> tuple[Report, ...]:
        """Reports of a region, the newest first, from below an id on; `wanted` may name `method` and `job`."""
        ...

    async def counted(self, region: str, since: date | None) -> tuple[Report, ...]:
        """All reports of a region that count, of work done since a day, the oldest first."""
        ...


def hour_norms(book: RateBook, method: str) -> dict[str, Decimal]:
    """The norms of a method that are hours, with their likely values."""
    return {
        code: line.likely
        for (section, code), line in book.lines.items()
        if section == "norms" and code.startswith(f"{method}.") and line.unit.partition("/")[0] == "h"
    }
