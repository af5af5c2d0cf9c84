"""Long lists in pages. A page names the next one by its own last row, so that rows that come or go shift nothing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any
from urllib.parse import parse_qsl, urlencode

from service.web.http import Asked, Check
from service.web.problems import Fault, ProblemError, problem

ROWS, MOST_ROWS = 100, 500
"""Rows of a page, if nobody asks for another number; most that are given."""


@dataclass(frozen=True, slots=True)
class Page:
    """What part of a list is asked for.

    Attributes:
        limit: most rows.
        after: the cursor of the page before; None for the first page.
    """

    limit: int
    after: str | None


def page_of(asked: Mapping[str, str], form: str) -> Page:
    """The page that the query parameters ask for.

    Args:
        asked: the query parameters.
        form: regular expression of a cursor of this list.

    Raises:
        ProblemError: 400.
    """
    return Page(limit_of(asked), _after(asked, form))


def paged(form: str) -> dict[str, Check]:
    """The query parameters of an address that answers in pages, with what each must be (see `page_of`)."""
    return {"limit": limit_of, "cursor": partial(_after, form=form)}


def limit_of(asked: Mapping[str, str]) -> int:
    """Most rows that are asked for.

    Raises:
        ProblemError: 400.
    """
    limit = asked.get("limit", str(ROWS))
    if not re.fullmatch("[0-9]{1,4}", limit) or not 1 <= int(limit) <= MOST_ROWS:
        raise bad_parameter("limit", f"must be a whole number from 1 to {MOST_ROWS}")
    return int(limit)


def _after(asked: Mapping[str, str], form: str) -> str | None:
    after = asked.get("cursor")
    if after is not None and not re.fullmatch(form, after):
        raise bad_cursor()
    return after


def next_page(request: Asked, cursor: str | None) -> dict[str, str]:
    """The Link header that leads to the next page (RFC 8288); nothing on the last one."""
    if cursor is None:
        return {}
    kept = [pair for pair in parse_qsl(request.scope["query_string"].decode("latin-1")) if pair[0] != "cursor"]
    return {"Link": f'<{request.scope["path"]}?{urlencode([*kept, ("cursor", cursor)])}>; rel="next"'}


def bad_parameter(name: str, wrong: str) -> ProblemError:
    """400 for a query parameter."""
    detail = f"Parameter '{name}' {wrong}."
    return ProblemError(problem("invalid-parameter", detail, errors=[Fault(detail, None, "bad_parameter")]))


def bad_cursor() -> ProblemError:
    """400 for a cursor that is not one of this list."""
    return bad_parameter("cursor", "must be next_cursor of a page of this list, as it was")


LIMIT: dict[str, Any] = {
    "name": "limit", "in": "query", "required": False, "description": "Most rows of the page.", "example": 50,
    "schema": {"type": "integer", "minimum": 1, "maximum": MOST_ROWS, "default": ROWS},
}
CURSOR: dict[str, Any] = {
    "name": "cursor", "in": "query", "required": False,
    "description": "next_cursor of the page before. Left out: the first page.",
    "schema": {"type": "string", "maxLength": 400},
}
LINK: dict[str, Any] = {
    "description": 'Address of the next page, with rel="next"; missing on the last page.',
    "schema": {"type": "string", "maxLength": 1000}, "example": '</v1/keys?cursor=k3v9c0a1b2d4>; rel="next"',
}
"""Parts of the contract of an address that answers in pages."""
