"""The area of reading rates: its addresses and its part of the contract."""

from __future__ import annotations

from litestar import Response, get
from litestar.handlers import HTTPRouteHandler
from litestar.params import FromPath

from service.application.reading import ORDERS, STANDINGS
from service.engine.rates import SECTIONS
from service.web import reading_shapes as shapes
from service.web import since_shapes
from service.web.area import Area
from service.web.comparing_shapes import BookComparison
from service.web.contract_parts import CODE, DECIMAL_MARK, NUMBER, REGION, SECTION
from service.web.http import CSV, JSON, Asked
from service.web.openapi import fresh_headers, operation, own_headers, refused
from service.web.paging import LIMIT, paged
from service.web.params import CURSOR_FORM, DECIMAL
from service.web.reading.door import FILTERS, SIDES, WHICH, ReadingDoor
from service.web.reading.since import SinceDoor, since_routes
from service.web.schemas import REF, Node

TAG = "reading rates"


def reading_area(door: ReadingDoor, since: SinceDoor) -> Area:
    """The addresses of reading rates."""
    return Area(
        tag=TAG, about="Rates line by line: what counts and from whom, what changed, when and by whom.",
        routes=[*reading_routes(door), *since_routes(since)], paths=_paths(),
        shapes=[
            shapes.Lines, shapes.LineInChain, shapes.LineHistory, shapes.Revisions, shapes.RevisionWithEdits,
            BookComparison, since_shapes.Changes, since.sent,
        ],
    )


def reading_routes(door: ReadingDoor) -> list[HTTPRouteHandler]:
    """The addresses of reading."""
    read = {"scope": "rates:read"}

    @get("/v1/regions/{region:str}/lines", opt={
        **read, "parameters": {**WHICH, **FILTERS, **DECIMAL, **paged(CURSOR_FORM)}, "media": (JSON, CSV)})
    async def list_lines(request: Asked, region: FromPath[str]) -> Response[bytes]:
        return await door.lines(request, region)

    @get("/v1/regions/{region:str}/lines/{section:str}/{code:str}", opt={**read, "parameters": WHICH})
    async def read_line(
        request: Asked, region: FromPath[str], section: FromPath[str], code: FromPath[str]
    ) -> Response[bytes]:
        return await door.line(request, region, section, code)

    @get("/v1/regions/{region:str}/lines/{section:str}/{code:str}/history", opt={**read, "parameters": paged(CURSOR_FORM)})
    async def read_line_history(
        request: Asked, region: FromPath[str], section: FromPath[str], code: FromPath[str]
    ) -> Response[bytes]:
        return await door.line_history(request, region, section, code)

    @get("/v1/regions/{region:str}/revisions", opt={**read, "parameters": paged(CURSOR_FORM)})
    async def list_revisions(request: Asked, region: FromPath[str]) -> Response[bytes]:
        return await door.revisions(request, region)

    @get("/v1/regions/{region:str}/revisions/{number:str}", opt=read)
    async def read_revision(request: Asked, region: FromPath[str], number: FromPath[str]) -> Response[bytes]:
        return await door.revision(request, region, number)

    @get("/v1/regions/{region:str}/compare", opt={**read, "parameters": SIDES})
    async def compare_books(request: Asked, region: FromPath[str]) -> Response[bytes]:
        return await door.compare(request, region)

    return [list_lines, read_line, read_line_history, list_revisions, read_revision, compare_books]


# ---- the contract --------------------------------------------------------------------------------------------------------


