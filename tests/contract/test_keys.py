"""The same with each kind of key, against the whole service on a real database."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from service.application.access import SCOPES
from service.storage.keys import make_key
from tests.conftest import bare_engine
from tests.contract.document import published
from tests.contract.test_schemathesis import EDITING, run, serving

SECRET = "a secret for the contract's tests, long enough"
HOME = "https://logs.example"
REGION = "kestrel-range"
EACH = 5
"""Requests that an operation gets from each key: the forms of quotes have had theirs beside."""
SHORT = ["--phases", "examples,fuzzing"]
"""For keys that are refused nearly everywhere: that is soon seen."""
ALL_BUT_ADMIN = [scope for scope in SCOPES if scope != "admin"]


@pytest.fixture(scope="module")
def served(loaded_url: str) -> Iterator[str]:
    """The service as it is started in earnest."""
    environment = {
        "SERVICE_DATABASE_URL": loaded_url, "SERVICE_PORT": "PORT", "SERVICE_KEY_SECRET": SECRET,
        "SERVICE_QUOTA_PER_KEY": "0", "SERVICE_QUOTA_PER_FORM_KEY": "0", "SERVICE_QUOTA_PER_ADDRESS": "0",
    }
    with serving("-m", "service", "serve", environment=environment) as address:
        yield address


def key(url: str, **binding: Any) -> list[str]:
    """Headers of a new key, as arguments."""

    async def make() -> str:
        engine = bare_engine(url)
        async with engine.begin() as connection:
            made = await make_key(connection, SECRET.encode(), name="contract", made_by="tests", **binding)
        await engine.dispose()
        return made.text

    return ["-H", f"Authorization: Bearer {asyncio.run(make())}", "-H", f"Origin: {HOME}"]


def named(tmp_path: Path) -> Path:
    """The contract with the codes of one region and of lines that are there, so that requests go deep."""
    document = published()
    document["components"]["schemas"]["RegionCode"] = {"type": "string", "enum": [REGION]}
    for item in document["paths"].values():
        for operation in item.values():
            # A cursor is opaque and a digest is of the very body: no form in the contract says which ones are right.
            kept = [p for p in operation.get("parameters", []) if p["name"] not in ("cursor", "Content-Digest")]
            operation["parameters"] = kept
            for parameter in kept:
                # Both numbers or both chains, and no thirtieth of February: what a pattern cannot say.
                asked = {"from": ["1", "2"], "to": ["1", "2"], "since": ["2026-05-04"], "until": ["2027-05-04T10:00:00Z"]}
                if parameter["in"] == "query" and parameter["name"] in asked:
                    parameter["schema"] = {"type": "string", "enum": asked[parameter["name"]]}
                words = {"section": ["resources", "norms"], "code": ["carpenter", "helper", "kr_001"]}.get(parameter["name"])
                if parameter["in"] == "path" and words:
                    parameter["schema"] = {"type": "string", "enum": words}
    path = tmp_path / "named.json"
    path.write_text(json.dumps(document), "utf-8")
    return path


def test_the_contract_holds_for_an_office(served: str, loaded_url: str, tmp_path: Path) -> None:
    held = key(loaded_url, sort="server", scopes=ALL_BUT_ADMIN, regions=[REGION])
    run(named(tmp_path), served, *held, "--include-path-regex", EDITING, examples=EACH)


def test_the_contract_holds_for_the_head_office(served: str, loaded_url: str, tmp_path: Path) -> None:
    held = key(loaded_url, sort="server", scopes=SCOPES, regions=None)
    # Not revoking: the tool would take back the key that it holds.
    own = ["--include-path-regex", r"^/v1/(keys.*|audit)$", "--exclude-operation-id", "revokeKey"]
    run(named(tmp_path), served, *held, *own, examples=EACH)


def test_the_contract_holds_for_a_reader(served: str, loaded_url: str, tmp_path: Path) -> None:
    held = key(loaded_url, sort="server", scopes=["rates:read"], regions=[REGION])
    run(named(tmp_path), served, *held, "--include-path-regex", EDITING, *SHORT, examples=EACH)


def test_the_contract_holds_for_a_form(served: str, loaded_url: str, tmp_path: Path) -> None:
    held = key(loaded_url, sort="form", scopes=["quote"], regions=[REGION], origins=[HOME])
    run(named(tmp_path), served, *held, "--mode", "positive", *SHORT, examples=EACH)


def test_the_contract_holds_for_one_without_a_key(served: str, tmp_path: Path) -> None:
    run(named(tmp_path), served, *SHORT, examples=EACH)
