"""Examples of the contract. Each is sent by a test."""

from __future__ import annotations

from typing import Any

from service.web.problems import KINDS

REGION = "kestrel-range"

SMALLEST: dict[str, Any] = {
    "region": REGION,
    "defects": [{"element": "under_window", "damage": "soft_wood", "length": "8 ft"}],
}
PHONE_CALL: dict[str, Any] = {
    "region": REGION,
    "defects": [{
        "id": "porch post", "element": "post_porch", "damage": "foot_rot", "from_end": "3-9 in", "section": "10 in",
        "count": 2, "of": 6, "base": "slab", "bears": ["porch", "roof"],
    }],
    "building": {"year_built": 1978, "occupied": True},
    "level": "told",
    "view": "summary",
}
MEASURED: dict[str, Any] = {
    "region": REGION,
    "priced_on": "2026-05-04",
    "level": "visited",
    "defects": [{
        "id": "W2-3", "element": "wall_low", "damage": "pocket_deep", "section": "11 in", "profile": "round",
        "depth": "3 1/2 in", "length": "42 in", "width": "7 in", "side": "outer", "inner_face": "sound",
        "moisture": "24 %", "moisture_depth": "1 in", "course": 3, "courses": 11, "clear_length": "18 ft",
        "stop_left": "6 ft 6 in", "stop_right": "8 ft", "wall": "south", "position": "6 ft 6 in", "height": "2 ft",
        "species": "lodgepole_pine", "visibility": "eye_level", "causes": [{"code": "K09", "state": "in_price"}],
    }],
    "building": {"year_built": 1991, "finish": "film", "occupied": True},
    "site": {"distance": "35 mi", "access": "drive_up", "wood_temperature": "55 degF"},
    "wishes": {"lifetime_cost": 1.5, "latest": "2026-10-31"},
}
REQUESTS = (
    ("smallest", "All that is needed, and one fact", SMALLEST),
    ("phone call", "Two of six posts, told on the phone; a small answer", PHONE_CALL),
    ("measured", "An estimator's defect, with what was measured", MEASURED),
)
"""Requests of the contract: name, in words, body."""

_DETAILS = {
    "malformed-json": "The body is not JSON: JSON is malformed: invalid character (byte 13).",
    "invalid-request": "2 fields are not in the form of the contract.",
    "invalid-parameter": "'page' is no parameter of this address (none is taken here).",
    "unknown-region": "No region 'northvalley'. There are base, kestrel-range.",
    "nothing-priced": "The defect cannot be priced.",
}
_ERRORS: dict[str, list[dict[str, Any]]] = {
    "invalid-request": [
        {"detail": "has no unit. Add one of in, ft, mm, cm, m: write it like '3 in', '3/4 in' or '1 1/2 in'.",
         "pointer": "#/defects/0/depth", "code": None},
        {"detail": "is not a field of Defect. Did you mean species?", "pointer": "#/defects/0/specie", "code": None},
    ],
    "invalid-sheet": [
        {"detail": "has a comma. Write a point (12.50), or send a sheet with semicolons between its cells.", "pointer": None,
         "code": None, "row": 7, "column": "likely", "value": "12,50"},
    ],
    "confirmation-needed": [
        {"detail": "resources/lead, Lead restoration carpenter: likely 1280 is 10 times the 128 in force.", "pointer": None,
         "code": "confirm", "token": "resources/lead=950/1280/1750 h"},
    ],
    "draft-outdated": [
        {"detail": "resources/lead: 95 / 128 / 175 h became 95 / 131 / 175 h in revision 4. The draft changes it too.",
         "pointer": None, "code": "moved_here_too"},
    ],
    "nothing-priced": [
        {"detail": "'14 in': deeper than the member is thick (11 in). Swapped?", "pointer": "#/defects/0/depth",
         "code": "depth_over_section"},
    ],
}

_NOWHERE = {"row": None, "column": None, "value": None, "token": None}
"""What a fault says that is in no sheet and needs no confirmation."""


def problem_example(slug: str) -> dict[str, Any]:
    """A problem of that kind as it is sent."""
    kind = KINDS[slug]
    return {
        "type": f"/problems/{slug}", "title": kind.title, "status": kind.status,
        "detail": _DETAILS.get(slug, kind.means), "instance": "/v1/quotes",
        "request_id": "3f0c8f7e-1f7c-4a0e-9a55-0d6d3f1f8f00",
        "errors": [{**_NOWHERE, **fault} for fault in _ERRORS.get(slug, [])],
    }
