"""Turns: changes of one region go one after the other, and wait for that outside the database.

The database holds them apart too, for all processes. But whoever waits there holds a connection, which others want for
reading, and its patience runs out while nothing is wrong. Here one of them at a time is in the database.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field

from service.application.ports import NotStoredError

WAIT_S = 10.0
"""Longest that a change waits for those before it [s] (J); then its caller is told to come again."""


@dataclass(slots=True)
class Turns:
    """The changes that wait in this process, in the order in which they came.

    Attributes:
        wait_s: longest that one waits.
    """

    wait_s: float = WAIT_S
    _locks: dict[str, asyncio.Lock] = field(default_factory=dict)
    _here: dict[str, int] = field(default_factory=dict)

    @asynccontextmanager
    async def of(self, region: str) -> AsyncIterator[None]:
        """The turn of one change of a region.

        Raises:
            NotStoredError: there were too many before it.
        """
        lock = self._locks.setdefault(region, asyncio.Lock())
        self._here[region] = self._here.get(region, 0) + 1
        try:
            try:
                async with asyncio.timeout(self.wait_s):
                    await lock.acquire()
            except TimeoutError as fault:
                raise NotStoredError(f"too many changes of {region} wait for each other") from fault
            try:
                yield
            finally:
                lock.release()
        finally:
            self._here[region] -= 1
            if not self._here[region]:
                # Codes of regions come from callers: what nobody uses is not kept.
                del self._here[region], self._locks[region]
