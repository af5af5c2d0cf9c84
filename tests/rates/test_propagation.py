"""Every replica quotes from what was published, within a second: by notice alone, and also when notices were lost."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Iterator
from contextlib import ExitStack

import psutil
import pytest
from sqlalchemy import text
from sqlalchemy.ext.asyncio import AsyncEngine

from service.storage.notices import LISTENER
from tests.rates.database import nobody_let_in
from tests.rates.processes import Service, all_rates, publish_again, publish_on

A_SECOND = 1.0
NEVER = "3600"
"""How often these replicas ask by themselves [s]: within a test never, so that only a notice can have told them."""
WORKERS = 2


@pytest.fixture(scope="module")
def replicas(loaded_url: str) -> Iterator[list[Service]]:
    """Three replicas, the first with two worker processes."""
    with ExitStack() as stack:
        made = [
            stack.enter_context(Service(loaded_url, {"check_books_s": NEVER, "workers": str(workers)}))
            for workers in (WORKERS, 1, 1)
        ]
        for replica in made:
            replica.wait_until_ready()
        yield made


@pytest.fixture
async def listeners(replicas: list[Service], loaded_engine: AsyncEngine) -> list[int]:
    """Server processes of the connections that listen, as soon as all do."""
    return await all_listening(loaded_engine, WORKERS + len(replicas) - 1)


async def all_listening(engine: AsyncEngine, count: int, gone: frozenset[int] = frozenset()) -> list[int]:
    """Server processes of so many connections that listen; those that are gone may take a moment to be so."""
    asked = text("SELECT pid FROM pg_stat_activity WHERE application_name = :name AND datname = current_database()")
    async with asyncio.timeout(60.0):
        while True:
            async with engine.connect() as connection:
                found = list((await connection.execute(asked, {"name": LISTENER})).scalars())
            if len(found) == count and not gone & set(found):
                return found
            await asyncio.sleep(0.05)


async def a_second_after(committed_at: float) -> None:
    await asyncio.sleep(max(0.0, committed_at + A_SECOND - time.monotonic()))


async def test_each_worker_of_each_replica_hears_of_a_publication_by_notice_alone(
    replicas: list[Service], loaded_engine: AsyncEngine, listeners: list[int]
) -> None:
    assert len(listeners) == 4
    for code in ("kestrel-range", "base", "kestrel-range"):
        before = set(await all_rates(replicas, times=6))
        number = await publish_again(loaded_engine, code)
        await a_second_after(time.monotonic())
        after = set(await all_rates(replicas, times=6))

        assert len(before) == len(after) == 1
        assert f"{code}@{number}" in after.pop()


async def test_what_is_not_committed_is_not_quoted_from(
    replicas: list[Service], loaded_engine: AsyncEngine, listeners: list[int]
) -> None:
    before = set(await all_rates(replicas))
    async with loaded_engine.connect() as connection:
        await publish_on(connection, "kestrel-range")
        await connection.rollback()
    await a_second_after(time.monotonic())

    assert set(await all_rates(replicas)) == before
    assert listeners


async def test_what_was_published_while_nobody_listened_is_found_out(
    replicas: list[Service], loaded_url: str, loaded_engine: AsyncEngine, listeners: list[int]
) -> None:
    before = set(await all_rates(replicas, times=4))
    async with loaded_engine.begin() as connection, nobody_let_in(loaded_url):
        ended = text("SELECT bool_and(pg_terminate_backend(pid, 5000)) FROM unnest(CAST(:pids AS integer[])) pid")
        assert (await connection.execute(ended, {"pids": listeners})).scalar_one()
        number = await publish_on(connection, "kestrel-range")
        await connection.commit()
        assert set(await all_rates(replicas, times=4)) == before
    # How soon depends on how long the database let nobody in; that they ask anew by themselves is what counts.
    async with asyncio.timeout(30.0):
        while not all(f"kestrel-range@{number}" in rates for rates in await all_rates(replicas, 4)):  # noqa: ASYNC110  # asks others
            await asyncio.sleep(0.1)


async def test_a_worker_that_was_killed_is_replaced_and_the_new_one_hears_too(
    replicas: list[Service], loaded_engine: AsyncEngine, listeners: list[int]
) -> None:
    process = replicas[0].process
    assert process is not None
    workers = psutil.Process(process.pid).children()
    answering = [worker for worker in workers if worker.memory_info().rss == max(w.memory_info().rss for w in workers)]
    answering[0].kill()
    async with loaded_engine.connect() as connection:
        there = text("SELECT pid FROM pg_stat_activity WHERE pid = ANY(CAST(:pids AS integer[]))")
        async with asyncio.timeout(30.0):
            while len(left := set((await connection.execute(there, {"pids": listeners})).scalars())) == len(listeners):
                await connection.rollback()
                await asyncio.sleep(0.05)
    await all_listening(loaded_engine, len(listeners), frozenset(set(listeners) - left))
    number = await publish_again(loaded_engine)
    await a_second_after(time.monotonic())

    assert all(f"kestrel-range@{number}" in rates for rates in await all_rates(replicas, times=6))
