"""Reading a region's folder of fixtures: region.toml, one or more CSV files a section, stock.csv.

All faults of all folders are gathered, each with file, row, column and what was wrong, before anything is written.
"""

from __future__ import annotations

import csv
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from service.engine.rates import KINDS, SECTIONS
from service.storage.calendar import calendar_fault

LINE_COLUMNS = ("code", "unit", "low", "likely", "high", "kind", "source", "what")
STICK_COLUMNS = (
    "code",
    "form",
    "section_in",
    "second_in",
    "length_ft",
    "moisture_pct",
    "moisture_depth_in",
    "read_on",
    "species",
    "cut",
    "where",
    "held_for",
    "held_until",
)
REGION_KEYS = ("code", "name", "parent", "currency", "units", "holiday_country", "holiday_subdiv", "effective", "note")
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
NUMBER = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,9})?", re.ASCII)
CODE = re.compile(r"[a-z0-9_.]{1,80}", re.ASCII)


class FolderError(ValueError):
    """Fixtures that cannot be loaded. `faults` says each of them in one sentence."""

    def __init__(self, faults: list[str]) -> None:
        """Keep the faults and print them one a line."""
        super().__init__("\n".join(["these fixtures cannot be loaded:", *faults]))
        self.faults = tuple(faults)


@dataclass(frozen=True, slots=True)
class Folder:
    """One region as its folder says it. `sticks` is None where there is no stock.csv."""

    region: Mapping[str, Any]
    effective: date
    lines: tuple[Mapping[str, Any], ...]
    sticks: tuple[Mapping[str, Any], ...] | None


def read_folders(root: Path, there: frozenset[str] = frozenset()) -> tuple[Folder, ...]:
    """All region folders below `root`, parents first.

    Args:
        root: where the folders are.
        there: codes of regions that need no folder to be a parent, because they were loaded before.

    Raises:
        FolderError: with every fault found.
    """
    faults: list[str] = []
    read = [_read(path.parent, faults) for path in sorted(root.glob("*/region.toml"))]
    if not read:
        faults.append(f"{root}: no folder with a region.toml")
    folders = {folder.region["code"]: folder for folder in read if folder}
    ordered: list[Folder] = []
    while waiting := [f for f in folders.values() if f not in ordered]:
        done = {folder.region["code"] for folder in ordered} | {""} | (there - folders.keys())
        ready = [folder for folder in waiting if folder.region["parent"] in done]
        if not ready:
            faults += [f"{f.region['code']}: no folder for its parent {f.region['parent']!r}" for f in waiting]
            break
        ordered += ready
    if faults:
        raise FolderError(faults)
    return tuple(ordered)


def _read(folder: Path, faults: list[str]) -> Folder | None:
    before = len(faults)
    about = _about(folder / "region.toml", faults)
    lines = _lines(folder, faults)
    stock = folder / "stock.csv"
    sticks = None
    if stock.exists():
        sticks = tuple(_stick(where, row, faults) for where, row in _rows(stock, STICK_COLUMNS, faults))
    effective = _date(f"{folder.name}/region.toml", "effective", str(about.get("effective")), faults) if about else None
    if len(faults) > before or effective is None:
        return None
    return Folder({key: about[key] for key in REGION_KEYS if key != "effective"}, effective, lines, sticks)


def _about(path: Path, faults: list[str]) -> dict[str, Any]:
    name = f"{path.parent.name}/{path.name}"
    try:
        about = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as wrong:
        faults.append(f"{name}: {wrong}")
        return {}
    missing = [key for key in REGION_KEYS if not isinstance(about.get(key), str)]
    faults += [f"{name}: {key} must be there, as text" for key in missing]
    if not missing and (fault := calendar_fault(about["holiday_country"], about["holiday_subdiv"])):
        faults.append(f"{name}: {fault}")
    return about


