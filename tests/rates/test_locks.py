"""Lines that the head office locks: what an office may still do, what it is told, and what quotes make of it."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta
from typing import Any

import httpx
import pytest

from service.storage.publishing import BOOK, publish
from tests.conftest import bare_engine
from tests.rates.conftest import ClientOf
from tests.rates.drafting import CSV, DRAFTS, LEAD, WHOLE, faults, opened, own_lines, state, tidy

BASE = "/v1/regions/base/drafts"
QUOTE: dict[str, Any] = {
    "region": "kestrel-range",
    "defects": [{"element": "wall_low", "damage": "pocket_deep", "section": "11 in", "depth": "3 in", "length": "4 ft"}],
}


@pytest.fixture(autouse=True)
async def _tidy(client_of: ClientOf, loaded_url: str, head_office: httpx.AsyncClient) -> AsyncIterator[None]:
    """Each test begins with nothing locked and leaves no draft behind."""
    yield
    await tidy(await client_of())
    await lock(head_office, loaded_url, locked=False)


async def lock(head_office: httpx.AsyncClient, url: str, *, locked: bool, days: int = 0) -> None:
    """Publish a base book in which the lead's rate is locked, or is not, so many days from today, and wait for the news."""
    at, _ = await opened(head_office, {**LEAD, "locked": locked}, at=BASE)
    engine = bare_engine(url)
    async with engine.begin() as connection:
        day = datetime.now(UTC).date() + timedelta(days=days)
        number = await publish(connection, BOOK, int(at.rpartition("/")[2]), day, "tests", "for a test")
    await engine.dispose()
    if not days:
        await heard(head_office, number)


async def heard(client: httpx.AsyncClient, number: int) -> None:
    """Wait until quotes are given from that number of the base book: every process hears of it a moment later."""
    for _ in range(400):
        if (await lead_of(client))["rates"].startswith(f"base@{number}+"):
            return
        await asyncio.sleep(0.05)
    pytest.fail(f"nobody heard of revision {number}")


async def lead_of(client: httpx.AsyncClient, rates: str | None = None) -> dict[str, Any]:
    query = "" if rates is None else f"?rates={rates}"
    book = (await client.get(f"/v1/regions/kestrel-range{query}")).json()
    return {"rates": book["rates"], **next(line for line in book["lines"] if line["code"] == "lead")}


async def test_an_office_that_writes_a_locked_line_is_told_who_locked_it(
    office: httpx.AsyncClient, head_office: httpx.AsyncClient, loaded_url: str
) -> None:
    at, tag = await opened(office)
    await lock(head_office, loaded_url, locked=True)
    line = f"{at}/lines/resources/lead"
    for answer in (
        await office.put(line, json=WHOLE, headers=tag), await office.patch(line, json={"likely": "130"}, headers=tag),
        await office.post(DRAFTS, json={"lines": [{**LEAD, "likely": "130"}]}),
    ):
        told = faults(answer, 409)
        assert answer.json()["type"] == "/problems/line-locked"
        assert set(told) <= {"None", "#/lines/0/code"} and all("locked by base" in detail for detail in told.values())


async def test_a_sheet_with_a_locked_line_names_the_cell(
    office: httpx.AsyncClient, head_office: httpx.AsyncClient, loaded_url: str
) -> None:
    at, tag = await opened(office)
    sheet = (await office.get(f"{at}/lines", headers={"Accept": "text/csv"})).content
    await lock(head_office, loaded_url, locked=True)
    answer = await office.put(f"{at}/lines", content=sheet, headers={**CSV, **tag})
    (told,) = answer.json()["errors"]
    assert (answer.status_code, told["column"], told["value"]) == (422, "code", "lead")
    assert "locked by base" in told["detail"]


async def test_what_a_lock_sets_aside_is_left_out_of_new_drafts_and_can_be_taken_out_of_old_ones(
    office: httpx.AsyncClient, head_office: httpx.AsyncClient, loaded_url: str
) -> None:
    old, tag = await opened(office)
    await lock(head_office, loaded_url, locked=True)
    new, _ = await opened(office)
    (move,) = (await office.get(f"{new}/difference")).json()["lines"]
    assert (move["code"], move["change"], move["locked_by"]) == ("lead", "taken_out", "base")
    assert move["before"] == move["after"] == move["inherited"]
    assert "lead" not in await own_lines(office, new)
    before = (await office.get(f"{old}/difference")).json()
    assert (before["lines"], before["set_aside"]) == ([], [{**LEAD, "locked_by": "base"}])
    gone = await office.delete(f"{old}/lines/resources/lead", headers=tag)
    assert state(gone) != tag
    after = (await office.get(f"{old}/difference")).json()
    assert ([m["code"] for m in after["lines"]], after["set_aside"]) == (["lead"], [])


async def test_a_lock_changes_quotes_from_its_day_on_and_no_pinned_one(
    office: httpx.AsyncClient, head_office: httpx.AsyncClient, loaded_url: str
) -> None:
    before = await lead_of(office)
    pinned = {**QUOTE, "rates": before["rates"], "priced_on": datetime.now(UTC).date().isoformat()}
    old = await office.post("/v1/quotes", json=pinned)
    assert (old.status_code, before["from"]) == (200, "kestrel-range")
    await lock(head_office, loaded_url, locked=True)

    after = await lead_of(office)
    base = (await head_office.get("/v1/regions/base")).json()
    assert after["from"] == "base"
    assert after["likely"] == next(line["likely"] for line in base["lines"] if line["code"] == "lead") != before["likely"]
    assert (await office.post("/v1/quotes", json={**pinned, "rates": after["rates"]})).content != old.content
    assert (await office.post("/v1/quotes", json=pinned)).content == old.content
    assert (await lead_of(office, before["rates"])) == before

    await lock(head_office, loaded_url, locked=False)
    assert (await lead_of(office))["likely"] == before["likely"]
    assert (await office.post("/v1/quotes", json=pinned)).content == old.content


async def test_a_lock_that_is_scheduled_does_not_hold_yet(
    office: httpx.AsyncClient, head_office: httpx.AsyncClient, loaded_url: str
) -> None:
    await lock(head_office, loaded_url, locked=True, days=30)
    at, _ = await opened(office, {**LEAD, "likely": "130"})
    assert (await own_lines(office, at))["lead"]["likely"] == "130"
