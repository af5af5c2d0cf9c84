"""Reading rates: the effective book line by line, one line through the chain, its history, revisions, comparisons."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from difflib import get_close_matches
from functools import partial
from typing import cast

import msgspec
from litestar import Response

from service.application.comparing import Comparer, Comparison
from service.application.history import History, Place
from service.application.ports import UnknownRevisionError
from service.application.reading import ORDERS, STANDINGS, Order, Placed, RateReader, Read, Wanted
from service.engine.rates import SECTIONS
from service.web import limits, sheets
from service.web import reading_shapes as shapes
from service.web.comparing_shapes import BookComparison, moved, piece
from service.web.http import CSV, JSON, RATES, Asked, Check, conditional, etag_of, freshness, media_asked, parameters, sheet
from service.web.paging import bad_cursor, bad_parameter, next_page, page_of
from service.web.params import (
    CURSOR_FORM,
    NUMBER,
    choice_of,
    comma_wanted,
    cursor_of,
    day_check,
    day_of,
    line_named,
    number_named,
    place_of,
    region_named,
    revision_check,
    revision_of,
)
from service.web.problems import ProblemError, Trouble, problem
from service.web.requests import REGION_FORM
from service.web.units import Units

WHICH: Mapping[str, Check] = {"on": day_check(), "rates": revision_check()}
SHEET = ("section", "code", "unit", "low", "likely", "high", "kind", "source", "what", "locked")
"""Columns of a draft's sheet."""
BESIDE = ("standing", "from", "inherited_likely")
"""Further columns of a sheet that holds more, or less, than the region's own lines: a draft does not take those."""
OWN = frozenset({"own", "overridden"})