def _lines(folder: Path, faults: list[str]) -> tuple[Mapping[str, Any], ...]:
    lines: dict[tuple[str, str], Mapping[str, Any]] = {}
    for path in sorted(folder.glob("*.csv")):
        section = section_of(path)
        if section in SECTIONS:
            for where, row in _rows(path, LINE_COLUMNS, faults):
                line = _line(where, section, row, faults)
                if (section, row["code"]) in lines:
                    faults.append(f"{where}: {section}/{row['code']} stands twice")
                lines[section, row["code"]] = line
        elif section != "stock":
            faults.append(f"{folder.name}/{path.name}: the name must begin with one of {', '.join(SECTIONS)}, stock")
    return tuple(lines.values())


def section_of(path: Path) -> str:
    """The section that a file's name begins with: norms.csv, norms_walls.csv and norms-walls.csv all hold norms."""
    return re.split(r"[^a-z]", path.stem, maxsplit=1)[0]


def _rows(path: Path, columns: tuple[str, ...], faults: list[str]) -> Iterator[tuple[str, dict[str, str]]]:
    """Rows with the place where each stands. A row of the wrong length is a fault and left out."""
    name = f"{path.parent.name}/{path.name}"
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = csv.reader(file, strict=True)
        first = next(rows, [])
        if tuple(first) != columns:
            form = ", with commas between the cells and points in numbers" if any(";" in cell for cell in first) else ""
            faults.append(f"{name}: the first row must be {','.join(columns)}{form}")
            return
        for row in rows:
            where = f"{name} row {rows.line_num}"
            if len(row) != len(columns):
                faults.append(f"{where}: {len(row)} cells where {len(columns)} are needed")
                continue
            named = dict(zip(columns, (cell.strip() for cell in row), strict=True))
            if not CODE.fullmatch(named["code"]):
                faults.append(f"{where}: code {named['code']!r} is not made of a-z, 0-9, _ and .")
            yield where, named


def _line(where: str, section: str, row: Mapping[str, str], faults: list[str]) -> Mapping[str, Any]:
    low, likely, high = (_number(where, name, row[name], faults) for name in ("low", "likely", "high"))
    if not low <= likely <= high:
        faults.append(f"{where}: {row['code']} must have low <= likely <= high, not {low}, {likely}, {high}")
    allowed = KINDS if section == "resources" else ("",)
    if row["kind"] not in allowed:
        faults.append(f"{where}: kind {row['kind']!r} must be one of {', '.join(map(repr, allowed))}")
    faults += [f"{where}: {name} is empty" for name in ("unit", "source", "what") if not row[name]]
    return {"section": section, **row, "low": low, "likely": likely, "high": high}


def _stick(where: str, row: Mapping[str, str], faults: list[str]) -> Mapping[str, Any]:
    sizes = {name: _number(where, name, row[name], faults) for name in ("section_in", "length_ft", "moisture_pct")}
    maybe = {
        name: _number(where, name, row[name], faults) if row[name] else None
        for name in ("second_in", "moisture_depth_in")
    }
    return {
        **{name: row[name] for name in ("code", "form", "species", "cut")},
        **sizes,
        **maybe,
        "read_on": _date(where, "read_on", row["read_on"], faults) if row["read_on"] else None,
        "where_kept": row["where"],
        "held_for": row["held_for"] or None,
        "held_until": _held_until(where, row, faults),
    }


def _held_until(where: str, row: Mapping[str, str], faults: list[str]) -> date | None:
    if not row["held_until"]:
        return None
    if not row["held_for"]:
        faults.append(f"{where}: held_until without held_for: say which job the piece is held for")
    return _date(where, "held_until", row["held_until"], faults)


def _number(where: str, name: str, cell: str, faults: list[str]) -> Decimal:
    """The number as it was typed, trailing zeros and all; zero stands in for a faulty one, which is then not loaded."""
    if NUMBER.fullmatch(cell):
        return Decimal(cell)
    faults.append(f"{where}: {name} {cell!r} is not a plain decimal number such as 12.50")
    return Decimal(0)


def _date(where: str, name: str, cell: str, faults: list[str]) -> date | None:
    try:
        # The parser also takes 20260131 and 2026-W05-6.
        return date.fromisoformat(cell if DAY.fullmatch(cell) else "")
    except ValueError:
        faults.append(f"{where}: {name} {cell!r} is not a day such as 2026-01-31")
        return None
