"""What became of a line, the revisions of a region, and two books side by side."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

from tests.rates.conftest import ClientOf
from tests.rates.offices import Office, in_days, new_office, today
from tests.rates.rewriting import get, in_force, republish
from tests.storage.factory import line

LEAD = "lines/resources/lead/history"


@pytest.fixture
async def parent(loaded_url: str, client_of: ClientOf) -> Office:
    """A region below the base book."""
    return await new_office(loaded_url, client_of, line("lead", "15"), line("helper", "9"))


@pytest.fixture
async def child(parent: Office, loaded_url: str, client_of: ClientOf) -> Office:
    """A region below that one."""
    return await new_office(loaded_url, client_of, line("lead", "16"), parent=parent.code)


def told(edit: dict[str, Any]) -> tuple[Any, ...]:
    old, new = (edit[side] and edit[side]["likely"] for side in ("old", "new"))
    return edit["revision"]["region"], edit["revision"]["number"], edit["change"], old, new


async def test_a_lines_history_tells_every_edit_of_the_region_and_its_parents(
    parent: Office, child: Office, loaded_url: str
) -> None:
    await republish(loaded_url, parent.id, line("lead", "14"), why="slow season")
    await republish(loaded_url, parent.id, line("helper", "8"))
    await republish(loaded_url, child.id, line("helper", "7"), without=[("resources", "lead")])
    body = await get(child, LEAD)
    assert [told(e) for e in body["edits"]] == [
        (child.code, 2, "taken_out", "16", None), (parent.code, 2, "changed", "15", "14"),
        (child.code, 1, "added", None, "16"), (parent.code, 1, "added", None, "15"), ("base", 1, "added", None, "95"),
    ]
    signed = body["edits"][1]["revision"]
    assert (signed["who"], signed["name"], signed["why"]) == ("server:k1", "the office", "slow season")
    assert body["edits"][1]["ratio"] == pytest.approx(14 / 15, rel=1e-5)


async def test_a_region_sees_no_edit_of_those_below_or_beside_it(
    parent: Office, child: Office, loaded_url: str, client_of: ClientOf
) -> None:
    beside = await new_office(loaded_url, client_of, line("lead", "12"), parent=parent.code)
    await republish(loaded_url, child.id, line("lead", "17"))
    for office, unseen in ((parent, {child.code, beside.code}), (beside, {child.code})):
        seen = {e["revision"]["region"] for e in (await get(office, LEAD))["edits"]}
        assert office.code in seen
        assert not seen & unseen


async def test_a_history_is_paged_from_the_newest_without_a_gap(parent: Office, child: Office, loaded_url: str) -> None:
    for likely in ("6", "7", "8"):
        await republish(loaded_url, parent.id, line("lead", likely))
        await republish(loaded_url, child.id, line("lead", likely))
    whole = (await get(child, LEAD))["edits"]
    assert len(whole) == 9
    paged: list[Any] = []
    cursor = None
    while True:
        page = await get(child, LEAD, limit=2, **({} if cursor is None else {"cursor": cursor}))
        paged, cursor = paged + page["edits"], page["next_cursor"]
        if cursor is None:
            break
    assert paged == whole
    assert [e["revision"]["published_at"] for e in whole] == sorted((e["revision"]["published_at"] for e in whole), reverse=True)


async def test_only_words_changed_is_told_as_such(parent: Office, loaded_url: str) -> None:
    await republish(loaded_url, parent.id, line("lead", "15.00", source="the new price list"))
    assert told((await get(parent, LEAD))["edits"][0])[2] == "reworded"


async def test_a_number_typed_otherwise_is_no_edit(parent: Office, loaded_url: str) -> None:
    await republish(loaded_url, parent.id, line("lead", "15.00"), line("helper", "10"))
    assert [told(e)[:2] for e in (await get(parent, LEAD))["edits"]] == [(parent.code, 1), ("base", 1)]


async def test_revisions_say_when_they_are_in_force(parent: Office, loaded_url: str) -> None:
    await republish(loaded_url, parent.id, line("lead", "14"), effective=today())
    await republish(loaded_url, parent.id, line("lead", "13"), effective=today())
    await republish(loaded_url, parent.id, line("lead", "12"), line("carpenter", "9"), without=[("resources", "helper")],
                    effective=today().replace(year=today().year + 1, day=1))
    found = (await get(parent, "revisions"))["revisions"]
    assert [(r["revision"]["number"], r["state"], r["based_on"]) for r in found] == [
        (4, "scheduled", 3), (3, "in_force", 2), (2, "replaced", 1), (1, "past", None)]
    assert found[3]["days"] == [{"since": "2026-01-01", "until": in_days(0)}]
    assert found[1]["days"] == [{"since": in_days(0), "until": found[0]["days"][0]["since"]}]
    assert (found[0]["lines"], found[0]["added"], found[0]["changed"], found[0]["taken_out"]) == (2, 1, 1, 1)
    assert (found[3]["added"], found[3]["changed"]) == (2, 0)


async def test_revisions_are_paged_from_the_newest(parent: Office, loaded_url: str) -> None:
    for likely in ("6", "7", "8"):
        await republish(loaded_url, parent.id, line("lead", likely))
    first = await get(parent, "revisions", limit=3)
    rest = await get(parent, "revisions", limit=3, cursor=first["next_cursor"])
    assert [r["revision"]["number"] for r in first["revisions"] + rest["revisions"]] == [4, 3, 2, 1]
    assert rest["next_cursor"] is None


async def test_one_revision_has_its_difference_from_the_one_before(parent: Office, loaded_url: str) -> None:
    await republish(loaded_url, parent.id, line("lead", "14"), line("carpenter", "9"), without=[("resources", "helper")])
    body = await get(parent, "revisions/2")
    assert [(e["code"], *told(e)[2:]) for e in body["edits"]] == [
        ("carpenter", "added", None, "9"), ("helper", "taken_out", "9", None), ("lead", "changed", "15", "14")]
    assert (body["row"]["added"], body["row"]["changed"], body["row"]["taken_out"]) == (1, 1, 1)


async def test_a_revision_that_is_not_there_is_404(office: httpx.AsyncClient) -> None:
    for number in ("0", "2", "01", "-1", "1.5", "x", "9" * 30, "1%00"):
        answer = await office.get(f"/v1/regions/kestrel-range/revisions/{number}")
        assert answer.status_code == 404, number
        assert answer.json()["type"] == "/problems/unknown-revision"


async def test_two_revisions_differ_by_whom_and_how_often(parent: Office, loaded_url: str) -> None:
    await republish(loaded_url, parent.id, line("lead", "14"), who="server:first")
    await republish(loaded_url, parent.id, line("lead", "13"), line("carpenter", "9"), who="server:second")
    await republish(loaded_url, parent.id, line("carpenter", "8"), without=[("resources", "helper")], who="server:third")
    moved = {m["code"]: m for m in (await get(parent, "compare", **{"from": 1, "to": 4}))["lines"]}
    assert set(moved) == {"lead", "carpenter", "helper"}
    assert (moved["lead"]["change"], moved["lead"]["by"]["who"], moved["lead"]["edits"]) == ("changed", "server:second", 2)
    assert (moved["carpenter"]["change"], moved["carpenter"]["by"]["who"]) == ("added", "server:third")
    assert (moved["helper"]["change"], moved["helper"]["new"]) == ("taken_out", None)
    assert moved["lead"]["ratio"] == pytest.approx(13 / 15, rel=1e-5)


async def test_comparing_backwards_turns_every_move_round(parent: Office, loaded_url: str) -> None:
    await republish(loaded_url, parent.id, line("lead", "14"), line("carpenter", "9"), without=[("resources", "helper")])
    there = (await get(parent, "compare", **{"from": 1, "to": 2}))["lines"]
    back = (await get(parent, "compare", **{"from": 2, "to": 1}))["lines"]
    assert [(m["code"], m["old"], m["new"], m["by"]) for m in there] == [(m["code"], m["new"], m["old"], m["by"]) for m in back]


async def test_what_was_changed_and_changed_back_is_no_difference(parent: Office, loaded_url: str) -> None:
    await republish(loaded_url, parent.id, line("lead", "14"))
    await republish(loaded_url, parent.id, line("lead", "15"))
    assert (await get(parent, "compare", **{"from": 1, "to": 3}))["lines"] == []


async def test_effective_books_differ_by_the_edits_of_whoever_is_in_the_chain(
    parent: Office, child: Office, loaded_url: str
) -> None:
    before = await in_force(child)
    await republish(loaded_url, parent.id, line("lead", "14"), line("helper", "8"), who="server:above")
    await republish(loaded_url, child.id, without=[("resources", "lead")], who="server:below")
    after = await in_force(child, f"{parent.code}@2", f"{child.code}@2")
    moved = {m["code"]: m for m in (await get(child, "compare", **{"from": before, "to": after}))["lines"]}
    assert {code: (m["old"]["likely"], m["new"]["likely"]) for code, m in moved.items()} == {
        "lead": ("16", "14"), "helper": ("9", "8")}
    assert moved["helper"]["by"]["who"] == "server:above"
    # The parent changed its price too, but it came to count because the child took its own out.
    assert moved["lead"]["by"]["who"] == "server:below"


async def test_a_lock_that_moves_a_line_below_is_told_as_the_parents(parent: Office, child: Office, loaded_url: str) -> None:
    before = await in_force(child)
    await republish(loaded_url, child.id, line("lead", "17"), who="server:below")
    await republish(loaded_url, parent.id, line("lead", "15", locked=True), who="server:above")
    after = await in_force(child, f"{parent.code}@2", f"{child.code}@2")
    for books, likely in (((before, after), ("16", "15")), ((after, before), ("15", "16"))):
        (moved,) = (await get(child, "compare", **{"from": books[0], "to": books[1]}))["lines"]
        assert (moved["code"], moved["old"]["likely"], moved["new"]["likely"]) == ("lead", *likely)
        assert (moved["by"]["region"], moved["by"]["who"]) == (parent.code, "server:above")


async def test_what_cannot_be_compared_is_named(office: httpx.AsyncClient) -> None:
    here, chain = "/v1/regions/kestrel-range/compare", "base@1/kestrel-range@1"
    halves: tuple[dict[str, str], ...] = ({}, {"from": "1"}, {"to": "1"}, {"from": "1", "to": chain}, {"from": "1", "to": "\x00"})
    for params in (*halves, {"from": "", "to": ""}):
        answer = await office.get(here, params=params)
        assert (answer.status_code, answer.json()["type"]) == (400, "/problems/invalid-parameter"), params
    for params in ({"from": "1", "to": "7"}, {"from": "9" * 9, "to": "1"}, {"from": chain, "to": "base@1/sollavik@1"},
                   {"from": chain, "to": "base@1/kestrel-range@8"}, {"from": chain, "to": "9" * 12}):
        answer = await office.get(here, params=params)
        assert answer.status_code in (400, 404), params
    assert (await office.get(here, params={"from": chain, "to": "base@1/sollavik@1"})).status_code == 404
