"""The database away, in every way that it can be: quotes go on and say so, edits are refused and lose nothing, all recovers."""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from contextlib import AbstractAsyncContextManager, AsyncExitStack, asynccontextmanager
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from uuid import uuid4

import asyncpg
import httpx
import pytest
from sqlalchemy import text

from service.application.access import SCOPES
from service.bootstrap import create_app
from service.storage.keys import make_key
from service.web.front import Front
from tests.conftest import bare_engine
from tests.rates.conftest import SECRET, living, settings_for
from tests.rates.database import Database, nobody_let_in
from tests.rates.processes import QUOTE, REGION, publish_again

DRAFTS = f"/v1/regions/{REGION}/drafts"
PATIENCE_S = 1.0
SOON_S = 20.0
"""A worker that has not stopped after half as long again is killed (`bootstrap.LAST_ANSWERS_S`) [s]."""
MANY = 30
"""More than the pool has connections."""

LATE = ("/problems/not-stored", "/problems/books-unavailable", "/problems/gate-away")
"""Answers that say that the database did not answer in time, and that nothing was stored."""

Away = Callable[[Database], AbstractAsyncContextManager[None]]


@pytest.fixture(scope="module")
def database() -> Iterator[Database]:
    """A server of this module's own, with the books."""
    with tempfile.TemporaryDirectory(prefix="pg-") as folder, Database(Path(folder)) as made:
        yield made


@pytest.fixture
async def office(database: Database) -> AsyncIterator[httpx.AsyncClient]:
    """An office without drafts, of a service that asks often and waits briefly."""
    engine = bare_engine(database.url)
    async with engine.begin() as connection:
        key = await make_key(
            connection, SECRET.encode(), sort="server", name="office", scopes=SCOPES, regions=[REGION], made_by="tests"
        )
    app = create_app(settings_for(database.url, database_patience_s=PATIENCE_S, check_books_s=0.2))
    async with living(app), client_of(app, key.text) as client:
        await patiently(lambda: client.post("/v1/quotes", json=QUOTE))
        yield client
        await thrown_away(client)


def client_of(app: Front, key: str) -> httpx.AsyncClient:
    return httpx.AsyncClient(
        transport=httpx.ASGITransport(app=app, raise_app_exceptions=False), base_url="http://rates.test", timeout=60.0,
        headers={"Authorization": f"Bearer {key}"},
    )


# ---- ways to be away -----------------------------------------------------------------------------------------------------


@asynccontextmanager
async def stopped(database: Database) -> AsyncIterator[None]:
    """Connections are refused."""
    await asyncio.to_thread(database.stop)
    try:
        yield
    finally:
        await asyncio.to_thread(database.start)


@asynccontextmanager
async def killed(database: Database) -> AsyncIterator[None]:
    """Killed in the middle of everything."""
    await asyncio.to_thread(database.kill)
    try:
        yield
    finally:
        await asyncio.to_thread(database.start)


@asynccontextmanager
async def hung(database: Database) -> AsyncIterator[None]:
    """Connections are taken and never answered."""
    database.hang()
    try:
        yield
    finally:
        database.go_on()


@asynccontextmanager
async def busy(database: Database) -> AsyncIterator[None]:
    """Somebody holds a lock that everything waits for, until all connections of the pool wait."""
    async with bare_engine(database.url).connect() as connection:
        await connection.execute(text("LOCK TABLE region, book_revision, audit_entry IN ACCESS EXCLUSIVE MODE"))
        yield
        await connection.rollback()


