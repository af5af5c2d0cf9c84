"""Reports of hours in PostgreSQL: added, and never changed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import Row, Select, func, insert, or_, select, tuple_
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.access import Asker, Once
from service.application.hours import NewReport, Report, ReportedBeforeError
from service.application.hours_sense import conflicts
from service.storage.audit import record
from service.storage.creates import only_once
from service.storage.database import asking, changing
from service.storage.regions import id_of_region
from service.storage.tables import hours_report
from service.storage.turns import Turns

LOCK = 7409
"""Advisory lock of a region's reports: two that are of the same job wait for each other."""
NAMED = 20
"""Reports that an entry of the audit log names."""


@dataclass(frozen=True, slots=True)
class PostgresHours:
    """Reports in PostgreSQL. Implements `HoursRoom`.

    Attributes:
        patience_s: longest that the database may take before it counts as away.
        turns: in which the reports of a region wait for each other.
    """

    engine: AsyncEngine
    patience_s: float
    turns: Turns = field(default_factory=Turns)

    async def add(
        self, asker: Asker, region: str, reports: Sequence[tuple[NewReport, Mapping[str, Decimal]]], once: Once | None,
        said: Callable[[tuple[Report, ...]], bytes],
    ) -> bytes:
        """Keep reports, all or none, and give what is said of them (see `HoursRoom`)."""
        async with self.turns.of(region), changing(self.engine, self.patience_s) as connection:
            region_id = await id_of_region(connection, region)

            async def make() -> bytes:
                await connection.execute(select(func.pg_advisory_xact_lock(LOCK, region_id)))
                made = await _kept(connection, asker, region_id, reports)
                await _record(connection, asker, region, region_id, made)
                return said(made)

            return await only_once(connection, asker, once, make)

    async def page(self, region: str, wanted: Mapping[str, str], below: int | None, limit: int) -> tuple[Report, ...]:
        """Reports of a region, the newest first, from below an id on; `wanted` may name `method` and `job`."""
        async with asking(self.engine, self.patience_s) as connection:
            query = _reports(await id_of_region(connection, region)).order_by(hours_report.c.id.desc()).limit(limit)
            for name, value in wanted.items():
                query = query.where(hours_report.c[name] == value)
            if below is not None:
                query = query.where(hours_report.c.id < below)
            return tuple(_report(row) for row in await connection.execute(query))

    async def counted(self, region: str, since: date | None) -> tuple[Report, ...]:
        """All reports of a region that count, of work done since a day, the oldest first."""
        async with asking(self.engine, self.patience_s) as connection:
            query = _reports(await id_of_region(connection, region)).where(hours_report.c.counts).order_by(hours_report.c.id)
            if since is not None:
                query = query.where(hours_report.c.done_on >= since)
            found = [_report(row) for row in await connection.execute(query)]
        return tuple(report for report in found if report.counts)


async def _kept(
    connection: AsyncConnection, asker: Asker, region_id: int, reports: Sequence[tuple[NewReport, Mapping[str, Decimal]]]
) -> tuple[Report, ...]:
    """Add reports if none of them is of what was reported before."""
    h = hours_report.c
    new = [report for report, _ in reports]
    same = tuple_(h.job, h.method, h.element).in_([report.key for report in new])
    corrected = h.id.in_([report.corrects for report in new if report.corrects is not None])
    there = await connection.execute(_reports(region_id).where(or_(same, corrected)))
    wrong = list(conflicts(new, [_report(row) for row in there]))
    if wrong:
        raise ReportedBeforeError(wrong)
    ids = [
        (await connection.execute(insert(hours_report).values(_row(asker, region_id, *one)).returning(h.id))).scalar_one()
        for one in reports
    ]
    made = await connection.execute(_reports(region_id).where(h.id.in_(ids)).order_by(h.id))
    return tuple(_report(row) for row in made)


async def _record(
    connection: AsyncConnection, asker: Asker, code: str, region_id: int, made: Sequence[Report]
) -> None:
    details = {
        "count": len(made),
        "reports": [
            {"id": r.id, "job": r.said.job, "method": r.said.method, "corrects": r.said.corrects} for r in made[:NAMED]
        ],
    }
    subject = f"{code}/hours/{made[0].id}" if len(made) == 1 else f"{code}/hours"
    await record(connection, asker, "hours.report", subject, region_id, details)


def _reports(region_id: int) -> Select[Any]:
    """Reports of a region, each with the one that corrected it."""
    later = hours_report.alias("later")
    return (
        select(hours_report, later.c.id.label("corrected_by"))
        .outerjoin(later, later.c.corrects_id == hours_report.c.id)
        .where(hours_report.c.region_id == region_id)
    )


def _report(row: Row[Any]) -> Report:
    said = NewReport(
        job=row.job, done_on=row.done_on, method=row.method, element=row.element, rates=row.rates,
        quoted_hours=row.quoted_hours, actual_hours=row.actual_hours, crew=row.crew, note=row.note,
        corrects=row.corrects_id, counts=row.counts,
    )
    norms = {code: Decimal(value) for code, value in row.norms.items()}
    return Report(row.id, said, norms, row.corrected_by, row.reported_at, row.name or row.who, row.who)


def _row(asker: Asker, region_id: int, report: NewReport, norms: Mapping[str, Decimal]) -> dict[str, Any]:
    return {
        "region_id": region_id, "job": report.job, "done_on": report.done_on, "method": report.method,
        "element": report.element, "rates": report.rates, "quoted_hours": report.quoted_hours,
        "actual_hours": report.actual_hours, "crew": report.crew, "note": report.note, "corrects_id": report.corrects,
        "counts": report.counts,
        # Texts, so that a number stays as it was typed.
        "norms": {code: f"{value:f}" for code, value in norms.items()},
        "who": asker.caller.who, "name": asker.caller.name,
    }
