"""Quotas: counted for all processes together, told in every answer, and no reason to fail."""

from __future__ import annotations

import asyncio
import re
from collections import Counter as Tally
from collections.abc import AsyncIterator, Sequence
from contextlib import AsyncExitStack

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.application.access import SCOPES, Caller
from service.application.quota import CounterAwayError, Quotas, Use, neighbourhood
from service.bootstrap import create_app
from service.storage.database import make_engine
from service.storage.keys import make_key
from service.storage.quotas import PostgresCounter
from service.web.front import Front
from tests.conftest import bare_engine
from tests.rates.conftest import SECRET, ClientOf, living, settings_for
from tests.rates.processes import Service

FORM = Caller("form", "f1", "form", frozenset({"quote"}), frozenset({"kestrel-range"}), frozenset({"https://logs.example"}))
SERVER = Caller("server", "s1", "server", frozenset({"quote"}), None)


class Away:
    """A counter whose database does not answer."""

    asked = 0

    async def count(self, subjects: Sequence[str]) -> list[Use]:  # noqa: ARG002  # away for all of them
        self.asked += 1
        raise CounterAwayError


@pytest.fixture
async def app(loaded_url: str) -> AsyncIterator[Front]:
    """A service that is strict with addresses."""
    made = create_app(settings_for(loaded_url, quota_per_address=5, quota_per_key=8))
    async with living(made):
        yield made


async def test_every_answer_says_what_is_left(client_of: ClientOf) -> None:
    client = await client_of(per_minute=3)
    answers = [await client.get("/v1/regions") for _ in range(4)]
    assert [a.status_code for a in answers][-1] == 429
    for left, answer in enumerate(reversed(answers[:-1])):
        assert answer.headers["ratelimit-policy"] == '"key";q=3;w=60'
        remaining, window = re.fullmatch(r'"key";r=(\d+);t=(\d+)', answer.headers["ratelimit"]).groups()  # type: ignore[union-attr]  # else it fails, as it should
        assert int(remaining) == left
        assert 1 <= int(window) <= 60


async def test_only_the_head_office_gives_a_key_more_than_the_usual_quota(client_of: ClientOf) -> None:
    """A region's own administrator may narrow a key, not widen it: more for one key is less for all others."""
    wish = {"name": "CRM", "scopes": ["quote"], "regions": ["kestrel-range"]}
    head, admin = await client_of(per_minute=100), await client_of(SCOPES, ["kestrel-range"], per_minute=100)
    made = {n: await admin.post("/v1/keys", json={**wish, "per_minute": n}) for n in (0, 7, 8, 9)}
    assert {n: answer.status_code for n, answer in made.items()} == {0: 201, 7: 201, 8: 201, 9: 403}
    assert "8 requests a minute" in made[9].json()["detail"]
    given = await head.post("/v1/keys", json={**wish, "per_minute": 9})
    assert given.status_code == 201
    kept = await admin.post(f"/v1/keys/{given.json()['id']}/rotate")
    assert (kept.status_code, kept.json()["per_minute"]) == (201, 9)


async def test_a_request_too_many_is_told_when_to_come_again(client_of: ClientOf) -> None:
    client = await client_of(per_minute=1)
    await client.get("/v1/regions")
    refused = await client.get("/v1/regions")
    assert refused.status_code == 429
    assert refused.headers["content-type"] == "application/problem+json"
    window = int(refused.headers["ratelimit"].rpartition("t=")[2])
    # The draft: Retry-After must not point earlier than the window of RateLimit.
    assert int(refused.headers["retry-after"]) >= window
    assert refused.json()["errors"][0]["code"] == "key"


async def test_a_stranger_is_counted_by_address_and_so_is_guessing(stranger: httpx.AsyncClient) -> None:
    asked = [await stranger.get("/v1/regions") for _ in range(3)]
    guessed = [await stranger.get("/v1/regions", headers={"Authorization": "Bearer guess"}) for _ in range(3)]
    assert [a.status_code for a in asked + guessed] == [401] * 5 + [429]


async def test_probes_and_pages_are_not_counted(stranger: httpx.AsyncClient) -> None:
    for _ in range(10):
        assert (await stranger.get("/livez")).status_code == 200


