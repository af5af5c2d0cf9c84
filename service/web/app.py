"""The HTTP application: handlers, and how they are put together."""

from __future__ import annotations

import time
from collections.abc import Awaitable, Callable, Coroutine, Sequence
from datetime import date
from typing import Any

import msgspec
from litestar import Litestar, Response, get, post
from litestar.handlers import HTTPRouteHandler
from litestar.params import FromPath

from service.application.access import PUBLIC, Gate, NoOrigins, Origins
from service.application.ports import Books, Quotes
from service.application.quota import Quotas
from service.engine.knowledge import Knowledge
from service.web import docs, limits
from service.web.access import asker_of
from service.web.area import Area
from service.web.beside import running
from service.web.catalogue import catalogue_of
from service.web.door import Door
from service.web.failures import handler
from service.web.front import Front, Networks
from service.web.http import JSON, RATES, Asked, conditional, etag_of, freshness, parameters
from service.web.metrics import Metrics
from service.web.openapi import build_openapi
from service.web.params import day_check, day_of, region_named, revision_check, revision_of
from service.web.problems import KINDS, ProblemError, problem
from service.web.quotes import QuoteDoor
from service.web.regions import book_of, regions_of
from service.web.requests import RequestTypes, request_types
from service.web.security import scopes_of

REFERENCE = "public, max-age=300, stale-while-revalidate=60"
"""How long reference data may be kept."""
HTML = "text/html"


def build_app(
    *, quotes: Quotes, books: Books, knowledge: Knowledge, today: Callable[[], date], gate: Gate,
    origins: Origins | None = None, quotas: Quotas | None = None, areas: Sequence[Area] = (),
    types: RequestTypes | None = None, public_url: str = "",
    trusted_proxies: Networks = (), on_shutdown: Sequence[Callable[[], Awaitable[None]]] = (),
    beside: Sequence[Callable[[], Coroutine[Any, Any, None]]] = (), seconds: Callable[[], float] = time.monotonic,
) -> Front:
    """The ASGI application.

    Args:
        quotes: answers quotes.
        books: rate books.
        knowledge: reference data.
        today: the day on which a request without a date is priced.
        gate: tells callers apart.
        origins: websites that carry a form; None for none.
        quotas: how often callers may ask; None for as often as they like.
        areas: further addresses, each area with its part of the contract.
        types: the types of a request, where an area takes requests too; else they are made here.
        public_url: address under which callers reach the service; "" for relative links.
        trusted_proxies: networks whose word on where a request came from is taken.
        on_shutdown: what to close in the end.
        beside: what runs beside the requests, from the start of the application to its end.
        seconds: a clock that never goes back, for the metrics.
    """
    types = types or request_types(knowledge)
    metrics = Metrics()
    door = QuoteDoor(quotes, types, today, metrics)
    routes = [
        _quotes(door),
        _catalogue(knowledge, types),
        *_regions(books, today),
        *_operations(books, today, metrics),
        *_pages(),
        *(route for area in areas for route in area.routes),
    ]
    contract = build_openapi(types, areas, scopes_of(routes) | CONTRACT_SCOPE)
    litestar = Litestar(
        route_handlers=[*routes, _contract(contract)],
        before_request=Door(gate, origins or NoOrigins(), quotas).enter,
        exception_handlers={Exception: handler(public_url)},
        request_max_body_size=limits.BODY_BYTES,
        on_shutdown=list(on_shutdown),
        lifespan=[running(beside)],
        openapi_config=None,
        logging_config=None,
    )
    return Front(
        litestar, contract, metrics, origins=origins or NoOrigins(), trusted_proxies=trusted_proxies, base=public_url,
        seconds=seconds,
    )


def openapi(app: Front) -> dict[str, Any]:
    """The contract of an application."""
    return app.contract


def _quotes(door: QuoteDoor) -> HTTPRouteHandler:
    @post("/v1/quotes", status_code=200, opt={"scope": "quote"})
    async def create_quote(request: Asked) -> Response[bytes]:
        return await door.answer(request)

    return create_quote


