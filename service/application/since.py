"""What changed since a quote: the lines and the wood that moved between its rates and those in force, and what that does to it.

Both quotes are priced on one day, so that nothing but the rates makes a difference.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from service.application.comparing import Comparer, Comparison
from service.application.effects import Effect, Priced, effects
from service.application.reading import RateReader
from service.engine.rates import MissingRateError, RateBook
from service.engine.survey import Survey

MOST_RUNS = 40
"""Most lines that are looked at alone."""
MOST_DEFECT_RUNS = 200
"""Most groups of alike pieces that are priced to look at lines alone, all runs together: a job of 100 has 2 of its lines
looked at.
"""
AT_ONCE = 2
"""Quotes that are taken apart at once; others wait, so that ordinary quotes find a thread."""


@dataclass(frozen=True, slots=True)
class Since:
    """What changed since a quote.

    Attributes:
        currency: of all money.
        then, now: the chains.
        comparison: what moved.
        effect: what that does to the quote; None where the request was not told.
        together: what is left of the job's change when all that was looked at alone is taken off: lines that work through
            each other, and lines that were not looked at.
        left_out: moved lines that the quote reads and that were not looked at alone.
        degraded, age_s: how fresh the knowledge is that the chain is in force (see `Shelved`).
    """

    currency: str
    then: str
    now: str
    comparison: Comparison
    degraded: bool
    age_s: float
    effect: Effect | None = None
    together: Decimal | None = None
    left_out: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class SinceQuote:
    """Tells what changed since a quote.

    Attributes:
        price: the one way in which a survey is priced.
    """

    reader: RateReader
    comparer: Comparer
    price: Priced
    _turns: asyncio.Semaphore = field(default_factory=lambda: asyncio.Semaphore(AT_ONCE))

    async def since(self, region: str, revision: str, day: date, survey: Survey | None = None) -> Since:
        """What moved between a chain and the one in force on a day, and what it does to a survey's quote.

        Raises:
            UnknownRegionError, NoBookError, UnknownRevisionError, BooksUnavailableError.
            MissingRateError: one of the books lacks a line that the work needs.
        """
        now = await self.reader.read(region, day)
        then = await self.reader.read(region, day, revision)
        told = Since(
            now.shelved.book.currency, revision, now.shelved.book.revision, await self.comparer.read(then, now),
            now.shelved.degraded, now.shelved.age_s,
        )
        if survey is None:
            return told
        before, after = [
            (await self.reader.books.book(region, survey.priced_on, chain)).book for chain in (told.then, told.now)
        ]
        async with self._turns:
            effect = await asyncio.to_thread(_effect, survey, before, after, self.price)
        return _with_effect(told, effect)


def runs_for(groups: int) -> int:
    """How many lines are looked at alone for a job of so many groups of alike pieces."""
    return max(1, min(MOST_RUNS, MOST_DEFECT_RUNS // max(1, groups)))


def _effect(survey: Survey, before: RateBook, after: RateBook, price: Priced) -> Effect:
    (effect,) = effects([survey], before, after, price, runs=runs_for(survey.most_groups))
    for book, result in ((before, effect.before), (after, effect.after)):
        if result.missing is not None:
            raise MissingRateError(*result.missing, book.region, book.day)
    return effect


def _with_effect(told: Since, effect: Effect) -> Since:
    looked_at = {alone.key for alone in effect.alone}
    whole = effect.after.total - effect.before.total
    return replace(
        told, effect=effect,
        together=whole - sum((alone.total for alone in effect.alone), Decimal(0)),
        left_out=tuple(sorted(effect.used - looked_at)),
    )
