"""The effective book, line by line: what counts, from whom, and in place of what."""

from __future__ import annotations

import base64
import csv
import hashlib
import io
import json
from decimal import Decimal
from typing import Any

import httpx
import pytest

from tests.rates.conftest import ClientOf
from tests.rates.offices import Office, draft_of, new_office
from tests.rates.rewriting import get, in_force, recount, republish
from tests.storage.factory import line, piece

OWN = {"own": "own,overridden"}
SHEET = ["section", "code", "unit", "low", "likely", "high", "kind", "source", "what", "locked"]


@pytest.fixture
async def small(loaded_url: str, client_of: ClientOf) -> Office:
    """A region below the base book with three lines of its own, one of them new."""
    return await new_office(
        loaded_url, client_of, line("lead", "19"), line("helper", "11.50", what="Hand for HEAVY lifting"),
        line("barge_day", "12", unit="d", kind="hire", source="=harbour office"),
    )


async def everything(office: Office, **params: Any) -> list[dict[str, Any]]:
    """All lines of all pages."""
    found: list[dict[str, Any]] = []
    body = await get(office, "lines", limit=170, **params)
    while True:
        found += body["lines"]
        if body["next_cursor"] is None:
            assert body["total"] == len(found)
            return found
        body = await get(office, "lines", limit=170, cursor=body["next_cursor"], **params)


async def test_the_lines_are_those_that_quotes_are_priced_by(small: Office) -> None:
    book = (await small.client.get(f"/v1/regions/{small.code}")).json()
    priced = [(x["section"], x["code"], x["likely"], x["from"], x["unit"]) for x in book["lines"]]
    read = [
        (x["section"], x["code"], x["value"]["likely"], x["value"]["from"], x["value"]["unit"]) for x in await everything(small)
    ]
    assert len(read) > 600
    assert read == priced


async def test_an_overridden_line_has_the_inherited_one_beside_it(small: Office) -> None:
    lines = {x["code"]: x for x in (await get(small, "lines", section="resources", limit=500))["lines"]}
    lead = lines["lead"]
    assert (lead["standing"], lead["value"]["from"], lead["value"]["likely"]) == ("overridden", small.code, "19")
    assert (lead["inherited"]["from"], lead["inherited"]["likely"]) == ("base", "95")
    assert lead["ratio"] == 0.2
    assert (lines["barge_day"]["standing"], lines["barge_day"]["inherited"]) == ("own", None)
    assert (lines["carpenter"]["standing"], lines["carpenter"]["inherited"]) == ("inherited", None)


async def test_a_lock_above_sets_the_own_line_aside(small: Office, loaded_url: str, client_of: ClientOf) -> None:
    below = await new_office(loaded_url, client_of, line("lead", "18"), parent=small.code)
    await republish(loaded_url, small.id, line("lead", "19", locked=True))
    await in_force(below, f"{small.code}@2")
    found = await get(below, "lines/resources/lead")
    assert (found["line"]["standing"], found["line"]["value"]["likely"]) == ("locked", "19")
    assert found["line"]["set_aside"]["likely"] == "18"
    assert [member["counts"] for member in found["chain"]] == [False, True, False]
    assert "has locked the line" in found["chain"][2]["because"]
    assert (await get(small, "lines/resources/lead"))["line"]["standing"] == "overridden"


async def test_one_line_is_told_through_the_whole_chain(small: Office, loaded_url: str, client_of: ClientOf) -> None:
    below = await new_office(loaded_url, client_of, line("helper", "10"), parent=small.code)
    found = await get(below, "lines/resources/lead")
    assert [m["revision"]["region"] for m in found["chain"]] == ["base", small.code, below.code]
    assert [m["value"] and m["value"]["likely"] for m in found["chain"]] == ["95", "19", None]
    assert [m["counts"] for m in found["chain"]] == [False, True, False]
    assert found["chain"][1]["revision"]["who"] == "tester"
    assert found["line"]["standing"] == "inherited"


FILTERS: tuple[tuple[dict[str, str], Any], ...] = (
    ({"section": "weights"}, lambda x: x["section"] == "weights"),
    ({"code": "log_dry"}, lambda x: x["code"].startswith("log_dry")),
    ({"text": "heavy LIFTING"}, lambda x: "heavy lifting" in x["value"]["what"].lower()),
    ({"own": "own"}, lambda x: x["standing"] == "own"),
    (OWN, lambda x: x["value"]["from"] != "base"),
    ({"section": "resources", "code": "l", "own": "inherited"},
     lambda x: x["section"] == "resources" and x["code"].startswith("l") and x["standing"] == "inherited"),
    ({"text": "no such words anywhere"}, lambda _: False),
)


