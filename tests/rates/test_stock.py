"""Wood in the yard: counted, held, read, used; and quotes that name the piece they use and stay what they were."""

from __future__ import annotations

import asyncio
from datetime import UTC, date, datetime, timedelta
from typing import Any

import httpx
import pytest
from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncEngine

from service.storage.tables import audit_entry, book_revision, rate_line, region
from tests.rates.conftest import ClientOf
from tests.storage.factory import new_region, piece, publish_book, publish_count

HOME = "/v1/regions/kestrel-range/stock"
LOG = {
    "code": "new_1", "form": "log", "section": "12 in", "length": "20 ft", "moisture": "14 %", "moisture_depth": "5 in",
    "read_on": "2026-05-04", "species": "lodgepole_pine", "cut": "round", "where": "open shed, bay 3",
}
HEADER = (
    "code,form,section_in,second_in,length_ft,moisture_pct,moisture_depth_in,read_on,species,cut,where,held_for,held_until\r\n"
)
ROW = "a_1,log,12,,20,14,5,2026-05-04,lodgepole_pine,round,bay 1,,\r\n"


def today() -> date:
    """The day of the service."""
    return datetime.now(UTC).date()


def whole_log(**more: Any) -> dict[str, Any]:
    """A request that needs a log of 12 in, at least 10 ft, of lodgepole pine, which is in the yard."""
    return {
        "region": "kestrel-range", "level": "opened", **more,
        "defects": [{
            "element": "wall_mid", "damage": "soft_wood", "section": "12 in", "depth": "10 in", "length": "8 ft",
            "clear_length": "14 ft", "side": "outer", "species": "lodgepole_pine",
        }],
    }


async def woods(client: httpx.AsyncClient, **more: Any) -> dict[str, str]:
    """Where each plan's log comes from."""
    answer = await client.post("/v1/quotes", json=whole_log(**more))
    assert answer.status_code == 200, answer.text
    options = answer.json()["defects"][0]["options"]
    return {o["method"]: p["met_by"] for o in options for p in o["wood"] if p["form"] == "log"}


async def tag_of(client: httpx.AsyncClient, address: str = HOME) -> dict[str, str]:
    """If-Match with the present state."""
    return {"If-Match": (await client.get(address.split("?", maxsplit=1)[0])).headers["etag"]}


async def put_sheet(client: httpx.AsyncClient, text: str | bytes, home: str = HOME) -> httpx.Response:
    """Send a whole count."""
    return await client.put(home, content=text, headers={"Content-Type": "text/csv", **await tag_of(client, home)})


@pytest.fixture
async def yard(office: httpx.AsyncClient) -> dict[str, Any]:
    """The yard as it stands."""
    return dict((await office.get(HOME)).json())


async def test_the_yard_says_what_there_is_and_what_can_be_bought(office: httpx.AsyncClient) -> None:
    answer = await office.get(HOME)
    yard = answer.json()
    pieces = {p["code"]: p for p in yard["pieces"]}
    assert yard["count"]["from"] == "kestrel-range"
    assert pieces["kr_001"]["section"] == {"value": 12.0, "unit": "in"}
    assert pieces["kr_001"]["unfit"] is None
    assert "not seasoned" in pieces["kr_005"]["unfit"]
    assert pieces["kr_004"]["held"] is True
    leads = {line["code"]: line["likely"] for line in yard["supply"]["leads"]}
    assert leads["lead.log_dry"] == "3"
    assert {line["kind"] for line in yard["supply"]["prices"]} == {"wood"}
    assert "drafts" in yard["supply"]["how"]
    assert answer.headers["etag"].startswith(f'"y{yard["count"]["number"]}-')


async def test_what_one_has_already_is_not_sent_again(office: httpx.AsyncClient) -> None:
    for accept in ("application/json", "text/csv"):
        first = await office.get(HOME, headers={"Accept": accept})
        again = await office.get(HOME, headers={"Accept": accept, "If-None-Match": first.headers["etag"]})
        assert (again.status_code, again.content) == (304, b"")


