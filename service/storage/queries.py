"""The few questions that are asked of the tables."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import CTE, Select, and_, func, literal, select

from service.storage.tables import (
    book_period,
    book_revision,
    rate_line,
    region,
    stick,
    stock_period,
    stock_revision,
)


def regions() -> Select[Any]:
    """All regions with their parents' codes, parents before children, then by code."""
    top = select(region.c.id, literal(0).label("depth")).where(region.c.parent_id.is_(None)).cte("tree", recursive=True)
    tree = top.union_all(select(region.c.id, top.c.depth + 1).where(region.c.parent_id == top.c.id))
    parent = region.alias("parent")
    return (
        select(region, parent.c.code.label("parent"))
        .join(tree, tree.c.id == region.c.id)
        .outerjoin(parent, parent.c.id == region.c.parent_id)
        .order_by(tree.c.depth, region.c.code)
    )


def ancestors(code: str) -> CTE:
    """The region and everything that it inherits from; `depth` counts upwards from 0, the region itself."""
    own = (
        select(region.c.id, region.c.parent_id, literal(0).label("depth"))
        .where(region.c.code == code)
        .cte("ancestors", recursive=True)
    )
    return own.union_all(select(region.c.id, region.c.parent_id, own.c.depth + 1).where(region.c.id == own.c.parent_id))


def descendants(code: str) -> CTE:
    """The region and everything that inherits from it; `depth` counts downwards from 0, the region itself."""
    own = select(region.c.id, literal(0).label("depth")).where(region.c.code == code).cte("descendants", recursive=True)
    return own.union_all(select(region.c.id, own.c.depth + 1).where(region.c.parent_id == own.c.id))


def family(code: str) -> Select[Any]:
    """The region and its ancestors, the top first."""
    line = ancestors(code)
    return select(region).join(line, line.c.id == region.c.id).order_by(line.c.depth.desc())


def chain(code: str, day: date) -> Select[Any]:
    """What is in force on a day for the region and its ancestors, the top first, and from when until when."""
    line = ancestors(code)
    later = stock_period.alias("later")
    later_count = (
        select(func.min(func.lower(later.c.days)))
        .where(later.c.region_id == region.c.id, func.lower(later.c.days) > day)
        .correlate(region)
        .scalar_subquery()
    )
    return (
        select(
            region.c.code,
            book_revision.c.number.label("book"),
            func.lower(book_period.c.days).label("book_since"),
            func.upper(book_period.c.days).label("book_until"),
            stock_revision.c.number.label("stock"),
            func.lower(stock_period.c.days).label("stock_since"),
            func.coalesce(func.upper(stock_period.c.days), later_count).label("stock_until"),
        )
        .select_from(line)
        .join(region, region.c.id == line.c.id)
        .outerjoin(book_period, and_(book_period.c.region_id == region.c.id, book_period.c.days.contains(day)))
        .outerjoin(book_revision, book_revision.c.id == book_period.c.revision_id)
        .outerjoin(stock_period, and_(stock_period.c.region_id == region.c.id, stock_period.c.days.contains(day)))
        .outerjoin(stock_revision, stock_revision.c.id == stock_period.c.revision_id)
        .order_by(line.c.depth.desc())
    )


def lines(region_id: int, number: int) -> Select[Any]:
    """The lines of one published revision; one empty row if it holds none, no row if there is no such revision."""
    return (
        select(rate_line)
        .select_from(book_revision)
        .outerjoin(rate_line, rate_line.c.revision_id == book_revision.c.id)
        .where(book_revision.c.region_id == region_id, book_revision.c.number == number)
        .order_by(rate_line.c.section, rate_line.c.code)
    )


def sticks(region_id: int, number: int | None) -> Select[Any]:
    """The pieces of one published count; one empty row if it found none, no row if there is no such count."""
    return (
        select(stick)
        .select_from(stock_revision)
        .outerjoin(stick, stick.c.revision_id == stock_revision.c.id)
        .where(stock_revision.c.region_id == region_id, stock_revision.c.number == number)
        .order_by(stick.c.code)
    )
