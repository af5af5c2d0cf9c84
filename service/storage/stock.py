"""Counts of the yard in PostgreSQL. Each is a light revision of its own kind: whole, numbered, never changed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sqlalchemy import Row, Select, and_, func, select
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.access import Asker, Once
from service.application.stock import Changed, Count, Edit, Piece, Yard, difference_of
from service.storage import queries
from service.storage.audit import record
from service.storage.copying import copy_rows
from service.storage.creates import only_once
from service.storage.database import asking, changing
from service.storage.publishing import STOCK, open_draft, publish, take_turn
from service.storage.regions import id_of_region
from service.storage.tables import region as regions
from service.storage.tables import stick, stock_period, stock_revision
from service.storage.turns import Turns

COLUMNS = {"where": "where_kept"}
"""Fields of a piece whose column has another name: this one is a word of SQL."""
FIELDS: Mapping[str, str] = {name: COLUMNS.get(name, name) for name in Piece.__slots__}


@dataclass(frozen=True, slots=True)
class PostgresStock:
    """Counts in PostgreSQL. Implements `StockRoom`.

    Attributes:
        patience_s: longest that the database may take before it counts as away.
        counted: told the region's code when a count is stored, so that whoever counted quotes from it at once.
        turns: in which the counts of a region wait for each other.
    """

    engine: AsyncEngine
    patience_s: float
    counted: Callable[[str], None]
    turns: Turns = field(default_factory=Turns)

    async def yard(self, region: str, day: date) -> Yard:
        """The yard that quotes of a region use on a day: its own, else the nearest parent's. Raises UnknownRegionError."""
        async with asking(self.engine, self.patience_s) as connection:
            await id_of_region(connection, region)
            chain = (await connection.execute(queries.chain(region, day))).all()
            nearest = next((row.code for row in reversed(chain) if row.stock is not None), region)
            return await _yard(connection, nearest, day)

    async def own_yard(self, region: str, day: date) -> Yard:
        """The region's own yard on a day, empty where it never counted. Raises UnknownRegionError."""
        async with asking(self.engine, self.patience_s) as connection:
            await id_of_region(connection, region)
            return await _yard(connection, region, day)

    async def counts(self, region: str, below: int | None, limit: int) -> tuple[Count, ...]:
        """The region's own counts, the newest first, from below a number on. Raises UnknownRegionError."""
        async with asking(self.engine, self.patience_s) as connection:
            region_id = await id_of_region(connection, region)
            rows = (await connection.execute(_counts(region_id, below, limit))).all()
            found = await _pieces_of(connection, [i for row in rows for i in (row.id, row.before) if i is not None])
        return tuple(_count(row, found) for row in rows)

    async def change(
        self, asker: Asker, region: str, today: date, edit: Edit, once: Once | None, said: Callable[[Changed], bytes]
    ) -> bytes:
        """Make the next count by an edit, one after the other for a region, and give what is said of it.

        Raises:
            UnknownRegionError, NotStoredError, OutcomeUnknownError, OnceConflictError, and what the edit raises.
        """
        async with self.turns.of(region), changing(self.engine, self.patience_s) as connection:
            region_id = await id_of_region(connection, region)

            async def make() -> bytes:
                return said(await _next_count(connection, asker, (region, region_id), today, edit))

            answer = await only_once(connection, asker, once, make)
        self.counted(region)
        return answer


