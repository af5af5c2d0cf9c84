"""Rows of a region's own revisions of its book: by id, by number, the newest, the one that is in force."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncConnection

from service.storage.tables import book_period, book_revision


async def revision(connection: AsyncConnection, revision_id: int | None) -> Any:
    """The row of a revision; None for None."""
    return (await connection.execute(select(book_revision).where(book_revision.c.id == revision_id))).one_or_none()


async def numbered(connection: AsyncConnection, region_id: int, number: int) -> Any:
    """The row of the region's published revision of a number; None for none."""
    asked = select(book_revision).where(book_revision.c.region_id == region_id, book_revision.c.number == number)
    return (await connection.execute(asked)).one_or_none()


async def newest(connection: AsyncConnection, region_id: int) -> Any:
    """The row of the region's newest published revision; None for none."""
    r = book_revision.c
    asked = select(book_revision).where(r.region_id == region_id, r.status == "published").order_by(r.number.desc()).limit(1)
    return (await connection.execute(asked)).one_or_none()


async def in_force(connection: AsyncConnection, region_id: int, day: date) -> Any:
    """The row of the region's own revision that is in force on a day; None for none."""
    asked = (
        select(book_revision)
        .join(book_period, book_period.c.revision_id == book_revision.c.id)
        .where(book_period.c.region_id == region_id, book_period.c.days.contains(day))
    )
    return (await connection.execute(asked)).one_or_none()


def id_of(row: Any) -> int | None:
    """The id of a revision's row; None for None."""
    return None if row is None else int(row.id)


def number_of(row: Any) -> int | None:
    """The number of a revision's row; None for None."""
    return None if row is None else int(row.number)
