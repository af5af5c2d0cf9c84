"""Prints the table.

Times are processor time, medians over rounds in which all payloads and columns take turns, so that a busy machine troubles
all of them alike. Taking turns also means that each finds the caches as the others left them, as on a server; decoding and
encoding, which are short, suffer most from that, so their ratio is printed back to back as well.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import platform
import time
from collections.abc import Callable, Mapping, Sequence
from statistics import median
from typing import Any

import msgspec
import numpy as np

from service.engine.quote import quote
from tests.bench import live, payloads
from tests.bench.naive import first_in_each
from tests.bench.serving import Bare, call, service_app
from tests.engine.books import book
from tests.engine.cases import knowledge

WORLDS = 128
SINGLE = ("measured", "ballpark")
"""Payloads of one defect, timed in every round; the jobs in every third."""
AIMS = (
    ("ballpark", "engine / (decode + encode)", 60.0),
    ("measured", "engine / (decode + encode)", 30.0),
    ("job of 100", "engine / engine of one ballpark", 40.0),
    ("ballpark", "request / bare ASGI", 1.15),
)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--rounds", type=int, default=15, help="rounds of the single defects; jobs take a third of them")
    parser.add_argument("--live", action="store_true", help="also over HTTP: server and load on one core each")
    asked = parser.parse_args()
    bare, app, encoder = Bare(), service_app(), msgspec.json.Encoder()
    asks = {"measured": payloads.measured(), "ballpark": payloads.ballpark()}
    asks |= {f"job of {n}": payloads.job(n) for n in (1, 3, 10, 30, 100, 300)}
    bodies = {name: encoder.encode(payload) for name, payload in asks.items()}
    print(f"Python {platform.python_version()}, numpy {np.__version__}, {os.cpu_count()} cores, {platform.machine()}\n")
    rows = _measure(bodies, bare, app, asked.rounds)
    _print_table(rows)
    _print_aims(rows)
    _print_back_to_back({n: bodies[n] for n in SINGLE}, bare, app)
    if asked.live:
        _print_live({n: bodies[n] for n in (*SINGLE, "job of 10")}, asked.rounds)


def _measure(bodies: Mapping[str, bytes], bare: Bare, app: Any, rounds: int) -> dict[str, dict[str, float]]:
    """Medians by payload and column [s], with the bytes of the answer."""
    ways = {name: _ways(body, bare, app) for name, body in bodies.items()}
    times: dict[tuple[str, str], list[float]] = {}
    for k in range(rounds):
        for name, columns in ways.items():
            for column, run in columns.items():
                if k % 3 and (column == "naive" or name not in SINGLE):
                    continue
                times.setdefault((name, column), []).append(_timed(run))
    rows: dict[str, dict[str, float]] = {name: {} for name in bodies}
    for (name, column), values in times.items():
        rows[name][column] = median(values)
    for name, body in bodies.items():
        rows[name]["bytes"] = float(len(bare.encoder.encode(bare.shown(body))))
    return rows


def _timed(run: Callable[[], object]) -> float:
    """Processor time of one run [s]."""
    begin = time.process_time()
    run()
    return time.process_time() - begin


def _ways(body: bytes, bare: Bare, app: Any) -> dict[str, Callable[[], object]]:
    """What is timed for one payload."""
    _, survey = bare.survey(body)
    shown = bare.shown(body)
    loop = asyncio.new_event_loop()

    def ask(target: Any) -> object:
        status, answer = loop.run_until_complete(call(target, body))
        if status != 200:
            raise RuntimeError(f"status {status}: {answer[:500]!r}")
        return answer

    ways: dict[str, Callable[[], object]] = {
        "decode + encode": lambda: (bare.reader.read(body), bare.encoder.encode(shown)),
        "engine": lambda: quote(survey, book(), knowledge(), bare.methods),
        "bare ASGI": lambda: ask(bare),
        "request": lambda: ask(app),
    }
    if len(survey.defects) == 1:
        ways["naive"] = lambda: first_in_each(survey, book(), knowledge(), bare.methods, WORLDS)
    return ways


def _print_table(rows: Mapping[str, Mapping[str, float]]) -> None:
    columns = ("decode + encode", "engine", "bare ASGI", "request", "naive")
    print(_line(["[ms]", *columns, "answer [kB]"]))
    for name, row in rows.items():
        cells = [f"{row[c] * 1e3:.2f}" if c in row else "-" for c in columns]
        print(_line([name, *cells, f"{row['bytes'] / 1e3:.0f}"]))


def _print_aims(rows: Mapping[str, Mapping[str, float]]) -> None:
    found = {
        "engine / (decode + encode)": lambda row: row["engine"] / row["decode + encode"],
        "engine / engine of one ballpark": lambda row: row["engine"] / rows["ballpark"]["engine"],
        "request / bare ASGI": lambda row: row["request"] / row["bare ASGI"],
    }
    print("\n" + _line(["ratio", "", "measured", "aim"]))
    for name, what, aim in AIMS:
        ratio = found[what](rows[name])
        print(f"{name + ': ' + what:<48}{ratio:>12.2f}{'<= ' + format(aim, 'g'):>12}{'' if ratio <= aim else '   missed'}")
    for name in SINGLE:
        print(f"{name + ': naive / engine':<48}{rows[name]['naive'] / rows[name]['engine']:>12.2f}")


def _print_back_to_back(bodies: Mapping[str, bytes], bare: Bare, app: Any, runs: int = 30) -> None:
    for name, body in bodies.items():
        ways = _ways(body, bare, app)
        alone, engine = (median(_timed(ways[c]) for _ in range(runs)) for c in ("decode + encode", "engine"))
        print(f"{name + ': engine / (decode + encode), back to back':<48}{engine / alone:>12.2f}")


def _print_live(bodies: Mapping[str, bytes], rounds: int) -> None:
    print("\nOver HTTP, server and load on one core each [ms]")
    times = live.medians(bodies, rounds)
    print(_line(["", "bare ASGI", "request", "ratio"]))
    for name in bodies:
        bare, whole = times["bare_app", name], times["service_app", name]
        print(_line([name, f"{bare * 1e3:.2f}", f"{whole * 1e3:.2f}", f"{whole / bare:.2f}"]))


def _line(cells: Sequence[str]) -> str:
    return f"{cells[0]:<14}" + "".join(f"{c:>17}" for c in cells[1:])


if __name__ == "__main__":
    main()
