"""What a draft would do, before it is published, and that publishing does just that."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import httpx
import pytest

from service.reference.basket import load_basket
from tests.rates.conftest import ClientOf
from tests.rates.offices import OFFICE, Office, draft_of, held, in_days, new_office, price, today

WINDOW: dict[str, Any] = {
    "element": "under_window", "damage": "soft_wood", "section": "12 in", "depth": "3 in", "length": "8 ft", "side": "outer",
    "inner_face": "sound", "clear_length": "24 ft",
}


@pytest.fixture
async def shop(loaded_url: str, client_of: ClientOf) -> Office:
    return await new_office(loaded_url, client_of, held("lead", "90"), held("carpenter", "70"))


async def preview(office: Office, tag: str, **body: Any) -> dict[str, Any]:
    answer = await office.client.post(office.path(f"drafts/{draft_of(tag)}/preview"), json=body)
    assert answer.status_code == 200, answer.text
    assert answer.headers["etag"] == tag
    found: dict[str, Any] = answer.json()
    return found


def log_price(likely: str) -> dict[str, Any]:
    """The base book's price of a dry log of 10 to 12 in."""
    return {"section": "resources", "code": "log_dry_10_12", "likely": likely}


async def quoted(office: Office, request: dict[str, Any], day: str) -> dict[str, Any]:
    answer = await office.client.post("/v1/quotes", json={**request, "region": office.code, "priced_on": day})
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def plans_of(quote: dict[str, Any]) -> dict[tuple[Any, ...], tuple[int, str]]:
    """Every plan of a quote: rank and whole price."""
    return {
        (defect["id"], tuple(group["pieces"]), option["method"], option["variant"]):
            (option["rank"], option["whole"]["as_described"])
        for defect in quote["defects"]
        for group in (defect["groups"] or [defect])
        for option in group["options"]
    }


def plans_after(job: dict[str, Any], when: str) -> dict[tuple[Any, ...], tuple[int, str]]:
    """Every plan of a previewed job: rank and whole price, before or after."""
    return {
        (defect["defect"], tuple(defect["pieces"]), plan["method"], plan["variant"]):
            (plan[f"rank_{when}"], plan[f"whole_{when}"])
        for defect in job["defects"]
        for plan in defect["plans"]
        if plan[f"rank_{when}"] is not None
    }


@pytest.mark.parametrize("days", [0, 45])
async def test_publishing_gives_the_previewed_prices_to_the_cent(shop: Office, days: int) -> None:
    day = in_days(days)
    changes = [price("lead", "118", low="80"), price("carpenter", "91"), log_price("48")]
    tag = await shop.draft(*changes)
    seen = await preview(shop, tag, effective=day)
    assert seen["effective"] == day
    jobs = {job["job"]: job for job in seen["jobs"]}
    assert set(jobs) == {job.code for job in load_basket()}
    assert any(job["change"] != "0.00" for job in jobs.values())

    before = {job.code: await quoted(shop, dict(job.request), day) for job in load_basket()}
    await shop.published(tag, effective=day)
    for job in load_basket():
        after, told = await quoted(shop, dict(job.request), day), jobs[job.code]
        assert after["rates"].endswith(f"{shop.code}@2")
        assert (told["total_before"], told["total_after"]) == (before[job.code]["job"]["total"], after["job"]["total"])
        assert plans_after(told, "before") == plans_of(before[job.code])
        assert plans_after(told, "after") == plans_of(after)


async def test_each_line_is_looked_at_alone_and_the_rest_is_said(shop: Office) -> None:
    lead, carpenter = price("lead", "118", low="80"), price("carpenter", "91")
    seen = await preview(shop, await shop.draft(lead, carpenter))
    alone = {
        change["code"]: {job["job"]: job for job in (await preview(shop, await shop.draft(change)))["jobs"]}
        for change in (lead, carpenter)
    }
    for job in seen["jobs"]:
        effects = {one["code"]: Decimal(one["change"]) for one in job["effects"]}
        for code, jobs in alone.items():
            assert effects.get(code, Decimal(0)) == Decimal(jobs[job["job"]]["change"])
        assert sum(effects.values()) + Decimal(job["together"]) == Decimal(job["change"])
        assert job["not_alone"] == []


