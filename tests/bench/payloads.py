"""Requests that are measured: invented, in the words of the wire."""

from __future__ import annotations

from typing import Any

WALLS = ("north", "east", "south", "west")
KINDS = (
    {"element": "under_window", "damage": "soft_wood"},
    {"element": "wall_low", "damage": "band", "side": "outer"},
    {"element": "sill_log", "damage": "pocket_deep", "section": "12 in"},
    {"element": "log_tail", "damage": "end_rot", "section": "11 in"},
    {"element": "wall_mid", "damage": "check_up", "clock": 1},
    {"element": "post_porch", "damage": "foot_rot", "section": "8 in"},
    {"element": "wall_high", "damage": "woodpecker"},
)
"""Half-known defects: what it is, now and then a size, never how deep."""


def measured() -> dict[str, Any]:
    """An opened-up defect of which all is known that matters."""
    defect = {
        "element": "under_window", "damage": "band", "section": "12 in", "depth": "3 in", "length": "8 ft",
        "width": "9 in", "clear_length": "24 ft", "height": "3 ft", "moisture": "23 %", "openings": 1, "side": "outer",
        "inner_face": "sound", "causes": [{"code": "K09", "state": "in_price"}],
    }
    return {**_to("opened"), "defects": [defect]}


def ballpark() -> dict[str, Any]:
    """A telephone call: section, depth, width, inner face and clear length are not known."""
    defect = {"element": "under_window", "damage": "soft_wood", "length": "8 ft", "height": "3 ft"}
    return {**_to("told"), "defects": [defect]}


def job(defects: int) -> dict[str, Any]:
    """A house with half-known defects on four walls."""
    return {**_to("visited"), "defects": [_one(k) for k in range(defects)]}


def _one(k: int) -> dict[str, Any]:
    return {
        **KINDS[k % len(KINDS)], "id": f"d{k}", "wall": WALLS[k % len(WALLS)], "position": f"{3 + 2 * (k % 17)} ft",
        "course": 1 + k % 11, "length": f"{12 + 5 * (k % 13)} in",
    }


def _to(level: str) -> dict[str, Any]:
    return {"region": "base", "priced_on": "2026-06-15", "level": level}
