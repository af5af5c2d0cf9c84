"""A form's public key: for its own websites, for one region, and with nothing in the answer that is ours alone."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

import httpx
import pytest

from tests.rates.conftest import ClientOf

HOME = "https://logs.example"
QUOTE: dict[str, Any] = {
    "region": "kestrel-range",
    "defects": [
        {"element": "under_window", "damage": "soft_wood", "length": "8 ft"},
        {"element": "log_tail", "damage": "end_rot", "from_end": ["3 in", "14 in"]},
        {"element": "stringer", "damage": "foot_rot"},
    ],
}


@pytest.fixture
async def form(client_of: ClientOf) -> httpx.AsyncClient:
    """A browser on the form's website."""
    client = await client_of(["quote"], ["kestrel-range"], sort="form", origins=[HOME])
    client.headers["Origin"] = HOME
    return client


async def test_a_visitor_sees_rounded_ranges_and_no_cost_of_ours(form: httpx.AsyncClient, office: httpx.AsyncClient) -> None:
    seen = await form.post("/v1/quotes", json={**QUOTE, "view": "full"})
    assert seen.status_code == 200
    for word in ('"lines"', '"rate"', '"hours"', '"steps"', '"as_described"', '"rates"', '"markup"', '"package"', '"p50"'):
        assert word not in seen.text
    whole = (await office.post("/v1/quotes", json=QUOTE)).json()
    first = seen.json()["defects"][0]["options"][0]
    exact = whole["defects"][0]["options"][0]["whole"]["range"]
    assert Decimal(first["price"]["low"]) <= Decimal(exact["p10"]) < Decimal(exact["p90"]) <= Decimal(first["price"]["high"])
    assert '"low":' in seen.text
    for price in re.findall(r'"(?:low|high)":"(\d+)\.00"', seen.text):
        assert len(price.rstrip("0")) <= 2, price


async def test_pieces_that_differ_are_answered_in_groups(form: httpx.AsyncClient) -> None:
    tails = [d for d in (await form.post("/v1/quotes", json=QUOTE)).json()["defects"] if d["id"] == "2"]
    assert sorted(piece for d in tails for piece in d["pieces"]) == [1, 2]


async def test_what_carries_people_comes_with_its_cautions(form: httpx.AsyncClient, office: httpx.AsyncClient) -> None:
    answer = (await form.post("/v1/quotes", json=QUOTE)).json()
    whole = (await office.post("/v1/quotes", json=QUOTE)).json()
    stringer, full = (next(d for d in a["defects"] if d["id"] == "3") for a in (answer, whole))
    shown = [o["method"] for o in stringer["options"]]
    meant = {code for o in full["options"][:3] if o["method"] in shown for code in o["cautions"]} | set(full["cautions"])
    assert meant
    assert meant <= set(stringer["cautions"])
    assert {code for d in answer["defects"] for code in d["cautions"]} == set(answer["caution_texts"])
    assert "licensed practice" in answer["words"]


async def test_the_website_may_read_the_answer_and_no_other_may(form: httpx.AsyncClient) -> None:
    own = await form.post("/v1/quotes", json=QUOTE)
    assert own.headers["access-control-allow-origin"] == HOME
    assert "Origin" in own.headers["vary"]
    for origin in ("https://logs.example.elsewhere.test", "http://logs.example", "null"):
        other = await form.post("/v1/quotes", json=QUOTE, headers={"Origin": origin})
        assert other.status_code == 403
        assert "access-control-allow-origin" not in other.headers


async def test_a_browser_may_ask_before_it_sends_the_key(form: httpx.AsyncClient, stranger: httpx.AsyncClient) -> None:
    asked = {"Access-Control-Request-Method": "POST", "Access-Control-Request-Headers": "authorization,content-type"}
    own = await stranger.options("/v1/quotes", headers={**asked, "Origin": HOME})
    assert own.headers["access-control-allow-origin"] == HOME
    assert "POST" in own.headers["access-control-allow-methods"]
    assert "Authorization" in own.headers["access-control-allow-headers"]
    other = await stranger.options("/v1/quotes", headers={**asked, "Origin": "https://elsewhere.test"})
    assert "access-control-allow-origin" not in other.headers
    assert form.headers["Origin"] == HOME


async def test_the_catalogue_can_be_read_from_the_forms_website(form: httpx.AsyncClient, stranger: httpx.AsyncClient) -> None:
    del form
    answer = await stranger.get("/v1/catalogue", headers={"Origin": HOME})
    assert answer.headers["access-control-allow-origin"] == HOME


async def test_a_form_reaches_its_region_only_and_no_rates(form: httpx.AsyncClient) -> None:
    assert (await form.post("/v1/quotes", json={**QUOTE, "region": "sollavik"})).status_code == 404
    assert (await form.get("/v1/regions/kestrel-range")).status_code == 403


async def test_a_server_without_an_origin_does_not_use_a_forms_key(client_of: ClientOf) -> None:
    client = await client_of(["quote"], ["kestrel-range"], sort="form", origins=[HOME])
    answer = await client.post("/v1/quotes", json=QUOTE)
    assert answer.status_code == 403
    assert answer.json()["type"] == "/problems/origin-not-allowed"


async def test_what_a_cache_keeps_for_one_caller_is_not_for_another_website(
    form: httpx.AsyncClient, stranger: httpx.AsyncClient
) -> None:
    """An answer that was kept without the header that lets a website read it would shut the website out."""
    assert "access-control-allow-origin" in (await form.get("/v1/catalogue")).headers
    for path in ("/v1/catalogue", "/openapi.json", "/docs"):
        plain = await stranger.get(path)
        assert "access-control-allow-origin" not in plain.headers
        assert "Origin" in plain.headers["vary"]


async def test_a_website_reads_that_its_key_has_ended_and_no_other_website_does(form: httpx.AsyncClient) -> None:
    ended = {"Authorization": "Bearer trk_form_ended"}
    own = await form.post("/v1/quotes", json=QUOTE, headers=ended)
    assert own.status_code == 401
    assert own.headers["access-control-allow-origin"] == HOME
    other = await form.post("/v1/quotes", json=QUOTE, headers={**ended, "Origin": "https://elsewhere.test"})
    assert other.status_code == 401
    assert "access-control-allow-origin" not in other.headers


@pytest.mark.parametrize("pinned", [{"rates": "base@1+stock@1/kestrel-range@1+stock@1"}, {"priced_on": "2026-05-04"},
                                    {"rates": "base@1", "priced_on": "2099-01-01"}])
async def test_a_form_is_answered_by_the_rates_of_today_only(form: httpx.AsyncClient, pinned: dict[str, str]) -> None:
    """Everybody has its key: old and scheduled rates would show how the region's prices move."""
    answer = await form.post("/v1/quotes", json={**QUOTE, **pinned})
    assert (answer.status_code, answer.json()["type"]) == (403, "/problems/not-allowed")
    assert [fault["pointer"] for fault in answer.json()["errors"]] == [f"#/{name}" for name in pinned]