async def test_the_plan_says_which_line_did_it(shop: Office) -> None:
    # Hours of the lead move by cents, the log by half its price.
    seen = await preview(shop, await shop.draft(price("lead", "90.10"), log_price("51")))
    window = next(job for job in seen["jobs"] if job["job"] == "log-through")
    plan = next(p for p in window["defects"][0]["plans"] if p["method"] == "log_partial")
    assert plan["line"] == {"section": "resources", "code": "log_dry_10_12"}
    lines = {line["code"]: line for line in seen["lines"]}
    assert set(lines) == {"lead", "log_dry_10_12"}
    assert lines["log_dry_10_12"]["ratio"] == 1.5
    assert Decimal(lines["log_dry_10_12"]["largest_change"]) > 0


async def test_the_largest_move_comes_first_and_a_sentence_sums_up(shop: Office) -> None:
    seen = await preview(shop, await shop.draft(log_price("40.8")))
    moves = [abs(job["percent"]) for job in seen["jobs"]]
    assert moves == sorted(moves, reverse=True)
    assert "(resources/log_dry_10_12) +20.0%" in seen["summary"]
    assert "sill logs +" in seen["summary"]
    assert seen["summary"].endswith("the first plan changes in 0 of 12 jobs.")


async def test_a_first_plan_that_changes_is_told_with_the_line_that_does_it(shop: Office) -> None:
    # Hours that make a patch let into a pocket dearer a year than an epoxy fill.
    change = {"section": "norms", "code": "dutchman.fixed", "low": "10", "likely": "25", "high": "40"}
    seen = await preview(shop, await shop.draft(change))
    pocket = next(job for job in seen["jobs"] if job["job"] == "pocket")
    (defect,) = pocket["defects"]
    assert pocket["first_changes"]
    assert defect["first_before"] != defect["first_after"]
    assert [one["code"] for one in pocket["effects"] if one["first_changes"]] == ["dutchman.fixed"]
    assert "first plan changes in 0 of" not in seen["summary"]


async def test_a_request_of_which_nothing_can_be_priced_is_refused_as_a_quote_would(shop: Office) -> None:
    tag = await shop.draft(price("lead", "118", low="80"))
    wrong = {"region": shop.code, "defects": [{**WINDOW, "damage": "soft_wodo"}]}
    path = shop.path(f"drafts/{draft_of(tag)}/preview")
    answer = await shop.client.post(path, json={"requests": [{"region": shop.code, "defects": [WINDOW]}, wrong]})
    quote = await shop.client.post("/v1/quotes", json=wrong)
    assert (answer.status_code, answer.json()["type"]) == (quote.status_code, quote.json()["type"])
    assert [(e["pointer"], e["detail"]) for e in answer.json()["errors"]] == [
        (f"#/requests/1{e['pointer'].removeprefix('#')}", e["detail"]) for e in quote.json()["errors"]
    ]


async def test_the_sentence_names_the_line_that_does_most_and_the_jobs_whose_first_plan_changes(shop: Office) -> None:
    hours = {"section": "norms", "code": "dutchman.fixed", "low": "10", "likely": "25", "high": "40"}
    seen = await preview(shop, await shop.draft(hours, price("lead", "90.10")))
    assert seen["summary"].startswith("2 lines change, and norms/dutchman.fixed (+")
    firsts = [job["job"] for job in seen["jobs"] if job["first_changes"]]
    assert seen["summary"].endswith(f"the first plan changes in {len(firsts)} of 12 jobs: {', '.join(firsts)}.")


async def test_a_draft_that_changes_no_number_moves_nothing(shop: Office) -> None:
    seen = await preview(shop, await shop.draft({"section": "resources", "code": "lead", "source": "by word of mouth"}))
    assert seen["summary"].startswith("No number changes")
    assert seen["lines"] == []
    assert {job["change"] for job in seen["jobs"]} == {"0.00"}


async def test_a_preview_says_what_publishing_would_ask_and_refuse(shop: Office) -> None:
    tag = await shop.draft(price("lead", "900", high="900"))
    seen = await preview(shop, tag)
    assert (seen["outdated"], seen["faults"]) == (False, [])
    made = await shop.published(tag, confirmed=[one["token"] for one in seen["to_confirm"]])
    assert made["number"] == 2


async def test_a_preview_of_an_outdated_draft_says_so(shop: Office) -> None:
    first, second = await shop.draft(price("lead", "95")), await shop.draft(price("lead", "96"))
    await shop.published(first)
    assert (await preview(shop, second))["outdated"]


