"""A draft becomes a revision: checked, numbered, signed, in force; and two people at once."""

from __future__ import annotations

import asyncio
from typing import Any

import httpx
import pytest
from sqlalchemy import select

from service.storage.tables import audit_entry, region
from tests.conftest import bare_engine
from tests.rates.conftest import ClientOf
from tests.rates.offices import OFFICE, Office, draft_of, held, in_days, new_office, price, today
from tests.storage.factory import new_region


@pytest.fixture
async def shop(loaded_url: str, client_of: ClientOf) -> Office:
    return await new_office(loaded_url, client_of, held("lead", "90"), held("carpenter", "70"))


def kind(answer: httpx.Response) -> str:
    return str(answer.json()["type"].rpartition("/")[2])


def tokens(answer: httpx.Response) -> list[str]:
    return [one["token"] for one in answer.json()["errors"] if one["token"]]


async def entries(url: str, region_id: int, action: str) -> list[str]:
    engine = bare_engine(url)
    async with engine.connect() as connection:
        asked = select(audit_entry.c.details).where(audit_entry.c.region_id == region_id, audit_entry.c.action == action)
        found = [row.details for row in await connection.execute(asked.order_by(audit_entry.c.id))]
    await engine.dispose()
    return found


# ---- one person --------------------------------------------------------------------------------------------------------


async def test_a_one_line_change_takes_two_calls_and_is_signed(shop: Office) -> None:
    tag = await shop.draft(price("lead", "95"))
    answer = await shop.publish(tag, why="Wages of the spring")

    made = answer.json()
    assert answer.status_code == 201, answer.text
    assert answer.headers["location"] == f"/v1/regions/{shop.code}/revisions/2"
    assert (made["number"], made["effective"], made["until"], made["changed"]) == (2, today().isoformat(), None, 1)
    assert made["who"].startswith("server:")
    assert made["name"] == "server of a test"
    assert made["why"] == "Wages of the spring"
    assert made["rates"].endswith(f"/{shop.code}@2")
    assert await shop.likely("lead") == "95"
    assert await shop.likely("carpenter") == "70"


async def test_what_location_names_is_there(shop: Office) -> None:
    answer = await shop.publish(await shop.draft(price("lead", "95")))
    read = await shop.client.get(answer.headers["location"])
    assert read.status_code == 200, read.text


async def test_a_publication_names_the_state_that_it_publishes(shop: Office) -> None:
    tag = await shop.draft(price("lead", "95"))
    path = shop.path(f"drafts/{draft_of(tag)}/publish")
    without = await shop.client.post(path, json={"why": "x"})
    old = await shop.client.post(path, json={"why": "x"}, headers={"If-Match": f'"d{draft_of(tag)}-99"'})
    weak = await shop.client.post(path, json={"why": "x"}, headers={"If-Match": f"W/{tag}"})
    assert [a.status_code for a in (without, old, weak)] == [428, 412, 412]
    assert old.headers["etag"] == tag
    assert (await shop.published(tag))["number"] == 2


async def test_a_change_after_the_preview_is_not_published_unseen(shop: Office) -> None:
    tag = await shop.draft(price("lead", "95"))
    changed = await shop.client.patch(
        shop.path(f"drafts/{draft_of(tag)}/lines/resources/lead"), json={"likely": "99"},
        headers={"If-Match": tag, "Content-Type": "application/merge-patch+json"},
    )
    assert changed.status_code == 200, changed.text
    assert (await shop.publish(tag)).status_code == 412


BADLY_FORMED: list[tuple[dict[str, Any], str]] = [
    ({}, "#/why"), ({"why": ""}, "#/why"), ({"why": "  "}, "#/why"), ({"why": "a\nb"}, "#/why"),
    ({"why": "x", "effective": "2026-02-30"}, "#/effective"), ({"why": "x", "efective": "2026-05-01"}, "#/efective"),
    ({"why": "x", "confirmed": "all"}, "#/confirmed"), ({"why": "x", "confirmed": [""]}, "#/confirmed/0"),
]


