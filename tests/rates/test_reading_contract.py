"""What is read of rates is what the contract says of it."""

from __future__ import annotations

from datetime import date
from typing import Any

import httpx
import jsonschema_rs
import pytest

from service.web.front import Front
from tests.rates.conftest import ClientOf
from tests.rates.offices import Office, in_days, new_office
from tests.rates.rewriting import in_force, recount, republish
from tests.storage.factory import line, piece

QUOTE: dict[str, Any] = {
    "priced_on": "2026-05-04",
    "defects": [{"element": "post_porch", "damage": "foot_rot", "from_end": ["3 in", "9 in"], "section": "10 in"}],
}


@pytest.fixture
async def moved(loaded_url: str, client_of: ClientOf) -> tuple[Office, str]:
    """A region whose book and yard have moved in every way, and the rates from before."""
    above = await new_office(loaded_url, client_of, line("helper", "12"))
    office = await new_office(loaded_url, client_of, line("lead", "19"), line("helper", "9"), parent=above.code)
    then = await in_force(office)
    longest = line("likely_longest", "123456789012.123456789", low=0, high="999999999999.999999999")
    await republish(loaded_url, office.id, line("lead", "18.5"), longest, line("mason", "8", source="x", what="", unit=""))
    await republish(loaded_url, office.id, line("lead", "18.50", source="y"), without=[("resources", "mason")])
    await republish(loaded_url, above.id, line("helper", "12", locked=True))
    later = date.fromisoformat(in_days(40))
    await republish(loaded_url, office.id, line("lead", "17"), without=[("resources", "helper")], effective=later)
    await recount(loaded_url, office.id, piece("y1"))
    await in_force(office, f"{office.code}@3+stock@1", f"{above.code}@2")
    return office, then


def faults(app: Front, path: str, method: str, answer: httpx.Response) -> list[str]:
    """What of an answer is not as the contract says."""
    assert answer.status_code == 200, answer.text
    found = app.contract["paths"][path][method]["responses"]["200"]
    schema = {**found["content"]["application/json"]["schema"], "components": app.contract["components"]}
    checked = jsonschema_rs.Draft202012Validator(schema, validate_formats=True)
    missing = [name for name in found["headers"] if name not in answer.headers and name not in ("Link", "Content-Digest")]
    return [str(e) for e in checked.iter_errors(answer.json())] + missing


async def test_every_answer_is_of_its_shape(app: Front, moved: tuple[Office, str]) -> None:
    office, then = moved
    now = await in_force(office)
    asked: dict[str, dict[str, Any]] = {
        "lines": {"limit": 500}, "lines/{section}/{code}": {}, "lines/{section}/{code}/history": {}, "revisions": {},
        "revisions/{number}": {}, "compare": {"from": then, "to": now},
    }
    for path, params in asked.items():
        for code in ("lead", "helper", "likely_longest"):
            given = path.format(section="resources", code=code, number="3")
            answer = await office.client.get(office.path(given), params=params)
            assert not faults(app, f"/v1/regions/{{region}}/{path}", "get", answer), given
    answer = await office.client.get(office.path("compare"), params={"from": "2", "to": "4"})
    assert not faults(app, "/v1/regions/{region}/compare", "get", answer)
    body = {"rates": then, "request": {"region": office.code, **QUOTE}}
    answer = await office.client.post(office.path("changes"), json=body)
    assert answer.json()["quote"]["effects"]
    assert not faults(app, "/v1/regions/{region}/changes", "post", answer)


async def test_every_parameter_that_is_taken_is_in_the_contract(app: Front) -> None:
    handlers = {
        (route.path_format, method): handler
        for route in app.litestar.routes for handler in getattr(route, "route_handlers", []) for method in handler.http_methods
    }
    for path, item in app.contract["paths"].items():
        for method, operation in item.items():
            taken = set(handlers[path, method.upper()].opt.get("parameters", ()))
            assert {p["name"] for p in operation.get("parameters", []) if p["in"] == "query"} == taken, path
