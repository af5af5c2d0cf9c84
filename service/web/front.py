"""The outermost layer: what has to hold for every answer, also where no handler was found.

QUERY (RFC 10008) is POST to the quotes, HEAD is GET without its body, Allow names every method, each answer has its
request id, and each failure is a problem.
"""

from __future__ import annotations

import ipaddress
import logging
import re
from collections.abc import Awaitable, Callable, Mapping, MutableMapping, Sequence
from typing import Any, cast
from uuid import uuid4

import msgspec
from litestar import Litestar
from litestar.routes import HTTPRoute
from litestar.types import Receive, Scope, Send

from service.application.access import Origins
from service.web.door import ORIGIN
from service.web.http import ADDRESS, REQUEST_ID
from service.web.metrics import Metrics
from service.web.problems import MEDIA_TYPE, problem
from service.web.quota import ALLOWANCES

QUOTES = "/v1/quotes"
GIVEN_ID = re.compile(rb"[A-Za-z0-9._-]{1,64}")
LOG = logging.getLogger("service.web")

PREFLIGHT = "service.preflight"
"""Key that marks a browser's question before a request, in the ASGI scope."""
LONGEST_ADDRESS = 64
EXPOSED = b"ETag, RateLimit, RateLimit-Policy, Retry-After, X-Request-Id"
"""Headers that a website's script may read."""

Networks = Sequence[ipaddress.IPv4Network | ipaddress.IPv6Network]
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
        self, litestar: Litestar, contract: dict[str, Any], metrics: Metrics, *, origins: Origins,
        trusted_proxies: Networks, base: str, seconds: Callable[[], float],
    ) -> None:
        """Wrap the application."""
        self.litestar, self.contract = litestar, contract
        self._metrics, self._base, self._seconds = metrics, base, seconds
        self._origins, self._trusted = origins, trusted_proxies
        self._methods = {r.path_format: frozenset(r.methods) for r in litestar.routes if isinstance(r, HTTPRoute)}

    async def __call__(self, scope: Message, receive: Callable[[], Awaitable[Message]], send: Sender) -> None:
        """Answer one connection."""
        if scope["type"] != "http":
            await self.litestar(cast("Scope", scope), cast("Receive", receive), cast("Send", send))
            return
        started = self._seconds()
        asked = scope["method"]
        inner = {**scope, REQUEST_ID: _request_id(scope), ADDRESS: self._address(scope)}
        if asked == "HEAD":
            inner["method"] = "GET"
        elif asked == "QUERY" and scope["path"] == QUOTES:
            inner["method"] = "POST"
        elif asked == "OPTIONS":
            await self._preflight(inner)
        out = _Out(send, inner, self._methods, bodiless=asked == "HEAD")
        try:
            await self.litestar(cast("Scope", inner), cast("Receive", receive), cast("Send", out))
        except Exception:
            LOG.exception("request %s failed", inner[REQUEST_ID])
            if out.status is not None:
                raise
            await self._failed(inner, out)
        route = inner.get("path_template") or "none"
        self._metrics.answered(asked, route, out.status or 500, self._seconds() - started)

    async def _preflight(self, scope: Message) -> None:
        """A browser's question before a form is sent: websites that carry a form may ask, exactly those."""
        origin = header_of(scope, b"origin")
        if origin and header_of(scope, b"access-control-request-method") and await self._origins.listed(origin):
            scope[ORIGIN] = origin
            scope[PREFLIGHT] = True

    def _address(self, scope: Message) -> str:
        """Where a request came from: the nearest address on its way that is not one of our own proxies."""
        client = scope.get("client")
        hops = [str(client[0])] if client else []
        hops += reversed([hop.strip() for hop in header_of(scope, b"x-forwarded-for").split(",") if hop.strip()])
        for hop in hops:
            if not _within(hop, self._trusted):
                return hop[:LONGEST_ADDRESS]
        return hops[-1][:LONGEST_ADDRESS] if hops else ""

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

    def __init__(self, send: Sender, scope: Message, methods: Mapping[str, frozenset[str]], *, bodiless: bool) -> None:
        self._send, self._scope, self._methods, self._bodiless = send, scope, methods, bodiless
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
        headers += [(n.lower().encode(), v.encode()) for n, v in self._scope.get(ALLOWANCES, {}).items()]
        return _for_website(headers, self._scope)

    def _allow(self, value: bytes) -> bytes:
        """Every method of the address, with those that we map: the framework's OPTIONS knows one handler's only."""
        methods = {m.strip() for m in value.decode().split(",") if m.strip()} | {"OPTIONS"}
        methods |= self._methods.get(self._scope.get("path_template", ""), frozenset())
        if "GET" in methods:
            methods.add("HEAD")
        if self._scope["path"] == QUOTES:
            methods |= {"POST", "QUERY"}
        return ", ".join(sorted(methods)).encode()


def _for_website(headers: Headers, scope: Message) -> Headers:
    """What a browser needs before it shows an answer to a website (Fetch standard): that very origin, by name."""
    origin = scope.get(ORIGIN)
    if origin:
        headers.append((b"access-control-allow-origin", origin.encode("latin-1")))
        headers.append((b"access-control-expose-headers", EXPOSED))
    if scope.get(PREFLIGHT):
        headers.append((b"access-control-allow-methods", b"GET, POST"))
        headers.append((b"access-control-allow-headers", b"Authorization, X-API-Key, Content-Type, X-Request-Id"))
        headers.append((b"access-control-max-age", b"7200"))
    # Also where no website asked: an answer that was kept for one caller must not be given to another.
    varies = b", ".join(v for n, v in headers if n.lower() == b"vary")
    others = [(n, v) for n, v in headers if n.lower() != b"vary"]
    return [*others, (b"vary", varies + b", Origin" if varies else b"Origin")]


def _within(hop: str, networks: Networks) -> bool:
    try:
        address = ipaddress.ip_address(hop)
    except ValueError:
        return False
    # A socket for both families writes an IPv4 address within an IPv6 one.
    address = getattr(address, "ipv4_mapped", None) or address
    return any(address in network for network in networks)


def header_of(scope: Message, name: bytes) -> str:
    """A header's value, those that stand several times joined; "" without it."""
    return ", ".join(value.decode("latin-1") for key, value in scope["headers"] if key == name)


def _request_id(scope: Message) -> str:
    """The caller's own id where it has a sensible form, else a new one."""
    for name, value in scope["headers"]:
        if name == b"x-request-id" and GIVEN_ID.fullmatch(value):
            return str(value, "ascii")
    return str(uuid4())
