"""Killed again and again while it publishes: each revision is wholly there or wholly not, and what callers were told is true.

Three offices publish one after the other, over HTTP, to a service in a process of its own. Meanwhile the database server
and the service are killed (SIGKILL), one or both, at moments that are drawn anew each time, and started again.
"""

from __future__ import annotations

import asyncio
import json
import random
import secrets
import tempfile
from collections import Counter
from collections.abc import Awaitable, Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

import httpx
import pytest
from sqlalchemy import Row, exc, text
from sqlalchemy.ext.asyncio import AsyncConnection

from service.application.access import SCOPES
from service.storage.audit_log import verify
from service.storage.keys import make_key
from tests.conftest import bare_engine
from tests.rates.conftest import SECRET
from tests.rates.database import Database
from tests.rates.processes import Service

T = TypeVar("T")
REGIONS = ("kestrel-range", "heron-bayou", "sollavik")
PUBLICATIONS = 200
VICTIMS = ("database", "service", "both") * 3
"""Who is killed, in an order that is drawn."""
PATIENCE_S = 60.0
PAUSE_S = 0.05
NO_ANSWER = "no answer"
IN_DOUBT = (NO_ANSWER, "/problems/outcome-unknown")
"""Answers after which nobody can know whether the change was kept."""
NOT_KEPT = ("/problems/not-stored", "/problems/gate-away", "/problems/create-under-way")
"""Answers that say that it was not kept, this time."""


@dataclass
class World:
    """The database, the service, and what callers have been told so far."""

    database: Database
    service: Service
    key: str
    chance: random.Random
    told: Counter[str] = field(default_factory=Counter)
    published: dict[str, list[int]] = field(default_factory=lambda: {region: [] for region in REGIONS})
    kills: list[str] = field(default_factory=list)

    @property
    def done(self) -> int:
        """Publications that the offices know of."""
        return sum(len(numbers) for numbers in self.published.values())


@pytest.fixture
def world() -> Iterator[World]:
    """A durable database with the books, and the service beside it."""
    with tempfile.TemporaryDirectory(prefix="pg-") as folder, Database(Path(folder)) as database:
        key = asyncio.run(make_the_key(database.url))
        with Service(database.url, {"quota_per_key": "0"}) as service:
            service.wait_until_ready()
            yield World(database, service, key, random.Random(secrets.randbits(64)))


async def make_the_key(url: str) -> str:
    """A key for the three regions."""
    async with bare_engine(url).begin() as connection:
        made = await make_key(
            connection, SECRET.encode(), sort="server", name="offices", scopes=SCOPES, regions=REGIONS, made_by="tests"
        )
    return made.text


def test_killed_while_it_publishes_it_loses_nothing_invents_nothing_and_tells_the_truth(world: World) -> None:
    asyncio.run(publish_and_kill(world))

    assert sorted(world.kills) == sorted(VICTIMS)
    assert world.done == PUBLICATIONS
    assert world.told[NO_ANSWER] > 0
    asyncio.run(check_end(world))
    print(f"killed: {Counter(world.kills)}; told: {world.told}")


async def publish_and_kill(world: World) -> None:
    """All offices at work, and somebody who kills."""
    async with asyncio.timeout(600.0), asyncio.TaskGroup() as tasks:
        tasks.create_task(kill_now_and_then(world))
        for place, region in enumerate(REGIONS):
            tasks.create_task(office(world, region, len(range(place, PUBLICATIONS, len(REGIONS)))))


# ---- who kills -----------------------------------------------------------------------------------------------------------


async def kill_now_and_then(world: World) -> None:
    """Kill somebody at drawn moments of the work, leave them dead for a moment, and look at what is there."""
    moments = sorted(world.chance.sample(range(1, PUBLICATIONS - 5), len(VICTIMS)))
    for after, victim in zip(moments, world.chance.sample(VICTIMS, len(VICTIMS)), strict=True):
        while world.done < after:  # noqa: ASYNC110  # the offices have no event for it
            await asyncio.sleep(0.002)
        await asyncio.sleep(world.chance.uniform(0.0, 0.1))
        world.kills.append(victim)
        # In their own threads: who is at work must not notice before the connection breaks.
        await asyncio.gather(*(asyncio.to_thread(kill) for kill in killers(world, victim)))
        await asyncio.sleep(world.chance.uniform(0.0, 0.3))
        if victim != "service":
            await asyncio.to_thread(world.database.start)
        if victim != "database":
            world.service.start()
        await look(world, check_whole)


def killers(world: World, victim: str) -> list[Any]:
    """What kills that victim."""
    named = {"database": [world.database.kill], "service": [world.service.kill]}
    return named.get(victim, [world.database.kill, world.service.kill])


# ---- who publishes -------------------------------------------------------------------------------------------------------


async def office(world: World, region: str, count: int) -> None:
    """Publish so many revisions, one after the other: a draft with one changed line, then its publication."""
    for turn in range(count):
        mark = f"{region} {turn}"
        line = {"section": "resources", "code": "lead", "source": mark}
        opened = await create(world, f"/v1/regions/{region}/drafts", {"lines": [line]}, f"open-{region}-{turn}")
        path = f"/v1/regions/{region}/drafts/{opened.json()['id']}/publish"
        state = {"If-Match": opened.headers["etag"]}
        made = await create(world, path, {"why": mark}, f"publish-{region}-{turn}", state, opened.json()["id"])
        number = made.json()["number"]
        row = await look(world, partial(row_of, draft=opened.json()["id"]))
        assert (row.status, row.number, row.why) == ("published", number, mark)
        world.published[region].append(number)


