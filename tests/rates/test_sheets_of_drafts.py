"""A draft's lines as a sheet: down, through a spreadsheet, and up again, all or nothing."""

from __future__ import annotations

import base64
import csv
import hashlib
import io
from collections.abc import AsyncIterator, Callable
from typing import Any

import httpx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.application.plain_text import unseen_in
from tests.rates.conftest import ClientOf
from tests.rates.drafting import CSV, DRAFTS, LEAD, opened, own_lines, state, tidy

WANT_CSV = {"Accept": "text/csv"}
NUMBERS = ("low", "likely", "high")
Row = dict[str, str]


@pytest.fixture(autouse=True)
async def _tidy(client_of: ClientOf) -> AsyncIterator[None]:
    """No test leaves a draft behind."""
    yield
    await tidy(await client_of())


def rows_of(sheet: str) -> list[Row]:
    return list(csv.DictReader(io.StringIO(sheet, newline="")))


def sheet_of(rows: list[Row], delimiter: str = ",") -> str:
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, list(rows[0]), delimiter=delimiter, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


async def down(office: httpx.AsyncClient, at: str) -> httpx.Response:
    answer = await office.get(f"{at}/lines", headers=WANT_CSV)
    assert answer.headers["content-type"].startswith("text/csv")
    return answer


async def up(office: httpx.AsyncClient, at: str, sheet: str | bytes, tag: dict[str, str], **more: str) -> httpx.Response:
    body = sheet.encode() if isinstance(sheet, str) else sheet
    return await office.put(f"{at}/lines", content=body, headers={**CSV, **tag, **more})


