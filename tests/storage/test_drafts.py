"""Drafts in the database: what they rest on, who changes them, and what a lock above does."""

from __future__ import annotations

import asyncio
import json
from datetime import date, timedelta
from decimal import Decimal

import pytest
from sqlalchemy import select, text
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.asyncio import AsyncEngine

from service.application.access import Once
from service.application.draft_lines import Change, RefusedLinesError
from service.application.drafts import (
    MOST_DRAFTS,
    Draft,
    OutdatedDraftError,
    TooManyDraftsError,
    UnknownBaseError,
    UnknownDraftError,
)
from service.application.ports import UnknownRegionError
from service.storage.books import PostgresBooks
from service.storage.drafts import PostgresDrafts, draft_row
from service.storage.lines import lines_above, own_lines
from service.storage.publishing import BOOK, open_draft, publish
from service.storage.tables import audit_entry, book_revision, rate_line
from tests.rates.conftest import asker
from tests.storage.factory import SPRING, line, new_region, publish_book

TODAY = SPRING + timedelta(days=30)
PATIENCE_S = 20.0


def _drafts(engine: AsyncEngine) -> PostgresDrafts:
    return PostgresDrafts(engine, PATIENCE_S, lambda: TODAY)


async def _family(engine: AsyncEngine, **base: str) -> tuple[str, str]:
    """A top region and one below it: codes. The top holds `lead` and `helper`, the one below its own `lead`."""
    async with engine.begin() as connection:
        top_id, top = await new_region(connection)
        below_id, below = await new_region(connection, top_id)
        await publish_book(connection, top_id, line("lead"), line("helper", "8"), **base)  # type: ignore[arg-type]  # a day
        await publish_book(connection, below_id, line("lead", "12.50"))
    return top, below


async def _open(drafts: PostgresDrafts, region: str, *changes: Change, based_on: int | None = None) -> Draft:
    seen: list[Draft] = []

    def written(draft: Draft) -> bytes:
        seen.append(draft)
        return b"answer"

    await drafts.open(asker(), region, based_on=based_on, note="", changes=changes, once=None, written=written)
    return seen[0]


def _likely(code: str, likely: str, **more: object) -> Change:
    return Change("resources", code, {"likely": Decimal(likely), **more})  # type: ignore[dict-item]  # fields of a line


async def _published(engine: AsyncEngine, draft: int, day: date = TODAY) -> int:
    async with engine.begin() as connection:
        return await publish(connection, BOOK, draft, day, "tester", "test")


async def test_a_draft_begins_as_a_copy_of_the_newest_book_with_the_first_changes_made(engine: AsyncEngine) -> None:
    _, below = await _family(engine)
    drafts = _drafts(engine)
    draft = await _open(drafts, below, _likely("helper", "9.25"))

    assert (draft.based_on, draft.newest, draft.version, draft.lines, draft.changes) == (1, 1, 1, 2, 1)
    drafted = await drafts.one(below, draft.id)
    assert drafted.draft == draft
    assert {key: f"{own.likely:f}" for key, own in drafted.lines.items()} == {
        ("resources", "lead"): "12.50", ("resources", "helper"): "9.25",
    }
    assert drafted.lines["resources", "helper"].high == Decimal(20)


async def test_a_draft_can_be_opened_on_an_older_book(engine: AsyncEngine) -> None:
    _, below = await _family(engine)
    drafts = _drafts(engine)
    await _published(engine, (await _open(drafts, below, _likely("lead", "14"))).id)
    old = await _open(drafts, below, based_on=1)

    assert (old.based_on, old.newest, old.outdated) == (1, 2, True)
    assert (await drafts.one(below, old.id)).lines["resources", "lead"].likely == Decimal("12.50")
    with pytest.raises(UnknownBaseError):
        await _open(drafts, below, based_on=3)


async def test_the_first_draft_of_a_region_without_a_book_is_empty(engine: AsyncEngine) -> None:
    async with engine.begin() as connection:
        _, code = await new_region(connection)
    draft = await _open(_drafts(engine), code)
    assert (draft.based_on, draft.newest, draft.outdated, draft.lines) == (None, None, False, 0)


async def test_a_draft_is_outdated_as_soon_as_another_one_is_published(engine: AsyncEngine) -> None:
    _, below = await _family(engine)
    drafts = _drafts(engine)
    mine, theirs = await _open(drafts, below), await _open(drafts, below, _likely("lead", "13"))
    assert not mine.outdated
    await _published(engine, theirs.id)
    assert [d.outdated for d in await drafts.all(below)] == [True]
    with pytest.raises(UnknownDraftError):
        await drafts.one(below, theirs.id)


async def test_a_draft_is_not_there_for_another_region(engine: AsyncEngine) -> None:
    top, below = await _family(engine)
    drafts = _drafts(engine)
    draft = await _open(drafts, below)
    with pytest.raises(UnknownDraftError):
        await drafts.one(top, draft.id)
    with pytest.raises(UnknownDraftError):
        await drafts.drop(asker(), top, draft.id, draft.mark)
    with pytest.raises(UnknownRegionError):
        await drafts.one("nowhere-at-all", draft.id)


