"""The service stops when it is told to, at any moment: soon, quietly, and with everything that it has started."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import psutil
import pytest

from deploy.embedded import free_port
from deploy.guard import end_with_starter
from tests.conftest import ROOT

PATIENCE_S = 240.0
"""How long a process may take to come up, on a machine that has other things to do [s]."""
KILLED_AFTER_S = 30.0
"""A worker that does not listen is killed after this long (`bootstrap.LAST_ANSWERS_S`); one that does needs a moment [s]."""
NOWHERE = "postgresql://a:b@127.0.0.1:1/none"


class Serving:
    """A service of two workers that is coming up."""

    def __init__(self, log: Path, *options: str) -> None:
        """Start it, with these options of the interpreter."""
        self.log = log
        kept = {name: value for name, value in os.environ.items() if not name.startswith("SERVICE_")}
        given = {"SERVICE_DATABASE_URL": NOWHERE, "SERVICE_PORT": str(free_port()), "SERVICE_WORKERS": "2"}
        with log.open("wb") as file:
            self.process = subprocess.Popen(
                [sys.executable, *options, "-m", "service", "serve"], cwd=ROOT, env=kept | given, stdout=file, stderr=file,
                start_new_session=True,
                preexec_fn=end_with_starter,  # noqa: PLW1509  # no thread of ours runs meanwhile
            )

    def family(self) -> list[psutil.Process]:
        """It and its workers."""
        try:
            first = psutil.Process(self.process.pid)
            return [first, *first.children(recursive=True)]
        except psutil.NoSuchProcess:
            return []

    def wait_until(self, holds: Callable[[], bool]) -> None:
        until = time.monotonic() + PATIENCE_S
        while not holds():
            assert self.process.poll() is None and time.monotonic() < until, self.log.read_text()
            time.sleep(0.002)


@contextmanager
def made(serving: Serving) -> Iterator[Serving]:
    """It, and nothing of it afterwards."""
    try:
        yield serving
    finally:
        for process in serving.family():
            with suppress(psutil.NoSuchProcess):
                process.kill()
        serving.process.wait(PATIENCE_S)


@pytest.fixture
def serving(tmp_path: Path) -> Iterator[Serving]:
    with made(Serving(tmp_path / "log")) as one:
        yield one


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
@pytest.mark.parametrize("after_s", [0.0, 0.2, 1.0])
def test_workers_that_are_still_starting_stop_at_once(serving: Serving, how: signal.Signals, after_s: float) -> None:
    serving.wait_until(lambda: len(serving.family()) == 3)
    time.sleep(after_s)
    family = serving.family()
    told = time.monotonic()
    # A key press reaches all of them, a request to stop only the first.
    (os.killpg if how == signal.SIGINT else os.kill)(serving.process.pid, how)
    status = serving.process.wait(PATIENCE_S)

    assert time.monotonic() - told < KILLED_AFTER_S
    assert psutil.wait_procs(family, timeout=PATIENCE_S)[1] == []
    said = serving.log.read_text()
    assert (status, "Traceback" in said) == (0, False), said


def test_a_key_press_before_it_serves_leaves_no_trace(tmp_path: Path) -> None:
    with made(Serving(tmp_path / "log", "-X", "importtime")) as serving:
        serving.wait_until(lambda: "sqlalchemy" in serving.log.read_text())
        os.killpg(serving.process.pid, signal.SIGINT)

        assert serving.process.wait(PATIENCE_S) == -signal.SIGINT
        assert "Traceback" not in serving.log.read_text()
