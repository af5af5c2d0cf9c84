"""Sheets: rows of named columns as CSV, out to a spreadsheet and back again without loss.

What goes out is UTF-8 with commas, points in numbers and CRLF (RFC 4180), or with semicolons and decimal commas for whoever
asks for them. No text in it runs as a formula: one that a spreadsheet would take for one gets an apostrophe in front, which
coming back takes off again.

What comes in may be what a spreadsheet makes of it: a byte-order mark, semicolons or tabs between the cells, columns in
another order, empty lines. In a sheet with semicolons a comma is the decimal comma, because that is why a spreadsheet puts
semicolons. Elsewhere `12,50` may be twelve and a half or two cells or a typing error, and is asked about. What a cell must
be is its column's reader; every fault of every cell is gathered.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches

from service.web import limits
from service.web.cells import Cell, CellError, shown, taken, written
from service.web.problems import Fault, ProblemError, problem

MOST_COLUMNS = 100
"""Most columns that are looked at one by one."""
SEPARATORS = (",", ";", "\t")
_HINT = re.compile(r"sep=([,;\t])\r?\n", re.IGNORECASE)
_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_WIDE = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a sheet.

    Attributes:
        name: as it stands in the first row.
        read: makes a cell into a value; raises CellError.
        needed: whether a sheet without the column is refused. Rows of a sheet without it have no such value.
    """

    name: str
    read: Callable[[Cell], object]
    needed: bool = True


@dataclass(frozen=True, slots=True)
class CellFault:
    """What is wrong with a sheet, and where.

    Attributes:
        row: number of the row as a spreadsheet counts, the first row is 1; 0 for the whole sheet.
        column: name of the column; "" for the whole row.
        value: what stands there, shortened; "" where nothing does.
        reason: what is wrong and what would be right, in a sentence.
    """

    row: int
    column: str
    value: str
    reason: str


@dataclass(frozen=True, slots=True)
class Row:
    """A row that was read: its number as a spreadsheet counts, and its values by column."""

    number: int
    values: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Sheet:
    """What was read: the rows without a fault, and every fault of the others."""

    rows: tuple[Row, ...]
    faults: tuple[CellFault, ...]


# ---- out ---------------------------------------------------------------------------------------------------------------


