"""Wood in the yard: what a piece can be, and what a change makes of a count.

A count is never changed. Each change, be it a whole sheet or one piece that came in, makes the next count from the one
before it; a quote names the count that it used, so it stays what it was. Two quotes reserve nothing: who wants a piece for a
job holds it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Protocol

from service.application.access import Asker, Once
from service.engine.words import Words


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of wood in a yard, its numbers as they were typed.

    Attributes:
        section_in: diameter or thickness [in]. second_in: the other side of what is sawn [in].
        moisture_depth_in: how deep the meter was read [in]; None where nobody said. read_on: when.
        held_until: last day on which it is kept for `held_for`; None for until somebody lets it go.
    """

    code: str
    form: str
    section_in: Decimal
    second_in: Decimal | None
    length_ft: Decimal
    moisture_pct: Decimal
    moisture_depth_in: Decimal | None
    read_on: date | None
    species: str
    cut: str
    where: str
    held_for: str | None
    held_until: date | None

    @property
    def tag(self) -> str:
        """Entity tag: two states of a piece with the same tag are alike."""
        said = "\n".join(repr(bare(getattr(self, name))) for name in self.__slots__)
        return f'"p{hashlib.sha256(said.encode()).hexdigest()[:24]}"'


@dataclass(frozen=True, slots=True)
class Yard:
    """The pieces that one count found.

    Attributes:
        region: whose yard it is.
        number: number of the count; 0 where the region never counted.
        effective: first day on which the count is in force; None where there is none.
        counted_at, who, why: when it was signed, by whom as people call them, and why.
        who_id: who signed it, as the audit log has it.
    """

    region: str
    number: int
    effective: date | None
    counted_at: datetime | None
    who: str
    why: str
    pieces: tuple[Piece, ...]
    who_id: str = ""

    def piece(self, code: str) -> Piece:
        """The piece with this code. Raises PieceMissingError."""
        for one in self.pieces:
            if one.code == code:
                return one
        raise PieceMissingError(code, self.region)


@dataclass(frozen=True, slots=True)
class Difference:
    """What one count has over another: codes of pieces that came, went, or were changed."""

    added: tuple[str, ...]
    removed: tuple[str, ...]
    changed: tuple[str, ...]

    def __bool__(self) -> bool:
        """Whether there is any."""
        return bool(self.added or self.removed or self.changed)


@dataclass(frozen=True, slots=True)
class Count:
    """A count in a list: its number, when it was and is in force, who signed it, and what changed since the one before.

    Attributes:
        in_force: the days on which it is in force: first, and the day after the last (None: until further notice); None
            where another count took its place on the same day.
        who, who_id: who signed it, as people call them and as the audit log has it.
    """

    number: int
    effective: date
    in_force: tuple[date, date | None] | None
    counted_at: datetime
    who: str
    why: str
    pieces: int
    difference: Difference
    who_id: str


@dataclass(frozen=True, slots=True)
class Known:
    """What a piece can be: forms that repairs ask for, species, and the units in which is said what it cannot be."""

    forms: tuple[str, ...]
    species: frozenset[str]
    words: Words


class PieceMissingError(LookupError):
    """No such piece is in the region's own yard."""

    def __init__(self, code: str, region: str) -> None:
        """Name the piece and whose yard was looked at."""
        super().__init__(f"no piece {code!r} in the yard of {region}")
        self.code, self.region = code, region


class PieceThereError(Exception):
    """A piece of this code is in the yard already."""

    def __init__(self, code: str) -> None:
        """Name the piece."""
        super().__init__(f"there is a piece {code!r} already")
        self.code = code


class YardChangedError(Exception):
    """The change was made to another state than the present one."""

    def __init__(self, tag: str) -> None:
        """Keep the tag of the present state."""
        super().__init__(f"it is now {tag}")
        self.tag = tag


@dataclass(frozen=True, slots=True)
class Edited:
    """What an edit makes of a yard: the pieces of the next count, and what is said of it.

    Attributes:
        action: for the audit log, as noun.verb.
        subject: the piece that it is about; "" for the whole yard.
        why: for the list of counts.
        details: for the audit log.
    """

    pieces: tuple[Piece, ...]
    action: str
    subject: str
    why: str
    details: Mapping[str, Any]


Edit = Callable[[Yard], Edited]
"""Makes the next count of a region's own yard. Pure; raises what keeps it from being made."""


@dataclass(frozen=True, slots=True)
class Changed:
    """A change that was made: the yard as it is now, and the difference; none where nothing had to change."""

    yard: Yard
    difference: Difference


class StockRoom(Protocol):
    """Where counts are kept. Reading raises BooksUnavailableError where the store does not answer."""

    async def yard(self, region: str, day: date) -> Yard:
        """The yard that quotes of a region use on a day: its own, else the nearest parent's. Raises UnknownRegionError."""
        ...

    async def own_yard(self, region: str, day: date) -> Yard:
        """The region's own yard on a day, empty where it never counted. Raises UnknownRegionError."""
        ...

    async def counts(self, region: str, below: int | None, limit: int) -> tuple[Count, ...]:
        """The region's own counts, the newest first, from below a number on. Raises UnknownRegionError."""
        ...

    async def change(
        self, asker: Asker, region: str, today: date, edit: Edit, once: Once | None, said: Callable[[Changed], bytes]
    ) -> bytes:
        """Make the next count by an edit, one after the other for a region, and give what is said of it.

        Raises:
            UnknownRegionError, NotStoredError, OutcomeUnknownError, OnceConflictError, and what the edit raises.
        """
        ...


def count_tag(number: int, form: str = "") -> str:
    """Entity tag of a count, in one of the forms in which it is read."""
    return f'"y{number}-{form}"' if form else f'"y{number}"'


def difference_of(old: Sequence[Piece], new: Sequence[Piece]) -> Difference:
    """What the new pieces have over the old ones."""
    before, after = {p.code: p for p in old}, {p.code: p for p in new}
    return Difference(
        added=tuple(sorted(after.keys() - before.keys())),
        removed=tuple(sorted(before.keys() - after.keys())),
        changed=tuple(sorted(c for c in before.keys() & after.keys() if before[c] != after[c])),
    )


def told(piece: Piece) -> dict[str, Any]:
    """A piece in plain values, for the audit log."""
    return {name: bare(getattr(piece, name)) for name in Piece.__slots__}


def bare(value: object) -> object:
    """A value that prints alike whenever it is equal: 12.50 and 12.5 are one."""
    return plain(value) if isinstance(value, Decimal) else value.isoformat() if isinstance(value, date) else value


def plain(number: Decimal) -> str:
    """A number without zeros that say nothing, and without an exponent."""
    return f"{number.normalize():f}"
