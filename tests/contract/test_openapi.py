"""The published contract is what the service does, and says all that there is to say."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import httpx
import jsonschema_rs
import pytest

from service.bootstrap import contract, create_app
from service.settings import Settings
from service.web import examples
from service.web.problems import KINDS
from tests.contract.document import ROOT, published
from tests.web.conftest import SMALLEST, ask, client_of

DOCUMENT = published()
SCHEMAS = DOCUMENT["components"]["schemas"]
OPERATIONS = [
    pytest.param(path, method, operation, id=operation["operationId"])
    for path, item in DOCUMENT["paths"].items()
    for method, operation in item.items()
]


def validator(name: str) -> jsonschema_rs.Draft202012Validator:
    """Checks a value against one shape of the contract, formats included."""
    return jsonschema_rs.Draft202012Validator(
        {"$ref": f"#/components/schemas/{name}", "components": DOCUMENT["components"]}, validate_formats=True
    )


def refs(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        yield from ([node["$ref"]] if isinstance(node.get("$ref"), str) else [])
        for one in node.values():
            yield from refs(one)
    elif isinstance(node, list):
        for one in node:
            yield from refs(one)


def shapes_in(node: Any) -> set[str]:
    """Names of the shapes that a part of the contract is made of, however deep."""
    found: set[str] = set()
    ahead = [node]
    while ahead:
        names = {ref.rsplit("/", 1)[1] for ref in refs(ahead.pop()) if ref.startswith("#/components/schemas/")}
        ahead += [SCHEMAS[name] for name in names - found]
        found |= names
    return found


def sent(operation: dict[str, Any]) -> list[Any]:
    """What callers write to an operation: its body, and its parameters but for headers, which have HTTP's own bounds."""
    bodies = [kind["schema"] for kind in operation.get("requestBody", {}).get("content", {}).values()]
    return bodies + [p["schema"] for p in operation.get("parameters", []) if p["in"] != "header"]


SENT = [one for path in DOCUMENT["paths"].values() for operation in path.values() for one in sent(operation)]


async def test_the_published_contract_is_the_running_one() -> None:
    """After a change: `python -m service openapi > openapi/openapi.json`, and a line in openapi/CHANGES.md."""
    # Making it asks no database, so none needs to be there.
    async with client_of(create_app(Settings(database_url="postgresql://localhost/none"))) as client:
        running = (await client.get("/openapi.json")).json()
    assert running == DOCUMENT
    assert json.loads(json.dumps(contract())) == DOCUMENT


def test_the_newest_change_is_the_published_version() -> None:
    changes = (ROOT / "openapi" / "CHANGES.md").read_text("utf-8")
    newest = next(line for line in changes.splitlines() if line.startswith("## "))
    assert newest.split()[1] == DOCUMENT["info"]["version"]


def test_every_reference_leads_somewhere_and_every_shape_is_used() -> None:
    used = set(refs(DOCUMENT))
    for ref in used:
        node: Any = DOCUMENT
        for part in ref.removeprefix("#/").split("/"):
            node = node[part]
    there = {f"#/components/{kind}/{name}" for kind, all_ in DOCUMENT["components"].items() for name in all_}
    ways = {f"#/components/securitySchemes/{name}" for name in DOCUMENT["components"]["securitySchemes"]}
    assert there - used == ways  # operations name these without a reference


def test_requests_are_closed_and_answers_are_complete() -> None:
    requests = {name for name in shapes_in(SENT) if SCHEMAS[name].get("type") == "object"}
    assert requests > {"QuoteRequest", "Defect", "Wood", "DraftRequest", "LineChange", "PieceSent", "HoursSent", "KeyRequest"}
    assert not [name for name in requests if SCHEMAS[name].get("additionalProperties") is not False]
    for name, schema in SCHEMAS.items():
        if schema.get("type") == "object" and "additionalProperties" not in schema:
            assert set(schema["required"]) == set(schema["properties"]), name


def test_every_field_is_described() -> None:
    silent = [
        f"{name}.{field}"
        for name, schema in SCHEMAS.items()
        for field, told in schema.get("properties", {}).items()
        if not told.get("description")
    ]
    assert not silent
    assert not [name for name, schema in SCHEMAS.items() if not schema.get("description")]


def loose(node: Any, where: str) -> Iterator[str]:
    """Places of a schema at which a text, a list or a number has no bounds."""
    if not isinstance(node, dict):
        return
    kinds = node["type"] if isinstance(node.get("type"), list) else [node.get("type")]
    if "string" in kinds and "enum" not in node and "maxLength" not in node and node.get("format") != "date":
        yield where
    if "array" in kinds and "maxItems" not in node:
        yield where
    if {"integer", "number"} & set(kinds) and not {"minimum", "maximum"} <= node.keys():
        yield where
    for key in ("items", "anyOf"):
        for one in node[key] if isinstance(node.get(key), list) else [node.get(key)]:
            yield from loose(one, where)
    for field, one in node.get("properties", {}).items():
        yield from loose(one, f"{where}.{field}")


