"""What comes over the wire raw: each is answered with a problem that says what is wrong, and never with 500."""

from __future__ import annotations

import json
from typing import Any

import httpx
import pytest
from msgspec import inspect

from service.engine.knowledge import Knowledge
from service.web import limits
from service.web.app import build_app
from service.web.requests import request_types
from tests.web.conftest import OPEN, SMALLEST, ask, client_of
from tests.web.fakes import CannedQuotes, FixtureBooks, today

JSON = {"content-type": "application/json"}


async def raw(client: httpx.AsyncClient, body: bytes, **headers: str) -> httpx.Response:
    return await client.post("/v1/quotes", content=body, headers={**JSON, **headers})


def assert_problem(answer: httpx.Response, status: int, slug: str) -> dict[str, Any]:
    """The answer is a problem of that kind, complete, under the id in its header."""
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    body: dict[str, Any] = answer.json()
    assert body["type"] == f"/problems/{slug}"
    assert body["status"] == status
    assert body["request_id"] == answer.headers["x-request-id"]
    assert set(body) == {"type", "title", "status", "detail", "instance", "request_id", "errors"}
    return body


def smallest(**defect: Any) -> dict[str, Any]:
    return {**SMALLEST, "defects": [{**SMALLEST["defects"][0], **defect}]}


# ---- bytes that are no JSON --------------------------------------------------------------------------------------------


async def test_malformed_utf8_is_named_and_not_a_failure(client: httpx.AsyncClient) -> None:
    body = b'{"region":"kestrel-range","defects":[{"element":"\xff","damage":"band"}]}'
    assert "UTF-8" in assert_problem(await raw(client, body), 400, "malformed-json")["detail"]


@pytest.mark.parametrize("body", [b"[" * 100_000, b'{"defects":' + b"[" * 100_000, b'{"a":' * 50_000])
async def test_a_hundred_thousand_brackets_are_refused(client: httpx.AsyncClient, body: bytes) -> None:
    assert_problem(await raw(client, body), 400, "malformed-json")


@pytest.mark.parametrize("body", [b"", b"  \n"])
async def test_an_empty_body_is_called_empty(client: httpx.AsyncClient, body: bytes) -> None:
    assert "empty" in assert_problem(await raw(client, body), 400, "malformed-json")["detail"]


@pytest.mark.parametrize(
    "body",
    [b"{", b'{"region":', b"NaN", b'{"region": NaN}', b"{} {}", b"{'a': 1}", b'{"a": "\\ud800"}', b"\x00", b'{"a":"\x01"}',
     b'\xef\xbb\xbf{"region":"kestrel-range"}'],
)
async def test_what_is_no_json_is_refused_with_the_place(client: httpx.AsyncClient, body: bytes) -> None:
    assert "not JSON" in assert_problem(await raw(client, body), 400, "malformed-json")["detail"]


async def test_a_lone_surrogate_in_a_text_is_refused(client: httpx.AsyncClient) -> None:
    body = b'{"region":"kestrel-range","defects":[{"id":"\\udc00","element":"wall_low","damage":"band"}]}'
    assert_problem(await raw(client, body), 400, "malformed-json")


@pytest.mark.parametrize("body", [b"null", b"[]", b'"text"', b"5", b"true"])
async def test_json_that_is_no_object_is_refused(client: httpx.AsyncClient, body: bytes) -> None:
    errors = assert_problem(await raw(client, body), 400, "invalid-request")["errors"]
    assert [e["pointer"] for e in errors] == ["#"]


# ---- types and forms ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "value"),
    [("count", "5"), ("count", True), ("count", None), ("count", 1.5), ("count", [1]), ("wet_now", "true"), ("wet_now", 1),
     ("side", 5), ("id", 7), ("id", None), ("bears", "wall"), ("causes", {}), ("clock", "3"), ("course", [1, "2"])],
)
async def test_a_value_of_another_type_is_never_taken_for_the_right_one(
    client: httpx.AsyncClient, field: str, value: Any
) -> None:
    errors = assert_problem(await ask(client, smallest(**{field: value})), 400, "invalid-request")["errors"]
    assert len(errors) == 1
    assert errors[0]["pointer"].startswith(f"#/defects/0/{field}")
    assert "must be" in errors[0]["detail"]


