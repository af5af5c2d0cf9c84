"""Keys in the database: whatever is done in whatever order, at most two of an owner are valid, and the ring knows which."""

from __future__ import annotations

import asyncio
import time
from datetime import UTC, datetime, timedelta
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.asyncio import AsyncEngine

from service.application.access import NotKnownError, at_the_command_line
from service.application.keys import KeyDesk, KeyRecord, KeyWish, NotRotatedError
from service.application.ring import KeyRing
from service.storage.database import make_engine
from service.storage.keys import PostgresKeys, make_key
from service.storage.tables import api_key

PEPPER = b"pepper of a test"
ASKER = at_the_command_line("tests")
PATIENCE_S = 20.0
HOME = "https://www.example.com"


def now() -> datetime:
    return datetime.now(UTC)


actions = st.lists(st.tuples(st.sampled_from(["make", "rotate", "revoke", "expire"]), st.integers(0, 9)), max_size=12)


@given(actions)
@settings(max_examples=10, deadline=None)
def test_at_most_two_keys_of_an_owner_are_valid_and_the_ring_knows_which(
    database_url: str, done: list[tuple[str, int]]
) -> None:
    async def run() -> None:
        engine = make_engine(database_url)
        store = PostgresKeys(engine, PATIENCE_S)
        desk = KeyDesk(store, PEPPER, now)
        ring = KeyRing(store, PEPPER, time.monotonic, now, check_every_s=0.0, keep_s=60.0)
        texts: dict[str, str] = {}
        for action, which in done:
            name = list(texts)[which % len(texts)] if texts else ""
            if action == "make" or not name:
                made = await desk.make(ASKER, KeyWish("server", "test", ("quote",), None))
                texts[made.record.id] = made.text
            elif action == "rotate":
                live = [r for r in await desk.several(ASKER.caller, limit=500) if r.id in texts and r.lives(now())]
                owner = (await desk.one(ASKER.caller, name)).owner
                may = [r.id for r in live if r.owner == owner] == [name]
                try:
                    made = await desk.rotate(ASKER, name)
                except NotRotatedError:
                    assert not may
                else:
                    assert may
                    texts[made.record.id] = made.text
            elif action == "revoke":
                await desk.revoke(ASKER, name)
            else:
                async with engine.begin() as connection:
                    ended = now() - timedelta(seconds=1)
                    await connection.execute(update(api_key).where(api_key.c.id == name).values(expires_at=ended))
            records = {r.id: r for r in await _all(desk)}
            owners = [r.owner for r in records.values() if r.lives(now())]
            assert not [owner for owner in owners if owners.count(owner) > 2]
            for key, text in texts.items():
                assert await _known(ring, text) == records[key].lives(now())
        await ring.close()
        await engine.dispose()

    asyncio.run(run())


async def _all(desk: KeyDesk) -> list[KeyRecord]:
    found: list[KeyRecord] = []
    after: str | None = None
    while page := await desk.several(ASKER.caller, after, limit=7):
        found += page
        after = page[-1].id
    return found


async def _known(ring: KeyRing, text: str) -> bool:
    try:
        await ring.caller(text)
    except NotKnownError:
        return False
    return True


async def _make(
    engine: AsyncEngine, sort: Literal["server", "form"], scopes: list[str], regions: list[str] | None, origins: list[str]
) -> None:
    async with engine.begin() as connection:
        await make_key(
            connection, PEPPER, sort=sort, name="x", scopes=scopes, regions=regions, origins=origins, made_by="tests"
        )


@pytest.mark.parametrize(("scopes", "regions", "origins"), [
    (["quote", "rates:read"], ["a"], [HOME]), (["quote"], ["a", "b"], [HOME]), (["quote"], None, [HOME]),
    (["quote"], [], [HOME]), (["everything"], ["a"], [HOME]), ([], ["a"], [HOME]), (["quote"], ["a"], []),
])
async def test_the_database_itself_refuses_a_form_key_that_is_too_wide(
    engine: AsyncEngine, scopes: list[str], regions: list[str] | None, origins: list[str]
) -> None:
    await _make(engine, "form", ["quote"], ["a"], [HOME])
    with pytest.raises(IntegrityError):
        await _make(engine, "form", scopes, regions, origins)


async def test_the_database_itself_refuses_a_key_for_no_region(engine: AsyncEngine) -> None:
    """To a question for keys that reach no region but these it would be everybody's."""
    await _make(engine, "server", ["quote"], None, [])
    with pytest.raises(IntegrityError):
        await _make(engine, "server", ["quote"], [], [])


async def test_a_last_use_never_goes_back(engine: AsyncEngine) -> None:
    """Two processes write theirs down in any order."""
    async with engine.begin() as connection:
        keys = [
            await make_key(connection, PEPPER, sort="server", name="x", scopes=["quote"], regions=None, made_by="tests")
            for _ in range(2)
        ]
    store = PostgresKeys(engine, PATIENCE_S)
    late, early = now(), now() - timedelta(minutes=5)
    await store.used({keys[0].id: late, keys[1].id: early})
    await store.used({keys[0].id: early, keys[1].id: late})
    async with engine.connect() as connection:
        asked = select(api_key.c.last_used_at).where(api_key.c.id.in_([key.id for key in keys]))
        assert (await connection.execute(asked)).scalars().all() == [late, late]
