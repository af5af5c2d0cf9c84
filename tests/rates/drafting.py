"""What tests of drafts share: opening one, the state that an answer left, faults by their place."""

from __future__ import annotations

from typing import Any

import httpx

DRAFTS = "/v1/regions/kestrel-range/drafts"
LEAD = {"section": "resources", "code": "lead"}
WHOLE = {"unit": "h", "low": "90", "likely": "120.50", "high": "160", "kind": "labour", "source": "payroll", "what": "Lead"}
CSV = {"Content-Type": "text/csv"}


async def opened(
    client: httpx.AsyncClient, *changes: dict[str, Any], at: str = DRAFTS, **more: Any
) -> tuple[str, dict[str, str]]:
    """A new draft: its address, and the header that names its first state."""
    answer = await client.post(at, json={"lines": list(changes), **more})
    assert answer.status_code == 201, answer.text
    return answer.headers["location"], {"If-Match": answer.headers["etag"]}


def state(answer: httpx.Response) -> dict[str, str]:
    """The header that names the state that an answer left behind."""
    assert answer.is_success, answer.text
    return {"If-Match": answer.headers["etag"]}


def faults(answer: httpx.Response, status: int = 422) -> dict[str, str]:
    """What was wrong, by pointer."""
    assert answer.status_code == status, answer.text
    return {str(fault["pointer"]): fault["detail"] for fault in answer.json()["errors"]}


async def own_lines(client: httpx.AsyncClient, at: str) -> dict[str, dict[str, Any]]:
    """The lines that the region holds itself in a draft, by code."""
    return {line["code"]: line for line in (await client.get(f"{at}/lines")).json()["lines"]}


async def tidy(office: httpx.AsyncClient) -> None:
    """Delete all open drafts: there is room for so many only."""
    for region in ("kestrel-range", "base"):
        for draft in (await office.get(f"/v1/regions/{region}/drafts")).json()["drafts"]:
            tag = {"If-Match": f'"d{draft["id"]}-{draft["version"]}"'}
            assert (await office.delete(f"/v1/regions/{region}/drafts/{draft['id']}", headers=tag)).status_code == 204
