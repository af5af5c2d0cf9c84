"""The questions that editing asks of the tables."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Date, Select, and_, cast, func, or_, select

from service.application.draft_lines import FIELDS
from service.storage.tables import book_period, book_revision, rate_line, region


def drafts(code: str) -> Select[Any]:
    """The open drafts of a region: their own columns; `region`, `parent_id`; `based_on`, `newest`, `in_force` (numbers); counts.

    `lines` counts the lines that the draft holds, `changes` those by which it differs from what it is based on.
    """
    base = book_revision.alias("base")
    published = book_revision.alias("published")
    newest = (
        select(func.max(published.c.number)).where(published.c.region_id == region.c.id).correlate(region).scalar_subquery()
    )
    present = book_revision.alias("present")
    today = cast(func.timezone("UTC", func.now()), Date)
    in_force = (
        select(present.c.number).join(book_period, book_period.c.revision_id == present.c.id)
        .where(book_period.c.region_id == region.c.id, book_period.c.days.contains(today)).correlate(region).scalar_subquery()
    )
    return (
        select(
            book_revision,
            region.c.code.label("region"),
            region.c.parent_id,
            base.c.number.label("based_on"),
            newest.label("newest"),
            in_force.label("in_force"),
            _lines().label("lines"),
            _changes().label("changes"),
        )
        .join(region, region.c.id == book_revision.c.region_id)
        .outerjoin(base, base.c.id == book_revision.c.based_on_id)
        .where(region.c.code == code, book_revision.c.status == "draft")
    )


def _lines() -> Any:
    own = rate_line.alias("held")
    return select(func.count()).where(own.c.revision_id == book_revision.c.id).correlate(book_revision).scalar_subquery()


def _changes() -> Any:
    """Lines that stand in one of the two only, or differ in any field. Numbers are compared, not how they are typed."""
    mine = select(rate_line).where(rate_line.c.revision_id == book_revision.c.id).correlate(book_revision).subquery("mine")
    theirs = (
        select(rate_line).where(rate_line.c.revision_id == book_revision.c.based_on_id).correlate(book_revision)
        .subquery("theirs")
    )
    same = and_(mine.c.section == theirs.c.section, mine.c.code == theirs.c.code)
    differ = or_(
        mine.c.code.is_(None), theirs.c.code.is_(None), *(mine.c[n].is_distinct_from(theirs.c[n]) for n in FIELDS)
    )
    both = mine.join(theirs, same, full=True)
    return select(func.count()).select_from(both).where(differ).correlate(book_revision).scalar_subquery()


def open_drafts(region_id: int) -> Select[Any]:
    """How many open drafts a region has."""
    return select(func.count()).where(book_revision.c.region_id == region_id, book_revision.c.status == "draft")
