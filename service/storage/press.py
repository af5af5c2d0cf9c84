"""From a draft to a published revision, in one transaction: look, judge, number, freeze, put in force, note it in the log."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from typing import Any

from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.access import Asker, Once
from service.application.inheritance import LineKey, is_locked
from service.application.judging import judge
from service.application.publishing import (
    BackdatedError,
    Publication,
    Published,
    Say,
    Situation,
    UnknownNumberError,
)
from service.storage import audit, revisions
from service.storage.creates import only_once
from service.storage.database import changing
from service.storage.drafts import held_draft
from service.storage.lines import lines_above, own_lines, put_lines
from service.storage.publishing import BOOK, open_draft, publish
from service.storage.reading import signed_of
from service.storage.regions import chain_of, rates_of
from service.storage.situation import Place, is_outdated, outdated, situation, take_turns
from service.storage.turns import Turns


@dataclass(frozen=True, slots=True)
class PostgresPress:
    """Publishes books in PostgreSQL. Implements `Press`.

    Attributes:
        today: the day before which nothing is published.
        published: told the region's code when a publication is stored, so that whoever published sees it at once.
        turns: in which the publications of a region wait for each other, and for its edits.
    """

    engine: AsyncEngine
    patience_s: float
    today: Callable[[], date]
    published: Callable[[str], None]
    turns: Turns = field(default_factory=Turns)

    async def publish(
        self, asker: Asker, region: str, draft: int, state: str, publication: Publication, once: Once | None, say: Say
    ) -> bytes:
        """Publish a draft in the state that the caller has seen."""
        async with self.turns.of(region), changing(self.engine, self.patience_s) as connection:
            answer = await only_once(
                connection, asker, once, partial(self._publish, connection, asker, region, draft, state, publication, say)
            )
        self.published(region)
        return answer

    async def revert(
        self, asker: Asker, region: str, number: int, seen: int | None, publication: Publication, once: Once | None, say: Say
    ) -> bytes:
        """Publish the lines of an earlier revision anew."""
        async with self.turns.of(region), changing(self.engine, self.patience_s) as connection:
            answer = await only_once(
                connection, asker, once, partial(self._revert, connection, asker, region, number, seen, publication, say)
            )
        self.published(region)
        return answer

    async def _publish(
        self, connection: AsyncConnection, asker: Asker, region: str, draft: int, state: str, publication: Publication, say: Say
    ) -> bytes:
        place = await take_turns(connection, region)
        row = await held_draft(connection, region, draft, state)
        day = self._day(asker, publication)
        lines = await own_lines(connection, draft)
        base = await revisions.revision(connection, row.based_on_id)
        newest, present = await revisions.newest(connection, place.id), await revisions.in_force(connection, place.id, day)
        if is_outdated(row, newest, present):
            raise await outdated(connection, place, base, newest, lines)
        met = await situation(connection, place, day, lines, present, base)
        changed = judge(met, publication.confirmed)
        return await self._put_in_force(connection, asker, place, draft, met, publication, changed, say)

    async def _revert(
        self, connection: AsyncConnection, asker: Asker, region: str, number: int, seen: int | None, publication: Publication,
        say: Say,
    ) -> bytes:
        place = await take_turns(connection, region)
        wanted, newest = await self._numbered(connection, place, number), await revisions.newest(connection, place.id)
        day = self._day(asker, publication)
        all_lines = await own_lines(connection, wanted.id)
        if seen not in (None, newest.number):
            known = await self._numbered(connection, place, seen)
            raise await outdated(connection, place, known, newest, all_lines)
        above, present = await lines_above(connection, region, day), await revisions.in_force(connection, place.id, day)
        # What is locked meanwhile counts for nothing below the lock, so nothing is lost without it.
        left_out = tuple(sorted(key for key in all_lines if is_locked(above, key)))
        lines = {key: line for key, line in all_lines.items() if key not in left_out}
        met = await situation(connection, place, day, lines, present, present)
        changed = judge(met, publication.confirmed)
        draft = await open_draft(connection, BOOK, place.id, asker.caller.who, newest.id, wanted.id)
        await put_lines(connection, draft, {}, lines)
        return await self._put_in_force(
            connection, asker, place, draft, met, publication, changed, say, reverts_to=number, left_out=left_out
        )

    async def _numbered(self, connection: AsyncConnection, place: Place, number: int) -> Any:
        found = await revisions.numbered(connection, place.id, number)
        if found is None:
            raise UnknownNumberError(place.code, number)
        return found

    def _day(self, asker: Asker, publication: Publication) -> date:
        """The first day in force.

        Raises:
            BackdatedError: it lies in the past, and the caller is not the head office.
        """
        today = self.today()
        day = publication.effective or today
        caller = asker.caller
        if day < today and not (caller.regions is None and caller.may("admin")):
            raise BackdatedError(day, today)
        return day

    async def _put_in_force(
        self, connection: AsyncConnection, asker: Asker, place: Place, draft: int, met: Situation, publication: Publication,
        changed: tuple[LineKey, ...], say: Say, *, reverts_to: int | None = None, left_out: tuple[LineKey, ...] = (),
    ) -> bytes:
        """Publish what was judged, tell the log, and write the answer."""
        day, later = met.day, met.later
        number = await publish(connection, BOOK, draft, day, asker.caller.who, publication.why, asker.caller.name)
        row = await self._numbered(connection, place, number)
        done = Published(
            signed=signed_of(row, place.code), until=None if later is None else later.since,
            next_number=None if later is None else later.number,
            rates=rates_of(await chain_of(connection, place.code, day)), changed=len(changed), left_out=left_out,
            reverts_to=reverts_to,
        )
        details: dict[str, Any] = {
            "effective": day.isoformat(), "until": done.until and done.until.isoformat(), "why": publication.why,
            "changed": len(changed), "in_place_of": met.number, "confirmed": sorted(publication.confirmed),
            "backdated": day < self.today(), "draft": draft, "reverts_to": reverts_to,
        }
        await audit.record(connection, asker, "revision.publish", f"{place.code}/revisions/{number}", place.id, details)
        return say(done)