async def test_every_change_is_a_new_state_and_what_changes_nothing_is_none(engine: AsyncEngine) -> None:
    _, below = await _family(engine)
    drafts = _drafts(engine)
    draft = await _open(drafts, below)
    once = await drafts.change(asker(), below, draft.id, draft.mark, [_likely("lead", "13")])
    again = await drafts.change(asker(), below, draft.id, once.draft.mark, [_likely("lead", "13.00")])

    assert (once.draft.version, once.draft.changes, again.draft.mark) == (2, 1, once.draft.mark)
    back = await drafts.change(asker(), below, draft.id, once.draft.mark, [_likely("lead", "12.5")])
    assert (back.draft.version, back.draft.changes) == (3, 0)


async def test_of_changes_to_one_state_at_the_same_time_one_is_made_and_the_others_are_told(engine: AsyncEngine) -> None:
    _, below = await _family(engine)
    drafts = _drafts(engine)
    draft = await _open(drafts, below)

    async def one(n: int) -> str:
        try:
            await drafts.change(asker(f"client {n}"), below, draft.id, draft.mark, [_likely("lead", f"13.{n}")])
        except OutdatedDraftError as late:
            return late.present
        return "made"

    told = await asyncio.gather(*(one(n) for n in range(6)))
    assert sorted(told) == [f"d{draft.id}-2"] * 5 + ["made"]
    drafted = await drafts.one(below, draft.id)
    assert drafted.lines["resources", "lead"].likely == Decimal(f"13.{told.index('made')}")


async def test_clients_that_read_again_lose_no_change(engine: AsyncEngine) -> None:
    _, below = await _family(engine)
    drafts = _drafts(engine)
    draft = await _open(drafts, below)

    async def raise_by_one() -> None:
        while True:
            seen = await drafts.one(below, draft.id)
            more = seen.lines["resources", "lead"].likely + 1
            try:
                await drafts.change(asker(), below, draft.id, seen.draft.mark, [_likely("lead", str(more), high=Decimal(99))])
            except OutdatedDraftError:
                continue
            return

    await asyncio.gather(*(raise_by_one() for _ in range(8)))
    seen = await drafts.one(below, draft.id)
    assert (seen.lines["resources", "lead"].likely, seen.draft.version) == (Decimal("20.50"), 9)


async def test_a_refused_change_leaves_the_draft_as_it_was(engine: AsyncEngine) -> None:
    _, below = await _family(engine)
    drafts = _drafts(engine)
    draft = await _open(drafts, below)
    before = await drafts.one(below, draft.id)
    with pytest.raises(RefusedLinesError):
        await drafts.change(asker(), below, draft.id, draft.mark, [_likely("helper", "9"), _likely("lead", "99")])
    with pytest.raises(RefusedLinesError):
        await drafts.replace(asker(), below, draft.id, draft.mark, [Change("resources", "nothing", {}, whole=True)])
    assert await drafts.one(below, draft.id) == before


async def test_a_create_that_is_sent_twice_opens_one_draft(engine: AsyncEngine) -> None:
    _, below = await _family(engine)
    drafts = _drafts(engine)
    once = Once("key-1", b"digest of the body")
    answers = [
        await drafts.open(asker(), below, based_on=None, note="", changes=(), once=once, written=lambda d: d.mark.encode())
        for _ in range(2)
    ]
    assert answers[0] == answers[1]
    assert len(await drafts.all(below)) == 1


async def test_a_region_keeps_so_many_open_drafts_and_no_more(engine: AsyncEngine) -> None:
    _, below = await _family(engine)
    drafts = _drafts(engine)
    async with engine.begin() as connection:
        region_id = (await draft_row(connection, below, (await _open(drafts, below)).id)).region_id
        for _ in range(MOST_DRAFTS - 2):
            await open_draft(connection, BOOK, region_id, "tester")
    opened = await asyncio.gather(*(_open(drafts, below) for _ in range(3)), return_exceptions=True)
    assert sum(isinstance(o, TooManyDraftsError) for o in opened) == 2
    assert len(await drafts.all(below)) == MOST_DRAFTS


async def test_a_dropped_draft_is_gone_with_its_lines_and_the_log_says_who_did_it(engine: AsyncEngine) -> None:
    _, below = await _family(engine)
    drafts = _drafts(engine)
    draft = await _open(drafts, below)
    await drafts.change(asker("ann"), below, draft.id, draft.mark, [_likely("lead", "13")])
    with pytest.raises(OutdatedDraftError):
        await drafts.drop(asker("ben"), below, draft.id, draft.mark)
    await drafts.drop(asker("ben"), below, draft.id, f"d{draft.id}-2")

    assert await drafts.all(below) == ()
    async with engine.connect() as connection:
        assert await own_lines(connection, draft.id) == {}
        said = select(audit_entry).where(audit_entry.c.subject == f"{below}/drafts/{draft.id}").order_by(audit_entry.c.id)
        entries = (await connection.execute(said)).all()
    assert [(e.action, e.name) for e in entries] == [("draft.open", "tests"), ("draft.change", "ann"), ("draft.delete", "ben")]
    assert json.loads(entries[1].details)["lines"] == ["resources/lead"]


