"""Drafts in PostgreSQL: every change is one transaction, made to one named state, with its entry in the audit log."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sqlalchemy import delete, func, select, update
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.access import Asker, Once
from service.application.draft_lines import Change, Ground, LineFault, RefusedLinesError, changed, replaced
from service.application.drafts import (
    MOST_DRAFTS,
    Differing,
    Draft,
    Drafted,
    OutdatedDraftError,
    TooManyDraftsError,
    UnknownBaseError,
    UnknownDraftError,
    difference,
    set_aside,
)
from service.application.inheritance import LineKey, Lines, is_locked
from service.storage import draft_queries, revisions
from service.storage.audit import record
from service.storage.creates import only_once
from service.storage.database import asking, changing, snapshot
from service.storage.lines import lines_above, own_lines, put_lines
from service.storage.publishing import BOOK, open_draft
from service.storage.regions import id_of_region
from service.storage.tables import book_revision
from service.storage.turns import Turns

LOCK = 7407
"""Advisory lock under which a region's open drafts are counted."""
NAMED = 20
"""Lines that an entry of the audit log names."""


async def draft_row(connection: AsyncConnection, region_code: str, draft: int, *, hold: bool = False) -> Any:
    """The row of an open draft of a region, with the ids and numbers that it rests on (see `draft_queries.drafts`).

    Args:
        connection: for reading; with an open transaction where the row is held.
        region_code: the region.
        draft: the draft.
        hold: keep others from changing or publishing it until the transaction ends.

    Raises:
        UnknownRegionError, UnknownDraftError.
    """
    if hold:
        held = select(book_revision.c.id).where(book_revision.c.id == draft, book_revision.c.status == "draft")
        await connection.execute(held.with_for_update())
    row = (await connection.execute(draft_queries.drafts(region_code).where(book_revision.c.id == draft))).one_or_none()
    if row is None:
        region_id = await id_of_region(connection, region_code)
        asked = select(book_revision.c.number).where(book_revision.c.id == draft, book_revision.c.region_id == region_id)
        raise UnknownDraftError(region_code, draft, (await connection.execute(asked)).scalar_one_or_none())
    return row


async def held_draft(connection: AsyncConnection, region_code: str, draft: int, mark: str) -> Any:
    """The row of a draft in the state that `mark` names, held until the transaction ends.

    Raises:
        UnknownRegionError, UnknownDraftError, OutdatedDraftError.
    """
    row = await draft_row(connection, region_code, draft, hold=True)
    present = draft_of(row).mark
    if mark != present:
        raise OutdatedDraftError(present)
    return row


async def ground_of(connection: AsyncConnection, row: Any, day: date) -> Ground:
    """What the lines of a draft rest on, on a day."""
    return Ground(
        region=row.region,
        own=await own_lines(connection, row.id),
        base=await own_lines(connection, row.based_on_id),
        above=await lines_above(connection, row.region, day),
        top=row.parent_id is None,
    )


def draft_of(row: Any) -> Draft:
    """A row of `draft_queries.drafts` as a draft."""
    return Draft(
        id=row.id, region=row.region, version=row.version, based_on=row.based_on, newest=row.newest, in_force=row.in_force,
        who=row.who, name=row.name, note=row.note, opened_at=row.created_at, changed_at=row.changed_at, lines=row.lines,
        changes=row.changes,
    )


async def next_version(connection: AsyncConnection, draft: int) -> None:
    """Count up the states of a draft that is held."""
    counted = update(book_revision).where(book_revision.c.id == draft)
    await connection.execute(counted.values(version=book_revision.c.version + 1, changed_at=func.now()))


