"""Keys while the database is away: those that were valid go on, nobody else is let in, and no key is half made."""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import httpx
import pytest

from service.application.access import SCOPES
from service.application.keyring import new_key
from service.bootstrap import create_app
from service.storage.keys import make_key
from tests.conftest import bare_engine
from tests.rates.conftest import SECRET, living, settings_for
from tests.rates.database import Database
from tests.rates.test_keys import OFFICE

PEPPER = SECRET.encode()
BACK_S = 60.0


@pytest.fixture(scope="module")
def database() -> Iterator[Database]:
    with tempfile.TemporaryDirectory(prefix="pg-") as folder, Database(Path(folder), durable=False) as made:
        yield made


async def made_key(database: Database) -> str:
    engine = bare_engine(database.url)
    async with engine.begin() as connection:
        key = await make_key(
            connection, PEPPER, sort="server", name="of a test", scopes=SCOPES, regions=None, made_by="tests"
        )
    await engine.dispose()
    return key.text


@pytest.fixture
async def client(database: Database) -> AsyncIterator[httpx.AsyncClient]:
    """A client with a key of a service that asks about keys with each request."""
    key = await made_key(database)
    app = create_app(settings_for(database.url, database_patience_s=0.5, check_keys_s=0.0))
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    async with living(app), httpx.AsyncClient(
        transport=transport, base_url="http://rates.test", headers={"X-API-Key": key}
    ) as made:
        yield made


async def test_while_it_refuses_or_hangs_known_keys_go_on_and_others_cannot_be_checked(
    database: Database, client: httpx.AsyncClient
) -> None:
    unseen, invented = await made_key(database), new_key("server", PEPPER).text
    for leave, come_back in ((database.stop, database.start), (database.hang, database.go_on)):
        await _answered(client, client.headers["x-api-key"], 200)
        leave()
        try:
            # The whole ring was read, so a key that nobody has shown yet is known all the same.
            for key in (client.headers["x-api-key"], unseen):
                assert (await client.get("/v1/regions", headers={"X-API-Key": key})).status_code == 200
            answer = await client.get("/v1/regions", headers={"X-API-Key": invented})
            assert (answer.status_code, answer.json()["type"]) == (503, "/problems/gate-away")
            assert answer.headers["retry-after"]
            assert (await client.get("/v1/regions", headers={"X-API-Key": invented[:-1]})).status_code == 401
            for address in ("/v1/keys", "/v1/keys/aaaaaaaaaaaa/rotate"):
                making = await client.post(address, json=OFFICE if address == "/v1/keys" else {})
                assert (making.status_code, making.json()["type"]) == (503, "/problems/not-stored")
        finally:
            come_back()
        await _answered(client, invented, 401)


async def test_a_key_that_is_revoked_while_nobody_could_hear_of_it_stops_when_the_database_is_back(
    database: Database, client: httpx.AsyncClient
) -> None:
    other = await made_key(database)
    await _answered(client, other, 200)
    database.stop()
    assert (await client.get("/v1/regions", headers={"X-API-Key": other})).status_code == 200
    database.start()
    engine = bare_engine(database.url)
    async with engine.begin() as connection:
        # Behind the service's back, without a notice: as a restored backup would.
        await connection.exec_driver_sql(f"UPDATE api_key SET revoked_at = now() WHERE id = '{other.split('_')[2]}'")
    await engine.dispose()
    await _answered(client, other, 401)


async def _answered(client: httpx.AsyncClient, key: str, expected: int) -> None:
    until = asyncio.get_running_loop().time() + BACK_S
    while (answer := await client.get("/v1/regions", headers={"X-API-Key": key})).status_code != expected:
        assert asyncio.get_running_loop().time() < until, answer.text
        await asyncio.sleep(0.1)
