"""What a publication meets: the region and its parents, what is in force and scheduled, and what others did meanwhile."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.ext.asyncio import AsyncConnection

from service.application.access import Asker
from service.application.inheritance import Lines
from service.application.judging import differing
from service.application.publishing import (
    DraftOutdatedError,
    Moved,
    Scheduled,
    Situation,
)
from service.storage import queries
from service.storage.books import unknown_region
from service.storage.drafts import lines_above, own_lines
from service.storage.history import edits_of
from service.storage.publishing import BOOK, take_turn, watch
from service.storage.reading import signed_of
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
    family = (await connection.execute(queries.family(code))).all()
    if not family:
        raise await unknown_region(connection, code)
    return Place(family[-1].id, code, tuple((row.id, row.code) for row in family[:-1]))


def who_of(asker: Asker) -> str:
    """Who signs, as the audit log has it."""
    return f"{asker.caller.sort}:{asker.caller.id}"


async def revision(connection: AsyncConnection, revision_id: int | None) -> Any:
    """The row of a revision; None for None."""
    return (await connection.execute(select(book_revision).where(book_revision.c.id == revision_id))).one_or_none()


async def numbered(connection: AsyncConnection, place: Place, number: int) -> Any:
    """The row of the region's published revision of a number; None for none."""
    asked = select(book_revision).where(book_revision.c.region_id == place.id, book_revision.c.number == number)
    return (await connection.execute(asked)).one_or_none()


async def newest(connection: AsyncConnection, place: Place) -> Any:
    """The row of the region's newest published revision; None for none."""
    r = book_revision.c
    asked = select(book_revision).where(r.region_id == place.id, r.status == "published").order_by(r.number.desc()).limit(1)
    return (await connection.execute(asked)).one_or_none()


async def in_force(connection: AsyncConnection, place: Place, day: date) -> Any:
    """The region's own revision that is in force on a day; None for none."""
    asked = (
        select(book_revision)
        .join(book_period, book_period.c.revision_id == book_revision.c.id)
        .where(book_period.c.region_id == place.id, book_period.c.days.contains(day))
    )
    return (await connection.execute(asked)).one_or_none()


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
        in_force={} if present is None else await own_lines(connection, present.id),
        number=None if present is None else present.number,
        base={} if base is None else await own_lines(connection, base.id),
        base_number=None if base is None else base.number,
        later=await later_than(connection, place, day),
    )


def id_of(row: Any) -> int | None:
    """The id of a revision's row; None for None."""
    return None if row is None else int(row.id)


async def outdated(connection: AsyncConnection, place: Place, base: Any, newest: Any, lines: Lines) -> DraftOutdatedError:
    """What moved since a draft's base, and which of it the draft changes too."""
    after = 0 if base is None else base.number
    was = {} if base is None else await own_lines(connection, base.id)
    now = await own_lines(connection, newest.id)
    mine = set(differing(was, lines))
    edits = {edit.key: edit.signed for edit in await edits_of(connection, place.code, after, newest.number)}
    r = book_revision.c
    since = await connection.execute(
        select(book_revision).where(r.region_id == place.id, r.number > after).order_by(r.number)
    )
    return DraftOutdatedError(
        None if base is None else base.number,
        [signed_of(row, place.code) for row in since],
        [Moved(key, was.get(key), now.get(key), edits[key], key in mine) for key in differing(was, now)],
    )
