"""A draft on its first day, from PostgreSQL: the book in force and the same chain with the draft's lines."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import and_, func, select
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.judging import differing, judge
from service.application.preview import Below, NotBelowError, Tried
from service.application.publishing import (
    ConfirmationNeededError,
    Fault,
    NothingChangesError,
    PublishRefusedError,
    Question,
    Situation,
)
from service.storage import queries, revisions
from service.storage.books import compile_chain
from service.storage.database import snapshot
from service.storage.drafts import draft_of, draft_row
from service.storage.lines import own_lines
from service.storage.regions import chain_of, rates_of
from service.storage.situation import is_outdated, place_of, situation
from service.storage.tables import book_period, rate_line, region


@dataclass(frozen=True, slots=True)
class PostgresTrials:
    """Implements `TrialSource`."""

    engine: AsyncEngine
    patience_s: float

    async def tried(self, region: str, draft: int, day: date, of: str) -> Tried:
        """A draft on a day, with the books of a region: the draft's own or one below it."""
        async with snapshot(self.engine, self.patience_s) as connection:
            row = await draft_row(connection, region, draft)
            below = await _below(connection, region, day)
            if of != region and of not in {one.region for one in below}:
                raise NotBelowError(of, [one.region for one in below])
            lines = await own_lines(connection, draft)
            chain = rates_of(await chain_of(connection, of, day))
            before = (await compile_chain(connection, of, chain, day)).book
            after = (await compile_chain(connection, of, chain, day, {region: lines})).book
            met, outdated = await _met(connection, region, row, day)
            faults, questions = _judged(met)
            moved = frozenset(differing(met.in_force, lines))
            locked = frozenset(key for key in moved if key in lines and lines[key].locked)
            return Tried(draft_of(row).mark, before, after, moved, locked, below, faults, questions, outdated)


async def _met(connection: AsyncConnection, code: str, row: Any, day: date) -> tuple[Situation, bool]:
    """What publishing the draft for that day would meet, and whether others have published since."""
    place = await place_of(connection, code)
    present, newest = await revisions.in_force(connection, place.id, day), await revisions.newest(connection, place.id)
    base = await revisions.revision(connection, row.based_on_id)
    met = await situation(connection, place, day, await own_lines(connection, row.id), present, base)
    return met, is_outdated(row, newest, present)


def _judged(met: Situation) -> tuple[tuple[Fault, ...], tuple[Question, ...]]:
    try:
        judge(met, frozenset())
    except PublishRefusedError as refused:
        return refused.faults, refused.questions
    except ConfirmationNeededError as needed:
        return (), needed.questions
    except NothingChangesError:
        return (), ()
    return (), ()


async def _below(connection: AsyncConnection, code: str, day: date) -> tuple[Below, ...]:
    """The regions below, parents before children, with the lines that they hold themselves on a day."""
    tree = queries.descendants(code)
    parent = region.alias("parent")
    pairs = func.array_agg(rate_line.c.section + "/" + rate_line.c.code).filter(rate_line.c.code.is_not(None))
    asked = (
        select(region.c.code, parent.c.code.label("parent"), pairs.label("lines"))
        .select_from(tree)
        .join(region, region.c.id == tree.c.id)
        .join(parent, parent.c.id == region.c.parent_id)
        .outerjoin(book_period, and_(book_period.c.region_id == region.c.id, book_period.c.days.contains(day)))
        .outerjoin(rate_line, rate_line.c.revision_id == book_period.c.revision_id)
        .where(tree.c.depth > 0)
        .group_by(region.c.code, parent.c.code, tree.c.depth)
        .order_by(tree.c.depth, region.c.code)
    )
    return tuple(
        Below(row.code, row.parent, frozenset(_key(text) for text in row.lines or ()))
        for row in await connection.execute(asked)
    )


def _key(text: str) -> tuple[str, str]:
    section, code = text.split("/")
    return section, code
