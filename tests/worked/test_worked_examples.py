"""Worked examples over HTTP: facts go in as they stand in the files, the answer is held against what a restorer expects.

Methods, ratios, clocks and wood are the strict part; price bands are plausibility (factor 2 to 3). The requests hold facts
only, and what is expected of an answer is read after it was given. Source: common practice, no source.
"""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Iterator, Mapping
from contextlib import asynccontextmanager
from datetime import date
from decimal import Decimal
from typing import Any

import httpx
import pytest
from anyio.from_thread import start_blocking_portal

from service.bootstrap import create_app
from service.settings import Settings
from tests.engine.cases import knowledge
from tests.worked import examples
from tests.worked.expectations import faults
from tests.worked.figures import Ask, number_of
from tests.worked.patches import patched
from tests.worked.reading import Reading
from tests.worked.restating import in_metric, nudged, turned_round
from tests.worked.twisting import moved

CENT = Decimal("0.01")


@pytest.fixture(scope="module")
def ask(loaded_url: str) -> Iterator[Ask]:
    """Posts a request to the real application and reads the answer; the same request is posted once."""
    known: dict[bytes, Reading] = {}
    with start_blocking_portal() as portal, portal.wrap_async_context_manager(_running(loaded_url)) as client:
        def post(body: Mapping[str, Any]) -> Reading:
            content = json.dumps(body).encode()
            if content not in known:
                answer = portal.call(_post, client, content)
                assert answer.status_code == 200, answer.text
                known[content] = Reading(answer.json())
            return known[content]

        yield post


@asynccontextmanager
async def _running(url: str) -> AsyncIterator[httpx.AsyncClient]:
    """A client of the application, which is started before and stopped after as a server would."""
    app: Any = create_app(
        Settings(database_url=url, database_patience_s=20.0, open_scopes=frozenset({"quote"}), quota_per_address=0)
    )
    async with app.litestar.lifespan(), httpx.AsyncClient(
        transport=httpx.ASGITransport(app=app), base_url="http://quotes"
    ) as client:
        yield client


async def _post(client: httpx.AsyncClient, content: bytes) -> httpx.Response:
    return await client.post("/v1/quotes", content=content, headers={"content-type": "application/json"})


@pytest.mark.parametrize("name", examples.names())
def test_an_answer_is_what_a_restorer_would_say(name: str, ask: Ask) -> None:
    """First plan, what may stand beside it, what must not, prices, clocks, wood, causes and cautions are as expected."""
    assert faults(examples.request(name), examples.expected(name), ask) == []


@pytest.mark.parametrize(("name", "place"), [pytest.param(n, k, id=f"{n}: {what}") for n, k, what in examples.twists()])
def test_a_changed_fact_changes_what_it_must_and_moves_no_other_method(name: str, place: int, ask: Ask) -> None:
    """A twist changes the plan as expected, and no method comes in or goes out whose gates do not read the fact."""
    twist = examples.expected(name)["twists"][place]
    before = examples.request(name)
    after = patched(before, twist["patch"])
    assert after != before
    assert faults(after, twist["expect"], ask) + moved(ask(before), ask(after), twist["may_move"]) == []
    if "falls_by_less_than" in twist:
        fall = Decimal(ask(before).job["total"]) - Decimal(ask(after).job["total"])
        assert 0 < fall < number_of(twist["falls_by_less_than"], before, ask)


@pytest.mark.parametrize(
    ("name", "pointer", "fact"),
    [(n, one["without"], one["asked"]) for n in examples.names() for one in examples.expected(n)["asked_without"]],
)
def test_a_fact_that_decides_is_asked_for_when_it_is_missing(name: str, pointer: str, fact: str, ask: Ask) -> None:
    """Without the fact, it is among the questions, and there are three at most."""
    answer = ask(patched(examples.request(name), [{"op": "remove", "path": pointer}]))
    for _, group in answer.all_groups():
        assert fact in group.asked
        assert len(group.asked) <= 3


@pytest.mark.parametrize("name", examples.names())
def test_one_percent_away_from_a_gate_does_not_change_the_first_plan(name: str, ask: Ask) -> None:
    """Each number of the request is moved by 1 % up and down; a number that stands at a gate is left alone."""
    body = examples.request(name)
    first = _first_plans(ask(body))
    left_alone = examples.expected(name)["at_a_gate"]
    changed = {
        f"{pointer} {step}": _first_plans(ask(other)) for pointer, step, other in nudged(body) if pointer not in left_alone
    }
    assert {where: plans for where, plans in changed.items() if plans != first} == {}


