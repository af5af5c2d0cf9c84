"""A pinned quote stays as it was, whatever is published afterwards (R37)."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import httpx

from tests.conftest import bare_engine
from tests.rates.conftest import ClientOf
from tests.rates.offices import Office, held, new_office, price, today
from tests.storage.factory import piece, publish_count

FACE: dict[str, Any] = {
    "element": "under_window", "damage": "soft_wood", "section": "12 in", "depth": "5 in", "length": "8 ft",
    "clear_length": "24 ft", "height": "3 ft",
}


async def test_a_pinned_quote_is_byte_equal_after_50_later_publications_by_parent_and_child(
    loaded_url: str, client_of: ClientOf, head_office: httpx.AsyncClient
) -> None:
    parent = await new_office(loaded_url, client_of, held("lead", "90"), held("carpenter", "70"))
    child = await new_office(loaded_url, client_of, held("helper", "60"), parent=parent.code)
    engine = bare_engine(loaded_url)

    async def count(office: Office, *marks: str) -> None:
        async with engine.begin() as connection:
            await publish_count(connection, office.id, *(piece(m, length_ft=Decimal(20 + n)) for n, m in enumerate(marks)))

    await count(child, "log1", "log2")
    request = {"region": child.code, "defects": [FACE], "priced_on": today().isoformat()}
    first = await head_office.post("/v1/quotes", json=request)
    pinned = {**request, "rates": first.json()["rates"]}
    before = await head_office.post("/v1/quotes", json=pinned)
    assert before.content == first.content
    assert "stock@1" in pinned["rates"]

    for n in range(25):
        for office, code, likely in ((parent, "lead", 91 + n), (child, "helper", 61 + n)):
            await office.published(await office.draft(price(code, str(likely))))
        if n % 5 == 0:
            await count(child, f"log{n + 3}")
            await count(parent, f"log{n + 3}")
    await engine.dispose()

    again = await head_office.post("/v1/quotes", json=pinned)
    assert again.content == before.content
    now = await head_office.post("/v1/quotes", json=request)
    assert now.json()["rates"] == f"base@1+stock@1/{parent.code}@26+stock@5/{child.code}@26+stock@6"
    assert now.json()["job"]["total"] != before.json()["job"]["total"]