async def test_what_comes_down_goes_up_and_changes_nothing(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    sheet = await down(office, at)
    answer = await up(office, at, sheet.content, tag)
    assert (state(answer), answer.json()["lines"]) == (tag, [])
    assert (await down(office, at)).content == sheet.content


async def test_an_office_with_decimal_commas_gets_its_sheet_so_and_sends_it_back_as_it_is(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office, {"section": "norms", "code": "log_partial.fixed", "likely": "13.5"})
    points = await down(office, at)
    commas = await office.get(f"{at}/lines", params={"decimal": "comma"}, headers=WANT_CSV)
    assert ";13,5;" in commas.text
    assert commas.headers["etag"] == points.headers["etag"]
    answer = await up(office, at, commas.content, tag)
    assert state(answer) == tag
    assert (await down(office, at)).content == points.content


@pytest.mark.parametrize("path", ["lines", "lines?own=own,overridden", "stock", "hours", "audit"])
async def test_every_sheet_can_be_had_with_decimal_commas(office: httpx.AsyncClient, path: str) -> None:
    def cells(answer: httpx.Response, delimiter: str) -> list[list[str]]:
        assert answer.status_code == 200, answer.text
        return list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"), newline=""), delimiter=delimiter))

    at = f"/v1/regions/kestrel-range/{path}"
    join = "&" if "?" in path else "?"
    points = cells(await office.get(at, headers=WANT_CSV), ",")
    commas = cells(await office.get(f"{at}{join}decimal=comma", headers=WANT_CSV), ";")
    assert len(points) > 0
    assert commas[0] == points[0]
    numbers = {"low", "likely", "high", "inherited_likely", "section_in", "second_in", "length_ft", "moisture_pct",
               "moisture_depth_in", "quoted_hours", "actual_hours"}
    assert commas == [points[0]] + [
        [cell.replace(".", ",") if name in numbers else cell for name, cell in zip(points[0], row, strict=True)]
        for row in points[1:]
    ]
    assert (await office.get(f"{at}{join}decimal=dot", headers=WANT_CSV)).status_code == 400


@pytest.mark.parametrize("rewritten", [
    lambda rows: "\ufeff" + sheet_of(rows),
    lambda rows: "\ufeff" + sheet_of([{**r, **{n: r[n].replace(".", ",") for n in NUMBERS}} for r in rows], ";"),
    lambda rows: sheet_of(rows, "\t"),
    lambda rows: sheet_of([dict(reversed(row.items())) for row in rows]),
    lambda rows: sheet_of(rows[::-1]),
    lambda rows: sheet_of(rows).replace("\r\n", "\r\n\r\n,,,,,,,,,\r\n"),
    lambda rows: sheet_of([{n: v for n, v in row.items() if n != "locked"} for row in rows]),
    lambda rows: sheet_of([{**r, "likely": f"{float(r['likely']):.4f}"} for r in rows]),
], ids=["byte-order mark", "decimal commas", "tabs", "columns in another order", "rows in another order", "empty lines",
        "without the column of locks", "more digits"])
async def test_a_sheet_that_a_spreadsheet_wrote_in_its_own_way_changes_nothing_either(
    office: httpx.AsyncClient, rewritten: Callable[[list[Row]], str]
) -> None:
    at, tag = await opened(office, {"section": "norms", "code": "log_partial.fixed", "likely": "13.5"})
    answer = await up(office, at, rewritten(rows_of((await down(office, at)).text)), tag)
    assert state(answer) == tag


async def test_a_changed_sheet_is_taken_over_whole_and_answered_with_its_difference(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    rows = [row for row in rows_of((await down(office, at)).text) if row["code"] != "carpenter"]
    lead = next(row for row in rows if row["code"] == "lead")
    lead["likely"] = "130.50"
    rows.append({**lead, "section": "norms", "code": "log_partial.fixed", "unit": "h", "low": "1", "high": "900", "kind": ""})
    answer = await up(office, at, sheet_of(rows), tag)
    assert {m["code"]: m["change"] for m in answer.json()["lines"]} == {
        "carpenter": "taken_out", "lead": "changed", "log_partial.fixed": "added",
    }
    assert state(answer) != tag
    assert (await own_lines(office, at))["lead"]["likely"] == "130.50"
    assert (await office.get(f"{at}/difference")).json() == answer.json()


def _spoiled(rows: list[Row]) -> str:
    by = {row["code"]: row for row in rows}
    by["lead"]["likely"] = "=1+1"
    by["carpenter"]["low"] = "12,50"
    by["carpenter"]["high"] = "#REF!"
    by["helper"]["unit"] = "d"
    by["boom_day"]["code"] = "boom_dya"
    by["boom_haul"]["high"] = "1"
    by["boom_haul"]["kind"] = "magic"
    return sheet_of([*rows, dict(by["helper"])])


async def test_every_bad_cell_of_a_sheet_is_named_and_nothing_of_it_is_taken_over(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    before = (await down(office, at)).content
    rows = rows_of(before.decode())
    where = {row["code"]: number for number, row in enumerate(rows, 2)}
    answer = await up(office, at, _spoiled(rows), tag)
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/invalid-sheet")
    told = [(e["row"], e["column"], e["value"]) for e in answer.json()["errors"]]
    assert sorted(told) == sorted([
        (where["lead"], "likely", "=1+1"), (where["carpenter"], "low", "12,50"), (where["carpenter"], "high", "#REF!"),
        (where["helper"], "unit", "d"), (where["boom_day"], "code", "boom_dya"), (where["boom_haul"], "high", "1"),
        (where["boom_haul"], "kind", "magic"), (len(rows) + 2, "code", "resources/helper"),
    ])
    assert told == sorted(told, key=lambda one: one[0])
    reasons = {e["value"]: e["detail"] for e in answer.json()["errors"]}
    assert "boom_day" in reasons["boom_dya"]
    assert f"Rows {where['helper']} and {len(rows) + 2}" in reasons["resources/helper"]
    assert (await down(office, at)).content == before
    assert (await office.get(at)).json()["version"] == 1


async def test_who_sends_the_sheet_of_the_whole_book_is_told_which_one_a_draft_takes(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    book = await office.get("/v1/regions/kestrel-range/lines", headers=WANT_CSV)
    answer = await up(office, at, book.content, tag)
    first, *others = answer.json()["errors"]
    assert "A draft takes its own lines" in first["detail"]
    assert [e["column"] for e in others] == ["standing", "from", "inherited_likely"]


async def test_a_sheet_without_rows_takes_out_all_lines_only_where_it_is_said_that_this_is_meant(
    office: httpx.AsyncClient
) -> None:
    at, tag = await opened(office)
    before = await own_lines(office, at)
    header = sheet_of(rows_of((await down(office, at)).text)).split("\r\n")[0] + "\r\n"
    asked = await up(office, at, header, tag)
    assert (asked.status_code, [e["row"] for e in asked.json()["errors"]]) == (422, [0])
    assert f"{len(before)} lines" in asked.json()["errors"][0]["detail"]
    assert "?empty=meant" in asked.json()["errors"][0]["detail"]
    assert await own_lines(office, at) == before
    assert (await office.put(f"{at}/lines?empty=yes", content=header, headers={**CSV, **tag})).status_code == 400
    meant = await office.put(f"{at}/lines?empty=meant", content=header, headers={**CSV, **tag})
    assert {m["change"] for m in meant.json()["lines"]} == {"taken_out"}
    assert await own_lines(office, at) == {}
    # Nothing is left that could be lost.
    assert (await up(office, at, header, state(meant))).status_code == 200


async def test_a_sheet_of_the_head_office_that_leaves_out_a_line_would_leave_a_gap(head_office: httpx.AsyncClient) -> None:
    at, tag = await opened(head_office, at="/v1/regions/base/drafts")
    rows = [row for row in rows_of((await down(head_office, at)).text) if row["code"] != "lead"]
    answer = await up(head_office, at, sheet_of(rows), tag)
    assert [(e["row"], e["value"]) for e in answer.json()["errors"]] == [(0, "resources/lead")]
    assert "gap" in answer.json()["errors"][0]["detail"]


async def test_a_sheet_is_put_onto_the_state_that_was_seen(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    sheet = (await down(office, at)).content
    once = state(await office.patch(f"{at}/lines/resources/lead", json={"likely": "121"}, headers=tag))
    assert (await up(office, at, sheet, tag)).status_code == 412
    assert (await up(office, at, sheet, once)).status_code == 200
    assert (await own_lines(office, at))["lead"]["likely"] != "121"


async def test_a_sheet_of_which_something_was_lost_on_the_way_is_refused(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    sheet = await down(office, at)
    digest = sheet.headers["content-digest"]
    assert digest == f"sha-256=:{base64.b64encode(hashlib.sha256(sheet.content).digest()).decode()}:"
    cut = sheet.content[: sheet.content.rindex(b"\r\n", 0, -2) + 2]
    lost = await up(office, at, cut, tag, **{"Content-Digest": digest})
    assert (lost.status_code, lost.json()["type"]) == (400, "/problems/invalid-header")
    assert (await up(office, at, sheet.content, tag, **{"Content-Digest": digest})).status_code == 200


async def test_a_body_that_does_not_say_that_it_is_a_sheet_is_refused(office: httpx.AsyncClient) -> None:
    at, tag = await opened(office)
    answer = await office.put(f"{at}/lines", json={}, headers=tag)
    assert (answer.status_code, answer.headers["accept"]) == (415, "text/csv")
    latin = await office.put(f"{at}/lines", content=b"x", headers={**tag, "Content-Type": "text/csv; charset=latin1"})
    assert latin.status_code == 415


WORDS = st.text(st.characters(exclude_categories=["Cc", "Cs"]), min_size=1, max_size=40).filter(
    lambda t: t.strip() and not unseen_in(t)
)
PRICE = st.decimals(0, 10**9, places=2)


async def test_whatever_an_operator_types_comes_back_from_a_sheet_as_it_was(office: httpx.AsyncClient) -> None:
    """A property over hostile words and numbers; one application and one draft serve all examples."""
    at, _ = await opened(office)
    line = f"{at}/lines/resources/lead"

    async def there_and_back(what: str, source: str, prices: list[Any]) -> None:
        low, likely, high = sorted(prices)
        sent = {"unit": "h", "low": str(low), "likely": str(likely), "high": str(high), "kind": "labour",
                "source": source, "what": what}
        put = await office.put(line, json=sent, headers={"If-Match": (await office.get(at)).headers["etag"]})
        assert put.json()["what"] == what.strip()
        sheet = await down(office, at)
        answer = await up(office, at, sheet.content, {"If-Match": put.headers["etag"]})
        assert answer.headers["etag"] == put.headers["etag"], answer.text
        spoken = next(row for row in rows_of(sheet.text) if row["code"] == LEAD["code"])
        assert (spoken["low"], spoken["likely"], spoken["high"]) == (sent["low"], sent["likely"], sent["high"])

    examples = _examples(st.tuples(WORDS | st.sampled_from(["=1+1", "'=1+1", "#REF!", "-x", "@a", '"', "a,b;c"]), WORDS,
                                   st.lists(PRICE, min_size=3, max_size=3)))
    for what, source, prices in examples:
        await there_and_back(what, source, prices)
    assert (await office.get(DRAFTS)).status_code == 200


def _examples(strategy: st.SearchStrategy[Any], count: int = 40) -> list[Any]:
    """So many examples of a strategy: the property below runs in an event loop of its own, so it cannot be decorated."""
    found: list[Any] = []

    @settings(max_examples=count, database=None, suppress_health_check=list(HealthCheck))
    @given(strategy)
    def gather(one: Any) -> None:
        found.append(one)

    gather()
    return found
