"""What became of lines over the revisions: edits, revisions with their days, and comparisons."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal, Protocol

from service.application.inheritance import LineKey
from service.application.reading import Layer, Signed, ratio_of
from service.engine.rates import SECTIONS, Line, Stick

Change = Literal["added", "taken_out", "changed", "reworded"]
"""What became of a line. Reworded: its words, its source, its lock or whose it is; no number."""
InForce = Literal["in_force", "scheduled", "past", "replaced"]
"""How a revision stands on a day. Replaced: another one took all its days before they came."""


@dataclass(frozen=True, slots=True)
class Edit:
    """What one revision did to one line of its own book.

    Attributes:
        signed: the revision.
        old, new: the line in the revision before and in this one; None where it was not there.
    """

    key: LineKey
    signed: Signed
    old: Line | None
    new: Line | None

    @property
    def change(self) -> Change:
        """What became of the line."""
        return change_of(self.old, self.new)

    @property
    def ratio(self) -> float | None:
        """New likely value over the old one."""
        return ratio_of(self.old, self.new)


@dataclass(frozen=True, slots=True)
class Place:
    """A place in a list of edits: that of one revision. The list goes on with what is older."""

    published_at: datetime
    region: str
    number: int


@dataclass(frozen=True, slots=True)
class Revision:
    """A published revision of a region's own book.

    Attributes:
        based_on: number of the revision that it was edited from; None for the first.
        reverts_to: number of the revision that it goes back to; None for one that goes back to none.
        days: days on which it is or was in force, the end not among them; None for no end yet.
        lines: how many lines it holds.
        added, changed, taken_out: how many lines differ from the revision with the number before.
    """

    signed: Signed
    based_on: int | None
    reverts_to: int | None
    days: tuple[tuple[date, date | None], ...]
    lines: int
    added: int
    changed: int
    taken_out: int

    def on(self, day: date) -> InForce:
        """How it stands on a day."""
        if not self.days:
            return "replaced"
        if any(since <= day and (until is None or day < until) for since, until in self.days):
            return "in_force"
        return "scheduled" if any(since > day for since, _ in self.days) else "past"


@dataclass(frozen=True, slots=True)
class Moved:
    """A line that differs between two books.

    Attributes:
        old, new: the line in each; None where it is not there.
        by: the newest revision that made the difference; None where none can be named.
        edits: how many edits of that region's line lie between the two books.
    """

    key: LineKey
    old: Line | None
    new: Line | None
    by: Signed | None
    edits: int

    @property
    def change(self) -> Change:
        """What became of it."""
        return change_of(self.old, self.new)

    @property
    def ratio(self) -> float | None:
        """New likely value over the old one."""
        return ratio_of(self.old, self.new)


@dataclass(frozen=True, slots=True)
class MovedStick:
    """A piece of the yard that differs between two books; None where it is not there."""

    code: str
    old: Stick | None
    new: Stick | None


class History(Protocol):
    """What became of the books. Every method may raise BooksUnavailableError."""

    async def line(self, region: str, key: LineKey, after: Place | None, most: int) -> tuple[Edit, ...]:
        """Edits of a line by the region and its ancestors, the newest first, after a place. Raises UnknownRegionError."""
        ...

    async def edits(
        self, region: str, after: int, until: int, keys: Collection[LineKey] | None = None
    ) -> tuple[Edit, ...]:
        """Edits of lines (None: of all) of one region's own book in the revisions after a number, oldest first."""
        ...

    async def revisions(self, region: str, before: int | None, most: int) -> tuple[Revision, ...]:
        """Revisions of a region's own book, the newest first, below a number. Raises UnknownRegionError."""
        ...

    async def layer(self, region: str, number: int) -> Layer:
        """One region's own book. Raises UnknownRevisionError."""
        ...

    async def counts(self, old: str, new: str) -> tuple[Signed, ...]:
        """Counts of the yard that lie between two chains of one region, the oldest first."""
        ...


def change_of(old: Line | None, new: Line | None) -> Change:
    """What became of a line of which at least one side is there."""
    if old is None:
        return "added"
    if new is None:
        return "taken_out"
    return "reworded" if figures(old) == figures(new) else "changed"


def figures(line: Line) -> tuple[object, ...]:
    """What a price can rest on."""
    return line.unit, line.low, line.likely, line.high, line.kind


def differing(old: Mapping[LineKey, Line], new: Mapping[LineKey, Line]) -> list[LineKey]:
    """Lines that differ, as people read a book."""
    keys = {key for key in old.keys() | new.keys() if old.get(key) != new.get(key)}
    return sorted(keys, key=lambda key: (SECTIONS.index(key[0]), key[1]))


def sticks_moved(old: Iterable[Stick], new: Iterable[Stick]) -> list[MovedStick]:
    """Pieces that differ, by code."""
    was, are = ({(s.region, s.code): s for s in some} for some in (old, new))
    keys = sorted(key for key in was.keys() | are.keys() if was.get(key) != are.get(key))
    return [MovedStick(code, was.get((region, code)), are.get((region, code))) for region, code in keys]


def culprit(old: Sequence[Layer], new: Sequence[Layer], key: LineKey, counted: tuple[Line | None, Line | None]) -> str:
    """Whose edit moved a line that counts; "" for nobody's.

    Where another region's line counts now, a lock above did it, or else the nearer region, which put its line in or took it out.

    Args:
        old, new: the layers of both books.
        key: the line.
        counted: the line that counted, and the one that counts now.
    """
    at = {layer.signed.region: k for k, layer in enumerate(new)}
    sides = sorted((line for line in counted if line is not None), key=lambda line: at[line.region])
    first = [line.region for line in (sides if sides[0].locked else sides[::-1])]
    touched = [layer.signed.region for was, layer in zip(old, new, strict=True) if was.lines.get(key) != layer.lines.get(key)]
    return next((region for region in (*first, *touched) if region in touched), "")