@pytest.mark.parametrize("name", [n for n in examples.names() if len(examples.request(n)["defects"]) > 1])
def test_the_order_of_the_defects_does_not_matter(name: str, ask: Ask) -> None:
    """Turned round, every defect has the same plans at the same prices, and the job costs the same."""
    body = examples.request(name)
    one, other = ask(body), ask(turned_round(body))
    assert {d["id"]: _plans(d) for d in one.defects} == {d["id"]: _plans(d) for d in other.defects}
    assert abs(Decimal(one.job["total"]) - Decimal(other.job["total"])) <= CENT


@pytest.mark.parametrize("name", examples.names())
def test_the_same_facts_in_metric_have_the_same_plans_at_the_same_price(name: str, ask: Ask) -> None:
    """Lengths are exact in both systems; a temperature or a distance may round in the last cent."""
    body = examples.request(name)
    one, other = ask(body), ask(in_metric(body))
    for inches, millimetres in zip(one.defects, other.defects, strict=True):
        a, b = _plans(inches), _plans(millimetres)
        assert [plan[:-1] for plan in a] == [plan[:-1] for plan in b]
        assert all(abs(p[-1] - q[-1]) <= CENT for p, q in zip(a, b, strict=True))
    assert abs(Decimal(one.job["total"]) - Decimal(other.job["total"])) <= 2 * CENT


def test_the_requests_name_no_method_and_no_expectation() -> None:
    """Facts only: no code of a method, no number of a case."""
    for name in examples.names():
        text = json.dumps(examples.request(name))
        said = [m for m in _methods() if f'"{m}"' in text]
        assert said == []
        assert examples.expected(name)["case"] not in text


def test_the_shore_stands_before_snow_may_fall(ask: Ask) -> None:
    """Where a first plan has to be shored before a date, the shore is up before it."""
    dated = [n for n in examples.names() if "shored_before" in examples.expected(n)]
    assert dated
    for name in dated:
        first = ask(examples.request(name)).group().first
        (day,) = examples.expected(name)["shored_before"]
        shored = max(s["ends_day"] for s in first["steps"] if s["method"] == "temp_shore")
        assert shored < _days_between(examples.request(name)["priced_on"], day)


def _days_between(day: str, other: str) -> int:
    return (date.fromisoformat(other) - date.fromisoformat(day)).days


def _methods() -> list[str]:
    return list(knowledge().methods)


def _first_plans(answer: Reading) -> list[tuple[str, str]]:
    return [(group.first["method"], group.first["variant"]) for _, group in answer.all_groups()]


def _plans(defect: Mapping[str, Any]) -> list[tuple[Any, ...]]:
    groups = defect["groups"] or [defect]
    return [
        (tuple(group["pieces"]), option["method"], option["variant"], Decimal(option["whole"]["as_described"]))
        for group in groups
        for option in group["options"]
    ]


WRONG = (
    {"first": ["chord_replace"]}, {"phases": ["face_veneer", "flashing"]}, {"acceptable": [], "first": ["log_partial"]},
    {"must_not": ["face_veneer"]}, {"must_not": ["rechink", "end_splice", "face_veneer"]}, {"must_not_first": ["face_veneer"]},
    {"offered": ["epoxy_fill"]}, {"ruled_out": {"epoxy_fill": "G07"}}, {"urgency": ["U0"]}, {"says": ["snow_load"]},
    {"silent": ["hold_point"]}, {"causes": {"K09": "declined"}}, {"suspects": ["chimney"]}, {"asks": ["treads"]},
    {"delays": {"face_veneer": ["cold"]}}, {"no_delays": {"log_partial": ["wood"]}}, {"warranty": False},
    {"waiver": True}, {"wood": {"face_veneer": 0}}, {"wood": {"temp_cover": 1}},
)
"""Things that are not so of the rotten face under a window."""


@pytest.mark.parametrize("wrong", WRONG, ids="-".join)
def test_a_wrong_expectation_is_found_out(wrong: Mapping[str, Any], ask: Ask) -> None:
    """Each kind of expectation can fail: said wrongly, it is reported."""
    body = examples.request("rotten-face-under-a-window")
    assert faults(body, {"defects": [{"defect": 0, **wrong}]}, ask) != []


def test_a_method_that_moves_without_cause_is_found_out(ask: Ask) -> None:
    """A deeper rot moves the facing out; where nobody said that it may move, that is reported."""
    body = examples.request("rotten-face-under-a-window")
    deeper = patched(body, [{"op": "replace", "path": "/defects/0/depth", "value": "7 in"}])
    assert any("face_veneer" in fault for fault in moved(ask(body), ask(deeper), {}))
    assert moved(ask(body), ask(body), {}) == []
