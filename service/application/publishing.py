"""Publishing: what goes in, what comes out, what stands in the way, and who does it. Values and a Protocol."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, Protocol

from service.application.access import Asker, Once
from service.application.inheritance import LineKey, Lines
from service.application.money_lines import OtherMoney
from service.application.reading import Signed
from service.engine.rates import Line


@dataclass(frozen=True, slots=True)
class Publication:
    """What somebody wants to publish with.

    Attributes:
        effective: first day in force; None for today.
        why: the reason, for everybody who reads the revision later.
        confirmed: tokens of questions that were asked before.
    """

    effective: date | None
    why: str
    confirmed: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Published:
    """A revision that has just been published.

    Attributes:
        until: first day on which it is not in force any more; None for until further notice.
        next_number: number of the scheduled revision that takes over then.
        rates: the chain of the region on the first day.
        changed: lines that differ from those that were in force on that day.
        left_out: lines of a revision gone back to that were left out, because a parent has locked them meanwhile.
        reverts_to: number of the revision gone back to; None for one that goes back to none.
    """

    signed: Signed
    until: date | None
    next_number: int | None
    rates: str
    changed: int
    left_out: tuple[LineKey, ...] = ()
    reverts_to: int | None = None


@dataclass(frozen=True, slots=True)
class Fault:
    """What keeps a line from being published."""

    code: Literal["gap", "line-locked", "out-of-order", "other-money"]
    key: LineKey
    text: str


@dataclass(frozen=True, slots=True)
class Question:
    """Something that may be meant, and is more often a slip. `token` says yes to it, and to nothing else."""

    token: str
    text: str


@dataclass(frozen=True, slots=True)
class Moved:
    """A line that was changed by others since a draft was opened.

    Attributes:
        before, after: the line in the revision that the draft is based on and in the newest; None for not its own.
        by: the last revision that changed it.
        here_too: whether the draft changes it as well.
    """

    key: LineKey
    before: Line | None
    after: Line | None
    by: Signed
    here_too: bool


class UnknownNumberError(LookupError):
    """The region has published no revision of this number."""

    def __init__(self, region: str, number: int) -> None:
        """Name both."""
        super().__init__(f"{region} has no revision {number}")
        self.region, self.number = region, number


class NothingChangesError(Exception):
    """What is to be published is what is in force on that day already."""

    def __init__(self, number: int | None, day: date) -> None:
        """Name the revision in force and the day."""
        super().__init__(f"on {day} revision {number} is in force and holds the same lines")
        self.number, self.day = number, day


class BackdatedError(Exception):
    """The first day lies in the past."""

    def __init__(self, day: date, today: date) -> None:
        """Name both days."""
        super().__init__(f"{day} is before {today}")
        self.day, self.today = day, today


class DraftOutdatedError(Exception):
    """Others have published since the draft was opened."""

    def __init__(self, base: int | None, since: Sequence[Signed], moved: Sequence[Moved]) -> None:
        """Name the revision that the draft is based on, the newer ones, and the lines that they moved."""
        super().__init__(f"based on revision {base}, while {', '.join(str(s.number) for s in since)} came after it")
        self.base, self.since, self.moved = base, tuple(since), tuple(moved)


class PublishRefusedError(Exception):
    """The lines may not be published. Faults and questions are all that there are."""

    def __init__(self, faults: Sequence[Fault], questions: Sequence[Question]) -> None:
        """Keep both."""
        super().__init__("; ".join(fault.text for fault in faults))
        self.faults, self.questions = tuple(faults), tuple(questions)


class ConfirmationNeededError(Exception):
    """Something has to be confirmed first."""

    def __init__(self, questions: Sequence[Question]) -> None:
        """Keep the questions that nobody has said yes to."""
        super().__init__("; ".join(question.text for question in questions))
        self.questions = tuple(questions)


@dataclass(frozen=True, slots=True)
class Scheduled:
    """A revision that takes over on a later day."""

    number: int
    since: date
    lines: Lines


@dataclass(frozen=True, slots=True)
class Situation:
    """What a publication meets.

    Attributes:
        day: its first day.
        lines: what is to be published, the region's own lines as a whole.
        above: the parents' effective book on that day.
        in_force, number: own lines that are in force on that day, and the revision that they are of; None for none.
        base, base_number: own lines that the draft was opened on, and their revision.
        later: the scheduled revision that takes over after that day; None for none.
        other: regions of the family that reckon in other money.
    """

    day: date
    lines: Lines
    above: Lines
    in_force: Lines
    number: int | None
    base: Lines
    base_number: int | None
    later: Scheduled | None
    other: OtherMoney = field(default_factory=OtherMoney)


Say = Callable[[Published], bytes]
"""Writes the answer, which is kept with the change for a caller who asks again."""


class Press(Protocol):
    """Turns drafts into published revisions, each in one transaction.

    Every method may also raise UnknownRegionError, NoBookError, OnceConflictError, NotStoredError, OutcomeUnknownError,
    BackdatedError and whatever `judge` raises.
    """

    async def publish(
        self, asker: Asker, region: str, draft: int, state: str, publication: Publication, once: Once | None, say: Say
    ) -> bytes:
        """Publish a draft in the state that the caller has seen.

        Raises:
            UnknownDraftError, OutdatedDraftError, DraftOutdatedError.
        """
        ...

    async def revert(
        self, asker: Asker, region: str, number: int, seen: int | None, publication: Publication, once: Once | None, say: Say
    ) -> bytes:
        """Publish the lines of an earlier revision anew.

        Args:
            asker: who does it.
            region: whose revision it is.
            number: the revision to go back to.
            seen: number of the newest revision that the caller knows of; None for whichever it is.
            publication: from when on, why, and what was confirmed.
            once: the create.
            say: writes the answer.

        Raises:
            UnknownNumberError, DraftOutdatedError.
        """
        ...
