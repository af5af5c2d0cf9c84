"""Moving drafts in PostgreSQL."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date

from sqlalchemy import delete, func, tuple_, update
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.access import Asker
from service.application.drafts import mark_of
from service.application.inheritance import LineKey, Lines
from service.application.judging import differing, named
from service.application.ports import NoBookError
from service.application.rebasing import Choice, Rebased, merged
from service.storage import audit, standing
from service.storage.copying import copy_rows
from service.storage.database import changing
from service.storage.standing import Place
from service.storage.tables import book_revision, rate_line


@dataclass(frozen=True, slots=True)
class PostgresRebaser:
    """Implements `Rebaser`.

    Attributes:
        today: the day whose locks count.
    """

    engine: AsyncEngine
    patience_s: float
    today: Callable[[], date]

    async def rebase(self, asker: Asker, region: str, draft: int, state: str, choice: Choice) -> Rebased:
        """Move a draft, in the state that the caller has seen, onto the region's newest revision."""
        async with changing(self.engine, self.patience_s) as connection:
            # Nobody publishes meanwhile: what is the newest when this begins is the newest when it ends.
            place = await standing.take_turns(connection, region)
            row = await standing.drafted(connection, place, draft, state)
            base, newest = await standing.revision(connection, row.based_on_id), await standing.newest(connection, place)
            own = await standing.lines_of(connection, draft, region)
            was = await standing.lines_of(connection, row.based_on_id, region)
            now = await standing.lines_of(connection, standing.id_of(newest), region)
            found = merged(was, own, now, choice)
            was_on, based_on = (None if one is None else int(one.number) for one in (base, newest))
            if was_on == based_on:
                return Rebased(state, was_on, based_on, (), (), ())
            locked = await self._locked(connection, place, found.lines)
            lines = {key: line for key, line in found.lines.items() if key not in locked}
            await _rewrite(connection, draft, own, lines)
            moved = update(book_revision).where(book_revision.c.id == draft).values(
                based_on_id=newest.id, version=row.version + 1, changed_at=func.clock_timestamp()
            )
            await connection.execute(moved)
            done = Rebased(mark_of(draft, row.version + 1), was_on, based_on, found.came, found.kept, locked)
            details = {
                "was_on": was_on, "based_on": based_on, "came": [named(k) for k in done.came],
                "kept": [named(k) for k in done.kept], "left_out": [named(k) for k in done.left_out],
            }
            await audit.record(connection, asker, "draft.rebase", f"{region}/drafts/{draft}", place.id, details)
            return done

    async def _locked(self, connection: AsyncConnection, place: Place, lines: Lines) -> tuple[LineKey, ...]:
        """Lines that a parent has locked: they count for nothing here, and could not be published."""
        try:
            above = await standing.above(connection, place, self.today())
        except NoBookError:
            # The parent's first book is scheduled: it locks nothing yet.
            return ()
        return tuple(sorted(key for key in lines if key in above and above[key].locked))


async def _rewrite(connection: AsyncConnection, draft: int, old: Lines, new: Lines) -> None:
    """Bring a draft's rows from the old lines to the new ones."""
    touched: Collection[LineKey] = differing(old, new)
    if touched:
        place = tuple_(rate_line.c.section, rate_line.c.code)
        await connection.execute(delete(rate_line).where(rate_line.c.revision_id == draft, place.in_(touched)))
    await copy_rows(connection, rate_line, [standing.row_of(draft, new[key]) for key in touched if key in new])
