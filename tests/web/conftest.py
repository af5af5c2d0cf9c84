"""The application with its ports played, and a client that speaks to it without a server."""

from __future__ import annotations

from collections.abc import AsyncIterator
from typing import Any

import httpx
import pytest

from service.application.access import OpenGate
from service.engine.knowledge import Knowledge
from service.reference.load import load_knowledge
from service.web.app import build_app
from service.web.front import Front
from tests.web.fakes import CannedQuotes, FixtureBooks, today

OPEN = OpenGate(frozenset({"quote", "rates:read"}))
"""Everybody may quote and read: what these tests ask about is not who asks."""

SMALLEST: dict[str, Any] = {
    "region": "kestrel-range",
    "defects": [{"element": "under_window", "damage": "soft_wood", "length": "8 ft"}],
}


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    """The reference data, read once."""
    return load_knowledge()


@pytest.fixture(scope="session")
def desk() -> CannedQuotes:
    """Quotes made by hand, with books that a test may take away."""
    return CannedQuotes()


@pytest.fixture(scope="session")
def app(desk: CannedQuotes, knowledge: Knowledge) -> Front:
    """The application, made once."""
    return build_app(quotes=desk, books=desk.books, knowledge=knowledge, today=today, gate=OPEN)


@pytest.fixture
def quotes(desk: CannedQuotes) -> CannedQuotes:
    """The desk, with nothing asked and no slip yet."""
    desk.asked.clear()
    desk.slips = ()
    desk.books.away = desk.books.stale = False
    return desk


@pytest.fixture
def books(quotes: CannedQuotes) -> FixtureBooks:
    """Books that a test may take away."""
    return quotes.books


def client_of(app: Front) -> httpx.AsyncClient:
    """A client of an application; a failure shows as the answer that a caller would get."""
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    return httpx.AsyncClient(transport=transport, base_url="http://quotes.test")


@pytest.fixture
async def client(app: Front, quotes: CannedQuotes) -> AsyncIterator[httpx.AsyncClient]:  # noqa: ARG001  # reset first
    """A client of the application."""
    async with client_of(app) as made:
        yield made


async def ask(client: httpx.AsyncClient, body: Any, **more: Any) -> httpx.Response:
    """Post a request for a quote."""
    return await client.post("/v1/quotes", json=body, **more)
