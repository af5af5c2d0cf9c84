"""The shelf: compiled books at hand, checked against the store now and then, and good for a while without it."""

from __future__ import annotations

import asyncio
from collections import OrderedDict, defaultdict
from collections.abc import Callable
from contextlib import suppress
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

RETRY_S = 1.0
"""How soon a store that did not answer is asked again [s]."""
LOCKS = 16
"""Regions share this many locks: a lock a region would let strangers' guesses at region codes pile up."""


@dataclass(slots=True)
class _Known:
    """A chain, when the store last said that it is in force, and whether news came since."""

    chain: Chain
    confirmed_at: float
    stale: bool


@dataclass(slots=True)
class BookShelf:
    """Books for quotes. Implements `Books`.

    A question to the store at most every `check_every_s` a region, one at a time; between two of them quotes are
    answered from memory. News of a publication makes the next quote ask at once. If the store does not answer, the
    last good book goes on, marked as degraded.

    Attributes:
        source: where books come from.
        seconds: a clock that never goes back.
        check_every_s: how long an answer of the store is taken as good, if no news comes.
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
    _work: asyncio.Event = field(default_factory=asyncio.Event)
    _kept_up: bool = False
    _news_count: int = 0

    async def regions(self) -> tuple[RegionRecord, ...]:
        """All regions, parents before children; as last known when the store is away."""
        if self._failed_at is not None and self._kept_up and self._regions is not None:
            return self._regions
        try:
            self._regions = await self.source.regions()
        except BooksUnavailableError:
            self._away()
            if self._regions is None:
                raise
        else:
            self._heard()
        return self._regions

    async def book(self, region: str, day: date, revision: str | None = None) -> Shelved:
        """The region's book in force on a day, or the pinned revision at that day."""
        if revision is not None:
            return Shelved(await self._compile(region, revision, day), degraded=False, age_s=0.0)
        known, degraded = self._fresh(region, day), False
        if known is None:
            known, degraded = self._stand_in(region, day), True
        if known is None:
            known, degraded = await self._ask(region, day)
        age_s = self.seconds() - known.confirmed_at
        return Shelved(await self._compile(region, known.chain.revision, day), degraded=degraded, age_s=age_s)

    async def readiness(self, day: date) -> Readiness:
        """Whether quotes can be answered for that day; reads the books in force if none is at hand yet."""
        away = "the store did not answer when it was last asked"
        if self._failed_at is not None and self._kept_up and self._compiled:
            return Readiness(ready=True, degraded=True, why=away)
        try:
            fault = await self.source.fault()
            if not fault and not self._compiled:
                fault = await self._warm(day)
        except BooksUnavailableError as fault:
            self._away()
            return Readiness(ready=bool(self._compiled), degraded=True, why=str(fault))
        degraded = self._failed_at is not None
        return Readiness(ready=not fault, degraded=degraded, why=fault or (away if degraded else ""))

    def stale(self, region: str | None) -> None:
        """A book was published: what is known of its region and of all that inherit from it has to be asked anew.

        Args:
            region: code of the region; None where news may have been missed, so that everything is asked anew.
        """
        self._news_count += 1
        # News comes from the store, so it is there again.
        self._failed_at = None
        for known in (k for chains in self._chains.values() for k in chains):
            known.stale = known.stale or region is None or _holds(known.chain, region)
        self._work.set()

    async def keep_up(self, today: Callable[[], date]) -> None:
        """Read today's books ahead after news, and ask for a store that is away, so that no quote has to wait.

        Runs until cancelled.
        """
        self._kept_up = True
        try:
            while True:
                await self._work.wait()
                self._work.clear()
                # What keeps a book from being read is told to whoever asks for it.
                if self._failed_at is not None:
                    await asyncio.sleep(min(self.check_every_s, RETRY_S))
                    await self._look_for_it(today())
                    continue
                for region in list(self._chains):
                    with suppress(BooksUnavailableError, LookupError):
                        await self._ask(region, today())
        finally:
            self._kept_up = False

    async def _look_for_it(self, day: date) -> None:
        """Ask a store that was away what a quote would ask; if it answers, news may have been missed."""
        region = next(iter(self._chains), None)
        try:
            with suppress(LookupError):
                await (self.source.regions() if region is None else self.source.chain(region, day))
        except BooksUnavailableError:
            self._away()
        else:
            self._heard()
            self.stale(None)

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
        """The chain for the day if the store was asked about it lately, and no news came since."""
        if region not in self._chains:
            return None
        horizon = self.seconds() - self.check_every_s
        known = (k for k in self._chains[region] if k.chain.holds_on(day) and not k.stale)
        return next((k for k in known if k.confirmed_at > horizon), None)

    def _stand_in(self, region: str, day: date) -> _Known | None:
        """The last good chain while the store is known to be away; None where it is worth while to ask.

        Raises:
            BooksUnavailableError: nothing can stand in.
        """
        if self._failed_at is None:
            return None
        # Where somebody keeps asking in the background, no quote waits for a store that hangs.
        retry = self.seconds() - self._failed_at >= min(self.check_every_s, RETRY_S)
        return None if retry and not self._kept_up else self._last_good(region, day)

    async def _ask(self, region: str, day: date) -> tuple[_Known, bool]:
        """Ask the store which chain is in force, or fall back on the last good one: the chain, and whether it is that."""
        async with self._locks[hash(region) % LOCKS]:
            if known := self._fresh(region, day):
                return known, False
            if known := self._stand_in(region, day):
                return known, True
            now, news_count = self.seconds(), self._news_count
            try:
                chain = await self.source.chain(region, day)
                await self._compile(region, chain.revision, day)
            except BooksUnavailableError:
                self._away()
                return self._last_good(region, day), True
            self._heard()
            # An answer that was under way when news came may be older than the news.
            known = _Known(chain, confirmed_at=now, stale=news_count != self._news_count)
            # What is in force on these days now, replaces what was known of them.
            others = [k for k in self._chains[region] if not _overlap(k.chain, chain)]
            self._chains[region] = [*others[-self.room :], known]
            return known, False

    def _last_good(self, region: str, day: date) -> _Known:
        """The chain last known for the day; failing that, the one confirmed last, for a day has passed since."""
        known = self._chains.get(region, [])
        ready = [k for k in known if (region, k.chain.revision) in self._compiled]
        best = max(ready, key=lambda k: (k.chain.holds_on(day), k.confirmed_at), default=None)
        if best is None:
            raise BooksUnavailableError(f"the store does not answer, and no book of {region} was read before")
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

    def _away(self) -> None:
        self._failed_at = self.seconds()
        self._work.set()


def _overlap(one: Chain, other: Chain) -> bool:
    """Whether two chains claim a day in common."""
    return (other.until is None or one.since < other.until) and (one.until is None or other.since < one.until)


def _holds(chain: Chain, region: str) -> bool:
    """Whether a region's book or count is in a chain. The chain is written as one text (see `ports`)."""
    return any(link.partition("@")[0] == region for link in chain.revision.split("/"))
