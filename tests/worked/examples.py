"""The worked examples on disk: requests with facts only, and beside them what a restorer expects of the answer."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

WORKED = Path(__file__).parents[2] / "fixtures" / "worked"


def names() -> list[str]:
    """Names of all examples."""
    return sorted(path.stem for path in (WORKED / "requests").glob("*.json"))


def request(name: str) -> dict[str, Any]:
    """The body to post, as it stands in the file."""
    body: dict[str, Any] = json.loads((WORKED / "requests" / f"{name}.json").read_text("utf-8"))
    return body


def expected(name: str) -> dict[str, Any]:
    """What is expected of the answer."""
    wanted: dict[str, Any] = json.loads((WORKED / "expected" / f"{name}.json").read_text("utf-8"))
    return wanted


def twists() -> Iterator[tuple[str, int, str]]:
    """Every twist of every example: name, place, what changes."""
    for name in names():
        for k, twist in enumerate(expected(name)["twists"]):
            yield name, k, twist["change"]
