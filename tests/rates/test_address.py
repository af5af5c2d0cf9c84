"""Where a request came from: what a caller writes into X-Forwarded-For himself gives him no other address."""

from __future__ import annotations

from collections.abc import AsyncIterator
from ipaddress import ip_network

import httpx
import pytest
from sqlalchemy import func, select

from service.bootstrap import create_app
from service.storage.tables import quota_use
from service.web.front import Front
from tests.conftest import bare_engine
from tests.rates.conftest import living, settings_for

PROXY, INNER = "10.0.0.5", "10.0.0.9"
CALLER, OTHER = "192.0.2.1", "198.51.100.7"


@pytest.fixture
async def app(loaded_url: str) -> AsyncIterator[Front]:
    """A service behind proxies of 10.0.0.0/8, that counts strangers by their address."""
    made = create_app(settings_for(loaded_url, quota_per_address=1_000_000, trusted_proxies=(ip_network("10.0.0.0/8"),)))
    async with living(made):
        yield made


async def ask(app: Front, peer: str, forwarded: tuple[str, ...]) -> None:
    """A request over a connection from there."""
    transport = httpx.ASGITransport(app=app, client=(peer, 40_000))
    async with httpx.AsyncClient(transport=transport, base_url="http://rates.test") as client:
        answer = await client.get("/v1/regions", headers=[("X-Forwarded-For", value) for value in forwarded])
    assert answer.status_code == 401


async def counted(url: str) -> dict[str, int]:
    """How many requests were counted for each address, ever."""
    engine = bare_engine(url)
    async with engine.connect() as connection:
        used = select(quota_use.c.subject, func.sum(quota_use.c.used)).group_by(quota_use.c.subject)
        found = {subject: int(total) for subject, total in await connection.execute(used)}
    await engine.dispose()
    return found


@pytest.mark.parametrize(("peer", "forwarded"), [
    (CALLER, ()),
    (CALLER, (OTHER,)),
    (CALLER, (f"{OTHER}, {PROXY}",)),
    (PROXY, (CALLER,)),
    (f"::ffff:{PROXY}", (CALLER,)),
    (PROXY, (f"{OTHER}, {CALLER}",)),
    (PROXY, (OTHER, CALLER)),
    (PROXY, (f"{OTHER}, {CALLER}, {INNER}",)),
    (PROXY, (f"{PROXY}, {CALLER}",)),
    (PROXY, (f"::ffff:{CALLER}",)),
])
async def test_a_request_counts_for_the_nearest_address_that_is_not_a_proxy_of_ours(
    app: Front, loaded_url: str, peer: str, forwarded: tuple[str, ...]
) -> None:
    before = await counted(loaded_url)
    await ask(app, peer, forwarded)
    after = await counted(loaded_url)
    assert {subject: n - before.get(subject, 0) for subject, n in after.items() if n != before.get(subject)} == {
        f"address:{CALLER}": 1
    }
