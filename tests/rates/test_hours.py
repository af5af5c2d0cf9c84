"""Hours that jobs really took: reported once, put right by corrections, judged, and taken into a draft by whoever wants to."""

from __future__ import annotations

import asyncio
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import httpx
import pytest
from sqlalchemy import delete, select, text, update
from sqlalchemy.exc import DBAPIError
from sqlalchemy.ext.asyncio import AsyncEngine

from service.storage.tables import audit_entry, hours_report
from tests.rates.conftest import ClientOf

REGION = "/v1/regions/kestrel-range"
HOME = f"{REGION}/hours"
COLUMNS = "job,done_on,method,element,rates,quoted_hours,actual_hours,crew,note,corrects\r\n"


def today() -> date:
    """The day of the service."""
    return datetime.now(UTC).date()


@pytest.fixture
async def rates(office: httpx.AsyncClient) -> str:
    """The revision in force."""
    return str((await office.get(REGION)).json()["rates"])


def report(rates: str, job: str, method: str = "sister", actual: str = "12.0", **more: Any) -> dict[str, Any]:
    """What a job took."""
    return {
        "job": job, "done_on": "2026-05-04", "method": method, "rates": rates, "quoted_hours": "10.0", "actual_hours": actual,
        **more,
    }


async def drift_of(client: httpx.AsyncClient, method: str) -> dict[str, Any]:
    """How a method runs."""
    answer = await client.get(f"{HOME}/drift")
    assert answer.status_code == 200, answer.text
    return next(dict(m) for m in answer.json()["methods"] if m["method"] == method)


async def test_hours_are_reported_once_and_put_right_by_a_correction(office: httpx.AsyncClient, rates: str) -> None:
    first = await office.post(HOME, json=report(rates, "Alder", element="rafter", crew=2, note="rain"))
    assert first.status_code == 201, first.text
    (kept,) = first.json()["reports"]
    assert (kept["quoted_hours"], kept["actual_hours"], kept["counts"], kept["crew"]) == ("10.0", "12.0", True, 2)
    again = await office.post(HOME, json=report(rates, "Alder", element="rafter"))
    assert (again.status_code, again.json()["type"]) == (409, "/problems/reported-before")
    assert f"corrects: {kept['id']}" in again.text
    assert (await office.post(HOME, json=report(rates, "Alder", element="floor_joist"))).status_code == 201

    right = await office.post(HOME, json=report(rates, "Alder", actual="11.0", element="rafter", corrects=kept["id"]))
    assert right.status_code == 201, right.text
    listed = {r["id"]: r for r in (await office.get(f"{HOME}?job=Alder&method=sister")).json()["reports"]}
    (made,) = right.json()["reports"]
    assert (listed[kept["id"]]["corrected_by"], listed[kept["id"]]["counts"]) == (made["id"], False)
    assert (await drift_of(office, "sister"))["count"] == 2
    stale = await office.post(HOME, json=report(rates, "Alder", element="rafter", corrects=kept["id"]))
    assert (stale.status_code, stale.json()["errors"][0]["pointer"]) == (409, "#/corrects")

    gone = report(rates, "Alder", element="rafter", corrects=made["id"], counts=False)
    assert (await office.post(HOME, json=gone)).status_code == 201
    assert (await drift_of(office, "sister"))["count"] == 1


async def test_a_report_sent_twice_under_one_name_is_kept_once(office: httpx.AsyncClient, rates: str) -> None:
    key = {"Idempotency-Key": "hours-1"}
    first = await office.post(HOME, json=report(rates, "Birch"), headers=key)
    again = await office.post(HOME, json=report(rates, "Birch"), headers=key)
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.content == again.content


async def test_of_many_that_report_the_same_at_once_one_is_kept(office: httpx.AsyncClient, rates: str) -> None:
    answers = await asyncio.gather(*(office.post(HOME, json=report(rates, "Cedar")) for _ in range(5)))
    assert sorted(a.status_code for a in answers) == [201, 409, 409, 409, 409]


