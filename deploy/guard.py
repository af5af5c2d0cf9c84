"""Keeps a program running only as long as this script's standard input stays open.

Whoever starts it holds the other end of a pipe. When that process ends - in order, by a signal, or by kill -9 - the
pipe closes, and the program is told to stop: gently, then firmly. Portable, because it needs nothing but a pipe.

    guard.py --signal INT [--user UID:GID] -- program argument ...
"""

from __future__ import annotations

import argparse
import ctypes
import os
import signal
import subprocess
import sys
import threading
from contextlib import suppress

PATIENCE_S = 8.0
"""How long a program may take to end after each request, before the next, firmer one [s]."""

PR_SET_PDEATHSIG = 1
"""From <linux/prctl.h>."""


def main(arguments: list[str]) -> int:
    """Run the program; returns its exit status."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--signal", default="TERM", help="what asks the program to end")
    parser.add_argument("--user", help="UID:GID to run it as")
    parser.add_argument("program", nargs="+")
    asked = parser.parse_args(arguments)
    gentle = signal.Signals[f"SIG{asked.signal}"]
    # Only the pipe decides: a key press in the terminal or a signal to the group must not part guard and program.
    for deaf in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(deaf, signal.SIG_IGN)
    user, group = map(int, asked.user.split(":")) if asked.user else (None, None)
    child = subprocess.Popen(
        asked.program,
        stdin=subprocess.DEVNULL,
        start_new_session=True,
        user=user,
        group=group,
        extra_groups=[] if asked.user else None,
        # Only one thread runs yet, so that Python code between fork and exec is safe.
        preexec_fn=lambda: end_with_starter(gentle),  # noqa: PLW1509
    )
    threading.Thread(target=_watch, args=(child, gentle), daemon=True).start()
    status = child.wait()
    # What it started and did not take along: a firm request ends the program itself, and not its workers. An empty
    # group is no process on Linux, and not ours on macOS.
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(child.pid, signal.SIGKILL)
    return status


def end_with_starter(gentle: signal.Signals = signal.SIGTERM) -> None:
    """Before a program begins: give it its signals back, and on Linux have the kernel tell it should its starter be killed."""
    for heard in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(heard, signal.SIG_DFL)
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, int(gentle))


def _watch(child: subprocess.Popen[bytes], gentle: signal.Signals) -> None:
    """Wait until the pipe closes, then end the program."""
    while os.read(0, 1024):
        pass
    for request in (gentle, signal.SIGQUIT):
        child.send_signal(request)
        try:
            child.wait(PATIENCE_S)
        except subprocess.TimeoutExpired:
            continue
        return
    os.killpg(child.pid, signal.SIGKILL)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
