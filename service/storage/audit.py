"""The audit log: entries that are only ever added, each holding the digest of the one before it.

Whoever changes an entry, takes one out or slips one in breaks the chain, and `verify` says where. Taking off the newest
entries leaves a whole chain: note its last digest elsewhere now and then, and compare.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.ext.asyncio import AsyncConnection

from service.application.access import Asker
from service.storage.tables import audit_entry

LOCK = 7404
"""Advisory lock of the chain: entries are added one after the other, in the order in which they are committed."""
FIRST = bytes(32)
"""What the first entry holds in place of the digest of an entry before it."""


async def record(
    connection: AsyncConnection, asker: Asker, action: str, subject: str, region_id: int | None, details: Mapping[str, Any]
) -> None:
    """Add an entry in the transaction of what it tells, so that both are kept or neither.

    Args:
        connection: with an open transaction. Others who add an entry wait until it ends: call this last.
        asker: who did it.
        action: what was done, as noun.verb ("revision.publish").
        subject: what it was done to, as a path ("kestrel-range/revisions/7").
        region_id: the region that may read the entry; None for the head office alone.
        details: what a reader needs to know of it; plain values that JSON can hold.
    """
    await connection.execute(select(func.pg_advisory_xact_lock(LOCK)))
    newest = select(audit_entry.c.digest).order_by(audit_entry.c.id.desc()).limit(1)
    row: dict[str, Any] = {
        "at": datetime.now(UTC),
        "region_id": region_id,
        "who": asker.caller.who,
        "name": asker.caller.name,
        "address": asker.address,
        "request_id": asker.request_id,
        "action": action,
        "subject": subject,
        "details": json.dumps(details, ensure_ascii=False, sort_keys=True, default=str),
        "previous": (await connection.execute(newest)).scalar() or FIRST,
    }
    await connection.execute(insert(audit_entry).values(**row, digest=digest_of(row)))


def digest_of(row: Mapping[str, Any]) -> bytes:
    """SHA-256 over everything that an entry says and the digest of the entry before it."""
    said = [
        row["at"].astimezone(UTC).isoformat(timespec="microseconds"),
        *(row[name] for name in ("region_id", "who", "name", "address", "request_id", "action", "subject", "details")),
        row["previous"].hex(),
    ]
    return hashlib.sha256(json.dumps(said, ensure_ascii=False).encode()).digest()