def _paths() -> Node:
    base = "/v1/regions/{region}"
    which = [
        _asked("on", "The day. Left out: today, in UTC.", {"$ref": REF + "Day"}),
        _asked("rates", "A revision in place of the one in force that day.", {"$ref": REF + "Revision"}),
    ]
    lines = operation(
        "listLines", TAG, "The effective book, line by line",
        "What counts, whether it is the region's own, and what it stands in place of. JSON comes in pages, all of one book; "
        "as text/csv it comes whole. A sheet of exactly the region's own lines (own=own,overridden) has the columns of a "
        "draft's sheet, so that it can be edited and sent back; every other has more columns, and a draft refuses it.",
        "Lines", kept=True, fresh=True, parameters=[REGION, *which, *_filters(), DECIMAL_MARK, LIMIT, CURSOR],
        problems=("unknown-region", "books-unavailable"))
    _add_sheet(lines)
    _add_link(lines)
    history = operation(
        "readLineHistory", TAG, "What became of a line",
        "Every published revision of the region and its parents in which the line changed, the newest first.",
        "LineHistory", kept=True, parameters=[REGION, SECTION, CODE, LIMIT, CURSOR],
        problems=("unknown-line", "books-unavailable"))
    _add_link(history)
    revisions = operation(
        "listRevisions", TAG, "The region's own revisions",
        "The newest first, with the days on which they are or were in force, and what they changed.",
        "Revisions", kept=True, parameters=[REGION, LIMIT, CURSOR], problems=("unknown-region", "books-unavailable"))
    _add_link(revisions)
    return {
        f"{base}/lines": {"get": lines},
        f"{base}/lines/{{section}}/{{code}}": {"get": operation(
            "readLine", TAG, "One line through the whole chain of books",
            "What each book of the chain says of it, who signed that, which one counts and why.",
            "LineInChain", kept=True, fresh=True, parameters=[REGION, SECTION, CODE, *which],
            problems=("unknown-line", "books-unavailable"))},
        f"{base}/lines/{{section}}/{{code}}/history": {"get": history},
        f"{base}/revisions": {"get": revisions},
        f"{base}/revisions/{{number}}": {"get": operation(
            "readRevision", TAG, "One revision, and what it changed", "The lines that differ from the one before.",
            "RevisionWithEdits", kept=True, parameters=[REGION, NUMBER], problems=("unknown-revision", "books-unavailable"))},
        f"{base}/compare": {"get": operation(
            "compareBooks", TAG, "Two books side by side",
            "Two revisions of the region's own book by their numbers, or two effective books by the text of their rates: lines "
            "that came, went or changed, and whose revision did it.",
            "BookComparison", kept=True, parameters=[REGION, *_sides()], problems=("unknown-revision", "books-unavailable"))},
        f"{base}/changes": {"post": _changes()},
    }


def _asked(name: str, description: str, schema: Node, *, required: bool = False) -> Node:
    return {"name": name, "in": "query", "required": required, "description": description, "schema": schema}


CURSOR = _asked("cursor", "next_cursor of the page before. Left out: the first page.",
                {"type": "string", "maxLength": 1000, "pattern": f"^{CURSOR_FORM}$"})


def _filters() -> list[Node]:
    words = "|".join(STANDINGS)
    return [
        _asked("section", "Only this part of the book.", {"type": "string", "enum": list(SECTIONS)}),
        _asked("code", "Only codes that begin so.", {"type": "string", "maxLength": 80, "pattern": "^[a-z0-9_.]*$"}),
        _asked("text", "Only lines with this in their code, words or source, in capitals or not.",
               {"type": "string", "maxLength": 120}),
        _asked("own", "Only lines that stand so; several with commas between them.",
               {"type": "string", "maxLength": 60, "pattern": f"^({words})(,({words}))*$"}),
        _asked("sort", "Order: as people read a book, by likely value from small to large or back, or the farthest from the "
               "inherited value first.", {"type": "string", "enum": list(ORDERS), "default": ORDERS[0]}),
    ]


def _sides() -> list[Node]:
    side: Node = {"type": "string", "minLength": 1, "maxLength": 300, "pattern": "^[a-z0-9@/+_.-]+$"}
    return [
        _asked("from", "The first book: a number, or the text of rates.", side, required=True) | {"example": "1"},
        _asked("to", "The second book, named in the same way.", side, required=True) | {"example": "1"},
    ]


def _add_sheet(made: Node) -> None:
    """The same lines as a sheet."""
    found = made["responses"]["200"]
    found["content"][CSV] = {"schema": {"type": "string", "maxLength": 5_000_000}}
    found["headers"] = {**found["headers"], "Content-Digest": {
        "description": "Digest of a sheet's bytes (RFC 9530). JSON has none.",
        "schema": {"type": "string", "maxLength": 100},
    }}


def _add_link(made: Node) -> None:
    """The header that leads to the next page."""
    found = made["responses"]["200"]
    found["headers"] = {**found["headers"], "Link": {"$ref": "#/components/headers/Link"}}


def _changes() -> Node:
    return {
        "operationId": "readChanges", "tags": [TAG], "summary": "What changed since a quote", "parameters": [REGION],
        "description": "Nothing is stored. Both quotes are priced on one day, so that nothing but the rates makes a "
                       "difference. Each moved line that the quote reads is put into its old rates alone, the most moved "
                       "first, up to 40 of them and fewer for a large job; the answer names those that were left out.",
        "requestBody": {
            "required": True, "description": "A quote, by its rates and, where the caller has it, its request.",
            "content": {JSON: {"schema": {"$ref": REF + "ChangesRequest"}}},
        },
        "responses": {
            "200": {
                "description": "What moved, and what that does to the quote.", "headers": {**own_headers(), **fresh_headers()},
                "content": {JSON: {"schema": {"$ref": REF + "Changes"}}},
            },
            **refused("bad-request", "unknown-revision", "not-acceptable", "body-too-large", "unsupported-media-type",
                      "nothing-priced", "internal-error", "books-unavailable"),
        },
    }