@pytest.mark.parametrize(
    ("changed", "pointer", "said"),
    [
        ({"method": "sisters"}, "#/method", "Did you mean sister"),
        ({"element": "rafterr"}, "#/element", "Did you mean rafter"),
        ({"rates": "base@1"}, "#/rates", "no revision of kestrel-range"),
        ({"rates": "base@1/kestrel-range@77"}, "#/rates", "no published book number 77"),
        ({"rates": "kestrel-range@1"}, "#/rates", "names base, kestrel-range"),
        ({"quoted_hours": "0"}, "#/quoted_hours", "above 0"),
        ({"actual_hours": "30000"}, "#/actual_hours", "at most"),
        ({"done_on": (today() + timedelta(days=2)).isoformat()}, "#/done_on", "to come"),
        ({"crew": 0}, "#/crew", "from 1"),
        ({"job": "  "}, "#/job", "empty"),
        ({"counts": False}, "#/counts", "correction"),
    ],
)
async def test_what_cannot_be_is_named(
    office: httpx.AsyncClient, rates: str, changed: dict[str, Any], pointer: str, said: str
) -> None:
    answer = await office.post(HOME, json={**report(rates, "Odd"), **changed})
    assert answer.status_code == 422, answer.text
    assert [e["pointer"] for e in answer.json()["errors"]] == [pointer]
    assert said in answer.json()["errors"][0]["detail"]


@pytest.mark.parametrize(
    "changed", [{"quoted_hours": 10}, {"quoted_hours": "1e3"}, {"actual_hours": "-1"}, {"hours": "3"}, {"crew": "2"}]
)
async def test_what_is_out_of_form_is_named(office: httpx.AsyncClient, rates: str, changed: dict[str, Any]) -> None:
    answer = await office.post(HOME, json={**report(rates, "Odd"), **changed})
    assert answer.status_code == 400, answer.text
    assert [e["pointer"] for e in answer.json()["errors"]] == [f"#/{name}" for name in changed]


async def send(client: httpx.AsyncClient, sheet: str) -> httpx.Response:
    """Send a sheet of reports."""
    return await client.post(HOME, content=sheet, headers={"Content-Type": "text/csv"})


async def test_a_sheet_of_reports_is_kept_as_a_whole_or_not_at_all(office: httpx.AsyncClient, rates: str) -> None:
    good = f"Elm,2026-05-04,tail_renew,,{rates},14.0,15.5,2,,\r\nElm,2026-05-04,end_splice,log_tail,{rates},9,8.25,,,\r\n"
    bad = f"Elm,2026-05-04,tail_renew,,{rates},x,0,,,\r\n,soon,tail,,nonsense!,1,1,,,\r\n"
    answer = await send(office, COLUMNS + good + bad)
    assert answer.status_code == 422, answer.text
    assert {(e["row"], e["column"]) for e in answer.json()["errors"]} == {
        (4, "quoted_hours"), (4, "element"), (5, "job"), (5, "done_on"), (5, "rates"),
    }
    answer = await send(office, COLUMNS + good + f"Elm,2026-05-04,buck_trim,,{rates},1,1,,,9999\r\n")
    assert [(e["row"], e["column"], e["value"]) for e in answer.json()["errors"]] == [(4, "corrects", "9999")]
    assert (await office.get(f"{HOME}?job=Elm")).json()["reports"] == []

    kept = await send(office, COLUMNS + good)
    assert kept.status_code == 201, kept.text
    assert [r["actual_hours"] for r in kept.json()["reports"]] == ["15.5", "8.25"]
    assert (await send(office, COLUMNS)).status_code == 422
    out = await office.get(f"{HOME}?job=Elm", headers={"Accept": "text/csv"})
    assert out.text.startswith("id,job,done_on,method,")
    assert len(out.text.strip().split("\r\n")) == 3


