"""The published contract: OpenAPI 3.1, made from the same types that decode and encode.

The component schemas are in `schemas`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from msgspec import Struct

from service.web import answers, examples
from service.web.area import Area
from service.web.ballpark import Ballpark
from service.web.catalogue import Catalogue
from service.web.paging import LINK
from service.web.problems import KINDS, MEDIA_TYPE, RETRY_AFTER_S, Problem
from service.web.regions import Book, Regions
from service.web.requests import RequestTypes
from service.web.schemas import REF, Node, schemas_of
from service.web.security import SCHEMES, guarded
from service.web.summary import Summary

VERSION = "2.1.0"


class Alive(Struct, frozen=True):
    """The process runs.

    Attributes:
        alive: always true.
    """

    alive: bool


class Ready(Struct, frozen=True):
    """Quotes can be answered.

    Attributes:
        ready: always true.
        degraded: whether they are answered without the database, from books that were read before.
        why: what stands in the way, in words; empty where nothing does.
    """

    ready: bool
    degraded: bool
    why: str


def build_openapi(types: RequestTypes, areas: Sequence[Area], scopes: Mapping[tuple[str, str], str]) -> Node:
    """The OpenAPI document of a service with these request types and areas.

    Args:
        types: the types of a request for quotes.
        areas: further addresses.
        scopes: what each path and method needs (`security.scopes_of`).
    """
    shapes: list[type[Struct]] = [
        types.request, answers.Quote, answers.QuantityRange, Summary, Ballpark, Catalogue, Regions, Book, Problem, Alive, Ready,
        *(shape for area in areas for shape in area.shapes),
    ]
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Repair quotes for log and timber buildings",
            "version": VERSION,
            "summary": "A defect in, ranked and priced repair plans out.",
            "description": INTRODUCTION,
        },
        "servers": [{"url": "/", "description": "The service that answers this document."}],
        "tags": [
            {"name": "quotes", "description": "Defects in, ranked plans out. Nothing is stored."},
            {"name": "reference", "description": "Words, units and questions that a form needs."},
            {"name": "rates", "description": "Regions and their rate books."},
            {"name": "operations", "description": "For whoever runs the service."},
            *({"name": area.tag, "description": area.about} for area in areas),
        ],
        "paths": guarded(_paths() | {path: item for area in areas for path, item in area.paths.items()}, scopes),
        "components": {
            "securitySchemes": SCHEMES,
            "schemas": schemas_of(shapes),
            "responses": _problem_responses(),
            "headers": _headers(),
        },
    }


INTRODUCTION = """Describe damage in a log or timber building; get repair plans back, ranked, priced as described and as a
range, with downtime, wood and reasons. Only region, element and damage are needed: a fact that nobody measured is worked
out as a distribution, and the answer says what was assumed.

Nothing is stored. The same request with the same `priced_on` and `rates` gives the same bytes, so a call may be repeated
without an idempotency key. `POST /v1/quotes` may also be sent as HTTP QUERY, which says so to proxies; OpenAPI 3.1 cannot
express that method. Every error is `application/problem+json`, and its `type` leads to a page.