async def test_a_sheet_that_comes_out_goes_in_and_changes_nothing(office: httpx.AsyncClient) -> None:
    sheet = await office.get(HOME, headers={"Accept": "text/csv"})
    before = (await office.get(HOME)).json()["count"]["number"]
    given = {"Content-Type": "text/csv", "If-Match": sheet.headers["etag"]}
    answer = await office.put(HOME, content=sheet.content, headers=given)
    assert answer.status_code == 200, answer.text
    assert answer.json() == {
        "count": before, "etag": f'"y{before}"', "added": [], "removed": [], "changed": [], "piece": None,
    }


async def test_a_metric_yard_has_a_metric_sheet_that_changes_nothing_either(client_of: ClientOf) -> None:
    office = await client_of(["rates:read", "rates:write"], ["sollavik"])
    home = "/v1/regions/sollavik/stock"
    sheet = await office.get(home, headers={"Accept": "text/csv"})
    head, first, *_ = sheet.text.split("\r\n")
    assert head.startswith("code,form,section_mm,second_mm,length_m,")
    assert first.startswith("sv_001,log,250.012,,5.999988,15,101.6,")
    answer = await put_sheet(office, sheet.content, home)
    assert answer.status_code == 200, answer.text
    assert answer.json()["changed"] == []
    changed = await put_sheet(office, sheet.text.replace("250.012,,5.999988", "251,,5.999988"), home)
    assert changed.json()["changed"] == ["sv_001"]
    piece = (await office.get(f"{home}/sv_001")).json()
    assert piece["section"] == {"value": 251.0, "unit": "mm"}


async def test_every_bad_cell_is_named_and_nothing_is_taken_over(office: httpx.AsyncClient, yard: dict[str, Any]) -> None:
    bad = (
        "a_1,log,300,,20,14,5,2026-05-04,lodgepole_pine,round,bay 1,,\r\n"
        f"a_2,plank,12,,240,14,50,{today() + timedelta(days=1)},unicorn_wood,sideways,bay 1,,\r\n"
        "a_3,timber,8,8,10,301,1,,lodgepole_pine,flat,,,2026-05-04\r\n"
        "a_1,log,12,,20,14,5,2026-05-04,lodgepole_pine,round,bay 1,,\r\n"
        "a_4,log,12,3,20,x,,soon,lodgepole_pine,round,bay 1,,\r\n"
    )
    answer = await put_sheet(office, HEADER + bad)
    assert answer.status_code == 422
    assert answer.json()["type"] == "/problems/invalid-sheet"
    places = {(e["row"], e["column"]): e for e in answer.json()["errors"]}
    assert places.keys() == {
        (2, "section_in"), (3, "form"), (3, "second_in"), (3, "length_ft"), (3, "moisture_depth_in"), (3, "read_on"),
        (3, "species"), (3, "cut"), (4, "where"), (5, "code"), (6, "moisture_pct"), (6, "read_on"),
    }
    assert places[2, "section_in"]["value"] == "300"
    assert "millimetres" in places[2, "section_in"]["detail"]
    assert "inches" in places[3, "length_ft"]["detail"]
    assert "Rows 2 and 5" in places[5, "code"]["detail"]
    assert (await office.get(HOME)).json()["count"] == yard["count"]


@pytest.mark.parametrize(
    ("sheet", "said"),
    [
        (b"", "empty"),
        ("code,form\r\na,log\r\n", "missing"),
        (HEADER.replace("section_in,", "") + ROW.replace("log,12,", "log,"), "section_mm is needed"),
        (HEADER.replace("section_in,", "section_in,section_mm,") + ROW.replace("log,12,", "log,12,305,"), "Keep one"),
        (HEADER + ROW.replace("bay 1", "x" * 121), "at most 120"),
        (HEADER + ROW.replace("bay 1", '"bay\n1"'), "line break"),
        (HEADER + ROW.replace("bay 1", "=1+1"), "formula"),
        (HEADER + ROW.replace("a_1", "counts"), "must be 1 to 80"),
        (HEADER + ROW.replace(",12,", ',"12,5",'), "comma"),
        (HEADER + ROW.replace(",,\r\n", ",job,2020-01-01\r\n"), "is over"),
        (HEADER, "Send ?empty=meant if that is meant"),
    ],
)
async def test_a_bad_sheet_is_refused_with_words(office: httpx.AsyncClient, sheet: str | bytes, said: str) -> None:
    answer = await put_sheet(office, sheet)
    assert answer.status_code == 422, answer.text
    assert said in answer.text