async def test_many_processes_share_one_count(loaded_url: str) -> None:
    """Four processes, each with its own pool: 200 requests at once are 200, none lost and none twice."""
    counters = [PostgresCounter(make_engine(loaded_url), 30.0) for _ in range(4)]
    uses = await asyncio.gather(*(counters[n % 4].count(["server:shared", "address:192.0.2.7"]) for n in range(200)))
    by_minute: Tally[int] = Tally()
    seen = sorted(use[0].used for use in uses)
    for place, number in enumerate(seen):
        by_minute[number] += 1
        assert number <= place + 1
    # One window, or two where the minute changed meanwhile: each counted from 1 without a gap.
    assert max(by_minute.values()) <= 2
    assert sum(by_minute.values()) == 200
    for counter in counters:
        await counter.engine.dispose()


async def test_while_the_counter_is_away_each_process_counts_by_itself() -> None:
    quotas = Quotas(Away(), lambda: 30.0, per_key=2, per_form_key=1, per_address=5)
    spent = [await quotas.spend(FORM, "192.0.2.1") for _ in range(2)]
    assert [[(a.policy, a.exceeded) for a in one] for one in spent] == [
        [("key", False), ("address", False)], [("key", True), ("address", False)],
    ]


async def test_nobody_waits_for_a_counter_that_has_just_failed() -> None:
    away, now = Away(), [100.0]
    quotas = Quotas(away, lambda: now[0], per_key=9, per_form_key=9, per_address=9)
    for _ in range(5):
        await quotas.spend(SERVER, "192.0.2.1")
    assert away.asked == 1
    now[0] += 6.0
    await quotas.spend(SERVER, "192.0.2.1")
    assert away.asked == 2


async def test_a_server_key_is_not_held_by_its_address() -> None:
    """A whole office stands behind one address."""
    quotas = Quotas(Away(), lambda: 0.0, per_key=100, per_form_key=1, per_address=1)
    spent = [await quotas.spend(SERVER, "192.0.2.1") for _ in range(50)]
    assert not any(a.exceeded for one in spent for a in one)


async def test_no_limit_means_no_fields() -> None:
    quotas = Quotas(Away(), lambda: 0.0, per_key=0, per_form_key=0, per_address=0)
    assert await quotas.spend(SERVER, "192.0.2.1") == ()


@given(st.ip_addresses(v=6), st.integers(0, 2**64 - 1))
def test_an_ipv6_customer_is_one_address(address: object, suffix: int) -> None:
    network = int(address) >> 64 << 64  # type: ignore[call-overload]  # an address is a number
    from ipaddress import IPv6Address

    one, other = IPv6Address(network), IPv6Address(network | suffix)
    if not one.ipv4_mapped and not other.ipv4_mapped:
        assert neighbourhood(str(one)) == neighbourhood(str(other))


@pytest.mark.parametrize("said", ["", "nonsense", "1.2.3", "[::1]:80"])
def test_what_is_no_address_shares_one_count(said: str) -> None:
    assert neighbourhood(said) == "unknown"


async def test_two_services_of_two_workers_hold_one_quota(loaded_url: str) -> None:
    """Sixty requests over connections of their own, to four processes: twenty pass in a minute, wherever each arrives."""
    engine = bare_engine(loaded_url)
    async with engine.begin() as connection:
        key = await make_key(
            connection, SECRET.encode(), sort="server", name="quota", scopes=["quote"], regions=None, per_minute=20,
            made_by="tests",
        )
    await engine.dispose()
    async with AsyncExitStack() as stack:
        services = [stack.enter_context(Service(loaded_url, {"workers": "2"})) for _ in range(2)]
        for service in services:
            service.wait_until_ready()

        async def ask(service: Service) -> tuple[int, str]:
            async with httpx.AsyncClient(headers={"Authorization": f"Bearer {key.text}"}) as client:
                answer = await client.get(f"{service.address}/v1/regions", timeout=60.0)
                return answer.status_code, answer.headers["ratelimit"]

        answers = await asyncio.gather(*(ask(services[n % 2]) for n in range(60)))
    passed = [left for status, left in answers if status == 200]
    # The minute may change once meanwhile; then a second window passes its own twenty at most.
    assert len(passed) in range(20, 41)
    assert max(Tally(left.partition(";t=")[0] for left in passed).values()) <= (1 if len(passed) == 20 else 2)
