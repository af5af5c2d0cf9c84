"""Reading tables of reference data: every row becomes its record, field by field, or is refused in words."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import fields
from importlib.resources.abc import Traversable
from typing import TypeVar, get_type_hints

Record = TypeVar("Record")
Row = Mapping[str, object]


class ReferenceDataError(ValueError):
    """A value of the reference data that cannot be used: which file, row and field, and what is wrong."""

    def __init__(self, file: str, row: str, field: str, wrong: str) -> None:
        """Name the place and the fault."""
        super().__init__(f"{file}, row {row!r}, field {field!r}: {wrong}")
        self.file, self.row, self.field, self.wrong = file, row, field, wrong


def read_toml(folder: Traversable, file: str) -> dict[str, object]:
    """One TOML file.

    Raises:
        ReferenceDataError: the file is missing or is no TOML.
    """
    try:
        return tomllib.loads(folder.joinpath(file).read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise ReferenceDataError(file, "", "", "the file is missing") from None
    except tomllib.TOMLDecodeError as error:
        raise ReferenceDataError(file, "", "", f"is no TOML: {error}") from None


def coded_rows(folder: Traversable, file: str) -> Iterator[tuple[str, Row]]:
    """Rows of a file whose tables are named by their code."""
    for code, row in read_toml(folder, file).items():
        if not isinstance(row, dict):
            raise ReferenceDataError(file, code, "", "must be a table")
        yield code, row


def listed_rows(folder: Traversable, file: str, array: str) -> Iterator[tuple[str, Row]]:
    """Rows of a file that is one array of tables, named by their number from 1."""
    rows = read_toml(folder, file).get(array)
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise ReferenceDataError(file, "", array, f"must be an array of tables [[{array}]]")
    for n, row in enumerate(rows, start=1):
        yield str(n), row


def build(
    record: type[Record], file: str, name: str, row: Row, *, key: str | None = "code", also: tuple[str, ...] = ()
) -> Record:
    """A record from its row.

    Args:
        record: dataclass to build.
        file: file of the row, for faults.
        name: code or number of the row.
        row: the values.
        key: field that takes the row's name, None where the row has no code of its own.
        also: further keys that the row may have beside the record's fields.

    Raises:
        ReferenceDataError: a field is missing, unknown or of the wrong type, or has no source.
    """
    kinds = get_type_hints(record)
    wanted = [f.name for f in fields(record)]  # type: ignore[arg-type]
    for extra in row.keys() - set(wanted) - set(also):
        raise ReferenceDataError(file, name, extra, "is not a field of this table")
    values: dict[str, object] = {key: name} if key else {}
    for field in wanted:
        if field != key:
            values[field] = _value(file, name, field, row.get(field), str(kinds[field]))
    if not values["source"]:
        raise ReferenceDataError(file, name, "source", "must say where the row comes from")
    return record(**values)


def _value(file: str, name: str, field: str, value: object, kind: str) -> object:
    """The value as the record holds it."""
    if value is None:
        if "None" in kind:
            return None
        raise ReferenceDataError(file, name, field, "is missing")
    good = _converted(value, kind)
    if good is None:
        raise ReferenceDataError(file, name, field, f"must be {_KIND_WORDS.get(kind, kind)}, not {value!r}")
    return good


_KIND_WORDS = {
    "<class 'str'>": "a text", "<class 'bool'>": "true or false", "<class 'int'>": "a whole number",
    "<class 'float'>": "a number", "float | None": "a number", "tuple[str, ...]": "a list of texts",
    "tuple[int, ...]": "a list of whole numbers", "collections.abc.Mapping[str, str] | None": "a table of texts",
}


def _converted(value: object, kind: str) -> object | None:
    """The value in its type, or None where it has another."""
    match kind:
        case "<class 'str'>":
            return value if isinstance(value, str) else None
        case "<class 'bool'>":
            return value if isinstance(value, bool) else None
        case "<class 'int'>":
            return value if isinstance(value, int) and not isinstance(value, bool) else None
        case "<class 'float'>" | "float | None":
            return _number(value)
        case "collections.abc.Mapping[str, str] | None":
            return value if isinstance(value, dict) and all(isinstance(v, str) for v in value.values()) else None
        case "tuple[str, ...]":
            return tuple(value) if isinstance(value, list) and all(isinstance(v, str) for v in value) else None
        case "tuple[int, ...]":
            return tuple(value) if isinstance(value, list) and all(isinstance(v, int) for v in value) else None
        case _:
            numbers = {k: _number(v) for k, v in value.items()} if isinstance(value, dict) else {"": None}
            return None if None in numbers.values() else numbers


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
