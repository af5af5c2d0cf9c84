"""Set up the test environment and run every check: style, types, import contracts, tests.

    python3 deploy/test.py [arguments for pytest]

Needs Python 3.11 or newer and nothing else. The exit status is that of the worst check.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from deploy.environment import TESTS, SetUpError, ensure_environment, say  # noqa: E402  # the path is set just above
from deploy.guard import end_with_starter  # noqa: E402  # the path is set just above

# Started through the interpreter: the scripts beside it do not work in a path with a space everywhere.
IMPORT_CONTRACTS = "import sys; from importlinter.cli import lint_imports_command; sys.exit(lint_imports_command())"
CHECKS = {
    "ruff": ["-m", "ruff", "check", "."],
    "mypy": ["-m", "mypy"],
    "import contracts": ["-c", IMPORT_CONTRACTS],
}


def main(arguments: list[str]) -> int:
    """Run all checks, also after one has failed. Returns the worst exit status."""
    try:
        python = ensure_environment(TESTS)
    except SetUpError as fault:
        print(f"test: {fault}", file=sys.stderr)
        return 1
    results = {name: _run(name, [str(python), *command]) for name, command in CHECKS.items()}
    # Last, so that its closing line is the last thing printed.
    results["pytest"] = _run("pytest", [str(python), "-m", "pytest", *arguments], quietly=True)
    return max(abs(status) for status in results.values())


def _run(name: str, command: list[str], *, quietly: bool = False) -> int:
    say(f"{name} ...")
    start = time.monotonic()
    # Nothing of ours runs in threads. A run that is ended takes its check with it.
    process = subprocess.Popen(command, cwd=ROOT, preexec_fn=end_with_starter)  # noqa: PLW1509
    status = _status(process)
    if status or not quietly:
        outcome = f"FAILED (exit status {status})" if status else "passed"
        say(f"{name}: {outcome} in {time.monotonic() - start:.0f} s")
    return status


def _status(process: subprocess.Popen[bytes]) -> int:
    """Its exit status. A key press reaches it too: it is left the time to clear away, and nothing more is begun."""
    pressed = False
    while True:
        try:
            status = process.wait()
        except KeyboardInterrupt:
            pressed = True
        else:
            break
    if pressed:
        raise KeyboardInterrupt
    return status


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit("test: stopped")
