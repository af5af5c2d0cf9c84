"""Small books for the tests, written as an operator's edit will be: draft, rows, publish."""

from __future__ import annotations

import uuid
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import insert
from sqlalchemy.ext.asyncio import AsyncConnection

from service.storage.copying import copy_rows
from service.storage.publishing import BOOK, STOCK, open_draft, publish
from service.storage.tables import rate_line, region, stick

SPRING = date(2026, 3, 1)


async def new_region(connection: AsyncConnection, parent_id: int | None = None) -> tuple[int, str]:
    """A region of a name that no other test uses: its id and code."""
    code = f"r{uuid.uuid4().hex[:12]}"
    row = {
        "code": code,
        "name": code.upper(),
        "parent_id": parent_id,
        "currency": "USD",
        "units": "imperial",
        "holiday_country": "US",
        "holiday_subdiv": "",
        "note": "",
    }
    made = await connection.execute(insert(region).values(row).returning(region.c.id))
    return made.scalar_one(), code


def line(code: str, likely: str = "10.00", **changed: Any) -> dict[str, Any]:
    """A plain line of labour."""
    row = {"section": "resources", "code": code, "unit": "h", "kind": "labour", "source": "test", "what": code}
    return {**row, "low": Decimal(5), "likely": Decimal(likely), "high": Decimal(20), **changed}


def piece(code: str, **changed: Any) -> dict[str, Any]:
    """A dry log in the yard."""
    row = {"code": code, "form": "log", "section_in": Decimal(12), "second_in": None, "length_ft": Decimal("16.5")}
    row |= {"moisture_pct": Decimal(15), "moisture_depth_in": Decimal(2), "read_on": SPRING, "species": "pine"}
    return {**row, "cut": "plain", "where_kept": "rack 2", "held_for": None, "held_until": None, **changed}


async def publish_book(
    connection: AsyncConnection, region_id: int, *lines: dict[str, Any], effective: date = SPRING
) -> int:
    """Publish a book that holds these lines. Returns its number."""
    draft = await open_draft(connection, BOOK, region_id, "tester")
    await copy_rows(connection, rate_line, [{"revision_id": draft, **row} for row in lines])
    return await publish(connection, BOOK, draft, effective, "tester", "test")


async def publish_count(
    connection: AsyncConnection, region_id: int, *pieces: dict[str, Any], effective: date = SPRING
) -> int:
    """Publish a count of the yard. Returns its number."""
    draft = await open_draft(connection, STOCK, region_id, "tester")
    await copy_rows(connection, stick, [{"revision_id": draft, **row} for row in pieces])
    return await publish(connection, STOCK, draft, effective, "tester", "test")