async def test_a_sheet_without_rows_empties_the_yard_where_that_is_meant(office: httpx.AsyncClient) -> None:
    before = (await office.get(HOME, headers={"Accept": "text/csv"})).content
    answer = await put_sheet(office, HEADER, f"{HOME}?empty=meant")
    assert answer.status_code == 200, answer.text
    assert len(answer.json()["removed"]) == len(before.splitlines()) - 1
    assert (await office.get(HOME)).json()["pieces"] == []
    assert (await put_sheet(office, HEADER)).status_code == 200
    assert (await put_sheet(office, before)).status_code == 200


async def test_a_sheet_with_semicolons_and_decimal_commas_is_taken(client_of: ClientOf) -> None:
    office = await client_of(["rates:read", "rates:write"], ["heron-bayou"])
    home = "/v1/regions/heron-bayou/stock"
    sheet = HEADER.replace(",", ";") + ROW.replace(",", ";").replace(";12;", ";12,5;")
    answer = await put_sheet(office, sheet, home)
    assert answer.status_code == 200, answer.text
    assert (await office.get(f"{home}/a_1")).json()["section"]["value"] == 12.5
    assert answer.json()["removed"] == [f"hb_00{n}" for n in range(1, 9)]


async def test_a_change_names_the_state_that_it_is_made_to(office: httpx.AsyncClient, yard: dict[str, Any]) -> None:
    number = yard["count"]["number"]
    kind = {"Content-Type": "text/csv"}
    assert (await office.put(HOME, content=HEADER, headers=kind)).status_code == 428
    stale = await office.put(HOME, content=HEADER, headers={**kind, "If-Match": f'"y{number + 1}"'})
    assert (stale.status_code, stale.headers["etag"]) == (412, f'"y{number}"')
    assert (await office.patch(f"{HOME}/kr_001", json={"where": "bay 9"})).status_code == 428
    piece = await office.patch(f"{HOME}/kr_001", json={"where": "bay 9"}, headers={"If-Match": '"p0"'})
    assert (piece.status_code, piece.headers["etag"]) == (412, (await office.get(f"{HOME}/kr_001")).headers["etag"])
    assert (await office.delete(f"{HOME}/kr_001")).status_code == 428
    assert (await office.delete(f"{HOME}/no_such", headers={"If-Match": '"p0"'})).status_code == 404


async def test_a_held_piece_serves_only_its_job_and_is_free_after_its_last_day(office: httpx.AsyncClient) -> None:
    until = today() + timedelta(days=20)
    for code in ("kr_001", "kr_002"):
        hold = {"held_for": "The Alder house", "held_until": until.isoformat()}
        held = await office.patch(f"{HOME}/{code}", json=hold, headers=await tag_of(office, f"{HOME}/{code}"))
        assert held.status_code == 200, held.text
        assert held.json()["piece"]["held"] is True
        assert held.headers["etag"] == held.json()["piece"]["etag"]
    assert all(said.startswith("supply") for said in (await woods(office)).values())
    own = await woods(office, job="the alder HOUSE")
    assert own
    assert all("yard piece kr_00" in said and "held for this job" in said for said in own.values())
    assert all(said.startswith("supply") for said in (await woods(office, priced_on=until.isoformat())).values())
    after = await woods(office, priced_on=(until + timedelta(days=1)).isoformat())
    assert all(said.startswith("yard piece kr_00") and "held" not in said for said in after.values())

    for code in ("kr_001", "kr_002"):
        free = await office.patch(f"{HOME}/{code}", json={"held_for": None}, headers=await tag_of(office, f"{HOME}/{code}"))
        assert free.json()["piece"]["held_until"] is None
    assert "yard piece kr_001 in open shed, bay 1 (lodgepole pine)" in (await woods(office)).values()


