"""Stand-ins for the ports: books read straight from the fixtures, and quotes that are made by hand."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field, replace
from datetime import date

from service.application.ports import (
    BooksUnavailableError,
    NoBookError,
    Quoted,
    Readiness,
    RegionRecord,
    ShelfHealth,
    Shelved,
    UnknownRegionError,
    UnknownRevisionError,
)
from service.engine.outcome import DefectAnswer, Slip
from service.engine.rates import Stick
from service.engine.survey import Defect, Survey
from service.web import limits
from tests.engine.books import RATES, book
from tests.web.sample import answer, findings, priced, rejected

TODAY = date(2026, 5, 4)
FIRST_DAY = date(2026, 1, 1)
YARD = (
    Stick("14", "log", 12.0, None, 144.0, 14.0, 2.0, date(2026, 4, 1), "lodgepole_pine", "whole", "shed", None, "base"),
)


def today() -> date:
    """The day of the tests."""
    return TODAY


@dataclass
class FixtureBooks:
    """Books from the fixtures. `away` plays a database that does not answer, `stale` one that has just gone."""

    away: bool = False
    stale: bool = False

    async def regions(self) -> tuple[RegionRecord, ...]:
        if self.away:
            raise BooksUnavailableError("away")
        found = [tomllib.loads(p.read_text("utf-8")) for p in sorted(RATES.glob("*/region.toml"))]
        return tuple(
            RegionRecord(r["code"], r["name"], r["parent"], r["currency"], r["units"], r["holiday_country"],
                         r["holiday_subdiv"], r["note"])
            for r in found
        )

    async def book(self, region: str, day: date, revision: str | None = None) -> Shelved:
        codes = tuple(r.code for r in await self.regions())
        if region not in codes:
            raise UnknownRegionError(region, codes)
        if revision is not None and revision != book(region).revision:
            raise UnknownRevisionError(revision, "no such revision was ever published")
        if day < FIRST_DAY:
            raise NoBookError(region, day, (region,))
        made = replace(book(region), day=day, yard=YARD, holidays=frozenset((date(2026, 7, 4),)))
        return Shelved(made, degraded=self.stale, age_s=90.0 if self.stale else 0.0)

    async def readiness(self, day: date) -> Readiness:
        assert day == TODAY
        return Readiness(ready=not self.away, degraded=False, why="the database does not answer" if self.away else "")

    def health(self) -> ShelfHealth:
        return ShelfHealth(books=1, degraded=self.away, age_s=None if self.away else 2.0)


@dataclass
class CannedQuotes:
    """Answers every defect alike, but for the slips that a test names; remembers what it was asked."""

    books: FixtureBooks = field(default_factory=FixtureBooks)
    asked: list[Survey] = field(default_factory=list)
    slips: tuple[Slip, ...] = ()

    async def quote(self, region: str, survey: Survey, revision: str | None = None) -> Quoted:
        shelved = await self.books.book(region, survey.priced_on, revision)
        self.asked.append(survey)
        made = answer(
            *(self._one(d) for d in survey.defects), units=survey.units or shelved.book.units, region=region,
            day=survey.priced_on,
        )
        return Quoted(made, shelved.degraded, shelved.age_s)

    def _one(self, defect: Defect) -> DefectAnswer:
        if defect.element == "moon":
            slip = Slip(("element",), "moon", "'moon' is not a member that is known here", "Which part is it?",
                        "unknown_element", fatal=True)
            return replace(rejected(defect.index, slip, *self.slips), element="moon")
        if not 1 <= defect.count <= limits.PIECES:
            # As the engine does; two thousand million pieces are not counted one by one.
            slip = Slip(("count",), str(defect.count), "too many", "Count again.", "count_out_of_range", fatal=True)
            return rejected(defect.index, slip)
        if any(len(spans) > 1 for spans in defect.numbers.values()):
            return priced(defect.index, findings((1,)), findings(tuple(range(2, defect.count + 1))), own_id=defect.id)
        return priced(defect.index, findings(tuple(range(1, max(defect.count, 1) + 1))), own_id=defect.id)
