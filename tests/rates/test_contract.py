"""The contract says of each address who may ask it, and what is said there is what the handler declares."""

from __future__ import annotations

import re
from typing import Any

import httpx
import pytest

from service.application.access import PUBLIC
from service.web.front import Front
from service.web.security import MET_AT_THE_DOOR, SCHEMES

UNDESCRIBED = {"get /docs/{name}"}
"""Files of the page /docs: nobody asks for them by hand."""


def declared(app: Front) -> dict[str, str]:
    """The scope of each method and path that is served, but OPTIONS."""
    return {
        f"{method.lower()} {re.sub(r':[a-z]+}', '}', route.path)}": handler.opt["scope"]
        for route in app.litestar.routes for handler in getattr(route, "route_handlers", [])
        for method in handler.http_methods - {"OPTIONS"}
    }


def described(app: Front) -> dict[str, dict[str, Any]]:
    """Each operation of the contract."""
    return {
        f"{method} {path}": operation for path, item in app.contract["paths"].items() for method, operation in item.items()
    }


def test_every_address_that_is_served_is_described(app: Front) -> None:
    assert set(declared(app)) - set(described(app)) == UNDESCRIBED


def test_each_operation_names_its_scope_and_how_it_refuses(app: Front) -> None:
    scopes = declared(app)
    for name, operation in described(app).items():
        if scopes[name] == PUBLIC:
            assert operation["security"] == [], name
            continue
        assert operation["security"] == [{scheme: [scopes[name]]} for scheme in app.contract["components"]["securitySchemes"]]
        assert f"`{scopes[name]}`" in operation["description"], name
        assert set(MET_AT_THE_DOOR) <= set(operation["responses"]), name


@pytest.mark.parametrize("header", ["Authorization", "X-API-Key"])
async def test_each_way_that_is_described_for_keys_works(
    stranger: httpx.AsyncClient, office: httpx.AsyncClient, header: str
) -> None:
    key = office.headers["authorization"].removeprefix("Bearer ")
    shown = f"Bearer {key}" if header == "Authorization" else key
    assert (await stranger.get("/v1/regions", headers={header: shown})).status_code == 200
    assert {"Authorization" if scheme["type"] == "http" else scheme["name"] for scheme in SCHEMES.values()} >= {header}


async def test_a_refusal_says_how_to_say_who_one_is(stranger: httpx.AsyncClient, app: Front) -> None:
    answer = await stranger.get("/v1/regions")
    assert answer.headers["www-authenticate"] == 'Bearer realm="rates"'
    assert "WWW-Authenticate" in app.contract["components"]["responses"]["Problem401"]["headers"]


async def test_options_names_every_method_of_an_address_to_everybody(stranger: httpx.AsyncClient, app: Front) -> None:
    for path, item in app.contract["paths"].items():
        answer = await stranger.options(re.sub(r"{[a-z]+}", "1", path))
        allowed = {method.strip() for method in answer.headers["allow"].split(",")}
        mapped = {"OPTIONS", *({"HEAD"} if "get" in item else ()), *({"QUERY"} if path == "/v1/quotes" else ())}
        assert allowed == {method.upper() for method in item} | mapped, path
