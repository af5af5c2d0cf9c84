"""Making the virtual environment: nothing but the standard library, and safe to run twice, or twice at once."""

from __future__ import annotations

import fcntl
import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
OLDEST = (3, 11)
RUNTIME, TESTS = "requirements.txt", "requirements-test.txt"


class SetUpError(RuntimeError):
    """The environment cannot be made; the message says what to do."""


def say(text: str) -> None:
    """Tell what is going on."""
    print(f"· {text}", flush=True)


def ensure_environment(requirements: str) -> Path:
    """The interpreter of an environment that holds these requirements.

    It is made once, in .venv or where DEPLOY_VENV says: a stamp of the requirements' hash lets the next run go on at
    once, without a network.

    Raises:
        SetUpError: Python is too old, or the packages cannot be had.
    """
    if sys.version_info < OLDEST:
        raise SetUpError(f"Python {OLDEST[0]}.{OLDEST[1]} or newer is needed, this is {sys.version.split()[0]}")
    folder = Path(os.environ.get("DEPLOY_VENV") or ROOT / ".venv").absolute()
    python = folder / "bin" / "python"
    with _alone(folder) as lock:
        if not _is_whole(folder, python):
            _make(folder, lock)
        stamp = folder / f"{requirements}.stamp"
        wanted = hashlib.sha256((ROOT / "deploy" / requirements).read_bytes()).hexdigest()
        if not stamp.exists() or stamp.read_text() != wanted:
            _install(python, requirements, lock)
            stamp.write_text(wanted)
    return python


@contextmanager
def _alone(folder: Path) -> Iterator[int]:
    """Hold the environment for ourselves; a second run waits until it is made, and then finds it ready.

    The lock's file goes to every program that writes there: should we be killed, it is held until they have ended too.
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    with folder.with_name(f"{folder.name}.lock").open("a") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            say("waiting for another run that is making the environment")
            fcntl.flock(file, fcntl.LOCK_EX)
        yield file.fileno()


def _identity(folder: Path) -> str:
    """What an environment depends on: where it lies and which interpreter it was made with."""
    return f"{folder}\n{Path(sys.base_prefix).resolve()}\n{sys.version}\n"


def _is_whole(folder: Path, python: Path) -> bool:
    """Whether the environment was made to its end, here, with this Python: a moved or half-made one is of no use."""
    made = folder / "made"
    return python.exists() and made.exists() and made.read_text() == _identity(folder)


def _make(folder: Path, lock: int) -> None:
    say(f"making the environment {folder} (Python {sys.version.split()[0]})")
    if folder.exists():
        shutil.rmtree(folder)
    if subprocess.run([sys.executable, "-m", "venv", "--symlinks", folder], pass_fds=[lock], check=False).returncode:
        raise SetUpError(
            "this Python cannot make virtual environments with pip; on Debian and Ubuntu: apt install python3-venv"
        )
    (folder / "made").write_text(_identity(folder))


def _install(python: Path, requirements: str, lock: int) -> None:
    path = ROOT / "deploy" / requirements
    count = sum(1 for line in path.read_text().splitlines() if line[:1].isalnum())
    say(f"installing {count} packages, each checked against its hash (a minute or two; only this once)")
    done = subprocess.run(
        [
            python,
            *("-m", "pip", "install", "-qq", "--disable-pip-version-check", "--no-input"),
            *("--require-hashes", "--requirement", path),
        ],
        pass_fds=[lock],
        check=False,
    )
    if done.returncode:
        raise SetUpError(f"the packages of {path.name} could not be installed; pip's words stand above")