async def test_a_filter_leaves_exactly_the_lines_that_it_names(small: Office) -> None:
    whole = await everything(small)
    for asked, holds in FILTERS:
        assert await everything(small, **asked) == [x for x in whole if holds(x)], asked


async def test_lines_sort_by_likely_value_and_by_distance_from_the_parent(small: Office) -> None:
    up = [Decimal(x["value"]["likely"]) for x in await everything(small, sort="likely")]
    down = [Decimal(x["value"]["likely"]) for x in await everything(small, sort="-likely")]
    assert up == sorted(up)
    assert down == sorted(down, reverse=True)
    far = [x["code"] for x in await everything(small, sort="distance")]
    # 95 to 19 is a fifth, 55 to 11.50 a bit more.
    assert far[:2] == ["lead", "helper"]


async def test_all_pages_are_of_one_book_whatever_is_published_between_them(small: Office, loaded_url: str) -> None:
    before = await everything(small, section="resources")
    first = await get(small, "lines", section="resources", limit=60)
    await republish(loaded_url, small.id, line("lead", "20"), without=[("resources", "barge_day")])
    await in_force(small, f"{small.code}@2")
    rest: list[dict[str, Any]] = []
    cursor = first["next_cursor"]
    while cursor:
        page = await get(small, "lines", section="resources", limit=60, cursor=cursor)
        assert page["rates"] == first["rates"]
        rest, cursor = rest + page["lines"], page["next_cursor"]
    assert first["lines"] + rest == before
    assert await everything(small, section="resources") != before


async def test_the_header_leads_to_the_next_page(small: Office) -> None:
    answer = await small.client.get(small.path("lines"), params={"limit": 2, "text": "log & beam, 50 %"})
    assert "link" not in answer.headers
    answer = await small.client.get(small.path("lines"), params={"limit": 2, "text": "log"})
    address = answer.headers["link"].removeprefix("<").removesuffix('>; rel="next"')
    following = (await small.client.get(address)).json()
    assert following["lines"] == (await get(small, "lines", text="log", limit=4))["lines"][2:]


def _forged(*parts: object) -> str:
    return base64.urlsafe_b64encode(json.dumps(parts).encode()).decode().rstrip("=")


FORGED = (
    "", "?", "a", "e30", "W10", "\x00", "x" * 3000, _forged("q"), _forged("q", 1), _forged("q", -1), _forged("q", 10**30),
    _forged("q", "2026-05-04", "base@1", "resources", "lead"), _forged("q", "not a day", "\x00", "a", "b"),
    _forged("q", "2026-05-04T00:00:00", "base", 1), _forged("q", "2026-05-04T00:00:00Z", "\x00", 10**20),
    base64.urlsafe_b64encode(b"[" * 700).decode(),
)


@pytest.mark.parametrize("path", ["lines", "revisions", "lines/resources/lead/history"])
async def test_a_forged_cursor_is_named_as_one(office: httpx.AsyncClient, path: str) -> None:
    for forged in FORGED:
        answer = await office.get(f"/v1/regions/kestrel-range/{path}", params={"cursor": forged})
        assert answer.status_code == 400, (forged, answer.text)
        assert answer.json()["type"] == "/problems/invalid-parameter"
        assert "cursor" in answer.json()["detail"]


async def test_a_cursor_with_the_digest_of_its_question_is_held_to_its_form(office: httpx.AsyncClient) -> None:
    digest = hashlib.sha256(json.dumps([]).encode()).hexdigest()[:12]
    places: dict[str, list[list[Any]]] = {
        "lines": [["2026-05-04", "base@1/sollavik@1", "resources", "lead"], ["1066-01-01", "base@1", "resources", "lead"],
                  ["2026-05-04", "\x00", "resources", "lead"], ["2026-05-04", "base@1/kestrel-range@1", "resources", "\x00"]],
        "revisions": [[0], [-5], [10**20]],
        "lines/resources/lead/history": [
            ["2026-05-04T00:00:00", "base", 1], ["2026-05-04T00:00:00+00:00", "b\x00", 1],
            ["2026-05-04T00:00:00+00:00", "base", 10**20], ["yesterday", "base", 1],
            ["0001-01-01T00:00:00+14:00", "base", 1], ["9999-12-31T23:59:59-14:00", "base", 1]],
    }
    for path, wrong in places.items():
        for place in wrong:
            answer = await office.get(f"/v1/regions/kestrel-range/{path}", params={"cursor": _forged(digest, *place)})
            assert answer.status_code == 400, (place, answer.text)
            assert "cursor" in answer.json()["detail"]


