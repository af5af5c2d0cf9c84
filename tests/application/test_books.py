"""The shelf: what it asks the store, how often, and how it goes on without it."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import pytest

from service.application.books import BookShelf
from service.application.ports import (
    BooksUnavailableError,
    Chain,
    NoBookError,
    RegionRecord,
    UnknownRegionError,
    UnknownRevisionError,
)
from service.engine.rates import RateBook

SPRING = date(2026, 3, 1)
SUMMER = date(2026, 6, 1)
EVE = timedelta(days=1)
CHECK_S = 5.0


@dataclass
class Store:
    """A store in memory: revisions by the day from which they hold, a switch, and a list of what was asked."""

    revisions: dict[date, str] = field(default_factory=lambda: {SPRING: "valley@1"})
    up: bool = True
    asked: list[str] = field(default_factory=list)
    slow: bool = False

    async def _ask(self, what: str) -> None:
        self.asked.append(what)
        if self.slow:
            await asyncio.sleep(0)
        if not self.up:
            raise BooksUnavailableError("the store is switched off")

    async def fault(self) -> str:
        await self._ask("fault")
        return ""

    async def regions(self) -> tuple[RegionRecord, ...]:
        await self._ask("regions")
        return (RegionRecord("valley", "Valley", "", "USD", "imperial", "US", "", ""),)

    async def chain(self, region: str, day: date) -> Chain:
        await self._ask("chain")
        if region != "valley":
            raise UnknownRegionError(region, ("valley",))
        since = max((start for start in self.revisions if start <= day), default=None)
        if since is None:
            raise NoBookError(region, day, (region,))
        until = min((start for start in self.revisions if start > day), default=None)
        return Chain(region, self.revisions[since], since, until)

    async def book(self, region: str, revision: str, day: date) -> RateBook:
        await self._ask("book")
        if revision == "valley@99":
            raise UnknownRevisionError(revision, "no such number")
        return RateBook(region, "Valley", "USD", "imperial", revision, day, {}, (), frozenset())

    def on_day(self, book: RateBook, day: date) -> RateBook:
        return replace(book, day=day)


@dataclass
class Clock:
    """A clock that goes on when told to."""

    now: float = 100.0

    def __call__(self) -> float:
        return self.now


def make() -> tuple[Store, Clock, BookShelf]:
    store, clock = Store(), Clock()
    return store, clock, BookShelf(store, clock, CHECK_S)


async def test_quotes_within_the_check_time_are_answered_without_asking() -> None:
    store, _, shelf = make()
    first = await shelf.book("valley", SPRING)
    again = await shelf.book("valley", SPRING)

    assert store.asked == ["chain", "book"]
    assert again.book is first.book
    assert (again.degraded, again.age_s) == (False, 0.0)


async def test_other_days_of_the_same_period_need_no_question_and_carry_their_own_day() -> None:
    store, _, shelf = make()
    await shelf.book("valley", SPRING)

    assert (await shelf.book("valley", SUMMER)).book.day == SUMMER
    assert store.asked == ["chain", "book"]


async def test_after_the_check_time_one_cheap_question_is_enough_when_nothing_was_published() -> None:
    store, clock, shelf = make()
    first = await shelf.book("valley", SPRING)
    clock.now += CHECK_S

    assert (await shelf.book("valley", SPRING)).book is first.book
    assert store.asked == ["chain", "book", "chain"]


async def test_a_new_publication_is_quoted_from_after_the_check_time() -> None:
    store, clock, shelf = make()
    await shelf.book("valley", SUMMER)
    store.revisions[SUMMER] = "valley@2"

    assert (await shelf.book("valley", SUMMER)).book.revision == "valley@1"
    clock.now += CHECK_S
    assert (await shelf.book("valley", SUMMER)).book.revision == "valley@2"
    assert (await shelf.book("valley", SUMMER - EVE)).book.revision == "valley@1"


async def test_many_quotes_at_once_ask_once() -> None:
    store, _, shelf = make()
    store.slow = True
    await asyncio.gather(*(shelf.book("valley", SPRING) for _ in range(50)))

    assert store.asked == ["chain", "book"]


async def test_when_the_store_is_away_the_last_good_book_goes_on_and_says_how_old_it_is() -> None:
    store, clock, shelf = make()
    before = await shelf.book("valley", SPRING)
    store.up = False
    clock.now += 60.0
    after = await shelf.book("valley", SPRING)

    assert after.book is before.book
    assert (after.degraded, after.age_s) == (True, 60.0)
    assert shelf.health().degraded


async def test_a_store_that_is_away_is_not_waited_for_by_every_quote() -> None:
    store, clock, shelf = make()
    await shelf.book("valley", SPRING)
    store.up = False
    clock.now += 60.0
    store.asked.clear()
    for day in range(10):
        await shelf.book("valley", SPRING - timedelta(days=day))

    assert store.asked == ["chain"]


async def test_when_a_day_passes_without_the_store_yesterday_s_book_goes_on() -> None:
    store, clock, shelf = make()
    store.revisions[SUMMER] = "valley@2"
    await shelf.book("valley", SUMMER - EVE)
    store.up = False
    clock.now += 86_400.0
    shelved = await shelf.book("valley", SUMMER)

    assert (shelved.book.revision, shelved.book.day, shelved.degraded) == ("valley@1", SUMMER, True)


async def test_the_shelf_recovers_by_itself() -> None:
    store, clock, shelf = make()
    await shelf.book("valley", SPRING)
    store.up = False
    clock.now += 60.0
    await shelf.book("valley", SPRING)
    store.up = True
    store.revisions = {SPRING: "valley@2"}
    clock.now += CHECK_S
    shelved = await shelf.book("valley", SPRING)

    assert (shelved.book.revision, shelved.degraded, shelf.health().degraded) == ("valley@2", False, False)


async def test_without_store_and_without_a_book_there_is_no_answer() -> None:
    store, _, shelf = make()
    store.up = False
    with pytest.raises(BooksUnavailableError):
        await shelf.book("valley", SPRING)


async def test_a_pinned_revision_that_was_read_before_needs_no_store_and_is_never_degraded() -> None:
    store, _, shelf = make()
    await shelf.book("valley", SPRING, "valley@1")
    store.up = False
    shelved = await shelf.book("valley", SUMMER, "valley@1")

    assert (shelved.book.revision, shelved.book.day, shelved.degraded) == ("valley@1", SUMMER, False)


async def test_errors_about_the_question_itself_are_handed_on() -> None:
    _, _, shelf = make()
    with pytest.raises(UnknownRegionError):
        await shelf.book("hill", SPRING)
    with pytest.raises(NoBookError):
        await shelf.book("valley", SPRING - EVE)
    with pytest.raises(UnknownRevisionError):
        await shelf.book("valley", SPRING, "valley@99")


async def test_the_shelf_keeps_no_more_books_than_it_has_room_for() -> None:
    store, clock = Store(), Clock()
    shelf = BookShelf(store, clock, CHECK_S, room=3)
    for number in range(1, 9):
        await shelf.book("valley", SPRING, f"valley@{number}")

    assert shelf.health().books == 3


async def test_guesses_at_regions_leave_nothing_behind() -> None:
    _, _, shelf = make()
    for n in range(200):
        with pytest.raises(UnknownRegionError):
            await shelf.book(f"guess{n}", SPRING)

    assert len(shelf._chains) == 0


async def test_ready_reads_the_books_in_force_and_stays_ready_without_the_store() -> None:
    store, _, shelf = make()
    assert (await shelf.readiness(SPRING)).ready
    store.up = False
    later = await shelf.readiness(SPRING)

    assert (later.ready, later.degraded) == (True, True)
    assert (await shelf.book("valley", SPRING)).book.revision == "valley@1"


async def test_not_ready_before_a_book_is_in_force_and_not_without_store_at_the_start() -> None:
    store, _, shelf = make()
    early = await shelf.readiness(SPRING - EVE)
    store.up = False

    assert (early.ready, early.why) == (False, "no region has a published book in force today")
    assert not (await shelf.readiness(SPRING)).ready
