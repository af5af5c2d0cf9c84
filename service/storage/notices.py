"""Notices from the database: whoever publishes tells every process of the service at once, in the transaction itself.

PostgreSQL hands a notice on when its transaction is committed, never before and never without. One connection a process
listens, outside the pool. While it is down notices are lost, so each time it is up again everything counts as changed;
asking now and then stands behind it.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import asyncpg
from sqlalchemy import TextClause, text
from sqlalchemy.ext.asyncio import AsyncEngine

BOOKS, KEYS = "books", "keys"
"""Channels: a book or a count was published (payload: code of its region); a key was made, changed or revoked."""

FIRST_PAUSE_S, LONGEST_PAUSE_S = 0.1, 1.0
"""Pauses between tries to connect: doubled each time, so that a database that starts up is not besieged [s]."""
PULSE_S = 5.0
"""How often the connection is tried: one that a network dropped silently would be listened to for ever [s]."""
LISTENER = "service notices"
"""What the database's list of connections calls ours."""
LOG = logging.getLogger("service.storage")

Heard = Callable[[str | None], None]
"""Told the payload of a notice; None when notices may have been missed, so that everything may have changed."""


def notice(channel: str, payload: str) -> TextClause:
    """The statement that tells every process, once its transaction is committed."""
    return text("SELECT pg_notify(:channel, :payload)").bindparams(channel=channel, payload=payload)


class Notices:
    """Listens to the channels of one database for as long as `run` runs."""

    def __init__(self, engine: AsyncEngine, patience_s: float, pulse_s: float = PULSE_S) -> None:
        """Nothing is connected before `run`.

        Args:
            engine: whose address is listened to; its pool is not used.
            patience_s: longest that the database may take to answer before it counts as away.
            pulse_s: how often the connection is tried.
        """
        self._engine, self._patience_s, self._pulse_s = engine, patience_s, pulse_s
        self._hooks: dict[str, list[Heard]] = {}

    def on(self, channel: str, heard: Heard) -> None:
        """Call this at each notice of a channel. Before `run`; it must return at once and not fail."""
        self._hooks.setdefault(channel, []).append(heard)

    async def run(self) -> None:
        """Listen until cancelled; connect again, with growing pauses, whenever the connection is lost."""
        pause_s = FIRST_PAUSE_S
        while True:
            why = await self._listen()
            if why is None:
                # It was listened to until it was lost: perhaps it is back at once.
                pause_s = FIRST_PAUSE_S
                continue
            LOG.warning("no notices from the database (%s); trying again in %.1f s", why, pause_s)
            await asyncio.sleep(pause_s)
            pause_s = min(2 * pause_s, LONGEST_PAUSE_S)

    async def _listen(self) -> str | None:
        """Hand notices on until the connection is lost; what keeps it from being listened to, if anything did."""
        listening, connection = False, None
        try:
            connection = await self._connect()
            lost = asyncio.Event()
            connection.add_termination_listener(lambda _: lost.set())
            async with asyncio.timeout(self._patience_s):
                for channel in self._hooks:
                    await connection.add_listener(channel, self._hear)
            listening = True
            # Only now: what is committed from here on is heard, and what was committed before is asked for anew.
            self._tell_all_changed()
            await self._wait(connection, lost)
        except (OSError, TimeoutError, asyncpg.PostgresError, asyncpg.InterfaceError) as fault:
            if not listening:
                return type(fault).__name__
        finally:
            if connection is not None:
                connection.terminate()
        LOG.warning("the connection for notices was lost")
        return None

    async def _connect(self) -> Any:
        """A connection of our own, by the same address and options as the pool's."""
        _, given = self._engine.dialect.create_connect_args(self._engine.url)
        given.pop("prepared_statement_cache_size", None)  # an option of the pool's driver layer, not of the driver
        told = {"application_name": LISTENER}
        return await asyncpg.connect(**given, timeout=self._patience_s, server_settings=told)

    async def _wait(self, connection: Any, lost: asyncio.Event) -> None:
        """Until the connection is lost, or does not answer any more."""
        while not lost.is_set():
            with suppress(TimeoutError):
                # Not wait_for: on Python 3.11 it forgets that it was cancelled if the connection is lost that moment.
                async with asyncio.timeout(self._pulse_s):
                    await lost.wait()
            if not lost.is_set():
                await connection.fetchval("SELECT 1", timeout=self._patience_s)

    def _hear(self, _connection: object, _process: int, channel: str, payload: object) -> None:
        for heard in self._hooks.get(channel, []):
            heard(str(payload))

    def _tell_all_changed(self) -> None:
        for hooks in self._hooks.values():
            for heard in hooks:
                heard(None)
