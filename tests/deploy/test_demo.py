"""The demonstration: one command, a first quote, and nothing left behind."""

from __future__ import annotations

import signal
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import psutil
import pytest

from deploy.embedded import free_port
from deploy.guard import end_with_starter
from tests.conftest import ROOT

PATIENCE_S = 180.0


class Demo:
    """A running demonstration."""

    def __init__(self, folder: Path, *options: str) -> None:
        """Start it on a free port."""
        self.port = free_port()
        command = [sys.executable, "deploy/demo.py", "--port", str(self.port), "--data-dir", str(folder), *options]
        self.process = subprocess.Popen(
            command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True,
            preexec_fn=end_with_starter,  # noqa: PLW1509  # no thread of ours runs meanwhile
        )

    def read_until(self, words: str) -> str:
        """What it prints, up to a line that holds these words."""
        assert self.process.stdout is not None
        said = ""
        for line in self.process.stdout:
            said += line
            if words in line:
                return said
        raise AssertionError(said)

    def family(self) -> list[psutil.Process]:
        """All processes that it has started."""
        return list(psutil.Process(self.process.pid).children(recursive=True))

    def end(self, how: signal.Signals) -> int:
        """Send a signal and wait; returns the exit status."""
        self.process.send_signal(how)
        self.process.communicate(timeout=PATIENCE_S)
        return self.process.returncode

    def clear_away(self, family: list[psutil.Process]) -> None:
        """End what is left, also what has outlived a test that failed and holds the pipe that we read."""
        for process in (self.process, *family):
            with suppress(ProcessLookupError, psutil.NoSuchProcess):
                process.kill()
        self.process.communicate(timeout=PATIENCE_S)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A data folder in a path with a space."""
    return tmp_path / "a folder"


@pytest.fixture
def running(folder: Path) -> Iterator[Demo]:
    """A demonstration that serves."""
    demo = Demo(folder)
    family: list[psutil.Process] = []
    try:
        demo.read_until("serving until")
        family = demo.family()
        yield demo
    finally:
        demo.clear_away(family)


def test_once_prints_ranked_plans_and_stops_with_status_0(folder: Path) -> None:
    demo = Demo(folder, "--once")
    said, _ = demo.process.communicate(timeout=2 * PATIENCE_S)

    assert demo.process.returncode == 0, said
    assert "  1.  " in said
    assert f"Docs: http://127.0.0.1:{demo.port}/docs" in said
    assert "base: book of" in said
    assert "Demo keys, for this machine only" in said
    assert (folder / "keys" / "kestrel-range").read_text().strip() in said


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_a_stopped_demonstration_takes_everything_with_it(running: Demo, how: signal.Signals) -> None:
    family = running.family()
    assert len(family) > 3

    assert running.end(how) == 0
    assert psutil.wait_procs(family, timeout=PATIENCE_S)[1] == []


def test_a_killed_demonstration_leaves_nothing_and_starts_again(running: Demo, folder: Path) -> None:
    family = running.family()
    key = (folder / "keys" / "head-office").read_text()
    running.end(signal.SIGKILL)
    assert psutil.wait_procs(family, timeout=PATIENCE_S)[1] == []
    again = Demo(folder, "--once")
    said, _ = again.process.communicate(timeout=2 * PATIENCE_S)

    assert again.process.returncode == 0, said
    assert "unchanged" in said
    assert key in said


def test_a_second_one_works_beside_the_first_but_not_on_its_port_or_folder(running: Demo, tmp_path: Path) -> None:
    beside = Demo(tmp_path / "another", "--once")
    said, _ = beside.process.communicate(timeout=2 * PATIENCE_S)
    assert beside.process.returncode == 0, said
    with urllib.request.urlopen(f"http://127.0.0.1:{running.port}/readyz", timeout=PATIENCE_S) as answer:
        assert answer.status == 200
    same_folder = Demo(tmp_path / "a folder", "--once")
    said, _ = same_folder.process.communicate(timeout=PATIENCE_S)

    assert same_folder.process.returncode == 1
    assert "is in use by process" in said
