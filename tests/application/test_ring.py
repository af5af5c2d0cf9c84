"""The ring of keys: asked rarely, told the news, good for a while without its store, and never flooded."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import pytest

from service.application.access import Caller, GateAwayError, NotKnownError
from service.application.gates import DoorGate
from service.application.keyring import NewKey, new_key
from service.application.ports import BooksUnavailableError
from service.application.ring import LOOK_S, RETRY_S, KeyRing, LiveKey

PEPPER = b"pepper of a test"
CHECK_S, KEEP_S = 5.0, 100.0


@dataclass
class Clock:
    at: float = 1000.0

    def __call__(self) -> float:
        return self.at

    def now(self) -> datetime:
        return datetime(2026, 5, 4, tzinfo=UTC) + timedelta(seconds=self.at)


@dataclass
class Store:
    """A store of keys that may be slow or away."""

    keys: dict[str, LiveKey] = field(default_factory=dict)
    away: bool = False
    asked: int = 0
    slow: asyncio.Event | None = None
    written: list[Mapping[str, datetime]] = field(default_factory=list)

    async def live(self) -> tuple[LiveKey, ...]:
        self.asked += 1
        # What is answered is what was there when it was asked.
        there = tuple(self.keys.values())
        if self.slow is not None:
            await self.slow.wait()
        if self.away:
            raise BooksUnavailableError("away")
        return there

    async def used(self, seen: Mapping[str, datetime]) -> None:
        if self.away:
            raise BooksUnavailableError("away")
        self.written.append(seen)

    def add(self, *, expires_at: datetime | None = None, origins: frozenset[str] = frozenset()) -> NewKey:
        key = new_key("server", PEPPER)
        caller = Caller("server", key.id, "test", frozenset({"quote"}), None, origins)
        self.keys[key.id] = LiveKey(key.digest, caller, expires_at)
        return key


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def store() -> Store:
    return Store()


@pytest.fixture
def ring(store: Store, clock: Clock) -> KeyRing:
    return KeyRing(store, PEPPER, clock, clock.now, CHECK_S, KEEP_S, note_every_s=0.01)


async def known(ring: KeyRing, key: NewKey) -> bool:
    try:
        return (await ring.caller(key.text)).id == key.id
    except NotKnownError:
        return False


async def test_a_stream_of_invented_keys_costs_a_question_now_and_then(store: Store) -> None:
    """Each after the one before, from many sides: what the store is asked goes by the time, not by the keys."""
    clock = asyncio.get_running_loop().time
    ring = KeyRing(store, PEPPER, clock, Clock().now, CHECK_S, KEEP_S)
    key = store.add()
    assert await known(ring, key)
    begun, asked = clock(), store.asked

    async def invent() -> int:
        tried = 0
        while clock() - begun < 2.5 * LOOK_S:
            assert not await known(ring, new_key("server", PEPPER))
            assert await known(ring, key)
            tried += 1
        return tried

    tried = await asyncio.gather(*(invent() for _ in range(50)))
    assert sum(tried) >= 100
    assert store.asked - asked <= (clock() - begun) / LOOK_S + 1


async def test_the_store_is_asked_once_in_a_while_however_often_a_key_is_shown(
    ring: KeyRing, store: Store, clock: Clock
) -> None:
    key = store.add()
    assert all([await known(ring, key) for _ in range(50)])
    assert store.asked == 1
    clock.at += CHECK_S
    assert all([await known(ring, key) for _ in range(50)])
    assert store.asked == 2


async def test_a_new_key_works_at_once(ring: KeyRing, store: Store) -> None:
    assert await known(ring, store.add())
    assert await known(ring, store.add())


async def test_a_revoked_key_stops_with_the_news_and_without_it_with_the_next_question(
    ring: KeyRing, store: Store, clock: Clock
) -> None:
    first, second = store.add(), store.add()
    assert await known(ring, first)
    del store.keys[first.id]
    assert await known(ring, first)
    ring.stale()
    assert not await known(ring, first)
    del store.keys[second.id]
    clock.at += CHECK_S
    assert not await known(ring, second)


async def test_news_that_comes_while_the_store_answers_is_not_lost(ring: KeyRing, store: Store) -> None:
    key = store.add()
    assert await known(ring, key)
    store.slow = asyncio.Event()
    ring.stale()
    under_way = asyncio.create_task(known(ring, key))
    await asyncio.sleep(0)
    del store.keys[key.id]
    ring.stale()
    store.slow.set()
    await under_way
    assert not await known(ring, key)


async def test_an_expired_key_is_refused_between_two_questions(ring: KeyRing, store: Store, clock: Clock) -> None:
    key = store.add(expires_at=clock.now() + timedelta(seconds=1))
    assert await known(ring, key)
    clock.at += 1.0
    assert not await known(ring, key)
    assert store.asked == 1


async def test_a_flood_of_invented_keys_is_a_trickle_of_questions(ring: KeyRing, store: Store) -> None:
    invented = [new_key("server", PEPPER) for _ in range(500)]
    found = await asyncio.gather(*(known(ring, key) for key in invented))
    assert not any(found)
    assert store.asked <= 3
    asked = store.asked
    assert not any([await known(ring, key) for key in invented])
    assert store.asked == asked


async def test_what_is_not_written_as_a_key_asks_nobody(ring: KeyRing, store: Store) -> None:
    key = store.add()
    for text in ("", "trk_server_x", key.text[:-1], key.text[:-1] + ("0" if key.text[-1] != "0" else "1"), key.text + "\n"):
        with pytest.raises(NotKnownError):
            await ring.caller(text)
    assert store.asked == 0


async def test_a_key_of_another_secret_is_not_known(ring: KeyRing, store: Store) -> None:
    store.add()
    assert not await known(ring, new_key("server", b"another secret"))


async def test_known_keys_go_on_while_the_store_is_away_but_not_for_ever(
    ring: KeyRing, store: Store, clock: Clock
) -> None:
    key = store.add()
    assert await known(ring, key)
    store.away = True
    clock.at += KEEP_S
    assert await known(ring, key)
    clock.at += 1.0
    with pytest.raises(GateAwayError):
        await ring.caller(key.text)
    store.away = False
    assert await known(ring, key)


async def test_a_key_that_was_never_seen_cannot_be_checked_while_the_store_is_away(ring: KeyRing, store: Store) -> None:
    assert await known(ring, store.add())
    store.away = True
    for key in (store.add(), new_key("server", PEPPER)):
        with pytest.raises(GateAwayError):
            await ring.caller(key.text)


async def test_nobody_waits_for_a_store_that_hangs_but_the_first(ring: KeyRing, store: Store, clock: Clock) -> None:
    key = store.add()
    assert await known(ring, key)
    store.away = True
    clock.at += CHECK_S
    assert await known(ring, key)
    store.slow = asyncio.Event()
    clock.at += RETRY_S
    async with asyncio.timeout(5.0):
        assert all([await known(ring, key) for _ in range(20)])
    store.away = False
    del store.keys[key.id]
    store.slow.set()
    await asyncio.sleep(0.01)
    clock.at += CHECK_S
    assert not await known(ring, key)


async def test_a_caller_who_leaves_takes_no_other_callers_answer_along(ring: KeyRing, store: Store) -> None:
    key = store.add()
    store.slow = asyncio.Event()
    impatient, patient = asyncio.create_task(known(ring, key)), asyncio.create_task(known(ring, key))
    await asyncio.sleep(0)
    impatient.cancel()
    await asyncio.sleep(0)
    store.slow.set()
    assert await patient
    assert impatient.cancelled()


async def test_last_uses_are_written_together_and_kept_while_the_store_is_away(
    ring: KeyRing, store: Store, clock: Clock
) -> None:
    first, second = store.add(), store.add()
    for key in (first, second, first):
        assert await known(ring, key)
    assert store.written == []
    store.away = True
    await asyncio.sleep(0.05)
    store.away = False
    clock.at += 1.0
    assert await known(ring, second)
    await ring.close()
    assert [set(seen) for seen in store.written] == [{first.id, second.id}]
    assert store.written[0][second.id] == clock.now()


async def test_websites_are_those_of_keys_that_are_valid(ring: KeyRing, store: Store, clock: Clock) -> None:
    home = "https://www.example.com"
    assert not await ring.listed(home)
    ends = clock.now() + timedelta(seconds=2)
    store.add(origins=frozenset({home}), expires_at=ends)
    ring.stale()
    assert await ring.listed(home)
    assert not await ring.listed("https://example.com")
    clock.at += 2.0
    assert not await ring.listed(home)


async def test_keys_and_tokens_are_told_apart_by_how_they_are_written(ring: KeyRing, store: Store) -> None:
    key = store.add()
    gate = DoorGate(frozenset({"quote"}), keys=ring, tokens=None)
    assert (await gate.caller(key.text)).id == key.id
    assert (await gate.caller(None)).scopes == {"quote"}
    for shown in ("aaa.bbb.ccc", "nonsense", "", key.text.upper()):
        with pytest.raises(NotKnownError):
            await gate.caller(shown)
    with pytest.raises(NotKnownError, match="no keys"):
        await DoorGate(frozenset(), keys=None, tokens=None).caller(key.text)


async def test_a_key_that_was_ended_here_stops_at_once_also_where_the_store_is_away_from_then_on(
    ring: KeyRing, store: Store
) -> None:
    ended, other = store.add(), store.add()
    assert await known(ring, ended)
    assert await known(ring, other)
    del store.keys[ended.id]
    ring.ended(ended.id)
    store.away = True
    with pytest.raises(GateAwayError):
        await ring.caller(ended.text)
    assert await known(ring, other)
    store.away = False
    assert not await known(ring, ended)
