"""Moving drafts in PostgreSQL."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date

from sqlalchemy import update
from sqlalchemy.ext.asyncio import AsyncEngine

from service.application.access import Asker
from service.application.drafts import mark_of
from service.application.inheritance import is_locked
from service.application.judging import named
from service.application.rebasing import Choice, Rebased, merged
from service.storage import audit, revisions
from service.storage.database import changing
from service.storage.drafts import held_draft, next_version
from service.storage.lines import lines_above, own_lines, put_lines
from service.storage.situation import take_turns
from service.storage.tables import book_revision
from service.storage.turns import Turns


@dataclass(frozen=True, slots=True)
class PostgresRebaser:
    """Implements `Rebaser`.

    Attributes:
        today: the day whose locks count.
        turns: in which the edits of a region wait for each other.
    """

    engine: AsyncEngine
    patience_s: float
    today: Callable[[], date]
    turns: Turns = field(default_factory=Turns)

    async def rebase(self, asker: Asker, region: str, draft: int, state: str, choice: Choice) -> Rebased:
        """Move a draft, in the state that the caller has seen, onto the region's newest revision."""
        async with self.turns.of(region), changing(self.engine, self.patience_s) as connection:
            # Nobody publishes meanwhile: what is the newest when this begins is the newest when it ends.
            place = await take_turns(connection, region)
            row = await held_draft(connection, region, draft, state)
            base = await revisions.revision(connection, row.based_on_id)
            newest = await revisions.newest(connection, place.id)
            own = await own_lines(connection, draft)
            was = await own_lines(connection, row.based_on_id)
            now = await own_lines(connection, revisions.id_of(newest))
            found = merged(was, own, now, choice)
            was_on, based_on = revisions.number_of(base), revisions.number_of(newest)
            if was_on == based_on:
                return Rebased(state, was_on, based_on, (), (), ())
            above = await lines_above(connection, region, self.today())
            # A parent's lock keeps it from counting, and from being published.
            locked = tuple(sorted(key for key in found.lines if is_locked(above, key)))
            lines = {key: line for key, line in found.lines.items() if key not in locked}
            await put_lines(connection, draft, own, lines)
            await connection.execute(update(book_revision).where(book_revision.c.id == draft).values(based_on_id=newest.id))
            await next_version(connection, draft)
            done = Rebased(mark_of(draft, row.version + 1), was_on, based_on, found.came, found.kept, locked)
            details = {
                "was_on": was_on, "based_on": based_on, "came": [named(k) for k in done.came],
                "kept": [named(k) for k in done.kept], "left_out": [named(k) for k in done.left_out],
            }
            await audit.record(connection, asker, "draft.rebase", f"{region}/drafts/{draft}", place.id, details)
            return done
