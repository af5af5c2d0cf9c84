"""Requests made from the contract, right and wrong ones, find nothing in the service that the contract does not say.

SCHEMATHESIS_SEED replays a run; without it the seed is the day, so that every day tries something new. It is printed.
SCHEMATHESIS_EXAMPLES says how many requests each operation gets.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import httpx

from deploy.embedded import free_port
from deploy.guard import end_with_starter
from tests.contract.document import PUBLISHED, ROOT, narrowed, published
from tests.contract.server import KEY

HERE = Path(__file__).parent
READY_S = 240.0
REQUEST_S = "120"
HELD = ["-H", f"Authorization: Bearer {KEY}"]


EDITING = r"^/v1/(regions/\{region\}/.+|keys.*|audit)$"
"""Addresses that only the whole service on a database has."""


@contextmanager
def serving(*command: str, environment: Mapping[str, str] | None = None) -> Iterator[str]:
    """The address of a server on a free port; `PORT` in its command and environment stands for that port."""
    port = str(free_port())
    server = subprocess.Popen(
        [sys.executable, *(word.replace("PORT", port) for word in command)], cwd=ROOT,
        env={**os.environ, **{name: value.replace("PORT", port) for name, value in (environment or {}).items()}},
        preexec_fn=end_with_starter,  # noqa: PLW1509  # no thread of ours runs meanwhile
    )
    try:
        url = f"http://127.0.0.1:{port}"
        until = time.monotonic() + READY_S
        while True:
            try:
                httpx.get(f"{url}/readyz", timeout=5.0)
                break
            except httpx.TransportError:
                assert time.monotonic() < until, "the service does not come up"
                assert server.poll() is None, "the service has ended"
                time.sleep(0.1)
        yield url
    finally:
        server.terminate()
        server.wait(READY_S)


def seed() -> str:
    return os.environ.get("SCHEMATHESIS_SEED") or datetime.now(UTC).strftime("%Y%m%d")


def run(document: Path, url: str, *more: str, examples: int = 15) -> None:
    """Let the tool loose; its report is what is shown when it finds something."""
    print(f"replay with SCHEMATHESIS_SEED={seed()}")
    done = subprocess.run(
        [str(Path(sys.executable).parent / "schemathesis"), "--config-file", str(HERE / "schemathesis.toml"), "--no-color",
         "run", str(document), "-u", url, "--continue-on-failure", "--seed", seed(),
         "--max-examples", os.environ.get("SCHEMATHESIS_EXAMPLES", str(examples)), "--request-timeout", REQUEST_S,
         "--suppress-health-check", "all", "--generation-database", "none", *more],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )
    report = "\n".join(line[:400] for line in done.stdout.splitlines())[-40_000:]
    assert done.returncode == 0, f"seed {seed()}\n{report}\n{done.stderr[-2000:]}"
    assert "No failures" in report or "passed" in report, report


def test_the_published_contract_holds() -> None:
    with serving("-m", "tests.contract.server", "PORT", "canned") as address:
        run(PUBLISHED, address, *HELD, "--exclude-path-regex", EDITING)


def test_the_contract_holds_for_requests_that_name_real_things(tmp_path: Path) -> None:
    with serving("-m", "tests.contract.server", "PORT", "real") as address:
        catalogue = httpx.get(f"{address}/v1/catalogue").json()
        listed = httpx.get(f"{address}/v1/regions", headers={"Authorization": f"Bearer {KEY}"}).json()
        regions = [r["code"] for r in listed["regions"]]
        document = tmp_path / "narrowed.json"
        document.write_text(json.dumps(narrowed(published(), catalogue, regions)), "utf-8")
        run(document, address, *HELD, "--include-path", "/v1/quotes", "--mode", "positive")
