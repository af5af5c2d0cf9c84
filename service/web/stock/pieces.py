"""A piece of wood between the wire and the yard: from what was sent, to what is answered, and as a row of a sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from msgspec import UNSET

from service.application.nonsense import Nonsense
from service.application.plain_text import unseen_in
from service.application.stock import Piece
from service.engine.rates import Stick
from service.engine.wood import why_unfit
from service.engine.words import Words
from service.web import limits
from service.web.cells import Cell, CellError, day, maybe, number, shown
from service.web.quantities import read as quantity
from service.web.sheets import CellFault, Column, read, write
from service.web.stock.shapes import PieceChange, PieceSent, YardPiece
from service.web.units import Units

SIZES: Mapping[str, tuple[str, str]] = {
    "section_in": ("section", "in"), "second_in": ("second", "in"), "length_ft": ("length", "ft"),
    "moisture_depth_in": ("moisture_depth", "in"),
}
"""Field of a piece -> its name on the wire and its unit in the yard's books."""
WIRE = {**{name: wire for name, (wire, _) in SIZES.items()}, "moisture_pct": "moisture"}
"""Fields of a piece that have another name on the wire."""
FINEST = Decimal("0.000000001")
"""How finely sizes are kept; a whole number of millimetres has no end in inches."""
METRIC: Mapping[str, tuple[str, Decimal, Decimal]] = {
    "section_in": ("section_mm", Decimal("25.4"), Decimal("0.001")),
    "second_in": ("second_mm", Decimal("25.4"), Decimal("0.001")),
    "length_ft": ("length_m", Decimal("0.3048"), Decimal("0.000001")),
    "moisture_depth_in": ("moisture_depth_mm", Decimal("25.4"), Decimal("0.001")),
}
"""Field -> its metric column, how much one inch or foot is in it (agreement of 1959), and how finely it is written there."""
MAY_BE_EMPTY = frozenset(("second_in", "moisture_depth_in", "read_on", "held_for", "held_until"))


# ---- JSON --------------------------------------------------------------------------------------------------------------


def piece_of(sent: PieceSent) -> Piece:
    """The piece that was sent, its sizes in the units of the yard's books.

    Raises:
        RangeError: sizes are ranges.
    """
    given: dict[str, Any] = {**dict.fromkeys(MAY_BE_EMPTY), **changes_of(sent)}
    return Piece(code=sent.code, **given)


def changes_of(sent: PieceSent | PieceChange) -> dict[str, Any]:
    """The fields that were sent, by their names in `Piece`. Raises RangeError."""
    given: dict[str, Any] = {}
    ranges: list[str] = []
    for name in Piece.__slots__:
        said = getattr(sent, WIRE.get(name, name), UNSET)
        if said is UNSET or name == "code":
            continue
        given[name] = _number(name, said) if name in WIRE and said is not None else _trimmed(said)
        if name in WIRE and said is not None and given[name] is None:
            ranges.append(WIRE[name])
    if ranges:
        raise RangeError(ranges)
    return given


def _trimmed(said: Any) -> Any:
    return said.strip() if isinstance(said, str) else said


class RangeError(ValueError):
    """Sizes that are not one number."""

    def __init__(self, names: Sequence[str]) -> None:
        """Name the fields as they stand on the wire."""
        super().__init__(", ".join(names))
        self.names = tuple(names)


def _number(name: str, said: str) -> Decimal | None:
    """The size that a text names; None for a range."""
    dimension, unit = ("length", SIZES[name][1]) if name in SIZES else ("moisture", "%")
    span = quantity(said, dimension, unit)
    return _kept(Decimal(repr(span.low))) if span.is_exact else None


def _kept(value: Decimal) -> Decimal:
    """As finely as sizes are kept, and without zeros that say nothing."""
    rounded = value.quantize(FINEST, ROUND_HALF_EVEN)
    return Decimal(f"{rounded.normalize():f}")


@dataclass(frozen=True, slots=True)
class Shown:
    """How pieces are shown: in which units, on which day, and from whose yard."""

    units: str
    day: date
    region: str

    def piece(self, p: Piece) -> YardPiece:
        """A piece as it is answered."""
        units, stick = Units(self.units), stick_of(p, self.region)

        def length(value: Decimal | None) -> Any:
            return None if value is None else units.quantity(float(value), "in")

        return YardPiece(
            code=p.code, form=p.form, section=length(p.section_in), second=length(p.second_in),
            length=length(12 * p.length_ft), moisture=units.quantity(float(p.moisture_pct), "%"),
            moisture_depth=length(p.moisture_depth_in), read_on=p.read_on, species=p.species, cut=p.cut, where=p.where,
            held_for=p.held_for, held_until=p.held_until, held=stick.is_held_on(self.day),
            unfit=why_unfit(stick, Words(self.units)) or None, from_region=self.region, etag=p.tag,
        )