async def test_a_pinned_quote_does_not_see_what_happened_in_the_yard_since(office: httpx.AsyncClient) -> None:
    first = await office.post("/v1/quotes", json=whole_log(priced_on=today().isoformat()))
    rates = first.json()["rates"]
    wood = [p for o in first.json()["defects"][0]["options"] for p in o["wood"] if p["yard"]]
    assert "kr_001" in wood[0]["yard"]
    used = await office.delete(f"{HOME}/kr_001?job=the+Alder+house", headers=await tag_of(office, f"{HOME}/kr_001"))
    assert used.json()["removed"] == ["kr_001"]
    again = await office.post("/v1/quotes", json=whole_log(priced_on=today().isoformat(), rates=rates))
    assert again.content == first.content
    now = await office.post("/v1/quotes", json=whole_log(priced_on=today().isoformat()))
    assert now.json()["rates"] != rates
    assert "kr_001" not in now.text


async def test_a_piece_that_comes_in_is_quoted_from_at_once_and_once(office: httpx.AsyncClient) -> None:
    key = {"Idempotency-Key": "came-in-1"}
    first = await office.post(HOME, json=LOG, headers=key)
    assert first.status_code == 201, first.text
    assert first.headers["location"] == f"{HOME}/new_1"
    again = await office.post(HOME, json=LOG, headers=key)
    assert (again.status_code, again.content) == (201, first.content)
    assert again.headers["etag"] == first.headers["etag"] == (await office.get(f"{HOME}/new_1")).headers["etag"]
    assert (await office.post(HOME, json=LOG)).status_code == 409
    assert (await office.post(HOME, json={**LOG, "code": "new_2"}, headers=key)).status_code == 422
    assert first.json()["added"] == ["new_1"]


@pytest.mark.parametrize(
    ("changed", "pointer"),
    [
        ({"section": "300 in"}, "#/section"),
        ({"section": "11-12 in"}, "#/section"),
        ({"second": "6 in"}, "#/second"),
        ({"moisture": "400 %"}, "#/moisture"),
        ({"moisture_depth": "13 in"}, "#/moisture_depth"),
        ({"read_on": "2090-01-01"}, "#/read_on"),
        ({"species": "unicorn"}, "#/species"),
        ({"held_until": "2090-01-01"}, "#/held_until"),
        ({"held_for": "x", "held_until": "2020-01-01"}, "#/held_until"),
        ({"where": " "}, "#/where"),
    ],
)
async def test_a_value_that_cannot_be_is_named(office: httpx.AsyncClient, changed: dict[str, Any], pointer: str) -> None:
    answer = await office.post(HOME, json={**LOG, "code": "odd_1", **changed})
    assert answer.status_code == 422, answer.text
    assert [e["pointer"] for e in answer.json()["errors"]] == [pointer]


async def test_fields_out_of_form_are_named_all_together(office: httpx.AsyncClient) -> None:
    answer = await office.post(HOME, json={"code": "Odd Piece", "section": 12, "length": "20", "spezies": "oak"})
    assert answer.status_code == 400
    assert {e["pointer"] for e in answer.json()["errors"]} >= {
        "#/code", "#/section", "#/length", "#/spezies", "#/form", "#/moisture", "#/cut", "#/where", "#/species",
    }


async def test_a_new_reading_is_of_today_and_of_unknown_depth_unless_it_says_otherwise(office: httpx.AsyncClient) -> None:
    address = f"{HOME}/kr_003"
    read = await office.patch(address, json={"moisture": "16 %"}, headers=await tag_of(office, address))
    piece = read.json()["piece"]
    assert (piece["read_on"], piece["moisture_depth"]) == (today().isoformat(), None)
    assert "read 3 in deep" in piece["unfit"]
    deep = {"moisture": "16 %", "moisture_depth": "5 in", "read_on": "2026-05-01"}
    read = await office.patch(address, json=deep, headers=await tag_of(office, address))
    assert read.json()["piece"]["unfit"] is None
    assert read.json()["piece"]["read_on"] == "2026-05-01"


