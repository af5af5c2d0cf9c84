"""An earlier revision comes back as a new one."""

from __future__ import annotations

import pytest

from tests.rates.conftest import ClientOf
from tests.rates.offices import Office, held, in_days, new_office, price
from tests.rates.test_publish import entries, kind, tokens


@pytest.fixture
async def shop(loaded_url: str, client_of: ClientOf) -> Office:
    """An office whose second revision holds another price and a line of helpers."""
    office = await new_office(loaded_url, client_of, held("lead", "90"), held("carpenter", "70"))
    await office.published(await office.draft(price("lead", "95"), price("helper", "61")))
    return office


async def test_going_back_is_a_new_revision_with_the_old_lines(shop: Office, loaded_url: str) -> None:
    answer = await shop.revert(1, why="The wages were a mistake")
    made = answer.json()
    assert answer.status_code == 201, answer.text
    assert answer.headers["location"] == f"/v1/regions/{shop.code}/revisions/3"
    assert (made["number"], made["changed"], made["why"], made["left_out"]) == (3, 2, "The wages were a mistake", [])
    assert await shop.likely("lead") == "90"
    read = (await shop.client.get(f"/v1/regions/{shop.code}")).json()["lines"]
    assert next(line["from"] for line in read if line["code"] == "helper") == "base"
    told = await entries(loaded_url, shop.id, "revision.publish")
    assert '"reverts_to": 1' in told[-1]
    rows = (await shop.client.get(shop.path("revisions"))).json()["revisions"]
    assert [(r["revision"]["number"], r["reverts_to"]) for r in rows] == [(3, 1), (2, None), (1, None)]
    assert made["reverts_to"] == 1


async def test_going_back_may_be_scheduled(shop: Office) -> None:
    made = (await shop.revert(1, effective=in_days(20))).json()
    assert made["effective"] == in_days(20)
    assert [await shop.likely("lead", on) for on in (None, in_days(20))] == ["95", "90"]


async def test_going_back_to_what_is_in_force_is_refused(shop: Office) -> None:
    assert kind(await shop.revert(2)) == "nothing-changes"


async def test_what_the_caller_has_not_seen_is_not_taken_back(shop: Office) -> None:
    answer = await shop.revert(1, newest=1)
    assert (answer.status_code, kind(answer)) == (409, "draft-outdated")
    assert {e["detail"].split(":")[0] for e in answer.json()["errors"]} == {"resources/lead", "resources/helper"}
    assert (await shop.revert(1, newest=2)).status_code == 201


async def test_going_back_is_checked_like_any_publication(shop: Office) -> None:
    tag = await shop.draft(price("lead", "2000", high="2000"))
    await shop.published(tag, confirmed=tokens(await shop.publish(tag)))
    asked = await shop.revert(2)
    assert kind(asked) == "confirmation-needed"
    assert (await shop.revert(2, confirmed=tokens(asked))).status_code == 201
    assert kind(await shop.revert(1, effective=in_days(-1))) == "backdated"
    assert kind(await shop.revert(1, why=" ")) == "invalid-request"


async def test_what_a_parent_locked_meanwhile_is_left_out_and_said(
    shop: Office, loaded_url: str, client_of: ClientOf
) -> None:
    below = await new_office(loaded_url, client_of, held("lead", "91"), held("carpenter", "71"), parent=shop.code)
    await below.published(await below.draft(price("carpenter", "72")))
    await shop.published(await shop.draft({"section": "resources", "code": "lead", "locked": True}))
    made = (await below.revert(1)).json()
    assert made["left_out"] == ["resources/lead"]
    assert [await below.likely(code) for code in ("lead", "carpenter")] == ["95", "71"]


async def test_a_revision_that_never_was_is_not_there(shop: Office) -> None:
    for number in ("99", "0", "x", "1.0", "999999999", "9999999999"):
        answer = await shop.client.post(shop.path(f"revisions/{number}/revert"), json={"why": "x"})
        assert (answer.status_code, kind(answer)) == (404, "unknown-revision"), number
    assert kind(await shop.revert(1, newest=77)) == "unknown-revision"


async def test_going_back_that_is_sent_again_gets_the_first_answer(shop: Office) -> None:
    body, headers = {"why": "x"}, {"Idempotency-Key": '"revert-1"'}
    first, second = [
        await shop.client.post(shop.path("revisions/1/revert"), json=body, headers=headers) for _ in range(2)
    ]
    assert (first.status_code, first.content) == (201, second.content)
    assert (await shop.client.get(shop.path("revisions/4"))).status_code == 404