@asynccontextmanager
async def shut(database: Database) -> AsyncIterator[None]:
    """It cuts everybody off and lets nobody in again."""
    async with bare_engine(database.url).connect() as connection, nobody_let_in(database.url):
        others = (
            "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )
        await connection.execute(text(others))
        yield


@asynccontextmanager
async def following(database: Database) -> AsyncIterator[None]:
    """Another server took its place that only follows, and was not told to lead yet: it answers, and keeps nothing."""
    await asyncio.to_thread(database.stop)
    database.signal_file("standby.signal")
    await asyncio.to_thread(database.start)
    try:
        yield
    finally:
        engine = bare_engine(database.url)
        async with engine.connect() as connection:
            await connection.execute(text("SELECT pg_promote()"))


# ---- what holds in all of them -------------------------------------------------------------------------------------------


async def patiently(ask: Callable[[], Awaitable[httpx.Response]]) -> httpx.Response:
    """An answer of a database that is there, on a machine that may have other things to do: asked anew while it is late."""
    async with asyncio.timeout(60.0):
        while (answer := await ask()).status_code == 503 and answer.json()["type"] in LATE:  # noqa: ASYNC110  # asks the database
            await asyncio.sleep(0.1)
    return answer


async def quoted(office: httpx.AsyncClient) -> httpx.Response:
    answer = await office.post("/v1/quotes", json=QUOTE)
    assert answer.status_code == 200, answer.text
    return answer


async def edited(office: httpx.AsyncClient, note: str) -> httpx.Response:
    return await office.post(DRAFTS, json={"note": note})


async def kept(office: httpx.AsyncClient, note: str) -> httpx.Response:
    """An edit that nothing speaks against; repeated with one key, so that it is settled where its commit took too long."""
    once = {"Idempotency-Key": uuid4().hex}
    async with asyncio.timeout(60.0):
        while (answer := await office.post(DRAFTS, json={"note": note}, headers=once)).status_code in (409, 503):  # noqa: ASYNC110
            await asyncio.sleep(0.1)
    return answer


async def notes(office: httpx.AsyncClient) -> list[str]:
    """The notes of the drafts that are there."""
    answer = await patiently(lambda: office.get(DRAFTS))
    assert answer.status_code == 200, answer.text
    return sorted(draft["note"] for draft in answer.json()["drafts"])


async def thrown_away(office: httpx.AsyncClient) -> None:
    """All drafts of the region."""
    for draft in (await patiently(lambda: office.get(DRAFTS))).json()["drafts"]:
        read = partial(office.get, f"{DRAFTS}/{draft['id']}")
        tag = (await patiently(read)).headers["etag"]
        throw = partial(office.delete, f"{DRAFTS}/{draft['id']}", headers={"If-Match": tag})
        assert (await patiently(throw)).status_code == 204


async def recovered(office: httpx.AsyncClient) -> httpx.Response:
    """The first quote that is sure of its rates again; nobody does anything for it."""
    async with asyncio.timeout(60.0):
        while (answer := await quoted(office)).headers["rates-degraded"] == "true":  # noqa: ASYNC110  # asks the database
            await asyncio.sleep(0.1)
    return answer


@pytest.mark.parametrize("away", [stopped, killed, hung, busy, shut])
async def test_quotes_go_on_edits_are_refused_and_nothing_is_lost(
    database: Database, office: httpx.AsyncClient, away: Away
) -> None:
    before = await quoted(office)
    assert (await kept(office, "before")).status_code == 201
    async with away(database):
        first = await unsure(office)
        await asyncio.sleep(1.1)
        later = await quoted(office)
        ready = await office.get("/readyz")
        refused = await edited(office, "meanwhile")
        published = await office.post(f"{DRAFTS}/1/publish", json={"why": "meanwhile"}, headers={"If-Match": '"d1-1"'})

    assert first.content == later.content == before.content
    assert int(later.headers["rates-age"]) >= 1
    assert later.headers["rates-degraded"] == "true"
    assert (ready.status_code, ready.json()["ready"], ready.json()["degraded"]) == (200, True, True)
    for answer in (refused, published):
        assert answer.status_code == 503, answer.text
        assert int(answer.headers["retry-after"]) > 0
        assert answer.json()["type"] == "/problems/not-stored"
    await recovered(office)
    assert (await office.get("/readyz")).json()["degraded"] is False
    assert (await kept(office, "after")).status_code == 201
    assert await notes(office) == ["after", "before"]


@pytest.mark.parametrize("away", [stopped, killed, hung])
async def test_it_stops_soon_whatever_the_database_does(database: Database, away: Away) -> None:
    app = create_app(settings_for(database.url, open_scopes=frozenset({"quote"})))
    async with AsyncExitStack() as life:
        await life.enter_async_context(living(app))
        async with client_of(app, "") as client:
            del client.headers["Authorization"]
            answers = await asyncio.gather(*(client.get("/v1/regions") for _ in range(MANY)))
        assert {answer.status_code for answer in answers} == {200}
        async with away(database), asyncio.timeout(SOON_S):
            await life.aclose()


async def unsure(office: httpx.AsyncClient) -> httpx.Response:
    """The first quote that says that it is not sure of its rates."""
    async with asyncio.timeout(60.0):
        while (answer := await quoted(office)).headers["rates-degraded"] == "false":  # noqa: ASYNC110  # asks the database
            await asyncio.sleep(0.05)
    return answer


async def test_a_server_that_only_follows_is_quoted_from_and_takes_no_edits(
    database: Database, office: httpx.AsyncClient
) -> None:
    await quoted(office)
    assert (await kept(office, "before")).status_code == 201
    async with following(database):
        await recovered(office)
        refused = await edited(office, "meanwhile")
        there = await notes(office)

    assert (refused.status_code, refused.json()["type"], "retry-after" in refused.headers) == (503, "/problems/not-stored", True)
    assert there == ["before"]
    assert (await kept(office, "after")).status_code == 201
    assert await notes(office) == ["after", "before"]


async def test_a_server_that_takes_long_to_recover_is_waited_for(database: Database, office: httpx.AsyncClient) -> None:
    """It comes back in recovery: it takes connections only to say that it is starting up."""
    await quoted(office)
    await asyncio.to_thread(database.stop)
    database.signal_file("recovery.signal")
    database.setting("restore_command = 'sleep 1; false'")
    database.setting("hot_standby = off")
    coming = asyncio.create_task(asyncio.to_thread(database.start))
    starting_up = kept = 0
    while not coming.done():
        _, edit = await asyncio.gather(quoted(office), edited(office, "meanwhile"))
        assert edit.status_code in (201, 503), edit.text
        kept += edit.status_code == 201
        try:
            (await asyncpg.connect(database.url, timeout=PATIENCE_S)).terminate()
        except asyncpg.CannotConnectNowError:
            starting_up += 1
        except (OSError, TimeoutError):
            pass
        await asyncio.sleep(0.1)
    await coming
    database.setting("hot_standby = on")

    assert starting_up > 0
    await recovered(office)
    assert len(await notes(office)) == kept


async def test_more_edits_than_connections_wait_in_vain_and_none_is_kept(
    database: Database, office: httpx.AsyncClient
) -> None:
    await quoted(office)
    async with busy(database):
        answers = await asyncio.gather(*(edited(office, f"{n}") for n in range(MANY)))
        quotes = await asyncio.gather(*(quoted(office) for _ in range(5)))

    assert {answer.status_code for answer in answers} == {503}
    assert {answer.json()["type"] for answer in answers} == {"/problems/not-stored"}
    assert len({answer.content for answer in quotes}) == 1
    await recovered(office)
    assert await notes(office) == []


async def test_what_was_published_by_others_meanwhile_is_quoted_from_as_soon_as_it_can_be_seen(
    database: Database, office: httpx.AsyncClient
) -> None:
    before = await quoted(office)
    async with hung(database):
        await unsure(office)
    number = await publish_again(bare_engine(database.url))
    async with asyncio.timeout(60.0):
        while f"{REGION}@{number}" not in (answer := await quoted(office)).json()["rates"]:
            assert answer.json()["rates"] == before.json()["rates"]
            await asyncio.sleep(0.05)
    assert (await recovered(office)).json()["rates"] == answer.json()["rates"]
    assert datetime.now(UTC).date().isoformat() == answer.json()["priced_on"]


@asynccontextmanager
async def kept_but_not_confirmed(database: Database) -> AsyncIterator[None]:
    """A commit is written down, and its confirmation waits for a second server that is not there."""
    await run(database, "ALTER SYSTEM SET synchronous_standby_names = 'nobody'", "SELECT pg_reload_conf()")
    await asyncio.sleep(0.5)
    try:
        yield
    finally:
        await run(database, "ALTER SYSTEM RESET synchronous_standby_names", "SELECT pg_reload_conf()")


@asynccontextmanager
async def undone_at_the_last_moment(database: Database) -> AsyncIterator[None]:
    """A commit takes too long and is undone, because its connection is given up."""
    await run(
        database,
        "CREATE FUNCTION dawdle() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN PERFORM pg_sleep(20); RETURN NEW; END'",
        "CREATE CONSTRAINT TRIGGER dawdle AFTER INSERT ON book_revision DEFERRABLE INITIALLY DEFERRED"
        " FOR EACH ROW EXECUTE FUNCTION dawdle()",
    )
    try:
        yield
    finally:
        await run(database, "DROP TRIGGER dawdle ON book_revision", "DROP FUNCTION dawdle()")


async def run(database: Database, *statements: str) -> None:
    engine = bare_engine(database.url).execution_options(isolation_level="AUTOCOMMIT")
    async with engine.connect() as connection:
        for statement in statements:
            await connection.execute(text(statement))


@pytest.mark.parametrize("doubtful", [kept_but_not_confirmed, undone_at_the_last_moment])
async def test_of_an_edit_in_doubt_the_doubt_is_told_and_a_repeat_settles_it(
    database: Database, office: httpx.AsyncClient, doubtful: Away
) -> None:
    once = {"Idempotency-Key": f"in-doubt-{doubtful.__name__}"}
    async with doubtful(database):
        doubted = await patiently(lambda: office.post(DRAFTS, json={"note": "in doubt"}, headers=once))
    async with asyncio.timeout(60.0):
        while (settled := await office.post(DRAFTS, json={"note": "in doubt"}, headers=once)).status_code != 201:
            # The first one may still be on its way out.
            assert settled.status_code in (409, 503), settled.text
            await asyncio.sleep(0.1)

    assert (doubted.status_code, doubted.json()["type"]) == (503, "/problems/outcome-unknown")
    assert int(doubted.headers["retry-after"]) > 0
    assert await notes(office) == ["in doubt"]
    repeated = await patiently(lambda: office.post(DRAFTS, json={"note": "in doubt"}, headers=once))
    assert repeated.content == settled.content