async def test_two_people_hold_two_pieces_at_once_and_one_of_two_holds_the_same(office: httpx.AsyncClient) -> None:
    one, other = await tag_of(office, f"{HOME}/kr_009"), await tag_of(office, f"{HOME}/kr_010")
    both = await asyncio.gather(
        office.patch(f"{HOME}/kr_009", json={"held_for": "A"}, headers=one),
        office.patch(f"{HOME}/kr_010", json={"held_for": "B"}, headers=other),
    )
    assert [answer.status_code for answer in both] == [200, 200]
    pieces = {p["code"]: p["held_for"] for p in (await office.get(HOME)).json()["pieces"]}
    assert (pieces["kr_009"], pieces["kr_010"]) == ("A", "B")

    same = await tag_of(office, f"{HOME}/kr_008")
    raced = await asyncio.gather(
        *(office.patch(f"{HOME}/kr_008", json={"held_for": job}, headers=same) for job in ("A", "B", "C", "D"))
    )
    assert sorted(answer.status_code for answer in raced) == [200, 412, 412, 412]
    winner = next(answer.json()["piece"]["held_for"] for answer in raced if answer.status_code == 200)
    assert (await office.get(f"{HOME}/kr_008")).json()["held_for"] == winner


async def test_every_count_is_listed_with_what_changed_and_is_in_the_audit_log(
    office: httpx.AsyncClient, loaded_engine: AsyncEngine
) -> None:
    before = (await office.get(HOME)).json()["count"]["number"]
    made = await office.post(HOME, json={**LOG, "code": "listed_1"})
    assert made.json()["count"] == before + 1
    await office.delete(f"{HOME}/listed_1?job=Birch+barn", headers={"If-Match": made.headers["etag"]})
    page = await office.get(f"{HOME}/counts?limit=2")
    gone, came = page.json()["counts"]
    assert (gone["number"], gone["removed"], gone["why"]) == (before + 2, ["listed_1"], "listed_1 used for Birch barn")
    assert (came["added"], came["in_force_from"]) == (["listed_1"], None)
    assert gone["in_force_from"] == today().isoformat()
    assert 'rel="next"' in page.headers["link"]
    numbers = [c["number"] for c in page.json()["counts"]]
    while page.json()["next_cursor"]:
        page = await office.get(f"{HOME}/counts?limit=2&cursor={page.json()['next_cursor']}")
        numbers += [c["number"] for c in page.json()["counts"]]
    assert numbers == list(range(before + 2, 0, -1))

    async with loaded_engine.connect() as connection:
        entries = (await connection.execute(
            select(audit_entry.c.action, audit_entry.c.subject, audit_entry.c.details).order_by(audit_entry.c.id.desc()).limit(2)
        )).all()
    assert [(e.action, e.subject) for e in entries] == [
        ("stock.use", "kestrel-range/stock/listed_1"), ("stock.add", "kestrel-range/stock/listed_1"),
    ]
    assert "Birch barn" in entries[0].details


async def test_a_region_without_a_count_uses_its_parents_yard_until_it_counts(
    client_of: ClientOf, loaded_engine: AsyncEngine
) -> None:
    async with loaded_engine.begin() as connection:
        parent, _ = await new_region(connection)
        child, code = await new_region(connection, parent)
        base = (await connection.execute(select(region.c.id).where(region.c.code == "base"))).scalar_one()
        lines = (await connection.execute(select(rate_line).join(book_revision).where(
            book_revision.c.region_id == base, book_revision.c.status == "published"
        ))).mappings().all()
        await publish_book(connection, parent, *({k: v for k, v in row.items() if k != "revision_id"} for row in lines))
        await publish_book(connection, child)
        await publish_count(connection, parent, piece("far"))
    home = f"/v1/regions/{code}/stock"
    local = await client_of(["rates:read", "rates:write"], [code])
    answer = await local.get(home)
    assert answer.status_code == 200, answer.text
    (far,) = answer.json()["pieces"]
    assert (far["code"], far["from"] == code, answer.json()["count"]["number"]) == ("far", False, 1)
    assert answer.headers["etag"].startswith('"y0-')
    # The parent's wood is not this region's to hold.
    held = await local.patch(f"{home}/far", json={"held_for": "us"}, headers={"If-Match": far["etag"]})
    assert held.status_code == 404
    first = await local.put(home, json={"pieces": [LOG]}, headers={"If-Match": answer.headers["etag"]})
    assert (first.status_code, first.json()["count"], first.json()["added"]) == (200, 1, ["new_1"])
    assert [p["code"] for p in (await local.get(home)).json()["pieces"]] == ["new_1"]
    emptied = await local.put(home, json={"pieces": []}, headers={"If-Match": first.headers["etag"]})
    assert emptied.json()["removed"] == ["new_1"]
    assert (await local.get(home)).json()["pieces"] == []