@dataclass(frozen=True, slots=True)
class ReadingDoor:
    """Answers whoever reads rates.

    Attributes:
        today: the day that is meant where none is said.
    """

    reader: RateReader
    history: History
    comparer: Comparer
    today: Callable[[], date]

    async def lines(self, request: Asked, region: str) -> Response[bytes]:
        """The effective book, a page of it or all of it as a sheet."""
        asked = parameters(request)
        wanted, order = _wanted(asked), cast("Order", choice_of(asked, "sort", ORDERS) or "line")
        if media_asked(request) == CSV:
            if {"limit", "cursor"} & asked.keys():
                raise bad_parameter("limit", "and cursor are for JSON; a sheet is always whole")
            read = await self._read(region, asked)
            body = _sheet(read.lines(wanted, order), own=wanted == Wanted(standings=OWN), comma=comma_wanted(asked))
            return sheet(request, body, cache=RATES, headers=_fresh(read))
        # The day and the chain come first: all pages are of one book, whatever is published between them.
        place = place_of(asked, (str, str, str, str))
        read = await self._read(region, asked, place)
        found = read.lines(wanted, order)
        start = _after(found, place)
        shown = found[start : start + page_of(asked, CURSOR_FORM).limit]
        book, more = read.shelved.book, start + len(shown) < len(found)
        cursor = cursor_of(asked, (book.day.isoformat(), book.revision, *shown[-1].key)) if more else None
        page = shapes.Lines(
            book.region, book.currency, book.day, book.revision, len(found), [shapes.effective(p) for p in shown], cursor
        )
        return answer(request, page, {**_fresh(read), **next_page(request, cursor)})

    async def line(self, request: Asked, region: str, section: str, code: str) -> Response[bytes]:
        """One line through the whole chain."""
        key = line_named(section, code)
        read = await self._read(region, parameters(request))
        placed = read.line(key)
        if placed is None:
            raise ProblemError(_no_line(read, *key))
        book, regions = read.shelved.book, [layer.signed.region for layer in read.layers]
        members = [
            shapes.ChainMember(
                shapes.signature(layer.signed), shapes.value(layer.lines.get(key)), layer.signed.region == placed.line.region,
                because(placed, regions, k, holds=key in layer.lines),
            )
            for k, layer in enumerate(read.layers)
        ]
        story = shapes.LineInChain(book.region, book.currency, book.day, book.revision, shapes.effective(placed), members)
        return answer(request, story, _fresh(read))

    async def line_history(self, request: Asked, region: str, section: str, code: str) -> Response[bytes]:
        """Revisions in which a line changed."""
        region, key, asked = region_named(region), line_named(section, code), parameters(request)
        limit, place = page_of(asked, CURSOR_FORM).limit, place_of(asked, (str, str, int))
        edits = await self.history.line(region, key, None if place is None else _place(place), limit + 1)
        if not edits and place is None:
            raise ProblemError(problem("unknown-line", f"No book of {region} or its parents ever had a line {section}/{code}."))
        cursor = None
        if len(edits) > limit:
            last = edits[limit - 1].signed
            cursor = cursor_of(asked, (last.published_at.astimezone(UTC).isoformat(), last.region, last.number))
        page = shapes.LineHistory(region, [shapes.edit(e) for e in edits[:limit]], cursor)
        return answer(request, page, next_page(request, cursor))

    async def revisions(self, request: Asked, region: str) -> Response[bytes]:
        """Own revisions of a region."""
        region, asked = region_named(region), parameters(request)
        limit, place = page_of(asked, CURSOR_FORM).limit, place_of(asked, (int,))
        found = await self.history.revisions(region, None if place is None else _whole(place[0]), limit + 1)
        cursor = cursor_of(asked, (found[limit - 1].signed.number,)) if len(found) > limit else None
        day = self.today()
        page = shapes.Revisions(region, [shapes.row(r, day) for r in found[:limit]], cursor)
        return answer(request, page, next_page(request, cursor))

    async def revision(self, request: Asked, region: str, number: str) -> Response[bytes]:
        """One own revision, and what it changed."""
        region, wanted = region_named(region), number_named(number)
        found = await self.history.revisions(region, wanted + 1, 1)
        if not found or found[0].signed.number != wanted:
            raise ProblemError(problem("unknown-revision", f"{region} has no published book number {wanted}."))
        edits = await self.history.edits(region, wanted - 1, wanted)
        body = shapes.RevisionWithEdits(shapes.row(found[0], self.today()), [shapes.edit(e) for e in edits])
        return answer(request, body, {})

    async def compare(self, request: Asked, region: str) -> Response[bytes]:
        """Two own revisions, or two whole chains."""
        region, asked = region_named(region), parameters(request)
        old, new = _side(asked, "from"), _side(asked, "to")
        numbers = [NUMBER.fullmatch(one) is not None for one in (old, new)]
        if any(numbers) and not all(numbers):
            raise bad_parameter("to", "must be of the same kind as from: both numbers of revisions, or both the text of rates")
        try:
            made = await (self._own if all(numbers) else self._effective)(region, old, new)
        except UnknownRevisionError as fault:
            raise ProblemError(problem("unknown-revision", f"{fault.revision!r}: {fault.why}.")) from None
        units = Units(made.units)
        body = BookComparison(
            region, "own" if all(numbers) else "effective", old, new, [moved(m) for m in made.lines],
            [piece(m, units) for m in made.sticks], [shapes.signature(s) for s in made.counts],
        )
        return answer(request, body, {})

    async def _read(self, region: str, asked: Mapping[str, str], place: tuple[str | int, ...] | None = None) -> Read:
        """The book that is asked for; with a place, the one that its page was of."""
        region = region_named(region)
        if place is None:
            return await self.reader.read(region, day_of(asked.get("on"), self.today), revision_of(asked.get("rates")))
        try:
            return await self.reader.read(region, day_of(str(place[0]), self.today), revision_of(str(place[1])))
        except (ProblemError, UnknownRevisionError):
            raise bad_cursor() from None

    async def _own(self, region: str, old: str, new: str) -> Comparison:
        """Two own revisions side by side, of a region that is there."""
        await self.history.revisions(region, None, 1)
        return await self.comparer.revisions(region, int(old), int(new))

    async def _effective(self, region: str, old: str, new: str) -> Comparison:
        """Two whole chains side by side."""
        chains = [revision_of(text, name) or "" for text, name in ((old, "from"), (new, "to"))]
        return await self.comparer.chains(region, chains[0], chains[1], self.today())


def because(placed: Placed, regions: Sequence[str], at: int, *, holds: bool) -> str:
    """Why the line of one book of the chain counts or does not, in words."""
    region, whose = regions[at], placed.line.region
    if not holds:
        return f"{region} has no line of its own."
    if regions.index(whose) < at:
        return f"It does not count: {whose}, above it, has locked the line."
    if region != whose:
        return f"It does not count: {whose} has a line of its own in place of it."
    if placed.line.locked and whose != regions[-1]:
        return f"It counts: {region} has locked the line, so that nothing below it counts."
    below = f", and nothing between it and {regions[-1]} has one" if whose != regions[-1] else ", the nearest there is"
    return f"It counts: {region} has the line{below}."


