"""Bringing a database's schema to a revision, and telling which one it has."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, text
from sqlalchemy.ext.asyncio import AsyncEngine

FOLDER = Path(__file__).parent / "migrations"
LOCK = 7_402_113_000
"""Advisory lock held while the schema or the fixtures change, so that two starts at once wait for each other."""


def config(connection: Connection | None = None) -> Config:
    """Alembic's configuration without an ini file. `%` is doubled because Alembic interpolates."""
    made = Config()
    made.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    # Said outright, because the default splits folders at spaces.
    made.set_main_option("path_separator", "os")
    made.attributes["connection"] = connection
    return made


@lru_cache(maxsize=1)
def head() -> str:
    """The newest schema revision that this code knows."""
    newest = ScriptDirectory.from_config(config()).get_current_head()
    if newest is None:
        raise RuntimeError(f"no migrations in {FOLDER}")
    return newest


async def current(engine: AsyncEngine) -> str | None:
    """The schema revision that the database has; None for an empty one."""
    async with engine.connect() as connection:
        return await connection.run_sync(current_of)


def current_of(connection: Connection) -> str | None:
    """The schema revision seen through an open connection."""
    return MigrationContext.configure(connection).get_current_revision()


async def upgrade(engine: AsyncEngine, to: str = "head") -> None:
    """Run the migrations up to a revision, in one transaction."""
    await _run(engine, lambda setup: command.upgrade(setup, to))


async def downgrade(engine: AsyncEngine, to: str) -> None:
    """Run the migrations back to a revision ("base": an empty schema), in one transaction."""
    await _run(engine, lambda setup: command.downgrade(setup, to))


async def _run(engine: AsyncEngine, step: Callable[[Config], None]) -> None:
    async with engine.begin() as connection:
        await connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
        await connection.run_sync(lambda sync: step(config(sync)))
