"""An answer is complete, in the units that were asked for, and the same to the byte each time."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import httpx
import pytest

from service.engine.outcome import Slip
from service.web.present import money
from service.web.units import Units
from tests.web.conftest import SMALLEST, ask
from tests.web.fakes import CannedQuotes, FixtureBooks

TWO_PIECES = {
    "region": "kestrel-range",
    "defects": [{"id": "posts", "element": "post_porch", "damage": "foot_rot", "from_end": ["3 in", "9 in"]}],
}
NO_MOON = {"region": "kestrel-range", "defects": [{"element": "moon", "damage": "band"}, *SMALLEST["defects"]]}


async def test_the_same_request_gives_the_same_bytes_without_clock_or_id(client: httpx.AsyncClient) -> None:
    one, other = await ask(client, SMALLEST), await ask(client, SMALLEST)
    assert one.content == other.content
    assert one.headers["x-request-id"] != other.headers["x-request-id"]
    assert one.headers["x-request-id"] not in one.text


async def test_alike_pieces_are_answered_at_the_defect(client: httpx.AsyncClient) -> None:
    only = (await ask(client, SMALLEST)).json()["defects"][0]
    assert (only["id"], only["status"], only["pieces"], only["groups"]) == ("1", "priced", [1], [])
    assert [o["rank"] for o in only["options"]] == [1, 2, 3, 4]
    assert only["assessment"]["urgency"] == "U2"
    assert only["facts"][0] == {
        "name": "depth", "origin": "assumed", "why": "usual under a window",
        "value": {"low": 2.0, "likely": 3.0, "high": 5.0, "unit": "in"},
    }
    assert only["facts"][1]["value"] == {"value": 96.0, "unit": "in"}
    assert only["facts"][2]["value"] == "outer"


async def test_differing_pieces_are_answered_in_groups_and_the_lists_beside_are_empty(client: httpx.AsyncClient) -> None:
    only = (await ask(client, TWO_PIECES)).json()["defects"][0]
    assert [g["pieces"] for g in only["groups"]] == [[1], [2]]
    assert (only["id"], only["pieces"], only["assessment"]) == ("posts", [1, 2], None)
    assert only["facts"] == only["options"] == only["ruled_out"] == only["questions"] == []
    assert all(g["options"] and g["ruled_out"] and g["assessment"] for g in only["groups"])


async def test_one_impossible_defect_does_not_refuse_the_others(client: httpx.AsyncClient) -> None:
    answer = await ask(client, NO_MOON)
    first, second = answer.json()["defects"]
    assert answer.status_code == 200
    assert (first["status"], second["status"]) == ("rejected", "priced")
    assert first["slips"][0]["pointer"] == "#/defects/0/element"
    assert first["questions"][0]["fact"] == "element"
    assert first["options"] == []
    assert "moon" in first["headline"]


async def test_when_no_defect_makes_sense_it_is_422_with_every_slip(client: httpx.AsyncClient, quotes: CannedQuotes) -> None:
    quotes.slips = (Slip(("depth", 1), "14 in", "deeper than it is thick", "Swapped?", "depth_over_section", fatal=True),)
    defect = {"element": "moon", "damage": "band"}
    answer = await ask(client, {
        "region": "kestrel-range", "defects": [{**defect, "depth": ["1 in", "14 in"]}, {**defect, "depth": "14 in", "count": 2}]
    })
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    assert [(e["pointer"], e["code"]) for e in answer.json()["errors"]] == [
        ("#/defects/0/element", "unknown_element"), ("#/defects/0/depth/1", "depth_over_section"),
        ("#/defects/1/element", "unknown_element"), ("#/defects/1/depth", "depth_over_section"),
    ]


async def test_metric_is_written_in_metric_but_the_lines_of_a_price(client: httpx.AsyncClient) -> None:
    only = (await ask(client, {**SMALLEST, "units": "metric"})).json()["defects"][0]
    wood, line = only["options"][0]["wood"][0], only["options"][0]["lines"][0]
    assert only["facts"][1]["value"] == {"value": 2438.4, "unit": "mm"}
    assert (wood["length"], wood["thickness"]) == ({"value": 2438.4, "unit": "mm"}, {"value": 101.6, "unit": "mm"})
    assert wood["volume"] == [{"value": 0.0566, "unit": "m3"}]
    assert wood["moisture_max"] == {"value": 16.0, "unit": "%"}
    assert line["quantity"] == {"value": 8.4, "unit": "h"}


async def test_a_metric_region_answers_in_metric_unless_asked(client: httpx.AsyncClient) -> None:
    here = (await ask(client, {**SMALLEST, "region": "sollavik"})).json()
    asked = (await ask(client, {**SMALLEST, "region": "sollavik", "units": "imperial"})).json()
    assert (here["units"], asked["units"]) == ("metric", "imperial")
    assert asked["defects"][0]["options"][0]["wood"][0]["volume"][0] == {"value": 24.0, "unit": "bd ft"}


@pytest.mark.parametrize(
    ("value", "unit", "metric", "there"),
    # NIST SP 811 (2008), appendix B.8; tolerance: half of the last decimal shown.
    [(1.0, "in", 25.4, "mm"), (1.0, "ft", 0.305, "m"), (100.0, "ft2", 9.290, "m2"), (1.0, "ft3", 0.0283, "m3"),
     (1000.0, "bd ft", 2.3597, "m3"), (1.0, "gal", 3.79, "L"), (10.0, "fl oz", 296.0, "mL"), (1000.0, "lb", 4.448, "kN"),
     (1000.0, "lb/ft", 14.594, "kN/m"), (1000.0, "psf", 47.880, "kPa"), (1000.0, "psi", 6.895, "MPa"),
     (62.0, "degF", 16.7, "degC"), (100.0, "mi", 160.93, "km"), (1.0, "in2", 6.45, "cm2"), (1.0, "in3", 16.4, "cm3"),
     (1.0, "in4", 41.6, "cm4"), (2.0, "h", 2.0, "h"), (23.0, "%", 23.0, "%")],
)
def test_metric_twins_agree_with_the_published_table(value: float, unit: str, metric: float, there: str) -> None:
    written = Units("metric").quantity(value, unit)
    assert (written.value, written.unit) == (metric, there)
    assert Units("imperial").quantity(value, unit).unit == unit


@pytest.mark.parametrize(
    ("amount", "text"),
    [("2312.00", "2312.00"), ("0", "0.00"), ("0.5", "0.50"), ("1E+3", "1000.00"), ("-12.3", "-12.30"), ("0.125", "0.125")],
)
def test_money_is_decimal_text_with_two_decimals_and_no_exponent(amount: str, text: str) -> None:
    assert money(Decimal(amount)) == text


async def test_quantity_times_rate_is_the_amount_of_a_line(client: httpx.AsyncClient) -> None:
    for units in ("imperial", "metric"):
        line = (await ask(client, {**SMALLEST, "units": units})).json()["defects"][0]["options"][0]["lines"][0]
        amount = Decimal(str(line["quantity"]["value"])) * Decimal(line["rate"]) * (1 + Decimal(line["markup"]))
        assert amount.quantize(Decimal("0.01")) == Decimal(line["amount"])
        assert line["from"] == "base"


async def test_the_summary_is_small_and_says_the_same(client: httpx.AsyncClient) -> None:
    full, small = await ask(client, SMALLEST), await ask(client, {**SMALLEST, "view": "summary"})
    assert len(small.content) * 4 < len(full.content)
    one, other = full.json(), small.json()
    for name in ("region", "currency", "units", "level", "priced_on", "rates", "engine", "input_digest"):
        assert one[name] == other[name]
    defect, short = one["defects"][0], other["defects"][0]
    assert short["headline"] == defect["headline"]
    assert [o["method"] for o in short["options"]] == [o["method"] for o in defect["options"]][:3]
    assert short["urgency"] == defect["assessment"]["urgency"]
    assert short["questions"] == defect["questions"]
    assert other["job"]["total"] == one["job"]["total"]


async def test_the_summary_has_groups_too(client: httpx.AsyncClient) -> None:
    short = (await ask(client, {**TWO_PIECES, "view": "summary"})).json()["defects"][0]
    assert [g["pieces"] for g in short["groups"]] == [[1], [2]]
    assert (short["options"], short["urgency"]) == ([], None)


async def test_the_job_names_defects_by_their_place(client: httpx.AsyncClient) -> None:
    job = (await ask(client, SMALLEST)).json()["job"]
    assert job["chosen"] == [{"defect": 0, "methods": ["plan_1"]}]
    assert job["parts"]["package"] == "2312.00"
    assert job["parts"]["tax"] == "0.00"
    assert job["total"] == "2312.00"
    assert job["range"]["p50"] == "2490.00"


async def test_a_stale_book_is_told_in_headers_only(client: httpx.AsyncClient, books: FixtureBooks) -> None:
    fresh = await ask(client, SMALLEST)
    books.stale = True
    stale = await ask(client, SMALLEST)
    assert (fresh.headers["rates-degraded"], fresh.headers["rates-age"]) == ("false", "0")
    assert (stale.headers["rates-degraded"], stale.headers["rates-age"]) == ("true", "90")
    assert fresh.content == stale.content


async def problem(client: httpx.AsyncClient, **more: Any) -> tuple[int, str, httpx.Response]:
    answer = await ask(client, {**SMALLEST, **more})
    return answer.status_code, answer.json()["type"], answer


async def test_what_the_books_refuse_is_a_problem_that_says_why(client: httpx.AsyncClient, books: FixtureBooks) -> None:
    status, kind, answer = await problem(client, region="nowhere")
    assert (status, kind) == (404, "/problems/unknown-region")
    assert answer.json()["errors"][0]["pointer"] == "#/region"
    assert "kestrel-range" in answer.json()["detail"]
    assert (await problem(client, rates="base@9"))[:2] == (404, "/problems/unknown-revision")
    assert (await problem(client, priced_on="2025-12-31"))[:2] == (404, "/problems/no-book-in-force")
    books.away = True
    status, kind, answer = await problem(client)
    assert (status, kind, answer.headers["retry-after"]) == (503, "/problems/books-unavailable", "5")