@dataclass(frozen=True, slots=True)
class PostgresDrafts:
    """Drafts in PostgreSQL. Implements `Drafts`.

    Attributes:
        today: the day whose books above count while a draft is edited.
        turns: in which the edits of a region wait for each other, and for its publications.
    """

    engine: AsyncEngine
    patience_s: float
    today: Callable[[], date]
    turns: Turns = field(default_factory=Turns)

    async def open(
        self, asker: Asker, region: str, *, based_on: int | None, note: str, changes: Sequence[Change], once: Once | None,
        written: Callable[[Draft], bytes],
    ) -> bytes:
        """Open a draft as a copy of a published revision, and make these changes to it (see `Drafts`)."""
        async with self.turns.of(region), changing(self.engine, self.patience_s) as connection:

            async def create() -> bytes:
                made = await self._open(connection, asker, region, based_on, note, changes)
                return written(made)

            return await only_once(connection, asker, once, create)

    async def _open(
        self, connection: AsyncConnection, asker: Asker, region: str, based_on: int | None, note: str,
        changes: Sequence[Change],
    ) -> Draft:
        region_id = await id_of_region(connection, region)
        await connection.execute(select(func.pg_advisory_xact_lock(LOCK, region_id)))
        if (await connection.execute(draft_queries.open_drafts(region_id))).scalar_one() >= MOST_DRAFTS:
            raise TooManyDraftsError(region)
        base_id = await _base(connection, region_id, based_on, self.today())
        made = await open_draft(connection, BOOK, region_id, asker.caller.who, base_id)
        said = update(book_revision).where(book_revision.c.id == made).values(note=note, name=asker.caller.name)
        await connection.execute(said)
        row = await draft_row(connection, region, made)
        ground = await ground_of(connection, row, self.today())
        # Locked above, an own line counts for nothing, and a draft that holds it could not be published.
        kept = {k: line for k, line in ground.base.items() if not is_locked(ground.above, k)}
        ground = Ground(region, kept, ground.base, ground.above, ground.top)
        await put_lines(connection, made, {}, changed(ground, changes))
        draft = draft_of(await draft_row(connection, region, made))
        details = {"based_on": draft.based_on, "note": note, **_said(change.key for change in changes)}
        await record(connection, asker, "draft.open", f"{region}/drafts/{made}", region_id, details)
        return draft

    async def all(self, region: str) -> tuple[Draft, ...]:
        """The region's open drafts, the oldest first."""
        async with asking(self.engine, self.patience_s) as connection:
            await id_of_region(connection, region)
            rows = (await connection.execute(draft_queries.drafts(region).order_by(book_revision.c.id))).all()
        return tuple(draft_of(row) for row in rows)

    async def one(self, region: str, draft: int) -> Drafted:
        """One draft with its lines."""
        async with snapshot(self.engine, self.patience_s) as connection:
            row = await draft_row(connection, region, draft)
            return Drafted(draft_of(row), await own_lines(connection, draft))

    async def difference(self, region: str, draft: int) -> Differing:
        """What the draft moves."""
        async with snapshot(self.engine, self.patience_s) as connection:
            row = await draft_row(connection, region, draft)
            ground = await ground_of(connection, row, self.today())
        return _differing(draft_of(row), ground, ground.own)

    async def change(self, asker: Asker, region: str, draft: int, mark: str, changes: Sequence[Change]) -> Drafted:
        """Change lines of the state that `mark` names."""
        async with self.turns.of(region), changing(self.engine, self.patience_s) as connection:
            row = await held_draft(connection, region, draft, mark)
            ground = await ground_of(connection, row, self.today())
            after = changed(ground, changes)
            return Drafted(await self._keep(connection, asker, row, ground.own, after), after)

    async def replace(self, asker: Asker, region: str, draft: int, mark: str, lines: Sequence[Change]) -> Differing:
        """Put these whole lines in place of all that the region holds itself."""
        async with self.turns.of(region), changing(self.engine, self.patience_s) as connection:
            row = await held_draft(connection, region, draft, mark)
            ground = await ground_of(connection, row, self.today())
            after = replaced(ground, lines)
            kept = await self._keep(connection, asker, row, ground.own, after)
            return _differing(kept, ground, after)

    async def faults(self, region: str, draft: int, lines: Sequence[Change]) -> tuple[LineFault, ...]:
        """What would be wrong with whole lines in the draft as it stands."""
        async with snapshot(self.engine, self.patience_s) as connection:
            ground = await ground_of(connection, await draft_row(connection, region, draft), self.today())
        try:
            changed(ground, lines)
        except RefusedLinesError as refused:
            return refused.faults
        return ()

    async def _keep(self, connection: AsyncConnection, asker: Asker, row: Any, before: Lines, after: Lines) -> Draft:
        """Store what changed, as a new state; what changes nothing is none."""
        moved = await put_lines(connection, row.id, before, after)
        if not moved:
            return draft_of(row)
        await next_version(connection, row.id)
        draft = draft_of(await draft_row(connection, row.region, row.id))
        details = {"version": draft.version, **_said(moved)}
        await record(connection, asker, "draft.change", f"{row.region}/drafts/{row.id}", row.region_id, details)
        return draft

    async def drop(self, asker: Asker, region: str, draft: int, mark: str) -> None:
        """Throw a draft away."""
        async with self.turns.of(region), changing(self.engine, self.patience_s) as connection:
            row = await held_draft(connection, region, draft, mark)
            await connection.execute(delete(book_revision).where(book_revision.c.id == draft))
            details = {"version": row.version, "changes": row.changes, "note": row.note}
            await record(connection, asker, "draft.delete", f"{region}/drafts/{draft}", row.region_id, details)


def _differing(draft: Draft, ground: Ground, own: Lines) -> Differing:
    return Differing(draft, difference(ground.base, own, ground.above), set_aside(own, ground.above))


async def _base(connection: AsyncConnection, region_id: int, number: int | None, today: date) -> int | None:
    """Id of the published revision of that number, or of the one in force today; None where the region has none.

    Not the newest: that may be a list for next month, and this week's price must not bring it forward.
    """
    newest = await revisions.newest(connection, region_id)
    if number is None:
        return revisions.id_of(await revisions.in_force(connection, region_id, today) or newest)
    found = await revisions.numbered(connection, region_id, number)
    if found is None:
        raise UnknownBaseError(number, revisions.number_of(newest))
    return revisions.id_of(found)


def _said(keys: Iterable[LineKey]) -> dict[str, Any]:
    """Lines as an entry of the audit log names them."""
    named = ["/".join(key) for key in keys]
    return {"lines": named[:NAMED], "count": len(named)}
