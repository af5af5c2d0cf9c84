"""Keys in PostgreSQL: digests and what they are for, never a text that could be used."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Literal

from sqlalchemy import ColumnElement, Row, Text, cast, exc, func, insert, literal, or_, select, true, tuple_, update
from sqlalchemy.dialects.postgresql import ARRAY
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.access import Asker, Caller, Once
from service.application.keyring import NewKey, new_key
from service.application.keys import MOST_VALID, KeyRecord, KeyShownError, KeyWish, KeyWishError, UnknownKeyError, followed
from service.application.ports import BooksUnavailableError
from service.application.ring import LiveKey
from service.storage.audit import record
from service.storage.creates import only_once
from service.storage.database import asking, changing
from service.storage.notices import KEYS, notice
from service.storage.tables import api_key, region

LOCK = 7406
"""First half of the advisory locks of rotations: one owner's keys are followed one after the other."""


async def make_key(
    connection: AsyncConnection,
    pepper: bytes,
    *,
    sort: Literal["server", "form"],
    name: str,
    scopes: Iterable[str],
    regions: Iterable[str] | None,
    origins: Iterable[str] = (),
    per_minute: int = 0,
    made_by: str,
) -> NewKey:
    """Make and store a key. Its text is in the answer and nowhere else."""
    key = new_key(sort, pepper)
    bound = None if regions is None else tuple(regions)
    wish = KeyWish(sort, name, tuple(scopes), bound, tuple(origins), per_minute)
    await _insert(connection, key, key.id, wish, made_by)
    return key


@dataclass(frozen=True, slots=True)
class PostgresKeys:
    """The store of keys. Implements `KeySource` and `KeyStore`."""

    engine: AsyncEngine
    patience_s: float

    async def live(self) -> tuple[LiveKey, ...]:
        """All keys that are valid now."""
        try:
            async with asking(self.engine, self.patience_s) as connection:
                rows = (await connection.execute(select(api_key).where(_live()))).all()
        except exc.ProgrammingError as fault:
            # A schema older than the code knows no keys. /readyz says so; nobody is let in meanwhile.
            raise BooksUnavailableError("the database has no table of keys") from fault
        return tuple(LiveKey(bytes(row.digest), _caller(row), row.expires_at) for row in rows)

    async def used(self, seen: Mapping[str, datetime]) -> None:
        """Write down last uses, all in one statement. No news: nobody has to read the ring anew for it."""
        uses = select(
            func.unnest(cast(list(seen), ARRAY(Text))).label("id"),
            func.unnest(cast(list(seen.values()), ARRAY(api_key.c.last_used_at.type))).label("at"),
        ).subquery()
        later = func.greatest(api_key.c.last_used_at, uses.c.at)
        async with changing(self.engine, self.patience_s) as connection:
            await connection.execute(update(api_key).where(api_key.c.id == uses.c.id).values(last_used_at=later))

    async def add(self, asker: Asker, once: Once | None, key: NewKey, wish: KeyWish) -> KeyRecord:
        """Keep a new key."""
        async with changing(self.engine, self.patience_s) as connection:

            async def create() -> bytes:
                await _check_regions(connection, wish)
                await _insert(connection, key, key.id, wish, asker.caller.who)
                await _tell(connection, asker, "key.make", key.id, wish)
                return key.id.encode()

            return await _made_once(connection, asker, once, key, create)

    async def follow(
        self, asker: Asker, once: Once | None, old: str, key: NewKey, old_ends_at: datetime, expires_at: datetime | None
    ) -> tuple[KeyRecord, KeyRecord]:
        """Keep a key that follows another."""
        async with changing(self.engine, self.patience_s) as connection:

            async def create() -> bytes:
                there = await _one(connection, old, asker.caller.regions)
                await connection.execute(select(func.pg_advisory_xact_lock(LOCK, func.hashtext(there.owner))))
                rows = await connection.execute(select(api_key).where(api_key.c.owner == there.owner, _live()))
                live = [_record(row) for row in rows]
                # Anew, under the lock: another rotation may have ended it.
                there = await _one(connection, old, asker.caller.regions)
                wish = followed(there, live, datetime.now(UTC), expires_at)
                ends = func.least(api_key.c.expires_at, old_ends_at)
                await connection.execute(update(api_key).where(api_key.c.id == old).values(expires_at=ends))
                await _insert(connection, key, there.owner, wish, asker.caller.who)
                await _tell(connection, asker, "key.rotate", key.id, wish, follows=old, old_ends_at=old_ends_at.isoformat())
                return key.id.encode()

            return await _made_once(connection, asker, once, key, create), await _one(connection, old, None)

    async def revoke(self, asker: Asker, name: str, within: frozenset[str] | None) -> None:
        """Take a key back."""
        async with changing(self.engine, self.patience_s) as connection:
            there = await _one(connection, name, within)
            taken = update(api_key).where(api_key.c.id == name, api_key.c.revoked_at.is_(None)).values(revoked_at=func.now())
            if (await connection.execute(taken)).rowcount:
                await _tell(connection, asker, "key.revoke", name, there.wish)

    async def one(self, name: str, within: frozenset[str] | None) -> KeyRecord:
        """One key."""
        async with asking(self.engine, self.patience_s) as connection:
            return await _one(connection, name, within)

    async def several(self, within: frozenset[str] | None, after: str | None, limit: int) -> tuple[KeyRecord, ...]:
        """Keys, those of one owner beside each other."""
        order = (api_key.c.owner, api_key.c.made_at, api_key.c.id)
        asked = select(api_key).where(_within(within)).order_by(*order).limit(limit)
        async with asking(self.engine, self.patience_s) as connection:
            if after is not None:
                last = await _one(connection, after, within)
                place = (literal(last.owner), literal(last.made_at), literal(last.id))
                asked = asked.where(tuple_(*order) > tuple_(*place))
            return tuple(_record(row) for row in await connection.execute(asked))