def test_every_text_list_and_number_of_a_request_has_bounds() -> None:
    assert not [w for name in sorted(shapes_in(SENT)) for w in loose(SCHEMAS[name], name)]
    for path, item in DOCUMENT["paths"].items():
        for method, operation in item.items():
            assert not [w for one in sent(operation) for w in loose(one, f"{method} {path}")]


@pytest.mark.parametrize(("path", "method", "operation"), OPERATIONS)
def test_every_operation_says_who_it_is_and_what_can_go_wrong(path: str, method: str, operation: dict[str, Any]) -> None:
    assert operation["summary"], path
    assert operation["description"], path
    assert operation["tags"], path
    refused = {status for status in operation["responses"] if status >= "400"}
    assert {"400", "405", "406", "500"} <= refused
    assert ("413" in refused) == ("requestBody" in operation), method
    for parameter in operation.get("parameters", []):
        assert parameter["description"], path


def test_operation_ids_are_steady() -> None:
    assert sorted(p.values[2]["operationId"] for p in OPERATIONS) == [  # type: ignore[index]
        "addPiece", "alterPiece", "compareBooks", "countStock", "createQuote", "deleteDraft", "inheritDraftLine", "isAlive",
        "isReady", "listCounts", "listDrafts", "listHours", "listKeys", "listLines", "listRegions", "listRevisions", "makeKey",
        "openDraft", "patchDraftLine", "previewDraft", "publishDraft", "putDraftLine", "readAudit", "readCatalogue",
        "readChanges", "readContract", "readDocs", "readDraft", "readDraftDifference", "readDraftLines", "readHoursDrift",
        "readKey", "readLine", "readLineHistory", "readMetrics", "readPiece", "readProblem", "readRegion", "readRegionAudit",
        "readRevision", "readStock", "rebaseDraft", "replaceDraftLines", "reportHours", "revertToRevision", "revokeKey",
        "rotateKey", "takeHoursSuggestions", "usePiece",
    ]


def test_addresses_and_the_tags_that_they_stand_under_are_told() -> None:
    told = {tag["name"]: tag["description"] for tag in DOCUMENT["tags"]}
    used = {tag for p in OPERATIONS for tag in p.values[2]["tags"]}  # type: ignore[index]
    assert set(told) == used
    assert all(told.values())


def test_every_change_names_the_state_that_it_is_made_to_or_may_be_sent_again() -> None:
    """A lost update or a doubled create would go unnoticed. What stores nothing, and what is the same twice, needs neither."""
    harmless = {"createQuote", "readChanges", "previewDraft", "revokeKey"}
    for path, item in DOCUMENT["paths"].items():
        for method, operation in item.items():
            if method == "get" or operation["operationId"] in harmless:
                continue
            asked = {p["name"]: p["required"] for p in operation["parameters"]}
            assert asked.get("If-Match") or "Idempotency-Key" in asked, (method, path)
            if "If-Match" in asked:
                assert {"412", "428"} <= set(operation["responses"]), (method, path)


@pytest.mark.parametrize(("name", "body"), [(name, body) for name, _, body in examples.REQUESTS])
async def test_every_example_is_of_the_form_and_is_answered_in_the_form(
    client: httpx.AsyncClient, name: str, body: dict[str, Any]
) -> None:
    assert not list(validator("QuoteRequest").iter_errors(body)), name
    answer = await ask(client, body)
    assert answer.status_code == 200, answer.text
    shape = "Summary" if body.get("view") == "summary" else "Quote"
    assert not [str(e) for e in validator(shape).iter_errors(answer.json())]


@pytest.mark.parametrize(
    ("path", "shape"),
    [("/v1/catalogue", "Catalogue"), ("/v1/regions", "Regions"), ("/v1/regions/sollavik", "Book"), ("/readyz", "Ready"),
     ("/livez", "Alive"), ("/nowhere", "Problem")],
)
async def test_every_answer_is_of_its_shape(client: httpx.AsyncClient, path: str, shape: str) -> None:
    assert not [str(e) for e in validator(shape).iter_errors((await client.get(path)).json())]


async def test_groups_and_rejected_defects_are_of_the_form_too(client: httpx.AsyncClient) -> None:
    body = {"region": "kestrel-range", "units": "metric", "defects": [
        {"element": "post_porch", "damage": "foot_rot", "from_end": ["3 in", "9 in"]}, {"element": "moon", "damage": ""},
    ]}
    answer = await ask(client, body)
    assert not [str(e) for e in validator("Quote").iter_errors(answer.json())]
    small = await ask(client, {**body, "view": "summary"})
    assert not [str(e) for e in validator("Summary").iter_errors(small.json())]


def test_examples_of_problems_are_of_the_form() -> None:
    for slug in KINDS:
        assert not list(validator("Problem").iter_errors(examples.problem_example(slug))), slug


def test_the_smallest_example_is_the_first_quote_of_the_demo() -> None:
    first = json.loads((ROOT / "fixtures" / "requests" / "first-quote.json").read_text("utf-8"))
    assert first == examples.SMALLEST == SMALLEST
