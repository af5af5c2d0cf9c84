"""Two books side by side on the wire."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct, field

from service.application.history import Change, Moved, MovedStick
from service.web.reading_shapes import LineValue, Ratio, Signature, ratio, signature, value
from service.web.regions import StockPiece, piece_of
from service.web.units import Units


class MovedLine(Struct, frozen=True):
    """A line that differs between two books.

    Attributes:
        section: part of the book.
        code: unique in its section.
        change: added, taken_out, changed, or reworded where no number, unit or kind differs.
        old: the line in the first book; null where it is not there.
        new: the line in the second book; null where it is not there.
        ratio: new likely value over the old one; null where no ratio says anything.
        by: the newest revision that made the difference, and who signed it; null where none can be named.
        edits: how many revisions of that region changed the line between the two.
    """

    section: str
    code: str
    change: Change
    old: LineValue | None
    new: LineValue | None
    ratio: Ratio
    by: Signature | None
    edits: int


class MovedPiece(Struct, frozen=True):
    """A piece of the yard that differs between two counts.

    Attributes:
        code: its mark.
        old: the piece in the first count; null where it was not there.
        new: the piece in the second count; null where it is not there.
    """

    code: str
    old: StockPiece | None
    new: StockPiece | None


class BookComparison(Struct, frozen=True):
    """Two books side by side.

    Attributes:
        region: code of the region.
        of: own, for two revisions of the region's own book; effective, for two whole chains.
        from_book: the first one, as it was asked for.
        to_book: the second one.
        lines: lines that differ.
        stock: pieces of the yard that differ, where whole chains are compared.
        counts: counts of the yard that lie between, the oldest first.
    """

    region: str
    of: Literal["own", "effective"]
    from_book: str = field(name="from")
    to_book: str = field(name="to")
    lines: list[MovedLine]
    stock: list[MovedPiece]
    counts: list[Signature]


def moved(m: Moved) -> MovedLine:
    """A line that differs, on the wire."""
    by = None if m.by is None else signature(m.by)
    return MovedLine(*m.key, m.change, value(m.old), value(m.new), ratio(m.ratio), by, m.edits)


def piece(m: MovedStick, units: Units) -> MovedPiece:
    """A piece of the yard that differs, on the wire."""
    old, new = (None if s is None else piece_of(s, units) for s in (m.old, m.new))
    return MovedPiece(m.code, old, new)
