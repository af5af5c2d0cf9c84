"""Reading rates while the database is away: what was read before is read on, the rest is asked for later."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import httpx
from sqlalchemy import text

from service.storage.database import async_url
from tests.conftest import bare_engine

HERE = "/v1/regions/kestrel-range"


@asynccontextmanager
async def shut(server: str, url: str) -> AsyncIterator[None]:
    """The database takes no connection and has none, until the end."""
    name = async_url(url).database

    async def run(*statements: str) -> None:
        engine = bare_engine(server).execution_options(isolation_level="AUTOCOMMIT")
        async with engine.connect() as connection:
            for statement in statements:
                await connection.execute(text(statement))
        await engine.dispose()

    await run(
        f"ALTER DATABASE {name} ALLOW_CONNECTIONS false",
        f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'",
    )
    try:
        yield
    finally:
        await run(f"ALTER DATABASE {name} ALLOW_CONNECTIONS true")


async def test_what_was_read_before_is_read_on_and_the_rest_is_asked_for_later(
    office: httpx.AsyncClient, database_server: str, loaded_url: str
) -> None:
    known = ("lines", "lines/resources/lead", "lines?section=norms&sort=distance&limit=5")
    before = {path: await office.get(f"{HERE}/{path}") for path in known}
    rates = before["lines"].json()["rates"]
    async with shut(database_server, loaded_url):
        for path, answer in before.items():
            again = await office.get(f"{HERE}/{path}")
            assert (again.status_code, again.content) == (200, answer.content), path
        sheet = await office.get(f"{HERE}/lines?own=own,overridden", headers={"Accept": "text/csv"})
        assert sheet.status_code == 200
        told = await office.post(f"{HERE}/changes", json={"rates": rates})
        assert (told.status_code, told.json()["lines"]) == (200, [])
        history = ("revisions", "revisions/1", "lines/resources/lead/history", "compare?from=1&to=1")
        for path in (*history, "lines?rates=base@7/kestrel-range@1"):
            answer = await office.get(f"{HERE}/{path}")
            assert answer.status_code == 503, path
            assert answer.json()["type"] == "/problems/books-unavailable"
            assert int(answer.headers["retry-after"]) > 0
    assert (await office.get(f"{HERE}/revisions")).status_code == 200