async def test_a_whole_number_may_be_written_with_a_point(client: httpx.AsyncClient, quotes: CannedQuotes) -> None:
    body = {**smallest(count=2.0, course=[3.0, 4.0]), "priced_on": "2026-06-01", "wishes": {"latest": "2026-10-31", "look": 1}}
    answer = await raw(client, json.dumps(body).encode())
    assert answer.status_code == 200, answer.text
    assert quotes.asked[0].priced_on.isoformat() == "2026-06-01"
    assert quotes.asked[0].defects[0].count == 2
    assert [s.low for s in quotes.asked[0].defects[0].numbers["course"]] == [3.0, 4.0]


async def test_every_bad_field_is_named_with_its_pointer(client: httpx.AsyncClient) -> None:
    body = {
        "region": "Kestrel Range", "level": "guessed", "defets": [], "wishes": {"look": 11, "latest": "2026-02-30"},
        "defects": [
            {"element": "wall_low", "damage": "band", "depth": "3", "lenght": "8 ft", "a/b~c d": 1},
            {"damage": "band", "from_end": ["3 in", "9 kip"], "causes": [{"code": "K09", "state": "maybe"}]},
        ],
    }
    errors = assert_problem(await ask(client, body), 400, "invalid-request")["errors"]
    told = {e["pointer"]: e["detail"] for e in errors}
    assert set(told) == {
        "#/region", "#/level", "#/defets", "#/wishes/look", "#/wishes/latest", "#/defects/0/depth", "#/defects/0/lenght",
        "#/defects/0/a~1b~0c%20d", "#/defects/1/element", "#/defects/1/from_end/1", "#/defects/1/causes/0/state",
    }
    assert "has no unit" in told["#/defects/0/depth"]
    assert "Did you mean length" in told["#/defects/0/lenght"]
    assert "is missing" in told["#/defects/1/element"]
    assert "measures load" in told["#/defects/1/from_end/1"]


async def test_unreadable_quantities_are_all_named(client: httpx.AsyncClient) -> None:
    errors = assert_problem(
        await ask(client, smallest(depth="1-1/2 in", length="eight ft", moisture="23")), 400, "invalid-request"
    )["errors"]
    assert [e["pointer"] for e in errors] == ["#/defects/0/depth", "#/defects/0/length", "#/defects/0/moisture"]


async def test_a_thousand_faults_are_cut_short_and_said(client: httpx.AsyncClient) -> None:
    body = {"region": "kestrel-range", "defects": [{"x": 1}] * limits.DEFECTS}
    told = assert_problem(await ask(client, body), 400, "invalid-request")
    assert len(told["errors"]) == limits.ERRORS
    assert "More than 100 fields" in told["detail"]


@pytest.mark.parametrize("text", ["a\x00b", "a\nb", "a\n", "\x7f", "\x1b[31m"])
@pytest.mark.parametrize("field", ["id", "element", "wall", "side"])
async def test_control_characters_are_refused_in_every_text(client: httpx.AsyncClient, field: str, text: str) -> None:
    errors = assert_problem(await ask(client, smallest(**{field: text})), 400, "invalid-request")["errors"]
    assert errors[0]["pointer"] == f"#/defects/0/{field}"
    assert "control character" in errors[0]["detail"]


async def test_del_is_refused_unescaped_too(client: httpx.AsyncClient) -> None:
    body = b'{"region":"kestrel-range","defects":[{"id":"\x7f","element":"wall_low","damage":"band"}]}'
    assert_problem(await raw(client, body), 400, "invalid-request")


async def test_a_code_may_not_end_in_a_line_break(client: httpx.AsyncClient) -> None:
    errors = assert_problem(await ask(client, {**SMALLEST, "region": "kestrel-range\n"}), 400, "invalid-request")["errors"]
    assert errors[0]["pointer"] == "#/region"


