"""The whole service on a real database, with keys of every kind, and clients that hold them."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterable
from contextlib import AsyncExitStack, asynccontextmanager
from typing import Literal, Protocol

import httpx
import pytest

from service.application.access import SCOPES, Asker, Caller
from service.bootstrap import create_app
from service.settings import Settings
from service.storage.keys import make_key
from service.web.front import Front
from tests.conftest import bare_engine

SECRET = "a secret for tests, long enough to be taken"


class ClientOf(Protocol):
    """Makes clients that hold a key."""

    async def __call__(
        self,
        scopes: Iterable[str] = SCOPES,
        regions: Iterable[str] | None = None,
        *,
        sort: Literal["server", "form"] = "server",
        origins: Iterable[str] = (),
        per_minute: int = 0,
    ) -> httpx.AsyncClient: ...


def settings_for(url: str, **more: object) -> Settings:
    """Settings of a service with keys on that database."""
    usual = {
        "database_patience_s": 20.0, "key_secret": SECRET, "quota_per_key": 0, "quota_per_form_key": 0, "quota_per_address": 0,
    }
    return Settings(database_url=url, **(usual | more))  # type: ignore[arg-type]  # names are the settings' own


@asynccontextmanager
async def living(app: Front) -> AsyncIterator[None]:
    """The application, started before and stopped after, in a task of its own: a fixture ends in another than it began in."""
    up, down = asyncio.Event(), asyncio.Event()

    async def live() -> None:
        async with app.litestar.lifespan():
            up.set()
            await down.wait()

    life = asyncio.create_task(live())
    rising = asyncio.create_task(up.wait())
    await asyncio.wait({life, rising}, return_when=asyncio.FIRST_COMPLETED)
    try:
        yield
    finally:
        down.set()
        rising.cancel()
        await life


@pytest.fixture
async def app(loaded_url: str) -> AsyncIterator[Front]:
    """The application on this module's database, started before and stopped after as a server would."""
    made = create_app(settings_for(loaded_url))
    async with living(made):
        yield made


@pytest.fixture
async def client_of(app: Front, loaded_url: str) -> AsyncIterator[ClientOf]:
    """Makes a key with these scopes for these regions (None: every one), and a client that holds it."""
    async with AsyncExitStack() as stack:

        async def make(
            scopes: Iterable[str] = SCOPES, regions: Iterable[str] | None = None, *,
            sort: Literal["server", "form"] = "server", origins: Iterable[str] = (), per_minute: int = 0,
        ) -> httpx.AsyncClient:
            engine = bare_engine(loaded_url)
            async with engine.begin() as connection:
                key = await make_key(
                    connection, SECRET.encode(), sort=sort, name=f"{sort} of a test", scopes=scopes, regions=regions,
                    origins=origins, per_minute=per_minute, made_by="tests",
                )
            await engine.dispose()
            return await stack.enter_async_context(httpx.AsyncClient(
                transport=httpx.ASGITransport(app=app, raise_app_exceptions=False), base_url="http://rates.test",
                headers={"Authorization": f"Bearer {key.text}"},
            ))

        yield make


@pytest.fixture
async def office(client_of: ClientOf) -> httpx.AsyncClient:
    """A franchise office: everything but administration, for one region."""
    return await client_of([s for s in SCOPES if s != "admin"], ["kestrel-range"])


@pytest.fixture
async def head_office(client_of: ClientOf) -> httpx.AsyncClient:
    """The head office: everything, everywhere."""
    return await client_of()


@pytest.fixture
async def stranger(app: Front) -> AsyncIterator[httpx.AsyncClient]:
    """A client without a key."""
    async with httpx.AsyncClient(
        transport=httpx.ASGITransport(app=app, raise_app_exceptions=False), base_url="http://rates.test"
    ) as made:
        yield made


def asker(name: str = "tests", regions: frozenset[str] | None = None) -> Asker:
    """Somebody at work, for tests below the web."""
    return Asker(Caller("server", name, name, frozenset(SCOPES), regions), "192.0.2.1", "test-request")


