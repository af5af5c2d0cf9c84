"""Cells of a sheet: how a value is written into one, and what reads it back.

A text that a spreadsheet would run as a formula gets an apostrophe in front, which reading takes off again. A formula, or
what a spreadsheet writes where one has no value, is never a value. Readers keep numbers as they were typed and take no
number or day that may be read in two ways.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

LONGEST_CELL = 5_000
"""Longest cell that is read [characters]."""
SHOWN = 60
"""Characters of a bad cell that are shown again."""
ERRORS = r"#(?:REF|DIV/0|N/A|NAME|NULL|NUM|VALUE|SPILL|CALC|GETTING_DATA)[!?]?|Err:[0-9]{3}"
"""What a spreadsheet writes where a formula has no value."""
_ERROR = re.compile(ERRORS, re.IGNORECASE)
# The last four are the wide twins of the first four: some spreadsheets take them for these.
_FORMULA = re.compile(r"\s*[=+\-@\uff1d\uff0b\uff0d\uff20]|[\t\r\n]")
_NUMBER = re.compile(r"-?[0-9]{1,12}(?:\.[0-9]{1,9})?", re.ASCII)
_LONG_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?", re.ASCII)
_GROUPED = re.compile(r"-?[0-9]{1,3}(?:[ \u00a0\u202f'\u2019][0-9]{3})+(?:[.,][0-9]+)?|-?[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+"
                      r"|-?[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+|-?[0-9]{1,3}(?:(?:,[0-9]{3}){2,}|(?:\.[0-9]{3}){2,})", re.ASCII)
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_EITHER = re.compile(r"-?[1-9][0-9]{0,2}\.[0-9]{3}", re.ASCII)


class CellError(ValueError):
    """A cell that its reader cannot take. The message says why and what would be right, in one sentence."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell as it is read: its text, and whether a comma in a number of this sheet is the decimal comma."""

    text: str
    decimal_comma: bool = False


def written(value: object, *, decimal_comma: bool = False) -> str:
    """The value as it stands in a cell. A text is guarded; None is an empty cell."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case Decimal():
            return f"{value:f}".replace(".", "," if decimal_comma else ".")
        case date():
            return value.isoformat()
        case str():
            return "'" + value if _guarded(value.lstrip("'")) else value
    return str(value)


def _guarded(bare: str) -> bool:
    """Whether a text without its apostrophes would be taken for a formula, or for what is left of one."""
    return _FORMULA.match(bare) is not None or _ERROR.fullmatch(bare.strip()) is not None


def taken(text: str, *, decimal_comma: bool) -> Cell:
    """A cell as it came, without its guard.

    Raises:
        CellError: it holds no value: a formula, the failure of one, or more than is read.
    """
    if len(text) > LONGEST_CELL:
        raise CellError(f"has {len(text)} characters; at most {LONGEST_CELL} are taken.")
    bare = text.strip()
    if bare.startswith(("=", "\uff1d")):
        raise CellError("is a formula. Save the sheet with its values in place of its formulas.")
    if _ERROR.fullmatch(bare):
        raise CellError("is what a spreadsheet writes for a formula that has no value. Put the value there.")
    return Cell(text[1:] if text.startswith("'") and _guarded(text.lstrip("'")) else text, decimal_comma)


def shown(value: str) -> str:
    """What stands in a cell, so that it can be shown again: short, on one line."""
    plain = "".join(c if c.isprintable() else "\ufffd" for c in value)
    return plain if len(plain) <= SHOWN else plain[:SHOWN] + "\u2026"


# ---- readers ----------------------------------------------------------------------------------------------------------


def text(cell: Cell) -> str:
    """The text as it is."""
    return cell.text


def number(cell: Cell) -> Decimal:
    """A plain decimal number, kept as it was typed: 12.50 stays 12.50.

    Raises:
        CellError: it is none, or may be read in two ways.
    """
    bare = cell.text.strip()
    if not bare:
        raise CellError("is empty; a number is needed, such as 12.50.")
    if _GROUPED.fullmatch(bare):
        right = "1500,00 in place of 1.500,00" if cell.decimal_comma else "1500.00 in place of 1,500.00"
        raise CellError(f"has separators of thousands. Write {right}.")
    if "," in bare and not cell.decimal_comma:
        raise CellError("has a comma. Write a point (12.50), or send a sheet with semicolons between its cells.")
    if cell.decimal_comma and _EITHER.fullmatch(bare):
        raise CellError("may be read in two ways in a sheet with semicolons. Write 1,5 for one and a half or 1500.")
    plain = bare.replace(",", ".", 1) if cell.decimal_comma else bare
    if _NUMBER.fullmatch(plain):
        return Decimal(plain)
    if _LONG_NUMBER.fullmatch(plain):
        raise CellError("has more than 12 digits before the point or more than 9 after it.")
    raise CellError("is not a plain decimal number such as 12.50, without currency, unit or exponent.")


def day(cell: Cell) -> date:
    """A day in ISO form.

    Raises:
        CellError: it is none. 3/4/2026 is the third of April to some and the fourth of March to others.
    """
    bare = cell.text.strip()
    try:
        # The parser also takes 20260131 and 2026-W05-6.
        if _DAY.fullmatch(bare):
            return date.fromisoformat(bare)
    except ValueError:
        pass
    raise CellError("is not a day such as 2026-01-31 (year, month, day).")


def yes_no(cell: Cell) -> bool:
    """Yes or no, true or false in any letters; empty is no.

    Raises:
        CellError: it is neither.
    """
    bare = cell.text.strip().lower()
    if bare in ("yes", "true"):
        return True
    if bare in ("no", "false", ""):
        return False
    raise CellError("is neither yes nor no.")


def maybe(reader: Callable[[Cell], object]) -> Callable[[Cell], object]:
    """A reader for which an empty cell is None."""

    def read_maybe(cell: Cell) -> object:
        return reader(cell) if cell.text.strip() else None

    return read_maybe
