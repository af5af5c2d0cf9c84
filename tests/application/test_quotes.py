"""Large jobs take turns, and small ones go on beside them."""

from __future__ import annotations

import asyncio
import threading
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date

from service.application.ports import Shelved
from service.application.quotes import AT_ONCE, MANY, QuoteDesk
from service.engine.method import Method
from service.engine.registry import all_methods
from service.engine.survey import Defect, House, Span, Survey, Wishes
from tests.engine.books import book
from tests.engine.cases import knowledge

DAY = date(2026, 5, 4)
HELD_UP: ContextVar[bool] = ContextVar("held_up", default=False)


@dataclass
class Shelf:
    """One book for every question."""

    async def book(self, region: str, day: date, revision: str | None = None) -> Shelved:  # noqa: ARG002  # one for all
        return Shelved(book(), degraded=False, age_s=0.0)


class Registry(dict[str, Method]):
    """All methods, looked up at leisure by jobs that are held up. Knows how many of those look at once."""

    def __init__(self) -> None:
        super().__init__(all_methods())
        self.go, self.came = threading.Event(), threading.Semaphore(0)
        self.waiting: set[int] = set()

    def __getitem__(self, code: str) -> Method:
        """A method, when its time has come."""
        if HELD_UP.get() and not self.go.is_set():
            self.waiting.add(threading.get_ident())
            self.came.release()
            self.go.wait()
        return super().__getitem__(code)


def job(groups: int) -> Survey:
    """A job of so many groups of alike pieces."""
    depths = tuple(Span(k / 100, k / 100) for k in range(100, 100 + groups))
    defect = Defect(0, None, "wall_low", "band", numbers={"depth": depths}, count=groups, listed=("depth",))
    return Survey((defect,), House(), Wishes(), "told", "imperial", DAY)


async def test_large_jobs_take_turns_and_smaller_ones_do_not_wait() -> None:
    registry = Registry()
    desk = QuoteDesk(Shelf(), knowledge(), registry)  # type: ignore[arg-type]  # one question is all that it is asked
    HELD_UP.set(True)
    large = [asyncio.create_task(desk.quote("base", job(MANY + 1))) for _ in range(AT_ONCE + 1)]
    HELD_UP.set(False)
    try:
        for _ in range(AT_ONCE):
            assert await asyncio.to_thread(registry.came.acquire, timeout=60.0)
        for groups in (1, 5):
            small = await desk.quote("base", job(groups))
            assert len(small.answer.defects[0].findings) == groups
        assert not any(one.done() for one in large)
        assert len(registry.waiting) == AT_ONCE
    finally:
        registry.go.set()
    for done in await asyncio.gather(*large):
        assert len(done.answer.defects[0].findings) == MANY + 1
