"""Prices never cross a currency: an office with other money neither inherits one nor is made to."""

from __future__ import annotations

from typing import Any

import httpx

from service.application.access import SCOPES
from tests.rates.conftest import ClientOf
from tests.rates.drafting import LEAD, opened


async def refused(client: httpx.AsyncClient, region: str, *changes: dict[str, Any]) -> list[dict[str, Any]]:
    """What keeps a draft with these changes from being published."""
    at, tag = await opened(client, *changes, at=f"/v1/regions/{region}/drafts")
    answer = await client.post(f"{at}/publish", json={"why": "a test"}, headers=tag)
    assert (answer.status_code, answer.json()["type"]) == (409, "/problems/publish-refused"), answer.text
    found: list[dict[str, Any]] = answer.json()["errors"]
    return found


async def test_an_office_with_other_money_takes_no_price_of_its_own_out(client_of: ClientOf) -> None:
    office = await client_of(SCOPES, ["sollavik"])
    (fault,) = await refused(office, "sollavik", {**LEAD, "inherit": True})
    assert (fault["code"], "resources/lead would be inherited from base" in fault["detail"]) == ("other_money", True)


async def test_the_head_office_locks_no_price_above_an_office_with_other_money(head_office: httpx.AsyncClient) -> None:
    hours = {"section": "norms", "code": "log_partial.fixed", "locked": True}
    (fault,) = await refused(head_office, "base", {**LEAD, "locked": True}, hours)
    assert (fault["code"], "sollavik" in fault["detail"]) == ("other_money", True)


async def test_an_office_with_other_money_publishes_what_is_its_own(client_of: ClientOf) -> None:
    office = await client_of(SCOPES, ["sollavik"])
    at, tag = await opened(office, {**LEAD, "likely": "70"}, at="/v1/regions/sollavik/drafts")
    answer = await office.post(f"{at}/publish", json={"why": "a test"}, headers=tag)
    assert answer.status_code == 201, answer.text