def stick_of(p: Piece, region: str) -> Stick:
    """A piece as the engine takes it."""
    return Stick(
        code=p.code, form=p.form, section_in=float(p.section_in), second_in=None if p.second_in is None else float(p.second_in),
        length_in=float(12 * p.length_ft), moisture_pct=float(p.moisture_pct),
        moisture_depth_in=None if p.moisture_depth_in is None else float(p.moisture_depth_in), read_on=p.read_on,
        species=p.species, cut=p.cut, where=p.where, held_for=p.held_for, region=region, held_until=p.held_until,
    )


# ---- sheets ------------------------------------------------------------------------------------------------------------


def sheet_of(pieces: Iterable[Piece], units: str, *, comma: bool = False) -> bytes:
    """Pieces as a sheet, its sizes in the units that are asked for; what it says can be sent back and changes nothing."""
    names = {name: METRIC[name][0] if units == "metric" and name in METRIC else name for name in Piece.__slots__}
    rows = ({column: _cell(name, getattr(p, name), units) for name, column in names.items()} for p in pieces)
    return write(tuple(names.values()), rows, decimal_comma=comma)


def _cell(name: str, value: object, units: str) -> object:
    if not isinstance(value, Decimal):
        return value
    if units == "metric" and name in METRIC:
        _, times, fine = METRIC[name]
        value = (value * times).quantize(fine, ROUND_HALF_EVEN)
    return value.normalize()


@dataclass(frozen=True, slots=True)
class SheetRead:
    """Pieces of a sheet, and where each stands in it.

    Attributes:
        rows: number of each piece's row.
        columns: names of its columns by field, where they are not alike.
        faults: what could not be read. Rows without a fault are among the pieces.
    """

    pieces: tuple[Piece, ...]
    rows: tuple[int, ...]
    columns: Mapping[str, str]
    faults: tuple[CellFault, ...]

    def fault(self, wrong: Nonsense) -> CellFault:
        """A value that cannot be, with its place."""
        value = getattr(self.pieces[wrong.index], wrong.name)
        column = self.columns.get(wrong.name, wrong.name)
        said = _cell(wrong.name, value, "metric" if column != wrong.name else "imperial")
        text = "" if said is None else f"{said:f}" if isinstance(said, Decimal) else str(said)
        return CellFault(self.rows[wrong.index], column, shown(text), wrong.reason)


def pieces_in(body: bytes) -> SheetRead:
    """The pieces of a sheet, in whichever units its columns name, and what could not be read."""
    sheet = read(body, _columns(), key=("code",), most_rows=limits.YARD)
    there = sheet.rows[0].values.keys() if sheet.rows else {}
    columns = {name: metric for name, (metric, _, _) in METRIC.items() if metric in there}
    missing = tuple(_sizes_missing(there)) if sheet.rows else ()
    rows = () if missing else sheet.rows
    pieces = tuple(_piece(row.values, columns) for row in rows)
    return SheetRead(pieces, tuple(row.number for row in rows), columns, (*sheet.faults, *missing))


def _sizes_missing(there: Iterable[str]) -> Iterator[CellFault]:
    """A size has one column, in inches and feet or in millimetres and metres."""
    there = set(there)
    for name, (metric, _, _) in METRIC.items():
        if name in there and metric in there:
            yield CellFault(1, metric, "", f"{name} stands beside it. Keep one of them.")
        elif name not in there and metric not in there:
            yield CellFault(1, name, "", f"This column is missing; {name} or {metric} is needed.")


def _piece(values: Mapping[str, object], columns: Mapping[str, str]) -> Piece:
    given: dict[str, Any] = {name: values[columns.get(name, name)] for name in Piece.__slots__}
    for name in columns:
        if given[name] is not None:
            given[name] = _kept(given[name] / METRIC[name][1])
    return Piece(**given)


def _columns() -> Sequence[Column]:
    made = []
    for name in Piece.__slots__:
        reader = maybe(_reader(name)) if name in MAY_BE_EMPTY else _reader(name)
        made.append(Column(name, reader, needed=name not in METRIC))
        if name in METRIC:
            made.append(Column(METRIC[name][0], reader, needed=False))
    return made


def _reader(name: str) -> Callable[[Cell], object]:
    if name in WIRE:
        return number
    return day if name in ("read_on", "held_until") else _words


def _words(cell: Cell) -> str:
    """A short text.

    Raises:
        CellError: it is empty, too long, or holds what cannot be written on one line.
    """
    said = cell.text.strip()
    if not said:
        raise CellError("is empty.")
    if len(said) > limits.TEXT_CHARACTERS:
        raise CellError(f"has {len(said)} characters; at most {limits.TEXT_CHARACTERS} are taken.")
    if unseen := unseen_in(said):
        raise CellError(f"holds a control character or a line break ({unseen}). Take it out.")
    return said