async def _next_count(
    connection: AsyncConnection, asker: Asker, place: tuple[str, int], today: date, edit: Edit
) -> Changed:
    """Count anew, unless nothing has changed since the count that is in force."""
    code, region_id = place
    await take_turn(connection, STOCK, region_id)
    present = await _yard(connection, code, today)
    edited = edit(present)
    difference = difference_of(present.pieces, edited.pieces)
    if present.number and not difference:
        return Changed(present, difference)
    who = asker.caller.who
    before = await _revision_id(connection, region_id, present.number)
    draft = await open_draft(connection, STOCK, region_id, who, before)
    await copy_rows(connection, stick, [{"revision_id": draft, **_row(piece)} for piece in edited.pieces])
    number = await publish(connection, STOCK, draft, today, who, edited.why, asker.caller.name)
    path = f"{code}/stock/{edited.subject}" if edited.subject else f"{code}/stock"
    details = {
        "count": number, "added": difference.added, "removed": difference.removed, "changed": difference.changed,
        **edited.details,
    }
    await record(connection, asker, edited.action, path, region_id, details)
    return Changed(await _yard(connection, code, today), difference)


async def _revision_id(connection: AsyncConnection, region_id: int, number: int) -> int | None:
    r = stock_revision.c
    query = select(r.id).where(r.region_id == region_id, r.number == number)
    found = (await connection.execute(query)).scalar_one_or_none()
    return None if found is None else int(found)


async def _yard(connection: AsyncConnection, region: str, day: date) -> Yard:
    """A region's own count in force on a day; without a number where there is none."""
    rows = (await connection.execute(_own(region, day))).all()
    if not rows:
        return Yard(region, 0, None, None, "", "", ())
    first = rows[0]
    pieces = tuple(_piece(row) for row in rows if row.code is not None)
    name = first.name or first.who
    return Yard(region, first.number, first.effective_from, first.published_at, name, first.why, pieces, first.who)


def _own(region: str, day: date) -> Select[Any]:
    """The count in force with its pieces; one row without a code if it found none."""
    r = stock_revision.c
    return (
        select(r.number, r.effective_from, r.published_at, r.who, r.name, r.why, *(stick.c[name] for name in FIELDS.values()))
        .select_from(regions)
        .join(stock_period, and_(stock_period.c.region_id == regions.c.id, stock_period.c.days.contains(day)))
        .join(stock_revision, r.id == stock_period.c.revision_id)
        .outerjoin(stick, stick.c.revision_id == r.id)
        .where(regions.c.code == region)
        .order_by(stick.c.code)
    )


def _counts(region_id: int, below: int | None, limit: int) -> Select[Any]:
    """Counts of a region with the id of the one before each."""
    r = stock_revision.c
    before = stock_revision.alias("before")
    query = (
        select(
            r.id, r.number, r.effective_from, r.published_at, r.who, r.name, r.why, before.c.id.label("before"),
            func.lower(stock_period.c.days).label("since"), func.upper(stock_period.c.days).label("until"),
        )
        .outerjoin(before, and_(before.c.region_id == r.region_id, before.c.number == r.number - 1))
        .outerjoin(stock_period, stock_period.c.revision_id == r.id)
        .where(r.region_id == region_id, r.number.is_not(None))
        .order_by(r.number.desc())
        .limit(limit)
    )
    return query if below is None else query.where(r.number < below)


async def _pieces_of(connection: AsyncConnection, revisions: Sequence[int]) -> Mapping[int, list[Piece]]:
    """The pieces of several counts, by the id of the count."""
    found: dict[int, list[Piece]] = {}
    for row in await connection.execute(select(stick).where(stick.c.revision_id.in_(revisions))):
        found.setdefault(row.revision_id, []).append(_piece(row))
    return found


def _count(row: Row[Any], found: Mapping[int, list[Piece]]) -> Count:
    pieces = found.get(row.id, [])
    difference = difference_of([] if row.before is None else found.get(row.before, []), pieces)
    return Count(
        number=row.number, effective=row.effective_from, in_force=None if row.since is None else (row.since, row.until),
        counted_at=row.published_at, who=row.name or row.who, why=row.why, pieces=len(pieces), difference=difference,
        who_id=row.who,
    )


def _piece(row: Row[Any]) -> Piece:
    return Piece(**{name: getattr(row, column) for name, column in FIELDS.items()})


def _row(piece: Piece) -> dict[str, Any]:
    return {column: getattr(piece, name) for name, column in FIELDS.items()}


