"""Tokens of people: signed by an identity provider (OpenID Connect, RFC 9068), checked here without asking it each time."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import jwt

from service.application.access import Caller, NotKnownError
from service.identity.claims import caller_of
from service.identity.signing import ALGORITHMS, SigningKey, SigningKeys

LEEWAY_S = 30
"""How far the provider's clock may be from ours [s]."""
LONGEST = 8 * 1024
"""Longest token that is looked at [characters]."""
REMEMBERED_S = 60.0
"""Longest that a checked token is taken without checking it again [s]."""
ROOM = 10_000
"""Most checked tokens that are remembered."""
SORTS = ("jwt", "at+jwt", "application/at+jwt")
"""What a token may call itself (`typ`); one that says nothing is taken too."""


@dataclass(frozen=True, slots=True)
class TokenGate:
    """The gate for people. Implements `Gate`.

    Attributes:
        keys: keys of the identity provider.
        issuer: who must have made a token (`iss`).
        audience: for whom it must have been made (`aud`).
        now: the time, with its zone.
    """

    keys: SigningKeys
    issuer: str
    audience: str
    now: Callable[[], datetime]
    _seen: dict[bytes, tuple[Caller, float]] = field(default_factory=dict)

    async def caller(self, shown: str | None) -> Caller:
        """Who shows this token."""
        if shown is None or len(shown) > LONGEST or not shown.isascii():
            raise NotKnownError("it is not written as a token is")
        digest = hashlib.sha256(shown.encode()).digest()
        seen = self._seen.get(digest)
        if seen is not None and self.now().timestamp() < seen[1]:
            return seen[0]
        header = _header(shown)
        key = await self.keys.find(header.get("kid"), header["alg"])
        if key is None:
            raise NotKnownError("its key (kid) is not one of the identity provider's for its algorithm (alg)")
        claims = self._checked(shown, key, header["alg"])
        caller = caller_of(claims)
        if len(self._seen) >= ROOM:
            self._seen.clear()
        self._seen[digest] = caller, min(int(claims["exp"]), self.now().timestamp() + REMEMBERED_S)
        return caller

    def _checked(self, shown: str, key: SigningKey, algorithm: str) -> dict[str, Any]:
        """What the token claims, once its signature, times, maker and audience are right."""
        try:
            return jwt.decode(
                shown, key.key, algorithms=[algorithm], issuer=self.issuer, audience=self.audience, leeway=LEEWAY_S,
                options={"require": ["exp", "iss", "aud", "sub"]},
            )
        except jwt.PyJWTError as fault:
            raise NotKnownError(_said(fault)) from None
        except (ValueError, TypeError, OverflowError, RecursionError):
            raise NotKnownError("it is not written as a token is") from None


def _header(shown: str) -> dict[str, Any]:
    """The header of a token, with an algorithm that we take. Nothing else that it says is followed."""
    try:
        header = jwt.get_unverified_header(shown)
    except (jwt.PyJWTError, ValueError, TypeError, RecursionError):
        raise NotKnownError("it is not written as a token is") from None
    algorithm = header.get("alg")
    if not isinstance(algorithm, str) or algorithm not in ALGORITHMS:
        raise NotKnownError(f"its algorithm (alg) must be one of {', '.join(ALGORITHMS)}")
    sort = header.get("typ", "jwt")
    if not isinstance(sort, str) or sort.lower() not in SORTS:
        raise NotKnownError("its typ must be JWT or at+jwt")
    if "crit" in header:
        raise NotKnownError("it asks for an extension (crit) that is not known here")
    return header


def _said(fault: jwt.PyJWTError) -> str:
    """What is wrong with a token, in words of ours: the library's may repeat what it holds."""
    match fault:
        case jwt.ExpiredSignatureError():
            return "it has expired"
        case jwt.ImmatureSignatureError():
            return "it is not valid yet"
        case jwt.InvalidIssuerError():
            return "it was made by another issuer (iss)"
        case jwt.InvalidAudienceError():
            return "it was made for another audience (aud)"
        case jwt.MissingRequiredClaimError():
            return f"it lacks the claim {fault.claim}"
        case jwt.InvalidSignatureError():
            return "its signature is not right"
    return "it cannot be read"
