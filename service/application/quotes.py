"""A quote: gather the book, let the engine decide, hand on the answer. Nothing is written."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial

from service.application.ports import Books, Quoted
from service.engine.knowledge import Knowledge
from service.engine.method import Method
from service.engine.outcome import Answer
from service.engine.quote import quote
from service.engine.rates import RateBook
from service.engine.survey import Survey

A_FEW = 4
"""Groups of alike pieces that are answered at once; more of them are worked out beside the others."""
MANY = 50
"""Groups of alike pieces from which on a job waits for its turn: it takes seconds, and hundreds of megabytes."""
AT_ONCE = 2
"""Such jobs that are worked out at once; smaller ones go on beside them."""


@dataclass(frozen=True, slots=True)
class QuoteDesk:
    """Quotes from books at hand. Implements `Quotes`."""

    books: Books
    knowledge: Knowledge
    methods: Mapping[str, Method]
    _turns: asyncio.Semaphore = field(default_factory=lambda: asyncio.Semaphore(AT_ONCE))

    async def quote(self, region: str, survey: Survey, revision: str | None = None) -> Quoted:
        """Answer a survey by the region's book on its day, or by a pinned revision."""
        shelved = await self.books.book(region, survey.priced_on, revision)
        ask = partial(self.priced, survey, shelved.book)
        # A whole house takes a while: it must not keep everybody else, and the probes, waiting.
        groups = survey.most_groups
        if groups <= A_FEW:
            answer = ask()
        elif groups <= MANY:
            answer = await asyncio.to_thread(ask)
        else:
            async with self._turns:
                answer = await asyncio.to_thread(ask)
        return Quoted(answer, shelved.degraded, shelved.age_s)

    def priced(self, survey: Survey, book: RateBook) -> Answer:
        """Answer a survey by this very book, in the region's units where the survey names none.

        Raises:
            MissingRateError: the book lacks a line that the work needs.
        """
        asked = survey if survey.units else replace(survey, units=book.units)
        return quote(asked, book, self.knowledge, self.methods)
