"""The embedded server: it works anywhere, and it never stays behind."""

from __future__ import annotations

import asyncio
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest
from sqlalchemy import text

from deploy.embedded import EmbeddedError, embedded_server, free_port
from deploy.guard import end_with_starter
from tests.conftest import ROOT, bare_engine, run_sql

PATIENCE_S = 120.0
HOLDER = """
import signal, sys, time
from pathlib import Path
# Whoever starts the tests in the background may have them ignore a key press; the holder must hear it.
signal.signal(signal.SIGINT, signal.default_int_handler)
from deploy.embedded import embedded_server
with embedded_server(Path(sys.argv[1]), lambda text: None, durable=False) as url:
    print(url, flush=True)
    time.sleep(600)
"""


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder with a space in a path too long for a Unix socket."""
    with tempfile.TemporaryDirectory(prefix="pg test ") as made:
        yield Path(made) / ("long " * 20) / "data"


def quiet(_: str) -> None:
    """Say nothing."""


def ask(url: str, question: str) -> object:
    """The one value that the server answers."""

    async def run() -> object:
        async with bare_engine(url).connect() as connection:
            return (await connection.execute(text(question))).scalar_one()

    return asyncio.run(run())


def start_holder(folder: Path) -> tuple[subprocess.Popen[str], str, psutil.Process]:
    """A process that holds a server until it is killed, the server's address and its process."""
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(folder)], cwd=ROOT, stdout=subprocess.PIPE, text=True,
        preexec_fn=end_with_starter,  # noqa: PLW1509  # no thread of ours runs meanwhile
    )
    assert holder.stdout is not None
    url = holder.stdout.readline().strip()
    number = int((folder / "cluster" / "postmaster.pid").read_text().split()[0])
    return holder, url, psutil.Process(number)


def end(holder: subprocess.Popen[str], how: signal.Signals) -> None:
    """End the holder and close its pipe."""
    holder.send_signal(how)
    holder.communicate(timeout=PATIENCE_S)


def test_a_server_in_a_long_path_with_spaces_answers_and_keeps_its_data(folder: Path) -> None:
    with embedded_server(folder, quiet) as url:
        run_sql(url, "CREATE TABLE kept AS SELECT 7 AS n")
    with embedded_server(folder, quiet) as url:
        assert ask(url, "SELECT n FROM kept") == 7


def test_it_listens_on_this_machine_only_and_asks_for_a_password(folder: Path) -> None:
    with embedded_server(folder, quiet, durable=False) as url:
        assert ask(url, "SHOW listen_addresses") == "127.0.0.1"
        assert ask(url, "SHOW unix_socket_directories") == ""
        user, rest = url.removeprefix("postgresql://").split(":", 1)
        wrong = f"postgresql://{user}:wrong@{rest.split('@', 1)[1]}"
        with pytest.raises(Exception, match="password authentication failed"):
            ask(wrong, "SELECT 1")
    assert (folder / "password").stat().st_mode & 0o077 == 0


def test_the_server_is_gone_when_its_block_ends(folder: Path) -> None:
    with embedded_server(folder, quiet, durable=False):
        server = psutil.Process(int((folder / "cluster" / "postmaster.pid").read_text().split()[0]))
        assert server.is_running()

    assert not server.is_running()


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
def test_the_server_ends_with_the_process_that_started_it(folder: Path, how: signal.Signals) -> None:
    holder, _, server = start_holder(folder)
    end(holder, how)
    server.wait(PATIENCE_S)

    assert not server.is_running()


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the kernel does not tell a child of its parent's death")
def test_the_server_ends_even_when_its_guard_is_killed_too(folder: Path) -> None:
    holder, _, server = start_holder(folder)
    guard = server.parent()
    assert guard is not None
    guard.kill()
    server.wait(PATIENCE_S)
    end(holder, signal.SIGKILL)

    assert not server.is_running()


def test_a_start_right_after_a_kill_finds_its_data_again(folder: Path) -> None:
    holder, url, _ = start_holder(folder)
    run_sql(url, "CREATE TABLE kept AS SELECT 7 AS n")
    end(holder, signal.SIGKILL)
    with embedded_server(folder, quiet, durable=False) as again:
        assert ask(again, "SELECT n FROM kept") == 7


def test_a_server_left_behind_by_a_killed_run_is_stopped_by_the_next(folder: Path) -> None:
    """The guard is frozen, so that nobody but the next start can stop the server."""
    holder, _, server = start_holder(folder)
    guard = server.parent()
    assert guard is not None
    guard.suspend()
    end(holder, signal.SIGKILL)
    time.sleep(0.5)
    assert server.status() != psutil.STATUS_ZOMBIE, (folder / "postgres.log").read_text()
    said: list[str] = []
    with embedded_server(folder, said.append, durable=False) as url:
        assert ask(url, "SELECT 1") == 1
        assert not server.is_running() or server.status() == psutil.STATUS_ZOMBIE
    guard.kill()

    assert f"stopping the database server that an earlier run left behind (process {server.pid})" in said


def test_a_killed_server_s_pid_file_does_not_hinder_the_next_start(folder: Path) -> None:
    holder, _, server = start_holder(folder)
    server.kill()
    end(holder, signal.SIGKILL)
    assert (folder / "cluster" / "postmaster.pid").exists()
    with embedded_server(folder, quiet, durable=False) as url:
        assert ask(url, "SELECT 1") == 1


def test_two_folders_have_two_servers_and_one_folder_has_one(folder: Path) -> None:
    with embedded_server(folder / "a", quiet, durable=False) as a, embedded_server(folder / "b", quiet) as b:
        assert a != b
        assert (ask(a, "SELECT 1"), ask(b, "SELECT 1")) == (1, 1)
        with pytest.raises(EmbeddedError, match="in use by process"), embedded_server(folder / "a", quiet):
            pass


def test_a_half_made_cluster_is_made_anew(folder: Path) -> None:
    half = folder / "cluster.new"
    half.mkdir(parents=True)
    (half / "PG_VERSION").write_text("18")
    with embedded_server(folder, quiet, durable=False) as url:
        assert ask(url, "SELECT 1") == 1


def test_a_killed_server_comes_back_at_the_same_address_with_its_data(folder: Path) -> None:
    port = free_port()
    with embedded_server(folder, quiet, port=port) as first:
        run_sql(first, "CREATE TABLE kept AS SELECT 7 AS n")
        psutil.Process(int((folder / "cluster" / "postmaster.pid").read_text().split()[0])).kill()
    with embedded_server(folder, quiet, port=port) as again:
        assert again == first
        assert ask(again, "SELECT n FROM kept") == 7
