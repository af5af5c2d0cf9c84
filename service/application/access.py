"""Who asks, and what they may: scopes, callers, and the gate that tells one from the other.

Deny by default: every address names the one scope that it needs, and a caller reaches only the regions that it is
bound to. What a region outside of them holds is answered as if it were not there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

Scope = Literal["quote", "rates:read", "rates:write", "rates:publish", "admin"]

SCOPES: tuple[Scope, ...] = ("quote", "rates:read", "rates:write", "rates:publish", "admin")
"""Everything that a caller may be allowed, from the least to the most. None of them holds another."""

PUBLIC = "public"
"""What an address declares in place of a scope when everybody may have its answer."""

Sort = Literal["server", "form", "person", "nobody", "command line"]
"""Sorts of caller: a server's secret key, a form's public key, a person with a token, one who says nothing, and whoever may
run our commands with the database's address at hand."""


class NotKnownError(Exception):
    """The key or token is not one that is valid now. The message says no more than a stranger may know."""


class GateAwayError(Exception):
    """Whether the key or token is valid cannot be found out now."""


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks.

    Attributes:
        sort: what they showed.
        id: what the audit log calls them: the id of a key, the subject of a token, "" for nobody.
        name: what people call them.
        scopes: what they may do.
        regions: codes of the regions that they are bound to; None for every region (the head office).
        origins: websites from which a form's key may be used; empty for all other sorts.
        per_minute: most requests a minute; 0 for no limit of their own.
    """

    sort: Sort
    id: str
    name: str
    scopes: frozenset[str]
    regions: frozenset[str] | None
    origins: frozenset[str] = frozenset()
    per_minute: int = 0

    @property
    def who(self) -> str:
        """Sort and id, as signatures and the audit log have them."""
        return f"{self.sort}:{self.id}"

    def may(self, scope: str) -> bool:
        """Whether they have a scope."""
        return scope in self.scopes

    def reaches(self, region: str) -> bool:
        """Whether they are bound to a region."""
        return self.regions is None or region in self.regions


@dataclass(frozen=True, slots=True)
class Asker:
    """A caller at work: what an entry in the audit log says of them.

    Attributes:
        address: network address that the request came from.
        request_id: id of the request.
    """

    caller: Caller
    address: str
    request_id: str


@dataclass(frozen=True, slots=True)
class Once:
    """A create that must happen once however often it is sent (Idempotency-Key).

    Attributes:
        key: the caller's own name for this one create.
        digest: digest of what is to be created, so that another create under the same key is told apart.
    """

    key: str
    digest: bytes


class Gate(Protocol):
    """Tells callers apart."""

    async def caller(self, shown: str | None) -> Caller:
        """Who shows this key or token; None for one who shows nothing.

        Raises:
            NotKnownError: it is not valid: never was, has expired, or was revoked.
            GateAwayError: that cannot be found out now.
        """
        ...


class Origins(Protocol):
    """Knows the websites that carry a form with a public key."""

    async def listed(self, origin: str) -> bool:
        """Whether a form on that website has a key that is valid now."""
        ...


@dataclass(frozen=True, slots=True)
class NoOrigins:
    """No website carries a form (see `Origins`)."""

    async def listed(self, origin: str) -> bool:  # noqa: ARG002  # the answer is the same for all
        """None is."""
        return False


@dataclass(frozen=True, slots=True)
class OpenGate:
    """A gate without keys: everybody is nobody, with the scopes that the service gives to all (see `Gate`)."""

    scopes: frozenset[str]

    async def caller(self, shown: str | None) -> Caller:
        """Nobody; a key is not known here."""
        if shown is not None:
            raise NotKnownError("this service knows no keys")
        return nobody(self.scopes)


def at_the_command_line(user: str) -> Asker:
    """A user of a machine on which our commands run: who has the database's address may do everything."""
    return Asker(Caller("command line", user, user, frozenset(SCOPES), None), address="", request_id="")


def nobody(scopes: frozenset[str]) -> Caller:
    """One who shows nothing, where the service gives these scopes to all."""
    return Caller(sort="nobody", id="", name="nobody", scopes=scopes, regions=None)
