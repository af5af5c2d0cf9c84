"""Reports of hours between the wire and the office: read, shown, and as a sheet."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from msgspec import UNSET

from service.application.drift import Drift
from service.application.hours import NewReport, Report
from service.application.hours_desk import Taken
from service.application.nonsense import Nonsense
from service.application.plain_text import unseen_in
from service.engine.rates import RateBook
from service.web import limits
from service.web.cells import Cell, CellError, day, maybe, number, shown, yes_no
from service.web.hours.shapes import (
    HoursDrift,
    HoursReport,
    HoursSent,
    LeftNorm,
    MethodDrift,
    NormSuggestion,
    OddReport,
    SuggestionsTaken,
    TakenNorm,
)
from service.web.present import number as rounded
from service.web.reading_shapes import person
from service.web.sheets import CellFault, Column, read, write

NOTE = (
    "Ratios are restated by the norms in force, so what was taken over already is not taken over again. Of twenty methods that "
    "run just as quoted about one will seem to drift. A suggestion is the mean drawn towards 1, the more the fewer the reports "
    "(credibility, n over n plus feedback.reports_worth of the book). Nothing changes by itself: POST "
    "/v1/regions/{region}/drafts/{draft}/hours-suggestions takes suggestions into a draft, which you publish or not."
)


# ---- in ----------------------------------------------------------------------------------------------------------------


def report_of(sent: HoursSent) -> NewReport:
    """The report that was sent."""
    return NewReport(
        job=sent.job.strip(), done_on=sent.done_on, method=sent.method, element="" if sent.element is UNSET else sent.element,
        rates=sent.rates, quoted_hours=Decimal(sent.quoted_hours), actual_hours=Decimal(sent.actual_hours),
        crew=None if sent.crew is UNSET else sent.crew, note="" if sent.note is UNSET else sent.note.strip(),
        corrects=None if sent.corrects is UNSET else sent.corrects, counts=sent.counts is not False,
    )


@dataclass(frozen=True, slots=True)
class SheetRead:
    """Reports of a sheet, the number of each one's row, and what could not be read."""

    reports: tuple[NewReport, ...]
    rows: tuple[int, ...]
    faults: tuple[CellFault, ...]

    def fault(self, wrong: Nonsense) -> CellFault:
        """A value that cannot be, with its place."""
        value = getattr(self.reports[wrong.index], wrong.name)
        return CellFault(self.rows[wrong.index], wrong.name, "" if value is None else shown(str(value)), wrong.reason)


def reports_in(body: bytes) -> SheetRead:
    """The reports of a sheet, and what could not be read."""
    sheet = read(body, COLUMNS, key=("job", "method", "element"), most_rows=limits.REPORTS)
    reports = []
    for row in sheet.rows:
        given = {"crew": None, "note": None, "corrects": None, "counts": None, **row.values}
        given |= {name: given[name] or "" for name in ("element", "note")}
        reports.append(NewReport(**{**given, "counts": given["counts"] is not False}))  # type: ignore[arg-type]  # by readers
    return SheetRead(tuple(reports), tuple(row.number for row in sheet.rows), sheet.faults)


def _words(most: int, form: str = "", right: str = "") -> Callable[[Cell], str]:
    """A reader of short texts.

    Args:
        most: most characters.
        form: regular expression that they must match; "" for any.
        right: what would be right, in words.
    """

    def read_words(cell: Cell) -> str:
        said = cell.text.strip()
        if not said:
            raise CellError("is empty.")
        if len(said) > most:
            raise CellError(f"has {len(said)} characters; at most {most} are taken.")
        if unseen := unseen_in(said):
            raise CellError(f"holds a control character or a line break ({unseen}). Take it out.")
        if form and not re.fullmatch(form, said, re.ASCII):
            raise CellError(right)
        return said

    return read_words


def _whole(cell: Cell) -> int:
    """A whole number.

    Raises:
        CellError: it is none.
    """
    if not re.fullmatch(r"[0-9]{1,9}", cell.text.strip(), re.ASCII):
        raise CellError("is not a whole number.")
    return int(cell.text)


