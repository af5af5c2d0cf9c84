"""What an office does with hours: reports them, looks how they run, takes a suggestion into a draft. Nothing moves by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from service.application.access import Asker, Once
from service.application.draft_lines import Change
from service.application.drafts import Draft, Drafts, Moved, OutdatedDraftError
from service.application.drift import Drift, SuggestedLine, drifts
from service.application.hours import HoursRoom, NewReport, Report, hour_norms
from service.application.hours_sense import Known, nonsense
from service.application.nonsense import Nonsense, NonsenseError, meant
from service.application.ports import Books, UnknownRevisionError
from service.engine.knowledge import Knowledge
from service.engine.rates import RateBook

MOST_CHAINS = 40
"""Most revisions that the reports of one sheet may rest on: each is a book that is read."""


@dataclass(frozen=True, slots=True)
class Left:
    """A method or a norm that was not taken into a draft, and why; `code` is "" for the whole method."""

    method: str
    code: str
    why: str


@dataclass(frozen=True, slots=True)
class Taken:
    """What was taken into a draft.

    Attributes:
        draft: the draft as it is now.
        lines: norms that were taken, each with its method and factor.
        left: what was not.
    """

    draft: Draft
    lines: tuple[tuple[Drift, SuggestedLine], ...]
    left: tuple[Left, ...]


@dataclass(frozen=True, slots=True)
class HoursDesk:
    """Hours of a region.

    Attributes:
        today: the day by whose book they are judged.
    """

    room: HoursRoom
    books: Books
    drafts: Drafts
    knowledge: Knowledge
    today: Callable[[], date]

    async def report(
        self, asker: Asker, region: str, reports: Sequence[NewReport], once: Once | None,
        said: Callable[[tuple[Report, ...]], bytes],
    ) -> bytes:
        """Keep reports, all or none.

        Raises:
            NonsenseError: with every value that cannot be.
            UnknownRegionError, NoBookError, BooksUnavailableError, and what `HoursRoom.add` raises.
        """
        wrong = [*await self.nonsense(region, reports)]
        if wrong:
            raise NonsenseError(wrong)
        books, unknown = await self._books(region, reports)
        if unknown:
            raise NonsenseError(unknown)
        kept = [(report, hour_norms(books[report.rates], report.method)) for report in reports]
        return await self.room.add(asker, region, kept, once, said)

    async def nonsense(self, region: str, reports: Sequence[NewReport]) -> list[Nonsense]:
        """Every value of reports that cannot be, but for revisions that are not there."""
        book, today = await self._book(region), self.today()
        methods = frozenset(m for m in self.knowledge.methods if hour_norms(book, m))
        known = Known(methods, frozenset(self.knowledge.elements))
        found = [one for k, report in enumerate(reports) for one in nonsense(report, known, region, today, k)]
        chains = len({report.rates for report in reports})
        if chains > MOST_CHAINS:
            found.append(Nonsense(0, "rates", f"{chains} revisions in one sheet; at most {MOST_CHAINS}. Send it in parts."))
        return found

    async def drift(self, region: str, since: date | None) -> tuple[tuple[Drift, ...], RateBook]:
        """How the hours of each method run against the norms in force today, and the book that holds these."""
        book = await self._book(region)
        return drifts(await self.room.counted(region, since), book), book

    async def suggest(
        self, asker: Asker, region: str, draft: int, mark: str, methods: Sequence[str] | None, since: date | None
    ) -> Taken:
        """Take what the hours suggest into a draft; of all methods where none is named.

        A norm that was changed in the draft by hand, or that is locked above, is left as it is.

        Raises:
            UnknownDraftError, OutdatedDraftError, RefusedLinesError, and what reading raises.
        """
        there = await self.drafts.difference(region, draft)
        if mark != there.draft.mark:
            raise OutdatedDraftError(there.draft.mark)
        moved = {m.key: m for m in there.moved}
        lines: list[tuple[Drift, SuggestedLine]] = []
        left: list[Left] = []
        found = {d.method: d for d in (await self.drift(region, since))[0]}
        for method in sorted(found) if methods is None else dict.fromkeys(methods):
            if method not in found:
                left.append(Left(method, "", self._why_none(method)))
                continue
            drift = found[method]
            if not drift.lines:
                left.append(Left(method, "", drift.says))
            for one in drift.lines:
                why = _stands(one, moved.get(("norms", one.line.code)), region)
                if why:
                    left.append(Left(method, one.line.code, why))
                else:
                    lines.append((drift, one))
        changes = [_change(drift, one) for drift, one in lines]
        if not changes:
            return Taken(there.draft, (), tuple(left))
        done = await self.drafts.change(asker, region, draft, mark, changes)
        return Taken(done.draft, tuple(lines), tuple(left))

    def _why_none(self, method: str) -> str:
        """Why nothing is suggested for a method."""
        if method in self.knowledge.methods:
            return "No report of it counts."
        return f"There is no such method.{meant(method, self.knowledge.methods)}"

    async def _book(self, region: str) -> RateBook:
        return (await self.books.book(region, self.today())).book

    async def _books(
        self, region: str, reports: Sequence[NewReport]
    ) -> tuple[Mapping[str, RateBook], list[Nonsense]]:
        """The books by which the hours were quoted, and the reports whose book is not there."""
        books: dict[str, RateBook] = {}
        missing: dict[str, str] = {}
        for report in reports:
            if report.rates in books or report.rates in missing:
                continue
            try:
                books[report.rates] = (await self.books.book(region, report.done_on, report.rates)).book
            except UnknownRevisionError as fault:
                missing[report.rates] = fault.why
        return books, list(_unknown(reports, missing))


def _unknown(reports: Sequence[NewReport], missing: Mapping[str, str]) -> Iterator[Nonsense]:
    for k, report in enumerate(reports):
        if report.rates in missing:
            yield Nonsense(k, "rates", f"{report.rates!r}: {missing[report.rates]}. Send `rates` of the quote as it was.")


def _stands(one: SuggestedLine, moved: Moved | None, region: str) -> str:
    """Why a norm is left as it is; "" where it may be changed."""
    if one.line.locked and one.line.region != region:
        return f"{one.line.region} has locked it."
    if moved is not None and (moved.after is None or moved.after.likely not in (one.likely, one.line.likely)):
        return "The draft changes it already, otherwise than the hours suggest."
    return ""


def _change(drift: Drift, one: SuggestedLine) -> Change:
    """The change of a norm, with the reports that it rests on as its source."""
    factor = Decimal(repr(round(drift.factor or 1.0, 3)))
    source = f"{drift.middle.count} reports of hours to {drift.last}: mean x{drift.middle.mean:.2f}, taken x{factor:f}"
    given: dict[str, str | bool | Decimal | None] = {
        "low": one.low, "likely": one.likely, "high": one.high, "source": source
    }
    return Change("norms", one.line.code, given)
