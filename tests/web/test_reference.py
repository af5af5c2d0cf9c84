"""Catalogue, regions, health, metrics and pages."""

from __future__ import annotations

import re

import httpx
import pytest

from service.engine.knowledge import Knowledge
from service.web import limits
from service.web.app import build_app
from service.web.problems import KINDS
from service.web.quantities import DIMENSIONS, read
from tests.engine.books import book
from tests.web.conftest import OPEN, SMALLEST, ask, client_of
from tests.web.fakes import CannedQuotes, FixtureBooks, today

KEPT = ["/v1/catalogue", "/openapi.json", "/v1/regions", "/v1/regions/kestrel-range", "/docs", "/problems/not-found"]


async def test_the_catalogue_has_every_code_that_the_engine_knows(client: httpx.AsyncClient, knowledge: Knowledge) -> None:
    told = (await client.get("/v1/catalogue")).json()
    assert [e["code"] for e in told["elements"]] == list(knowledge.elements)
    assert [d["code"] for d in told["damages"]] == list(knowledge.damages)
    assert [c["code"] for c in told["causes"]] == list(knowledge.causes)
    assert [m["code"] for m in told["methods"]] == list(knowledge.methods)
    assert [s["code"] for s in told["species"]] == list(knowledge.species)
    assert [f["name"] for f in told["facts"]] == list(knowledge.facts)
    assert set(told["cautions"]) == set(knowledge.cautions)
    assert set(told["levels"]) == {"told", "photos", "visited", "opened", "cut_out"}


async def test_every_member_has_questions_photos_and_damage(client: httpx.AsyncClient) -> None:
    told = (await client.get("/v1/catalogue")).json()
    for member in told["elements"]:
        assert member["questions"], member["code"]
        assert member["photos"], member["code"]
        assert member["damages"], member["code"]
    assert next(m for m in told["elements"] if m["code"] == "sill_log")["questions"][0] == {
        "fact": "depth", "ask": next(f["ask"] for f in told["facts"] if f["name"] == "depth")
    }


async def test_units_of_every_fact_are_a_closed_list_that_is_taken(client: httpx.AsyncClient) -> None:
    told = (await client.get("/v1/catalogue")).json()
    for fact in told["facts"]:
        for unit in fact["units"]:
            read(f"3 {unit}", fact["dimension"], "in" if fact["dimension"] == "length" else "")
        assert bool(fact["units"]) == (fact["dimension"] in DIMENSIONS), fact["name"]
        assert fact["where"], fact["name"]
    assert "PERT" in told["notes"]["spread"]


async def test_the_limits_are_published(client: httpx.AsyncClient) -> None:
    told = (await client.get("/v1/catalogue")).json()["limits"]
    assert told["body_bytes"] == limits.BODY_BYTES
    assert told["defects"] == 300
    over = await ask(client, {**SMALLEST, "defects": SMALLEST["defects"] * (told["defects"] + 1)})
    assert over.status_code == 400


async def test_regions_are_listed_with_their_parents(client: httpx.AsyncClient) -> None:
    told = {r["code"]: r for r in (await client.get("/v1/regions")).json()["regions"]}
    assert told["base"]["parent"] is None
    assert told["sollavik"]["parent"] == "base"
    assert told["sollavik"]["units"] == "metric"


async def test_a_region_shows_every_line_and_whose_it_is(client: httpx.AsyncClient) -> None:
    told = (await client.get("/v1/regions/kestrel-range")).json()
    there = book("kestrel-range").lines
    lines = {(x["section"], x["code"]): x for x in told["lines"]}
    assert lines.keys() == there.keys()
    assert {x["from"] for x in told["lines"]} == {"base", "kestrel-range"}
    for key, line in there.items():
        shown = lines[key]
        assert (shown["low"], shown["likely"], shown["high"]) == (f"{line.low:f}", f"{line.likely:f}", f"{line.high:f}")
        assert (shown["unit"], shown["from"], shown["source"]) == (line.unit, line.region, line.source)
    assert told["stock"][0]["section"] == {"value": 12.0, "unit": "in"}
    assert told["holidays"] == ["2026-07-04"]
    assert (told["day"], told["rates"]) == ("2026-05-04", "base@1/kestrel-range@1")


