"""People of an office come with a token of their identity provider, and are held to its scopes and regions."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterator
from typing import Any

import httpx
import pytest
from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncEngine

from service.bootstrap import create_app
from service.storage.tables import audit_entry
from tests.identity.provider import AUDIENCE, ISSUER, Provider, identity_provider
from tests.rates.conftest import living, settings_for
from tests.rates.test_gate import QUOTE

WISH: dict[str, Any] = {"name": "CRM", "scopes": ["quote"], "regions": ["kestrel-range"]}


@pytest.fixture(scope="module")
def provider() -> Iterator[Provider]:
    with identity_provider("ES256") as made:
        yield made


@pytest.fixture
async def client(loaded_url: str, provider: Provider) -> AsyncIterator[httpx.AsyncClient]:
    """A client of a service that knows the provider."""
    people = {"oidc_issuer": ISSUER, "oidc_audience": AUDIENCE, "oidc_jwks_url": provider.url}
    app = create_app(settings_for(loaded_url, **people))
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    async with living(app), httpx.AsyncClient(transport=transport, base_url="http://rates.test") as made:
        yield made


def shown(provider: Provider, **claims: Any) -> dict[str, str]:
    return {"Authorization": f"Bearer {provider.token('ES256', **claims)}"}


async def test_a_person_quotes_for_their_region_and_for_no_other(client: httpx.AsyncClient, provider: Provider) -> None:
    headers = shown(provider)
    assert (await client.post("/v1/quotes", json=QUOTE, headers=headers)).status_code == 200
    assert (await client.post("/v1/quotes", json={**QUOTE, "region": "sollavik"}, headers=headers)).status_code == 404
    assert (await client.get("/v1/regions/sollavik", headers=headers)).status_code == 404
    assert (await client.get("/v1/keys", headers=headers)).status_code == 403


async def test_a_person_for_every_region_reaches_each(client: httpx.AsyncClient, provider: Provider) -> None:
    headers = shown(provider, regions=["*"])
    for region in ("base", "sollavik"):
        assert (await client.get(f"/v1/regions/{region}", headers=headers)).status_code == 200


async def test_a_person_without_regions_reaches_none(client: httpx.AsyncClient, provider: Provider) -> None:
    headers = shown(provider, regions=None)
    assert (await client.get("/v1/regions", headers=headers)).json() == {"regions": []}
    assert (await client.post("/v1/quotes", json=QUOTE, headers=headers)).status_code == 404


async def test_what_a_person_does_is_in_the_log_under_their_subject(
    client: httpx.AsyncClient, provider: Provider, loaded_engine: AsyncEngine
) -> None:
    headers = shown(provider, scope="quote admin", sub="auth0|42", name="The office's administrator")
    made = await client.post("/v1/keys", json=WISH, headers=headers)
    assert made.status_code == 201, made.text
    assert made.json()["made_by"] == "person:auth0|42"
    asked = select(audit_entry.c.who, audit_entry.c.name).where(audit_entry.c.subject == f"keys/{made.json()['id']}")
    async with loaded_engine.connect() as connection:
        assert (await connection.execute(asked)).all() == [("person:auth0|42", "The office's administrator")]


async def test_a_key_works_beside_tokens(client: httpx.AsyncClient, provider: Provider) -> None:
    key = (await client.post("/v1/keys", json=WISH, headers=shown(provider, scope="quote admin"))).json()["key"]
    assert (await client.post("/v1/quotes", json=QUOTE, headers={"X-API-Key": key})).status_code == 200


async def test_a_bad_token_is_told_why(client: httpx.AsyncClient, provider: Provider) -> None:
    answer = await client.get("/v1/regions", headers=shown(provider, aud="others"))
    assert (answer.status_code, answer.json()["type"]) == (401, "/problems/key-not-known")
    assert "audience" in answer.json()["detail"]
    assert answer.headers["www-authenticate"] == 'Bearer realm="rates", error="invalid_token"'


async def test_without_the_providers_keys_nobody_can_say_whether_a_token_is_valid(
    client: httpx.AsyncClient, provider: Provider
) -> None:
    provider.broken = (503, b"")
    try:
        answer = await client.get("/v1/regions", headers=shown(provider))
    finally:
        provider.broken = None
    assert (answer.status_code, answer.json()["type"]) == (503, "/problems/gate-away")
    assert answer.headers["retry-after"]
    assert "identity provider" in answer.json()["detail"]
