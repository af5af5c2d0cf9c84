"""Parts of the contract that addresses of a region share: what stands in their paths, and how a change is described."""

from __future__ import annotations

from collections.abc import Iterable

from service.web import examples
from service.web.http import CSV, JSON
from service.web.openapi import own_headers, refused
from service.web.schemas import REF, Node

REGION: Node = {
    "name": "region", "in": "path", "required": True, "description": "Code of the region.",
    "schema": {"$ref": REF + "RegionCode"}, "example": examples.REGION,
}
ON: Node = {
    "name": "on", "in": "query", "required": False, "description": "The day. Left out: today, in UTC.",
    "schema": {"$ref": REF + "Day"}, "example": "2026-05-04",
}
TAG_PATTERN = r'^"[!#-~]{0,100}"$'
"""One strong entity tag, as `conditions` takes it."""
IF_MATCH: Node = {
    "name": "If-Match", "in": "header", "required": True, "description": "ETag of what is changed, as it was read.",
    "schema": {"type": "string", "maxLength": 102, "pattern": TAG_PATTERN}, "example": '"y3-9f86d081884c7d65"',
}
SHEET: Node = {CSV: {"schema": {"type": "string", "maxLength": 1_000_000}}}
"""A sheet, sent or answered."""


def change(
    name: str, tag: str, summary: str, description: str, *, answers: dict[str, str], parameters: Iterable[Node],
    body: Node | None = None, problems: tuple[str, ...] = (), headers: tuple[str, ...] = (),
) -> Node:
    """An operation that changes something.

    Args:
        name, tag, summary, description: what it is called and said to be.
        answers: status -> name of the answer's schema.
        parameters: in path, query and header.
        body: its content by media type; None where it takes none.
        problems: kinds of problem that it may end in, beside those that every change may.
        headers: headers of the answer, beside those of every answer.
    """
    given = {**own_headers(), **{h: {"$ref": f"#/components/headers/{h.replace('-', '')}"} for h in headers}}
    responses: Node = {
        status: {"description": f"{summary}: done.", "headers": given, "content": {JSON: {"schema": {"$ref": REF + shape}}}}
        for status, shape in answers.items()
    }
    taken = ("unsupported-media-type", "body-too-large") if body else ()
    responses |= refused(
        "bad-request", "not-acceptable", "unknown-region", "internal-error", "not-stored", *taken, *problems
    )
    operation: Node = {
        "operationId": name, "tags": [tag], "summary": summary, "description": description, "parameters": [*parameters],
        "responses": responses,
    }
    return operation | ({"requestBody": {"required": True, "content": body}} if body else {})


def json_body(shape: str, media: str = JSON) -> Node:
    """A body of one shape."""
    return {media: {"schema": {"$ref": REF + shape}}}
