"""A database server of the test's own, that can be stopped, killed, hung and started again at the same address."""

from __future__ import annotations

import asyncio
import os
from collections.abc import AsyncIterator
from contextlib import ExitStack, asynccontextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Self

import psutil
from sqlalchemy import text
from sqlalchemy.ext.asyncio import create_async_engine
from sqlalchemy.pool import NullPool

from deploy.embedded import embedded_server, free_port
from service.storage import schema, seed
from service.storage.database import async_url
from tests.conftest import RATES, bare_engine


@dataclass
class Database:
    """The server.

    Attributes:
        folder: where its cluster lies.
        durable: whether it keeps what it said it keeps, whatever happens to the machine.
        port: kept over restarts.
        url: its address; "" before it was started.
    """

    folder: Path
    durable: bool = True
    port: int = field(default_factory=free_port)
    url: str = ""
    running: ExitStack = field(default_factory=ExitStack)

    def start(self) -> None:
        """Start it and wait until it answers."""
        server = embedded_server(self.folder, lambda _: None, durable=self.durable, port=self.port)
        self.url = self.running.enter_context(server)

    def stop(self) -> None:
        """Stop it in order; what is asked after this is refused."""
        self.running.close()

    def kill(self) -> None:
        """Kill the server as the machine would if its memory ran out: nothing is written down, nobody is told."""
        self.postmaster().kill()
        self.running.close()

    def hang(self) -> None:
        """Stop every process of it, in the middle of whatever it does: connections stay, nothing is answered."""
        for process in self.processes():
            process.suspend()

    def go_on(self) -> None:
        """End a hang."""
        for process in self.processes():
            process.resume()

    def postmaster(self) -> psutil.Process:
        """The process that holds the others."""
        return psutil.Process(int((self.folder / "cluster" / "postmaster.pid").read_text().split()[0]))

    def processes(self) -> list[psutil.Process]:
        """All of its processes, the one that starts others first."""
        first = self.postmaster()
        return [first, *first.children(recursive=True)]

    def signal_file(self, name: str) -> None:
        """A file that tells the next start to begin in another way."""
        path, cluster = self.folder / "cluster" / name, self.folder / "cluster"
        path.touch()
        os.chown(path, cluster.stat().st_uid, cluster.stat().st_gid)

    def setting(self, line: str) -> None:
        """A setting from the next start on; the last of a name counts."""
        with (self.folder / "cluster" / "postgresql.auto.conf").open("a", encoding="utf-8") as file:
            file.write(f"{line}\n")

    def fill(self) -> None:
        """Bring the schema up and load the base book and the demo regions."""

        async def run() -> None:
            engine = bare_engine(self.url)
            await schema.upgrade(engine)
            await seed.load(engine, RATES)
            await engine.dispose()

        asyncio.run(run())

    def __enter__(self) -> Self:
        """Start it, with the books."""
        self.start()
        self.fill()
        return self

    def __exit__(self, *_: object) -> None:
        """Stop it, hung or not."""
        with suppress(OSError, psutil.Error):
            self.go_on()
        self.running.close()


@asynccontextmanager
async def nobody_let_in(url: str) -> AsyncIterator[None]:
    """The database, closed to new connections; those that are there go on."""
    address = async_url(url)
    server = create_async_engine(address.set(database="template1"), isolation_level="AUTOCOMMIT", poolclass=NullPool)

    async def let_in(word: str) -> None:
        async with server.connect() as connection:
            await connection.execute(text(f"ALTER DATABASE {address.database} ALLOW_CONNECTIONS {word}"))

    await let_in("false")
    try:
        yield
    finally:
        await let_in("true")
