"""Keys in PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from sqlalchemy import func, insert, or_, select
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.access import Caller, GateAwayError, NotKnownError, nobody
from service.application.keyring import NewKey, digest_of, new_key, well_formed
from service.application.ports import BooksUnavailableError
from service.storage.database import asking
from service.storage.tables import api_key


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
    row = {
        "id": key.id,
        "owner": key.id,
        "sort": sort,
        "name": name,
        "digest": key.digest,
        "scopes": sorted(scopes),
        "regions": None if regions is None else sorted(regions),
        "origins": sorted(origins),
        "per_minute": per_minute,
        "made_by": made_by,
    }
    await connection.execute(insert(api_key).values(row))
    return key


@dataclass(frozen=True, slots=True)
class KeyGate:
    """The gate to a service with keys. Implements `Gate`.

    Attributes:
        open_scopes: what a caller without a key may do.
    """

    engine: AsyncEngine
    patience_s: float
    pepper: bytes
    open_scopes: frozenset[str]

    async def caller(self, shown: str | None) -> Caller:
        """Who shows this key."""
        if shown is None:
            return nobody(self.open_scopes)
        if not well_formed(shown):
            raise NotKnownError("it is not written as a key is")
        live = or_(api_key.c.expires_at.is_(None), api_key.c.expires_at > func.now())
        asked = select(api_key).where(
            api_key.c.digest == digest_of(shown, self.pepper), api_key.c.revoked_at.is_(None), live
        )
        try:
            async with asking(self.engine, self.patience_s) as connection:
                row = (await connection.execute(asked)).one_or_none()
        except BooksUnavailableError as away:
            raise GateAwayError(str(away)) from away
        if row is None:
            raise NotKnownError("no key that is valid now reads so")
        regions = None if row.regions is None else frozenset(row.regions)
        return Caller(
            row.sort, row.id, row.name, frozenset(row.scopes), regions, frozenset(row.origins), row.per_minute
        )