def write(columns: Sequence[str], rows: Iterable[Mapping[str, object]], *, decimal_comma: bool = False) -> bytes:
    """The rows as a sheet. Texts are guarded against being run as formulas; None is an empty cell.

    Args:
        columns: names of the columns, in their order.
        rows: a value for each column.
        decimal_comma: as a spreadsheet writes it where numbers have commas: semicolons between the cells, and a byte-order
            mark, without which it takes letters with accents for others.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n", delimiter=";" if decimal_comma else ",")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([written(row[name], decimal_comma=decimal_comma) for name in columns])
    return out.getvalue().encode("utf-8-sig" if decimal_comma else "utf-8")


# ---- in ----------------------------------------------------------------------------------------------------------------


def read(body: bytes, columns: Sequence[Column], *, key: Sequence[str], most_rows: int) -> Sheet:
    """The rows of a sheet, and all that is wrong with it.

    Args:
        body: the sheet as it was sent.
        columns: what may stand in it.
        key: columns that together stand once in the sheet.
        most_rows: most rows that are looked at, the first one not counted.
    """
    refused = _unreadable(body)
    if refused:
        return Sheet((), (refused,))
    text = body.decode("utf-8-sig")
    hint = _HINT.match(text)
    rest = text[hint.end():] if hint else text
    separator = hint[1] if hint else _separator(rest, columns)
    reading = _Reading({c.name: c for c in columns}, separator, key)
    first = 2 if hint else 1
    try:
        _read_rows(reading, _records(rest, separator), first, most_rows)
    except csv.Error as fault:
        why = f"The row cannot be taken apart ({fault}). A cell with quotes stands in quotes, and those within are doubled."
        reading.faults.append(CellFault(reading.at + 1, "", "", why))
    return Sheet(tuple(reading.rows), tuple(sorted(reading.faults, key=lambda f: f.row)))


def _read_rows(reading: _Reading, records: Iterator[list[str]], first: int, most_rows: int) -> None:
    reading.at = first - 1
    header = next(records, [])
    reading.at = first
    if not reading.take_header(header):
        return
    for number, cells in enumerate(records, first + 1):
        reading.at = number
        if not any(cell.strip() for cell in cells):
            continue
        if reading.taken >= most_rows:
            reading.faults.append(CellFault(number, "", "", f"The sheet has more than {most_rows} rows."))
            return
        reading.take_row(number, cells)


def _unreadable(body: bytes) -> CellFault | None:
    """What keeps the whole sheet from being read, if anything does."""
    right = "Save it as CSV UTF-8, comma separated."
    if not body.strip():
        return CellFault(0, "", "", "The sheet is empty. Its first row names the columns.")
    if body.startswith(_WORKBOOKS):
        return CellFault(0, "", "", f"This is a workbook and not CSV. {right}")
    if body.startswith(_WIDE) or b"\0" in body[:2]:
        return CellFault(0, "", "", f"The sheet is UTF-16 and not UTF-8. {right}")
    nul = body.find(b"\0")
    if nul >= 0:
        return CellFault(body.count(b"\n", 0, nul) + 1, "", "", "The row holds a NUL character. Take it out.")
    try:
        body.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        row = body.count(b"\n", 0, fault.start) + 1
        value = body[max(0, fault.start - 12):fault.start + 12].decode("latin-1")
        why = f"The row is not UTF-8: a letter with an accent was saved in an older code. {right}"
        return CellFault(row, "", shown(value), why)
    return None


def _records(text: str, separator: str) -> Iterator[list[str]]:
    return csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)


def _separator(text: str, columns: Sequence[Column]) -> str:
    """What stands between the cells: that which makes the most known names of the first row, then the most cells."""
    known = {c.name for c in columns}

    def fits(separator: str) -> tuple[int, int]:
        try:
            cells = {_name(cell) for cell in next(_records(text, separator), [])}
        except csv.Error:
            return 0, 0
        return len(known & cells), len(cells)

    return max(SEPARATORS, key=fits)


def _name(cell: str) -> str:
    return cell.strip().lower()


@dataclass(slots=True)
class _Reading:
    """A sheet that is being read."""

    columns: Mapping[str, Column]
    separator: str
    key: Sequence[str]
    rows: list[Row] = field(default_factory=list)
    faults: list[CellFault] = field(default_factory=list)
    at: int = 0
    taken: int = 0
    header: list[str] = field(default_factory=list)
    seen: dict[tuple[object, ...], int] = field(default_factory=dict)

    def take_header(self, cells: list[str]) -> bool:
        """Learn the columns from the first row. False where no row can be read by it."""
        self.header = [_name(cell) for cell in cells]
        while self.header and not self.header[-1]:
            self.header.pop()
        if len(self.header) > MOST_COLUMNS:
            why = f"The first row names {len(self.header)} columns. There are {', '.join(self.columns)}."
            self.faults.append(CellFault(self.at, "", "", why))
            return False
        wrong = [*self._unknown(cells), *self._absent()]
        self.faults += [CellFault(self.at, column, value, why) for column, value, why in wrong]
        return not wrong

    def _unknown(self, cells: list[str]) -> Iterator[tuple[str, str, str]]:
        for place, name in enumerate(self.header):
            if name not in self.columns:
                near = get_close_matches(name, self.columns, n=1, cutoff=0.6)
                hint = f" Did you mean {near[0]}?" if near else f" There are {', '.join(self.columns)}."
                yield shown(name), shown(cells[place]), f"This is no column of the sheet.{hint}"
            elif name in self.header[:place]:
                yield name, shown(cells[place]), "This column stands twice. Take one out."

    def _absent(self) -> Iterator[tuple[str, str, str]]:
        for name, column in self.columns.items():
            if column.needed and name not in self.header:
                yield name, "", "This column is missing. The first row names all columns."

    def take_row(self, number: int, cells: list[str]) -> None:
        """Read one row, or name all that is wrong with it."""
        self.taken += 1
        cells = self._whole(number, cells)
        if not cells:
            return
        values: dict[str, object] = {}
        before = len(self.faults)
        for name, text in zip(self.header, cells, strict=True):
            try:
                values[name] = self.columns[name].read(taken(text, decimal_comma=self.separator == ";"))
            except CellError as fault:
                self.faults.append(CellFault(number, name, shown(text), str(fault)))
        if all(name in values for name in self.key) and self._alone(number, values) and len(self.faults) == before:
            self.rows.append(Row(number, values))

    def _whole(self, number: int, cells: list[str]) -> list[str]:
        """The row's cells, as many as there are columns; none where there are too few or too many."""
        wanted = len(self.header)
        if len(cells) == wanted or (len(cells) > wanted and not any(c.strip() for c in cells[wanted:])):
            return cells[:wanted]
        why = f"The row has {len(cells)} cells where {wanted} are needed."
        if len(cells) > wanted and self.separator == ",":
            why += " A decimal comma makes two cells of a number: write 12.50."
        self.faults.append(CellFault(number, "", shown(self.separator.join(cells)), why))
        return []

    def _alone(self, number: int, values: Mapping[str, object]) -> bool:
        """Whether no row before has the same key."""
        mark = tuple(values[name] for name in self.key)
        first = self.seen.setdefault(mark, number)
        if first != number:
            value = "/".join(str(part) for part in mark)
            why = f"Rows {first} and {number} are of the same {' and '.join(self.key)}. Keep one of them."
            self.faults.append(CellFault(number, self.key[-1], shown(value), why))
        return first == number


def nothing_left(there: int, what: str) -> ProblemError:
    """The problem that asks whether a sheet without rows is meant: the export that it came from may have failed."""
    why = f"The sheet has no rows below its first one: {there} {what} would be taken out. Send ?empty=meant if that is meant."
    return refused([CellFault(0, "", "", why)])


def refused(faults: Sequence[CellFault]) -> ProblemError:
    """The problem that names these faults, as many as are listed, and how many there are."""
    listed = [
        Fault(f.reason, None, None, row=f.row, column=f.column or None, value=f.value or None)
        for f in sorted(faults, key=lambda f: f.row)[: limits.ERRORS]
    ]
    more = f" The first {limits.ERRORS} are listed." if len(faults) > limits.ERRORS else ""
    what = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
    return ProblemError(problem("invalid-sheet", f"The sheet has {what}; nothing was taken over.{more}", errors=listed))
