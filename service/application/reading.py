"""Reading a region's rates line by line: what counts, from whom, and what it stands in place of.

A chain of books is read as *layers*, the top parent first. A line counts from the nearest layer that has it, but where a
layer locks it nothing below counts.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Literal, Protocol

from service.application.ports import Books, Shelved
from service.engine.rates import SECTIONS, Line

LineKey = tuple[str, str]
"""Section and code."""
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
        who: who signed it.
        why: their reason.
    """

    region: str
    number: int
    effective: date
    published_at: datetime
    who: str
    why: str


@dataclass(frozen=True, slots=True)
class Layer:
    """One region's own book in a chain.

    Attributes:
        signed: its revision.
        lines: the lines that it holds itself.
        locked: those of them that no region below may override.
    """

    signed: Signed
    lines: Mapping[LineKey, Line]
    locked: frozenset[LineKey]


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
        want = wanted or Wanted()
        found = [p for key in self.shelved.book.lines if (p := placed(self.layers, key)) is not None and want.holds(p)]
        return sorted(found, key=KEYS[order])


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


def counting(layers: Sequence[Layer], key: LineKey) -> int | None:
    """Which layer's line counts: the first one from the top that locks it, else the nearest; None if none has it."""
    held = [k for k, layer in enumerate(layers) if key in layer.lines]
    locks = (k for k in held if key in layers[k].locked)
    return next(locks, held[-1] if held else None)


def placed(layers: Sequence[Layer], key: LineKey) -> Placed | None:
    """The line that counts for the last layer's region, with its standing; None if no layer has it."""
    which = counting(layers, key)
    if which is None:
        return None
    line, own, last = layers[which].lines[key], layers[-1].lines.get(key), len(layers) - 1
    above = counting(layers[:-1], key)
    inherited = None if above is None else layers[above].lines[key]
    if which == last:
        return Placed(line, "own" if inherited is None else "overridden", inherited, None)
    locked = key in layers[which].locked
    return Placed(line, "locked" if locked else "inherited", inherited, own)


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
