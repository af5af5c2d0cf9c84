"""Parts of the contract that addresses of a region share: what stands in their paths, and how a change is described."""

from __future__ import annotations

from collections.abc import Iterable

from service.engine.rates import SECTIONS
from service.web import examples
from service.web.http import CSV, JSON
from service.web.openapi import own_headers, refused
from service.web.params import DECIMALS, MEANT
from service.web.schemas import REF, Node

REGION: Node = {
    "name": "region", "in": "path", "required": True, "description": "Code of the region.",
    "schema": {"$ref": REF + "RegionCode"}, "example": examples.REGION,
}
DRAFT: Node = {
    "name": "draft", "in": "path", "required": True, "description": "Number of the draft.",
    "schema": {"type": "integer", "format": "int64", "minimum": 1, "maximum": 10**18 - 1}, "example": 12,
}
NUMBER: Node = {
    "name": "number", "in": "path", "required": True, "description": "Number of the revision.",
    "schema": {"type": "integer", "minimum": 1, "maximum": 999_999_999}, "example": 1,
}
SECTION: Node = {
    "name": "section", "in": "path", "required": True, "description": "Part of the book.",
    "schema": {"type": "string", "enum": list(SECTIONS)}, "example": "resources",
}
CODE: Node = {
    "name": "code", "in": "path", "required": True, "description": "Code of the line.",
    "schema": {"$ref": REF + "LineCode"}, "example": "lead",
}
ON: Node = {
    "name": "on", "in": "query", "required": False, "description": "The day. Left out: today, in UTC.",
    "schema": {"$ref": REF + "Day"}, "example": "2026-05-04",
}
DECIMAL_MARK: Node = {
    "name": "decimal", "in": "query", "required": False,
    "description": "What stands before the decimals of a sheet's numbers. comma: with semicolons between the cells and a "
                   "byte-order mark, as spreadsheets write where numbers have commas. JSON always has points.",
    "schema": {"type": "string", "enum": list(DECIMALS), "default": DECIMALS[0]}, "example": "comma",
}
EMPTY_MEANT: Node = {
    "name": "empty", "in": "query", "required": False,
    "description": "meant: a sheet without rows is to take out whatever is there. Left out: it is asked about (422).",
    "schema": {"type": "string", "enum": [MEANT]}, "example": MEANT,
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
