"""A server on one core and its load on another: the whole application and the bare one, asked in turn."""

from __future__ import annotations

import http.client
import multiprocessing
import os
import socket
import time
from collections.abc import Mapping
from statistics import median


def medians(bodies: Mapping[str, bytes], rounds: int) -> dict[tuple[str, str], float]:
    """Median time of a request over HTTP by application and payload [s]."""
    servers = {name: _start(f"tests.bench.serving:{name}") for name in ("service_app", "bare_app")}
    if hasattr(os, "sched_setaffinity") and (os.cpu_count() or 1) > 1:
        os.sched_setaffinity(0, {1})
    times: dict[tuple[str, str], list[float]] = {}
    try:
        lines = {name: http.client.HTTPConnection("127.0.0.1", port, timeout=60.0) for name, (_, port) in servers.items()}
        for _ in range(rounds):
            for payload, body in bodies.items():
                for name, line in lines.items():
                    times.setdefault((name, payload), []).append(_ask(line, body))
        for line in lines.values():
            line.close()
    finally:
        for process, _ in servers.values():
            process.terminate()
            process.join(10.0)
    return {key: median(values) for key, values in times.items()}


def _ask(line: http.client.HTTPConnection, body: bytes) -> float:
    begin = time.perf_counter()
    line.request("POST", "/v1/quotes", body, {"Content-Type": "application/json"})
    answer = line.getresponse()
    text = answer.read()
    if answer.status != 200:
        raise RuntimeError(f"status {answer.status}: {text[:500]!r}")
    return time.perf_counter() - begin


def _start(target: str) -> tuple[multiprocessing.process.BaseProcess, int]:
    """A server process on the first core, once it listens."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
    process = multiprocessing.get_context("spawn").Process(target=_serve, args=(target, port))
    process.start()
    for _ in range(600):
        try:
            socket.create_connection(("127.0.0.1", port), 0.5).close()
        except OSError:
            time.sleep(0.05)
        else:
            return process, port
    raise RuntimeError(f"{target} does not listen")


def _serve(target: str, port: int) -> None:
    from granian.constants import Interfaces
    from granian.server import Server

    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {0})
    Server(target, factory=True, address="127.0.0.1", port=port, interface=Interfaces.ASGI, workers=1, log_enabled=False).serve()
