"""A quote: gather the book, let the engine decide, hand on the answer. Nothing is written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from service.application.ports import Books, Quoted
from service.engine.knowledge import Knowledge
from service.engine.method import Method
from service.engine.quote import quote
from service.engine.survey import Survey


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
        answer = quote(asked, shelved.book, self.knowledge, self.methods)
        return Quoted(answer, shelved.degraded, shelved.age_s)