COLUMNS = (
    Column("job", _words(limits.TEXT_CHARACTERS)), Column("done_on", day), Column("method", _words(limits.CODE_CHARACTERS)),
    Column("element", maybe(_words(limits.CODE_CHARACTERS))),
    Column("rates", _words(limits.REVISION_CHARACTERS, "[a-z0-9@/+_.-]+", "is no revision. Send `rates` of the quote.")),
    Column("quoted_hours", number), Column("actual_hours", number),
    Column("crew", maybe(_whole), needed=False), Column("note", maybe(_words(limits.NOTE_CHARACTERS)), needed=False),
    Column("corrects", maybe(_whole), needed=False), Column("counts", maybe(yes_no), needed=False),
)
"""Columns of a sheet of reports."""
HOURS = ("quoted_hours", "actual_hours")
"""Those that JSON has as decimal texts."""


# ---- out ---------------------------------------------------------------------------------------------------------------


def report_view(r: Report) -> HoursReport:
    """A report as it is answered."""
    s = r.said
    return HoursReport(
        id=r.id, job=s.job, done_on=s.done_on, method=s.method, element=s.element or None, rates=s.rates,
        quoted_hours=f"{s.quoted_hours:f}", actual_hours=f"{s.actual_hours:f}", crew=s.crew, note=s.note, corrects=s.corrects,
        corrected_by=r.corrected_by, counts=r.counts, reported_at=r.reported_at, who=r.who,
        by=person(r.who_id, r.who),
    )


def sheet_of(reports: Iterable[Report], *, comma: bool = False) -> bytes:
    """Reports as a sheet."""
    columns = tuple(name for name in HoursReport.__struct_fields__ if name != "by")
    views = ((report_view(r), {name: getattr(r.said, name) for name in HOURS}) for r in reports)
    rows = ({c: _cell(getattr(view, c)) for c in columns} | hours | {"who_id": view.by.id} for view, hours in views)
    return write((*columns, "who_id"), rows, decimal_comma=comma)


def _cell(value: object) -> object:
    return value.isoformat() if hasattr(value, "isoformat") else value


def drift_view(found: Sequence[Drift], book: RateBook) -> HoursDrift:
    """How hours run, as it is answered."""
    return HoursDrift(
        region=book.region, rates=book.revision, methods=[_method(d) for d in found],
        note=NOTE.replace("{region}", book.region),
    )


def _method(d: Drift) -> MethodDrift:
    alone = math.isinf(d.middle.high)
    return MethodDrift(
        method=d.method, count=d.middle.count, first=d.first, last=d.last, ratio=rounded(d.middle.mean),
        spread=rounded(d.middle.spread), ratio_low=None if alone else rounded(d.middle.low),
        ratio_high=None if alone else rounded(d.middle.high), verdict=d.verdict, says=d.says, cannot_say=d.cannot_say,
        odd=[OddReport(o.id, o.job, rounded(o.ratio)) for o in d.odd],
        factor=None if d.factor is None else rounded(d.factor), weight=rounded(d.weight),
        suggestion=[
            NormSuggestion(
                code=s.line.code, unit=s.line.unit, from_region=s.line.region, low=f"{s.line.low:f}",
                likely=f"{s.line.likely:f}", high=f"{s.line.high:f}", suggested_low=f"{s.low:f}",
                suggested_likely=f"{s.likely:f}", suggested_high=f"{s.high:f}",
            )
            for s in d.lines
        ],
    )


def taken_view(taken: Taken) -> SuggestionsTaken:
    """What was taken into a draft, as it is answered."""
    return SuggestionsTaken(
        draft=taken.draft.id, etag=f'"{taken.draft.mark}"',
        taken=[
            TakenNorm(d.method, s.line.code, rounded(d.factor or 1.0), f"{s.low:f}", f"{s.likely:f}", f"{s.high:f}")
            for d, s in taken.lines
        ],
        left=[LeftNorm(one.method, one.code or None, one.why) for one in taken.left],
    )
