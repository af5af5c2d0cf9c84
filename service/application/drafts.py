"""Drafts: a region's next book while it is worked on, and what may be asked of them. What a line must be is in `draft_lines`."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Literal, Protocol

from service.application.access import Asker, Once
from service.application.draft_lines import Change, LineFault
from service.application.inheritance import LineKey, Lines, is_locked
from service.engine.rates import SECTIONS, Line

MOST_DRAFTS = 50
"""Most open drafts of a region."""


class UnknownDraftError(LookupError):
    """The region has no open draft of this number: it was never there, was deleted, or was published."""

    def __init__(self, region: str, draft: int, published_as: int | None = None) -> None:
        """Name the region and the draft, and the number of the revision that it became."""
        super().__init__(f"{region} has no open draft {draft}")
        self.region, self.draft, self.published_as = region, draft, published_as


class UnknownBaseError(LookupError):
    """A draft is to be based on a revision that the region has not published."""

    def __init__(self, number: int, newest: int | None) -> None:
        """Name the revision that was asked for, and the newest one."""
        super().__init__(f"no published revision {number}")
        self.number, self.newest = number, newest


class OutdatedDraftError(Exception):
    """A change was made to a state of the draft that is no longer there."""

    def __init__(self, present: str) -> None:
        """Name the present state."""
        super().__init__(f"the draft is at {present} now")
        self.present = present


class TooManyDraftsError(Exception):
    """The region has as many open drafts as it may have."""

    def __init__(self, region: str) -> None:
        """Name the region."""
        super().__init__(f"{region} has {MOST_DRAFTS} open drafts; it may have no more.")


@dataclass(frozen=True, slots=True)
class Draft:
    """A region's next book, not yet published.

    Attributes:
        id: number among all drafts, never used again.
        region: code of the region.
        version: counts its states from 1; every change is a new one.
        based_on: number of the published revision that it began as a copy of; None for a region's first book.
        newest: number of the region's newest published revision; None for none.
        in_force: number of the region's revision that is in force today; None for none.
        who: who opened it, as the audit log has it.
        name: what people call them.
        note: what it is for, in the words of who opened it.
        opened_at, changed_at: when it was opened, and changed last.
        lines: number of lines that the region holds itself in it.
        changes: number of lines by which it differs from the revision that it is based on.
    """

    id: int
    region: str
    version: int
    based_on: int | None
    newest: int | None
    in_force: int | None
    who: str
    name: str
    note: str
    opened_at: datetime
    changed_at: datetime
    lines: int
    changes: int

    @property
    def mark(self) -> str:
        """Names this state of this draft."""
        return mark_of(self.id, self.version)

    @property
    def outdated(self) -> bool:
        """Whether others have published since, for today: a list for a later day takes nothing from this week's draft."""
        return self.based_on not in (self.newest, self.in_force)


@dataclass(frozen=True, slots=True)
class Moved:
    """A line that a draft moves.

    Attributes:
        key: section and code.
        how: added (an own line where there was none), changed, or taken out (inherited again).
        before: what counts with the revision that the draft is based on; None for nothing.
        after: what would count with the draft; None for nothing.
        above: what the region would inherit; None for nothing.
    """

    key: LineKey
    how: Literal["added", "changed", "taken_out"]
    before: Line | None
    after: Line | None
    above: Line | None

    @property
    def ratio(self) -> Decimal | None:
        """Likely value after over before."""
        return _ratio(self.before, self.after)

    @property
    def source_kept(self) -> bool:
        """Whether its numbers move and its source does not: it may still say where the old ones came from."""
        if self.how == "taken_out" or self.before is None or self.after is None:
            return False
        old, new = ((line.low, line.likely, line.high) for line in (self.before, self.after))
        return old != new and self.before.source == self.after.source

    @property
    def ratio_to_above(self) -> Decimal | None:
        """Likely value over the inherited one."""
        return _ratio(self.above, self.after)

    @property
    def locked_by(self) -> str | None:
        """Code of the region above that locks the line; None for none."""
        return self.above.region if self.above is not None and self.above.locked else None


@dataclass(frozen=True, slots=True)
class Drafted:
    """A draft with the lines that the region holds itself in it."""

    draft: Draft
    lines: Lines


