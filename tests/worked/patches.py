"""JSON Patch (RFC 6902): the operations that a twist needs, and JSON Pointer (RFC 6901)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import deepcopy
from typing import Any


def keys_of(pointer: str) -> list[str]:
    """The keys of a pointer, unescaped."""
    return [key.replace("~1", "/").replace("~0", "~") for key in pointer.split("/")[1:]]


def at(document: Any, pointer: str) -> Any:
    """The value that a pointer points to."""
    for key in keys_of(pointer):
        document = document[int(key)] if isinstance(document, list) else document[key]
    return document


def patched(document: Any, patch: Sequence[Mapping[str, Any]]) -> Any:
    """A copy of a document after the operations add, replace, remove and copy.

    Raises:
        KeyError, IndexError: where replace, remove or copy points to nothing.
        ValueError: for another operation.
    """
    changed = deepcopy(document)
    for step in patch:
        if step["op"] not in ("add", "replace", "remove", "copy"):
            raise ValueError(f"no such operation here: {step['op']}")
        value = deepcopy(at(changed, step["from"])) if step["op"] == "copy" else deepcopy(step.get("value"))
        *way, last = keys_of(step["path"])
        parent = changed
        for key in way:
            parent = parent[int(key)] if isinstance(parent, list) else parent[key]
        if isinstance(parent, list):
            index = len(parent) if last == "-" else int(last)
            if step["op"] in ("replace", "remove"):
                del parent[index]
            if step["op"] != "remove":
                parent.insert(index, value)
        else:
            if step["op"] in ("replace", "remove"):
                del parent[last]
            if step["op"] != "remove":
                parent[last] = value
    return changed
