"""The outermost layer: what has to hold for every answer, also where no handler was found.

QUERY (RFC 10008) is POST to the quotes, HEAD is GET without its body, Allow names every method, each answer has its
request id, and each failure is a problem.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any, cast
from uuid import uuid4

import msgspec
from litestar import Litestar
from litestar.types import Receive, Scope, Send

from service.web.http import ADDRESS, REQUEST_ID
from service.web.metrics import Metrics
from service.web.problems import MEDIA_TYPE, problem

QUOTES = "/v1/quotes"
GIVEN_ID = re.compile(rb"[A-Za-z0-9._-]{1,64}")
LOG = logging.getLogger("service.web")

Headers = list[tuple[bytes, bytes]]
Message = MutableMapping[str, Any]
Sender = Callable[[Message], Awaitable[None]]


class Front:
    """The ASGI application.

    Attributes:
        litestar: the application within.
        contract: the OpenAPI document.
    """

    def __init__(
        self, litestar: Litestar, contract: dict[str, Any], metrics: Metrics, *, base: str, seconds: Callable[[], float]
    ) -> None:
        """Wrap the application."""
        self.litestar, self.contract = litestar, contract
        self._metrics, self._base, self._seconds = metrics, base, seconds

    async def __call__(self, scope: Message, receive: Callable[[], Awaitable[Message]], send: Sender) -> None:
        """Answer one connection."""
        if scope["type"] != "http":
            await self.litestar(cast("Scope", scope), cast("Receive", receive), cast("Send", send))
            return
        started = self._seconds()
        asked = scope["method"]
        inner = {**scope, REQUEST_ID: _request_id(scope), ADDRESS: (scope.get("client") or ("",))[0]}
        if asked == "HEAD":
            inner["method"] = "GET"
        elif asked == "QUERY" and scope["path"] == QUOTES:
            inner["method"] = "POST"
        out = _Out(send, inner, bodiless=asked == "HEAD")
        try:
            await self.litestar(cast("Scope", inner), cast("Receive", receive), cast("Send", out))
        except Exception:
            LOG.exception("request %s failed", inner[REQUEST_ID])
            if out.status is not None:
                raise
            await self._failed(inner, out)
        route = inner.get("path_template") or "none"
        self._metrics.answered(asked, route, out.status or 500, self._seconds() - started)

    async def _failed(self, scope: Message, out: _Out) -> None:
        """A failure outside every handler, as a problem."""
        trouble = problem("internal-error", "The service failed; it was logged under the request_id.")
        body = msgspec.json.encode(
            trouble.problem(base=self._base, path=scope["path"], request_id=scope[REQUEST_ID])
        )
        headers: Headers = [
            (b"content-type", MEDIA_TYPE.encode()), (b"content-length", str(len(body)).encode())
        ]
        await out({"type": "http.response.start", "status": 500, "headers": headers})
        await out({"type": "http.response.body", "body": body, "more_body": False})


class _Out:
    """Sends on, with the headers that every answer has."""

    def __init__(self, send: Sender, scope: Message, *, bodiless: bool) -> None:
        self._send, self._scope, self._bodiless = send, scope, bodiless
        self.status: int | None = None

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.status = message["status"]
            await self._send({**message, "headers": self._headers(list(message["headers"]))})
        elif message["type"] == "http.response.body" and self._bodiless:
            if not message.get("more_body", False):
                await self._send({"type": "http.response.body", "body": b"", "more_body": False})
        else:
            await self._send(message)

    def _headers(self, headers: Headers) -> Headers:
        given = {name.lower() for name, _ in headers}
        headers = [(n, self._allow(v) if n.lower() == b"allow" else v) for n, v in headers]
        headers.append((b"x-request-id", self._scope[REQUEST_ID].encode()))
        headers.append((b"x-content-type-options", b"nosniff"))
        if b"cache-control" not in given:
            headers.append((b"cache-control", b"no-store"))
        if self._scope["path"] == QUOTES:
            headers.append((b"accept-query", b"application/json"))
        return headers

    def _allow(self, value: bytes) -> bytes:
        """Every method of the address, with those that we map."""
        methods = {m.strip() for m in value.decode().split(",") if m.strip()} | {"OPTIONS"}
        if "GET" in methods:
            methods.add("HEAD")
        if self._scope["path"] == QUOTES:
            methods |= {"POST", "QUERY"}
        return ", ".join(sorted(methods)).encode()


def _request_id(scope: Message) -> str:
    """The caller's own id where it has a sensible form, else a new one."""
    for name, value in scope["headers"]:
        if name == b"x-request-id" and GIVEN_ID.fullmatch(value):
            return str(value, "ascii")
    return str(uuid4())