async def test_a_cursor_goes_on_with_its_own_question_only(small: Office) -> None:
    cursor = (await get(small, "lines", limit=3, section="resources"))["next_cursor"]
    answer = await small.client.get(small.path("lines"), params={"cursor": cursor, "section": "norms"})
    assert answer.status_code == 400
    assert "another question" in answer.json()["detail"]


BAD = (
    ("section", "prices"), ("code", "Lead!"), ("code", "a" * 81), ("text", "t" * 121), ("own", "mine"), ("own", "own,,locked"),
    ("sort", "price"), ("limit", "0"), ("limit", "501"), ("limit", "1e3"), ("limit", "\u0663"), ("limit", "9" * 20),
    ("on", "2026-02-30"), ("on", "1999-01-01"), ("on", "\x00"), ("rates", "base@1;drop"), ("rates", "r" * 301), ("page", "2"),
)


async def test_a_bad_parameter_is_named(office: httpx.AsyncClient) -> None:
    for name, value in BAD:
        answer = await office.get("/v1/regions/kestrel-range/lines", params={name: value})
        assert answer.status_code == 400, (name, value, answer.text)
        assert name in answer.json()["errors"][0]["detail"]


@pytest.mark.parametrize(
    ("path", "params", "named"),
    [
        ("lines", {"section": "prices", "code": "Lead!", "text": "t" * 121, "own": "mine", "sort": "price", "limit": "0",
                   "cursor": "?", "on": "soon", "rates": "!", "page": "2"},
         {"section", "code", "text", "own", "sort", "limit", "cursor", "on", "rates", "page"}),
        ("compare", {"form": "1"}, {"form", "from", "to"}),
        ("compare", {"from": "!", "to": ""}, {"from", "to"}),
        ("audit", {"action": "!", "who": "\x01", "since": "soon", "until": "2026-02-30", "limit": "x"},
         {"action", "who", "since", "until", "limit"}),
        ("hours", {"method": "\x01", "job": "j" * 999, "cursor": "x"}, {"method", "job", "cursor"}),
        ("stock/counts", {"limit": "0", "cursor": "x", "on": "2026-01-01"}, {"limit", "cursor", "on"}),
        ("lines/resources/lead", {"on": "soon", "rates": ""}, {"on", "rates"}),
    ],
)
async def test_of_several_bad_parameters_every_one_is_named(
    office: httpx.AsyncClient, path: str, params: dict[str, str], named: set[str]
) -> None:
    answer = await office.get(f"/v1/regions/kestrel-range/{path}", params=params)
    assert (answer.status_code, answer.json()["type"]) == (400, "/problems/invalid-parameter")
    said = [fault["detail"].split("'")[1] for fault in answer.json()["errors"]]
    assert sorted(said) == sorted(named)


async def test_a_doubled_parameter_does_not_hide_another_bad_one(office: httpx.AsyncClient) -> None:
    answer = await office.get("/v1/regions/kestrel-range/lines?on=soon&on=later&limit=0")
    assert [fault["code"] for fault in answer.json()["errors"]] == ["repeated_parameter", "bad_parameter"]


async def test_a_text_that_no_line_has_is_an_empty_page(office: httpx.AsyncClient) -> None:
    for text in ("\x00", "%", "'; --", "\ufffd", "[a-z]("):
        body = (await office.get("/v1/regions/kestrel-range/lines", params={"text": text, "code": "zzz"})).json()
        assert (body["lines"], body["total"], body["next_cursor"]) == ([], 0, None)


async def test_a_chain_of_another_region_is_not_there(office: httpx.AsyncClient) -> None:
    foreign = await office.get("/v1/regions/kestrel-range/lines", params={"rates": "base@1/sollavik@1"})
    never = await office.get("/v1/regions/kestrel-range/lines", params={"rates": "base@1/nowhere@1"})
    assert foreign.status_code == never.status_code == 404
    assert foreign.json()["detail"].split(":")[1:] == never.json()["detail"].split(":")[1:]
    assert (await office.get("/v1/regions/base/lines")).status_code == 404


async def test_rates_may_be_pinned_with_a_plus_as_it_is(office: httpx.AsyncClient) -> None:
    rates = (await office.get("/v1/regions/kestrel-range/lines")).json()["rates"]
    assert "+" in rates
    assert (await office.get(f"/v1/regions/kestrel-range/lines?rates={rates}")).json()["rates"] == rates


async def test_a_line_that_is_not_there_is_404(office: httpx.AsyncClient) -> None:
    for path in ("prices/lead", "resources/Lead", "resources/" + "a" * 81, "resources/nothing", "resources/a%00b"):
        for rest in ("", "/history"):
            answer = await office.get(f"/v1/regions/kestrel-range/lines/{path}{rest}")
            assert answer.status_code == 404, answer.text
            assert answer.json()["type"] == "/problems/unknown-line"


