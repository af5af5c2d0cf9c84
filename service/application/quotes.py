"""A quote: gather the book, let the engine decide, hand on the answer. Nothing is written."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial

from service.application.ports import Books, Quoted
from service.engine.knowledge import Knowledge
from service.engine.method import Method
from service.engine.quote import quote
from service.engine.survey import Survey

A_FEW = 4
"""Defects that are answered at once; more of them are worked out beside the others."""


@dataclass(frozen=True, slots=True)
class QuoteDesk:
    """Quotes from books at hand. Implements `Quotes`."""

    books: Books
    knowledge: Knowledge
    methods: Mapping[str, Method]

    async def quote(self, region: str, survey: Survey, revision: str | None = None) -> Quoted:
        """Answer a survey by the region's book on its day, or by a pinned revision."""
        shelved = await self.books.book(region, survey.priced_on, revision)
        asked = survey if survey.units else replace(survey, units=shelved.book.units)
        ask = partial(quote, asked, shelved.book, self.knowledge, self.methods)
        # A whole house takes a while: it must not keep everybody else, and the probes, waiting.
        answer = await asyncio.to_thread(ask) if len(asked.defects) > A_FEW else ask()
        return Quoted(answer, shelved.degraded, shelved.age_s)
