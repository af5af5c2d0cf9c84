"""The lines that a revision or a draft of a book holds itself, those above a region, and how a draft is given others."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import Select, and_, delete, select, tuple_
from sqlalchemy.ext.asyncio import AsyncConnection

from service.application.draft_lines import FIELDS
from service.application.inheritance import LineKey, Lines, laid_over
from service.engine.rates import Line
from service.storage.copying import copy_rows
from service.storage.queries import ancestors
from service.storage.tables import book_period, book_revision, rate_line, region


def line_of(row: Any, region: str) -> Line:
    """A row of `rate_line` as a line of a region's book."""
    return Line(
        section=row.section,
        code=row.code,
        unit=row.unit,
        low=_plain(row.low),
        likely=_plain(row.likely),
        high=_plain(row.high),
        kind=row.kind,
        region=region,
        source=row.source,
        what=row.what,
        locked=row.locked,
    )


def _plain(number: Decimal) -> Decimal:
    """The number as it was typed: the driver reads 10000 as 1E+4, which would be printed so."""
    exponent = number.as_tuple().exponent
    return number.quantize(Decimal(1)) if isinstance(exponent, int) and exponent > 0 else number


async def own_lines(connection: AsyncConnection, revision_id: int | None) -> dict[LineKey, Line]:
    """The lines that a revision or draft holds itself; none for no revision."""
    rows = (await connection.execute(_own(revision_id))).all()
    return {(row.section, row.code): line_of(row, row.region) for row in rows}


async def lines_above(connection: AsyncConnection, region_code: str, day: date) -> dict[LineKey, Line]:
    """What a region inherits on a day: the books in force above it, laid over each other from the top down."""
    lines: dict[LineKey, Line] = {}
    layer: dict[LineKey, Line] = {}
    holder = None
    for row in (await connection.execute(_above(region_code, day))).all():
        if row.region != holder:
            lines, layer, holder = laid_over(lines, layer), {}, row.region
        layer[row.section, row.code] = line_of(row, row.region)
    return laid_over(lines, layer)


async def put_lines(connection: AsyncConnection, draft: int, before: Lines, after: Lines) -> list[LineKey]:
    """Make a draft hold these lines in place of those. Returns the lines that differ."""
    moved = sorted(key for key in {*before, *after} if before.get(key) != after.get(key))
    gone = [key for key in moved if key in before]
    if gone:
        of_these = tuple_(rate_line.c.section, rate_line.c.code).in_(gone)
        await connection.execute(delete(rate_line).where(rate_line.c.revision_id == draft, of_these))
    await copy_rows(connection, rate_line, [_row(draft, after[key]) for key in moved if key in after])
    return moved


def _row(draft: int, line: Line) -> dict[str, Any]:
    values = {name: getattr(line, name) for name in FIELDS}
    return {"revision_id": draft, "section": line.section, "code": line.code, **values}


def _own(revision_id: int | None) -> Select[Any]:
    """The lines that a revision or draft holds itself, each with the code of its `region`."""
    return (
        select(rate_line, region.c.code.label("region"))
        .join(book_revision, book_revision.c.id == rate_line.c.revision_id)
        .join(region, region.c.id == book_revision.c.region_id)
        .where(rate_line.c.revision_id == revision_id)
    )


def _above(code: str, day: date) -> Select[Any]:
    """The lines of the books in force above a region on a day, the top's first, each with the code of its `region`."""
    line = ancestors(code)
    return (
        select(rate_line, region.c.code.label("region"))
        .select_from(line)
        .join(region, region.c.id == line.c.id)
        .join(book_period, and_(book_period.c.region_id == region.c.id, book_period.c.days.contains(day)))
        .join(rate_line, rate_line.c.revision_id == book_period.c.revision_id)
        .where(line.c.depth > 0)
        .order_by(line.c.depth.desc())
    )