@pytest.mark.parametrize("code", ["..", "%00", "A", "x" * 90, "%F0%9F%8C%B2"])
async def test_a_strange_mark_is_not_there(office: httpx.AsyncClient, code: str) -> None:
    for answer in (
        await office.get(f"{HOME}/{code}x"),
        await office.patch(f"{HOME}/{code}x", json={"where": "x"}, headers={"If-Match": '"p0"'}),
        await office.delete(f"{HOME}/{code}x", headers={"If-Match": '"p0"'}),
    ):
        assert answer.status_code == 404, answer.text


@pytest.mark.parametrize("query", ["limit=0", "limit=501", "cursor=x", "cursor=0", "page=2"])
async def test_a_bad_page_is_refused(office: httpx.AsyncClient, query: str) -> None:
    assert (await office.get(f"{HOME}/counts?{query}")).status_code == 400


async def test_who_may_only_read_changes_nothing(client_of: ClientOf) -> None:
    reader = await client_of(["rates:read"], ["kestrel-range"])
    assert (await reader.get(HOME)).status_code == 200
    assert (await reader.post(HOME, json=LOG)).status_code == 403
    assert (await reader.put(HOME, content=HEADER)).status_code == 403
    foreign = await client_of(["rates:read", "rates:write"], ["sollavik"])
    assert (await foreign.get(HOME)).status_code == 404
    assert (await foreign.post(HOME, json=LOG)).status_code == 404


async def test_a_job_says_where_two_places_name_one_piece(office: httpx.AsyncClient) -> None:
    one = whole_log()
    both = {**one, "defects": [{**one["defects"][0], "wall": "A"}, {**one["defects"][0], "wall": "C"}]}
    answer = (await office.post("/v1/quotes", json=both)).json()
    first = [o["wood"] for d in answer["defects"] for o in d["options"][:1]]
    named = {code for wood in first for p in wood for code in p["yard"]}
    assert len(named) == 1
    assert answer["job"]["wood_notes"] == [
        f"Yard piece {code} is named for defects 1 and 2 and serves once: the wood of the others has to come from elsewhere, "
        "and the dates of the job wait for it."
        for code in named
    ]
    alone = (await office.post("/v1/quotes", json=one)).json()
    assert alone["job"]["wood_notes"] == []


async def test_every_size_that_is_a_range_is_named_and_not_the_first_only(office: httpx.AsyncClient) -> None:
    piece = {"form": "log", "section": "12 in", "length": "16 ft", "moisture": "14 %", "species": "lodgepole_pine",
             "cut": "round", "where": "shed"}
    sent = [{**piece, "code": "a_1", "section": "10-12 in", "length": "8-9 ft"}, {**piece, "code": "a_2"},
            {**piece, "code": "a_3", "moisture": "10-20 %"}]
    answer = await office.put(HOME, json={"pieces": sent}, headers=await tag_of(office, HOME))
    assert answer.status_code == 422
    pointers = [fault["pointer"] for fault in answer.json()["errors"]]
    assert sorted(pointers) == ["#/pieces/0/length", "#/pieces/0/section", "#/pieces/2/moisture"]
    change = {"length": "8-9 ft", "moisture": "10-20 %"}
    other = await office.patch(f"{HOME}/kr_002", json=change, headers=await tag_of(office, f"{HOME}/kr_002"))
    assert {fault["pointer"] for fault in other.json()["errors"]} == {"#/length", "#/moisture"}


async def test_a_bound_is_said_in_full(office: httpx.AsyncClient) -> None:
    answer = await office.post("/v1/regions/kestrel-range/drafts", json={"based_on": 10**12})
    assert answer.json()["errors"][0]["detail"] == "must be at most 2147483647."
