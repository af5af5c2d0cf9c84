"""What a changed fact may change: no method comes in or goes out whose gates do not read it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tests.worked.reading import Group, Reading


def state_of(group: Group) -> dict[str, str]:
    """Each method's state: offered or ruled out."""
    return {**dict.fromkeys(group.ruled_out, "ruled out"), **dict.fromkeys(group.offered, "offered")}


def moved(before: Reading, after: Reading, may_move: Mapping[str, Any]) -> list[str]:
    """Methods that came in or went out although nothing that their gates read has changed.

    Args:
        before, after: the answers without and with the change.
        may_move: place of a defect to the methods that may move, or "any" where the member itself was changed.
    """
    found = []
    places = {defect["id"]: k for k, defect in enumerate(after.defects)}
    for k, defect in enumerate(before.defects):
        if defect["id"] not in places:
            continue
        allowed = may_move.get(str(k), [])
        old, new = before.groups(k), after.groups(places[defect["id"]])
        if allowed == "any" or not old or not new:
            continue
        for group in new:
            was = state_of(next((g for g in old if set(g.found["pieces"]) & set(group.found["pieces"])), old[0]))
            now = state_of(group)
            found += [
                f"defect {k}: {method} was {was.get(method, 'not thought of')}, is now "
                f"{now.get(method, 'not thought of')}, and its gates do not read what changed"
                for method in sorted(was.keys() | now.keys())
                if was.get(method) != now.get(method) and method not in allowed
            ]
    return found
