"""Migrations: up, down, and in step with the tables that the code speaks of."""

from __future__ import annotations

from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Connection, text
from sqlalchemy.ext.asyncio import AsyncEngine

from service.storage import schema
from service.storage.tables import metadata
from tests.conftest import bare_engine

LEFT_OVER = """
SELECT 'table ' || tablename FROM pg_tables WHERE schemaname = 'public' AND tablename <> 'alembic_version'
UNION ALL SELECT 'function ' || proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace
UNION ALL SELECT 'type ' || typname FROM pg_type WHERE typnamespace = 'public'::regnamespace AND typname !~ 'alembic'
"""
CHECKS = """
SELECT conrelid::regclass::text, conname, pg_get_constraintdef(oid) FROM pg_constraint
WHERE connamespace = 'public'::regnamespace AND conrelid <> 'alembic_version'::regclass ORDER BY 1, 2
"""


async def test_migrations_go_up_down_to_nothing_and_up_again(empty_url: str) -> None:
    engine = bare_engine(empty_url)
    await schema.upgrade(engine)
    assert await schema.current(engine) == schema.head()

    await schema.downgrade(engine, "base")
    async with engine.connect() as connection:
        assert (await connection.execute(text(LEFT_OVER))).all() == []
    assert await schema.current(engine) is None

    await schema.upgrade(engine)
    assert await schema.current(engine) == schema.head()


async def test_upgrading_twice_changes_nothing(engine: AsyncEngine) -> None:
    await schema.upgrade(engine)
    assert await schema.current(engine) == schema.head()


async def test_the_tables_of_the_code_are_those_of_the_migrations(engine: AsyncEngine) -> None:
    def differences(connection: Connection) -> list[object]:
        return list(compare_metadata(MigrationContext.configure(connection), metadata))

    async with engine.connect() as connection:
        assert await connection.run_sync(differences) == []


async def test_constraints_of_the_code_are_those_of_the_migrations(empty_url: str) -> None:
    """The comparison above is blind to checks and exclusions, so both are built and asked of the database."""
    built = bare_engine(empty_url)
    await schema.upgrade(built)
    async with built.begin() as connection:
        migrated = (await connection.execute(text(CHECKS))).all()
        await connection.run_sync(metadata.drop_all)
        await connection.run_sync(metadata.create_all)
        assert (await connection.execute(text(CHECKS))).all() == migrated
        await connection.rollback()
    assert len(migrated) > 40
