"""One gate for everything that a caller may show: a key, a token, or nothing."""

from __future__ import annotations

from dataclasses import dataclass

from service.application.access import Caller, Gate, NotKnownError, nobody
from service.application.keyring import PREFIX


@dataclass(frozen=True, slots=True)
class DoorGate:
    """Sends a key to one gate and a token to another, told apart by how they are written. Implements `Gate`.

    Attributes:
        open_scopes: what a caller who shows nothing may do.
        keys: the gate that knows keys; None for a service without.
        tokens: the gate that knows tokens; None for a service without.
    """

    open_scopes: frozenset[str]
    keys: Gate | None
    tokens: Gate | None

    async def caller(self, shown: str | None) -> Caller:
        """Who shows this key or token; nobody for one who shows nothing."""
        if shown is None:
            return nobody(self.open_scopes)
        if shown.startswith(f"{PREFIX}_"):
            return await _at(self.keys, shown, "keys")
        if shown.count(".") == 2:
            return await _at(self.tokens, shown, "tokens")
        raise NotKnownError("it is written neither as a key nor as a token")


async def _at(gate: Gate | None, shown: str, what: str) -> Caller:
    if gate is None:
        raise NotKnownError(f"this service knows no {what}")
    return await gate.caller(shown)