Most addresses need a key or a token with the scope that they name, and answer only about regions that it is bound to."""


# ---- paths -------------------------------------------------------------------------------------------------------------


def _paths() -> Node:
    region = {
        "name": "region", "in": "path", "required": True, "description": "Code of the region.",
        "schema": {"$ref": REF + "RegionCode"}, "example": examples.REGION,
    }
    day = {
        "name": "on", "in": "query", "required": False, "description": "The day. Left out: today, in UTC.",
        "schema": {"$ref": REF + "Day"}, "example": "2026-05-04",
    }
    revision = {
        "name": "rates", "in": "query", "required": False,
        "description": "A revision in place of the one in force that day.", "schema": {"$ref": REF + "Revision"},
    }
    return {
        "/v1/quotes": {"post": _quote_operation()},
        "/v1/catalogue": {"get": operation(
            "readCatalogue", "reference", "Everything that a form needs",
            "Members with their questions and photo list, damage, causes, methods, species, facts with their units, limits.",
            "Catalogue", kept=True)},
        "/v1/regions": {"get": operation(
            "listRegions", "rates", "All regions", "Parents come before children.", "Regions", kept=True,
            problems=("books-unavailable",))},
        "/v1/regions/{region}": {"get": operation(
            "readRegion", "rates", "A region's rate book",
            "Every line with low, likely and high, its unit, its source and the region it came from; the wood in the yard.",
            "Book", kept=True, fresh=True, parameters=[region, day, revision],
            problems=("unknown-region", "books-unavailable"))},
        "/livez": {"get": operation(
            "isAlive", "operations", "Whether the process runs", "Asks nobody else.", "Alive")},
        "/readyz": {"get": operation(
            "isReady", "operations", "Whether quotes can be answered", "Looks at the database and the rate books.", "Ready",
            problems=("not-ready",))},
        "/metrics": {"get": _page("readMetrics", "operations", "Numbers for monitoring", "text/plain")},
        "/openapi.json": {"get": operation(
            "readContract", "operations", "This document", "The contract of the running service.", None, kept=True)},
        "/docs": {"get": _page("readDocs", "operations", "This document for people", "text/html")},
        "/problems/{slug}": {"get": {
            **_page("readProblem", "reference", "What a kind of problem means", "text/html", problems=("not-found",)),
            "parameters": [{
                "name": "slug", "in": "path", "required": True, "description": "Last part of a problem's type.",
                "schema": {"type": "string", "enum": list(KINDS)}, "example": "invalid-request",
            }],
        }},
    }


def _quote_operation() -> Node:
    body = {
        "required": True, "description": "What was seen. A quantity is a text with its unit.",
        "content": {"application/json": {
            "schema": {"$ref": REF + "QuoteRequest"},
            "examples": {name: {"summary": summary, "value": value} for name, summary, value in examples.REQUESTS},
        }},
    }
    return {
        "operationId": "createQuote", "tags": ["quotes"], "summary": "Defects in, ranked and priced plans out",
        "description": "Safe and repeatable: nothing is stored. Also answers HTTP QUERY. `view` chooses between everything "
                       "and a small answer.",
        "requestBody": body,
        "responses": {
            "200": {
                "description": "At least one defect is priced; the others say what cannot be.",
                "headers": {**own_headers(), **fresh_headers()},
                "content": {"application/json": {
                    "schema": {"anyOf": [{"$ref": REF + name} for name in ("Quote", "Summary", "Ballpark")]},
                }},
            },
            **refused("bad-request", "unknown-region", "not-acceptable", "body-too-large", "unsupported-media-type",
                       "nothing-priced", "internal-error", "books-unavailable"),
        },
    }


def operation(
    name: str, tag: str, summary: str, description: str, shape: str | None, *, kept: bool = False, fresh: bool = False,
    parameters: Iterable[Node] = (), problems: tuple[str, ...] = (),
) -> Node:
    """An operation that reads.

    Args:
        name, tag, summary, description: what it is called and said to be.
        shape: name of the answer's schema.
        kept: whether the answer has an ETag.
        fresh: whether the answer says how fresh its rates are.
        parameters: in path and query.
        problems: kinds of problem that it may end in, beside those that every operation may.
    """
    schema: Node = {"$ref": REF + shape} if shape else {"type": "object", "description": "An OpenAPI document."}
    headers = {**own_headers(), **(fresh_headers() if fresh else {})}
    if kept:
        headers |= {"ETag": {"$ref": "#/components/headers/ETag"}, "Cache-Control": {"$ref": "#/components/headers/CacheControl"}}
    responses: Node = {
        "200": {"description": summary + ".", "headers": headers, "content": {"application/json": {"schema": schema}}},
    }
    if kept:
        responses["304"] = {"description": "The caller has it already.", "headers": headers}
    responses |= refused("bad-request", "not-acceptable", "internal-error", *problems)
    asked = [*parameters, *([IF_NONE_MATCH] if kept else [])]
    operation: Node = {
        "operationId": name, "tags": [tag], "summary": summary, "description": description, "responses": responses,
    }
    return operation | ({"parameters": asked} if asked else {})


IF_NONE_MATCH: Node = {
    "name": "If-None-Match", "in": "header", "required": False, "description": "Entity tag of what the caller has.",
    "schema": {"type": "string"}, "example": '"9f86d081884c7d65"',
}


IDEMPOTENCY_KEY: Node = {
    "name": "Idempotency-Key", "in": "header", "required": False,
    "description": "Name of this one create, so that it happens once however often it is sent. Kept for a day.",
    "schema": {"type": "string", "pattern": "^[A-Za-z0-9._:~-]{1,100}$", "maxLength": 100},
    "example": "5f2c1f8e-4f0e-4d0b-9d58-3f3f6a1c2b7d",
}


def _page(name: str, tag: str, summary: str, media: str, problems: tuple[str, ...] = ()) -> Node:
    return {
        "operationId": name, "tags": [tag], "summary": summary, "description": summary + ".",
        "responses": {
            "200": {
                "description": summary + ".", "headers": own_headers(),
                "content": {media: {"schema": {"type": "string", "maxLength": 1_000_000}}},
            },
            **refused("bad-request", "not-acceptable", "internal-error", *problems),
        },
    }


# ---- problems and headers ------------------------------------------------------------------------------------------------


def refused(*slugs: str) -> Node:
    """Responses of an operation that may end in these kinds of problem."""
    statuses = {str(KINDS[slug].status) for slug in slugs} | {"405"}
    return {status: {"$ref": f"#/components/responses/Problem{status}"} for status in sorted(statuses)}


def _problem_responses() -> Node:
    kinds: dict[int, list[str]] = {}
    for kind in KINDS.values():
        kinds.setdefault(kind.status, []).append(kind.slug)
    made = {}
    for status, slugs in sorted(kinds.items()):
        headers = own_headers()
        if status == 503:
            headers["Retry-After"] = {"$ref": "#/components/headers/RetryAfter"}
        if status == 401:
            headers["WWW-Authenticate"] = {"$ref": "#/components/headers/WWWAuthenticate"}
        if status == 405:
            headers["Allow"] = {"$ref": "#/components/headers/Allow"}
        made[f"Problem{status}"] = {
            "description": "; ".join(KINDS[s].title for s in slugs) + ".",
            "headers": headers,
            "content": {MEDIA_TYPE: {
                "schema": {"$ref": REF + "Problem"},
                "examples": {slug: {"summary": KINDS[slug].title, "value": examples.problem_example(slug)} for slug in slugs},
            }},
        }
    return made


def own_headers() -> Node:
    """Headers of every answer."""
    return {"X-Request-Id": {"$ref": "#/components/headers/RequestId"}}


def fresh_headers() -> Node:
    """Headers of an answer from rates."""
    return {
        "Rates-Age": {"$ref": "#/components/headers/RatesAge"},
        "Rates-Degraded": {"$ref": "#/components/headers/RatesDegraded"},
    }


def _headers() -> Node:
    def text(description: str, example: str, **more: Any) -> Node:
        return {"description": description, "schema": {"type": "string", "maxLength": 200, **more}, "example": example}

    return {
        "RequestId": text("Id of the request: the caller's X-Request-Id, or a new one.", "3f0c8f7e-1f7c-4a0e-9a55-0d6d3f1f8f00"),
        "RatesAge": {
            "description": "Seconds since the database last said that these rates are in force.",
            "schema": {"type": "integer", "minimum": 0}, "example": 0,
        },
        "RatesDegraded": text("true where the database does not answer and newer rates may exist.", "false",
                              enum=["true", "false"]),
        "ETag": text("Entity tag.", '"9f86d081884c7d65"'),
        "CacheControl": text("How long it may be kept.", "private, no-cache"),
        "RetryAfter": {
            "description": "Seconds after which another try makes sense.", "schema": {"type": "integer", "minimum": 0},
            "example": RETRY_AFTER_S,
        },
        "Allow": text("Methods of this address.", "GET, HEAD, OPTIONS"),
        "WWWAuthenticate": text("How to say who one is.", 'Bearer realm="rates"'),
        "Location": text("Address of what was made.", "/v1/keys/k3v9c0a1b2d4"),
        "Link": LINK,
    }
