"""The published contract: OpenAPI 3.1, made from the same types that decode and encode.

The component schemas are msgspec's own, mended where it leaves something out: types that many fields share become one
component, attribute texts become descriptions, enums get their type.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

import msgspec
from msgspec import Struct

from service.web import answers, examples, limits
from service.web.catalogue import Catalogue
from service.web.problems import KINDS, MEDIA_TYPE, RETRY_AFTER_S, Problem
from service.web.quantities import DIMENSIONS
from service.web.regions import Book, Regions
from service.web.requests import RequestTypes
from service.web.summary import Summary

VERSION = "1.0.0"
REF = "#/components/schemas/"
Node = dict[str, Any]


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


def build_openapi(types: RequestTypes) -> Node:
    """The OpenAPI document of a service with these request types."""
    shapes: list[type[Struct]] = [
        types.request, answers.Quote, answers.QuantityRange, Summary, Catalogue, Regions, Book, Problem, Alive, Ready,
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
        ],
        "paths": _paths(),
        "components": {
            "schemas": _schemas(shapes),
            "responses": _problem_responses(),
            "headers": _headers(),
        },
    }


INTRODUCTION = """Describe damage in a log or timber building; get repair plans back, ranked, priced as described and as a
range, with downtime, wood and reasons. Only region, element and damage are needed: a fact that nobody measured is worked
out as a distribution, and the answer says what was assumed.

Nothing is stored. The same request with the same `priced_on` and `rates` gives the same bytes, so a call may be repeated
without an idempotency key. `POST /v1/quotes` may also be sent as HTTP QUERY, which says so to proxies; OpenAPI 3.1 cannot
express that method. Every error is `application/problem+json`, and its `type` leads to a page."""


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
        "/v1/catalogue": {"get": _operation(
            "readCatalogue", "reference", "Everything that a form needs",
            "Members with their questions and photo list, damage, causes, methods, species, facts with their units, limits.",
            "Catalogue", kept=True)},
        "/v1/regions": {"get": _operation(
            "listRegions", "rates", "All regions", "Parents come before children.", "Regions", kept=True,
            problems=("books-unavailable",))},
        "/v1/regions/{region}": {"get": _operation(
            "readRegion", "rates", "A region's rate book",
            "Every line with low, likely and high, its unit, its source and the region it came from; the wood in the yard.",
            "Book", kept=True, fresh=True, parameters=[region, day, revision],
            problems=("unknown-region", "books-unavailable"))},
        "/livez": {"get": _operation(
            "isAlive", "operations", "Whether the process runs", "Asks nobody else.", "Alive")},
        "/readyz": {"get": _operation(
            "isReady", "operations", "Whether quotes can be answered", "Looks at the database and the rate books.", "Ready",
            problems=("not-ready",))},
        "/metrics": {"get": _page("readMetrics", "operations", "Numbers for monitoring", "text/plain")},
        "/openapi.json": {"get": _operation(
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
                "headers": {**_own_headers(), **_fresh_headers()},
                "content": {"application/json": {
                    "schema": {"anyOf": [{"$ref": REF + "Quote"}, {"$ref": REF + "Summary"}]},
                }},
            },
            **_refused("bad-request", "unknown-region", "not-acceptable", "body-too-large", "unsupported-media-type",
                       "nothing-priced", "internal-error", "books-unavailable"),
        },
    }


def _operation(
    name: str, tag: str, summary: str, description: str, shape: str | None, *, kept: bool = False, fresh: bool = False,
    parameters: Iterable[Node] = (), problems: tuple[str, ...] = (),
) -> Node:
    schema: Node = {"$ref": REF + shape} if shape else {"type": "object", "description": "An OpenAPI document."}
    headers = {**_own_headers(), **(_fresh_headers() if fresh else {})}
    if kept:
        headers |= {"ETag": {"$ref": "#/components/headers/ETag"}, "Cache-Control": {"$ref": "#/components/headers/CacheControl"}}
    responses: Node = {
        "200": {"description": summary + ".", "headers": headers, "content": {"application/json": {"schema": schema}}},
    }
    if kept:
        responses["304"] = {"description": "The caller has it already.", "headers": headers}
    responses |= _refused("bad-request", "not-acceptable", "internal-error", *problems)
    asked = [*parameters, *([IF_NONE_MATCH] if kept else [])]
    operation: Node = {
        "operationId": name, "tags": [tag], "summary": summary, "description": description, "responses": responses,
    }
    return operation | ({"parameters": asked} if asked else {})


IF_NONE_MATCH: Node = {
    "name": "If-None-Match", "in": "header", "required": False, "description": "Entity tag of what the caller has.",
    "schema": {"type": "string"}, "example": '"9f86d081884c7d65"',
}


def _page(name: str, tag: str, summary: str, media: str, problems: tuple[str, ...] = ()) -> Node:
    return {
        "operationId": name, "tags": [tag], "summary": summary, "description": summary + ".",
        "responses": {
            "200": {
                "description": summary + ".", "headers": _own_headers(),
                "content": {media: {"schema": {"type": "string", "maxLength": 1_000_000}}},
            },
            **_refused("bad-request", "not-acceptable", "internal-error", *problems),
        },
    }


# ---- problems and headers ------------------------------------------------------------------------------------------------


def _refused(*slugs: str) -> Node:
    statuses = {str(KINDS[slug].status) for slug in slugs} | {"405"}
    return {status: {"$ref": f"#/components/responses/Problem{status}"} for status in sorted(statuses)}


def _problem_responses() -> Node:
    kinds: dict[int, list[str]] = {}
    for kind in KINDS.values():
        kinds.setdefault(kind.status, []).append(kind.slug)
    made = {}
    for status, slugs in sorted(kinds.items()):
        headers = _own_headers()
        if status == 503:
            headers["Retry-After"] = {"$ref": "#/components/headers/RetryAfter"}
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


def _own_headers() -> Node:
    return {"X-Request-Id": {"$ref": "#/components/headers/RequestId"}}


def _fresh_headers() -> Node:
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
    }


# ---- schemas -------------------------------------------------------------------------------------------------------------


def _schemas(shapes: list[type[Struct]]) -> Node:
    _, made = msgspec.json.schema_components(shapes, ref_template=REF + "{name}")
    texts = {shape.__name__: _attribute_texts(shape) for shape in _reached(shapes)}
    shared: Node = {}
    done: Node = {}
    for name, schema in made.items():
        for field, prop in schema.get("properties", {}).items():
            if "description" not in prop and field in texts.get(name, {}):
                prop["description"] = texts[name][field]
        if schema.get("description"):
            schema["description"] = schema["description"].partition("Attributes:")[0].strip()
        done[name] = _mend(schema, shared)
    return dict(sorted({**done, **shared}.items()))


def _mend(node: Any, shared: Node) -> Any:
    """Shared types to components, nullable unions to type lists, types beside enums."""
    if isinstance(node, list):
        return [_mend(one, shared) for one in node]
    if not isinstance(node, dict):
        return node
    node = {key: _mend(value, shared) for key, value in node.items()}
    if "x-ref" in node:
        return _share(node, shared)
    if "enum" in node and "type" not in node:
        node["type"] = "string"
    options = node.get("anyOf")
    if options and len(options) == 2 and {"type": "null"} in options:
        other = next(o for o in options if o != {"type": "null"})
        if isinstance(other.get("type"), str):
            del node["anyOf"]
            node |= {**other, **node, "type": [other["type"], "null"]}
    for bound in ("minimum", "maximum"):
        if node.get("type") == "integer" and bound in node:
            node[bound] = int(node[bound])
    return node


def _share(node: Node, shared: Node) -> Node:
    """A reference to the shared type; the field's own text stays beside it."""
    name = node.pop("x-ref")
    own: Node = {key: node.pop(key) for key in ("description", "examples") if key in node}
    shared[name] = {"title": name, **SHARED_TEXTS[name], **node}
    own["$ref"] = REF + name
    return own


