"""What a publication meets: the region and its parents, what is in force and scheduled, and what others did meanwhile."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.ext.asyncio import AsyncConnection

from service.application.inheritance import Lines
from service.application.judging import differing
from service.application.publishing import (
    DraftOutdatedError,
    Moved,
    Scheduled,
    Situation,
)
from service.storage.history import edits_of
from service.storage.lines import lines_above, own_lines
from service.storage.publishing import BOOK, take_turn, watch
from service.storage.reading import signed_of
from service.storage.regions import family_of, other_money
from service.storage.revisions import id_of, number_of
from service.storage.tables import book_period, book_revision


@dataclass(frozen=True, slots=True)
class Place:
    """A region and what it inherits from.

    Attributes:
        parents: ids and codes of its ancestors, the top first.
    """

    id: int
    code: str
    parents: tuple[tuple[int, str], ...]


async def take_turns(connection: AsyncConnection, code: str) -> Place:
    """The region, with its publications held back until the transaction ends, and its parents' too.

    Parents first and from the top, so that two who take turns never wait for each other.

    Raises:
        UnknownRegionError: there is no such region.
    """
    place = await place_of(connection, code)
    for parent, _ in place.parents:
        await watch(connection, BOOK, parent)
    await take_turn(connection, BOOK, place.id)
    return place


async def place_of(connection: AsyncConnection, code: str) -> Place:
    """The region of that code.

    Raises:
        UnknownRegionError: there is none.
    """
    family = await family_of(connection, code)
    return Place(family[-1].id, code, tuple((row.id, row.code) for row in family[:-1]))


async def later_than(connection: AsyncConnection, place: Place, day: date) -> Scheduled | None:
    """The scheduled revision that takes over next after a day."""
    since = func.lower(book_period.c.days).label("since")
    asked = (
        select(book_revision.c.id, book_revision.c.number, since)
        .join(book_period, book_period.c.revision_id == book_revision.c.id)
        .where(book_period.c.region_id == place.id, since > day)
        .order_by(since)
        .limit(1)
    )
    row = (await connection.execute(asked)).one_or_none()
    return None if row is None else Scheduled(row.number, row.since, await own_lines(connection, row.id))


async def situation(
    connection: AsyncConnection, place: Place, day: date, lines: Lines, present: Any, base: Any
) -> Situation:
    """What the publication of these lines meets: `present` is the row in force on the day, `base` that of the draft's base."""
    return Situation(
        day=day,
        lines=lines,
        above=await lines_above(connection, place.code, day),
        in_force=await own_lines(connection, id_of(present)),
        number=number_of(present),
        base=await own_lines(connection, id_of(base)),
        base_number=number_of(base),
        later=await later_than(connection, place, day),
        other=await other_money(connection, place.code),
    )


def is_outdated(draft: Any, newest: Any, present: Any) -> bool:
    """Whether others have published since: the draft rests neither on the newest revision nor on the one in force that day."""
    return draft.based_on_id not in (id_of(newest), id_of(present))


async def outdated(connection: AsyncConnection, place: Place, base: Any, newest: Any, lines: Lines) -> DraftOutdatedError:
    """What moved since a draft's base, and which of it the draft changes too."""
    after = number_of(base) or 0
    was = await own_lines(connection, id_of(base))
    now = await own_lines(connection, newest.id)
    mine = set(differing(was, lines))
    edits = {edit.key: edit.signed for edit in await edits_of(connection, place.code, after, newest.number)}
    r = book_revision.c
    since = await connection.execute(
        select(book_revision).where(r.region_id == place.id, r.number > after).order_by(r.number)
    )
    return DraftOutdatedError(
        number_of(base),
        [signed_of(row, place.code) for row in since],
        [Moved(key, was.get(key), now.get(key), edits[key], key in mine) for key in differing(was, now)],
    )
