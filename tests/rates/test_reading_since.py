"""What changed since a quote, and what that does to it."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import httpx
import pytest

from service.application.since import MOST_RUNS, runs_for
from service.web import limits
from tests.rates.conftest import ClientOf
from tests.rates.offices import Office, new_office, today
from tests.rates.rewriting import in_force, recount, republish
from tests.storage.factory import line, piece

POCKET: dict[str, Any] = {
    "priced_on": "2026-05-04", "level": "visited",
    "defects": [{
        "id": "W2-3", "element": "wall_low", "damage": "pocket_deep", "section": "12 in", "profile": "round",
        "depth": "3 1/2 in", "length": "42 in", "width": "7 in", "side": "outer", "inner_face": "sound", "moisture": "24 %",
        "course": 3, "courses": 11, "clear_length": "18 ft", "height": "2 ft",
    }],
}
POSTS: dict[str, Any] = {
    "priced_on": "2026-05-04",
    "defects": [
        {"element": "post_porch", "damage": "foot_rot", "from_end": ["3 in", "9 in"], "section": "10 in"},
        {"element": "under_window", "damage": "soft_wood", "length": "8 ft"},
    ],
}


@pytest.fixture
async def shop(loaded_url: str, client_of: ClientOf) -> Office:
    """A region below the base book with a wage of its own."""
    return await new_office(loaded_url, client_of, line("lead", "95", low=70, high=130, what="Lead"))


def wage(likely: str) -> dict[str, Any]:
    return line("lead", likely, low=70, high=200, what="Lead")


async def changes(office: Office, rates: str, request: dict[str, Any] | None = None, **more: Any) -> Any:
    body = {"rates": rates, **more} | ({} if request is None else {"request": {"region": office.code, **request}})
    answer = await office.client.post(office.path("changes"), json=body)
    assert answer.status_code == 200, answer.text
    return answer.json()


async def quoted(office: Office, request: dict[str, Any], rates: str) -> Any:
    answer = await office.client.post("/v1/quotes", json={"region": office.code, "rates": rates, **request})
    assert answer.status_code == 200, answer.text
    return answer.json()


def plans_of(quote: Any) -> dict[tuple[str, tuple[int, ...], str, str], tuple[int, str]]:
    """Rank and whole price of every plan of a quote."""
    found = {}
    for defect in quote["defects"]:
        for group in defect["groups"] or [defect]:
            for option in group["options"]:
                name = defect["id"], tuple(group["pieces"]), option["method"], option["variant"]
                found[name] = option["rank"], option["whole"]["as_described"]
    return found


async def test_under_the_same_rates_nothing_has_moved(shop: Office) -> None:
    rates = await in_force(shop)
    body = await changes(shop, rates, POCKET)
    assert (body["lines"], body["stock"], body["quote"]["effects"]) == ([], [], [])
    assert (body["quote"]["change"], body["quote"]["together"]) == ("0.00", "0.00")
    assert body["summary"].startswith("Nothing has moved")


async def test_it_tells_what_moved_by_whom_and_when(shop: Office, loaded_url: str) -> None:
    rates = await in_force(shop)
    await republish(loaded_url, shop.id, wage("114"), who="server:k7", name="the yard office")
    await in_force(shop, f"{shop.code}@2")
    body = await changes(shop, rates)
    assert (body["rates_then"], body["quote"]) == (rates, None)
    (moved,) = body["lines"]
    assert (moved["code"], moved["old"]["likely"], moved["new"]["likely"], moved["ratio"]) == ("lead", "95", "114", 1.2)
    assert (moved["by"]["who"], moved["by"]["name"], moved["by"]["region"]) == ("server:k7", "the yard office", shop.code)
    assert "resources/lead +20.0%" in body["summary"]


@pytest.mark.parametrize("request_", [POCKET, POSTS], ids=["one defect", "groups and a second defect"])
async def test_both_prices_are_those_that_a_quote_says_to_the_cent(
    shop: Office, loaded_url: str, request_: dict[str, Any]
) -> None:
    then = await in_force(shop)
    await republish(loaded_url, shop.id, wage("150"), line("epoxy_paste", "180", unit="gal", kind="material", low=90, high=250))
    now = await in_force(shop, f"{shop.code}@2")
    body = (await changes(shop, then, request_))["quote"]
    quotes = [await quoted(shop, request_, rates) for rates in (then, now)]
    for side, quote in zip(("then", "now"), quotes, strict=True):
        told = {
            (d["defect"], tuple(d["pieces"]), p["method"], p["variant"]): (p[f"rank_{side}"], p[f"whole_{side}"])
            for d in body["defects"] for p in d["plans"] if p[f"rank_{side}"] is not None
        }
        assert told == plans_of(quote)
        assert body[f"total_{side}"] == quote["job"]["total"]
    assert Decimal(body["change"]) == Decimal(body["total_now"]) - Decimal(body["total_then"]) > 0


async def test_each_line_alone_does_what_a_book_with_it_alone_does(
    shop: Office, loaded_url: str, client_of: ClientOf
) -> None:
    then = await in_force(shop)
    moves = {
        "lead": wage("150"), "carpenter": line("carpenter", "99", low=60, high=140),
        "helper": line("helper", "70", low=40, high=90),
    }
    await republish(loaded_url, shop.id, *moves.values(), line("sealant_none", "7"))
    await in_force(shop, f"{shop.code}@2")
    body = (await changes(shop, then, POCKET))["quote"]
    effects = {e["code"]: e for e in body["effects"]}
    for code, move in moves.items():
        other = await new_office(loaded_url, client_of, line("lead", "95", low=70, high=130, what="Lead"))
        before = plans_of(await quoted(other, POCKET, await in_force(other)))
        await republish(loaded_url, other.id, move)
        after = plans_of(await quoted(other, POCKET, await in_force(other, f"{other.code}@2")))
        expected = {
            name[2:]: Decimal(after[name][1]) - Decimal(price) for name, (_, price) in before.items()
            if name in after and after[name][1] != price
        }
        told = {(p["method"], p["variant"]): Decimal(p["change"]) for p in effects[code]["plans"]} if code in effects else {}
        assert told == expected, code
    assert "lead" in effects
    # A line that no plan reads has no effect, and is not looked at.
    assert "sealant_none" not in effects


async def test_single_effects_and_what_they_do_together_add_up(shop: Office, loaded_url: str) -> None:
    then = await in_force(shop)
    markup = line("markup.material", "0.45", low="0.1", high="0.6", section="terms", kind="", unit="fraction")
    await republish(
        loaded_url, shop.id, wage("150"), line("carpenter", "99", low=60, high=140), markup,
        line("epoxy_paste", "200", unit="gal", kind="material", low=90, high=250),
    )
    await in_force(shop, f"{shop.code}@2")
    body = (await changes(shop, then, POCKET))["quote"]
    sizes = [abs(Decimal(e["change"])) for e in body["effects"]]
    assert sizes == sorted(sizes, reverse=True)
    assert sum(Decimal(e["change"]) for e in body["effects"]) + Decimal(body["together"]) == Decimal(body["change"])
    assert body["not_alone"] == []


async def test_wood_that_came_into_the_yard_is_an_effect_of_its_own(shop: Office, loaded_url: str) -> None:
    then = await in_force(shop)
    await recount(loaded_url, shop.id, piece("y1", section_in=12, length_ft=20, moisture_pct=13, species="lodgepole_pine"))
    await in_force(shop, f"{shop.code}@1+stock@1")
    body = await changes(shop, then, POCKET)
    assert [p["code"] for p in body["stock"]] == ["y1"]
    assert [c["number"] for c in body["counts"]] == [1]
    assert [(e["section"], e["code"]) for e in body["quote"]["effects"]] == [("stock", "count")]
    assert body["quote"]["effects"][0]["change"] == body["quote"]["change"]
    assert "1 piece of the yard" in body["summary"]


async def test_another_first_plan_is_said_in_words(shop: Office, loaded_url: str) -> None:
    then = await in_force(shop)
    foot = (await quoted(shop, POSTS, then))["defects"][0]["groups"][0]["options"][0]
    norms = {x["norm"] for x in foot["lines"] if x["norm"] and x["norm"].startswith(f"{foot['method']}.")}
    lines = (await shop.client.get(shop.path("lines"), params={"section": "norms", "limit": 500})).json()["lines"]
    dear = [
        line(x["code"], "800", low=500, high=900, section="norms", kind="", unit=x["value"]["unit"])
        for x in lines if x["code"] in norms
    ]
    await republish(loaded_url, shop.id, *dear)
    await in_force(shop, f"{shop.code}@2")
    body = await changes(shop, then, POSTS)
    first, second, window = body["quote"]["defects"]
    assert (first["pieces"], second["pieces"], window["defect"]) == ([1], [2], "2")
    assert first["first_changes"] and first["order_changes"]
    assert not window["order_changes"]
    assert f'in place of "{foot["title"]}"' in body["summary"]
    assert any(e["first_changes"] for e in body["quote"]["effects"])


async def test_where_too_many_lines_moved_it_says_which_were_not_looked_at_alone(shop: Office, loaded_url: str) -> None:
    then = await in_force(shop)
    book = (await shop.client.get(f"/v1/regions/{shop.code}")).json()["lines"]
    dearer = [
        line(x["code"], section=x["section"], unit=x["unit"], kind=x["kind"], what=x["what"])
        | {side: Decimal(x[side]) * Decimal("1.1") for side in ("low", "likely", "high")}
        for x in book if x["section"] in ("resources", "norms") and x["code"] != "lead"
    ]
    await republish(loaded_url, shop.id, *dearer)
    await in_force(shop, f"{shop.code}@2")
    body = await changes(shop, then, POSTS)
    quote = body["quote"]
    assert len(quote["effects"]) == MOST_RUNS
    assert quote["not_alone"]
    assert not {(e["section"], e["code"]) for e in quote["effects"]} & {(n["section"], n["code"]) for n in quote["not_alone"]}
    assert sum(Decimal(e["change"]) for e in quote["effects"]) + Decimal(quote["together"]) == Decimal(quote["change"])
    assert f"{len(quote['not_alone'])} moved lines" in body["summary"]


def test_a_larger_job_has_fewer_lines_looked_at_alone_and_always_one() -> None:
    runs = [runs_for(defects) for defects in range(1, limits.DEFECTS + 1)]
    assert runs == sorted(runs, reverse=True)
    assert (runs[0], runs[99], runs[-1]) == (MOST_RUNS, 2, 1)


async def test_the_question_may_be_for_another_day(shop: Office, loaded_url: str) -> None:
    then = await in_force(shop)
    later = today().replace(year=today().year + 1, day=1)
    await republish(loaded_url, shop.id, wage("150"), effective=later)
    await in_force(shop, f"{shop.code}@2", on=later.isoformat())
    assert (await changes(shop, then))["lines"] == []
    assert [m["code"] for m in (await changes(shop, then, on=later.isoformat()))["lines"]] == ["lead"]


async def test_a_request_of_another_region_or_other_rates_is_named(office: httpx.AsyncClient) -> None:
    rates = (await office.get("/v1/regions/kestrel-range/lines")).json()["rates"]
    sent = {"region": "sollavik", "rates": "base@1/sollavik@1", **POCKET}
    answer = await office.post("/v1/regions/kestrel-range/changes", json={"rates": rates, "request": sent})
    assert answer.status_code == 400
    assert [e["pointer"] for e in answer.json()["errors"]] == ["#/request/region", "#/request/rates"]


async def test_every_fault_of_the_question_is_named_with_its_place(office: httpx.AsyncClient) -> None:
    request = {"region": "kestrel-range", "defects": [{"element": "sill", "depth": 3}]}
    body = {"rates": "base 1", "on": "2026-13-01", "request": request, "more": 1}
    answer = await office.post("/v1/regions/kestrel-range/changes", json=body)
    assert answer.status_code == 400
    assert {e["pointer"] for e in answer.json()["errors"]} == {
        "#/rates", "#/on", "#/more", "#/request/defects/0/damage", "#/request/defects/0/depth"}


async def test_where_no_defect_makes_sense_its_slips_are_named(office: httpx.AsyncClient) -> None:
    rates = (await office.get("/v1/regions/kestrel-range/lines")).json()["rates"]
    sent = {"region": "kestrel-range", "defects": [{"element": "wall_low", "damage": "pocket_deep", "depth": "-3 in"}]}
    answer = await office.post("/v1/regions/kestrel-range/changes", json={"rates": rates, "request": sent})
    assert answer.status_code == 422, answer.text
    assert answer.json()["type"] == "/problems/nothing-priced"
    assert [e["pointer"] for e in answer.json()["errors"]] == ["#/request/defects/0/depth"]


async def test_a_book_that_cannot_price_the_quote_says_what_it_lacks(loaded_url: str, client_of: ClientOf) -> None:
    alone = await new_office(loaded_url, client_of, line("lead", "19"), parent=None)
    then = await in_force(alone)
    await republish(loaded_url, alone.id, line("lead", "18"))
    await in_force(alone, f"{alone.code}@2")
    assert [m["code"] for m in (await changes(alone, then))["lines"]] == ["lead"]
    body = {"rates": then, "request": {"region": alone.code, **POCKET}}
    answer = await alone.client.post(alone.path("changes"), json=body)
    assert (answer.status_code, answer.json()["type"]) == (503, "/problems/incomplete-book")
    assert "has no line" in answer.json()["detail"]


async def test_rates_of_another_region_are_not_there(office: httpx.AsyncClient) -> None:
    for rates in ("base@1/sollavik@1", "base@1/nowhere@1", "base@77/kestrel-range@1", "base@1"):
        answer = await office.post("/v1/regions/kestrel-range/changes", json={"rates": rates})
        assert (answer.status_code, answer.json()["type"]) == (404, "/problems/unknown-revision"), rates
    answer = await office.post("/v1/regions/kestrel-range/changes", content=b"{}", headers={"Content-Type": "text/plain"})
    assert answer.status_code == 415
