"""The part of the contract that is about wood in the yard."""

from __future__ import annotations

from msgspec import Struct

from service.web.contract_parts import DECIMAL_MARK, EMPTY_MEANT, IF_MATCH, ON, REGION, SHEET, change, json_body
from service.web.http import MERGE_PATCH
from service.web.openapi import IDEMPOTENCY_KEY, operation
from service.web.paging import CURSOR, LIMIT
from service.web.schemas import REF, Node
from service.web.stock.shapes import CountSent, PieceChange, PieceSent, Stock, StockChange, StockCounts, YardPiece

SHAPES: list[type[Struct]] = [Stock, YardPiece, StockChange, StockCounts, PieceSent, PieceChange, CountSent]
TAG = "stock"
STATE = ("out-of-date", "state-needed", "create-under-way", "key-of-another-create", "implausible")
"""Problems of every change of a yard."""
PIECE: Node = {
    "name": "code", "in": "path", "required": True, "description": "Mark of the piece.", "example": "kr_001",
    "schema": {"$ref": REF + "PieceCode"},
}


def paths() -> Node:
    """The addresses of wood in the yard."""
    return {
        "/v1/regions/{region}/stock": {"get": _read(), "put": _count(), "post": _add()},
        "/v1/regions/{region}/stock/counts": {"get": _counts()},
        "/v1/regions/{region}/stock/{code}": {"get": _read_piece(), "patch": _alter(), "delete": _use()},
    }


def _read() -> Node:
    made = operation(
        "readStock", TAG, "Wood in the yard",
        "The pieces that quotes of a day use, each with what keeps it from a repair if anything does, and supply with its lead "
        "times. As a sheet the pieces alone, in the region's units. The ETag begins with the number of the region's own count.",
        "Stock", kept=True, parameters=[REGION, ON, DECIMAL_MARK], problems=("unknown-region", "books-unavailable"),
    )
    made["responses"]["200"]["content"] |= SHEET
    return made


def _count() -> Node:
    why = {
        "name": "why", "in": "query", "required": False, "description": "What the list of counts says of it.",
        "schema": {"$ref": REF + "Text"}, "example": "count of the first of May",
    }
    return change(
        "countStock", TAG, "Count the yard",
        "Puts a whole count in place of the one that was read, all or nothing. A piece that is not sent is gone. The count is "
        "in force from today; where nothing has changed no count is made. For the first count send the ETag of the yard that "
        "is read now.",
        answers={"200": "StockChange"}, parameters=[REGION, why, EMPTY_MEANT, IF_MATCH, IDEMPOTENCY_KEY],
        body={**json_body("CountSent"), **SHEET}, problems=(*STATE, "invalid-sheet"), headers=("ETag",),
    )


def _add() -> Node:
    return change(
        "addPiece", TAG, "A piece came in", "Makes the next count with one more piece.",
        answers={"201": "StockChange"}, parameters=[REGION, IDEMPOTENCY_KEY], body=json_body("PieceSent"),
        problems=("piece-there", "create-under-way", "key-of-another-create", "implausible"), headers=("ETag", "Location"),
    )


def _counts() -> Node:
    made = operation(
        "listCounts", TAG, "Counts of the yard", "The newest first, each with what changed since the one before it.",
        "StockCounts", kept=True, parameters=[REGION, LIMIT, CURSOR], problems=("unknown-region", "books-unavailable"),
    )
    made["responses"]["200"]["headers"] |= {"Link": {"$ref": "#/components/headers/Link"}}
    return made


def _read_piece() -> Node:
    return operation(
        "readPiece", TAG, "A piece of wood", "As it is in the yard that quotes use today.", "YardPiece", kept=True,
        parameters=[REGION, PIECE], problems=("unknown-piece", "books-unavailable"),
    )


def _alter() -> Node:
    return change(
        "alterPiece", TAG, "Hold, read, move or cut a piece",
        "Changes the fields that are sent (RFC 7396) and makes the next count. If-Match takes the ETag of the piece, or that of "
        "the whole yard.",
        answers={"200": "StockChange"}, parameters=[REGION, PIECE, IF_MATCH, IDEMPOTENCY_KEY],
        body={**json_body("PieceChange", MERGE_PATCH), **json_body("PieceChange")},
        problems=("unknown-piece", *STATE), headers=("ETag",),
    )


def _use() -> Node:
    job = {
        "name": "job", "in": "query", "required": False, "description": "Job that it was used for.",
        "schema": {"$ref": REF + "Text"}, "example": "the Alder house",
    }
    return change(
        "usePiece", TAG, "A piece was used", "Takes the piece out and makes the next count, which says for which job.",
        answers={"200": "StockChange"}, parameters=[REGION, PIECE, job, IF_MATCH, IDEMPOTENCY_KEY],
        problems=("unknown-piece", *STATE), headers=("ETag",),
    )
