"""The published contract, and a copy of it that knows the words of the demo."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
PUBLISHED = ROOT / "openapi" / "openapi.json"


def published() -> dict[str, Any]:
    """The contract as it lies in the repository."""
    document: dict[str, Any] = json.loads(PUBLISHED.read_text("utf-8"))
    return document


def narrowed(document: dict[str, Any], catalogue: dict[str, Any], regions: list[str]) -> dict[str, Any]:
    """A copy in which regions, members, damage, causes and words are lists of real codes.

    A request made from the published form nearly always names an unknown region and goes no further. One made from this copy
    reaches the engine.
    """
    made = copy.deepcopy(document)
    schemas = made["components"]["schemas"]
    schemas["RegionCode"] = {"type": "string", "enum": regions}
    del schemas["QuoteRequest"]["properties"]["rates"]
    defect = schemas["Defect"]["properties"]
    defect["element"] = {"type": "string", "enum": [e["code"] for e in catalogue["elements"]]}
    defect["damage"] = {"type": "string", "enum": [d["code"] for d in catalogue["damages"]]}
    schemas["Cause"]["properties"]["code"] = {"type": "string", "enum": [c["code"] for c in catalogue["causes"]]}
    for fact in catalogue["facts"]:
        if not fact["choices"]:
            continue
        one: dict[str, Any] = {"type": "string", "enum": fact["choices"]}
        if fact["dimension"] == "words":
            one = {"type": "array", "items": one, "maxItems": 16}
        for name in ("Defect", "Building", "Site"):
            if fact["name"] in schemas[name]["properties"]:
                schemas[name]["properties"][fact["name"]] = one
    schemas["QuoteRequest"]["properties"]["defects"]["maxItems"] = 2
    schemas["QuoteRequest"]["properties"]["priced_on"] = {"type": "string", "enum": ["2026-05-04", "2027-01-15"]}
    return made
