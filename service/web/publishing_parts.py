"""What the addresses of publishing share."""

from __future__ import annotations

import re

from service.application.drafts import UnknownDraftError
from service.web.schemas import Node

TAG = "publishing"
DRAFT_ID = re.compile(r"[1-9][0-9]{0,17}", re.ASCII)
NO_STORE = {"Cache-Control": "no-store"}
DRAFT: Node = {
    "name": "draft", "in": "path", "required": True, "description": "Id of the draft.",
    "schema": {"type": "string", "pattern": f"^{DRAFT_ID.pattern}$", "maxLength": 18}, "example": "12",
}


def draft_named(region: str, draft: str) -> int:
    """The draft of a path.

    Raises:
        UnknownDraftError: no draft can have this id.
    """
    if not DRAFT_ID.fullmatch(draft):
        raise UnknownDraftError(region, 0)
    return int(draft)