@pytest.mark.parametrize("number", [2**31, -(2**31), 2**63, 2**64, 10**40, 10**400, "1e400", "1e30"])
async def test_numbers_beyond_four_bytes_are_refused(client: httpx.AsyncClient, number: Any) -> None:
    body = json.dumps(smallest(count=0)).replace('"count": 0', f'"count": {number}').encode()
    answer = await raw(client, body)
    assert answer.status_code == 400, answer.text


@pytest.mark.parametrize("text", ["NaN", "Infinity", "1e999999", "1_0", "NaN in", "1_0 in", "1e5 in", "٣ in"])
async def test_numbers_in_texts_are_plain(client: httpx.AsyncClient, text: str) -> None:
    errors = assert_problem(await ask(client, smallest(depth=text)), 400, "invalid-request")["errors"]
    assert errors[0]["pointer"] == "#/defects/0/depth"


@pytest.mark.parametrize(
    "day", ["2026-02-30", "1999-12-31", "2100-01-01", "9999-12-31", "2026-5-4", "20260504", "2026-W19-1", 5, ""]
)
async def test_a_day_that_is_none_is_refused(client: httpx.AsyncClient, day: Any) -> None:
    errors = assert_problem(await ask(client, {**SMALLEST, "priced_on": day}), 400, "invalid-request")["errors"]
    assert errors[0]["pointer"] == "#/priced_on"


async def test_an_unknown_field_is_refused_anywhere(client: httpx.AsyncClient) -> None:
    body = {**smallest(causes=[{"code": "K09", "why": "x"}]), "site": {"distnace": "3 mi"}, "building": {"x": 1}}
    errors = assert_problem(await ask(client, body), 400, "invalid-request")["errors"]
    assert {e["pointer"] for e in errors} == {"#/defects/0/causes/0/why", "#/site/distnace", "#/building/x"}


async def test_lists_and_texts_have_ends(client: httpx.AsyncClient) -> None:
    body = smallest(id="x" * 121, element="x" * 65, depth=["1 in"] * 201, side=[], causes=[{"code": "K09"}] * 26)
    errors = assert_problem(await ask(client, body), 400, "invalid-request")["errors"]
    assert {e["pointer"].rpartition("/")[2] for e in errors} == {"id", "element", "depth", "side", "causes"}


async def test_no_defect_and_too_many_defects_are_refused(client: httpx.AsyncClient) -> None:
    several: list[list[Any]] = [[], SMALLEST["defects"] * (limits.DEFECTS + 1)]
    for defects in several:
        errors = assert_problem(await ask(client, {**SMALLEST, "defects": defects}), 400, "invalid-request")["errors"]
        assert errors[0]["pointer"] == "#/defects"


async def test_three_hundred_defects_with_every_fact_of_a_visit_fit_into_the_body(client: httpx.AsyncClient) -> None:
    from service.web.examples import MEASURED

    answer = await ask(client, {**MEASURED, "defects": MEASURED["defects"] * limits.DEFECTS})
    assert answer.status_code == 200
    assert len(answer.json()["defects"]) == limits.DEFECTS


def test_no_type_of_a_request_has_a_pattern_for_the_decoder(knowledge: Knowledge) -> None:
    """A pattern in a union with a list corrupts the decoder's memory; forms are held elsewhere."""
    seen: list[inspect.StrType] = []

    def look(kind: Any) -> None:
        if isinstance(kind, inspect.StrType):
            seen.append(kind)
        for field in getattr(kind, "fields", ()):
            look(field.type)
        for name in ("type", "item_type"):
            if hasattr(kind, name):
                look(getattr(kind, name))
        for one in getattr(kind, "types", ()):
            look(one)

    look(inspect.type_info(request_types(knowledge).request))
    assert len(seen) > 50
    assert not [s for s in seen if s.pattern]


# ---- headers and methods -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "given", ["", "text/plain", "application/xml", "application/json; charset=latin-1", "application/jsonx", "application/*"]
)
async def test_a_body_of_another_kind_is_415_and_says_what_is_taken(client: httpx.AsyncClient, given: str) -> None:
    headers = {"content-type": given} if given else {}
    answer = await client.post("/v1/quotes", content=json.dumps(SMALLEST).encode(), headers=headers)
    assert_problem(answer, 415, "unsupported-media-type")
    assert answer.headers["accept"] == "application/json"


