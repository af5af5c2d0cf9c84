"""Reading a region's rates line by line: what counts, from whom, and what it stands in place of.

A chain of books is read as *layers*, the top parent first, each laid over those above it (see `inheritance`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Literal, Protocol

from service.application.inheritance import LineKey, laid_over
from service.application.ports import Books, Shelved
from service.engine.rates import SECTIONS, Line

Standing = Literal["own", "inherited", "overridden", "locked"]
STANDINGS: tuple[Standing, ...] = ("own", "inherited", "overridden", "locked")
"""How a line stands: own (there is nothing above it), inherited, overridden (own in place of an inherited one), locked above."""
Order = Literal["line", "likely", "-likely", "distance"]
ORDERS: tuple[Order, ...] = ("line", "likely", "-likely", "distance")
"""Orders of lines: as people read a book; by likely value from small to large or back; the farthest from the parent first."""


@dataclass(frozen=True, slots=True)
class Signed:
    """A published revision and who answers for it.

    Attributes:
        region: code of the region whose book, or whose count of the yard, it is.
        number: counts from 1 in that region.
        effective: first day on which it was to be in force.
        published_at: when it was published.
        who: who signed it, by id.
        why: their reason.
        name: who signed it, as people call them.
    """

    region: str
    number: int
    effective: date
    published_at: datetime
    who: str
    why: str
    name: str


@dataclass(frozen=True, slots=True)
class Layer:
    """One region's own book in a chain.

    Attributes:
        signed: its revision.
        lines: the lines that it holds itself.
    """

    signed: Signed
    lines: Mapping[LineKey, Line]


@dataclass(frozen=True, slots=True)
class Placed:
    """A line that counts, and where it stands.

    Attributes:
        line: the line.
        standing: how it stands for the region that asks.
        inherited: the line that would count if the region had none of its own; None where there is none above.
        set_aside: the region's own line that a lock above keeps from counting; None for none.
    """

    line: Line
    standing: Standing
    inherited: Line | None
    set_aside: Line | None

    @property
    def key(self) -> LineKey:
        """Section and code."""
        return self.line.section, self.line.code

    @property
    def ratio(self) -> float | None:
        """Likely value over the inherited one's, for a line that stands in place of one."""
        return ratio_of(self.inherited, self.line) if self.standing == "overridden" else None


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which lines are wanted. Empty means all.

    Attributes:
        section: a section.
        code: what the code begins with.
        text: what stands in the code, the words or the source, in capitals or not.
        standings: how they stand.
    """

    section: str = ""
    code: str = ""
    text: str = ""
    standings: frozenset[str] = frozenset()

    def holds(self, placed: Placed) -> bool:
        """Whether a line is wanted."""
        line = placed.line
        said = self.text.casefold()
        return (
            self.section in ("", line.section)
            and line.code.startswith(self.code)
            and (not said or any(said in t.casefold() for t in (line.code, line.what, line.source)))
            and (not self.standings or placed.standing in self.standings)
        )


@dataclass(frozen=True, slots=True)
class Read:
    """A book as it was read: what the shelf gave, and the layers that it is made of."""

    shelved: Shelved
    layers: tuple[Layer, ...]

    def lines(self, wanted: Wanted | None = None, order: Order = "line") -> list[Placed]:
        """The lines that are wanted, in an order that is the same each time."""
        want, above = wanted or Wanted(), self.above()
        found = [p for line in self.shelved.book.lines.values() if want.holds(p := self._placed(line, above))]
        return sorted(found, key=KEYS[order])

    def line(self, key: LineKey) -> Placed | None:
        """One line; None where the book has none of that key."""
        line = self.shelved.book.lines.get(key)
        return None if line is None else self._placed(line, self.above())

    def above(self) -> Mapping[LineKey, Line]:
        """What the region inherits: what would count if it had no line of its own."""
        lines: Mapping[LineKey, Line] = {}
        for layer in self.layers[:-1]:
            lines = laid_over(lines, layer.lines)
        return lines

    def _placed(self, line: Line, above: Mapping[LineKey, Line]) -> Placed:
        key = line.section, line.code
        own, inherited = self.layers[-1].lines.get(key), above.get(key)
        if inherited is None:
            return Placed(line, "own", None, None)
        if inherited.locked:
            return Placed(line, "locked", inherited, own)
        return Placed(line, "inherited" if own is None else "overridden", inherited, None)


class LayerSource(Protocol):
    """Where layers come from."""

    async def layers(self, revision: str) -> tuple[Layer, ...]:
        """The layers of a chain that is known to be one. Raises UnknownRevisionError, BooksUnavailableError."""
        ...


@dataclass(frozen=True, slots=True)
class RateReader:
    """Reads books. Which chain is in force is the shelf's word, so that quotes and readers never differ."""

    books: Books
    source: LayerSource

    async def read(self, region: str, day: date, revision: str | None = None) -> Read:
        """The book in force on a day, or a pinned chain.

        Raises:
            UnknownRegionError, NoBookError, UnknownRevisionError, BooksUnavailableError.
        """
        shelved = await self.books.book(region, day, revision)
        return Read(shelved, await self.source.layers(shelved.book.revision))


def ratio_of(old: Line | None, new: Line | None) -> float | None:
    """New likely value over the old one; None where there are not two of one unit and sign to compare."""
    if old is None or new is None or old.unit != new.unit or old.likely * new.likely <= 0:
        return None
    return float(new.likely / old.likely)


def _as_read(p: Placed) -> tuple[int, str]:
    return SECTIONS.index(p.line.section), p.line.code


def _distance(p: Placed) -> float:
    """How far a line is from the one that it stands in place of; infinite where no ratio can say."""
    if p.standing != "overridden":
        return -1.0
    ratio = p.ratio
    if ratio is None:
        return 0.0 if p.inherited is not None and p.inherited.likely == p.line.likely else math.inf
    return abs(math.log(ratio))


KEYS: Mapping[Order, Callable[[Placed], tuple[Decimal | float, tuple[int, str]]]] = {
    "line": lambda p: (0.0, _as_read(p)),
    "likely": lambda p: (p.line.likely, _as_read(p)),
    "-likely": lambda p: (-p.line.likely, _as_read(p)),
    "distance": lambda p: (-_distance(p), _as_read(p)),
}
