"""Moving a draft onto a newer revision: what the draft changed stays, what others changed comes along."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from service.application.access import Asker
from service.application.inheritance import LineKey, Lines
from service.engine.rates import Line


@dataclass(frozen=True, slots=True)
class Conflict:
    """A line that the draft and others changed, each in another way; None where it is taken out.

    Attributes:
        base: the line in the revision that the draft was opened on.
        draft: the line in the draft.
        newest: the line in the newest revision.
    """

    key: LineKey
    base: Line | None
    draft: Line | None
    newest: Line | None


class ConflictsError(Exception):
    """Lines that were changed on both sides, of which nobody has said which shall stand."""

    def __init__(self, conflicts: Sequence[Conflict], unasked: Sequence[LineKey]) -> None:
        """Keep the conflicts, and the lines that were decided although they are none."""
        super().__init__(f"{len(conflicts)} lines were changed on both sides")
        self.conflicts, self.unasked = tuple(conflicts), tuple(unasked)


@dataclass(frozen=True, slots=True)
class Choice:
    """Which side stands, for lines that were changed on both.

    Attributes:
        keep: lines that stay as the draft has them.
        take: lines that are taken as the newest revision has them.
    """

    keep: frozenset[LineKey] = frozenset()
    take: frozenset[LineKey] = frozenset()


@dataclass(frozen=True, slots=True)
class Merged:
    """The lines of a draft on its new base.

    Attributes:
        lines: the region's own lines.
        came: lines that others changed and that came along.
        kept: lines that stay as the draft has them, although others changed them too.
    """

    lines: Lines
    came: tuple[LineKey, ...]
    kept: tuple[LineKey, ...]


@dataclass(frozen=True, slots=True)
class Rebased:
    """A draft after it was moved.

    Attributes:
        mark: names its present state.
        was_on, based_on: numbers of the revision that it was based on, and is.
        came, kept: see `Merged`.
        left_out: lines that were taken out because a parent has locked them meanwhile.
    """

    mark: str
    was_on: int | None
    based_on: int | None
    came: tuple[LineKey, ...]
    kept: tuple[LineKey, ...]
    left_out: tuple[LineKey, ...]


class Rebaser(Protocol):
    """Moves drafts."""

    async def rebase(self, asker: Asker, region: str, draft: int, state: str, choice: Choice) -> Rebased:
        """Move a draft, in the state that the caller has seen, onto the region's newest revision.

        Raises:
            UnknownRegionError, UnknownDraftError, OutdatedDraftError, ConflictsError, NotStoredError, OutcomeUnknownError.
        """
        ...


def merged(base: Lines, draft: Lines, newest: Lines, choice: Choice) -> Merged:
    """The draft's changes on top of the newest revision.

    A line that only one side changed is as that side has it; one that both changed alike is as they have it.

    Raises:
        ConflictsError: nobody said which side stands for a line that both changed, or somebody said it for another line.
    """
    lines: dict[LineKey, Line] = {}
    came, kept, conflicts = [], [], []
    decided = set()
    for key in sorted(base.keys() | draft.keys() | newest.keys()):
        old, mine, theirs = base.get(key), draft.get(key), newest.get(key)
        stands = theirs if mine == old else mine
        if mine not in (old, theirs) and theirs != old:
            decided.add(key)
            stands = theirs if key in choice.take else mine
            if key not in choice.take | choice.keep:
                conflicts.append(Conflict(key, old, mine, theirs))
        if stands != mine:
            came.append(key)
        elif theirs not in (old, mine):
            kept.append(key)
        if stands is not None:
            lines[key] = stands
    unasked = sorted((choice.keep | choice.take) - decided) + sorted(choice.keep & choice.take)
    if conflicts or unasked:
        raise ConflictsError(conflicts, unasked)
    return Merged(lines, tuple(came), tuple(kept))
