"""Reading books: which chain is in force on a day, and one chain compiled to what the engine takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from types import MappingProxyType

from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.inheritance import laid_over
from service.application.ports import Chain, RegionRecord, UnknownRevisionError
from service.engine.rates import Line, RateBook, Stick
from service.storage import queries, schema
from service.storage.calendar import holidays_around
from service.storage.chains import Link, parsed
from service.storage.database import asking
from service.storage.lines import line_of
from service.storage.regions import chain_of, family_of, rates_of

INCHES_A_FOOT = 12


@dataclass(frozen=True, slots=True)
class PostgresBooks:
    """Books in PostgreSQL.

    Attributes:
        patience_s: longest that a question may take before the database counts as away.
        calendars: region -> country and subdivision of its holidays, learned with its books; a region never changes.
    """

    engine: AsyncEngine
    patience_s: float
    calendars: dict[str, tuple[str, str]] = field(default_factory=dict)

    async def fault(self) -> str:
        """What keeps the database from serving, in words; "" for nothing."""
        async with asking(self.engine, self.patience_s) as connection:
            there = await connection.run_sync(schema.current_of)
        wanted = schema.head()
        return (
            "" if there == wanted else f"the database's schema is at {there}, this service needs {wanted}; migrate it"
        )

    async def regions(self) -> tuple[RegionRecord, ...]:
        """All regions, parents before children, then by code."""
        async with asking(self.engine, self.patience_s) as connection:
            return await _regions(connection)

    async def chain(self, region: str, day: date) -> Chain:
        """The chain in force on a day. Raises UnknownRegionError, NoBookError."""
        async with asking(self.engine, self.patience_s) as connection:
            rows = await chain_of(connection, region, day)
        since = [edge for row in rows for edge in (row.book_since, row.stock_since) if edge is not None]
        until = [edge for row in rows for edge in (row.book_until, row.stock_until) if edge is not None]
        return Chain(region=region, revision=rates_of(rows), since=max(since), until=min(until, default=None))

    async def book(self, region: str, revision: str, day: date) -> RateBook:
        """Exactly that chain, compiled. Raises UnknownRegionError, UnknownRevisionError."""
        async with asking(self.engine, self.patience_s) as connection:
            compiled = await compile_chain(connection, region, revision, day)
        self.calendars[region] = compiled.calendar
        return compiled.book

    def on_day(self, book: RateBook, day: date) -> RateBook:
        """The same revision's book for another day: same lines, that day's calendar. Asks nobody."""
        return replace(book, day=day, holidays=holidays_around(*self.calendars[book.region], day.year))


@dataclass(frozen=True, slots=True)
class Compiled:
    """A compiled chain, and the country and subdivision of its region's holidays."""

    book: RateBook
    calendar: tuple[str, str]


async def compile_chain(
    connection: AsyncConnection, region: str, revision: str, day: date,
    instead: Mapping[str, Mapping[tuple[str, str], Line]] = MappingProxyType({}),
) -> Compiled:
    """A chain compiled to what the engine takes.

    Args:
        connection: for reading.
        region: the region at the end of the chain.
        revision: names the chain.
        day: day of the prices.
        instead: a member of the chain -> lines to take in place of those of its revision, to see what they would do.

    Raises:
        UnknownRegionError, UnknownRevisionError.
    """
    links = parsed(revision)
    family = await family_of(connection, region)
    _check_family(revision, links, [member.code for member in family])
    lines: dict[tuple[str, str], Line] = {}
    yard: tuple[Stick, ...] = ()
    for member, link in zip(family, links, strict=True):
        own = instead.get(member.code)
        lines = laid_over(lines, await _own_lines(connection, member.id, link, revision) if own is None else own)
        if link.stock is not None:
            # The nearest yard counts: wood far away in head office's is not on the truck.
            yard = await _own_yard(connection, member.id, link, revision)
    own_region = family[-1]
    book = RateBook(
        region=own_region.code,
        region_name=own_region.name,
        currency=own_region.currency,
        units=own_region.units,
        revision=revision,
        day=day,
        lines=MappingProxyType(lines),
        yard=yard,
        holidays=holidays_around(own_region.holiday_country, own_region.holiday_subdiv, day.year),
    )
    return Compiled(book, (own_region.holiday_country, own_region.holiday_subdiv))


async def _regions(connection: AsyncConnection) -> tuple[RegionRecord, ...]:
    rows = (await connection.execute(queries.regions())).all()
    return tuple(
        RegionRecord(
            code=row.code,
            name=row.name,
            parent=row.parent or "",
            currency=row.currency,
            units=row.units,
            holiday_country=row.holiday_country,
            holiday_subdiv=row.holiday_subdiv,
            note=row.note,
        )
        for row in rows
    )


def _check_family(revision: str, links: tuple[Link, ...], family: list[str]) -> None:
    if [link.region for link in links] != family:
        raise UnknownRevisionError(revision, f"a chain of {family[-1]} names {', '.join(family)}, in this order")


async def _own_lines(
    connection: AsyncConnection, region_id: int, link: Link, revision: str
) -> dict[tuple[str, str], Line]:
    """The lines that one region's book holds itself."""
    rows = (await connection.execute(queries.lines(region_id, link.book))).all()
    if not rows:
        raise UnknownRevisionError(revision, f"{link.region} has no published book number {link.book}")
    return {(row.section, row.code): line_of(row, link.region) for row in rows if row.code is not None}


async def _own_yard(connection: AsyncConnection, region_id: int, link: Link, revision: str) -> tuple[Stick, ...]:
    """The pieces that one count found, by code."""
    rows = (await connection.execute(queries.sticks(region_id, link.stock))).all()
    if not rows:
        raise UnknownRevisionError(revision, f"{link.region} has no published count of the yard number {link.stock}")
    return tuple(
        Stick(
            code=row.code,
            form=row.form,
            section_in=float(row.section_in),
            second_in=None if row.second_in is None else float(row.second_in),
            length_in=float(row.length_ft * INCHES_A_FOOT),
            moisture_pct=float(row.moisture_pct),
            moisture_depth_in=None if row.moisture_depth_in is None else float(row.moisture_depth_in),
            read_on=row.read_on,
            species=row.species,
            cut=row.cut,
            where=row.where_kept,
            held_for=row.held_for,
            region=link.region,
            held_until=row.held_until,
        )
        for row in rows
        if row.code is not None
    )
