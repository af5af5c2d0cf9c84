"""Writing many rows at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import Table
from sqlalchemy.ext.asyncio import AsyncConnection


async def copy_rows(connection: AsyncConnection, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """COPY rows of like keys into a table, inside the connection's open transaction."""
    if not rows:
        return
    columns = list(rows[0])
    records: Iterable[tuple[Any, ...]] = (tuple(row[column] for column in columns) for row in rows)
    raw = await connection.get_raw_connection()
    driver: Any = raw.driver_connection
    await driver.copy_records_to_table(table.name, records=records, columns=columns)
