"""Small regions with offices of their own, and what an office does with drafts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import httpx
from sqlalchemy import select

from service.application.access import SCOPES
from service.storage.tables import region
from tests.conftest import bare_engine
from tests.rates.conftest import ClientOf
from tests.storage.factory import line, new_region, publish_book

FIRST_DAY = date(2026, 1, 1)
OFFICE = tuple(scope for scope in SCOPES if scope != "admin")


def today() -> date:
    return datetime.now(UTC).date()


def in_days(days: int) -> str:
    return (today() + timedelta(days=days)).isoformat()


@dataclass(frozen=True)
class Office:
    """A region's office: its code, its database id, and a client that holds its key."""

    code: str
    id: int
    client: httpx.AsyncClient

    def path(self, rest: str) -> str:
        return f"/v1/regions/{self.code}/{rest}"

    async def draft(self, *changes: Mapping[str, Any], based_on: int | None = None) -> str:
        """Open a draft with these changes of lines; the entity tag of its state."""
        body: dict[str, Any] = {"lines": list(changes)} if changes else {}
        if based_on is not None:
            body["based_on"] = based_on
        answer = await self.client.post(self.path("drafts"), json=body)
        assert answer.status_code == 201, answer.text
        return answer.headers["etag"]

    async def publish(self, tag: str, *, key: str | None = None, **body: Any) -> httpx.Response:
        """Publish the draft of an entity tag."""
        headers = {"If-Match": tag} | ({"Idempotency-Key": key} if key else {})
        path = self.path(f"drafts/{draft_of(tag)}/publish")
        return await self.client.post(path, json={"why": "a test", **body}, headers=headers)

    async def published(self, tag: str, **body: Any) -> dict[str, Any]:
        """Publish, and expect that it is."""
        answer = await self.publish(tag, **body)
        assert answer.status_code == 201, answer.text
        found: dict[str, Any] = answer.json()
        return found

    async def rebase(self, tag: str, **body: Any) -> httpx.Response:
        return await self.client.post(
            self.path(f"drafts/{draft_of(tag)}/rebase"), json=body, headers={"If-Match": tag}
        )

    async def revert(self, number: int, **body: Any) -> httpx.Response:
        return await self.client.post(self.path(f"revisions/{number}/revert"), json={"why": "a test", **body})

    async def likely(self, code: str, on: str | None = None, section: str = "resources") -> str:
        """The likely value of a line that counts on a day."""
        asked = {"on": on} if on else {}
        answer = await self.client.get(f"/v1/regions/{self.code}", params=asked)
        assert answer.status_code == 200, answer.text
        lines = {(one["section"], one["code"]): one["likely"] for one in answer.json()["lines"]}
        found: str = lines[section, code]
        return found


def draft_of(tag: str) -> str:
    """The id of the draft whose state an entity tag names."""
    return tag.strip('"').removeprefix("d").split("-")[0]


def held(code: str, likely: str, **changed: Any) -> dict[str, Any]:
    """A row of an own book."""
    return line(code, likely, **{"low": Decimal(60), "high": Decimal(300), **changed})


def price(code: str, likely: str, low: str = "60", high: str = "300") -> dict[str, Any]:
    """A change of a resource's price."""
    return {"section": "resources", "code": code, "low": low, "likely": likely, "high": high}


async def new_office(
    url: str, client_of: ClientOf, *lines: dict[str, Any], parent: str | None = "base", effective: date = FIRST_DAY,
    scopes: Iterable[str] = OFFICE,
) -> Office:
    """A region below another one with a first book of these lines, and its office."""
    engine = bare_engine(url)
    async with engine.begin() as connection:
        above = (await connection.execute(select(region.c.id).where(region.c.code == parent))).scalar_one_or_none()
        region_id, code = await new_region(connection, above)
        await publish_book(connection, region_id, *(lines or [held("lead", "90")]), effective=effective)
    await engine.dispose()
    return Office(code, region_id, await client_of(scopes, [code]))
