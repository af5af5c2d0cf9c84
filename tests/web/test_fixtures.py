"""The example requests are answered by the real engine; the broken ones are answered with the words that they expect."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.application.quotes import QuoteDesk
from service.engine.knowledge import Knowledge
from service.engine.registry import all_methods
from service.web.app import build_app
from service.web.front import Front
from tests.web.conftest import OPEN, ask, client_of
from tests.web.fakes import FixtureBooks, today

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"


def files(folder: str) -> list[Any]:
    found = sorted((FIXTURES / folder).glob("*.json"))
    assert found
    return [pytest.param(json.loads(p.read_text("utf-8")), id=p.stem) for p in found]


@pytest.fixture(scope="module")
def real(knowledge: Knowledge) -> Front:
    """The application with the real engine and books from the fixtures."""
    books = FixtureBooks()
    return build_app(
        quotes=QuoteDesk(books, knowledge, all_methods()), books=books, knowledge=knowledge, today=today, gate=OPEN
    )


@pytest.fixture
async def quoting(real: Front) -> AsyncIterator[httpx.AsyncClient]:
    async with client_of(real) as made:
        yield made


@pytest.mark.parametrize("request_body", files("requests"))
async def test_every_example_request_has_a_plan_for_every_defect(
    quoting: httpx.AsyncClient, request_body: dict[str, Any]
) -> None:
    answer = await ask(quoting, request_body)
    assert answer.status_code == 200, answer.text
    for defect in answer.json()["defects"]:
        assert defect["status"] in ("priced", "provisional"), defect["headline"]
        plans = defect["options"] or [g["options"] for g in defect["groups"]]
        assert plans
        assert all(plans)


@pytest.mark.parametrize("case", files("broken"))
async def test_every_broken_request_is_told_what_is_wrong_and_where(quoting: httpx.AsyncClient, case: dict[str, Any]) -> None:
    answer = await ask(quoting, case["request"])
    told = answer.json()
    assert answer.status_code == case["status"], answer.text
    if case["type"]:
        assert told["type"] == f"/problems/{case['type']}"
        said = [(e["pointer"], e["detail"]) for e in told["errors"]]
    else:
        said = [(s["pointer"], f"{s['wrong']} {s['right']}") for d in told["defects"] for s in d["slips"]]
    for expected in case["says"]:
        assert any(p == expected["pointer"] and expected["words"] in words for p, words in said), said
