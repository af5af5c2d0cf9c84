"""Regions and their rate books on the wire: every line with its unit, its source and the region it came from."""

from __future__ import annotations

from datetime import date

from msgspec import Struct, field

from service.application.ports import RegionRecord
from service.engine.rates import SECTIONS, Line, RateBook, Stick
from service.web.answers import DecimalText, Quantity
from service.web.units import Units


class Region(Struct, frozen=True):
    """A region.

    Attributes:
        code: what `region` of a request takes.
        name: its name.
        parent: code of the region that it inherits from; null for the top.
        currency: ISO 4217.
        units: imperial or metric.
        note: about it.
    """

    code: str
    name: str
    parent: str | None
    currency: str
    units: str
    note: str


class Regions(Struct, frozen=True):
    """All regions.

    Attributes:
        regions: parents before children.
    """

    regions: list[Region]


class RateLine(Struct, frozen=True):
    """One line of a rate book.

    Attributes:
        section: part of the book.
        code: unique in its section.
        what: in words.
        unit: what the number counts, always in the units of the base book.
        low: low end, decimal text.
        likely: likely value, decimal text.
        high: high end, decimal text.
        kind: kind of resource, empty elsewhere.
        from_region: region whose line it is.
        source: where the number comes from.
    """

    section: str
    code: str
    what: str
    unit: str
    low: DecimalText
    likely: DecimalText
    high: DecimalText
    kind: str
    from_region: str = field(name="from")
    source: str


class StockPiece(Struct, frozen=True):
    """A piece of wood in the yard.

    Attributes:
        code: its mark.
        form: log, slab, timber, board.
        section: diameter or thickness.
        second: the other side of the section; null for a round one.
        length: length.
        moisture: last reading.
        moisture_depth: how deep it was read; null where nobody said.
        read_on: when; null where nobody said.
        species: code of the species.
        cut: how it was cut.
        where: where it lies.
        held_for: for which job it is held; null for none.
        held_until: last day on which it is held; null for until it is let go.
        from_region: region whose yard it is in.
    """

    code: str
    form: str
    section: Quantity
    second: Quantity | None
    length: Quantity
    moisture: Quantity
    moisture_depth: Quantity | None
    read_on: date | None
    species: str
    cut: str
    where: str
    held_for: str | None
    held_until: date | None
    from_region: str = field(name="from")


class Book(Struct, frozen=True):
    """The rate book of a region on one day.

    Attributes:
        region: code of the region.
        name: its name.
        currency: currency of all money, ISO 4217.
        units: units in which answers are written unless a request asks for others.
        day: the day.
        rates: revision of the whole chain, stock included; a request can pin it.
        lines: every line, by section.
        stock: wood in the yard.
        holidays: days on which nobody works.
    """

    region: str
    name: str
    currency: str
    units: str
    day: date
    rates: str
    lines: list[RateLine]
    stock: list[StockPiece]
    holidays: list[date]


def regions_of(records: tuple[RegionRecord, ...]) -> Regions:
    """All regions on the wire."""
    return Regions([Region(r.code, r.name, r.parent or None, r.currency, r.units, r.note) for r in records])


def book_of(book: RateBook) -> Book:
    """A rate book on the wire."""
    units = Units(book.units)
    lines = sorted(book.lines.values(), key=lambda line: (SECTIONS.index(line.section), line.code))
    return Book(
        region=book.region, name=book.region_name, currency=book.currency, units=book.units, day=book.day,
        rates=book.revision, lines=[line_view(x) for x in lines],
        stock=[piece_of(s, units) for s in sorted(book.yard, key=lambda s: (s.region, s.code))],
        holidays=sorted(book.holidays),
    )


def line_view(x: Line) -> RateLine:
    """A line of a rate book on the wire."""
    return RateLine(
        section=x.section, code=x.code, what=x.what, unit=x.unit, low=f"{x.low:f}", likely=f"{x.likely:f}",
        high=f"{x.high:f}", kind=x.kind, from_region=x.region, source=x.source,
    )


def piece_of(s: Stick, units: Units) -> StockPiece:
    """A piece of the yard on the wire."""
    return StockPiece(
        code=s.code, form=s.form, section=units.quantity(s.section_in, "in"),
        second=None if s.second_in is None else units.quantity(s.second_in, "in"),
        length=units.quantity(s.length_in, "in"), moisture=units.quantity(s.moisture_pct, "%"),
        moisture_depth=None if s.moisture_depth_in is None else units.quantity(s.moisture_depth_in, "in"),
        read_on=s.read_on, species=s.species, cut=s.cut, where=s.where, held_for=s.held_for,
        held_until=s.held_until, from_region=s.region,
    )
