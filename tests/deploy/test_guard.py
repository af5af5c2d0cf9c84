"""The guard: what it keeps ends with whoever started it, wholly and however deaf it is."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import psutil
import pytest

from deploy.embedded import start_guarded, stop_guarded
from tests.conftest import ROOT

PATIENCE_S = 120.0
PARENT = """
import signal, subprocess, sys, time
for number in {deaf}:
    signal.signal(number, signal.SIG_IGN)
worker = subprocess.Popen([sys.executable, "-c", "import signal, time\\n"
    "for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP): signal.signal(number, signal.SIG_IGN)\\n"
    "print('deaf', flush=True)\\ntime.sleep(600)"], stdout=subprocess.PIPE)
worker.stdout.readline()
with open(sys.argv[1], "w") as file:
    print(worker.pid, file=file)
time.sleep(600)
"""


def started(place: Path, deaf: str) -> tuple[int, ...]:
    """Start a program with a deaf worker under guard, stop it, and give the numbers of both."""
    told = place / "worker"
    with (place / "log").open("wb") as log:
        guard = start_guarded(
            [sys.executable, "-c", PARENT.format(deaf=deaf), str(told)], gentle="TERM", cwd=ROOT, environment={}, log=log
        )
    until_told(told, place / "log")
    worker = int(told.read_text())
    parent = psutil.Process(worker).parent()
    assert parent is not None
    stop_guarded(guard)
    return worker, parent.pid


def until_told(told: Path, log: Path) -> None:
    """Wait until the program has written its worker's number."""
    for _ in range(int(PATIENCE_S * 50)):
        if told.exists() and told.read_text().endswith("\n"):
            return
        time.sleep(0.02)
    raise AssertionError(log.read_text())


@pytest.mark.parametrize("deaf", ["()", "(signal.SIGTERM,)", "(signal.SIGTERM, signal.SIGQUIT)"])
def test_a_program_goes_with_its_workers_even_where_neither_hears_a_request(tmp_path: Path, deaf: str) -> None:
    numbers = started(tmp_path, deaf)

    assert [n for n in numbers if psutil.pid_exists(n) and psutil.Process(n).status() != psutil.STATUS_ZOMBIE] == []