async def test_a_badly_formed_publication_is_named_field_by_field(shop: Office) -> None:
    tag = await shop.draft(price("lead", "95"))
    for body, pointer in BADLY_FORMED:
        answer = await shop.client.post(
            shop.path(f"drafts/{draft_of(tag)}/publish"), json=body, headers={"If-Match": tag}
        )
        assert answer.status_code == 400, body
        assert pointer in [one["pointer"] for one in answer.json()["errors"]], body


async def test_a_publication_for_later_leaves_today_as_it_is(shop: Office) -> None:
    made = await shop.published(await shop.draft(price("lead", "95")), effective=in_days(30))
    assert made["effective"] == in_days(30)
    assert [await shop.likely("lead", on) for on in (None, in_days(29), in_days(30))] == ["90", "90", "95"]


async def test_the_newer_of_two_for_one_day_takes_its_place(shop: Office) -> None:
    await shop.published(await shop.draft(price("lead", "95")), effective=in_days(30))
    made = await shop.published(await shop.draft(price("lead", "96"), based_on=2), effective=in_days(30))
    assert made["number"] == 3
    assert await shop.likely("lead", in_days(30)) == "96"


async def test_a_draft_is_published_once(shop: Office) -> None:
    tag = await shop.draft(price("lead", "95"))
    await shop.published(tag)
    again = await shop.publish(tag)
    assert (again.status_code, kind(again)) == (404, "unknown-draft")


async def test_a_draft_that_cannot_be_is_not_there(shop: Office) -> None:
    for draft in ("0", "-1", "x", "99999999999999999999", "12.5", "999999999999999999"):
        for step in ("publish", "rebase", "preview"):
            body = {"why": "x"} if step == "publish" else {}
            answer = await shop.client.post(shop.path(f"drafts/{draft}/{step}"), json=body, headers={"If-Match": '"d1-1"'})
            assert (answer.status_code, kind(answer)) == (404, "unknown-draft"), (draft, step)


async def test_another_regions_draft_is_not_there(shop: Office, loaded_url: str, client_of: ClientOf) -> None:
    other = await new_office(loaded_url, client_of)
    tag = await other.draft(price("lead", "95"))
    assert kind(await shop.publish(tag)) == "unknown-draft"
    assert (await other.published(tag))["number"] == 2


async def test_nothing_is_not_published(shop: Office) -> None:
    answer = await shop.publish(await shop.draft())
    assert (answer.status_code, kind(answer)) == (409, "nothing-changes")
    assert "revision 1" in answer.json()["detail"]


async def test_writing_does_not_allow_publishing(loaded_url: str, client_of: ClientOf) -> None:
    shop = await new_office(loaded_url, client_of, scopes=[s for s in OFFICE if s != "rates:publish"])
    answer = await shop.publish(await shop.draft(price("lead", "95")))
    assert answer.status_code == 403


async def test_the_log_tells_of_a_publication(shop: Office, loaded_url: str) -> None:
    tag = await shop.draft(price("lead", "95"))
    await shop.publish(tag, why="Wages", effective=in_days(-1))
    await shop.published(tag, why="Wages")
    (told,) = await entries(loaded_url, shop.id, "revision.publish")
    assert '"why": "Wages"' in told
    assert '"backdated": false' in told


async def test_a_regions_first_book_is_published_like_any_other(loaded_url: str, client_of: ClientOf) -> None:
    engine = bare_engine(loaded_url)
    async with engine.begin() as connection:
        base = (await connection.execute(select(region.c.id).where(region.c.code == "base"))).scalar_one()
        region_id, code = await new_region(connection, base)
    await engine.dispose()
    office = Office(code, region_id, await client_of(OFFICE, [code]))
    made = await office.published(await office.draft(price("lead", "95")))
    assert (made["number"], made["rates"].rpartition("/")[2]) == (1, f"{code}@1")
    assert await office.likely("lead") == "95"


# ---- the past ----------------------------------------------------------------------------------------------------------


async def test_an_office_does_not_publish_for_a_day_that_is_over(shop: Office) -> None:
    answer = await shop.publish(await shop.draft(price("lead", "95")), effective=in_days(-1))
    assert (answer.status_code, kind(answer)) == (409, "backdated")
    assert answer.json()["errors"][0]["pointer"] == "#/effective"


