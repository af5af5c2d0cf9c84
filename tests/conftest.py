"""A real PostgreSQL for every test that asks for one.

By default an embedded server runs for the session. TEST_DATABASE=container takes a container instead, and
TEST_DATABASE_URL any server whose user may create databases. Each test module gets a database of its own, copied from
one that was migrated once.
"""

from __future__ import annotations

import asyncio
import os
import tempfile
import uuid
from collections.abc import AsyncIterator, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from sqlalchemy import text
from sqlalchemy.ext.asyncio import AsyncEngine, create_async_engine
from sqlalchemy.pool import NullPool

from deploy.embedded import embedded_server
from service.storage import schema, seed
from service.storage.database import async_url

ROOT = Path(__file__).parent.parent
# What a busy machine does slowly is no fault of what is tested; what never ends is ended by pytest's own limit.
settings.register_profile("anew", deadline=None, suppress_health_check=[HealthCheck.too_slow])
# A change lands or not by what it does, not by the luck of a draw: elsewhere every run draws anew.
settings.register_profile("ci", settings.get_profile("anew"), derandomize=True, database=None)
settings.load_profile("ci" if os.environ.get("CI") else "anew")
RATES = ROOT / "fixtures" / "rates"
CONTAINER_IMAGE = "postgres:15"


@contextmanager
def _server() -> Iterator[str]:
    """The address of the server that the environment asks for."""
    if given := os.environ.get("TEST_DATABASE_URL"):
        yield given
        return
    asked = os.environ.get("TEST_DATABASE", "embedded")
    if asked == "container":
        # Loaded only here: it brings a client for container engines along.
        from testcontainers.community.postgres import PostgresContainer

        image = os.environ.get("TEST_DATABASE_IMAGE", CONTAINER_IMAGE)
        with PostgresContainer(image) as container:
            yield container.get_connection_url(driver=None)
    elif asked == "embedded":
        with (
            tempfile.TemporaryDirectory(prefix="pg-") as folder,
            embedded_server(Path(folder), print, durable=False) as url,
        ):
            yield url
    else:
        raise pytest.UsageError(f"TEST_DATABASE={asked!r}; it may be embedded or container")


def bare_engine(url: str) -> AsyncEngine:
    """An engine that keeps no connection, so that it may be used from any event loop."""
    return create_async_engine(async_url(url), poolclass=NullPool)


def run_sql(url: str, *statements: str) -> None:
    """Run statements outside a transaction, as making a database needs."""

    async def run() -> None:
        engine = bare_engine(url).execution_options(isolation_level="AUTOCOMMIT")
        async with engine.connect() as connection:
            for statement in statements:
                await connection.execute(text(statement))

    asyncio.run(run())


def _named(url: str, name: str) -> str:
    """The same server's database of that name."""
    return async_url(url).set(database=name).render_as_string(hide_password=False)


@contextmanager
def _fresh(server: str, template: str) -> Iterator[str]:
    """A database that is a copy of another one, and is gone afterwards."""
    name = f"t_{uuid.uuid4().hex}"
    run_sql(server, f"CREATE DATABASE {name} TEMPLATE {template}")
    try:
        yield _named(server, name)
    finally:
        run_sql(server, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(scope="session")
def database_server() -> Iterator[str]:
    """The server, where the tests may make databases."""
    with _server() as url:
        yield url


@pytest.fixture(scope="session")
def migrated_template(database_server: str) -> Iterator[str]:
    """The name of a migrated, empty database."""
    with _fresh(database_server, "template1") as url:
        asyncio.run(schema.upgrade(bare_engine(url)))
        yield str(async_url(url).database)


@pytest.fixture(scope="session")
def loaded_template(database_server: str, migrated_template: str) -> Iterator[str]:
    """The name of a database that holds the base book and the demo regions."""
    with _fresh(database_server, migrated_template) as url:
        asyncio.run(seed.load(bare_engine(url), RATES))
        yield str(async_url(url).database)


@pytest.fixture(scope="module")
def empty_url(database_server: str) -> Iterator[str]:
    """The address of this module's own database without any table."""
    with _fresh(database_server, "template1") as url:
        yield url


@pytest.fixture(scope="module")
def database_url(database_server: str, migrated_template: str) -> Iterator[str]:
    """The address of this module's own database: migrated, empty."""
    with _fresh(database_server, migrated_template) as url:
        yield url


@pytest.fixture(scope="module")
def loaded_url(database_server: str, loaded_template: str) -> Iterator[str]:
    """The address of this module's own database: the base book and the demo regions."""
    with _fresh(database_server, loaded_template) as url:
        yield url


@pytest.fixture
async def engine(database_url: str) -> AsyncIterator[AsyncEngine]:
    """An engine on this module's migrated, empty database."""
    made = bare_engine(database_url)
    yield made
    await made.dispose()


@pytest.fixture
async def loaded_engine(loaded_url: str) -> AsyncIterator[AsyncEngine]:
    """An engine on this module's database with the fixtures."""
    made = bare_engine(loaded_url)
    yield made
    await made.dispose()
