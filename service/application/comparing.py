"""Comparing two books of a region: what differs, and whose edit did it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from service.application.history import Edit, History, Moved, MovedStick, culprit, differing, sticks_moved
from service.application.inheritance import LineKey, Lines
from service.application.reading import Layer, RateReader, Read, Signed


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two books side by side.

    Attributes:
        lines: lines that differ, as people read a book.
        sticks: pieces of the yard that differ, by code.
        counts: counts of the yard between the two, the oldest first.
        units: units in which the region reads its pieces: "imperial" or "metric".
    """

    lines: tuple[Moved, ...]
    sticks: tuple[MovedStick, ...] = ()
    counts: tuple[Signed, ...] = ()
    units: str = "imperial"


@dataclass(frozen=True, slots=True)
class Comparer:
    """Compares books."""

    reader: RateReader
    history: History

    async def revisions(self, region: str, old: int, new: int) -> Comparison:
        """Two revisions of a region's own book.

        Raises:
            UnknownRevisionError, BooksUnavailableError.
        """
        was, now = await self.history.layer(region, old), await self.history.layer(region, new)
        keys = differing(was.lines, now.lines)
        edits = await self._edits(was, now, keys)
        return Comparison(tuple(_moved(key, was.lines, now.lines, edits.get(key, ())) for key in keys))

    async def chains(self, region: str, old: str, new: str, day: date) -> Comparison:
        """The effective books of two chains of a region.

        Raises:
            UnknownRegionError, UnknownRevisionError, BooksUnavailableError.
        """
        was, now = await self.reader.read(region, day, old), await self.reader.read(region, day, new)
        return await self.read(was, now)

    async def read(self, was: Read, now: Read) -> Comparison:
        """Two effective books that were read, of one region."""
        old, new = was.shelved.book, now.shelved.book
        whose = {
            key: culprit(was.layers, now.layers, key, (old.lines.get(key), new.lines.get(key)))
            for key in differing(old.lines, new.lines)
        }
        edits: dict[LineKey, Sequence[Edit]] = {}
        for before, after in zip(was.layers, now.layers, strict=True):
            theirs = [key for key, region in whose.items() if region == after.signed.region]
            edits |= await self._edits(before, after, theirs)
        moved = tuple(_moved(key, old.lines, new.lines, edits.get(key, ())) for key in whose)
        counts = await self.history.counts(old.revision, new.revision)
        return Comparison(moved, tuple(sticks_moved(old.yard, new.yard)), counts, new.units)

    async def _edits(self, was: Layer, now: Layer, keys: Collection[LineKey]) -> Mapping[LineKey, Sequence[Edit]]:
        """Edits of lines of one region's book between two of its revisions, whichever is the older, oldest first."""
        if not keys:
            return {}
        one, other = sorted((was.signed.number, now.signed.number))
        made: dict[LineKey, list[Edit]] = {}
        for edit in await self.history.edits(now.signed.region, one, other, keys):
            made.setdefault(edit.key, []).append(edit)
        return made


def _moved(key: LineKey, was: Lines, now: Lines, done: Sequence[Edit]) -> Moved:
    return Moved(key, was.get(key), now.get(key), done[-1].signed if done else None, len(done))
