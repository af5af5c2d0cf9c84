"""The demonstration, run inside the environment: database, schema, fixtures, service, a first quote, then wait."""

from __future__ import annotations

import argparse
import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from deploy.demo_keys import KeysError, demo_keys, demo_secret, in_words  # noqa: E402  # the path is set above
from deploy.embedded import EmbeddedError, embedded_server, start_guarded, stop_guarded  # noqa: E402  # path set above
from deploy.environment import say  # noqa: E402  # the path is set above
from deploy.table import quote_table  # noqa: E402  # the path is set above

READY_S = 240.0
PORT_PATIENCE_S = 5.0
FIRST_QUOTE = ROOT / "fixtures" / "requests" / "first-quote.json"


class DemoError(RuntimeError):
    """The demonstration cannot go on; the message says what to do."""


class Stopped(Exception):  # noqa: N818  # not an error: somebody asked us to stop
    """SIGINT or SIGTERM arrived."""


def main(arguments: list[str]) -> int:
    """Run the demonstration. Returns the exit status."""
    asked = _parse(arguments)
    for name in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(name, _stop)
    try:
        _demonstrate(asked)
    except Stopped:
        say("stopped")
    except (DemoError, EmbeddedError, KeysError) as fault:
        print(f"start: {fault}", file=sys.stderr)
        return 1
    return 0


def _parse(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="start.py")
    parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
    parser.add_argument("--port", type=int, default=8080, help="port to listen on")
    parser.add_argument("--data-dir", type=Path, default=ROOT / ".data", help="where the embedded database lies")
    parser.add_argument("--once", action="store_true", help="stop after the first quote")
    return parser.parse_args(arguments)


def _stop(number: int, _: FrameType | None) -> None:
    # A second key press must not cut short what the first one began.
    for name in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(name, signal.SIG_IGN)
    raise Stopped(signal.Signals(number).name)


def _demonstrate(asked: argparse.Namespace) -> None:
    _check_port(asked.host, asked.port)
    with _database(asked.data_dir) as url:
        environment = os.environ | {
            "SERVICE_DATABASE_URL": url,
            "SERVICE_HOST": asked.host,
            "SERVICE_PORT": str(asked.port),
            "SERVICE_KEY_SECRET": demo_secret(asked.data_dir),
            "SERVICE_OPEN_SCOPES": "quote",
            # Enough for whoever tries it out with a loop of their own.
            "SERVICE_QUOTA_PER_ADDRESS": "6000",
        }
        say("bringing the schema up to date")
        _command(environment, "migrate")
        say("loading the base book and the demo regions")
        _command(environment, "load", str(ROOT / "fixtures" / "rates"))
        say(f"starting the service on {asked.host} port {asked.port}")
        with _service(environment) as service:
            address = f"http://{_reachable(asked.host)}:{asked.port}"
            _wait_until_ready(service, address)
            say("asking for a first quote")
            print(f"\n{quote_table(*_quote(address))}\n", flush=True)
            keys = demo_keys(asked.data_dir, environment, address, json.loads(FIRST_QUOTE.read_bytes())["region"])
            print(f"{in_words(keys)}\n\nDocs: {address}/docs\n", flush=True)
            if not asked.once:
                say("serving until Ctrl-C")
                status = service.wait()
                raise DemoError(f"the service ended by itself with exit status {status}")


def _check_port(host: str, port: int) -> None:
    """Fail before any work if the port is taken. A killed run's service may need a moment to leave it."""
    until = time.monotonic() + PORT_PATIENCE_S
    while True:
        with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((host, port))
            except OSError as fault:
                if time.monotonic() > until:
                    raise DemoError(
                        f"port {port} of {host} cannot be used ({fault}); give another with --port"
                    ) from fault
                time.sleep(0.2)
            else:
                return


@contextmanager
def _database(folder: Path) -> Iterator[str]:
    """The address of the database: the one that was set, or an embedded one."""
    if given := os.environ.get("SERVICE_DATABASE_URL"):
        say("using the database of SERVICE_DATABASE_URL")
        yield given
        return
    say(f"starting the embedded database in {folder}")
    with embedded_server(folder, say) as url:
        yield url


def _command(environment: dict[str, str], *arguments: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "service", *arguments],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise DemoError(f"service {arguments[0]} failed:\n{done.stdout}{done.stderr}")
    for line in done.stdout.splitlines():
        say(f"  {line}")


@contextmanager
def _service(environment: dict[str, str]) -> Iterator[subprocess.Popen[bytes]]:
    """The running service, which ends with us, however we end."""
    guard = start_guarded([sys.executable, "-m", "service", "serve"], gentle="TERM", cwd=ROOT, environment=environment)
    try:
        yield guard
    finally:
        say("stopping the service")
        stop_guarded(guard)


def _reachable(host: str) -> str:
    """An address that a client on this machine can use."""
    if host in ("0.0.0.0", "::"):  # noqa: S104  # read from the caller, not bound here
        return "127.0.0.1"
    return f"[{host}]" if ":" in host else host


def _wait_until_ready(service: subprocess.Popen[bytes], address: str) -> None:
    until = time.monotonic() + READY_S
    said = "nothing"
    while time.monotonic() < until:
        if service.poll() is not None:
            raise DemoError(f"the service ended with exit status {service.returncode} before it was ready")
        try:
            with urllib.request.urlopen(f"{address}/readyz", timeout=5) as answer:
                answer.read()
                return
        except urllib.error.HTTPError as fault:
            said = fault.read().decode(errors="replace")
        except OSError:
            pass
        time.sleep(0.1)
    raise DemoError(f"the service is not ready after {READY_S:.0f} s; it last said: {said}")


def _quote(address: str) -> tuple[dict[str, Any], float]:
    """The first quote, and how long it took [s]."""
    request = urllib.request.Request(
        f"{address}/v1/quotes",
        data=FIRST_QUOTE.read_bytes(),
        headers={"Content-Type": "application/json", "Accept": "application/json"},
        method="POST",
    )
    start = time.monotonic()
    try:
        with urllib.request.urlopen(request, timeout=60) as answer:
            return json.load(answer), time.monotonic() - start
    except urllib.error.HTTPError as fault:
        said = fault.read().decode(errors="replace")
        raise DemoError(f"the first quote was answered with status {fault.code}: {said}") from fault


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
