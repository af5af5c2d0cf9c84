"""Websites that carry a form with a public key: what a browser asks about before it may send the key."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from sqlalchemy import func, or_, select
from sqlalchemy.ext.asyncio import AsyncEngine

from service.application.ports import BooksUnavailableError
from service.storage.database import asking
from service.storage.tables import api_key

GOOD_S = 5.0
"""How long the list is good [s]: a new form's website waits so long at most."""


@dataclass(slots=True)
class FormOrigins:
    """The origins of all live form keys. Implements `Origins`."""

    engine: AsyncEngine
    patience_s: float
    seconds: Callable[[], float]
    _known: frozenset[str] = frozenset()
    _read_at: float = field(default=float("-inf"))

    async def listed(self, origin: str) -> bool:
        """Whether a form on that website has a key. While the database is away, as last known."""
        if self.seconds() - self._read_at > GOOD_S:
            self._read_at = self.seconds()
            live = or_(api_key.c.expires_at.is_(None), api_key.c.expires_at > func.now())
            asked = select(func.unnest(api_key.c.origins)).where(api_key.c.revoked_at.is_(None), live)
            try:
                async with asking(self.engine, self.patience_s) as connection:
                    self._known = frozenset((await connection.execute(asked)).scalars())
            except BooksUnavailableError:
                pass
        return origin in self._known
