"""A request becomes the survey that it describes: nothing is assumed, nothing is lost."""

from __future__ import annotations

from datetime import date
from typing import Any

import httpx
import msgspec
import pytest

from service.engine.knowledge import Knowledge
from service.engine.survey import CauseSeen, Span, Survey, Wishes, WoodOnHand
from service.web.convert import Converter
from service.web.decoding import RequestReader
from service.web.requests import SITE_FACTS, request_types
from tests.web.conftest import SMALLEST, ask
from tests.web.fakes import TODAY, CannedQuotes


@pytest.fixture(scope="module")
def door(knowledge: Knowledge) -> tuple[RequestReader, Converter]:
    types = request_types(knowledge)
    return RequestReader(types), Converter(types)


def survey(door: tuple[RequestReader, Converter], body: Any) -> Survey:
    return door[1].survey(door[0].read(msgspec.json.encode(body)), TODAY)


def with_defect(**facts: Any) -> dict[str, Any]:
    return {"region": "kestrel-range", "defects": [{"element": "wall_low", "damage": "band", **facts}]}


def test_what_nobody_said_is_not_there(door: tuple[RequestReader, Converter]) -> None:
    made = survey(door, SMALLEST)
    only = made.defects[0]
    assert dict(only.numbers) == {"length": (Span(96.0, 96.0),)}
    assert (only.words, only.flags, only.many, only.causes, only.wood, only.count, only.id) == ({}, {}, {}, (), (), 1, None)
    assert (made.level, made.units, made.priced_on, made.wishes) == ("told", "", TODAY, Wishes())


def test_a_list_is_one_value_a_piece_and_its_length_is_the_count(door: tuple[RequestReader, Converter]) -> None:
    only = survey(door, with_defect(from_end=["3 in", "9 in"], side=["outer", "inner"], depth="2 in")).defects[0]
    assert only.count == 2
    assert only.numbers["from_end"] == (Span(3.0, 3.0), Span(9.0, 9.0))
    assert only.numbers["depth"] == (Span(2.0, 2.0),)
    assert only.words["side"] == ("outer", "inner")


def test_a_stated_count_is_kept_beside_a_list_of_another_length(door: tuple[RequestReader, Converter]) -> None:
    assert survey(door, with_defect(from_end=["3 in", "9 in"], count=3)).defects[0].count == 3


def test_a_list_of_one_is_a_list(door: tuple[RequestReader, Converter]) -> None:
    """R35: beside a count of three it has the wrong length, which the engine says."""
    assert survey(door, with_defect(from_end=["3 in"], depth="2 in", count=3)).defects[0].listed == ("from_end",)


def test_every_fact_of_the_reference_data_can_be_sent_in_its_unit(
    door: tuple[RequestReader, Converter], knowledge: Knowledge
) -> None:
    said = {
        "length": "1 ft", "area": "10 ft2", "temperature": "50 degF", "moisture": "20 %", "percent": "20 %",
        "load": "1 kip", "line_load": "100 lb/ft", "pressure": "40 psf", "angle": "10 deg", "distance": "12 mi",
        "duration": "2 h", "number": 3, "year": 1960, "word": "a_code", "text": "a text", "flag": False, "words": ["roof"],
    }
    expected = {
        "in": 12.0, "ft": 1.0, "ft2": 10.0, "degF": 50.0, "%": 20.0, "lb": 1000.0, "lb/ft": 100.0, "psf": 40.0, "deg": 10.0,
        "mi": 12.0, "h": 2.0, "": 3.0, "year": 1960.0,
    }
    defect = {f.name: said[f.dimension] for f in knowledge.facts.values() if f.scope in ("defect", "both")}
    house = {f.name: said[f.dimension] for f in knowledge.facts.values() if f.scope in ("house", "both")}
    made = survey(door, {
        **with_defect(**defect),
        "building": {n: v for n, v in house.items() if n not in SITE_FACTS},
        "site": {n: v for n, v in house.items() if n in SITE_FACTS},
    })
    only = made.defects[0]
    assert {*only.numbers, *only.words, *only.flags, *only.many} == set(defect)
    assert {*made.house.numbers, *made.house.words, *made.house.flags, *made.house.many} == set(house)
    for name, spans in only.numbers.items():
        fact = knowledge.facts[name]
        assert spans == (Span(expected[fact.unit], expected[fact.unit]),), name
    for name, span in made.house.numbers.items():
        fact = knowledge.facts[name]
        wanted = 1960.0 if fact.dimension == "year" else expected[fact.unit]
        assert span == Span(wanted, wanted), name
    assert set(only.flags.values()) == {False}
    assert only.many["bears"] == ("roof",)


def test_causes_and_wood_and_wishes_are_taken_as_stated(door: tuple[RequestReader, Converter]) -> None:
    made = survey(door, {
        **with_defect(
            causes=[{"code": "K09"}, {"code": "K01", "state": "by_others", "by": "the roofer", "on": "2026-06-01"}],
            wood=[{"form": "log", "section": "12-13 in", "length": "10 ft", "moisture": "14-17 %", "count": 2}],
        ),
        "building": {"wood": [{"form": "slab", "section": "100 mm", "length": "2 m", "core_checked": True}]},
        "wishes": {"look": 2, "latest": "2026-10-31"},
        "priced_on": "2026-06-01", "level": "opened", "units": "metric",
    })
    assert made.defects[0].causes == (
        CauseSeen("K09", "open"), CauseSeen("K01", "by_others", "the roofer", date(2026, 6, 1))
    )
    assert made.defects[0].wood == (WoodOnHand("log", 12.0, 120.0, 17.0, None, 2),)
    assert made.house.wood[0].core_checked
    assert made.house.wood[0].moisture_pct is None
    assert made.wishes == Wishes(look=2.0, latest=date(2026, 10, 31))
    assert (made.priced_on, made.level, made.units) == (date(2026, 6, 1), "opened", "metric")


async def test_three_quarters_of_an_inch_and_their_millimetres_give_the_same_digest(client: httpx.AsyncClient) -> None:
    digests = [
        (await ask(client, with_defect(depth=text))).json()["input_digest"] for text in ("3/4 in", "19.05 mm", "7/8 in")
    ]
    assert digests[0] == digests[1] != digests[2]


async def test_what_is_resolved_goes_into_the_digest(client: httpx.AsyncClient) -> None:
    digests = [
        (await ask(client, {**SMALLEST, **more})).json()["input_digest"]
        for more in ({}, {"priced_on": "2026-05-04", "level": "told", "units": "imperial", "view": "summary"},
                     {"priced_on": "2026-05-05"})
    ]
    assert digests[0] == digests[1] != digests[2]


async def test_the_region_and_a_pinned_revision_reach_the_desk(client: httpx.AsyncClient, quotes: CannedQuotes) -> None:
    answer = await ask(client, {**SMALLEST, "rates": "base@1/kestrel-range@1"})
    assert answer.json()["rates"] == "base@1/kestrel-range@1"
    assert quotes.asked[0].priced_on == TODAY
