"""What the addresses of publishing share."""

from __future__ import annotations

import re

from service.application.drafts import UnknownDraftError

TAG = "publishing"
DRAFT_ID = re.compile(r"[1-9][0-9]{0,17}", re.ASCII)
NO_STORE = {"Cache-Control": "no-store"}


def draft_named(region: str, draft: str) -> int:
    """The draft of a path.

    Raises:
        UnknownDraftError: no draft can have this id.
    """
    if not DRAFT_ID.fullmatch(draft):
        raise UnknownDraftError(region, 0)
    return int(draft)
