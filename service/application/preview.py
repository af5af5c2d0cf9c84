"""Preview: what a draft would do to standard jobs, before it is published. Both sides go through the one way of pricing."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any, Protocol

from service.application.effects import Effect, Priced, changed_lines, effects
from service.application.inheritance import LineKey
from service.application.publishing import Fault, Question
from service.engine.rates import Line, RateBook
from service.engine.survey import Survey

MOST_JOBS = 20
"""Most jobs of a caller's own."""
MOST_GROUPS = 100
"""Most groups of alike pieces of all those jobs: each is as much work as a defect."""
MOST_RUNS = 200
"""Most jobs that are priced to look at lines alone: some 4 s of work."""
MOST_DEFECT_RUNS = 400
"""Most groups of alike pieces that are priced to look at lines alone, all jobs together."""
AT_ONCE = 1
"""Previews that are worked out at once; others wait, so that ordinary quotes find a thread."""


class NotBelowError(ValueError):
    """Jobs are to be priced in a region that does not inherit from the draft's."""

    def __init__(self, region: str, below: Sequence[str]) -> None:
        """Name the region that was asked for, and those that may be."""
        super().__init__(f"{region} does not inherit from the draft's region")
        self.region, self.below = region, tuple(below)


@dataclass(frozen=True, slots=True)
class StandardJob:
    """One job of the basket.

    Attributes:
        code: its name for programs.
        family: the sort of work, as an office speaks of it ("wall logs").
        what: in words.
        request: a request for a quote, without region, day, rates and view.
    """

    code: str
    family: str
    what: str
    request: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Job:
    """A job that is tried.

    Attributes:
        code: its name.
        family: the sort of work.
        what: in words.
        survey: what was seen. It is priced on the first day of the draft.
    """

    code: str
    family: str
    what: str
    survey: Survey


@dataclass(frozen=True, slots=True)
class Below:
    """A region below the draft's.

    Attributes:
        parent: code of the region that it inherits from.
        own: lines that it holds itself on the day.
    """

    region: str
    parent: str
    own: frozenset[LineKey]


@dataclass(frozen=True, slots=True)
class Tried:
    """A draft on its first day.

    Attributes:
        mark: names the draft's state.
        before, after: the book in force on the day, and the same chain with the draft's lines.
        moved: lines of the draft that differ from the region's own that are in force on the day.
        locked: those of them that the draft locks.
        below: regions below, parents before children.
        faults, questions: what publishing it for that day would refuse and ask.
        outdated: whether others have published since, so that it has to be moved onto the newest revision first.
    """

    mark: str
    before: RateBook
    after: RateBook
    moved: frozenset[LineKey]
    locked: frozenset[LineKey]
    below: tuple[Below, ...]
    faults: tuple[Fault, ...]
    questions: tuple[Question, ...]
    outdated: bool


@dataclass(frozen=True, slots=True)
class Preview:
    """What a draft would do.

    Attributes:
        tried: the draft.
        changed: effective lines that differ, before and after.
        jobs: each job with what happens to it, the largest move first.
        inherits: region below -> how many of the draft's moved lines count there too.
    """

    tried: Tried
    changed: Mapping[LineKey, tuple[Line | None, Line | None]]
    jobs: tuple[tuple[Job, Effect], ...]
    inherits: Mapping[str, int]


class TrialSource(Protocol):
    """Where drafts come from."""

    async def tried(self, region: str, draft: int, day: date, of: str) -> Tried:
        """A draft on a day, with the books of a region: the draft's own or one below it.

        Raises:
            UnknownRegionError, UnknownDraftError, NotBelowError, NoBookError, BooksUnavailableError.
        """
        ...


@dataclass(frozen=True, slots=True)
class PreviewDesk:
    """Tries drafts.

    Attributes:
        source: where they come from.
        price: the one way in which a survey is priced.
        today: the day that is meant where none is said.
    """

    source: TrialSource
    price: Priced
    today: Callable[[], date]
    _turns: asyncio.Semaphore = field(default_factory=lambda: asyncio.Semaphore(AT_ONCE))

    async def preview(
        self, region: str, draft: int, day: date | None, of: str | None, jobs: Callable[[date], Sequence[Job]]
    ) -> Preview:
        """What a draft would do to these jobs if it were published for a day.

        Args:
            region: the draft's region.
            draft: its id.
            day: first day in force; None for today.
            of: region in which the jobs are priced; None for the draft's.
            jobs: the jobs on that day.
        """
        first = day or self.today()
        tried = await self.source.tried(region, draft, first, of or region)
        wanted = jobs(first)
        async with self._turns:
            found = await asyncio.to_thread(_effects, wanted, tried, self.price)
        return Preview(
            tried, changed_lines(tried.before.lines, tried.after.lines),
            tuple(sorted(zip(wanted, found, strict=True), key=lambda pair: (-abs(share(pair[1])), pair[0].code))),
            reached(tried.moved, tried.locked, tried.below),
        )


def share(effect: Effect) -> float:
    """How much a job's total moves, as a share; beyond all others where it cannot be priced any more, or only now."""
    before, after = effect.before, effect.after
    if before.missing != after.missing:
        return float("inf")
    return float(after.total / before.total) - 1.0 if before.total else 0.0


def together(effect: Effect) -> Decimal:
    """What is left of a job's move when all that was looked at alone is taken off."""
    return effect.after.total - effect.before.total - sum((alone.total for alone in effect.alone), Decimal(0))


def left_out(effect: Effect) -> tuple[LineKey, ...]:
    """Changed lines that a job reads and that were not looked at alone."""
    return tuple(sorted(effect.used - {alone.key for alone in effect.alone}))


def reached(moved: Collection[LineKey], locked: Collection[LineKey], below: Sequence[Below]) -> dict[str, int]:
    """How many moved lines count in each region below: those that nothing between overrides, and all that are locked."""
    reach: dict[str, set[LineKey]] = {}
    for one in below:
        inherited = reach.get(one.parent, set(moved))
        reach[one.region] = {key for key in inherited if key not in one.own or key in locked}
    return {region: len(keys) for region, keys in reach.items()}


def _effects(jobs: Sequence[Job], tried: Tried, price: Priced) -> list[Effect]:
    surveys = [replace(job.survey, priced_on=tried.before.day) for job in jobs]
    groups = sum(survey.most_groups for survey in surveys)
    runs = max(1, min(MOST_RUNS, MOST_DEFECT_RUNS * len(surveys) // max(1, groups)))
    return effects(surveys, tried.before, tried.after, price, runs=runs)