@dataclass(frozen=True, slots=True)
class Differing:
    """A draft, and what it does.

    Attributes:
        moved: lines that it moves, by section and code.
        set_aside: own lines of it that a region above has locked since it was opened, each with that region's code. They
            count for nothing, and the draft cannot be published with them.
    """

    draft: Draft
    moved: tuple[Moved, ...]
    set_aside: tuple[tuple[LineKey, str], ...]


class Drafts(Protocol):
    """What the web asks for. All may raise UnknownRegionError; reading BooksUnavailableError, changing NotStoredError."""

    async def open(
        self, asker: Asker, region: str, *, based_on: int | None, note: str, changes: Sequence[Change], once: Once | None,
        written: Callable[[Draft], bytes],
    ) -> bytes:
        """Open a draft as a copy of a published revision, and make these changes to it.

        Without a number it is the one in force today, or the newest where none is. What the region overrides although it is
        locked above is left behind: it counts for nothing already.

        Args:
            asker: who opens it.
            region: the region.
            based_on: number of the revision.
            note: what it is for.
            changes: changes of lines.
            once: the create, where it must happen once however often it is sent.
            written: writes the answer, which is kept with the create.

        Raises:
            UnknownBaseError, TooManyDraftsError, RefusedLinesError, OnceConflictError.
        """
        ...

    async def all(self, region: str) -> tuple[Draft, ...]:
        """The region's open drafts, the oldest first."""
        ...

    async def one(self, region: str, draft: int) -> Drafted:
        """One draft. Raises UnknownDraftError."""
        ...

    async def difference(self, region: str, draft: int) -> Differing:
        """What the draft moves. Raises UnknownDraftError."""
        ...

    async def change(self, asker: Asker, region: str, draft: int, mark: str, changes: Sequence[Change]) -> Drafted:
        """Change lines of the state that `mark` names.

        Raises:
            UnknownDraftError, OutdatedDraftError, RefusedLinesError.
        """
        ...

    async def replace(self, asker: Asker, region: str, draft: int, mark: str, lines: Sequence[Change]) -> Differing:
        """Put these whole lines in place of all that the region holds itself, or nothing at all.

        Raises:
            UnknownDraftError, OutdatedDraftError, RefusedLinesError.
        """
        ...

    async def faults(self, region: str, draft: int, lines: Sequence[Change]) -> tuple[LineFault, ...]:
        """What would be wrong with whole lines in the draft as it stands. Raises UnknownDraftError."""
        ...

    async def drop(self, asker: Asker, region: str, draft: int, mark: str) -> None:
        """Throw a draft away. Raises UnknownDraftError, OutdatedDraftError."""
        ...


def mark_of(draft: int, version: int) -> str:
    """Names one state of one draft."""
    return f"d{draft}-{version}"


def difference(base: Lines, own: Lines, above: Lines) -> tuple[Moved, ...]:
    """The lines that differ between two of a region's books, over the same inherited lines, in the order of the book.

    Args:
        base: lines that the region held itself.
        own: lines that it would hold.
        above: lines that it inherits.
    """
    keys = sorted({*base, *own}, key=lambda key: (SECTIONS.index(key[0]), key[1]))
    return tuple(_moved(key, base, own, above) for key in keys if base.get(key) != own.get(key))


def set_aside(own: Lines, above: Lines) -> tuple[tuple[LineKey, str], ...]:
    """Own lines that are locked above, each with the code of the region that locks it."""
    return tuple((key, above[key].region) for key in sorted(own) if is_locked(above, key))


def _moved(key: LineKey, base: Lines, own: Lines, above: Lines) -> Moved:
    inherited = above.get(key)
    locked = inherited is not None and inherited.locked
    before = inherited if locked else base.get(key, inherited)
    after = inherited if locked else own.get(key, inherited)
    how: Literal["added", "changed", "taken_out"] = "changed"
    if key not in base:
        how = "added"
    elif key not in own:
        how = "taken_out"
    return Moved(key, how, before, after, inherited)


def _ratio(old: Line | None, new: Line | None) -> Decimal | None:
    """New likely value over the old one; None where there are not two of one sign to compare."""
    if old is None or new is None or old.likely * new.likely <= 0:
        return None
    return new.likely / old.likely
