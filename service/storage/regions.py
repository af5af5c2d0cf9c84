"""Regions by their codes: their ids, what they inherit from, and the chain that is in force on a day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from sqlalchemy import Row, select
from sqlalchemy.ext.asyncio import AsyncConnection

from service.application.money_lines import OtherMoney
from service.application.ports import NoBookError, UnknownRegionError
from service.storage import queries
from service.storage.chains import Link, written
from service.storage.tables import region


async def id_of_region(connection: AsyncConnection, code: str) -> int:
    """The id of a region.

    Raises:
        UnknownRegionError: there is none of that code.
    """
    found = (await connection.execute(select(region.c.id).where(region.c.code == code))).scalar_one_or_none()
    if found is None:
        raise await _unknown(connection, code)
    return int(found)


async def family_of(connection: AsyncConnection, code: str) -> Sequence[Row[Any]]:
    """The rows of a region and of all that it inherits from, the top first.

    Raises:
        UnknownRegionError: there is none of that code.
    """
    found: Sequence[Row[Any]] = (await connection.execute(queries.family(code))).all()
    if not found:
        raise await _unknown(connection, code)
    return found


async def other_money(connection: AsyncConnection, code: str) -> OtherMoney:
    """The regions above and below a region that reckon in other money."""
    family = await family_of(connection, code)
    below = queries.descendants(code)
    rows = await connection.execute(select(region.c.code, region.c.currency).join(below, below.c.id == region.c.id))
    own = family[-1].currency
    return OtherMoney(
        frozenset(member.code for member in family if member.currency != own),
        frozenset(row.code for row in rows if row.currency != own),
    )


async def chain_of(connection: AsyncConnection, code: str, day: date) -> Sequence[Row[Any]]:
    """What is in force on a day for a region and all that it inherits from, the top first (see `queries.chain`).

    Raises:
        UnknownRegionError: there is none of that code.
        NoBookError: it, or one that it inherits from, has no book in force on that day.
    """
    found: Sequence[Row[Any]] = (await connection.execute(queries.chain(code, day))).all()
    if not found:
        raise await _unknown(connection, code)
    without = tuple(row.code for row in found if row.book is None)
    if without:
        raise NoBookError(code, day, without)
    return found


def rates_of(chain: Sequence[Row[Any]]) -> str:
    """The string that fixes a chain (R37)."""
    return written(Link(row.code, row.book, row.stock) for row in chain)


async def _unknown(connection: AsyncConnection, code: str) -> UnknownRegionError:
    known = (await connection.execute(queries.regions())).all()
    return UnknownRegionError(code, tuple(row.code for row in known))
