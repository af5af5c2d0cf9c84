"""Keys: shown once, stored as digests, rotated two at a time, taken back at once, and never wider than their maker's."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from contextlib import AsyncExitStack
from datetime import UTC, datetime, timedelta
from typing import Any, cast

import httpx
import pytest
from sqlalchemy import select, text
from sqlalchemy.ext.asyncio import AsyncEngine

from service.application.access import SCOPES
from service.application.keyring import FORM, digest_of
from service.application.keys import MOST_VALID
from service.bootstrap import create_app
from service.storage.keys import make_key
from service.storage.tables import api_key, audit_entry
from service.web.front import Front
from tests.conftest import bare_engine
from tests.rates.conftest import SECRET, ClientOf, living, settings_for

OFFICE: dict[str, Any] = {"name": "CRM", "scopes": ["quote", "rates:read"], "regions": ["kestrel-range"]}
WEBSITE: dict[str, Any] = {
    "name": "website", "sort": "form", "scopes": ["quote"], "regions": ["kestrel-range"], "origins": ["https://www.example.com"],
}
BOOK = "/v1/regions/kestrel-range"


def client_with(app: Front, key: str) -> httpx.AsyncClient:
    return httpx.AsyncClient(
        transport=httpx.ASGITransport(app=app, raise_app_exceptions=False), base_url="http://rates.test",
        headers={"Authorization": f"Bearer {key}"},
    )


async def made(admin: httpx.AsyncClient, **more: Any) -> dict[str, Any]:
    answer = await admin.post("/v1/keys", json={**OFFICE, **more})
    assert answer.status_code == 201, answer.text
    body: dict[str, Any] = answer.json()
    return body


async def status(app: Front, key: str, path: str = BOOK) -> int:
    async with client_with(app, key) as client:
        return (await client.get(path)).status_code


def pointers(answer: httpx.Response) -> list[str]:
    return [fault["pointer"] for fault in answer.json()["errors"]]


def in_(seconds: float) -> str:
    return (datetime.now(UTC) + timedelta(seconds=seconds)).strftime("%Y-%m-%dT%H:%M:%SZ")


async def past(instant: str, *, wait: bool = False) -> bool:
    """Whether a time is over, on a machine that may be slow; waits until it is if asked to."""
    left = (datetime.fromisoformat(instant) - datetime.now(UTC)).total_seconds()
    if wait:
        await asyncio.sleep(max(0.0, left + 0.1))
        return True
    return left <= 0.0


# ---- made ----------------------------------------------------------------------------------------------------------------


async def test_a_new_key_is_shown_once_and_works_at_once(head_office: httpx.AsyncClient, app: Front) -> None:
    answer = await head_office.post("/v1/keys", json=OFFICE)
    key = answer.json()
    assert answer.status_code == 201
    assert answer.headers["location"] == f"/v1/keys/{key['id']}"
    assert answer.headers["cache-control"] == "no-store"
    assert FORM.fullmatch(key["key"])
    assert await status(app, key["key"]) == 200
    read = (await head_office.get(answer.headers["location"])).json()
    kept = {name: value for name, value in key.items() if name not in ("key", "replaces")}
    assert read == kept | {"last_used_at": read["last_used_at"]}


async def test_the_database_holds_digests_only(head_office: httpx.AsyncClient, loaded_engine: AsyncEngine, app: Front) -> None:
    """A stolen copy of every table gives no text that could be sent: only digests under a secret that is not in it."""
    answer = await head_office.post("/v1/keys", json=OFFICE, headers={"Idempotency-Key": "stolen"})
    key = answer.json()["key"]
    secret = FORM.fullmatch(key)
    assert secret is not None
    async with loaded_engine.connect() as connection:
        digest = (await connection.execute(select(api_key.c.digest).where(api_key.c.id == answer.json()["id"]))).scalar_one()
        tables = (await connection.execute(text("SELECT tablename FROM pg_tables WHERE schemaname = 'public'"))).scalars()
        for table in tables.all():
            rows = (await connection.execute(text(f'SELECT t::text FROM "{table}" t'))).scalars().all()
            assert not [row for row in rows if secret[3] in row], table
    assert digest == digest_of(key, SECRET.encode())
    assert digest != digest_of(key, b"")
    assert await status(app, digest.hex()) == 401


async def test_a_key_is_in_no_log(
    head_office: httpx.AsyncClient, app: Front, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.DEBUG):
        key = (await made(head_office))["key"]
        assert await status(app, key) == 200
        assert await status(app, key, f"{BOOK}?key={key}") == 400
    # What the client of this test writes down itself is not the service's doing.
    said = [str(vars(record)) for record in caplog.records if not record.name.startswith(("httpx", "httpcore"))]
    assert not [line for line in said if key in line or key[24:66] in line]


@pytest.mark.parametrize("name", ["key", "api_key", "access_token", "X-API-Key"])
async def test_a_key_in_the_address_is_not_taken(
    head_office: httpx.AsyncClient, stranger: httpx.AsyncClient, name: str
) -> None:
    """Addresses end up in logs and histories."""
    key = (await made(head_office))["key"]
    assert (await stranger.get(BOOK, params={name: key})).status_code == 401


async def test_a_key_may_come_in_either_header_but_not_in_both(
    head_office: httpx.AsyncClient, stranger: httpx.AsyncClient
) -> None:
    key = (await made(head_office))["key"]
    assert (await stranger.get(BOOK, headers={"X-API-Key": key})).status_code == 200
    both = {"X-API-Key": key, "Authorization": f"Bearer {key}"}
    assert (await stranger.get(BOOK, headers=both)).status_code == 401


@pytest.mark.parametrize(
    ("wish", "wrong"),
    [
        ({**OFFICE, "name": "  "}, ["#/name"]),
        ({**OFFICE, "regions": ["kestrel-range", "nowhere"]}, ["#/regions/1"]),
        ({**OFFICE, "regions": ["*", "kestrel-range"]}, ["#/regions"]),
        ({**OFFICE, "origins": ["https://www.example.com"]}, ["#/origins"]),
        ({**OFFICE, "expires_at": "2020-01-01T00:00:00Z"}, ["#/expires_at"]),
        ({**OFFICE, "expires_at": "2031-02-30T00:00:00Z"}, ["#/expires_at"]),
        ({**WEBSITE, "scopes": ["quote", "rates:read"]}, ["#/scopes"]),
        ({**WEBSITE, "regions": ["kestrel-range", "sollavik"]}, ["#/regions"]),
        ({**WEBSITE, "regions": ["*"], "origins": []}, ["#/regions", "#/origins"]),
        ({**WEBSITE, "regions": ["*", "sollavik"], "origins": [], "expires_at": "2031-02-30T00:00:00Z"},
         ["#/regions", "#/expires_at", "#/origins"]),
        ({**WEBSITE, "origins": ["https://www.example.com", "http://-", "https://a..:"]}, ["#/origins/1", "#/origins/2"]),
    ],
)
async def test_a_key_that_makes_no_sense_is_refused_with_every_fault(
    head_office: httpx.AsyncClient, wish: dict[str, Any], wrong: list[str]
) -> None:
    answer = await head_office.post("/v1/keys", json=wish)
    assert answer.status_code == 422, answer.text
    assert answer.json()["type"] == "/problems/key-refused"
    assert pointers(answer) == wrong


@pytest.mark.parametrize(
    ("wish", "wrong"),
    [
        ({}, ["#/name", "#/scopes", "#/regions"]),
        ({**OFFICE, "scopes": []}, ["#/scopes"]),
        ({**OFFICE, "scopes": ["everything"]}, ["#/scopes/0"]),
        ({**OFFICE, "regions": []}, ["#/regions"]),
        ({**OFFICE, "regions": ["Kestrel Range"], "per_minute": -1}, ["#/regions/0", "#/per_minute"]),
        ({**OFFICE, "expires_at": "tomorrow", "sort": "person", "colour": 1}, ["#/sort", "#/expires_at", "#/colour"]),
        ({**OFFICE, "name": "a\u0000b"}, ["#/name"]),
        ({**OFFICE, "regions": None}, ["#/regions"]),
    ],
)
async def test_a_wish_that_is_not_of_the_form_is_refused_with_every_fault(
    head_office: httpx.AsyncClient, wish: dict[str, Any], wrong: list[str]
) -> None:
    answer = await head_office.post("/v1/keys", json=wish)
    assert answer.status_code == 400, answer.text
    assert pointers(answer) == wrong


# ---- who may make which --------------------------------------------------------------------------------------------------


async def test_an_administrator_gives_no_more_than_they_hold(client_of: ClientOf) -> None:
    admin = await client_of(["quote", "rates:read", "admin"], ["kestrel-range"])
    assert (await admin.post("/v1/keys", json=OFFICE)).status_code == 201
    for scopes in (["rates:publish"], ["quote", "rates:write"]):
        answer = await admin.post("/v1/keys", json={**OFFICE, "scopes": scopes})
        assert (answer.status_code, answer.json()["type"]) == (403, "/problems/not-allowed")
        assert scopes[-1] in answer.json()["detail"]
    everywhere = await admin.post("/v1/keys", json={**OFFICE, "regions": ["*"]})
    assert everywhere.status_code == 403


async def test_a_foreign_region_cannot_be_told_from_a_missing_one(client_of: ClientOf) -> None:
    admin = await client_of(SCOPES, ["kestrel-range"])
    answers = [await admin.post("/v1/keys", json={**OFFICE, "regions": [code]}) for code in ("sollavik", "nowhere")]
    assert [answer.status_code for answer in answers] == [404, 404]
    assert answers[0].json()["detail"] == answers[1].json()["detail"]


async def test_keys_of_other_regions_are_not_there(head_office: httpx.AsyncClient, client_of: ClientOf) -> None:
    """Neither those of another region, nor those that reach another region too, nor those for every region."""
    admin = await client_of(SCOPES, ["kestrel-range"])
    own = await made(head_office)
    hidden = [
        await made(head_office, regions=["sollavik"]), await made(head_office, regions=["kestrel-range", "sollavik"]),
        await made(head_office, regions=["*"]),
    ]
    listed = [key["id"] for key in (await admin.get("/v1/keys", params={"limit": 500})).json()["keys"]]
    assert own["id"] in listed
    for key in hidden:
        assert key["id"] not in listed
        address = f"/v1/keys/{key['id']}"
        for answer in (
            await admin.get(address), await admin.delete(address), await admin.post(f"{address}/rotate"),
            await admin.get("/v1/keys/aaaaaaaaaaaa"), await admin.get("/v1/keys/no key"),
        ):
            assert (answer.status_code, answer.json()["type"]) == (404, "/problems/unknown-key")
        assert (await admin.get("/v1/keys", params={"cursor": key["id"]})).status_code == 404


async def test_who_holds_less_cannot_rotate_and_so_see_a_wider_key(
    head_office: httpx.AsyncClient, client_of: ClientOf
) -> None:
    admin = await client_of(["quote", "rates:read", "admin"], ["kestrel-range"])
    wider = await made(head_office, scopes=["rates:publish"])
    answer = await admin.post(f"/v1/keys/{wider['id']}/rotate")
    assert (answer.status_code, answer.json()["type"]) == (403, "/problems/not-allowed")


async def test_without_the_scope_nothing_of_keys_is_seen(office: httpx.AsyncClient, stranger: httpx.AsyncClient) -> None:
    for client, expected in ((office, 403), (stranger, 401)):
        assert (await client.get("/v1/keys")).status_code == expected
        assert (await client.post("/v1/keys", json=OFFICE)).status_code == expected
        assert (await client.delete("/v1/keys/aaaaaaaaaaaa")).status_code == expected


# ---- listed --------------------------------------------------------------------------------------------------------------


async def test_every_key_is_listed_once_over_all_pages_and_never_with_its_text(head_office: httpx.AsyncClient) -> None:
    texts = [(await made(head_office, name=f"key {k}"))["key"] for k in range(5)]
    seen: list[str] = []
    address = "/v1/keys?limit=2"
    while address:
        answer = await head_office.get(address)
        assert answer.status_code == 200, answer.text
        assert not [key for key in texts if key in answer.text or key[24:66] in answer.text]
        assert "digest" not in answer.text
        seen += [key["id"] for key in answer.json()["keys"]]
        link = answer.headers.get("link", "")
        assert bool(link) == bool(answer.json()["next_cursor"])
        address = link.partition("<")[2].partition(">")[0]
    whole = [key["id"] for key in (await head_office.get("/v1/keys?limit=500")).json()["keys"]]
    assert seen == whole
    assert len(seen) == len(set(seen)) > 5


@pytest.mark.parametrize("query", ["limit=0", "limit=501", "limit=x", "cursor=", "cursor=x", "page=1"])
async def test_a_page_that_is_none_is_refused(head_office: httpx.AsyncClient, query: str) -> None:
    answer = await head_office.get(f"/v1/keys?{query}")
    assert (answer.status_code, answer.json()["type"]) == (400, "/problems/invalid-parameter")


async def test_the_last_use_is_written_down_in_the_end(loaded_url: str, loaded_engine: AsyncEngine) -> None:
    """Not with each request: when the application ends, at the latest."""
    app = create_app(settings_for(loaded_url))
    before = datetime.now(UTC)
    async with living(app):
        admin = await _any_admin(loaded_engine)
        async with client_with(app, admin) as client:
            key = await made(client)
        assert await status(app, key["key"]) == 200
        async with loaded_engine.connect() as connection:
            asked = select(api_key.c.last_used_at).where(api_key.c.id == key["id"])
            assert (await connection.execute(asked)).scalar_one() is None
    async with loaded_engine.connect() as connection:
        used = (await connection.execute(asked)).scalar_one()
    assert before <= used <= datetime.now(UTC)


async def _any_admin(engine: AsyncEngine) -> str:
    from service.storage.keys import make_key

    async with engine.begin() as connection:
        key = await make_key(
            connection, SECRET.encode(), sort="server", name="admin", scopes=SCOPES, regions=None, made_by="tests"
        )
    return key.text


# ---- rotated -------------------------------------------------------------------------------------------------------------


async def test_both_keys_of_a_rotation_are_valid_until_the_old_one_ends(head_office: httpx.AsyncClient, app: Front) -> None:
    old = await made(head_office, per_minute=100)
    answer = await head_office.post(f"/v1/keys/{old['id']}/rotate", json={"old_ends_at": (ends := in_(4))})
    new = answer.json()
    assert answer.status_code == 201, answer.text
    assert new["id"] != old["id"]
    assert new["replaces"]["id"] == old["id"]
    assert datetime.fromisoformat(new["replaces"]["ends_at"]) == datetime.fromisoformat(ends)
    assert old["replaces"] is None
    same = ("owner", "sort", "name", "scopes", "regions", "origins", "per_minute", "expires_at")
    assert {name: new[name] for name in same} == {name: old[name] for name in same}
    both = [await status(app, old["key"]), await status(app, new["key"])]
    assert both == [200, 200] or await past(ends)
    assert await past(ends, wait=True)
    assert [await status(app, old["key"]), await status(app, new["key"])] == [401, 200]


async def test_an_old_key_goes_on_for_a_week_and_never_longer_than_it_was_to(head_office: httpx.AsyncClient) -> None:
    old = await made(head_office)
    assert (await head_office.post(f"/v1/keys/{old['id']}/rotate")).status_code == 201
    ends = datetime.fromisoformat((await head_office.get(f"/v1/keys/{old['id']}")).json()["expires_at"])
    assert timedelta(days=6, hours=23) < ends - datetime.now(UTC) <= timedelta(days=7)
    short = await made(head_office, expires_at=in_(3600))
    new = (await head_office.post(f"/v1/keys/{short['id']}/rotate")).json()
    assert new["replaces"] == {"id": short["id"], "ends_at": short["expires_at"]}
    assert (await head_office.get(f"/v1/keys/{short['id']}")).json()["expires_at"] == short["expires_at"]
    assert new["expires_at"] == short["expires_at"]


async def test_a_third_valid_key_is_refused_until_one_of_the_two_is_taken_back(head_office: httpx.AsyncClient) -> None:
    old = await made(head_office)
    new = (await head_office.post(f"/v1/keys/{old['id']}/rotate")).json()
    for key in (old, new):
        answer = await head_office.post(f"/v1/keys/{key['id']}/rotate")
        assert (answer.status_code, answer.json()["type"]) == (409, "/problems/key-not-rotated")
        assert old["id"] in answer.json()["detail"]
        assert new["id"] in answer.json()["detail"]
    assert (await head_office.delete(f"/v1/keys/{old['id']}")).status_code == 204
    assert (await head_office.post(f"/v1/keys/{new['id']}/rotate")).status_code == 201
    gone = await head_office.post(f"/v1/keys/{old['id']}/rotate")
    assert (gone.status_code, gone.json()["type"]) == (409, "/problems/key-not-rotated")


async def test_of_ten_rotations_at_once_one_happens(head_office: httpx.AsyncClient) -> None:
    old = await made(head_office)
    answers = await asyncio.gather(*(head_office.post(f"/v1/keys/{old['id']}/rotate") for _ in range(10)))
    assert sorted(answer.status_code for answer in answers) == [201] + 9 * [409]


@pytest.mark.parametrize(
    ("body", "expected"),
    [(b"{}", 201), (b"", 201), (b"[]", 400), (b'{"old_ends_at": "soon"}', 400), (b'{"expires_at": "2020-01-01T00:00:00Z"}', 422),
     (b'{"old_ends_at": "2031-02-30T00:00:00Z"}', 422)],
)
async def test_a_rotation_says_what_is_wrong_with_it(head_office: httpx.AsyncClient, body: bytes, expected: int) -> None:
    old = await made(head_office)
    headers = {"Content-Type": "application/json"} if body else {}
    answer = await head_office.post(f"/v1/keys/{old['id']}/rotate", content=body, headers=headers)
    assert answer.status_code == expected, answer.text


# ---- once ----------------------------------------------------------------------------------------------------------------


async def test_a_create_that_is_sent_again_makes_no_second_key_and_shows_none(head_office: httpx.AsyncClient) -> None:
    once = {"Idempotency-Key": "make-it-once"}
    before = len((await head_office.get("/v1/keys?limit=500")).json()["keys"])
    first = await head_office.post("/v1/keys", json=OFFICE, headers=once)
    again = await head_office.post("/v1/keys", json=OFFICE, headers=once)
    other = await head_office.post("/v1/keys", json={**OFFICE, "name": "another"}, headers=once)
    after = len((await head_office.get("/v1/keys?limit=500")).json()["keys"])
    assert [first.status_code, again.status_code, other.status_code] == [201, 409, 422]
    assert again.json()["type"] == "/problems/key-shown-once"
    assert again.headers["location"] == first.headers["location"]
    assert first.json()["key"][24:66] not in again.text
    assert after == before + 1


async def test_a_rotation_that_is_sent_again_makes_no_third_key(head_office: httpx.AsyncClient) -> None:
    old = await made(head_office)
    once = {"Idempotency-Key": "rotate-once"}
    first = await head_office.post(f"/v1/keys/{old['id']}/rotate", headers=once)
    again = await head_office.post(f"/v1/keys/{old['id']}/rotate", headers=once)
    assert [first.status_code, again.status_code] == [201, 409]
    assert again.json()["type"] == "/problems/key-shown-once"
    assert again.headers["location"] == first.headers["location"]


# ---- taken back ----------------------------------------------------------------------------------------------------------


async def test_a_revoked_key_stops_at_once_and_stays_revoked(head_office: httpx.AsyncClient, app: Front) -> None:
    key = await made(head_office)
    assert await status(app, key["key"]) == 200
    assert [(await head_office.delete(f"/v1/keys/{key['id']}")).status_code for _ in range(2)] == [204, 204]
    await _refused(app, key["key"])
    shown = (await head_office.get(f"/v1/keys/{key['id']}")).json()
    assert shown["revoked_at"] is not None
    assert shown["valid"] is False


async def test_an_expired_key_is_refused_without_asking_anybody(head_office: httpx.AsyncClient, app: Front) -> None:
    key = await made(head_office, expires_at=(ends := in_(4)))
    assert await status(app, key["key"]) == 200 or await past(ends)
    assert await past(ends, wait=True)
    assert await status(app, key["key"]) == 401


@pytest.mark.parametrize("check_keys_s", [1.0, 3600.0])
async def test_another_process_stops_a_revoked_key_too(
    loaded_url: str, head_office: httpx.AsyncClient, check_keys_s: float
) -> None:
    """By asking now and then; and where it asks once an hour, by the notice alone."""
    other = create_app(settings_for(loaded_url, check_keys_s=check_keys_s))
    async with living(other):
        key = await made(head_office)
        assert await status(other, key["key"]) == 200
        assert (await head_office.delete(f"/v1/keys/{key['id']}")).status_code == 204
        await _refused(other, key["key"])
        late = await made(head_office)
        assert await status(other, late["key"]) == 200


@pytest.mark.parametrize("ended", ["revoked", "rotated"])
async def test_the_process_that_ends_a_key_goes_by_it_at_once(loaded_url: str, client_of: ClientOf, ended: str) -> None:
    """It hears no notices, and asks for keys once an hour."""
    deaf = create_app(settings_for(loaded_url, check_keys_s=3600.0))
    admin = client_with(deaf, (await client_of()).headers["Authorization"].removeprefix("Bearer "))
    async with admin, AsyncExitStack() as life:
        for close in reversed(deaf.litestar.on_shutdown):
            life.push_async_callback(cast("Callable[[], Awaitable[None]]", close))
        key = await made(admin)
        assert await status(deaf, key["key"]) == 200
        if ended == "revoked":
            assert (await admin.delete(f"/v1/keys/{key['id']}")).status_code == 204
        else:
            new = await admin.post(f"/v1/keys/{key['id']}/rotate", json={"old_ends_at": in_(-60)})
            assert await status(deaf, new.json()["key"]) == 200
        assert await status(deaf, key["key"]) == 401


async def _refused(app: Front, key: str) -> None:
    """Wait until it is: a moment, but for a machine that does much else."""
    until = asyncio.get_running_loop().time() + 20.0
    while (answered := await status(app, key)) != 401:
        assert asyncio.get_running_loop().time() < until, answered
        await asyncio.sleep(0.02)


# ---- written down --------------------------------------------------------------------------------------------------------


async def test_what_is_done_to_keys_is_in_the_log_of_each_region_that_they_reach(
    head_office: httpx.AsyncClient, loaded_engine: AsyncEngine
) -> None:
    key = await made(head_office, regions=["kestrel-range", "sollavik"])
    new = (await head_office.post(f"/v1/keys/{key['id']}/rotate")).json()
    await head_office.delete(f"/v1/keys/{key['id']}")
    subjects = [f"keys/{key['id']}", f"keys/{new['id']}"]
    asked = select(audit_entry).where(audit_entry.c.subject.in_(subjects)).order_by(audit_entry.c.id)
    async with loaded_engine.connect() as connection:
        entries = (await connection.execute(asked)).all()
    assert [(e.action, e.subject) for e in entries] == [
        *2 * [("key.make", subjects[0])], *2 * [("key.rotate", subjects[1])], *2 * [("key.revoke", subjects[0])],
    ]
    assert len({e.region_id for e in entries}) == 2
    assert not [e for e in entries if key["key"][24:66] in e.details or new["key"][24:66] in e.details]


async def test_a_service_without_a_secret_makes_no_keys_and_knows_none(loaded_url: str, head_office: httpx.AsyncClient) -> None:
    app = create_app(settings_for(loaded_url, key_secret="", open_scopes=frozenset({"admin"})))
    async with living(app), httpx.AsyncClient(
        transport=httpx.ASGITransport(app=app, raise_app_exceptions=False), base_url="http://rates.test"
    ) as client:
        answer = await client.post("/v1/keys", json=OFFICE)
        assert (answer.status_code, answer.json()["type"]) == (409, "/problems/no-key-secret")
        shown = head_office.headers["authorization"]
        assert (await client.get("/v1/keys", headers={"Authorization": shown})).status_code == 401


async def test_a_region_has_no_keys_without_end(
    head_office: httpx.AsyncClient, client_of: ClientOf, loaded_url: str
) -> None:
    """Every process holds all valid keys: an office that made them without end would slow the others down."""
    engine = bare_engine(loaded_url)
    async with engine.begin() as connection:
        keys = [
            await make_key(
                connection, SECRET.encode(), sort="server", name="one of many", scopes=["quote"], regions=["sollavik"],
                made_by="tests",
            )
            for _ in range(MOST_VALID)
        ]
    await engine.dispose()
    office = await client_of(["quote", "admin"], ["sollavik", "kestrel-range"])
    wish = {"name": "one more", "scopes": ["quote"], "regions": ["kestrel-range", "sollavik"]}
    for client in (office, head_office):
        refused = await client.post("/v1/keys", json=wish)
        assert refused.status_code == 422
        assert [e["pointer"] for e in refused.json()["errors"]] == ["#/regions/1"]
        assert (await client.post("/v1/keys", json={**wish, "regions": ["kestrel-range"]})).status_code == 201
    for key in keys:
        assert (await office.delete(f"/v1/keys/{key.id}")).status_code == 204
    assert (await office.post("/v1/keys", json=wish)).status_code == 201