async def create(
    world: World, path: str, body: dict[str, Any], once: str, headers: dict[str, str] | None = None, draft: int | None = None
) -> httpx.Response:
    """Send a create until it is answered with 201, and hold every answer on the way to its word.

    Args:
        draft: the draft that a publication makes a revision of; None for another create.
    """
    sent = {"Authorization": f"Bearer {world.key}", "Idempotency-Key": once, **(headers or {})}
    in_doubt = False
    async with asyncio.timeout(PATIENCE_S):
        while True:
            answer = await ask(world.service.address + path, body, sent)
            said = NO_ANSWER if answer is None else "201" if answer.status_code == 201 else answer.json().get("type", "?")
            world.told[said] += 1
            if answer is not None and said == "201":
                break
            assert said in (*IN_DOUBT, *NOT_KEPT), f"{said}: {answer and answer.text}"
            if answer is not None and answer.status_code == 503:
                assert int(answer.headers["retry-after"]) > 0
            in_doubt = in_doubt or said in IN_DOUBT
            if not in_doubt and draft is not None and said != "/problems/create-under-way":
                row = await look(world, partial(row_of, draft=draft))
                assert row.status == "draft", f"{said}, but it was kept"
            await asyncio.sleep(PAUSE_S)
    if world.chance.random() < 0.2:
        again = await ask(world.service.address + path, body, sent)
        assert again is None or again.status_code != 201 or again.content == answer.content
    return answer


async def ask(address: str, body: dict[str, Any], headers: dict[str, str]) -> httpx.Response | None:
    """The answer; None where none came."""
    try:
        async with httpx.AsyncClient(timeout=30.0) as client:
            return await client.post(address, json=body, headers=headers)
    except httpx.TransportError:
        return None


# ---- what is there -------------------------------------------------------------------------------------------------------


async def look(world: World, question: Callable[[AsyncConnection], Awaitable[T]]) -> T:
    """What a look at one state of everything finds, as soon as the database lets us in."""
    engine = bare_engine(world.database.url).execution_options(isolation_level="REPEATABLE READ")
    async with asyncio.timeout(PATIENCE_S):
        while True:
            try:
                async with engine.connect() as connection:
                    return await question(connection)
            except (OSError, exc.DBAPIError):
                # It is being killed, or was; whatever it says then.
                await asyncio.sleep(PAUSE_S)


async def row_of(connection: AsyncConnection, draft: int) -> Row[Any]:
    """The row of a draft or revision, by its id."""
    asked = text("SELECT status, number, why FROM book_revision WHERE id = :id")
    return (await connection.execute(asked, {"id": draft})).one()


async def check_whole(connection: AsyncConnection) -> None:
    """Every revision is wholly there: number, lines, period, entry in the log, answer for those who ask again."""
    for region in REGIONS:
        rows = (await connection.execute(text(REVISIONS), {"region": region})).all()
        assert [row.number for row in rows] == list(range(1, len(rows) + 1))
        marks = [row.why for row in rows[1:]]
        assert len(set(marks)) == len(marks)
        assert [row.mark for row in rows[1:]] == marks
        assert len({row.lines for row in rows[1:]}) <= 1
        assert [row.in_force for row in rows] == [False] * (len(rows) - 1) + [True]
        published = [(f"{region}/revisions/{row.number}", row.id, row.why) for row in rows[1:]]
        entries = (await connection.execute(text(ENTRIES), {"region": region})).all()
        told = [(entry.subject, details["draft"], details["why"]) for entry in entries if (details := json.loads(entry.details))]
        assert told == published
        answers = (await connection.execute(text(ANSWERS), {"keys": f"publish-{region}-%"})).scalars().all()
        said = sorted((answer["number"], answer["why"]) for answer in map(json.loads, answers))
        assert said == [(row.number, row.why) for row in rows[1:]]


REVISIONS = """
    SELECT b.id, b.number, b.why, count(l.code) AS lines,
        max(l.source) FILTER (WHERE l.section = 'resources' AND l.code = 'lead') AS mark,
        EXISTS (SELECT FROM book_period p WHERE p.revision_id = b.id AND upper_inf(p.days)) AS in_force
    FROM book_revision b JOIN region r ON r.id = b.region_id LEFT JOIN rate_line l ON l.revision_id = b.id
    WHERE r.code = :region AND b.status = 'published' GROUP BY b.id ORDER BY b.number
"""
ENTRIES = """
    SELECT e.subject, e.details FROM audit_entry e JOIN region r ON r.id = e.region_id
    WHERE r.code = :region AND e.action = 'revision.publish' ORDER BY e.id
"""
ANSWERS = "SELECT answer FROM once WHERE key LIKE :keys"


async def check_end(world: World) -> None:
    """At the end everything is there once, as the offices were told, and the service quotes from it."""
    await look(world, check_whole)
    for region, numbers in world.published.items():
        assert numbers == list(range(2, len(numbers) + 2)), region
    log = await look(world, verify)
    assert log.why == ""
    drafts = text("SELECT count(*) FROM book_revision WHERE status = 'draft'")
    assert await look(world, lambda connection: connection.scalar(drafts)) == 0
    await asyncio.to_thread(world.service.wait_until_ready)
    rates = await asyncio.to_thread(world.service.rates)
    assert f"{REGIONS[0]}@{world.published[REGIONS[0]][-1]}" in rates
