"""Rate books for tests of the engine, read straight from the fixtures: the database has tests of its own."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import lru_cache
from pathlib import Path

from service.engine.rates import SECTIONS, Line, RateBook

RATES = Path(__file__).resolve().parents[2] / "fixtures" / "rates"
DAY = date(2026, 6, 15)


def _lines(region: str) -> dict[tuple[str, str], Line]:
    lines: dict[tuple[str, str], Line] = {}
    for section in SECTIONS:
        for path in sorted((RATES / region).glob(f"{section}*.csv")):
            with path.open(encoding="utf-8-sig", newline="") as file:
                for row in csv.DictReader(file):
                    key = (section, row["code"])
                    assert key not in lines, f"{path.name}: {key} stands twice"
                    lines[key] = Line(
                        section=section, code=row["code"], unit=row["unit"], low=Decimal(row["low"]),
                        likely=Decimal(row["likely"]), high=Decimal(row["high"]), kind=row["kind"] or "",
                        region=region, source=row["source"], what=row["what"],
                    )
    return lines


@lru_cache(maxsize=8)
def book(region: str = "base", day: date = DAY) -> RateBook:
    """The effective book of a region: its own lines over its parents'."""
    chain = [region]
    while parent := tomllib.loads((RATES / chain[-1] / "region.toml").read_text("utf-8")).get("parent"):
        chain.append(parent)
    about = tomllib.loads((RATES / region / "region.toml").read_text("utf-8"))
    lines: dict[tuple[str, str], Line] = {}
    for code in reversed(chain):
        lines.update(_lines(code))
    return RateBook(
        region=region, region_name=about["name"], currency=about["currency"], units=about["units"],
        revision="/".join(f"{c}@1" for c in reversed(chain)), day=day, lines=lines, yard=(), holidays=frozenset(),
    )


def with_line(source: RateBook, section: str, code: str, factor: float) -> RateBook:
    """The same book with one line raised by a factor, all three values alike."""
    lines: dict[tuple[str, str], Line] = dict(source.lines)
    old = lines[section, code]
    times = Decimal(repr(factor))
    lines[section, code] = replace(old, low=old.low * times, likely=old.likely * times, high=old.high * times)
    return replace(source, lines=lines)


def lines_of(source: RateBook) -> Mapping[tuple[str, str], Line]:
    """All lines."""
    return source.lines