def _wanted(asked: Mapping[str, str]) -> Wanted:
    """Which lines are wanted.

    Raises:
        ProblemError: 400.
    """
    return Wanted(choice_of(asked, "section", SECTIONS), _code(asked), _text(asked), _standings(asked))


def _code(asked: Mapping[str, str]) -> str:
    code = asked.get("code", "")
    if not re.fullmatch("[a-z0-9_.]{0,80}", code, re.ASCII):
        raise bad_parameter("code", "must be what a code begins with: up to 80 lower-case letters, digits, _ and .")
    return code


def _text(asked: Mapping[str, str]) -> str:
    text = asked.get("text", "")
    if len(text) > limits.TEXT_CHARACTERS:
        raise bad_parameter("text", f"has {len(text)} characters; at most {limits.TEXT_CHARACTERS} are taken")
    return text


def _standings(asked: Mapping[str, str]) -> frozenset[str]:
    standings = frozenset(asked["own"].split(",")) if "own" in asked else frozenset()
    if not standings <= set(STANDINGS):
        raise bad_parameter("own", f"must be of {', '.join(STANDINGS)}, several with commas between them")
    return standings


def _side(asked: Mapping[str, str], name: str) -> str:
    """One of two books: the number of a revision, or the text of rates."""
    if name not in asked:
        raise bad_parameter(name, "is needed: the number of a revision, or the text of rates")
    text = asked[name]
    if not NUMBER.fullmatch(text):
        revision_of(text, name)
    return text


FILTERS: Mapping[str, Check] = {
    "section": partial(choice_of, name="section", known=SECTIONS), "code": _code, "text": _text, "own": _standings,
    "sort": partial(choice_of, name="sort", known=ORDERS),
}
SIDES: Mapping[str, Check] = {name: partial(_side, name=name) for name in ("from", "to")}


def _after(found: list[Placed], place: tuple[str | int, ...] | None) -> int:
    """Where the page after a place begins."""
    if place is None:
        return 0
    at = next((k for k, p in enumerate(found) if p.key == place[2:]), None)
    if at is None:
        raise bad_cursor()
    return at + 1


def _sheet(found: list[Placed], *, own: bool, comma: bool) -> bytes:
    """Lines as a sheet. The region's own lines, all of them, have the columns of a draft's sheet and can be sent back."""
    rows = [
        {name: getattr(p.line, name) for name in SHEET}
        | {"standing": p.standing, "from": p.line.region, "inherited_likely": p.inherited.likely if p.inherited else None}
        for p in found
    ]
    return sheets.write(SHEET if own else (*SHEET, *BESIDE), rows, decimal_comma=comma)


def _no_line(read: Read, section: str, code: str) -> Trouble:
    """404, with the codes that are written nearly so."""
    book = read.shelved.book
    near = get_close_matches(code, [c for s, c in book.lines if s == section], n=3)
    said = f"The book of {book.region} has no line {section}/{code} on {book.day}."
    return problem("unknown-line", said + (f" Near: {', '.join(near)}." if near else ""))


def _place(place: tuple[str | int, ...]) -> Place:
    """A place in a history. A cursor may be forged: whatever is in it is held to its form."""
    at, region, number = place
    try:
        when = datetime.fromisoformat(str(at))
    except ValueError:
        raise bad_cursor() from None
    # The first and last years that a clock knows are none any more in another zone.
    if when.tzinfo is None or not _in_days(when.date()) or not re.fullmatch(REGION_FORM, str(region), re.ASCII):
        raise bad_cursor()
    return Place(when, str(region), _whole(number))


def _in_days(day: date) -> bool:
    return limits.FIRST_DAY <= day <= limits.LAST_DAY


def _whole(number: str | int) -> int:
    if not isinstance(number, int) or not 0 < number <= limits.WHOLE:
        raise bad_cursor()
    return number


def _fresh(read: Read) -> dict[str, str]:
    return freshness(degraded=read.shelved.degraded, age_s=read.shelved.age_s)


def answer(request: Asked, body: msgspec.Struct, headers: dict[str, str]) -> Response[bytes]:
    """An answer that reads rates: kept, and asked for anew each time."""
    encoded = msgspec.json.encode(body)
    return conditional(request, encoded, etag=etag_of(encoded), cache=RATES, media=JSON, headers=headers)
