"""How soon replicas quote from what was published. A program, not a timed test.

    python -m tests.bench.propagation [--replicas 3] [--publications 20] [--check-books-s 3600]

Starts an embedded database and so many service processes, publishes a region's book again and again, and asks every
replica for quotes without a pause. Prints how long after the commit the first quote from the new revision was *sent*, so
that the time a quote takes does not count, and how long after it the answer was there.
"""

from __future__ import annotations

import argparse
import asyncio
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path
from statistics import median

import httpx

from deploy.embedded import embedded_server
from service.storage import schema, seed
from tests.conftest import RATES, bare_engine
from tests.rates.processes import QUOTE, REGION, Service, publish_again

PATIENCE_S = 30.0


async def ask_until(client: httpx.AsyncClient, address: str, number: int) -> tuple[float, float]:
    """When the first quote from that revision was sent, and when it was answered [s]."""
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        sent_at = time.monotonic()
        answer = await client.post(f"{address}/v1/quotes", json=QUOTE)
        answer.raise_for_status()
        if f"{REGION}@{number}" in answer.json()["rates"]:
            return sent_at, time.monotonic()
    raise TimeoutError(f"{address} does not quote from revision {number}")


async def measure(url: str, addresses: list[str], publications: int) -> list[tuple[float, float]]:
    """For each publication and replica: how long after the commit [s] (see the module)."""
    engine = bare_engine(url)
    found: list[tuple[float, float]] = []
    async with httpx.AsyncClient(timeout=PATIENCE_S) as client:
        for _ in range(publications):
            number = await publish_again(engine)
            committed_at = time.monotonic()
            times = await asyncio.gather(*(ask_until(client, address, number) for address in addresses))
            found += [(sent - committed_at, answered - committed_at) for sent, answered in times]
    await engine.dispose()
    return found


async def prepare(url: str) -> None:
    """Bring the schema up and load the books."""
    engine = bare_engine(url)
    await schema.upgrade(engine)
    await seed.load(engine, RATES)
    await engine.dispose()


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.propagation")
    parser.add_argument("--replicas", type=int, default=3)
    parser.add_argument("--publications", type=int, default=20)
    parser.add_argument("--check-books-s", type=float, default=3600.0, help="how often they ask by themselves")
    asked = parser.parse_args()
    with ExitStack() as stack:
        folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="pg-"))
        url = stack.enter_context(embedded_server(Path(folder), print))
        asyncio.run(prepare(url))
        settings = {"check_books_s": str(asked.check_books_s)}
        replicas = [stack.enter_context(Service(url, settings)) for _ in range(asked.replicas)]
        for replica in replicas:
            replica.wait_until_ready()
        found = asyncio.run(measure(url, [replica.address for replica in replicas], asked.publications))
    print(f"{asked.replicas} replicas, {asked.publications} publications, asking by themselves every {asked.check_books_s:g} s")
    for what, times in zip(("first new quote sent", "first new quote answered"), zip(*found, strict=True), strict=True):
        print(f"{what:26} [ms after the commit]: median {1000 * median(times):.0f}, worst {1000 * max(times):.0f}")


if __name__ == "__main__":
    main()
