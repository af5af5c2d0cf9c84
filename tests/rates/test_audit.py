"""The audit log over HTTP and on the command line: who may read what, page by page, as JSON and as a sheet."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys

import httpx
import pytest
from sqlalchemy import select, text
from sqlalchemy.ext.asyncio import AsyncEngine

from service.storage.audit import record
from service.storage.tables import region
from tests.conftest import ROOT
from tests.rates.conftest import SECRET, ClientOf, asker

OWN = "/v1/regions/kestrel-range/audit"
EVERYTHING = "/v1/audit"


@pytest.fixture
async def written(loaded_engine: AsyncEngine) -> list[str]:
    """Entries of two regions and of none; the subjects of the first region's, newest first."""
    async with loaded_engine.begin() as connection:
        ids = {code: number for number, code in await connection.execute(select(region.c.id, region.c.code))}
    subjects = []
    for number in range(5):
        for code in ("kestrel-range", "sollavik", None):
            subject = f"{code}/{os.urandom(4).hex()}"
            async with loaded_engine.begin() as connection:
                action = "draft.open" if number % 2 else "revision.publish"
                details = {"why": "=1+1", "n": number}
                await record(connection, asker(f"writer-{number}"), action, subject, ids.get(code or ""), details)
            if code == "kestrel-range":
                subjects.append(subject)
    return subjects[::-1]


def subjects_of(answer: httpx.Response) -> list[str]:
    assert answer.status_code == 200, answer.text
    return [entry["subject"] for entry in answer.json()["entries"]]


async def test_a_region_reads_its_own_entries_and_no_others(office: httpx.AsyncClient, written: list[str]) -> None:
    answer = await office.get(OWN)

    assert subjects_of(answer)[: len(written)] == written
    assert {entry["region"] for entry in answer.json()["entries"]} == {"kestrel-range"}
    first = answer.json()["entries"][0]
    assert (first["who"], first["address"], first["details"]) == ("server:writer-4", "192.0.2.1", {"n": 4, "why": "=1+1"})
    assert first["at"].endswith("Z")
    assert (await office.get("/v1/regions/sollavik/audit")).status_code == 404


async def test_the_head_office_reads_everything(head_office: httpx.AsyncClient, written: list[str]) -> None:
    answer = await head_office.get(EVERYTHING)

    assert set(written) <= set(subjects_of(answer))
    assert {entry["region"] for entry in answer.json()["entries"]} >= {"kestrel-range", "sollavik", None}
    assert set(written) <= set(subjects_of(await head_office.get(OWN)))
    assert (await head_office.get("/v1/regions/nowhere/audit")).status_code == 404


@pytest.mark.parametrize(
    ("scopes", "regions", "path", "status"),
    [
        (["admin"], ["kestrel-range"], EVERYTHING, 403), (["rates:read"], None, EVERYTHING, 403),
        (["admin"], None, EVERYTHING, 200), (["admin"], None, OWN, 403), (["rates:read"], ["kestrel-range"], OWN, 200),
    ],
)
async def test_the_whole_log_is_for_the_head_office_s_administration(
    client_of: ClientOf, scopes: list[str], regions: list[str] | None, path: str, status: int
) -> None:
    client = await client_of(scopes, regions)

    assert (await client.get(path)).status_code == status


async def test_pages_hold_every_entry_once(office: httpx.AsyncClient, written: list[str]) -> None:
    whole = subjects_of(await office.get(OWN, params={"limit": 500}))
    found: list[str] = []
    path: str | None = f"{OWN}?limit=2"
    while path:
        answer = await office.get(path)
        assert len(answer.json()["entries"]) <= 2
        found += subjects_of(answer)
        path = answer.links.get("next", {}).get("url")
        assert (path is None) == (answer.json()["next_cursor"] is None)

    assert found == whole
    assert len(written) <= len(whole)


