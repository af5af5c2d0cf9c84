"""Publishing a region's book anew with a few lines changed, straight into the tables, for tests of what is read afterwards."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

import httpx
from sqlalchemy import select

from service.storage.copying import copy_rows
from service.storage.publishing import BOOK, open_draft, publish
from service.storage.tables import book_revision, rate_line
from tests.conftest import bare_engine
from tests.rates.offices import FIRST_DAY, Office
from tests.storage.factory import publish_count

Key = tuple[str, str]


async def republish(
    url: str, region_id: int, *changed: Mapping[str, Any], without: Iterable[Key] = (), effective: date = FIRST_DAY,
    who: str = "server:k1", name: str = "the office", why: str = "prices of the week",
) -> int:
    """Publish the newest book of a region with these lines in place of, or beside, its own. Returns the number."""
    engine = bare_engine(url)
    async with engine.begin() as connection:
        newest = (
            select(book_revision.c.id).where(book_revision.c.region_id == region_id, book_revision.c.number.is_not(None))
            .order_by(book_revision.c.number.desc()).limit(1)
        )
        base = (await connection.execute(newest)).scalar_one()
        rows = (await connection.execute(select(rate_line).where(rate_line.c.revision_id == base))).mappings().all()
        held = {(row["section"], row["code"]): {k: v for k, v in row.items() if k != "revision_id"} for row in rows}
        held |= {(row["section"], row["code"]): {"locked": False, **row} for row in changed}
        draft = await open_draft(connection, BOOK, region_id, who, base)
        kept = [{"revision_id": draft, **row} for key, row in held.items() if key not in set(without)]
        await copy_rows(connection, rate_line, kept)
        number = await publish(connection, BOOK, draft, effective, who, why, name)
    await engine.dispose()
    return number


async def recount(url: str, region_id: int, *pieces: Mapping[str, Any], effective: date = FIRST_DAY) -> int:
    """Publish a count of a region's yard. Returns the number."""
    engine = bare_engine(url)
    async with engine.begin() as connection:
        number = await publish_count(connection, region_id, *map(dict, pieces), effective=effective)
    await engine.dispose()
    return number


async def in_force(office: Office, *parts: str, **on: str) -> str:
    """The chain in force (on a day), once the service has heard of the revisions that it must name."""
    rates: str = ""
    for _ in range(200):
        rates = (await office.client.get(office.path("lines"), params={"limit": 1, **on})).json()["rates"]
        if all(part in rates.split("/") for part in parts):
            return rates
        await asyncio.sleep(0.05)
    raise AssertionError(f"{parts} never came in force; {rates} is")


async def get(office: Office, path: str, **params: Any) -> Any:
    """The body of an answer that must be there."""
    answer = await office.client.get(office.path(path), params=params)
    assert answer.status_code == httpx.codes.OK, answer.text
    return answer.json()
