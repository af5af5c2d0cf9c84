"""Start the service on this machine: environment, database, base book, demo regions, a first quote.

    python3 deploy/start.py [--port 8080] [--host 127.0.0.1] [--data-dir DIR] [--once]

Needs Python 3.11 or newer and nothing else. SERVICE_DATABASE_URL takes a PostgreSQL 15 or newer instead of the
embedded one. Stop it with Ctrl-C.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from deploy.environment import RUNTIME, SetUpError, ensure_environment  # noqa: E402  # the path is set just above


def main() -> None:
    """Make the environment, then become the demonstration in it: the same process, so that signals reach it."""
    try:
        python = ensure_environment(RUNTIME)
    except SetUpError as fault:
        sys.exit(f"start: {fault}")
    except KeyboardInterrupt:
        sys.exit("start: stopped while the environment was made; the next start goes on with it")
    sys.stdout.flush()
    os.execv(python, [str(python), str(ROOT / "deploy" / "demo.py"), *sys.argv[1:]])


if __name__ == "__main__":
    if {"-h", "--help"} & set(sys.argv[1:]):
        print(__doc__)
    else:
        main()