def _catalogue(knowledge: Knowledge, types: RequestTypes) -> HTTPRouteHandler:
    catalogue = msgspec.json.encode(catalogue_of(knowledge, types))
    tag = etag_of(catalogue)

    @get("/v1/catalogue", opt={"scope": PUBLIC})
    async def read_catalogue(request: Asked) -> Response[bytes]:
        return conditional(request, catalogue, etag=tag, cache=REFERENCE)

    return read_catalogue


def _contract(contract: dict[str, Any]) -> HTTPRouteHandler:
    document = msgspec.json.encode(contract)
    tag = etag_of(document)

    @get("/openapi.json", opt={"scope": PUBLIC})
    async def read_contract(request: Asked) -> Response[bytes]:
        return conditional(request, document, etag=tag, cache=REFERENCE)

    return read_contract


CONTRACT_SCOPE = {("/openapi.json", "get"): PUBLIC}
"""The contract's own handler is made last, because it holds the contract."""


def _regions(books: Books, today: Callable[[], date]) -> list[HTTPRouteHandler]:
    @get("/v1/regions", opt={"scope": "quote"})
    async def list_regions(request: Asked) -> Response[bytes]:
        caller = asker_of(request).caller
        reached = tuple(r for r in await books.regions() if caller.reaches(r.code))
        body = msgspec.json.encode(regions_of(reached))
        return conditional(request, body, etag=etag_of(body), cache=RATES)

    @get("/v1/regions/{region:str}", opt={"scope": "rates:read", "parameters": {"on": day_check(), "rates": revision_check()}})
    async def read_region(request: Asked, region: FromPath[str]) -> Response[bytes]:
        asked = parameters(request)
        shelved = await books.book(region_named(region), day_of(asked.get("on"), today), revision_of(asked.get("rates")))
        body = msgspec.json.encode(book_of(shelved.book))
        fresh = freshness(degraded=shelved.degraded, age_s=shelved.age_s)
        return conditional(request, body, etag=etag_of(body), cache=RATES, headers=fresh)

    return [list_regions, read_region]


def _operations(books: Books, today: Callable[[], date], metrics: Metrics) -> list[HTTPRouteHandler]:
    @get("/livez", opt={"scope": PUBLIC})
    async def is_alive() -> Response[bytes]:
        return Response(b'{"alive":true}', media_type=JSON)

    @get("/readyz", opt={"scope": PUBLIC})
    async def is_ready() -> Response[bytes]:
        state = await books.readiness(today())
        if not state.ready:
            raise ProblemError(problem("not-ready", state.why or "No quote could be answered now."))
        body = {"ready": True, "degraded": state.degraded, "why": state.why}
        return Response(msgspec.json.encode(body), media_type=JSON)

    @get("/metrics", opt={"scope": PUBLIC, "media": "text/plain"})
    async def read_metrics() -> Response[bytes]:
        return Response(metrics.page(books.health()), media_type="text/plain; version=0.0.4")

    return [is_alive, is_ready, read_metrics]


def _pages() -> list[HTTPRouteHandler]:
    @get("/docs", opt={"scope": PUBLIC, "media": HTML})
    async def read_docs(request: Asked) -> Response[bytes]:
        page = docs.viewer_page()
        policy = {"Content-Security-Policy": docs.POLICY}
        return conditional(request, page, etag=etag_of(page), cache=REFERENCE, media=HTML, headers=policy)

    @get("/docs/{name:str}", opt={"scope": PUBLIC, "media": "*/*"})
    async def read_docs_asset(request: Asked, name: FromPath[str]) -> Response[bytes]:
        found = docs.asset(name)
        if found is None:
            raise ProblemError(problem("not-found", "The documentation has no such file."))
        return conditional(request, found[0], etag=etag_of(found[0]), cache=REFERENCE, media=found[1])

    @get("/problems/{slug:str}", opt={"scope": PUBLIC, "media": HTML})
    async def read_problem(request: Asked, slug: FromPath[str]) -> Response[bytes]:
        kind = KINDS.get(slug)
        if kind is None:
            raise ProblemError(problem("not-found", "There is no such kind of problem."))
        page = docs.problem_page(kind)
        return conditional(request, page, etag=etag_of(page), cache=REFERENCE, media=HTML)

    return [read_docs, read_docs_asset, read_problem]