async def test_the_callers_own_jobs_are_tried(shop: Office) -> None:
    request = {"region": shop.code, "defects": [WINDOW]}
    seen = await preview(shop, await shop.draft(price("lead", "118", low="80")), requests=[request, request])
    assert [job["job"] for job in seen["jobs"]] == ["1", "2"]
    assert seen["jobs"][0]["total_before"] == (await quoted(shop, request, today().isoformat()))["job"]["total"]


async def test_what_is_wrong_with_a_callers_jobs_is_named(shop: Office) -> None:
    tag = await shop.draft(price("lead", "95"))
    path = shop.path(f"drafts/{draft_of(tag)}/preview")
    wrong = [
        {"region": "base", "defects": [WINDOW], "rates": "base@1", "priced_on": "2026-05-01"},
        {"region": shop.code, "defects": [{**WINDOW, "depth": "3"}]},
    ]
    formed = await shop.client.post(path, json={"requests": wrong})
    assert [e["pointer"] for e in formed.json()["errors"]] == ["#/requests/1/defects/0/depth"]
    asked = await shop.client.post(path, json={"requests": wrong[:1]})
    assert [e["pointer"] for e in asked.json()["errors"]] == [
        "#/requests/0/region", "#/requests/0/rates", "#/requests/0/priced_on",
    ]
    many = {"region": shop.code, "defects": [WINDOW] * 51}
    crowd = await shop.client.post(path, json={"requests": [many, many]})
    assert (crowd.status_code, crowd.json()["errors"][0]["pointer"]) == (422, "#/requests")


async def test_a_defect_that_cannot_be_leaves_the_others_to_be_tried(shop: Office) -> None:
    request = {"region": shop.code, "defects": [WINDOW, {**WINDOW, "depth": "14 in"}]}
    seen = await preview(shop, await shop.draft(price("lead", "118", low="80")), requests=[request])
    assert {defect["defect"] for defect in seen["jobs"][0]["defects"]} == {"1"}


async def test_the_top_sees_what_its_draft_does_below(
    loaded_url: str, client_of: ClientOf, head_office: httpx.AsyncClient
) -> None:
    top = await new_office(loaded_url, client_of, held("lead", "90"), held("carpenter", "70"))
    middle = await new_office(loaded_url, client_of, held("carpenter", "71"), parent=top.code)
    bottom = await new_office(loaded_url, client_of, held("helper", "50", low=Decimal(30)), parent=middle.code)
    office = Office(top.code, top.id, head_office)
    tag = await office.draft(price("lead", "118", low="80"), price("carpenter", "91"))
    seen = await preview(office, tag)
    assert seen["below"] == [{"region": middle.code, "lines": 1}, {"region": bottom.code, "lines": 1}]

    there = await preview(office, tag, of=bottom.code)
    assert [line["code"] for line in there["lines"]] == ["lead"]
    day = today().isoformat()
    below = Office(bottom.code, bottom.id, head_office)
    job = next(job for job in there["jobs"] if job["job"] == "sill")
    await office.published(tag)
    request = next(dict(one.request) for one in load_basket() if one.code == "sill")
    assert (await quoted(below, request, day))["job"]["total"] == job["total_after"]


async def test_an_office_is_not_told_of_regions_that_it_does_not_reach(loaded_url: str, client_of: ClientOf) -> None:
    top = await new_office(loaded_url, client_of, held("lead", "90"))
    below = await new_office(loaded_url, client_of, held("carpenter", "71"), parent=top.code)
    tag = await top.draft(price("lead", "95"))
    assert (await preview(top, tag))["below"] == []
    path = top.path(f"drafts/{draft_of(tag)}/preview")
    assert (await top.client.post(path, json={"of": below.code})).status_code == 404
    both = Office(top.code, top.id, await client_of(OFFICE, [top.code, "kestrel-range"]))
    wrong = await both.client.post(path, json={"of": "kestrel-range"})
    assert (wrong.status_code, wrong.json()["errors"][0]["pointer"]) == (400, "#/of")


async def test_a_preview_needs_no_body_and_changes_nothing(shop: Office) -> None:
    tag = await shop.draft(price("lead", "95"))
    answer = await shop.client.post(shop.path(f"drafts/{draft_of(tag)}/preview"))
    assert (answer.status_code, answer.headers["etag"]) == (200, tag)
    assert await shop.likely("lead") == "90"
