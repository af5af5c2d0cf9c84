"""The shelf: what it asks the store, how often, and how it goes on without it."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
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


async def test_news_of_a_publication_makes_the_next_quote_ask() -> None:
    store, _, shelf = make()
    await shelf.book("valley", SUMMER)
    store.revisions[SPRING] = "valley@2"
    shelf.stale("valley")

    assert (await shelf.book("valley", SUMMER)).book.revision == "valley@2"
    assert not (await shelf.book("valley", SUMMER)).degraded


async def test_news_of_a_parent_reaches_all_that_inherit_from_it_and_nobody_else() -> None:
    store, _, shelf = make()
    store.revisions = {SPRING: "base@1/valley@1+stock@1"}
    await shelf.book("valley", SPRING)
    for stranger in ("valle", "valley-two", "stock", "1"):
        shelf.stale(stranger)
    await shelf.book("valley", SPRING)
    assert store.asked == ["chain", "book"]
    store.revisions = {SPRING: "base@2/valley@1+stock@1"}
    shelf.stale("base")

    assert (await shelf.book("valley", SPRING)).book.revision == "base@2/valley@1+stock@1"


async def test_an_answer_that_was_under_way_when_news_came_is_asked_for_again() -> None:
    store, _, shelf = make()
    store.slow = True
    first = asyncio.create_task(shelf.book("valley", SPRING))
    while "book" not in store.asked:  # noqa: ASYNC110  # the store has no event; each turn is one step of its answer
        await asyncio.sleep(0)
    # The store has said which chain is in force; the publication comes after that, and the news of it before the answer.
    store.revisions = {SPRING: "valley@2"}
    shelf.stale("valley")

    assert (await first).book.revision == "valley@1"
    assert (await shelf.book("valley", SPRING)).book.revision == "valley@2"


async def test_a_quote_that_is_under_way_keeps_its_book() -> None:
    store, _, shelf = make()
    shelved = await shelf.book("valley", SPRING)
    store.revisions = {SPRING: "valley@2"}
    shelf.stale("valley")
    await shelf.book("valley", SPRING)

    assert shelved.book.revision == "valley@1"


async def test_after_news_the_books_that_were_asked_for_are_read_ahead() -> None:
    store, _, shelf = make()
    await shelf.book("valley", SPRING)
    async with keeping_up(shelf):
        store.revisions = {SPRING: "valley@2"}
        shelf.stale("valley")
        await until(lambda: store.asked == ["chain", "book"] * 2)
        store.up = False

        assert (await shelf.book("valley", SPRING)).book.revision == "valley@2"


async def test_news_while_the_store_is_away_leaves_the_last_good_book_in_place() -> None:
    store, _, shelf = make()
    await shelf.book("valley", SPRING)
    store.up = False
    shelf.stale(None)
    shelved = await shelf.book("valley", SPRING)

    assert (shelved.book.revision, shelved.degraded) == ("valley@1", True)


async def test_a_store_that_is_away_is_asked_for_in_the_background_until_it_is_back() -> None:
    store, clock, shelf = make()
    await shelf.book("valley", SPRING)
    store.up = False
    clock.now += CHECK_S
    async with keeping_up(shelf):
        assert (await shelf.book("valley", SPRING)).degraded
        clock.now += 3600.0
        store.asked.clear()
        assert (await shelf.book("valley", SPRING)).degraded
        assert store.asked == []
        store.revisions, store.up = {SPRING: "valley@2"}, True
        await until(lambda: not shelf.health().degraded)
        shelved = await shelf.book("valley", SPRING)

    assert (shelved.book.revision, shelved.degraded) == ("valley@2", False)


async def test_a_shelf_that_began_without_the_store_fills_when_it_comes() -> None:
    store, _, shelf = make()
    store.up = False
    async with keeping_up(shelf):
        with pytest.raises(BooksUnavailableError):
            await shelf.book("valley", SPRING)
        store.up = True
        await until(lambda: not shelf.health().degraded)

        assert not (await shelf.book("valley", SPRING)).degraded


@asynccontextmanager
async def keeping_up(shelf: BookShelf) -> AsyncIterator[None]:
    """The shelf, kept up to date in the background."""
    task = asyncio.create_task(shelf.keep_up(lambda: SPRING))
    await asyncio.sleep(0)
    yield
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)


async def until(holds: Callable[[], bool]) -> None:
    """Wait until it holds; for ever is ten seconds."""
    async with asyncio.timeout(10.0):
        while not holds():  # noqa: ASYNC110  # the shelf has no event for it
            await asyncio.sleep(0.01)