async def test_an_administrator_of_one_region_does_not_either(loaded_url: str, client_of: ClientOf) -> None:
    shop = await new_office(loaded_url, client_of, scopes=(*OFFICE, "admin"))
    assert kind(await shop.publish(await shop.draft(price("lead", "95")), effective=in_days(-1))) == "backdated"


async def test_the_head_office_may_and_the_log_says_so(
    shop: Office, head_office: httpx.AsyncClient, loaded_url: str
) -> None:
    ours = Office(shop.code, shop.id, head_office)
    made = await ours.published(await ours.draft(price("lead", "95")), effective=in_days(-10), why="Wrong since the audit")
    assert made["effective"] == in_days(-10)
    assert [await shop.likely("lead", on) for on in (in_days(-11), in_days(-10))] == ["90", "95"]
    (told,) = await entries(loaded_url, shop.id, "revision.publish")
    assert '"backdated": true' in told


# ---- slips -------------------------------------------------------------------------------------------------------------


async def test_a_factor_of_ten_is_asked_about_and_confirmed_by_its_token(shop: Office) -> None:
    tag = await shop.draft(price("lead", "900", high="900"))
    asked = await shop.publish(tag)
    assert (asked.status_code, kind(asked)) == (409, "confirmation-needed")
    assert tokens(asked) == ["resources/lead=60/900/900 h"]
    assert "10 times the 90 in force" in asked.json()["errors"][0]["detail"]
    assert kind(await shop.publish(tag, confirmed=["resources/lead=60/901/901 h"])) == "confirmation-needed"
    assert (await shop.published(tag, confirmed=tokens(asked)))["number"] == 2


async def test_a_token_says_yes_to_one_value_only(shop: Office) -> None:
    tag = await shop.draft(price("lead", "900", high="900"))
    said = tokens(await shop.publish(tag))
    changed = await shop.client.patch(
        shop.path(f"drafts/{draft_of(tag)}/lines/resources/lead"), json={"likely": "920", "high": "920"},
        headers={"If-Match": tag, "Content-Type": "application/merge-patch+json"},
    )
    again = await shop.publish(changed.headers["etag"], confirmed=said)
    assert kind(again) == "confirmation-needed"


async def test_all_that_is_odd_is_asked_about_at_once(shop: Office) -> None:
    tag = await shop.draft(price("lead", "0", low="0"), price("carpenter", "7", low="6", high="9"))
    asked = await shop.publish(tag)
    assert tokens(asked) == ["resources/carpenter=6/7/9 h", "resources/lead=0/0/300 h"]
    assert "zero" in asked.json()["errors"][1]["detail"]


async def test_a_line_that_was_locked_above_meanwhile_is_refused(
    shop: Office, loaded_url: str, client_of: ClientOf
) -> None:
    below = await new_office(loaded_url, client_of, held("carpenter", "71"), parent=shop.code)
    tag = await below.draft(price("lead", "97"))
    await shop.published(await shop.draft({"section": "resources", "code": "lead", "locked": True}))
    refused = await below.publish(tag)
    assert (refused.status_code, kind(refused)) == (409, "publish-refused")
    assert [(e["code"], shop.code in e["detail"]) for e in refused.json()["errors"]] == [("line_locked", True)]
    assert await below.likely("lead") == "90"


# ---- scheduled revisions -----------------------------------------------------------------------------------------------


async def test_a_scheduled_revision_is_left_alone_and_what_it_will_undo_is_asked_about(shop: Office) -> None:
    await shop.published(await shop.draft(price("lead", "99")), effective=in_days(60))
    # This week's price, on top of what is in force today.
    tag = await shop.draft(price("carpenter", "75"), based_on=1)
    asked = await shop.publish(tag)
    assert tokens(asked) == ["until:2"]
    assert "resources/carpenter" in asked.json()["errors"][0]["detail"]

    made = await shop.published(tag, confirmed=["until:2"])
    assert (made["until"], made["next_number"]) == (in_days(60), 2)
    days = (None, in_days(59), in_days(60))
    assert [await shop.likely("carpenter", on) for on in days] == ["75", "75", "70"]
    assert [await shop.likely("lead", on) for on in days] == ["90", "90", "99"]


