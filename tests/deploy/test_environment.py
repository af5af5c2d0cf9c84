"""The environment: made once, by one run at a time, and only from packages that are named with their hashes."""

from __future__ import annotations

import fcntl
import re
import subprocess
import sys
import time
from pathlib import Path

import psutil
import pytest

from deploy import environment
from deploy.environment import RUNTIME, TESTS, SetUpError, ensure_environment
from tests.conftest import ROOT

PATIENCE_S = 120.0
PLAIN = "import sys; sys.path.insert(0, {root!r}); from deploy.environment import *; print(ensure_environment('x.txt'))"


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """A checkout with an empty requirements file, in a path with a space."""
    folder = tmp_path / "a checkout"
    (folder / "deploy").mkdir(parents=True)
    for name in ("__init__.py", "environment.py"):
        (folder / "deploy" / name).write_text((ROOT / "deploy" / name).read_text(encoding="utf-8"), encoding="utf-8")
    (folder / "deploy" / "x.txt").write_text("", encoding="utf-8")
    return folder


def start(checkout: Path) -> subprocess.Popen[str]:
    """Make the checkout's environment in a process of its own."""
    command = [sys.executable, "-c", PLAIN.format(root=str(checkout))]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


def test_two_runs_at_once_make_one_environment_and_a_third_does_nothing(checkout: Path) -> None:
    said = [run.communicate()[0] for run in [start(checkout), start(checkout)]]
    third = start(checkout).communicate()[0]
    python = checkout / ".venv" / "bin" / "python"

    assert sum("· making the environment" in words for words in said) == 1
    assert all(words.splitlines()[-1] == str(python) for words in said)
    assert third == f"{python}\n"
    assert subprocess.run([python, "-c", "import pip"], check=False).returncode == 0


def test_what_a_killed_run_left_at_work_is_waited_for_and_then_made_anew(checkout: Path) -> None:
    first = start(checkout)
    until = time.monotonic() + PATIENCE_S
    while not (checkout / ".venv" / "pyvenv.cfg").exists():
        assert first.poll() is None and time.monotonic() < until
        time.sleep(0.01)
    (maker,) = psutil.Process(first.pid).children()
    maker.suspend()
    first.kill()
    first.wait()
    with (checkout / ".venv.lock").open("a") as lock, pytest.raises(BlockingIOError):
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    second = start(checkout)
    maker.resume()
    said = second.communicate()[0]
    python = checkout / ".venv" / "bin" / "python"

    assert said.splitlines()[-1] == str(python)
    assert subprocess.run([python, "-c", "import pip"], check=False).returncode == 0
    first.communicate()


def test_changed_requirements_are_installed_and_a_broken_environment_is_made_anew(checkout: Path) -> None:
    start(checkout).communicate()
    (checkout / "deploy" / "x.txt").write_text("# changed\n", encoding="utf-8")
    assert "installing" in start(checkout).communicate()[0]
    (checkout / ".venv" / "bin" / "python").unlink()

    assert "making the environment" in start(checkout).communicate()[0]


def test_packages_that_cannot_be_had_are_said_in_words(checkout: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (checkout / "deploy" / "x.txt").write_text("no-hash-given==1.0\n", encoding="utf-8")
    monkeypatch.setattr(environment, "ROOT", checkout)
    with pytest.raises(SetUpError, match=r"packages of x\.txt could not be installed"):
        ensure_environment("x.txt")


@pytest.mark.parametrize("name", [RUNTIME, TESTS])
def test_every_package_is_pinned_with_hashes_and_no_registry_is_named(name: str) -> None:
    written = (ROOT / "deploy" / name).read_text(encoding="utf-8")
    packages = re.split(r"\n(?=\S)", written.strip())

    assert "://" not in written
    assert "--index" not in written
    assert len(packages) > 30
    for package in packages:
        assert re.match(r"[a-z0-9-]+==\S+( ; [^\\]+)? \\\n    --hash=sha256:[0-9a-f]{64}", package), package


def test_the_tests_run_on_the_very_packages_of_the_service() -> None:
    def pins(name: str) -> dict[str, str]:
        lines = (ROOT / "deploy" / name).read_text(encoding="utf-8").splitlines()
        return dict(line.split(" ", 1)[0].split("==") for line in lines if line[:1].isalnum())

    runtime, tests = pins(RUNTIME), pins(TESTS)
    assert {name: tests.get(name) for name in runtime} == runtime
