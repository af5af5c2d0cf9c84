"""The service over books in memory, and the least that an application around the same engine could be."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

import msgspec

from service.application.access import OpenGate
from service.application.ports import Readiness, RegionRecord, ShelfHealth, Shelved
from service.application.quotes import QuoteDesk
from service.bootstrap import settle_memory
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import Survey
from service.web.app import build_app
from service.web.convert import Converter
from service.web.decoding import RequestReader
from service.web.present import Presenter
from service.web.quotes import ENGINE
from service.web.requests import request_types
from tests.engine.books import DAY, book
from tests.engine.cases import knowledge

Message = dict[str, Any]
App = Callable[[Any, Callable[[], Awaitable[Any]], Callable[[Any], Awaitable[None]]], Awaitable[None]]


class BooksInMemory:
    """The base book, without a database: what is measured is the way from bytes to bytes."""

    async def regions(self) -> tuple[RegionRecord, ...]:
        """The one region."""
        base = book()
        return (RegionRecord(base.region, base.region_name, "", base.currency, base.units, "", "", ""),)

    async def book(self, region: str, day: date, revision: str | None = None) -> Shelved:
        """The base book, whatever is asked for."""
        del region, day, revision
        return Shelved(book(), degraded=False, age_s=0.0)

    async def readiness(self, day: date) -> Readiness:
        """Always ready."""
        del day
        return Readiness(ready=True, degraded=False, why="")

    def health(self) -> ShelfHealth:
        """One book."""
        return ShelfHealth(1, degraded=False, age_s=0.0)


def service_app() -> App:
    """The whole application."""
    settle_memory()
    shelf = BooksInMemory()
    desk = QuoteDesk(shelf, knowledge(), all_methods())
    return build_app(quotes=desk, books=shelf, knowledge=knowledge(), today=lambda: DAY, gate=OpenGate(frozenset({"quote"})))


class Bare:
    """Decode, ask the engine, encode: no routing, no headers, no problems, no metrics."""

    def __init__(self) -> None:
        """Prepare decoder and encoder."""
        types = request_types(knowledge())
        self.reader, self.converter, self.encoder = RequestReader(types), Converter(types), msgspec.json.Encoder()
        self.methods = all_methods()

    def survey(self, body: bytes) -> tuple[Any, Survey]:
        """The request and its survey."""
        sent = self.reader.read(body)
        return sent, replace(self.converter.survey(sent, DAY), units=book().units)

    def shown(self, body: bytes) -> msgspec.Struct:
        """The answer as it goes on the wire, not encoded yet."""
        sent, survey = self.survey(body)
        return Presenter(quote(survey, book(), knowledge(), self.methods), sent).quote(ENGINE, "")

    async def __call__(
        self, scope: Mapping[str, Any], receive: Callable[[], Awaitable[Message]],
        send: Callable[[Message], Awaitable[None]],
    ) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            return
        body = b""
        more = True
        while more:
            message = await receive()
            body, more = body + message.get("body", b""), message.get("more_body", False)
        answer = self.encoder.encode(self.shown(body))
        headers = [(b"content-type", b"application/json"), (b"content-length", str(len(answer)).encode())]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": answer})


def bare_app() -> App:
    """The bare application."""
    settle_memory()
    return Bare()


async def call(app: App, body: bytes) -> tuple[int, bytes]:
    """One request to an application in this process: status and body."""
    sent: list[Message] = []
    waiting = [{"type": "http.request", "body": body, "more_body": False}]

    async def receive() -> Message:
        return waiting.pop() if waiting else {"type": "http.disconnect"}

    async def send(message: Message) -> None:
        sent.append(message)

    await app(_scope(body), receive, send)
    status = next(m["status"] for m in sent if m["type"] == "http.response.start")
    return status, b"".join(m.get("body", b"") for m in sent if m["type"] == "http.response.body")


def _scope(body: bytes) -> Message:
    headers = [
        (b"host", b"bench"), (b"content-type", b"application/json"), (b"content-length", str(len(body)).encode()),
        (b"accept", b"application/json"),
    ]
    return {
        "type": "http", "asgi": {"version": "3.0", "spec_version": "2.3"}, "http_version": "1.1", "method": "POST",
        "scheme": "http", "path": "/v1/quotes", "raw_path": b"/v1/quotes", "root_path": "", "query_string": b"",
        "headers": headers, "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 80), "state": {}, "extensions": {},
    }
