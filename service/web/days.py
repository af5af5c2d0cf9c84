"""Days as they are written on the wire."""

from __future__ import annotations

import re
from datetime import date

from service.web import limits

FORM = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)


def day_in(text: str) -> date | None:
    """The day that a text names, such as 2026-05-04; None where it names none, or none that a request may name."""
    try:
        # The parser also takes 20260504 and 2026-W19-1.
        day = date.fromisoformat(text) if FORM.fullmatch(text) else None
    except ValueError:
        return None
    return day if day is not None and limits.FIRST_DAY <= day <= limits.LAST_DAY else None