async def test_a_compressed_body_is_415(client: httpx.AsyncClient) -> None:
    assert_problem(await raw(client, b"\x1f\x8b", **{"content-encoding": "gzip"}), 415, "unsupported-media-type")


@pytest.mark.parametrize("given", ["application/json; charset=utf-8", 'application/json; charset="UTF-8"', "APPLICATION/JSON"])
async def test_json_in_utf8_is_taken_however_it_is_written(client: httpx.AsyncClient, given: str) -> None:
    answer = await client.post("/v1/quotes", content=json.dumps(SMALLEST).encode(), headers={"content-type": given})
    assert answer.status_code == 200


@pytest.mark.parametrize("given", ["text/html", "application/xml", "application/json;q=0", "*/*;q=0", "image/*, text/*"])
async def test_an_answer_that_we_do_not_write_is_406(client: httpx.AsyncClient, given: str) -> None:
    assert_problem(await ask(client, SMALLEST, headers={"accept": given}), 406, "not-acceptable")


@pytest.mark.parametrize("given", ["*/*", "application/*", "text/html, application/json;q=0.5", "text/html, */*;q=0.1"])
async def test_an_answer_that_we_write_is_given(client: httpx.AsyncClient, given: str) -> None:
    assert (await ask(client, SMALLEST, headers={"accept": given})).status_code == 200


async def test_a_body_over_the_limit_is_413(client: httpx.AsyncClient) -> None:
    answer = await raw(client, b" " * (limits.BODY_BYTES + 1))
    assert str(limits.BODY_BYTES) in assert_problem(answer, 413, "body-too-large")["detail"]


