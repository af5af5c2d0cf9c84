"""Keys with which an identity provider signs (JWK set, RFC 7517): read, kept, and read anew now and then."""

from __future__ import annotations

import asyncio
import json
import logging
import math
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import httpx
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, EllipticCurvePublicKey
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicKey
from jwt import PyJWK, PyJWTError

from service.application.access import GateAwayError

REFRESH_S = 300.0
"""How old the keys are when they are read anew, beside the requests [s]."""
PAUSE_S = 5.0
"""Least time between two questions: a stranger's invented key ids must not make us besiege the provider [s]."""
TIMEOUT_S = 5.0
LONGEST = 256 * 1024
"""Longest key set that is read [B]."""
LEAST_RSA_BITS = 2048
ALGORITHMS: Mapping[str, type] = {
    "RS256": RSAPublicKey, "PS256": RSAPublicKey, "ES256": EllipticCurvePublicKey, "EdDSA": Ed25519PublicKey,
}
"""Algorithms that are taken, each with the sort of key that belongs to it: a token cannot choose another."""
LOG = logging.getLogger("service.identity")


class NoKeysError(Exception):
    """The provider's keys cannot be had. The message says why, for the log."""


@dataclass(frozen=True, slots=True)
class SigningKey:
    """A public key of the provider.

    Attributes:
        id: what a token's `kid` calls it; "" for one without a name.
        algorithms: algorithms that it may be used with.
        key: the key.
    """

    id: str
    algorithms: frozenset[str]
    key: Any


Fetch = Callable[[], Awaitable[bytes]]


@dataclass(slots=True)
class SigningKeys:
    """The keys of one identity provider.

    The first question waits for them. Later they are read anew in the background; a key that is not among them is asked for.
    All this not more often than every `PAUSE_S`. While the provider is away the last ones go on, for `keep_s` at most.

    Attributes:
        fetch: reads the key set; raises NoKeysError.
        seconds: a clock that never goes back.
        keep_s: how long keys are trusted while the provider does not answer.
    """

    fetch: Fetch
    seconds: Callable[[], float]
    keep_s: float
    _keys: tuple[SigningKey, ...] = ()
    _read_at: float = -math.inf
    _asked_at: float = -math.inf
    _reading: asyncio.Task[None] | None = field(default=None)

    async def find(self, name: str | None, algorithm: str) -> SigningKey | None:
        """The key of that name for that algorithm; the only one for it where the token names none. None for none.

        Raises:
            GateAwayError: the provider's keys cannot be had, or not be had anew.
        """
        age_s = self.seconds() - self._read_at
        if age_s > self.keep_s and self._may_ask():
            await self._ask()
        elif age_s > REFRESH_S and self._may_ask():
            self._begin()
        found = self._pick(name, algorithm)
        if found is None and self._may_ask():
            await self._ask()
            found = self._pick(name, algorithm)
        if self.seconds() - self._read_at > self.keep_s:
            raise GateAwayError("the keys of the identity provider cannot be read")
        return found

    async def close(self) -> None:
        """Ask nothing more."""
        if self._reading is not None and not self._reading.done():
            self._reading.cancel()
            await asyncio.wait({self._reading})

    def _pick(self, name: str | None, algorithm: str) -> SigningKey | None:
        fit = [key for key in self._keys if algorithm in key.algorithms and name in (None, key.id)]
        return fit[0] if len(fit) == 1 else None

    def _may_ask(self) -> bool:
        return self.seconds() - self._asked_at >= PAUSE_S or (self._reading is not None and not self._reading.done())

    async def _ask(self) -> None:
        await asyncio.wait({self._begin()})

    def _begin(self) -> asyncio.Task[None]:
        if self._reading is None or self._reading.done():
            self._reading = asyncio.create_task(self._read())
        return self._reading

    async def _read(self) -> None:
        begun = self._asked_at = self.seconds()
        try:
            self._keys = read_key_set(await self.fetch())
        except NoKeysError as fault:
            LOG.warning("the keys of the identity provider cannot be read: %s", fault)
        else:
            self._read_at = begun


def fetcher(url: str) -> Fetch:
    """Reads a key set from an address: no redirects, not for long, not much."""

    async def fetch() -> bytes:
        read = bytearray()
        try:
            async with (
                asyncio.timeout(2 * TIMEOUT_S), httpx.AsyncClient(timeout=TIMEOUT_S, follow_redirects=False) as client,
                client.stream("GET", url, headers={"Accept": "application/json"}) as answer,
            ):
                if answer.status_code != 200:
                    raise NoKeysError(f"it answers {answer.status_code}")
                async for part in answer.aiter_bytes():
                    read += part
                    if len(read) > LONGEST:
                        raise NoKeysError(f"its answer is longer than {LONGEST} bytes")
        except (httpx.HTTPError, httpx.InvalidURL, TimeoutError, OSError) as fault:
            raise NoKeysError(type(fault).__name__) from fault
        return bytes(read)

    return fetch


def read_key_set(body: bytes) -> tuple[SigningKey, ...]:
    """The keys of a set that can be used; others may stand beside them.

    Raises:
        NoKeysError: it is no key set, or none of its keys can be used.
    """
    try:
        tree = json.loads(body)
    except (ValueError, RecursionError) as fault:
        raise NoKeysError("its answer is not JSON") from fault
    listed = tree.get("keys") if isinstance(tree, dict) else None
    if not isinstance(listed, list):
        raise NoKeysError("its answer is no key set")
    keys = tuple(key for one in listed if isinstance(one, dict) and (key := _usable(one)) is not None)
    if not keys:
        raise NoKeysError("its set has no key that can be used")
    return keys


def _usable(one: dict[str, Any]) -> SigningKey | None:
    """A public key for signatures, strong enough; None for everything else."""
    name, use, algorithm = one.get("kid", ""), one.get("use", "sig"), one.get("alg")
    if not isinstance(name, str) or use != "sig" or (algorithm is not None and algorithm not in ALGORITHMS):
        return None
    try:
        key = PyJWK(one).key
    except (PyJWTError, ValueError, TypeError, KeyError):
        return None
    if isinstance(key, RSAPublicKey) and key.key_size < LEAST_RSA_BITS:
        return None
    if isinstance(key, EllipticCurvePublicKey) and not isinstance(key.curve, SECP256R1):
        return None
    fit = {known for known, sort in ALGORITHMS.items() if isinstance(key, sort)}
    fit &= {algorithm} if algorithm else fit
    return SigningKey(name, frozenset(fit), key) if fit else None
