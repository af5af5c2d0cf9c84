"""Notices: told what is committed, told that everything may have changed after a gap, and never deaf for long."""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

from sqlalchemy import text
from sqlalchemy.ext.asyncio import AsyncEngine

from service.storage.notices import BOOKS, KEYS, LISTENER, Notices, notice
from tests.conftest import bare_engine
from tests.rates.database import Database

PATIENCE_S = 0.5
PULSE_S = 0.2
Heard = list[str | None]


@asynccontextmanager
async def listening(engine: AsyncEngine) -> AsyncIterator[tuple[Heard, Heard]]:
    """What was heard of books and of keys, so far."""
    books: Heard = []
    keys: Heard = []
    notices = Notices(engine, PATIENCE_S, PULSE_S)
    notices.on(BOOKS, books.append)
    notices.on(KEYS, keys.append)
    task = asyncio.create_task(notices.run())
    yield books, keys
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)


async def until(holds: Callable[[], bool]) -> None:
    """Wait until it holds; for ever is thirty seconds."""
    async with asyncio.timeout(30.0):
        while not holds():  # noqa: ASYNC110  # hooks have no event
            await asyncio.sleep(0.01)


async def tell(engine: AsyncEngine, *told: tuple[str, str], keep: bool = True) -> None:
    async with engine.connect() as connection:
        for channel, payload in told:
            await connection.execute(notice(channel, payload))
        await (connection.commit() if keep else connection.rollback())


async def test_each_hook_hears_its_own_channel_after_the_commit_and_not_what_was_undone(engine: AsyncEngine) -> None:
    async with listening(engine) as (books, keys):
        await until(lambda: books == [None] == keys)
        await tell(engine, (BOOKS, "undone"), keep=False)
        await tell(engine, (BOOKS, "north-valley"), (KEYS, "k1"), ("other", "x"))
        await until(lambda: len(books) > 1 and len(keys) > 1)

    assert books == [None, "north-valley"]
    assert keys == [None, "k1"]


async def test_a_connection_that_is_cut_is_made_anew_and_everything_counts_as_changed(engine: AsyncEngine) -> None:
    async with listening(engine) as (books, keys):
        await until(lambda: books == [None])
        async with engine.connect() as connection:
            cut = (
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
                " WHERE application_name = :name AND datname = current_database()"
            )
            await connection.execute(text(cut), {"name": LISTENER})
        await until(lambda: books == [None, None] == keys)
        await tell(engine, (BOOKS, "north-valley"))
        await until(lambda: books[-1] == "north-valley")


async def test_it_waits_for_a_database_that_is_not_there_and_leaves_one_that_hangs() -> None:
    """A hung server keeps its connections: only that it does not answer gives it away."""
    with tempfile.TemporaryDirectory(prefix="pg-") as folder:
        database = Database(Path(folder))
        database.start()
        database.stop()
        engine = bare_engine(database.url)
        async with listening(engine) as (books, _):
            await asyncio.sleep(0.3)
            assert books == []
            await asyncio.to_thread(database.start)
            try:
                await until(lambda: books == [None])
                database.hang()
                await asyncio.sleep(PULSE_S + 2 * PATIENCE_S)
                database.go_on()
                await until(lambda: books == [None, None])
                await tell(engine, (BOOKS, "north-valley"))
                await until(lambda: books[-1] == "north-valley")
            finally:
                await asyncio.to_thread(database.stop)
