"""The service as it is really run: processes of its own on ports of their own, started, asked, stopped and killed."""

from __future__ import annotations

import asyncio
import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Self

import httpx
import psutil
from sqlalchemy import text
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from deploy.embedded import free_port
from deploy.guard import end_with_starter
from service.storage.publishing import BOOK, open_draft, publish
from tests.conftest import ROOT
from tests.rates.conftest import SECRET

PATIENCE_S = 240.0
"""How long a process may take to be ready, on a machine that has other things to do [s]."""
REGION = "kestrel-range"
QUOTE: dict[str, Any] = {
    "region": REGION, "view": "summary", "defects": [{"element": "under_window", "damage": "soft_wood", "length": "8 ft"}],
}


@dataclass
class Service:
    """The service in processes of its own. A context: started on the way in, killed on the way out.

    Attributes:
        url: address of the database.
        settings: more settings, as the environment has them, without their prefix.
        port: kept over restarts, so that callers find it again.
    """

    url: str
    settings: dict[str, str] = field(default_factory=dict)
    port: int = field(default_factory=free_port)
    process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        """Where it listens."""
        return f"http://127.0.0.1:{self.port}"

    def __enter__(self) -> Self:  # noqa: D105  # said above
        self.start()
        return self

    def __exit__(self, *_: object) -> None:  # noqa: D105  # said above
        self.kill()

    def start(self) -> None:
        """Start it; `wait_until_ready` tells when it answers."""
        kept = {name: value for name, value in os.environ.items() if not name.startswith("SERVICE_")}
        given = {
            "SERVICE_DATABASE_URL": self.url, "SERVICE_PORT": str(self.port), "SERVICE_KEY_SECRET": SECRET,
            "SERVICE_OPEN_SCOPES": "quote", "SERVICE_QUOTA_PER_ADDRESS": "0",
            **{f"SERVICE_{name.upper()}": value for name, value in self.settings.items()},
        }
        self.process = subprocess.Popen(
            [sys.executable, "-m", "service", "serve"], cwd=ROOT, env=kept | given, start_new_session=True,
            preexec_fn=end_with_starter,  # noqa: PLW1509  # no thread of ours runs meanwhile
        )

    def kill(self) -> None:
        """Kill it and all its workers at once, as a power cut would."""
        if self.process is None:
            return
        with suppress(psutil.NoSuchProcess, ProcessLookupError):
            family = psutil.Process(self.process.pid).children(recursive=True)
            os.killpg(self.process.pid, signal.SIGKILL)
            psutil.wait_procs(family, timeout=PATIENCE_S)
        self.process.wait()
        self.process = None

    def wait_until_ready(self) -> None:
        """Wait until it would answer quotes; what it says then is read for the first time, so the first quote is warm."""
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            if self.process is None or self.process.poll() is not None:
                raise AssertionError(f"the service ended by itself: {self.process and self.process.returncode}")
            with suppress(httpx.TransportError):
                if httpx.get(f"{self.address}/readyz", timeout=10.0).status_code == 200:
                    return
            time.sleep(0.1)
        raise AssertionError("the service is not ready")

    def rates(self) -> str:
        """The rates of a quote that is sent now, on a connection of its own."""
        answer = httpx.post(f"{self.address}/v1/quotes", json=QUOTE, timeout=30.0)
        assert answer.status_code == 200, answer.text
        return str(answer.json()["rates"])


async def publish_again(engine: AsyncEngine, code: str = REGION) -> int:
    """Publish the region's book once more, from today on, with nothing changed. Returns its number."""
    async with engine.begin() as connection:
        return await publish_on(connection, code)


async def publish_on(connection: AsyncConnection, code: str) -> int:
    """The same in an open transaction."""
    newest = text(
        "SELECT r.id, b.id AS book FROM region r JOIN book_revision b ON b.region_id = r.id"
        " WHERE r.code = :code AND b.status = 'published' ORDER BY b.number DESC LIMIT 1"
    )
    row = (await connection.execute(newest, {"code": code})).one()
    draft = await open_draft(connection, BOOK, row.id, "tests", based_on=row.book)
    copied = text(
        "INSERT INTO rate_line SELECT :draft, section, code, unit, low, likely, high, kind, source, what, locked"
        " FROM rate_line WHERE revision_id = :book"
    )
    await connection.execute(copied, {"draft": draft, "book": row.book})
    return await publish(connection, BOOK, draft, datetime.now(UTC).date(), "tests", "again")


async def all_rates(services: list[Service], times: int = 1) -> list[str]:
    """The rates of quotes that are sent to all of them at once."""
    asked = [asyncio.to_thread(service.rates) for service in services for _ in range(times)]
    return list(await asyncio.gather(*asked))
