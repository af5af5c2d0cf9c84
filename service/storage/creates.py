"""Creates that happen once however often they are sent (Idempotency-Key): the answer is kept with the change itself."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from sqlalchemy import delete, func, insert, select, text
from sqlalchemy.ext.asyncio import AsyncConnection

from service.application.access import Asker, Once
from service.application.ports import OnceConflictError
from service.storage.tables import once as table

KEPT_HOURS = 24
"""How long a repeated create is answered with what it was answered the first time [h]."""


async def only_once(
    connection: AsyncConnection, asker: Asker, once: Once | None, create: Callable[[], Awaitable[bytes]]
) -> bytes:
    """What `create` answers, or what it answered when this very create was sent before.

    The answer is stored in the transaction of the change: after a crash both are there or neither.

    Args:
        connection: with an open transaction.
        asker: whose key it is: the same key of another caller is another create.
        once: the create; None where the caller gave no key.
        create: makes the change on this connection and gives the answer.

    Raises:
        OnceConflictError: the key stands for another create, or the first one is still under way.
    """
    if once is None:
        return await create()
    caller = asker.caller.who
    lock = func.hashtextextended(f"{caller}\n{once.key}", 7405)
    if not (await connection.execute(select(func.pg_try_advisory_xact_lock(lock)))).scalar_one():
        raise OnceConflictError(once.key, running=True)
    own = (table.c.caller == caller) & (table.c.key == once.key)
    await connection.execute(delete(table).where(table.c.made_at < text(f"now() - interval '{KEPT_HOURS} hours'")))
    there = (await connection.execute(select(table.c.digest, table.c.answer).where(own))).one_or_none()
    if there is not None:
        if bytes(there.digest) != once.digest:
            raise OnceConflictError(once.key, running=False)
        return bytes(there.answer)
    answer = await create()
    await connection.execute(insert(table).values(caller=caller, key=once.key, digest=once.digest, answer=answer))
    return answer
