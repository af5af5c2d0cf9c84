"""Who asks comes before what they ask."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

from service.application.access import PUBLIC, SCOPES
from service.web.front import Front
from tests.rates.conftest import ClientOf

QUOTE: dict[str, Any] = {
    "region": "kestrel-range",
    "defects": [{"element": "under_window", "damage": "soft_wood", "length": "8 ft"}],
}


def test_every_address_names_the_scope_that_it_needs(app: Front) -> None:
    handlers = [handler for route in app.litestar.routes for handler in getattr(route, "route_handlers", [])]
    undeclared = [
        str(handler) for handler in handlers
        if handler.fn.__name__ != "options_handler" and handler.opt.get("scope") not in (*SCOPES, PUBLIC)
    ]
    assert len(handlers) > 10
    assert undeclared == []


async def test_without_a_key_nothing_is_quoted(stranger: httpx.AsyncClient) -> None:
    answer = await stranger.post("/v1/quotes", json=QUOTE)
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"].startswith("Bearer")
    assert answer.json()["type"] == "/problems/key-needed"


async def test_a_key_with_the_scope_for_the_region_is_answered(office: httpx.AsyncClient) -> None:
    assert (await office.post("/v1/quotes", json=QUOTE)).status_code == 200


async def test_another_regions_rows_are_not_there(office: httpx.AsyncClient) -> None:
    foreign = await office.get("/v1/regions/sollavik")
    missing = await office.get("/v1/regions/nowhere-at-all")
    assert foreign.status_code == missing.status_code == 404
    assert {**foreign.json(), "instance": "", "request_id": ""} == {**missing.json(), "instance": "", "request_id": ""}
    quoted = await office.post("/v1/quotes", json={**QUOTE, "region": "sollavik"})
    assert quoted.status_code == 404
    listed = (await office.get("/v1/regions")).json()["regions"]
    assert [region["code"] for region in listed] == ["kestrel-range"]


async def test_a_key_without_the_scope_is_told_which_one_is_missing(client_of: ClientOf) -> None:
    reader = await client_of(["rates:read"], ["kestrel-range"])
    answer = await reader.post("/v1/quotes", json=QUOTE)
    assert answer.status_code == 403
    assert "quote" in answer.json()["detail"]


@pytest.mark.parametrize("header", ["Bearer nonsense", "Basic dTpw", "Bearer", "Bearer trk_server_x", "Bearer \xff"])
async def test_what_is_no_key_is_refused_before_the_body_is_read(stranger: httpx.AsyncClient, header: str) -> None:
    answer = await stranger.post("/v1/quotes", content=b"not json", headers=[(b"authorization", header.encode("latin-1"))])
    assert answer.status_code == 401
    assert answer.json()["type"] == "/problems/key-not-known"
