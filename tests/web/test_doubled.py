"""A name that stands twice in an object is refused with its place, wherever it stands: the first would be lost silently."""

from __future__ import annotations

import json
from typing import Any

import httpx
import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.web.doubled import doubled_in
from tests.web.conftest import SMALLEST
from tests.web.test_raw_http import assert_problem, raw

VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3), max_leaves=12,
)


@pytest.mark.parametrize(("body", "places"), [
    (b'{"a": 1, "a": 1}', [("a",)]),
    (b'{"a": 1, "\\u0061": 2}', [("a",)]),
    (b'{"a": {"b": 1, "b": 2}, "a": 3}', [("a",), ("a", "b")]),
    (b'[{"x": 1}, {"x": 1, "y": [], "x": 2, "x": 3, "y": {}}]', [(1, "x"), (1, "y")]),
    (b'{"a": {"b": 1}, "b": 1}', []),
    (b'{"a": 1, "A": 1}', []),
    (b"[" * 900 + b"]" * 900, []),
])
def test_each_name_that_stands_twice_is_found_by_its_place(body: bytes, places: list[tuple[Any, ...]]) -> None:
    assert doubled_in(body) == places


@given(VALUES)
def test_what_a_program_writes_has_no_name_twice(value: Any) -> None:
    """The other reader of JSON takes whatever the decoder takes."""
    for body in (json.dumps(value).encode(), json.dumps(value, ensure_ascii=False).encode("utf-8", "replace")):
        msgspec.json.decode(body)
        assert doubled_in(body) == []


async def test_a_quote_that_says_a_fact_twice_is_refused_with_all_its_faults(client: httpx.AsyncClient) -> None:
    said = json.dumps(SMALLEST)
    body = said.replace('"damage":', '"length": "2 ft", "length": "9 ft", "colour": 1, "damage":', 1)
    faults = assert_problem(await raw(client, body.encode()), 400, "invalid-request")["errors"]
    assert {f["pointer"]: "twice" in f["detail"] for f in faults} == {"#/defects/0/length": True, "#/defects/0/colour": False}


async def test_a_quote_that_is_right_but_for_a_name_twice_is_refused(client: httpx.AsyncClient) -> None:
    body = json.dumps(SMALLEST).replace('"damage":', '"length": "2 ft", "length": "2 ft", "damage":', 1)
    (fault,) = assert_problem(await raw(client, body.encode()), 400, "invalid-request")["errors"]
    assert fault["pointer"] == "#/defects/0/length"