async def test_a_metric_region_shows_its_yard_in_metric(client: httpx.AsyncClient) -> None:
    stock = (await client.get("/v1/regions/sollavik")).json()["stock"][0]
    assert stock["section"] == {"value": 304.8, "unit": "mm"}


async def test_a_region_can_be_seen_on_another_day_and_by_a_revision(client: httpx.AsyncClient) -> None:
    later = await client.get("/v1/regions/base", params={"on": "2026-12-01", "rates": "base@1"})
    assert later.json()["day"] == "2026-12-01"
    assert (await client.get("/v1/regions/base?rates=base@2")).json()["type"] == "/problems/unknown-revision"
    assert (await client.get("/v1/regions/base?on=2025-01-01")).json()["type"] == "/problems/no-book-in-force"
    assert (await client.get("/v1/regions/base?on=2026-02-30")).json()["type"] == "/problems/invalid-parameter"


@pytest.mark.parametrize("path", KEPT)
async def test_who_has_it_already_is_told_so(client: httpx.AsyncClient, path: str) -> None:
    first = await client.get(path)
    tag = first.headers["etag"]
    assert first.headers["vary"] == "Accept, Origin"
    for known in (tag, f'W/{tag}, "other"', "*"):
        again = await client.get(path, headers={"if-none-match": known})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
        assert again.headers["cache-control"] == first.headers["cache-control"]
    assert (await client.get(path, headers={"if-none-match": '"other"'})).status_code == 200


async def test_quotes_are_not_kept_and_reference_data_are(client: httpx.AsyncClient) -> None:
    assert (await ask(client, SMALLEST)).headers["cache-control"] == "no-store"
    assert "max-age=300" in (await client.get("/v1/catalogue")).headers["cache-control"]
    assert (await client.get("/v1/regions")).headers["cache-control"] == "private, no-cache"


async def test_alive_asks_nobody_and_ready_asks_for_books(client: httpx.AsyncClient, books: FixtureBooks) -> None:
    assert (await client.get("/readyz")).json() == {"ready": True, "degraded": False, "why": ""}
    books.away = True
    assert (await client.get("/livez")).json() == {"alive": True}
    away = await client.get("/readyz")
    assert (away.status_code, away.headers["retry-after"]) == (503, "5")
    assert away.json()["type"] == "/problems/not-ready"
    assert "database" in away.json()["detail"]


async def test_metrics_count_what_was_asked_also_where_nothing_is(quotes: CannedQuotes, knowledge: Knowledge) -> None:
    app = build_app(quotes=quotes, books=quotes.books, knowledge=knowledge, today=today, gate=OPEN)
    async with client_of(app) as client:
        await ask(client, SMALLEST)
        await client.request("QUERY", "/v1/quotes", json=SMALLEST)
        await client.get("/nowhere")
        await client.request("BREW", "/livez")
        page = (await client.get("/metrics")).text
    assert 'http_requests_total{method="POST",route="/v1/quotes",status="200"} 1.0' in page
    assert 'http_requests_total{method="QUERY",route="/v1/quotes",status="200"} 1.0' in page
    assert 'http_requests_total{method="GET",route="none",status="404"} 1.0' in page
    assert 'http_requests_total{method="other"' in page
    assert 'quoted_defects_total{status="priced"} 2.0' in page
    assert "rate_books_degraded 0.0" in page


@pytest.mark.parametrize("slug", sorted(KINDS))
async def test_every_type_of_problem_leads_to_a_page(client: httpx.AsyncClient, slug: str) -> None:
    page = await client.get(f"/problems/{slug}")
    assert page.status_code == 200
    assert page.headers["content-type"].startswith("text/html")
    assert KINDS[slug].remedy.split(".")[0][:20] in page.text


async def test_the_documentation_asks_nothing_of_anybody_else(client: httpx.AsyncClient) -> None:
    page = await client.get("/docs")
    assert not re.search(r"(?:https?:)?//", page.text.replace("<!doctype", ""))
    assert page.headers["content-security-policy"].startswith("default-src 'self'")
    for link in re.findall(r'(?:src|href)="([^"]+)"', page.text):
        found = await client.get(f"/{link}")
        assert found.status_code == 200, link
        assert len(found.content) > 100, link
    assert (await client.get("/docs/index.html")).status_code == 404
