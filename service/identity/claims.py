"""What a token says of a person, as a caller: only what we know is taken, everything else says nothing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from service.application.access import SCOPES, Caller, NotKnownError

SCOPE_CLAIMS = ("scope", "scp", "scopes")
"""Claims that identity providers put scopes into: a text with spaces (RFC 8693, 4.2), or a list."""
REGIONS_CLAIM, EVERY_REGION = "regions", "*"
NAME_CLAIMS = ("name", "preferred_username")
REGION = re.compile("[a-z0-9]+(?:-[a-z0-9]+)*")
LONGEST = 200
"""Longest subject [characters]."""


def caller_of(claims: Mapping[str, Any]) -> Caller:
    """The person of whom a checked token speaks.

    Scopes and regions that are not known, or not in their form, are ignored: they allow nothing.

    Raises:
        NotKnownError: the subject cannot be written down.
    """
    subject = claims.get("sub")
    if not _plain(subject):
        raise NotKnownError(f"its sub is not a text of 1 to {LONGEST} characters without control characters")
    said = [word for claim in SCOPE_CLAIMS for word in _words(claims.get(claim))]
    regions = [code for code in _listed(claims.get(REGIONS_CLAIM)) if isinstance(code, str)]
    name = next((claims[claim] for claim in NAME_CLAIMS if _plain(claims.get(claim))), subject)
    return Caller(
        sort="person",
        id=str(subject),
        name=str(name),
        scopes=frozenset(said) & frozenset(SCOPES),
        regions=None if EVERY_REGION in regions else frozenset(code for code in regions if REGION.fullmatch(code)),
    )


def _words(claim: Any) -> list[str]:
    if isinstance(claim, str):
        return claim.split(" ")
    return [word for word in _listed(claim) if isinstance(word, str)]


def _listed(claim: Any) -> list[Any]:
    return claim if isinstance(claim, list) else []


def _plain(text: Any) -> bool:
    """Whether it is a text that the audit log can hold and a reader can read."""
    return isinstance(text, str) and bool(text.strip()) and len(text) <= LONGEST and text.isprintable()
