"""What the database itself refuses, whoever asks."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy import delete, insert, select, text, update
from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlalchemy.ext.asyncio import AsyncEngine

from service.storage.publishing import BOOK, open_draft
from service.storage.tables import book_period, book_revision, rate_line, region, stick
from tests.storage.factory import line, new_region, piece, publish_book, publish_count

AGAINST_PUBLISHED = {
    "changing a line": "UPDATE rate_line SET likely = 11 WHERE revision_id = :book",
    "taking a line out": "DELETE FROM rate_line WHERE revision_id = :book",
    "adding a line": "INSERT INTO rate_line (revision_id, section, code, unit, low, likely, high, kind, source, what) "
    "VALUES (:book, 'norms', 'new', 'h', 1, 1, 1, '', 'x', 'x')",
    "moving a line to a draft": "UPDATE rate_line SET revision_id = :draft WHERE revision_id = :book",
    "changing the revision": "UPDATE book_revision SET why = 'other' WHERE id = :book",
    "making it a draft again": "UPDATE book_revision SET status = 'draft', number = NULL, published_at = NULL "
    "WHERE id = :book",
    "deleting the revision": "DELETE FROM book_revision WHERE id = :book",
    "emptying the lines": "TRUNCATE rate_line",
    "emptying the revisions": "TRUNCATE book_revision CASCADE",
    "changing a piece": "UPDATE stick SET length_ft = 1 WHERE revision_id = :count",
    "taking a piece out": "DELETE FROM stick WHERE revision_id = :count",
    "deleting the count": "DELETE FROM stock_revision WHERE id = :count",
    "re-parenting the region": "UPDATE region SET parent_id = NULL, currency = 'EUR' WHERE id = :region",
    "putting a draft in force": "INSERT INTO book_period (region_id, revision_id, days) "
    "VALUES (:region, :draft, '[2020-01-01,2020-02-01)')",
}


@pytest.mark.parametrize("what", AGAINST_PUBLISHED)
async def test_nothing_of_a_published_revision_can_be_changed(engine: AsyncEngine, what: str) -> None:
    async with engine.begin() as connection:
        region_id, _ = await new_region(connection)
        await publish_book(connection, region_id, line("lead"))
        await publish_count(connection, region_id, piece("log1"))
        book = (await connection.execute(select(book_period.c.revision_id).filter_by(region_id=region_id))).scalar_one()
        count = (await connection.execute(select(stick.c.revision_id).order_by(stick.c.revision_id.desc()))).scalar()
        draft = await open_draft(connection, BOOK, region_id, "tester")
        with pytest.raises(DBAPIError) as refused:
            await connection.execute(
                text(AGAINST_PUBLISHED[what]), {"book": book, "count": count, "draft": draft, "region": region_id}
            )
        await connection.rollback()

    assert refused.value.orig is not None
    assert getattr(refused.value.orig, "sqlstate", None) == "55000"


async def test_a_draft_can_be_changed_and_thrown_away(engine: AsyncEngine) -> None:
    async with engine.begin() as connection:
        region_id, _ = await new_region(connection)
        draft = await open_draft(connection, BOOK, region_id, "tester")
        await connection.execute(insert(rate_line).values(revision_id=draft, **line("lead")))
        await connection.execute(update(rate_line).filter_by(revision_id=draft).values(likely=Decimal(12)))
        await connection.execute(delete(book_revision).where(book_revision.c.id == draft))

        assert (await connection.execute(select(rate_line).filter_by(revision_id=draft))).all() == []


BAD_LINES: dict[str, dict[str, Any]] = {
    "low above likely": {"low": Decimal(11)},
    "likely above high": {"high": Decimal(9)},
    "likely not a number": {"likely": Decimal("NaN"), "high": Decimal("NaN")},
    "high without end": {"high": Decimal("Infinity")},
    "low without end": {"low": Decimal("-Infinity")},
    "all not numbers": {"low": Decimal("NaN"), "likely": Decimal("NaN"), "high": Decimal("NaN")},
    "a code with a capital": {"code": "Lead"},
    "a code with a line break": {"code": "lead\n"},
    "an unknown section": {"section": "wages"},
    "a resource without a kind": {"kind": ""},
    "a norm with a kind": {"section": "norms"},
    "an unknown kind": {"kind": "magic"},
}


@pytest.mark.parametrize("what", BAD_LINES)
async def test_a_line_that_makes_no_sense_is_refused(engine: AsyncEngine, what: str) -> None:
    async with engine.begin() as connection:
        region_id, _ = await new_region(connection)
        draft = await open_draft(connection, BOOK, region_id, "tester")
        with pytest.raises(IntegrityError):
            await connection.execute(insert(rate_line).values(revision_id=draft, **{**line("lead"), **BAD_LINES[what]}))
        await connection.rollback()


async def test_two_books_on_one_day_are_refused(engine: AsyncEngine) -> None:
    async with engine.begin() as connection:
        region_id, _ = await new_region(connection)
        await publish_book(connection, region_id, line("lead"))
        book = (await connection.execute(select(book_period.c.revision_id).filter_by(region_id=region_id))).scalar_one()
        with pytest.raises(IntegrityError, match="ex_book_period_one_a_day"):
            await connection.execute(
                text("INSERT INTO book_period (region_id, revision_id, days) VALUES (:r, :b, '[2026-05-01,)')"),
                {"r": region_id, "b": book},
            )
        await connection.rollback()


async def test_a_period_cannot_name_another_region_s_book(engine: AsyncEngine) -> None:
    async with engine.begin() as connection:
        region_id, _ = await new_region(connection)
        other_id, _ = await new_region(connection)
        await publish_book(connection, region_id, line("lead"))
        book = (await connection.execute(select(book_period.c.revision_id).filter_by(region_id=region_id))).scalar_one()
        with pytest.raises(IntegrityError, match="fk_book_period"):
            await connection.execute(
                text("INSERT INTO book_period (region_id, revision_id, days) VALUES (:r, :b, '[2026-05-01,)')"),
                {"r": other_id, "b": book},
            )
        await connection.rollback()


async def test_the_note_of_a_region_may_change(engine: AsyncEngine) -> None:
    async with engine.begin() as connection:
        region_id, _ = await new_region(connection)
        await connection.execute(update(region).where(region.c.id == region_id).values(note="moved office"))

        assert (await connection.execute(select(region.c.note).filter_by(id=region_id))).scalar_one() == "moved office"
