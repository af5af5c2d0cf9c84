"""Names that stand twice in an object of a body. The decoder takes the last one, and what came before would be lost silently.

RFC 8259, section 4: what a receiver makes of such an object is unpredictable. So it is not guessed here but refused.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from typing import Any

Path = tuple[str | int, ...]
Pairs = list[tuple[str, Any]]


class _Doubled(dict[str, Any]):
    """An object with names that stand twice in it."""

    __slots__ = ("names",)
    names: list[str]


def doubled_in(body: bytes) -> list[Path]:
    """The places of all names that stand twice in their object, of a body that the decoder has taken."""
    found = False

    def made(pairs: Pairs) -> dict[str, Any]:
        nonlocal found
        whole = dict(pairs)
        if len(whole) == len(pairs):
            return whole
        found = True
        return _marked(pairs)

    try:
        # Values do not matter: a number of any length stays a text.
        tree = json.loads(body.decode(), object_pairs_hook=made, parse_int=str, parse_float=str)
        return list(_places(tree, ())) if found else []
    except RecursionError:
        # No request is nested so deep: it is refused for what it holds.
        return []


def _marked(pairs: Pairs) -> _Doubled:
    marked = _Doubled()
    marked.names = [name for name, times in Counter(name for name, _ in pairs).items() if times > 1]
    for name, value in pairs:
        # Of what stands twice the first is kept that has such names itself, so that they are told as well.
        if not isinstance(marked.get(name), (dict, list)):
            marked[name] = value
    return marked


def _places(tree: Any, path: Path) -> Iterator[Path]:
    if isinstance(tree, _Doubled):
        yield from ((*path, name) for name in tree.names)
    children = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for name, child in children:
        yield from _places(child, (*path, name))
