"""What became of books and counts, from the published revisions as they lie. Nothing is derived when one is published."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select, Subquery, and_, case, func, literal, or_, select, tuple_
from sqlalchemy.dialects.postgresql import aggregate_order_by
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.draft_lines import FIELDS
from service.application.history import Edit, Place, Revision
from service.application.inheritance import LineKey
from service.application.reading import Layer, Signed
from service.engine.rates import Line
from service.storage.chains import parsed
from service.storage.database import asking
from service.storage.lines import line_of
from service.storage.reading import layer_of, signed_of
from service.storage.regions import family_of
from service.storage.tables import book_period, book_revision, rate_line, region, stock_revision


@dataclass(frozen=True, slots=True)
class PostgresHistory:
    """History in PostgreSQL. Implements `History`."""

    engine: AsyncEngine
    patience_s: float

    async def line(self, region: str, key: LineKey, after: Place | None, most: int) -> tuple[Edit, ...]:
        """Edits of a line by the region and its ancestors, the newest first."""
        async with asking(self.engine, self.patience_s) as connection:
            codes = await _family(connection, region)
            steps = _steps(codes, keys=(key,))
            asked = select(steps).order_by(steps.c.published_at.desc(), steps.c.region.desc(), steps.c.number.desc())
            if after is not None:
                place = tuple_(literal(after.published_at), literal(after.region), literal(after.number))
                asked = asked.where(tuple_(steps.c.published_at, steps.c.region, steps.c.number) < place)
            return tuple(_edit(row) for row in await connection.execute(asked.limit(most)))

    async def edits(
        self, region: str, after: int, until: int, keys: Collection[LineKey] | None = None
    ) -> tuple[Edit, ...]:
        """Edits of lines of one region's own book in the revisions after a number, oldest first."""
        async with asking(self.engine, self.patience_s) as connection:
            return await edits_of(connection, region, after, until, keys)

    async def revisions(self, region: str, before: int | None, most: int) -> tuple[Revision, ...]:
        """Revisions of a region's own book, the newest first, below a number."""
        async with asking(self.engine, self.patience_s) as connection:
            await _family(connection, region)
            rows = (await connection.execute(_revisions(region, before, most))).all()
            if not rows:
                return ()
            steps = _steps([region], after=rows[-1].number - 1, until=rows[0].number)
            counted = {row.number: row for row in await connection.execute(_counted(steps))}
        return tuple(_revision(row, counted.get(row.number), region) for row in rows)

    async def layer(self, region: str, number: int) -> Layer:
        """One region's own book."""
        async with asking(self.engine, self.patience_s) as connection:
            return await layer_of(connection, region, number)

    async def counts(self, old: str, new: str) -> tuple[Signed, ...]:
        """Counts of the yard that lie between two chains of one region, the oldest first."""
        was, now = _yard(old), _yard(new)
        if now is None or was == now:
            return ()
        other = was[1] if was is not None and was[0] == now[0] else 0
        async with asking(self.engine, self.patience_s) as connection:
            rows = await connection.execute(_counts(now[0], min(other, now[1]), max(other, now[1])))
            return tuple(signed_of(row, now[0]) for row in rows)


async def edits_of(
    connection: AsyncConnection, region: str, after: int, until: int, keys: Collection[LineKey] | None = None
) -> tuple[Edit, ...]:
    """Edits of lines of one region's own book, oldest first.

    Args:
        connection: for reading.
        region: code of the region.
        after, until: in the revisions after the one number, up to and with the other.
        keys: only these lines; None for all.
    """
    steps = _steps([region], keys=keys, after=after, until=until)
    rows = await connection.execute(select(steps).order_by(steps.c.number, steps.c.section, steps.c.code))
    return tuple(_edit(row) for row in rows)


async def _family(connection: AsyncConnection, code: str) -> list[str]:
    """Codes of the region and its ancestors, the top first. Raises UnknownRegionError."""
    return [member.code for member in await family_of(connection, code)]


def _steps(
    codes: Sequence[str], *, keys: Collection[LineKey] | None = None, after: int = 0, until: int | None = None
) -> Subquery:
    """Every line that differs between a published revision and the one of the number before, in these regions.

    Args:
        codes: regions.
        keys: only these lines; None for all.
        after, until: revisions above the one number, up to and with the other.
    """
    new, old = _side("new", codes, keys, after, until, shift=0), _side("old", codes, keys, after, until, shift=1)
    both = and_(
        new.c.region_id == old.c.region_id, new.c.number == old.c.number, new.c.section == old.c.section, new.c.code == old.c.code
    )
    held = new.join(old, both, full=True)
    number, region_id = func.coalesce(new.c.number, old.c.number), func.coalesce(new.c.region_id, old.c.region_id)
    r = book_revision.alias("signed")
    where = region.alias("whose")
    return (
        select(
            where.c.code.label("region"), r.c.number, r.c.effective_from, r.c.published_at, r.c.who, r.c.name, r.c.why,
            func.coalesce(new.c.section, old.c.section).label("section"),
            func.coalesce(new.c.code, old.c.code).label("code"),
            new.c.section.is_not(None).label("is_new"), old.c.section.is_not(None).label("was_old"),
            *(new.c[name].label(f"new_{name}") for name in FIELDS),
            *(old.c[name].label(f"old_{name}") for name in FIELDS),
        )
        .select_from(held)
        .join(r, and_(r.c.region_id == region_id, r.c.number == number))
        .join(where, where.c.id == r.c.region_id)
        .where(or_(
            new.c.section.is_(None), old.c.section.is_(None), *(new.c[n].is_distinct_from(old.c[n]) for n in FIELDS)
        ))
        .subquery("steps")
    )


