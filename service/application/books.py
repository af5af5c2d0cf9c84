"""The shelf: compiled books at hand, checked against the store now and then, and good for a while without it."""

from __future__ import annotations

import asyncio
from collections import OrderedDict, defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date

from service.application.ports import (
    BookSource,
    BooksUnavailableError,
    Chain,
    NoBookError,
    Readiness,
    RegionRecord,
    ShelfHealth,
    Shelved,
)
from service.engine.rates import RateBook

LOCKS = 16
"""Regions share this many locks: a lock a region would let strangers' guesses at region codes pile up."""


@dataclass(slots=True)
class _Known:
    """A chain, when the store last said that it is in force, and when it was last asked."""

    chain: Chain
    confirmed_at: float
    asked_at: float


@dataclass(slots=True)
class BookShelf:
    """Books for quotes. Implements `Books`.

    A question to the store at most every `check_every_s` a region, one at a time; between two of them quotes are
    answered from memory. If the store does not answer, the last good book goes on, marked as degraded.

    Attributes:
        source: where books come from.
        seconds: a clock that never goes back.
        check_every_s: how long an answer of the store is taken as good.
        room: most compiled books kept; the ones unused for longest go first.
    """

    source: BookSource
    seconds: Callable[[], float]
    check_every_s: float
    room: int = 64
    _chains: dict[str, list[_Known]] = field(default_factory=lambda: defaultdict(list))
    _compiled: OrderedDict[tuple[str, str], RateBook] = field(default_factory=OrderedDict)
    _regions: tuple[RegionRecord, ...] | None = None
    _locks: tuple[asyncio.Lock, ...] = field(default_factory=lambda: tuple(asyncio.Lock() for _ in range(LOCKS)))
    _failed_at: float | None = None
    _answered_at: float | None = None

    async def regions(self) -> tuple[RegionRecord, ...]:
        """All regions, parents before children; as last known when the store is away."""
        try:
            self._regions = await self.source.regions()
        except BooksUnavailableError:
            self._failed_at = self.seconds()
            if self._regions is None:
                raise
        else:
            self._heard()
        return self._regions

    async def book(self, region: str, day: date, revision: str | None = None) -> Shelved:
        """The region's book in force on a day, or the pinned revision at that day."""
        if revision is not None:
            return Shelved(await self._compile(region, revision, day), degraded=False, age_s=0.0)
        known = self._fresh(region, day)
        if known is None:
            known = await self._ask(region, day)
        age_s = self.seconds() - known.confirmed_at
        return Shelved(
            await self._compile(region, known.chain.revision, day),
            degraded=known.asked_at > known.confirmed_at or not known.chain.holds_on(day),
            age_s=age_s,
        )

    async def readiness(self, day: date) -> Readiness:
        """Whether quotes can be answered for that day; reads the books in force if none is at hand yet."""
        try:
            fault = await self.source.fault()
            if not fault and not self._compiled:
                fault = await self._warm(day)
        except BooksUnavailableError as away:
            self._failed_at = self.seconds()
            return Readiness(ready=bool(self._compiled), degraded=True, why=str(away))
        return Readiness(ready=not fault, degraded=False, why=fault)

    async def _warm(self, day: date) -> str:
        """Read every region's book in force, so that the first quotes need not wait. Returns what is missing."""
        fault = "no region has a published book in force today"
        for record in await self.regions():
            try:
                await self.book(record.code, day)
            except NoBookError:
                continue
            fault = ""
        return fault

    def health(self) -> ShelfHealth:
        """How the shelf stands, without asking anybody."""
        age_s = None if self._answered_at is None else self.seconds() - self._answered_at
        return ShelfHealth(books=len(self._compiled), degraded=self._failed_at is not None, age_s=age_s)

    def _fresh(self, region: str, day: date) -> _Known | None:
        """The chain for the day if the store was asked about it lately."""
        if region not in self._chains:
            return None
        horizon = self.seconds() - self.check_every_s
        return next((k for k in self._chains[region] if k.chain.holds_on(day) and k.asked_at > horizon), None)

    async def _ask(self, region: str, day: date) -> _Known:
        """Ask the store which chain is in force, or fall back on the last good one."""
        async with self._locks[hash(region) % LOCKS]:
            if known := self._fresh(region, day):
                return known
            now = self.seconds()
            if self._failed_at is not None and now - self._failed_at < self.check_every_s:
                # It did not answer a moment ago; nobody waits for it again so soon.
                return self._last_good(region, day, now)
            try:
                chain = await self.source.chain(region, day)
                await self._compile(region, chain.revision, day)
            except BooksUnavailableError:
                self._failed_at = self.seconds()
                return self._last_good(region, day, now)
            self._heard()
            known = _Known(chain, confirmed_at=now, asked_at=now)
            # What is in force on these days now, replaces what was known of them.
            others = [k for k in self._chains[region] if not _overlap(k.chain, chain)]
            self._chains[region] = [*others[-self.room :], known]
            return known

    def _last_good(self, region: str, day: date, now: float) -> _Known:
        """The chain last known for the day; failing that, the one confirmed last, for a day has passed since."""
        known = self._chains.get(region, [])
        ready = [k for k in known if (region, k.chain.revision) in self._compiled]
        best = max(ready, key=lambda k: (k.chain.holds_on(day), k.confirmed_at), default=None)
        if best is None:
            raise BooksUnavailableError(f"the store does not answer, and no book of {region} was read before")
        best.asked_at = now
        return best

    async def _compile(self, region: str, revision: str, day: date) -> RateBook:
        """The compiled chain at that day, from memory or from the store."""
        book = self._compiled.get((region, revision))
        if book is None:
            book = await self.source.book(region, revision, day)
            self._compiled[region, revision] = book
            while len(self._compiled) > self.room:
                self._compiled.popitem(last=False)
        self._compiled.move_to_end((region, revision))
        return book if book.day == day else self.source.on_day(book, day)

    def _heard(self) -> None:
        self._failed_at, self._answered_at = None, self.seconds()


def _overlap(one: Chain, other: Chain) -> bool:
    """Whether two chains claim a day in common."""
    return (other.until is None or one.since < other.until) and (one.until is None or other.since < one.until)
