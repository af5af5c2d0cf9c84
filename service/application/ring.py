"""The ring: all keys that are valid now, held in memory, so that a quote waits for no question about its key."""

from __future__ import annotations

import asyncio
import math
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

from service.application.access import Caller, GateAwayError, NotKnownError
from service.application.keyring import digest_of, well_formed
from service.application.ports import BooksUnavailableError, NotStoredError, OutcomeUnknownError

RETRY_S = 1.0
"""How soon a store that did not answer is asked again [s]."""
NOTE_S = 30.0
"""How often last uses are written down [s]: not with each request, which would make every quote a write."""
LOOK_S = 0.2
"""Least time between two questions for keys that are not on the ring [s]: whoever invents keys waits, and nobody else."""
ROOM = 10_000
"""Most digests of unknown keys that are remembered."""


@dataclass(frozen=True, slots=True)
class LiveKey:
    """A key that was valid when the store was asked.

    Attributes:
        digest: what is stored of it.
        caller: who shows it.
        expires_at: when it ends; None for never.
    """

    digest: bytes
    caller: Caller
    expires_at: datetime | None


class KeySource(Protocol):
    """Where keys come from. Every method may raise BooksUnavailableError."""

    async def live(self) -> tuple[LiveKey, ...]:
        """All keys that are valid now."""
        ...

    async def used(self, seen: Mapping[str, datetime]) -> None:
        """Write down when keys were last used, by their ids. Raises NotStoredError, OutcomeUnknownError."""
        ...


@dataclass(slots=True)
class KeyRing:
    """The gate to a service with keys. Implements `Gate` and `Origins`.

    The store is asked for all keys at most every `check_every_s`, at once after news of a change, and for a key that
    is not on the ring; always for all keys, one question at a time, so that no flood of invented keys becomes a flood
    of questions. While it does not answer, the ring goes on as it was last known, for `keep_s` at most.

    Attributes:
        source: where keys come from.
        pepper: secret of the digests.
        seconds: a clock that never goes back.
        now: the time, with its zone.
        check_every_s: how long an answer of the store is taken as good, if no news comes.
        keep_s: how long it is taken as good while the store does not answer.
        note_every_s: how often last uses are written down.
    """

    source: KeySource
    pepper: bytes
    seconds: Callable[[], float]
    now: Callable[[], datetime]
    check_every_s: float
    keep_s: float
    note_every_s: float = NOTE_S
    _keys: dict[bytes, LiveKey] = field(default_factory=dict)
    _read_at: float = -math.inf
    _failed_at: float | None = None
    _news: bool = False
    _looked_at: float = -math.inf
    _looking: asyncio.Task[None] | None = None
    _reading: asyncio.Task[None] | None = None
    _missed: dict[bytes, float] = field(default_factory=dict)
    _used: dict[str, datetime] = field(default_factory=dict)
    _noting: asyncio.Task[None] | None = None

    async def caller(self, shown: str | None) -> Caller:
        """Who shows this key (see `Gate`)."""
        if shown is None or not well_formed(shown):
            raise NotKnownError("it is not written as a key is")
        digest = digest_of(shown, self.pepper)
        anew = await self._freshen()
        key = self._keys.get(digest)
        if key is None and not anew:
            key = await self._look_again(digest)
        if key is None:
            raise self._unknown(digest)
        if not self._lives(key):
            raise NotKnownError("it has expired")
        self._note(key.caller.id)
        return key.caller

    async def listed(self, origin: str) -> bool:
        """Whether a form on that website has a key that is valid now (see `Origins`)."""
        with suppress(GateAwayError):
            await self._freshen()
            return any(origin in key.caller.origins and self._lives(key) for key in self._keys.values())
        return False

    def stale(self, _: str | None = None) -> None:
        """A key was made or taken back, or news of it may have been missed: the next request asks anew."""
        self._news = True
        # News comes from the store, so it is there again.
        self._failed_at = None

    def ended(self, name: str) -> None:
        """A key was ended in this process: it counts for nothing here any more, also where the store is away from now on."""
        self._keys = {digest: key for digest, key in self._keys.items() if key.caller.id != name}
        self.stale()

    async def close(self) -> None:
        """Write down the last uses and ask nothing more."""
        for task in (self._noting, self._looking, self._reading):
            if task is not None and not task.done():
                task.cancel()
                await asyncio.wait({task})
        await self._write_uses()

    # ---- asking the store --------------------------------------------------------------------------------------------

    async def _freshen(self) -> bool:
        """Ask the store if it is time to. Whether it has answered since the call.

        Raises:
            GateAwayError: what is known is too old to be trusted.
        """
        if not self._news and self.seconds() - self._read_at < self.check_every_s:
            return False
        anew = False
        if self._failed_at is None or self.seconds() - self._read_at > self.keep_s:
            await self._ask()
            anew = self._failed_at is None
        elif self.seconds() - self._failed_at >= RETRY_S:
            # Its recovery is noticed, and nobody waits for it.
            self._begin()
        if self.seconds() - self._read_at > self.keep_s:
            raise GateAwayError("the database does not answer")
        return anew

    async def _look_again(self, digest: bytes) -> LiveKey | None:
        """A key that is not on the ring: made a moment ago, or never."""
        if self.seconds() - self._missed.get(digest, -math.inf) < self.check_every_s:
            return None
        looking = self._looking = self._looking or asyncio.create_task(self._look())
        await asyncio.wait({looking})
        looking.result()
        if self._failed_at is not None:
            raise GateAwayError("the database does not answer, and this key was not seen before")
        return self._keys.get(digest)

    async def _look(self) -> None:
        """Ask for all who wait with a key that is not on the ring, a while after those before them."""
        await asyncio.sleep(self._looked_at + LOOK_S - self.seconds())
        # Who comes from here on waits for the next question: this one may be older than their key.
        self._looked_at, self._looking = self.seconds(), None
        await self._ask()

    async def _ask(self) -> None:
        """Wait for an answer to a question that is put now or later: one under way may be older than what is asked."""
        if self._reading is not None and not self._reading.done():
            await asyncio.wait({self._reading})
        reading = self._begin()
        await asyncio.wait({reading})
        reading.result()

    def _begin(self) -> asyncio.Task[None]:
        """The question under way, or a new one. It goes on if whoever waits for it leaves."""
        if self._reading is None or self._reading.done():
            self._reading = asyncio.create_task(self._read())
        return self._reading

    async def _read(self) -> None:
        begun, self._news = self.seconds(), False
        try:
            keys = await self.source.live()
        except BooksUnavailableError:
            self._failed_at, self._news = self.seconds(), True
            return
        self._keys = {key.digest: key for key in keys}
        self._read_at, self._failed_at = begun, None

    def _unknown(self, digest: bytes) -> NotKnownError:
        if len(self._missed) >= ROOM:
            self._missed.clear()
        self._missed[digest] = self._read_at
        return NotKnownError("no key that is valid now reads so")

    def _lives(self, key: LiveKey) -> bool:
        return key.expires_at is None or self.now() < key.expires_at

    # ---- last uses ---------------------------------------------------------------------------------------------------

    def _note(self, name: str) -> None:
        self._used[name] = self.now()
        if self._noting is None or self._noting.done():
            self._noting = asyncio.create_task(self._note_later())

    async def _note_later(self) -> None:
        await asyncio.sleep(self.note_every_s)
        await self._write_uses()

    async def _write_uses(self) -> None:
        seen, self._used = self._used, {}
        if not seen:
            return
        try:
            await self.source.used(seen)
        except (BooksUnavailableError, NotStoredError, OutcomeUnknownError):
            self._used = seen | self._used
