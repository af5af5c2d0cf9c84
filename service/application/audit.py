"""Who did what from where: what may be asked of the audit log, and what it answers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Protocol


@dataclass(frozen=True, slots=True)
class AuditEntry:
    """An entry of the log.

    Attributes:
        number: its place in the log; later ones have greater numbers, and some numbers are never given.
        at: when, in UTC.
        region: code of the region that it tells of; "" for none.
        who: sort and id of the caller ("server:k3v9c0a1b2d4").
        name: what people call them.
        address: network address that the request came from.
        request_id: id of the request.
        action: what was done, as noun.verb ("revision.publish").
        subject: what it was done to, as a path.
        details: what else there is to know, as JSON text.
        previous: digest of the entry before, hexadecimal; zeros for the first.
        digest: digest of this entry, hexadecimal: over all of the above but the number.
    """

    number: int
    at: datetime
    region: str
    who: str
    name: str
    address: str
    request_id: str
    action: str
    subject: str
    details: str
    previous: str
    digest: str


@dataclass(frozen=True, slots=True)
class AuditQuestion:
    """Which entries are asked for; None for all.

    Attributes:
        region: code of the region that they tell of.
        action: noun.verb, or a noun for everything that was done to such things.
        who: sort and id of the caller.
        since, until: first moment, and the moment before which.
        before: entries with smaller numbers only.
        limit: most entries.
    """

    region: str | None = None
    action: str | None = None
    who: str | None = None
    since: datetime | None = None
    until: datetime | None = None
    before: int | None = None
    limit: int = 100


class AuditLog(Protocol):
    """The log, for readers."""

    async def entries(self, question: AuditQuestion) -> tuple[AuditEntry, ...]:
        """The newest entries that the question asks for, newest first. Raises UnknownRegionError, BooksUnavailableError."""
        ...


@dataclass(frozen=True, slots=True)
class Verdict:
    """What walking the chain found.

    Attributes:
        entries: entries that were found whole, up to the first broken one.
        newest: digest of the last of them, hexadecimal; zeros for none. To be noted elsewhere.
        broken: number of the first entry that is not as it was written; None for none.
        why: what is wrong, in words; "" for nothing.
    """

    entries: int
    newest: str
    broken: int | None
    why: str
