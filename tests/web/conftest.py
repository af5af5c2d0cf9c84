"""The application with its ports played, and a client that speaks to it without a server."""

from __future__ import annotations

from collections.abc import AsyncIterator
from typing import Any

import httpx
import pytest

from service.engine.knowledge import Knowledge
from service.reference.load import load_knowledge
from service.web.app import build_app
from service.web.front import Front
from tests.web.fakes import CannedQuotes, FixtureBooks, today

SMALLEST = {"region": "kestrel-range", "defects": [{"element": "under_window", "damage": "soft_wood", "length": "8 ft"}]}


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    """The reference data, read once."""
    return load_knowledge()


@pytest.fixture
def books() -> FixtureBooks:
    """Books that a test may take away."""
    return FixtureBooks()


@pytest.fixture
def quotes(books: FixtureBooks) -> CannedQuotes:
    """Quotes made by hand."""
    return CannedQuotes(books)


@pytest.fixture
def app(quotes: CannedQuotes, books: FixtureBooks, knowledge: Knowledge) -> Front:
    """The application."""
    return build_app(quotes=quotes, books=books, knowledge=knowledge, today=today)


@pytest.fixture
async def client(app: Front) -> AsyncIterator[httpx.AsyncClient]:
    """A client of the application; a failure shows as the answer that a caller would get."""
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    async with httpx.AsyncClient(transport=transport, base_url="http://quotes.test") as made:
        yield made


async def ask(client: httpx.AsyncClient, body: Any, **more: Any) -> httpx.Response:
    """Post a request for a quote."""
    return await client.post("/v1/quotes", json=body, **more)