async def test_reports_come_in_pages(office: httpx.AsyncClient, rates: str) -> None:
    for n in range(5):
        await office.post(HOME, json=report(rates, f"Fir {n}", "spot_refinish"))
    seen: list[str] = []
    address = f"{HOME}?method=spot_refinish&limit=2"
    while True:
        page = await office.get(address)
        seen += [r["job"] for r in page.json()["reports"]]
        if page.json()["next_cursor"] is None:
            break
        assert 'rel="next"' in page.headers["link"]
        address = page.headers["link"].partition("<")[2].partition(">")[0]
    assert seen == [f"Fir {n}" for n in reversed(range(5))]
    for query in ("limit=0", "cursor=0", "cursor=x", "job=%00", "who=x", f"method={'x' * 200}"):
        assert (await office.get(f"{HOME}?{query}")).status_code == 400, query


async def open_draft(client: httpx.AsyncClient) -> tuple[str, dict[str, str]]:
    """A new draft: its address, and If-Match with its state."""
    made = await client.post(f"{REGION}/drafts", json={"note": "hours of the winter"})
    assert made.status_code == 201, made.text
    return made.headers["location"], {"If-Match": made.headers["etag"]}


@pytest.fixture
async def slow_facings(office: httpx.AsyncClient, rates: str) -> None:
    """Six jobs on which a facing took a quarter longer than quoted; once for all tests."""
    if not (await office.get(f"{HOME}?method=face_veneer")).json()["reports"]:
        rows = [f"Larch {n},2026-05-0{n},face_veneer,,{rates},20,{actual},,,\r\n"
                for n, actual in enumerate(("25", "24", "26", "25.5", "24.5", "25"), 1)]
        assert (await send(office, COLUMNS + "".join(rows))).status_code == 201


@pytest.mark.usefixtures("slow_facings")
async def test_drift_is_said_with_its_interval_and_changes_nothing(office: httpx.AsyncClient, rates: str) -> None:
    drift = await drift_of(office, "face_veneer")
    assert (drift["count"], drift["verdict"], drift["ratio"]) == (6, "over", 1.25)
    assert drift["ratio_low"] < 1.25 < drift["ratio_high"]
    assert drift["says"].startswith("6 reports: runs 2")
    assert "does not say why" in drift["cannot_say"]
    # Six reports against the five that the book weighs: 1.25 to the power of 6/11.
    assert drift["factor"] == pytest.approx(1.25 ** (6 / 11), abs=0.001)
    per_foot = next(s for s in drift["suggestion"] if s["code"] == "face_veneer.per_ft")
    assert (per_foot["likely"], per_foot["suggested_likely"]) == ("1.6", "1.81")
    assert (await office.get(REGION)).json()["rates"] == rates
    few = await office.post(HOME, json=report(rates, "Maple", "chord_replace"))
    assert few.status_code == 201
    assert (await drift_of(office, "chord_replace"))["verdict"] == "too_few"
    later = await office.get(f"{HOME}/drift?since=2026-05-05")
    assert next(m["count"] for m in later.json()["methods"] if m["method"] == "face_veneer") == 2
    assert (await office.get(f"{HOME}/drift?since=soon")).status_code == 400


@pytest.mark.usefixtures("slow_facings")
async def test_a_suggestion_goes_into_a_draft_and_no_further(office: httpx.AsyncClient, rates: str) -> None:
    address, state = await open_draft(office)
    taken = await office.post(f"{address}/hours-suggestions", json={"methods": ["face_veneer", "sister", "moon"]}, headers=state)
    assert taken.status_code == 200, taken.text
    assert {t["code"] for t in taken.json()["taken"]} == {"face_veneer.fixed", "face_veneer.per_ft"}
    assert {left["method"] for left in taken.json()["left"]} == {"sister", "moon"}
    assert taken.headers["etag"] == taken.json()["etag"] != state["If-Match"]
    difference = (await office.get(f"{address}/difference")).json()
    assert "face_veneer.per_ft" in str(difference)
    assert "6 reports of hours" in (await office.get(f"{address}/lines")).text
    assert (await office.get(REGION)).json()["rates"] == rates

    late = await office.post(f"{address}/hours-suggestions", json={}, headers=state)
    assert (late.status_code, late.headers["etag"]) == (412, taken.headers["etag"])
    assert (await office.post(f"{address}/hours-suggestions", json={})).status_code == 428
    same, now = {"methods": ["face_veneer"]}, {"If-Match": taken.headers["etag"]}
    again = await office.post(f"{address}/hours-suggestions", json=same, headers=now)
    assert again.status_code == 200
    assert again.headers["etag"] == taken.headers["etag"]