def _live() -> ColumnElement[bool]:
    """Condition on keys: valid now."""
    return api_key.c.revoked_at.is_(None) & or_(api_key.c.expires_at.is_(None), api_key.c.expires_at > func.now())


def _within(regions: frozenset[str] | None) -> ColumnElement[bool]:
    """Condition on keys: they reach no region but these. A key for every region reaches more than any list."""
    return true() if regions is None else api_key.c.regions.bool_op("<@")(cast(sorted(regions), ARRAY(Text)))


async def _one(connection: AsyncConnection, name: str, within: frozenset[str] | None) -> KeyRecord:
    asked = select(api_key).where(api_key.c.id == name, _within(within))
    row = (await connection.execute(asked)).one_or_none()
    if row is None:
        raise UnknownKeyError(name)
    return _record(row)


async def _insert(connection: AsyncConnection, key: NewKey, owner: str, wish: KeyWish, made_by: str) -> None:
    await connection.execute(insert(api_key).values(
        id=key.id, owner=owner, sort=wish.sort, name=wish.name, digest=key.digest, scopes=sorted(set(wish.scopes)),
        regions=None if wish.regions is None else sorted(set(wish.regions)), origins=sorted(set(wish.origins)),
        per_minute=wish.per_minute, made_by=made_by, expires_at=wish.expires_at,
    ))


async def _made_once(
    connection: AsyncConnection, asker: Asker, once: Once | None, key: NewKey, create: Any
) -> KeyRecord:
    """The key that a create has made. What is kept of its answer is the key's id: its text is kept nowhere."""
    name = (await only_once(connection, asker, once, create)).decode()
    if name != key.id:
        raise KeyShownError(name)
    return await _one(connection, name, None)


async def _check_regions(connection: AsyncConnection, wish: KeyWish) -> None:
    there = set((await connection.execute(select(region.c.code))).scalars())
    faults = [
        (("regions", k), f"no region has the code {code!r}.")
        for k, code in enumerate(wish.regions or ()) if code not in there
    ]
    reached = select(func.unnest(api_key.c.regions).label("code")).where(_live()).subquery()
    counted = select(reached.c.code, func.count().label("valid")).group_by(reached.c.code)
    held = {row.code: row.valid for row in await connection.execute(counted)}
    faults += [
        (("regions", k), f"{code} has {held[code]} valid keys; it may have no more than {MOST_VALID}: take some back.")
        for k, code in enumerate(wish.regions or ()) if held.get(code, 0) >= MOST_VALID
    ]
    if faults:
        raise KeyWishError(*faults)


async def _tell(
    connection: AsyncConnection, asker: Asker, action: str, name: str, wish: KeyWish, **more: str
) -> None:
    """Tell every process, and the log of every region that the key reaches: each may read its own entries only."""
    await connection.execute(notice(KEYS, name))
    details = {
        "name": wish.name, "sort": wish.sort, "scopes": sorted(wish.scopes), "origins": sorted(wish.origins),
        "regions": None if wish.regions is None else sorted(wish.regions), "per_minute": wish.per_minute,
        "expires_at": wish.expires_at and wish.expires_at.isoformat(), **more,
    }
    bound = select(region.c.id).where(region.c.code.in_(wish.regions or ())).order_by(region.c.id)
    ids: list[int | None] = list((await connection.execute(bound)).scalars())
    for region_id in ids or [None]:
        await record(connection, asker, action, f"keys/{name}", region_id, details)


def _caller(row: Row[Any]) -> Caller:
    regions = None if row.regions is None else frozenset(row.regions)
    return Caller(row.sort, row.id, row.name, frozenset(row.scopes), regions, frozenset(row.origins), row.per_minute)


def _record(row: Row[Any]) -> KeyRecord:
    regions = None if row.regions is None else tuple(row.regions)
    wish = KeyWish(
        row.sort, row.name, tuple(row.scopes), regions, tuple(row.origins), row.per_minute, row.expires_at
    )
    return KeyRecord(row.id, row.owner, wish, row.made_at, row.made_by, row.revoked_at, row.last_used_at)
