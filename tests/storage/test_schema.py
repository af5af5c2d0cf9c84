"""Migrations: up, down, and in step with the tables that the code speaks of."""

from __future__ import annotations

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError
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


BEFORE_REVERTS = """
INSERT INTO region (code, name, currency, units, holiday_country, holiday_subdiv, note)
    VALUES ('home', 'Home', 'USD', 'imperial', '', '', ''), ('away', 'Away', 'USD', 'imperial', '', '', '');
INSERT INTO book_revision (region_id, number, status, effective_from, published_at, who)
    SELECT region.id, number, 'published', '2026-01-01', now(), 'server:a' FROM region, generate_series(1, 3) AS number;
INSERT INTO audit_entry (at, region_id, who, name, address, request_id, action, subject, details, previous, digest)
    SELECT now(), region.id, 'server:a', '', '', '', 'revision.publish', code || '/revisions/' || number,
        CASE number WHEN 3 THEN '{"reverts_to": 1}' ELSE '{"reverts_to": null}' END,
        sha256((code || number)::bytea), sha256('x')
    FROM region, generate_series(2, 3) AS number WHERE code = 'home';
"""
GONE_BACK_TO = """
SELECT code, made.number, earlier.number FROM book_revision AS made JOIN region ON region.id = made.region_id
JOIN book_revision AS earlier ON earlier.id = made.reverts_to_id AND earlier.region_id = made.region_id
"""


async def test_what_the_log_knows_of_reverts_is_taken_over_and_published_books_stay_closed(empty_url: str) -> None:
    engine = bare_engine(empty_url)
    await schema.upgrade(engine)
    await schema.downgrade(engine, "base")
    await schema.upgrade(engine, "0005")
    async with engine.begin() as connection:
        for statement in BEFORE_REVERTS.split(";\n"):
            if statement.strip():
                await connection.exec_driver_sql(statement)
    await schema.upgrade(engine)
    async with engine.connect() as connection:
        assert [tuple(row) for row in await connection.execute(text(GONE_BACK_TO))] == [("home", 3, 1)]
        with pytest.raises(DBAPIError, match="published and never changes"):
            await connection.execute(text("UPDATE book_revision SET reverts_to_id = NULL"))
    await schema.downgrade(engine, "base")


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