def _side(
    name: str, codes: Sequence[str], keys: Collection[LineKey] | None, after: int, until: int | None, *, shift: int
) -> Subquery:
    """Lines of published revisions under the number of the revision that they are compared in: their own, or the next."""
    r = book_revision.c
    number = r.number + shift
    asked = (
        select(r.region_id, number.label("number"), *(c for c in rate_line.c if c.name != "revision_id"))
        .select_from(book_revision)
        .join(region, region.c.id == r.region_id)
        .join(rate_line, rate_line.c.revision_id == r.id)
        .where(region.c.code.in_(codes), r.number.is_not(None), number > after)
    )
    if until is not None:
        asked = asked.where(number <= until)
    if keys is not None:
        asked = asked.where(tuple_(rate_line.c.section, rate_line.c.code).in_(sorted(keys)))
    return asked.subquery(name)


def _edit(row: Any) -> Edit:
    old, new = _line(row, "old") if row.was_old else None, _line(row, "new") if row.is_new else None
    return Edit((row.section, row.code), signed_of(row, row.region), old, new)


@dataclass(frozen=True, slots=True)
class _Row:
    """One side of a step, as a row of a book."""

    section: str
    code: str
    unit: str
    low: Any
    likely: Any
    high: Any
    kind: str
    source: str
    what: str
    locked: bool


def _line(row: Any, side: str) -> Line:
    values = {name: getattr(row, f"{side}_{name}") for name in FIELDS}
    return line_of(_Row(row.section, row.code, **values), row.region)


def _counted(steps: Subquery) -> Select[Any]:
    """How many lines each revision added, changed and took out."""
    def where(condition: Any) -> Any:
        return func.sum(case((condition, 1), else_=0))

    return select(
        steps.c.number,
        where(~steps.c.was_old).label("added"),
        where(steps.c.is_new & steps.c.was_old).label("changed"),
        where(~steps.c.is_new).label("taken_out"),
    ).group_by(steps.c.number)


def _revisions(code: str, before: int | None, most: int) -> Select[Any]:
    """Published revisions, the newest first, with their days and the number of their lines."""
    r, base, earlier = book_revision.c, book_revision.alias("base"), book_revision.alias("earlier")
    days = (
        select(func.array_agg(aggregate_order_by(book_period.c.days, func.lower(book_period.c.days))))
        .where(book_period.c.revision_id == r.id).correlate(book_revision).scalar_subquery()
    )
    lines = (
        select(func.count()).select_from(rate_line).where(rate_line.c.revision_id == r.id)
        .correlate(book_revision).scalar_subquery()
    )
    asked = (
        select(
            r.number, r.effective_from, r.published_at, r.who, r.name, r.why, base.c.number.label("based_on"),
            earlier.c.number.label("reverts_to"), days.label("days"), lines.label("lines"),
        )
        .select_from(book_revision)
        .join(region, region.c.id == r.region_id)
        .outerjoin(base, base.c.id == r.based_on_id)
        .outerjoin(earlier, earlier.c.id == r.reverts_to_id)
        .where(region.c.code == code, r.number.is_not(None))
        .order_by(r.number.desc())
        .limit(most)
    )
    return asked if before is None else asked.where(r.number < before)


def _revision(row: Any, counted: Any, code: str) -> Revision:
    none = counted is None
    return Revision(
        signed=signed_of(row, code), based_on=row.based_on, reverts_to=row.reverts_to, lines=row.lines,
        days=tuple((one.lower, one.upper) for one in row.days or ()),
        added=0 if none else counted.added, changed=0 if none else counted.changed,
        taken_out=0 if none else counted.taken_out,
    )


def _yard(revision: str) -> tuple[str, int] | None:
    """Whose count of the yard a chain names, and its number: the nearest one's; None where it names none."""
    named = [(link.region, link.stock) for link in parsed(revision) if link.stock is not None]
    return named[-1] if named else None


def _counts(code: str, after: int, until: int) -> Select[Any]:
    r = stock_revision.c
    return (
        select(r.number, r.effective_from, r.published_at, r.who, r.name, r.why)
        .join(region, region.c.id == r.region_id)
        .where(region.c.code == code, r.number > after, r.number <= until)
        .order_by(r.number)
    )