async def test_this_weeks_price_rests_on_what_is_in_force_and_not_on_next_months_list(shop: Office) -> None:
    await shop.published(await shop.draft(price("lead", "99")), effective=in_days(60))
    tag = await shop.draft(price("carpenter", "75"))
    assert tokens(await shop.publish(tag)) == ["until:2"]
    await shop.published(tag, confirmed=["until:2"])
    assert [await shop.likely("lead", on) for on in (None, in_days(60))] == ["90", "99"]


async def test_a_draft_on_a_scheduled_revision_does_not_bring_it_forward_unasked(shop: Office) -> None:
    await shop.published(await shop.draft(price("lead", "99")), effective=in_days(60))
    tag = await shop.draft(price("carpenter", "75"), based_on=2)
    asked = await shop.publish(tag)
    assert "carries:2-over-1" in tokens(asked)
    assert (await shop.published(tag, effective=in_days(60)))["until"] is None
    assert [await shop.likely("lead", on) for on in (None, in_days(60))] == ["90", "99"]


# ---- two people --------------------------------------------------------------------------------------------------------


async def test_of_two_drafts_of_one_revision_one_wins_and_the_other_is_told_what_moved(shop: Office) -> None:
    first, second = await shop.draft(price("lead", "95"), price("carpenter", "72")), await shop.draft(price("lead", "96"))
    await shop.published(first, why="The union's wages")
    answer = await shop.publish(second)
    told = answer.json()
    assert (answer.status_code, kind(answer)) == (409, "draft-outdated")
    assert "revision 2 by server of a test" in told["detail"]
    assert "The union's wages" in told["detail"]
    assert {e["code"]: e["detail"].split(":")[0] for e in told["errors"]} == {
        "moved": "resources/carpenter", "moved_here_too": "resources/lead",
    }
    assert await shop.likely("lead") == "95"


async def test_of_two_publications_at_the_same_moment_one_wins(shop: Office) -> None:
    tags = [await shop.draft(price("lead", likely)) for likely in ("91", "92", "93", "94")]
    answers = await asyncio.gather(*(shop.publish(tag) for tag in tags))
    assert sorted(a.status_code for a in answers) == [201, 409, 409, 409]
    assert {kind(a) for a in answers if a.status_code == 409} == {"draft-outdated"}
    won = next(n for n, a in enumerate(answers) if a.status_code == 201)
    assert await shop.likely("lead") == ("91", "92", "93", "94")[won]


async def test_a_rebase_keeps_ones_own_changes_and_brings_the_others_along(shop: Office) -> None:
    first, second = await shop.draft(price("carpenter", "72")), await shop.draft(price("lead", "96"))
    await shop.published(first)
    moved = await shop.rebase(second)
    assert moved.status_code == 200, moved.text
    told = moved.json()
    assert (told["was_on"], told["based_on"], told["came"], told["kept"]) == (1, 2, ["resources/carpenter"], [])
    assert (await shop.published(moved.headers["etag"]))["changed"] == 1
    assert [await shop.likely(code) for code in ("lead", "carpenter")] == ["96", "72"]


async def test_lines_that_both_changed_are_asked_about(shop: Office) -> None:
    first = await shop.draft(price("lead", "95"), price("carpenter", "72"))
    second = await shop.draft(price("lead", "96"), price("carpenter", "73"))
    await shop.published(first)
    asked = await shop.rebase(second)
    assert (asked.status_code, kind(asked)) == (409, "rebase-conflicts")
    assert tokens(asked) == ["resources/carpenter", "resources/lead"]
    half = await shop.rebase(second, keep=["resources/lead"])
    assert tokens(half) == ["resources/carpenter"]
    other = await shop.rebase(second, keep=["resources/lead", "resources/helper"], take=["resources/carpenter"])
    assert [e["code"] for e in other.json()["errors"]] == ["not_in_conflict"]

    moved = await shop.rebase(second, keep=["resources/lead"], take=["resources/carpenter"])
    assert (moved.json()["came"], moved.json()["kept"]) == (["resources/carpenter"], ["resources/lead"])
    await shop.published(moved.headers["etag"])
    assert [await shop.likely(code) for code in ("lead", "carpenter")] == ["96", "72"]


