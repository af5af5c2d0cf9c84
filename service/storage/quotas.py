"""The common counter of requests, in PostgreSQL: one statement a request, exact over any number of processes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import text
from sqlalchemy.ext.asyncio import AsyncEngine

from service.application.ports import BooksUnavailableError
from service.application.quota import WINDOW_S, CounterAwayError, Use
from service.storage.database import asking

COUNT = text("""
WITH minute AS (SELECT date_bin(make_interval(secs => :window), statement_timestamp(), 'epoch') AS start)
INSERT INTO quota_use AS u (subject, window_start, used)
SELECT subject, minute.start, 1 FROM minute, unnest(CAST(:subjects AS text[])) AS subject ORDER BY subject
ON CONFLICT (subject, window_start) DO UPDATE SET used = u.used + 1
RETURNING subject, used, :window - EXTRACT(EPOCH FROM statement_timestamp() - window_start) AS left_s
""").bindparams(window=WINDOW_S)
FORGET = text("DELETE FROM quota_use WHERE window_start < now() - make_interval(secs => :old)").bindparams(old=5 * WINDOW_S)
FORGET_EVERY = 1000
"""Requests between two sweeps of windows that are over."""


@dataclass(slots=True)
class PostgresCounter:
    """Counts in a table that is not logged: writing it costs no sync, and after a crash counting begins anew.

    Attributes:
        patience_s: longest that a request waits to be counted before it is counted by its process alone.
    """

    engine: AsyncEngine
    patience_s: float
    _since_sweep: int = 0

    async def count(self, subjects: Sequence[str]) -> list[Use]:
        """Count one request for each subject. Raises CounterAwayError."""
        self._since_sweep += 1
        try:
            async with asking(self.engine, self.patience_s) as connection:
                rows = (await connection.execute(COUNT, {"subjects": sorted(set(subjects))})).all()
                if self._since_sweep >= FORGET_EVERY:
                    self._since_sweep = 0
                    await connection.execute(FORGET)
                await connection.commit()
        except BooksUnavailableError as away:
            raise CounterAwayError(str(away)) from away
        uses = {row.subject: Use(row.used, min(WINDOW_S, max(1, round(float(row.left_s))))) for row in rows}
        return [uses[subject] for subject in subjects]
