"""Reading the audit log, and walking its chain."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, Select, or_, select
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.audit import AuditEntry, AuditQuestion, Verdict
from service.application.ports import UnknownRegionError
from service.storage.audit import FIRST, digest_of
from service.storage.database import asking
from service.storage.tables import audit_entry, region

BATCH = 1000
"""Entries that are read at a time."""


@dataclass(frozen=True, slots=True)
class PostgresAudit:
    """The audit log in PostgreSQL. Implements `AuditLog`."""

    engine: AsyncEngine
    patience_s: float

    async def entries(self, question: AuditQuestion) -> tuple[AuditEntry, ...]:
        """The newest entries that the question asks for, newest first."""
        asked = _narrowed(_all(), question).order_by(audit_entry.c.id.desc()).limit(question.limit)
        async with asking(self.engine, self.patience_s) as connection:
            await _check_region(connection, question.region)
            return tuple(_entry(row) for row in await connection.execute(asked))


async def walk(connection: AsyncConnection, question: AuditQuestion | None = None) -> AsyncIterator[AuditEntry]:
    """All entries that the question asks for, whatever its limit, oldest first. Raises UnknownRegionError."""
    if question is not None:
        await _check_region(connection, question.region)
    async for row in _rows(connection, question or AuditQuestion()):
        yield _entry(row)


async def verify(connection: AsyncConnection, expected: Iterable[str] = ()) -> Verdict:
    """Walk the chain from its first entry, and say the first one that is not as it was written.

    Args:
        connection: its isolation does not matter: entries are only ever added.
        expected: digests that were noted elsewhere, hexadecimal. Each must be in the chain, wherever it goes on to since.
    """
    missing = {digest.lower() for digest in expected}
    entries, newest = 0, FIRST
    async for row in _rows(connection, AuditQuestion()):
        why = _wrong(row, newest)
        if why:
            return Verdict(entries, newest.hex(), row.id, why)
        entries, newest = entries + 1, bytes(row.digest)
        missing.discard(newest.hex())
    # An empty log has a digest, too: somebody may have noted it before the first entry.
    missing.discard(FIRST.hex())
    if missing:
        why = f"no entry has the digest {', '.join(sorted(missing))}: the end of the log was cut off, or all of it rewritten"
        return Verdict(entries, newest.hex(), None, why)
    return Verdict(entries, newest.hex(), None, "")


def _wrong(row: Row[Any], newest: bytes) -> str:
    """What is wrong with an entry that should follow the one of that digest; "" for nothing."""
    if digest_of({column.name: getattr(row, column.name) for column in audit_entry.columns}) != bytes(row.digest):
        return "it was changed: its digest is another"
    if bytes(row.previous) != newest:
        return "it does not follow the entry before: one was taken out, slipped in, changed together with its digest, or moved"
    return ""


async def _check_region(connection: AsyncConnection, code: str | None) -> None:
    if code is not None:
        codes = (await connection.execute(select(region.c.code).order_by(region.c.code))).scalars().all()
        if code not in codes:
            raise UnknownRegionError(code, tuple(codes))


async def _rows(connection: AsyncConnection, question: AuditQuestion) -> AsyncIterator[Row[Any]]:
    asked = _narrowed(_all(), question).order_by(audit_entry.c.id).limit(BATCH)
    last = -1
    while rows := (await connection.execute(asked.where(audit_entry.c.id > last))).all():
        for row in rows:
            yield row
        last = rows[-1].id


def _all() -> Select[Any]:
    return select(audit_entry, region.c.code.label("region")).outerjoin(region, region.c.id == audit_entry.c.region_id)


def _narrowed(asked: Select[Any], question: AuditQuestion) -> Select[Any]:
    if question.region is not None:
        asked = asked.where(region.c.code == question.region)
    if question.action is not None:
        exactly = audit_entry.c.action == question.action
        asked = asked.where(or_(exactly, audit_entry.c.action.startswith(f"{question.action}.", autoescape=True)))
    if question.who is not None:
        asked = asked.where(audit_entry.c.who == question.who)
    if question.since is not None:
        asked = asked.where(audit_entry.c.at >= question.since)
    if question.until is not None:
        asked = asked.where(audit_entry.c.at < question.until)
    return asked if question.before is None else asked.where(audit_entry.c.id < question.before)


def _entry(row: Row[Any]) -> AuditEntry:
    return AuditEntry(
        number=row.id,
        at=row.at,
        region=row.region or "",
        who=row.who,
        name=row.name,
        address=row.address,
        request_id=row.request_id,
        action=row.action,
        subject=row.subject,
        details=row.details,
        previous=bytes(row.previous).hex(),
        digest=bytes(row.digest).hex(),
    )
