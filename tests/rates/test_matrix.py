"""Every role at every address, for its own region, a foreign one and one that is not there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import httpx
import pytest

from service.application.access import SCOPES
from service.web.front import Front
from tests.rates.conftest import ClientOf

OWN, FOREIGN, MISSING = "kestrel-range", "sollavik", "nowhere-at-all"
PARAMETER = re.compile(r"(?<=[a-z]):[a-z]+(?=})")
HOME = "https://logs.example"
PUBLIC_ADDRESSES = {
    "GET /livez", "GET /readyz", "GET /metrics", "GET /openapi.json", "GET /docs", "GET /docs/{name}",
    "GET /problems/{slug}", "GET /v1/catalogue",
}
REGION = "/v1/regions/{region}"
SCOPE_OF = {
    "POST /v1/quotes": "quote",
    "GET /v1/regions": "quote",
    f"GET {REGION}": "rates:read",
    f"GET {REGION}/lines": "rates:read",
    f"GET {REGION}/lines/{{section}}/{{code}}": "rates:read",
    f"GET {REGION}/lines/{{section}}/{{code}}/history": "rates:read",
    f"GET {REGION}/revisions": "rates:read",
    f"GET {REGION}/revisions/{{number}}": "rates:read",
    f"GET {REGION}/compare": "rates:read",
    f"POST {REGION}/changes": "rates:read",
    f"POST {REGION}/drafts": "rates:write",
    f"GET {REGION}/drafts": "rates:read",
    f"GET {REGION}/drafts/{{draft}}": "rates:read",
    f"DELETE {REGION}/drafts/{{draft}}": "rates:write",
    f"GET {REGION}/drafts/{{draft}}/lines": "rates:read",
    f"PUT {REGION}/drafts/{{draft}}/lines": "rates:write",
    f"PUT {REGION}/drafts/{{draft}}/lines/{{section}}/{{code}}": "rates:write",
    f"PATCH {REGION}/drafts/{{draft}}/lines/{{section}}/{{code}}": "rates:write",
    f"DELETE {REGION}/drafts/{{draft}}/lines/{{section}}/{{code}}": "rates:write",
    f"GET {REGION}/drafts/{{draft}}/difference": "rates:read",
    f"POST {REGION}/drafts/{{draft}}/preview": "rates:write",
    f"POST {REGION}/drafts/{{draft}}/rebase": "rates:write",
    f"POST {REGION}/drafts/{{draft}}/publish": "rates:publish",
    f"POST {REGION}/revisions/{{number}}/revert": "rates:publish",
    f"GET {REGION}/stock": "rates:read",
    f"PUT {REGION}/stock": "rates:write",
    f"POST {REGION}/stock": "rates:write",
    f"GET {REGION}/stock/{{code}}": "rates:read",
    f"PATCH {REGION}/stock/{{code}}": "rates:write",
    f"DELETE {REGION}/stock/{{code}}": "rates:write",
    f"GET {REGION}/stock/counts": "rates:read",
    f"POST {REGION}/hours": "rates:write",
    f"GET {REGION}/hours": "rates:read",
    f"GET {REGION}/hours/drift": "rates:read",
    f"POST {REGION}/drafts/{{draft}}/hours-suggestions": "rates:write",
    f"GET {REGION}/audit": "rates:read",
    "GET /v1/audit": "admin",
    "GET /v1/keys": "admin",
    "POST /v1/keys": "admin",
    "GET /v1/keys/{key}": "admin",
    "DELETE /v1/keys/{key}": "admin",
    "POST /v1/keys/{key}/rotate": "admin",
}
"""What each address needs, said once more by hand: a scope that slips in the code shows here."""
HEAD_OFFICE_ONLY = {"GET /v1/audit"}
ROLES: dict[str, tuple[frozenset[str], bool]] = {
    "nobody": (frozenset(), False),
    "form": (frozenset({"quote"}), False),
    **{f"key for {scope}": (frozenset({scope}), False) for scope in SCOPES},
    "office": (frozenset(SCOPES) - {"admin"}, False),
    "administrator of the region": (frozenset(SCOPES), False),
    "head office": (frozenset(SCOPES), True),
}
"""Scopes of each role, and whether it is bound to every region."""
FILLED = {"section": "resources", "code": "carpenter", "number": "1", "draft": "999999", "key": "aaaaaaaaaaaa"}


def addresses(app: Front) -> Iterator[str]:
    """Every method and path that is served, but OPTIONS."""
    for route in app.litestar.routes:
        for handler in getattr(route, "route_handlers", []):
            for method in handler.http_methods - {"OPTIONS"}:
                yield f"{method} {PARAMETER.sub('', route.path)}"


def test_every_address_is_in_the_table(app: Front) -> None:
    assert sorted(set(addresses(app))) == sorted({*PUBLIC_ADDRESSES, *SCOPE_OF})


@pytest.fixture
async def client(client_of: ClientOf, stranger: httpx.AsyncClient, request: pytest.FixtureRequest) -> httpx.AsyncClient:
    """A client of one role."""
    role: str = request.param
    scopes, everywhere = ROLES[role]
    if role == "nobody":
        return stranger
    sort: Any = "form" if role == "form" else "server"
    made = await client_of(scopes, None if everywhere else [OWN], sort=sort, origins=[HOME] if sort == "form" else [])
    made.headers["Origin"] = HOME
    return made


@pytest.mark.parametrize(("client", "role"), [(role, role) for role in ROLES], indirect=["client"], ids=list(ROLES))
async def test_each_role_gets_what_it_may_and_nothing_else(client: httpx.AsyncClient, role: str) -> None:
    """401 for nobody, 403 without the scope, 404 alike for a foreign region and a missing one; no request changes a thing."""
    scopes, everywhere = ROLES[role]
    for address, scope in SCOPE_OF.items():
        method, path = address.split(" ")
        for region in (OWN, FOREIGN, MISSING) if "{region}" in path else (OWN,):
            answer = await client.request(method, path.format(region=region, **FILLED), content=b"")
            kind = answer.json()["type"] if answer.status_code >= 400 else ""
            said = f"{role}: {address} of {region}: {answer.status_code} {answer.text[:300]}"
            assert answer.status_code < 500, said
            if role == "nobody":
                assert (answer.status_code, kind) == (401, "/problems/key-needed"), said
            elif scope not in scopes or (address in HEAD_OFFICE_ONLY and not everywhere):
                assert (answer.status_code, kind) == (403, "/problems/not-allowed"), said
            elif region == MISSING and everywhere:
                # To the head office the form of a request may be told before that there is no such region.
                assert 400 <= answer.status_code < 500, said
            elif region != OWN and not everywhere:
                assert (answer.status_code, kind) == (404, "/problems/unknown-region"), said
            else:
                assert kind not in ("/problems/unknown-region", "/problems/not-allowed", "/problems/key-needed"), said


@pytest.mark.parametrize(("client", "role"), [(role, role) for role in ROLES], indirect=["client"], ids=list(ROLES))
async def test_a_foreign_region_cannot_be_told_from_a_missing_one(client: httpx.AsyncClient, role: str) -> None:
    if ROLES[role][1]:
        pytest.skip("nothing is foreign to the head office")
    for address in SCOPE_OF:
        method, path = address.split(" ")
        if "{region}" in path:
            told = []
            for region in (FOREIGN, MISSING):
                answer = await client.request(method, path.format(region=region, **FILLED), content=b"")
                told.append({k: v for k, v in answer.json().items() if k not in ("instance", "request_id")})
            assert told[0] == told[1], address


@pytest.mark.parametrize(("client", "role"), [(role, role) for role in ROLES], indirect=["client"], ids=list(ROLES))
async def test_what_is_public_answers_everybody(client: httpx.AsyncClient, role: str) -> None:
    for address in PUBLIC_ADDRESSES:
        path = address.removeprefix("GET ").format(name="missing.css", slug="not-found")
        answer = await client.get(path)
        assert answer.status_code in (200, 404), (role, address)
