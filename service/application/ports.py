"""What the use cases ask of the outside, and what they offer to the web: values and Protocols, no framework.

A region's effective book is fixed by a *chain*: one revision of every book from the top parent down to the region, and
one count of the yard. The chain is written as one string (R37), parents first: ``base@3/north-valley@7+stock@2``.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Protocol

from service.engine.outcome import Answer
from service.engine.rates import RateBook
from service.engine.survey import Survey


class UnknownRegionError(LookupError):
    """No region has this code."""

    def __init__(self, region: str, known: tuple[str, ...]) -> None:
        """Name the code and the regions that there are."""
        super().__init__(f"no region {region!r}; there are: {', '.join(known) or 'none'}")
        self.region, self.known = region, known


class NoBookError(LookupError):
    """The region is known, but somewhere in its chain no published book is in force on that day."""

    def __init__(self, region: str, day: date, without: tuple[str, ...]) -> None:
        """Name the region, the day and the members of the chain that have no book on it."""
        super().__init__(f"no published book in force on {day.isoformat()} for {', '.join(without)} (asked: {region})")
        self.region, self.day, self.without = region, day, without


class UnknownRevisionError(LookupError):
    """The pinned revision is not written as one, or is not a chain of this region's published books."""

    def __init__(self, revision: str, why: str) -> None:
        """Name the revision as it was given, and what is wrong with it."""
        super().__init__(f"revision {revision!r}: {why}")
        self.revision, self.why = revision, why


class BooksUnavailableError(Exception):
    """The store does not answer, and no book that was read before can stand in."""


class NotStoredError(Exception):
    """The store does not answer, so a change could not be made; nothing of it was kept."""


class OutcomeUnknownError(Exception):
    """The store went away while it was told to keep a change: it is wholly there or wholly not, and nobody knows which."""


class OnceConflictError(Exception):
    """A create under a key that another create has, or that is still under way."""

    def __init__(self, key: str, *, running: bool) -> None:
        """Name the key and which of the two it is."""
        super().__init__(f"the key {key!r} {'is being worked on' if running else 'stands for another create'}")
        self.key, self.running = key, running


@dataclass(frozen=True, slots=True)
class RegionRecord:
    """A region as the store has it.

    Attributes:
        parent: code of the region that it inherits from; "" for the top.
        currency: ISO 4217.
        units: "imperial" or "metric".
        holiday_country, holiday_subdiv: public holidays on which nobody works (ISO 3166); "" for none.
    """

    code: str
    name: str
    parent: str
    currency: str
    units: str
    holiday_country: str
    holiday_subdiv: str
    note: str


@dataclass(frozen=True, slots=True)
class Chain:
    """The chain in force for one region from `since` until the day before `until` (None: until further notice)."""

    region: str
    revision: str
    since: date
    until: date | None

    def holds_on(self, day: date) -> bool:
        """Whether the chain is in force on that day."""
        return self.since <= day and (self.until is None or day < self.until)


@dataclass(frozen=True, slots=True)
class Shelved:
    """A book, and how fresh the knowledge is that it is the one in force.

    Attributes:
        degraded: the store did not answer, so a newer book may have been published meanwhile.
        age_s: seconds since the store last said that this book is in force; 0 for a pinned revision, which cannot age.
    """

    book: RateBook
    degraded: bool
    age_s: float


@dataclass(frozen=True, slots=True)
class ShelfHealth:
    """How the shelf stands, for readiness and metrics.

    Attributes:
        books: number of compiled books at hand.
        degraded: whether the last question to the store failed.
        age_s: seconds since the store last answered; None if it never did.
    """

    books: int
    degraded: bool
    age_s: float | None


@dataclass(frozen=True, slots=True)
class Readiness:
    """Whether quotes can be answered now.

    Attributes:
        ready: whether a quote would be answered.
        degraded: whether it would be answered without the store, from a book that was read before.
        why: what stands in the way, in words; "" when nothing does.
    """

    ready: bool
    degraded: bool
    why: str


class BookSource(Protocol):
    """Where books come from. The one implementation is PostgreSQL; every method may raise BooksUnavailableError."""

    async def fault(self) -> str:
        """What keeps the store from serving, in words (its schema is older than the code); "" for nothing."""
        ...

    async def regions(self) -> tuple[RegionRecord, ...]:
        """All regions, parents before children, then by code."""
        ...

    async def chain(self, region: str, day: date) -> Chain:
        """The chain in force on a day: one cheap query. Raises UnknownRegionError, NoBookError."""
        ...

    async def book(self, region: str, revision: str, day: date) -> RateBook:
        """Exactly that chain, compiled. Raises UnknownRegionError, UnknownRevisionError."""
        ...

    def on_day(self, book: RateBook, day: date) -> RateBook:
        """The same revision's book for another day: same lines, that day's calendar. Asks nobody."""
        ...


class Books(Protocol):
    """What a quote and the web ask for."""

    async def regions(self) -> tuple[RegionRecord, ...]:
        """All regions, parents before children. Raises BooksUnavailableError."""
        ...

    async def book(self, region: str, day: date, revision: str | None = None) -> Shelved:
        """The region's book in force on a day, or the pinned revision at that day.

        Raises:
            UnknownRegionError, NoBookError, UnknownRevisionError, BooksUnavailableError.
        """
        ...

    async def readiness(self, day: date) -> Readiness:
        """Whether quotes can be answered for that day; reads the books in force if none is at hand yet."""
        ...

    def health(self) -> ShelfHealth:
        """How the shelf stands, without asking anybody."""
        ...


@dataclass(frozen=True, slots=True)
class Quoted:
    """An answer, and how fresh the knowledge is that its prices are the ones in force (see `Shelved`)."""

    answer: Answer
    degraded: bool
    age_s: float


class Quotes(Protocol):
    """What `POST /v1/quotes` asks for."""

    async def quote(self, region: str, survey: Survey, revision: str | None = None) -> Quoted:
        """Answer a survey by the region's book on `survey.priced_on`, or by a pinned revision.

        A survey whose `units` are "" is answered in the region's.

        Raises:
            UnknownRegionError, NoBookError, UnknownRevisionError, BooksUnavailableError.
            MissingRateError: the book lacks a line that the work needs.
        """
        ...
