"""Putting a revision in force. The one way in which a draft becomes a published revision."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Table, delete, func, insert, select, update
from sqlalchemy.dialects.postgresql import Range
from sqlalchemy.ext.asyncio import AsyncConnection

from service.storage.notices import BOOKS, notice
from service.storage.tables import book_period, book_revision, rate_line, region, stick, stock_period, stock_revision


@dataclass(frozen=True, slots=True)
class Kind:
    """What is published: a book or a count of the yard, with its three tables."""

    revisions: Table
    periods: Table
    rows: Table


BOOK = Kind(book_revision, book_period, rate_line)
STOCK = Kind(stock_revision, stock_period, stick)


async def open_draft(
    connection: AsyncConnection, kind: Kind, region_id: int, who: str, based_on: int | None = None,
    reverts_to: int | None = None,
) -> int:
    """A new, empty draft; `reverts_to` is the id of a book that it goes back to. Returns its id."""
    row = {"region_id": region_id, "who": who, "based_on_id": based_on}
    if reverts_to is not None:
        row["reverts_to_id"] = reverts_to
    made = await connection.execute(insert(kind.revisions).values(row).returning(kind.revisions.c.id))
    return int(made.scalar_one())


async def take_turn(connection: AsyncConnection, kind: Kind, region_id: int) -> None:
    """Let publications for one region wait for each other until this transaction ends: number and calendar are theirs in turn.

    Whoever looks at what is in force before publishing takes its turn before it looks.
    """
    await connection.execute(select(func.pg_advisory_xact_lock(_lock(kind), region_id)))


async def watch(connection: AsyncConnection, kind: Kind, region_id: int) -> None:
    """Keep a region from publishing until this transaction ends, beside others who keep it from it too."""
    await connection.execute(select(func.pg_advisory_xact_lock_shared(_lock(kind), region_id)))


async def publish(
    connection: AsyncConnection, kind: Kind, draft: int, effective: date, who: str, why: str, name: str = ""
) -> int:
    """Number the draft, freeze it, and put it in force from a day until the next scheduled revision.

    A revision in force on that day ends there; one that is scheduled for later stays scheduled. Every process of the
    service is told when the transaction is committed. Returns the number.
    """
    revisions = kind.revisions
    region_id = (
        await connection.execute(select(revisions.c.region_id).where(revisions.c.id == draft).with_for_update())
    ).scalar_one()
    await take_turn(connection, kind, region_id)
    newest = select(func.coalesce(func.max(revisions.c.number), 0)).where(revisions.c.region_id == region_id)
    number = (await connection.execute(newest)).scalar_one() + 1
    await connection.execute(
        update(revisions)
        .where(revisions.c.id == draft)
        .values(
            status="published",
            number=number,
            effective_from=effective,
            published_at=func.clock_timestamp(),
            who=who,
            name=name,
            why=why,
        )
    )
    await _put_in_force(connection, kind.periods, region_id, draft, effective)
    code = (await connection.execute(select(region.c.code).where(region.c.id == region_id))).scalar_one()
    await connection.execute(notice(BOOKS, code))
    return int(number)


def _lock(kind: Kind) -> int:
    return 7402 if kind is BOOK else 7403


async def _put_in_force(
    connection: AsyncConnection, periods: Table, region_id: int, revision_id: int, effective: date
) -> None:
    own = periods.c.region_id == region_id
    await connection.execute(delete(periods).where(own, func.lower(periods.c.days) == effective))
    await connection.execute(
        update(periods)
        .where(own, periods.c.days.contains(effective))
        .values(days=func.daterange(func.lower(periods.c.days), effective))
    )
    later = select(func.min(func.lower(periods.c.days))).where(own, func.lower(periods.c.days) > effective)
    until = (await connection.execute(later)).scalar_one()
    await connection.execute(
        insert(periods).values(region_id=region_id, revision_id=revision_id, days=Range(effective, until))
    )