async def test_a_mistyped_line_is_told_what_is_near(office: httpx.AsyncClient) -> None:
    answer = await office.get("/v1/regions/kestrel-range/lines/resources/carpentr")
    assert "Near: carpenter" in answer.json()["detail"]


async def test_what_has_not_changed_is_not_sent_again(office: httpx.AsyncClient) -> None:
    line_paths = ("lines", "lines/resources/lead", "lines/resources/lead/history")
    for path in (*line_paths, "revisions", "revisions/1", "compare?from=1&to=1"):
        first = await office.get(f"/v1/regions/kestrel-range/{path}")
        again = await office.get(f"/v1/regions/kestrel-range/{path}", headers={"If-None-Match": first.headers["etag"]})
        assert (again.status_code, again.content) == (304, b""), path
        assert first.headers["cache-control"] == "private, no-cache"
        assert "Accept" in first.headers["vary"]


async def test_the_own_lines_come_as_a_sheet_that_a_draft_takes(small: Office) -> None:
    answer = await small.client.get(small.path("lines"), params=OWN, headers={"Accept": "text/csv"})
    assert answer.headers["content-type"].startswith("text/csv")
    rows = list(csv.DictReader(io.StringIO(answer.content.decode())))
    assert list(rows[0]) == SHEET
    assert {row["code"]: row["likely"] for row in rows} == {"lead": "19", "helper": "11.50", "barge_day": "12"}
    # A spreadsheet would run it as a formula.
    assert {row["source"] for row in rows} == {"test", "'=harbour office"}


async def test_the_own_lines_sent_back_to_a_draft_change_nothing_and_other_sheets_are_refused(small: Office) -> None:
    for params, status in ((OWN, 200), ({}, 422), ({"own": "own"}, 422)):
        sheet = await small.client.get(small.path("lines"), params=params, headers={"Accept": "text/csv"})
        tag = await small.draft()
        address = small.path(f"drafts/{draft_of(tag)}/lines")
        sent = await small.client.put(
            address, content=sheet.content, headers={"Content-Type": "text/csv", "If-Match": tag})
        assert sent.status_code == status, sent.text
        difference = (await small.client.get(small.path(f"drafts/{draft_of(tag)}/difference"))).json()
        assert difference["lines"] == []


async def test_a_sheet_of_other_lines_has_more_columns_so_that_no_draft_takes_it(small: Office) -> None:
    for params in ({}, {"own": "own"}, {**OWN, "section": "resources"}):
        liked = {"Accept": "text/csv;q=1, application/json;q=0.5"}
        answer = await small.client.get(small.path("lines"), params=params, headers=liked)
        rows = list(csv.DictReader(io.StringIO(answer.content.decode())))
        assert list(rows[0]) == [*SHEET, "standing", "from", "inherited_likely"]
    assert {r["code"]: r["inherited_likely"] for r in rows} == {"lead": "95", "helper": "55", "barge_day": ""}


async def test_a_sheet_says_the_digest_of_its_bytes(small: Office) -> None:
    answer = await small.client.get(small.path("lines"), headers={"Accept": "text/csv"})
    digest = base64.b64encode(hashlib.sha256(answer.content).digest()).decode()
    assert answer.headers["content-digest"] == f"sha-256=:{digest}:"
    assert len(answer.content.splitlines()) > 600
    again = await small.client.get(
        small.path("lines"), headers={"Accept": "text/csv", "If-None-Match": answer.headers["etag"]})
    assert (again.status_code, "content-digest" in again.headers) == (304, False)
    assert (await small.client.get(small.path("lines"))).headers["etag"] != answer.headers["etag"]


async def test_a_sheet_is_whole(small: Office) -> None:
    answer = await small.client.get(small.path("lines"), params={"limit": 5}, headers={"Accept": "text/csv"})
    assert answer.status_code == 400


async def test_lines_come_in_no_other_form(small: Office) -> None:
    answer = await small.client.get(small.path("lines"), headers={"Accept": "application/xml"})
    assert answer.status_code == 406


async def test_the_yard_moves_a_chain_and_no_line(small: Office, loaded_url: str) -> None:
    before = await in_force(small)
    await recount(loaded_url, small.id, piece("y1"))
    after = await in_force(small, f"{small.code}@1+stock@1")
    made = await get(small, "compare", **{"from": before, "to": after})
    assert (made["of"], made["lines"]) == ("effective", [])
    assert [(p["code"], p["old"], p["new"]["length"]["value"]) for p in made["stock"]] == [("y1", None, 198.0)]
    assert [(c["region"], c["number"], c["who"]) for c in made["counts"]] == [(small.code, 1, "tester")]
