"""The string that fixes a whole chain of books (R37), parents first: ``base@3/north-valley@7+stock@2``."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from service.application.ports import UnknownRevisionError

LINK = re.compile(r"([a-z0-9]+(?:-[a-z0-9]+)*)@([1-9][0-9]{0,8})(?:\+stock@([1-9][0-9]{0,8}))?", re.ASCII)
LONGEST = 1000
"""Longest string that is looked at [characters]."""


@dataclass(frozen=True, slots=True)
class Link:
    """One member of a chain: a region, the number of its book and the number of its count of the yard, if it has one."""

    region: str
    book: int
    stock: int | None

    def __str__(self) -> str:
        """As it stands in the string."""
        return f"{self.region}@{self.book}" + ("" if self.stock is None else f"+stock@{self.stock}")


def written(links: Iterable[Link]) -> str:
    """The chain as one string."""
    return "/".join(str(link) for link in links)


def parsed(revision: str) -> tuple[Link, ...]:
    """The links of a string.

    Raises:
        UnknownRevisionError: it is not written as a chain.
    """
    found = [LINK.fullmatch(part) for part in revision.split("/")] if len(revision) <= LONGEST else [None]
    if not all(found):
        raise UnknownRevisionError(revision[:LONGEST], "not a chain such as base@3/north-valley@7+stock@2")
    return tuple(Link(m[1], int(m[2]), int(m[3]) if m[3] else None) for m in found if m)