# ---- locks ---------------------------------------------------------------------------------------------------------------


async def _lock(engine: AsyncEngine, top: str, code: str = "lead", day: date = TODAY) -> None:
    await _published(engine, (await _open(_drafts(engine), top, Change("resources", code, {"locked": True}))).id, day)


async def test_a_lock_makes_what_is_overridden_below_count_for_nothing_from_its_day_on(engine: AsyncEngine) -> None:
    top, below = await _family(engine)
    books = PostgresBooks(engine, PATIENCE_S)
    before = await books.chain(below, TODAY)
    await _lock(engine, top)
    after = await books.chain(below, TODAY)
    key = ("resources", "lead")

    assert (await books.book(below, after.revision, TODAY)).lines[key].likely == Decimal("10.00")
    assert (await books.book(below, after.revision, TODAY)).lines[key].region == top
    pinned = await books.book(below, before.revision, TODAY)
    assert (pinned.lines[key].likely, pinned.lines[key].region) == (Decimal("12.50"), below)
    assert (await books.chain(below, TODAY - timedelta(days=1))).revision == before.revision


async def test_a_lock_holds_through_a_region_between(engine: AsyncEngine) -> None:
    async with engine.begin() as connection:
        top_id, top = await new_region(connection)
        middle_id, middle = await new_region(connection, top_id)
        last_id, last = await new_region(connection, middle_id)
        await publish_book(connection, top_id, line("lead"), line("helper"))
        await publish_book(connection, middle_id, line("lead", "11", locked=False), line("helper", "12", locked=True))
        await publish_book(connection, last_id, line("lead", "13"))
    async with engine.connect() as connection:
        above = await lines_above(connection, last, TODAY)
    assert {code: (own.region, own.locked) for (_, code), own in above.items()} == {
        "lead": (middle, False), "helper": (middle, True),
    }
    await _lock(engine, top)
    async with engine.connect() as connection:
        above = await lines_above(connection, last, TODAY)
    assert above["resources", "lead"].region == top
    with pytest.raises(RefusedLinesError, match=f"locked by {middle}"):
        await _open(_drafts(engine), last, _likely("helper", "15"))
    with pytest.raises(RefusedLinesError, match=f"locked by {top}"):
        await _open(_drafts(engine), middle, _likely("lead", "15"))


async def test_a_draft_leaves_behind_what_is_locked_above(engine: AsyncEngine) -> None:
    top, below = await _family(engine)
    await _lock(engine, top)
    drafts = _drafts(engine)
    draft = await _open(drafts, below)
    (moved,) = (await drafts.difference(below, draft.id)).moved
    assert (moved.how, moved.locked_by, moved.before, moved.after) == ("taken_out", top, moved.above, moved.above)
    assert await _published(engine, draft.id) == 2


async def test_the_database_publishes_no_draft_that_overrides_a_locked_line(engine: AsyncEngine) -> None:
    top, below = await _family(engine)
    draft = await _open(_drafts(engine), below)
    await _lock(engine, top, day=TODAY + timedelta(days=10))
    with pytest.raises(IntegrityError, match=f"resources/lead by {top}"):
        await _published(engine, draft.id, TODAY + timedelta(days=10))
    async with engine.connect() as connection:
        state = select(book_revision.c.status).where(book_revision.c.id == draft.id)
        assert (await connection.execute(state)).scalar_one() == "draft"
    # Before the day of the lock the line may be overridden.
    assert await _published(engine, draft.id, TODAY) == 2


async def test_what_a_lock_set_aside_can_be_taken_out_of_a_draft(engine: AsyncEngine) -> None:
    top, below = await _family(engine)
    drafts = _drafts(engine)
    draft = await _open(drafts, below)
    await _lock(engine, top)
    with pytest.raises(RefusedLinesError, match="locked"):
        await drafts.change(asker(), below, draft.id, draft.mark, [_likely("lead", "13")])
    out = await drafts.change(asker(), below, draft.id, draft.mark, [Change("resources", "lead", inherit=True)])
    assert out.lines == {}
    assert await _published(engine, out.draft.id) == 2


async def test_numbers_stay_as_they_were_typed(engine: AsyncEngine) -> None:
    _, below = await _family(engine)
    drafts = _drafts(engine)
    draft = await _open(drafts, below, _likely("lead", "10000.50", high=Decimal(10000000)))
    own = (await drafts.one(below, draft.id)).lines["resources", "lead"]
    assert (f"{own.likely:f}", str(own.high)) == ("10000.50", "10000000")
    async with engine.connect() as connection:
        typed = text("SELECT likely::text FROM rate_line WHERE revision_id = :draft AND code = 'lead'")
        assert (await connection.execute(typed, {"draft": draft.id})).scalar_one() == "10000.50"
        assert (await connection.execute(select(rate_line.c.locked).filter_by(revision_id=draft.id))).scalar_one() is False
