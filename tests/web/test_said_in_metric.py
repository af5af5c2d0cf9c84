"""Everything that is read to an owner is in the units of the answer; alike pieces are told once."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import msgspec
import pytest

from service.engine.quote import quote
from service.engine.registry import all_methods
from service.web.convert import Converter
from service.web.decoding import RequestReader
from service.web.present import Presenter
from service.web.requests import request_types
from tests.engine.books import DAY, book
from tests.engine.cases import knowledge

INCHES = re.compile(r"\d(?:/\d)? ?(?:in|ft|lb|kip|degF)\b(?! \d)|\binch|\bfeet\b(?<!buck feet)|\ba foot\b")
"""A number in a unit of the yard stick; not "1 in 3", and not the feet of a door frame."""
NOT_SAID = ("lines", "ask")
"""Lines keep the unit of their rate; a question asks "up from the foot" of a post."""


@lru_cache(maxsize=1)
def _door() -> tuple[RequestReader, Converter]:
    types = request_types(knowledge())
    return RequestReader(types), Converter(types)


def answered(units: str, *defects: dict[str, Any]) -> Any:
    reader, converter = _door()
    body = {"region": "base", "level": "visited", "units": units, "priced_on": DAY.isoformat(), "defects": defects}
    sent = reader.read(json.dumps(body).encode())
    answer = quote(converter.survey(sent, DAY), book(), knowledge(), all_methods())
    return json.loads(msgspec.json.encode(Presenter(answer, sent).quote("1", "0")))


def sentences(answer: Any, name: str = "") -> Iterator[str]:
    if isinstance(answer, dict):
        for key, value in answer.items():
            yield from sentences(value, key)
    elif isinstance(answer, list) and name not in NOT_SAID:
        for value in answer:
            yield from sentences(value, name)
    elif isinstance(answer, str) and name not in NOT_SAID:
        yield answer


@pytest.mark.parametrize(
    ("element", "damage", "facts"),
    [
        ("wall_low", "soft_wood", {}), ("under_window", "band", {"depth": "3 in", "length": "8 ft"}),
        ("sill_log", "band", {"depth": "7 in", "length": "6 ft", "floor_drop": "1 in", "joists": 4}), ("notch", "notch_rot", {}),
        ("log_tail", "end_rot", {"from_end": "6 in"}), ("keystone_log", "soft_wood", {}), ("header_log", "soft_wood", {}),
        ("buck_window", "soft_wood", {"length": "30 in"}), ("chink_line", "seal_fail_adh", {}), ("wall_mid", "check_up", {}),
        ("wall_mid", "uv_grey", {"area": "200 ft2"}), ("wall_mid", "fruiting_body", {}), ("log_siding", "soft_wood", {}),
        ("wall_mid", "ants", {"depth": "2 in"}), ("trim", "soft_wood", {}),
    ],
)
def test_no_inch_is_left_in_a_metric_answer(element: str, damage: str, facts: dict[str, Any]) -> None:
    answer = answered("metric", {"element": element, "damage": damage, **facts})
    assert [text for text in sentences(answer) if INCHES.search(text)] == []


def test_the_same_answer_in_inches_speaks_of_inches() -> None:
    answer = answered("imperial", {"element": "sill_log", "damage": "band", "depth": "7 in", "length": "6 ft"})
    assert [text for text in sentences(answer) if INCHES.search(text)]


def test_pieces_of_which_the_same_is_said_are_told_once() -> None:
    tails = {
        "element": "log_tail", "damage": "end_rot", "section": "12 in", "from_end": ["3 in", "6 in", "12 in"], "tail": "20 in",
        "height": "3 ft",
    }
    headline = answered("imperial", tails)["defects"][0]["headline"]
    assert headline.startswith("Pieces 1, 2: End trimmed and capped")
    assert headline.count("End trimmed and capped") == 1
    assert "; piece 3: Spliced end" in headline