async def test_entries_are_narrowed_by_what_who_and_when(office: httpx.AsyncClient, written: list[str]) -> None:
    async def narrowed(**asked: str) -> list[str]:
        return subjects_of(await office.get(OWN, params=asked))[: len(written)]

    entries = (await office.get(OWN)).json()["entries"]
    assert (await narrowed(action="draft.open"))[:2] == [written[1], written[3]]
    assert (await narrowed(action="revision"))[:3] == [written[0], written[2], written[4]]
    assert (await narrowed(who="server:writer-3"))[0] == written[1]
    assert await narrowed(since=entries[2]["at"]) == written[:3]
    assert (await narrowed(until=entries[2]["at"]))[0] == written[3]
    assert await narrowed(since="2099-01-01") == []
    assert await narrowed(until="2000-01-01T00:00:00+02:00") == []


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("since", "yesterday"), ("since", "2026-02-30"), ("since", "2026-05-04T12:00:00"), ("until", "1066-10-14"),
        ("until", "2026-05-04T25:00:00Z"), ("action", "Publish!"), ("who", "\x00"), ("who", ""), ("limit", "0"), ("limit", "501"),
        ("cursor", "x"), ("cursor", "WyJhIiwxXQ"), ("sort", "at"),
    ],
)
async def test_a_parameter_that_cannot_be_used_is_named(office: httpx.AsyncClient, name: str, value: str) -> None:
    answer = await office.get(OWN, params={name: value})

    assert answer.status_code == 400
    assert name in answer.json()["detail"]


async def test_a_sheet_holds_the_same_and_runs_no_formula(office: httpx.AsyncClient, written: list[str]) -> None:
    answer = await office.get(OWN, headers={"Accept": "text/csv"})
    rows = list(csv.DictReader(io.StringIO(answer.text)))

    assert answer.headers["content-type"].startswith("text/csv")
    assert [row["subject"] for row in rows][: len(written)] == written
    entry = (await office.get(OWN)).json()["entries"][0]
    assert {row["digest"] for row in rows[:1]} == {entry["digest"]}
    assert json.loads(rows[0]["details"]) == entry["details"]
    assert not [cell for row in rows for cell in row.values() if cell[:1] in "=+-@" and cell]


async def test_what_did_not_change_is_not_sent_again(office: httpx.AsyncClient, written: list[str]) -> None:
    first = await office.get(OWN)
    again = await office.get(OWN, headers={"If-None-Match": first.headers["etag"]})

    assert again.status_code == 304
    assert written


def command(url: str, *words: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "SERVICE_DATABASE_URL": url, "SERVICE_KEY_SECRET": SECRET}
    return subprocess.run(
        [sys.executable, "-m", "service", "audit", *words], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )


async def test_the_command_line_verifies_and_writes_out_the_log(
    loaded_url: str, loaded_engine: AsyncEngine, written: list[str]
) -> None:
    whole = command(loaded_url, "verify")
    noted = whole.stdout.split()[-1]
    exported = [json.loads(line) for line in command(loaded_url, "export").stdout.splitlines()]
    own = [json.loads(line) for line in command(loaded_url, "export", "--region", "kestrel-range").stdout.splitlines()]

    assert whole.returncode == 0
    assert exported[-1]["digest"] == noted
    assert [entry["subject"] for entry in own][-len(written):] == written[::-1]
    assert command(loaded_url, "verify", "--expect", noted).returncode == 0
    missed = command(loaded_url, "verify", "--expect", "ab" * 32)
    assert (missed.returncode, "ab" * 32 in missed.stderr) == (1, True)
    assert command(loaded_url, "verify", "--expect", "nonsense").returncode == 2
    assert command(loaded_url, "export", "--region", "nowhere").returncode == 2
    async with loaded_engine.begin() as connection:
        await connection.execute(text("ALTER TABLE audit_entry DISABLE TRIGGER USER"))
        await connection.execute(text(f"UPDATE audit_entry SET who = 'server:else' WHERE id = {exported[-3]['number']}"))
        await connection.execute(text("ALTER TABLE audit_entry ENABLE TRIGGER USER"))
    broken = command(loaded_url, "verify")

    assert broken.returncode == 1
    assert f"entry {exported[-3]['number']}:" in broken.stderr