async def test_a_draft_on_the_newest_revision_stays_as_it_is(shop: Office) -> None:
    tag = await shop.draft(price("lead", "96"))
    moved = await shop.rebase(tag)
    assert (moved.headers["etag"], moved.json()["came"]) == (tag, [])


async def test_a_rebase_names_the_state_that_it_moves(shop: Office) -> None:
    tag = await shop.draft(price("lead", "96"))
    path = shop.path(f"drafts/{draft_of(tag)}/rebase")
    assert (await shop.client.post(path)).status_code == 428
    assert (await shop.client.post(path, headers={"If-Match": f'"d{draft_of(tag)}-7"'})).status_code == 412


# ---- answers that are lost ---------------------------------------------------------------------------------------------


async def test_a_publication_that_is_sent_again_gets_the_first_answer(shop: Office) -> None:
    tag = await shop.draft(price("lead", "95"))
    first, second = [await shop.publish(tag, key="publish-1", why="Wages") for _ in range(2)]
    assert (first.status_code, second.status_code) == (201, 201)
    assert first.content == second.content
    assert first.headers["location"] == second.headers["location"]
    other = await shop.publish(tag, key="publish-1", why="Another reason")
    assert (other.status_code, kind(other)) == (422, "key-of-another-create")


async def test_a_publication_that_was_refused_may_be_sent_again_under_its_key(shop: Office) -> None:
    tag = await shop.draft(price("lead", "900", high="900"))
    assert kind(await shop.publish(tag, key="publish-2")) == "confirmation-needed"
    assert (await shop.published(tag, key="publish-2", confirmed=["resources/lead=60/900/900 h"]))["number"] == 2


async def test_a_list_for_a_later_day_does_not_make_this_weeks_draft_outdated(loaded_url: str, client_of: ClientOf) -> None:
    shop = await new_office(loaded_url, client_of)
    await shop.published(await shop.draft(price("lead", "95")), effective=in_days(30))
    tag = await shop.draft(price("carpenter", "70"))
    at = shop.path(f"drafts/{draft_of(tag)}")
    draft = (await shop.client.get(at)).json()
    assert (draft["based_on"], draft["newest"], draft["outdated"]) == (1, 2, False)
    await shop.published(await shop.draft(price("helper", "61")), confirmed=["until:2"])
    assert (await shop.client.get(at)).json()["outdated"]
    assert kind(await shop.publish(tag)) == "draft-outdated"


async def test_whoever_signs_is_named_in_one_form_everywhere(shop: Office) -> None:
    tag = await shop.draft(price("lead", "97"))
    draft = (await shop.client.get(shop.path(f"drafts/{draft_of(tag)}"))).json()
    made = await shop.published(tag)
    piece = {"code": "a_1", "form": "log", "section": "12 in", "length": "16 ft", "moisture": "14 %", "species": "lodgepole_pine",
             "cut": "round", "where": "shed"}
    assert (await shop.client.post(shop.path("stock"), json=piece)).status_code == 201
    hours = await shop.client.post(shop.path("hours"), json={
        "job": "Cabin", "done_on": in_days(-1), "method": "face_veneer", "element": "under_window", "rates": made["rates"],
        "quoted_hours": "20", "actual_hours": "21"})
    assert hours.status_code == 201, hours.text
    revision = (await shop.client.get(shop.path(f"revisions/{made['number']}"))).json()["row"]["revision"]
    stock = (await shop.client.get(shop.path("stock"))).json()["count"]
    count = (await shop.client.get(shop.path("stock/counts"))).json()["counts"][0]
    named = [draft, made, revision, stock, count, hours.json()["reports"][0]]
    assert [one["by"] for one in named] == 6 * [{"id": made["who"], "name": "server of a test"}]
    sheet = await shop.client.get(shop.path("hours"), headers={"Accept": "text/csv"})
    assert sheet.text.splitlines()[1].endswith(made["who"])