@pytest.mark.usefixtures("slow_facings")
async def test_what_the_draft_changes_by_hand_is_left(office: httpx.AsyncClient) -> None:
    address, state = await open_draft(office)
    line = f"{address}/lines/norms/face_veneer.per_ft"
    by_hand = await office.patch(line, json={"likely": "1.7"}, headers=state)
    assert by_hand.status_code == 200, by_hand.text
    taken = await office.post(f"{address}/hours-suggestions", json={}, headers={"If-Match": by_hand.headers["etag"]})
    assert [t["code"] for t in taken.json()["taken"] if t["method"] == "face_veneer"] == ["face_veneer.fixed"]
    assert any(left["code"] == "face_veneer.per_ft" and "already" in left["why"] for left in taken.json()["left"])


@pytest.mark.usefixtures("slow_facings")
async def test_what_was_published_is_not_suggested_again(office: httpx.AsyncClient) -> None:
    """Raised by the whole mean, the old reports are restated by the new norms and show no drift any more."""
    address, state = await open_draft(office)
    changes = [("face_veneer.fixed", "5.0", "8.75", "3.75"), ("face_veneer.per_ft", "2.0", "3.0", "1.5")]
    for code, likely, high, low in changes:
        put = {"low": low, "likely": likely, "high": high}
        answer = await office.patch(f"{address}/lines/norms/{code}", json=put, headers=state)
        assert answer.status_code == 200, answer.text
        state = {"If-Match": answer.headers["etag"]}
    done = await office.post(f"{address}/publish", json={"why": "hours of the winter"}, headers=state)
    assert done.status_code == 201, done.text
    drift = await drift_of(office, "face_veneer")
    assert drift["ratio"] == pytest.approx(1.0, abs=0.005)
    assert drift["verdict"] == "none_shown"
    assert drift["suggestion"] == []


@pytest.mark.parametrize("draft", ["0", "x", "999999999999999999", "1e3", "99"])
async def test_a_draft_that_is_not_there_is_404(office: httpx.AsyncClient, draft: str) -> None:
    answer = await office.post(f"{REGION}/drafts/{draft}/hours-suggestions", json={}, headers={"If-Match": '"d1-1"'})
    assert answer.status_code == 404, answer.text


async def test_who_may_only_read_reports_nothing_and_strangers_see_nothing(client_of: ClientOf, rates: str) -> None:
    reader = await client_of(["rates:read"], ["kestrel-range"])
    assert (await reader.get(HOME)).status_code == 200
    assert (await reader.post(HOME, json=report(rates, "Oak"))).status_code == 403
    foreign = await client_of(["rates:read", "rates:write"], ["sollavik"])
    assert (await foreign.get(f"{HOME}/drift")).status_code == 404
    assert (await foreign.post(HOME, json=report(rates, "Oak"))).status_code == 404


async def test_the_database_itself_keeps_what_was_reported(
    office: httpx.AsyncClient, rates: str, loaded_engine: AsyncEngine
) -> None:
    made = (await office.post(HOME, json=report(rates, "Pine"))).json()["reports"][0]
    one = hours_report.c.id == made["id"]
    for statement in (
        update(hours_report).where(one).values(actual_hours=Decimal(1)), delete(hours_report).where(one),
        text("TRUNCATE hours_report"),
    ):
        with pytest.raises(DBAPIError, match="only ever added"):
            async with loaded_engine.begin() as connection:
                await connection.execute(statement)
    async with loaded_engine.connect() as connection:
        entry = (await connection.execute(
            select(audit_entry.c.action, audit_entry.c.subject).order_by(audit_entry.c.id.desc()).limit(1)
        )).one()
    assert tuple(entry) == ("hours.report", f"kestrel-range/hours/{made['id']}")
