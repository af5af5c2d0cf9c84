"""Drafts over HTTP, as an office's program uses them."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from typing import Any, get_args

import httpx
import pytest
from sqlalchemy import func, select

from service.bootstrap import create_app
from service.engine.rates import KINDS, SECTIONS
from service.storage.drafts import LOCK
from service.storage.tables import region
from service.web import drafts_shapes as shapes
from service.web import limits
from tests.conftest import bare_engine
from tests.rates.conftest import ClientOf, living, settings_for
from tests.rates.drafting import CSV, DRAFTS, LEAD, WHOLE, faults, opened, own_lines, state, tidy

MORE_THAN_CONNECTIONS = 14


@pytest.fixture(autouse=True)
async def _tidy(client_of: ClientOf) -> AsyncIterator[None]:
    """No test leaves a draft behind: there is room for so many only."""
    yield
    await tidy(await client_of())


async def test_a_draft_says_what_it_rests_on_and_how_far_it_is(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office, {**LEAD, "likely": "118.25"}, note="New wages")
    answer = await office.get(at)
    told = answer.json()
    assert tag == {"If-Match": answer.headers["etag"]} == {"If-Match": f'"d{told["id"]}-1"'}
    assert (told["region"], told["based_on"], told["newest"], told["outdated"]) == ("kestrel-range", 1, 1, False)
    assert (told["note"], told["name"], told["changes"], told["version"]) == ("New wages", "server of a test", 1, 1)
    assert (await office.get(DRAFTS)).json()["drafts"] == [told]


async def test_one_line_is_put_patched_and_inherited_again(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    line = f"{at}/lines/resources/lead"
    put = await office.put(line, json=WHOLE, headers=tag)
    assert put.json() == {**LEAD, **WHOLE, "locked": False}
    patched = await office.patch(
        line, json={"likely": "130"}, headers={**state(put), "Content-Type": "application/merge-patch+json"}
    )
    assert patched.json() == {**put.json(), "likely": "130"}
    gone = await office.delete(line, headers=state(patched))
    assert (gone.status_code, gone.content) == (204, b"")
    assert "lead" not in await own_lines(office, at)
    assert (await office.delete(line, headers=state(gone))).status_code == 404


async def test_a_patch_takes_what_it_does_not_say_from_the_inherited_line(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    book = (await office.get("/v1/regions/kestrel-range/lines?section=norms&own=inherited&limit=1")).json()["lines"][0]
    there = book["value"]
    answer = await office.patch(f"{at}/lines/norms/{book['code']}", json={"source": "own count"}, headers=tag)
    assert answer.json()["likely"] == there["likely"]
    assert answer.json()["unit"] == there["unit"]
    assert answer.json()["source"] == "own count"


async def test_null_brings_back_what_is_inherited(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    whole = await office.put(f"{at}/lines/resources/lead", json=WHOLE, headers=tag)
    back = await office.patch(f"{at}/lines/resources/lead", json={"low": None, "what": None}, headers=state(whole))
    inherited = (await office.get("/v1/regions/kestrel-range/lines/resources/lead")).json()["line"]["inherited"]
    assert (back.json()["low"], back.json()["what"]) == (inherited["low"], inherited["what"])
    assert back.json()["likely"] == "120.50"


async def test_the_difference_shows_every_move_against_before_and_above(office: httpx.AsyncClient) -> None:
    at, _ = await opened(office, {**LEAD, "likely": "130"}, {"section": "resources", "code": "carpenter", "inherit": True},
                         {"section": "norms", "code": "log_partial.fixed", "likely": "13"})
    told = (await office.get(f"{at}/difference")).json()
    moves = {move["code"]: move for move in told["lines"]}
    assert {code: move["change"] for code, move in moves.items()} == {
        "lead": "changed", "carpenter": "taken_out", "log_partial.fixed": "added",
    }
    lead, carpenter, fixed = moves["lead"], moves["carpenter"], moves["log_partial.fixed"]
    assert lead["ratio"] == pytest.approx(130 / float(lead["before"]["likely"]), rel=1e-5)
    assert lead["ratio_to_inherited"] == pytest.approx(130 / float(lead["inherited"]["likely"]), rel=1e-5)
    assert carpenter["after"] == carpenter["inherited"] != carpenter["before"]
    assert fixed["before"] == fixed["inherited"]
    assert (fixed["before"]["from"], fixed["after"]["from"]) == ("base", "kestrel-range")
    assert told["draft"]["changes"] == 3


async def test_a_change_needs_the_state_that_it_is_made_to(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    line = f"{at}/lines/resources/lead"
    for send in (office.put(line, json=WHOLE), office.patch(line, json={}), office.delete(line), office.delete(at),
                 office.put(f"{at}/lines", content=b"x", headers=CSV)):
        assert (await send).status_code == 428
    once = await office.patch(line, json={"likely": "121"}, headers=tag)
    late = await office.patch(line, json={"likely": "122"}, headers=tag)
    assert (late.status_code, late.headers["etag"]) == (412, once.headers["etag"])
    assert (await office.patch(line, json={}, headers={"If-Match": "W/" + once.headers["etag"]})).status_code == 412
    assert (await office.patch(line, json={}, headers={"If-Match": "*"})).status_code == 400


async def test_of_two_at_once_one_change_is_made_and_the_other_is_told(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    answers = await asyncio.gather(*(
        office.patch(f"{at}/lines/resources/lead", json={"likely": f"12{n}"}, headers=tag) for n in range(5)
    ))
    assert sorted(a.status_code for a in answers) == [200, 412, 412, 412, 412]
    made = next(a for a in answers if a.status_code == 200)
    assert (await own_lines(office, at))["lead"]["likely"] == made.json()["likely"]
    assert {a.headers["etag"] for a in answers} == {made.headers["etag"]}


async def test_every_bad_field_of_every_line_is_named(office: httpx.AsyncClient) -> None:
    answer = await office.post(DRAFTS, json={"lines": [
        {**LEAD, "likely": "1000"}, {"section": "norms", "code": "log_partial.fixd", "likely": "1"},
        {"section": "norms", "code": "lead", "likely": "1"},
        {"section": "resources", "code": "carpenter", "unit": "d", "kind": ""},
        {"section": "norms", "code": "log_partial.fixed", "kind": "labour", "low": "-1"}, {**LEAD, "likely": "100"},
        {"section": "norms", "code": "log_partial.each", "inherit": True},
    ]})
    told = faults(answer)
    assert set(told) == {
        "#/lines/0/high", "#/lines/1/code", "#/lines/2/code", "#/lines/3/unit", "#/lines/3/kind", "#/lines/4/kind",
        "#/lines/4/low", "#/lines/5/code", "#/lines/6/code",
    }
    assert "below likely, 1000" in told["#/lines/0/high"]
    assert "log_partial.fixed" in told["#/lines/1/code"]
    assert "one of resources" in told["#/lines/2/code"]
    assert "must be h" in told["#/lines/3/unit"]
    assert "twice" in told["#/lines/5/code"]
    assert (await office.get(DRAFTS)).json() == {"drafts": []}


@pytest.mark.parametrize(("body", "pointer"), [
    ({"likely": 5}, "#/likely"), ({"likely": "NaN"}, "#/likely"), ({"likely": "1e3"}, "#/likely"),
    ({"likely": "12,50"}, "#/likely"),
    ({"likely": "1234567890123"}, "#/likely"), ({"likely": "0.1234567891"}, "#/likely"), ({"what": "a\tb"}, "#/what"),
    ({"what": "x" * 301}, "#/what"), ({"source": ""}, "#/source"), ({"kind": "magic"}, "#/kind"),
    ({"locked": "yes"}, "#/locked"), ({"price": "5"}, "#/price"), ([], "#"),
])
async def test_a_body_that_is_not_in_its_form_is_refused(office: httpx.AsyncClient, body: Any, pointer: str) -> None:
    at, tag = await opened(office)
    answer = await office.patch(f"{at}/lines/resources/lead", json=body, headers=tag)
    assert set(faults(answer, 400)) == {pointer}


@pytest.mark.parametrize(("path", "slug"), [
    ("/999999", "unknown-draft"), ("/x", "unknown-draft"), ("/0", "unknown-draft"), ("/99999999999999999999", "unknown-draft"),
    ("/999999/lines", "unknown-draft"), ("/999999/difference", "unknown-draft"),
])
async def test_a_draft_that_is_not_there_is_not_found(office: httpx.AsyncClient, path: str, slug: str) -> None:
    answer = await office.get(DRAFTS + path)
    assert (answer.status_code, answer.json()["type"]) == (404, f"/problems/{slug}")


async def test_a_line_that_no_book_can_have_is_not_found(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    for path in ("wages/lead", "resources/Lead", "resources/" + "x" * 81):
        assert (await office.put(f"{at}/lines/{path}", json=WHOLE, headers=tag)).status_code == 404


async def test_a_draft_is_out_of_reach_for_another_office(office: httpx.AsyncClient, client_of: ClientOf) -> None:
    at, tag = await opened(office)
    other = await client_of(["rates:read", "rates:write"], ["sollavik"])
    elsewhere = at.replace("kestrel-range", "sollavik")
    for address in (at, elsewhere):
        assert (await other.get(address)).status_code == 404
        assert (await other.delete(address, headers=tag)).status_code == 404
        assert (await other.patch(f"{address}/lines/resources/lead", json={}, headers=tag)).status_code == 404
    reader = await client_of(["rates:read"], ["kestrel-range"])
    assert (await reader.get(at)).status_code == 200
    assert (await reader.delete(at, headers=tag)).status_code == 403


async def test_a_create_under_one_key_happens_once(office: httpx.AsyncClient) -> None:
    key = {"Idempotency-Key": "week-19"}
    first, again = [await office.post(DRAFTS, json={"note": "a"}, headers=key) for _ in range(2)]
    assert (first.status_code, first.content) == (again.status_code, again.content)
    assert (again.headers["location"], again.headers["etag"]) == (first.headers["location"], first.headers["etag"])
    assert (await office.post(DRAFTS, json={"note": "b"}, headers=key)).status_code == 422
    assert len((await office.get(DRAFTS)).json()["drafts"]) == 1


async def test_a_draft_on_a_revision_that_was_never_published_is_refused(office: httpx.AsyncClient) -> None:
    answer = await office.post(DRAFTS, json={"based_on": 40})
    assert "The newest is 1" in faults(answer, 404)["#/based_on"]


async def test_a_deleted_draft_is_gone(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    assert (await office.delete(at, headers=tag)).status_code == 204
    assert (await office.get(at)).status_code == (await office.delete(at, headers=tag)).status_code == 404


async def test_a_region_has_room_for_so_many_open_drafts(office: httpx.AsyncClient) -> None:
    for _ in range(limits.OPEN_DRAFTS):
        await opened(office)
    answer = await office.post(DRAFTS, json={})
    assert (answer.status_code, answer.json()["type"]) == (409, "/problems/too-many-drafts")


# ---- the head office -----------------------------------------------------------------------------------------------------


async def test_the_head_office_makes_new_lines_and_nobody_else_does(
    head_office: httpx.AsyncClient, office: httpx.AsyncClient
) -> None:
    new = {"section": "resources", "code": "larch_shingles", **WHOLE, "unit": "ft2", "kind": "wood"}
    told = faults(await office.post(DRAFTS, json={"lines": [new]}))
    assert "Only the head office" in told["#/lines/0/code"]
    at, tag = await opened(head_office, new, at="/v1/regions/base/drafts")
    assert (await own_lines(head_office, at))["larch_shingles"]["unit"] == "ft2"
    gone = await head_office.delete(f"{at}/lines/resources/larch_shingles", headers=tag)
    assert gone.status_code == 204
    gap = faults(await head_office.delete(f"{at}/lines/resources/lead", headers=state(gone)))
    assert "gap" in gap["None"]


async def test_a_new_line_of_the_head_office_must_be_whole(head_office: httpx.AsyncClient) -> None:
    answer = await head_office.post(
        "/v1/regions/base/drafts", json={"lines": [{"section": "resources", "code": "larch_shingles", "likely": "4"}]}
    )
    assert set(faults(answer)) == {f"#/lines/0/{name}" for name in ("unit", "low", "high", "kind", "source", "what")}


def test_the_words_of_the_contract_are_those_of_the_book() -> None:
    assert get_args(shapes.Section) == SECTIONS
    assert get_args(shapes.Kind) == (*KINDS, "")


@pytest.mark.parametrize(("section", "code", "number", "reason"), [
    ("climate", "rh.month01", "100", "must not be above 99."),
    ("terms", "crew_day_step", "0", "must be at least 0.0001, because something is divided by it."),
])
async def test_a_number_with_which_no_quote_could_be_worked_out_is_refused(
    office: httpx.AsyncClient, section: str, code: str, number: str, reason: str
) -> None:
    line = {"section": section, "code": code, "low": number, "likely": number, "high": number}
    found = faults(await office.post(DRAFTS, json={"lines": [line]}))
    assert found == {f"#/lines/0/{name}": reason for name in ("low", "likely", "high")}


async def test_a_number_that_moves_without_a_word_of_its_source_is_pointed_out(office: httpx.AsyncClient) -> None:
    """The source stays what it was, as a merge patch says; the office is told that it is the old number's."""
    at, _ = await opened(
        office, {**LEAD, "likely": "126"}, {"section": "resources", "code": "helper", "likely": "61", "source": "agreement"},
        {"section": "resources", "code": "carpenter", "what": "Carpenter, all in"},
    )
    moved = {line["code"]: line for line in (await office.get(f"{at}/difference")).json()["lines"]}
    assert {code: line["source_kept"] for code, line in moved.items()} == {"lead": True, "helper": False, "carpenter": False}
    assert moved["lead"]["after"]["source"] == moved["lead"]["before"]["source"]


async def test_who_waits_to_edit_a_region_keeps_nobody_from_reading(loaded_url: str, office: httpx.AsyncClient) -> None:
    """More edits than the pool has connections wait for one that another process holds up."""
    small = create_app(settings_for(loaded_url, database_pool=1))
    async with living(small), bare_engine(loaded_url).connect() as elsewhere, httpx.AsyncClient(
        transport=httpx.ASGITransport(app=small), base_url="http://rates.test", headers=office.headers, timeout=60.0
    ) as client:
        found = await elsewhere.execute(select(region.c.id).where(region.c.code == "kestrel-range"))
        await elsewhere.execute(select(func.pg_advisory_xact_lock(LOCK, found.scalar_one())))
        edits = [asyncio.create_task(client.post(DRAFTS, json={})) for _ in range(MORE_THAN_CONNECTIONS)]
        await asyncio.sleep(0.5)
        assert (await client.get(DRAFTS)).status_code == 200
        assert not any(edit.done() for edit in edits)
        await elsewhere.rollback()
        assert {edit.status_code for edit in await asyncio.gather(*edits)} == {201}
