"""The rate book: everything regional that has a number, for one region and one day, frozen.

A book is compiled once from the tables of a region and of its parents and shared by all requests. There is no
silent zero: a line that is not there is an error that names the code, the region and the day.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

SECTIONS = ("resources", "norms", "lives", "waits", "terms", "access", "weights", "climate")
"""Sections of a rate book, in the order in which people read it."""

KINDS = ("labour", "wood", "material", "hire", "subcontract", "fee")
"""Kinds of resource. Prices of one kind rise and fall together (R19); markup goes on all but labour and fee (R20)."""


class MissingRateError(LookupError):
    """A line that the work needs stands nowhere in the region's chain of books."""

    def __init__(self, section: str, code: str, region: str, day: date) -> None:
        """Name the line, the region and the day."""
        super().__init__(f"no line {section}/{code} in the books of {region} on {day.isoformat()}")
        self.section, self.code, self.region, self.day = section, code, region, day


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the book: low, likely and high with its unit and the region it came from.

    Attributes:
        section: one of SECTIONS.
        code: unique in its section.
        unit: what the number counts (h, h/ft, ft, bd ft, each, yr, d, wk, %, ...).
        low, likely, high: ends and mode of a PERT distribution (R19), as the operator typed them.
        kind: for resources one of KINDS, else "".
        region: whose line it is.
        source: where the number comes from ("common practice, from memory", "J", ...).
        what: in words.
    """

    section: str
    code: str
    unit: str
    low: Decimal
    likely: Decimal
    high: Decimal
    kind: str
    region: str
    source: str
    what: str


@dataclass(frozen=True, slots=True)
class Stick:
    """A piece of wood in the yard."""

    code: str
    form: str
    section_in: float
    second_in: float | None
    length_in: float
    moisture_pct: float
    moisture_depth_in: float | None
    read_on: date | None
    species: str
    cut: str
    where: str
    held_for: str | None
    region: str


@dataclass(frozen=True)
class RateBook:
    """One region's effective book on one day.

    Attributes:
        region, region_name: code and name of the region.
        currency: ISO 4217.
        units: "imperial" or "metric".
        revision: names the revision of every book in the chain, parents first, stock included (R37).
        day: the day of the prices.
        lines: (section, code) -> line.
        yard: seasoned and green wood in stock.
        holidays: days on which nobody works.
    """

    region: str
    region_name: str
    currency: str
    units: str
    revision: str
    day: date
    lines: Mapping[tuple[str, str], Line]
    yard: tuple[Stick, ...]
    holidays: frozenset[date]

    def line(self, section: str, code: str) -> Line:
        """The line, or MissingRateError."""
        try:
            return self.lines[section, code]
        except KeyError:
            raise MissingRateError(section, code, self.region, self.day) from None