async def test_a_body_over_the_limit_is_413_without_a_length_too(client: httpx.AsyncClient) -> None:
    async def chunks() -> Any:
        for _ in range(limits.BODY_BYTES // 65_536 + 2):
            yield b" " * 65_536

    answer = await client.post("/v1/quotes", content=chunks(), headers=JSON)
    assert_problem(answer, 413, "body-too-large")


@pytest.mark.parametrize(
    ("path", "code"),
    [("/v1/regions/kestrel-range?on=2026-05-04&on=2026-05-05", "repeated_parameter"), ("/v1/regions?page=2", "unknown_parameter"),
     ("/livez?x=null", "unknown_parameter"), ("/v1/catalogue?", None), ("/v1/regions/kestrel-range?on=null", "bad_parameter"),
     ("/v1/regions/kestrel-range?on=", "bad_parameter"), ("/v1/regions/kestrel-range?rates=%00", "bad_parameter"),
     ("/v1/regions/kestrel-range?ON=2026-05-04", "unknown_parameter"), ("/v1/regions/kestrel-range?%ff=1", "unknown_parameter")],
)
async def test_query_parameters_are_known_and_there_once(client: httpx.AsyncClient, path: str, code: str | None) -> None:
    answer = await client.get(path)
    if code is None:
        assert answer.status_code == 200
        return
    assert [e["code"] for e in assert_problem(answer, 400, "invalid-parameter")["errors"]] == [code]


async def test_a_quote_takes_no_parameters(client: httpx.AsyncClient) -> None:
    assert_problem(await client.post("/v1/quotes?view=summary", json=SMALLEST), 400, "invalid-parameter")


@pytest.mark.parametrize("path", ["/livez", "/readyz", "/v1/catalogue", "/v1/regions", "/openapi.json", "/docs", "/metrics"])
async def test_head_is_get_without_the_body(client: httpx.AsyncClient, path: str) -> None:
    head, got = await client.head(path), await client.get(path)
    assert (head.status_code, head.content) == (200, b"")
    assert head.headers["content-type"] == got.headers["content-type"]
    assert path == "/metrics" or head.headers["content-length"] == got.headers["content-length"]


@pytest.mark.parametrize(
    ("path", "methods"),
    [("/v1/quotes", "OPTIONS, POST, QUERY"), ("/v1/regions", "GET, HEAD, OPTIONS"), ("/livez", "GET, HEAD, OPTIONS")],
)
async def test_options_and_405_name_every_method(client: httpx.AsyncClient, path: str, methods: str) -> None:
    options, refused = await client.options(path), await client.request("DELETE", path)
    assert options.status_code == 204
    assert options.headers["allow"] == refused.headers["allow"] == methods
    assert_problem(refused, 405, "method-not-allowed")


@pytest.mark.parametrize("method", ["TRACE", "PUT", "PATCH", "FOO", "QUERY"])
async def test_other_methods_are_405(client: httpx.AsyncClient, method: str) -> None:
    assert_problem(await client.request(method, "/v1/regions"), 405, "method-not-allowed")


async def test_query_is_answered_like_post(client: httpx.AsyncClient) -> None:
    query, posted = await client.request("QUERY", "/v1/quotes", json=SMALLEST), await ask(client, SMALLEST)
    assert (query.status_code, query.content) == (200, posted.content)
    assert query.headers["accept-query"] == "application/json"


@pytest.mark.parametrize("path", ["/", "/v1", "/v1/quotes/1", "/v2/quotes", "/%00", "/v1/regions/a/b", "/docs/../x"])
async def test_an_address_that_is_none_is_a_problem(client: httpx.AsyncClient, path: str) -> None:
    assert_problem(await client.get(path), 404, "not-found")


@pytest.mark.parametrize("region", ["nowhere", "a%00b", "%ff", "Kestrel-Range", "x" * 5000, "%F0%9F%8C%B2", "..%2f"])
async def test_a_region_that_is_none_is_a_problem(client: httpx.AsyncClient, region: str) -> None:
    answer = await client.get(f"/v1/regions/{region}")
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"


async def test_odd_ways_to_write_an_address_lead_nowhere_else(client: httpx.AsyncClient) -> None:
    for path in ("//v1//regions", "/v1/regions/"):
        assert (await client.get(path)).status_code in (200, 404)


async def test_every_answer_has_an_id_and_the_callers_own_is_kept(client: httpx.AsyncClient) -> None:
    assert (await client.get("/livez", headers={"x-request-id": "mine-7"})).headers["x-request-id"] == "mine-7"
    odd = await client.get("/nowhere", headers={"x-request-id": "a b\tc"})
    assert odd.headers["x-request-id"] != "a b\tc"
    assert len(odd.headers["x-request-id"]) == 36


async def test_a_failure_of_ours_is_a_problem_without_a_trace(books: FixtureBooks, knowledge: Knowledge) -> None:
    class Broken(CannedQuotes):
        async def quote(self, *_: Any) -> Any:
            raise ZeroDivisionError("secret")

    app = build_app(quotes=Broken(books), books=books, knowledge=knowledge, today=today, gate=OPEN)
    async with client_of(app) as client:
        answer = await ask(client, SMALLEST)
    assert_problem(answer, 500, "internal-error")
    assert "secret" not in answer.text


async def test_a_number_that_is_none_never_leaves_as_null(books: FixtureBooks, knowledge: Knowledge) -> None:
    class Endless(CannedQuotes):
        async def quote(self, *given: Any) -> Any:
            from dataclasses import replace

            quoted = await super().quote(*given)
            first = quoted.answer.defects[0]
            found = first.findings[0]
            odd = replace(found, options=(replace(found.options[0], holds=float("nan")),))
            return replace(quoted, answer=replace(quoted.answer, defects=(replace(first, findings=(odd,)),)))

    app = build_app(quotes=Endless(books), books=books, knowledge=knowledge, today=today, gate=OPEN)
    async with client_of(app) as client:
        assert_problem(await ask(client, SMALLEST), 500, "internal-error")


@pytest.mark.parametrize("field", ["depth", "moisture", "element", "id", "heartwood", "cracks", "year_built"])
@pytest.mark.parametrize("number", [10**40, 10**400, -(10**400), 10**4000])
async def test_a_number_of_any_length_is_refused_in_any_field(client: httpx.AsyncClient, field: str, number: int) -> None:
    assert_problem(await ask(client, smallest(**{field: number})), 400, "invalid-request")
    whole = {**SMALLEST, "site": {field: number}, "building": {field: number}, "view": number, "priced_on": number}
    assert_problem(await ask(client, whole), 400, "invalid-request")
