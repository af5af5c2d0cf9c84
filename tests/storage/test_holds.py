"""Until when a piece is held goes from the count to the book, and the database knows no hold for nobody."""

from __future__ import annotations

from datetime import date

import pytest
from asyncpg.exceptions import CheckViolationError
from sqlalchemy.ext.asyncio import AsyncEngine

from service.storage.books import PostgresBooks
from tests.storage.factory import SPRING, line, new_region, piece, publish_book, publish_count


async def test_the_book_says_until_when_a_piece_is_held(engine: AsyncEngine) -> None:
    until = date(2026, 6, 30)
    async with engine.begin() as connection:
        region_id, code = await new_region(connection)
        await publish_book(connection, region_id, line("lead"))
        await publish_count(
            connection, region_id, piece("a"), piece("b", held_for="x"), piece("c", held_for="x", held_until=until)
        )
    books = PostgresBooks(engine, 5.0)
    book = await books.book(code, (await books.chain(code, SPRING)).revision, SPRING)
    assert [(s.held_for, s.held_until) for s in book.yard] == [(None, None), ("x", None), ("x", until)]
    assert [s.is_held_on(until) for s in book.yard] == [False, True, True]
    assert [s.is_held_on(date(2026, 7, 1)) for s in book.yard] == [False, True, False]


async def test_nothing_is_held_until_a_day_for_nobody(engine: AsyncEngine) -> None:
    async with engine.begin() as connection:
        region_id, _ = await new_region(connection)
    with pytest.raises(CheckViolationError, match="held_for_a_job"):
        async with engine.begin() as connection:
            await publish_count(connection, region_id, piece("a", held_until=SPRING))