SHARED_TEXTS: dict[str, Node] = {
    "Code": {
        "description": "A stable code from the catalogue. One that is not known there is answered with the likely one.",
    },
    "Text": {"description": "A short text without control characters, used as it is."},
    "Day": {"description": f"A day from {limits.FIRST_DAY} to {limits.LAST_DAY}.", "examples": ["2026-05-04"]},
    "Whole": {"description": "A whole number, bare. Whether it makes sense is said in the answer."},
    "Number": {"description": "A bare number. Whether it makes sense is said in the answer."},
    "RegionCode": {"description": "Code of a region.", "examples": [examples.REGION]},
    "Money": {
        "description": "Money as decimal text, in the currency of the answer.", "examples": ["2312.00"],
    },
    "DecimalText": {"description": "A number as decimal text, without an exponent.", "examples": ["0.15"]},
    "Revision": {"description": "Name of a revision of the rates, as an answer gave it."},
    **{
        d.title: dict[str, Any]({
            "description": f"A number, a fraction or a range, with its unit: {', '.join(d.units)}.",
            "examples": list(d.examples),
        })
        for d in DIMENSIONS.values()
    },
}
"""What is said of the types that many fields share."""

_ATTRIBUTE = re.compile(r"^    (\w+): (.+?)(?=^    \w+: |\Z)", re.MULTILINE | re.DOTALL)


def _attribute_texts(shape: type[Struct]) -> dict[str, str]:
    """Descriptions of a shape's fields, from the attributes of its docstring, by their names on the wire."""
    import inspect

    doc = inspect.cleandoc(shape.__doc__ or "").partition("Attributes:\n")[2]
    wire = dict(zip(shape.__struct_fields__, shape.__struct_encode_fields__, strict=True))
    return {wire[name]: " ".join(text.split()) for name, text in _ATTRIBUTE.findall(doc) if name in wire}


def _reached(shapes: list[type[Struct]]) -> list[type[Struct]]:
    """All shapes that these are made of."""
    found: dict[type[Struct], None] = {}

    def see(kind: Any) -> None:
        if isinstance(kind, msgspec.inspect.StructType):
            if kind.cls in found:
                return
            found[kind.cls] = None
            for field in kind.fields:
                see(field.type)
        for name in ("type", "item_type", "value_type"):
            if hasattr(kind, name):
                see(getattr(kind, name))
        for one in getattr(kind, "types", ()):
            see(one)

    for kind in msgspec.inspect.multi_type_info(shapes):
        see(kind)
    return list(found)
