"""What speaks for a cause of moisture: what was reported, the member, the damage, and the facts around it (B4).

Weights are judgement (J) and lie with the causes; here is only what counts as seen.
"""

from __future__ import annotations

from collections.abc import Mapping

from service.engine.case import Case
from service.engine.knowledge import Cause

DRY_PCT = 15.0
"""Moisture under which nothing feeds the damage (K21; common practice, no source) [%]."""
SHORT_OVERHANG_FT = 2.0
"""A roof that reaches out less leaves the wall to the rain (Wood Handbook ch. 18 asks for 0.6 m) [ft]."""
UPWARD = (12.0, 2.5)
"""Clock positions between which a check faces up: from 12 to about half past two (G18)."""


def weight_of(cause: Cause, seen: frozenset[str]) -> float:
    """Sum of the weights of what was seen for a cause."""
    return sum(weight for code, weight in cause.evidence.items() if code in seen)


def seen_in(case: Case) -> frozenset[str]:
    """Codes of members, damage and facts that hold for this case."""
    seen = {case.element.code, case.damage.code}
    seen.update(name for name, holds in case.flags.items() if holds)
    seen.update(_words(case.words))
    if float(case.soil_above_in) > 0.0:
        seen.add("soil_above")
    if case.element.family == "tail" and float(case.tail_in) > float(case.drip_line_in):
        seen.add("overhang_short")
    if "overhang" in case.known and float(case.overhang_ft) < SHORT_OVERHANG_FT:
        seen.add("overhang_short")
    if case.word("inner_face") == "damp" or case.word("side") == "inner":
        seen.add("damp_inside")
    if "moisture" in case.known and float(case.moisture_pct) < DRY_PCT:
        seen.add("dry")
    if case.damage.kind == "check" and "clock" in case.known and _faces_up(float(case.clock)):
        seen.add("check_up")
    return frozenset(seen)


def _words(words: Mapping[str, str]) -> set[str]:
    """Codes of a finish and of a room; the name of a fact where all that counts is that there is something."""
    seen = {words[name] for name in ("finish", "room") if words.get(name)}
    seen.update(name for name in ("aspect", "earlier_repair") if words.get(name, "none") != "none")
    if words.get("room") == "none" and words.get("finish") != "none":
        seen.discard("none")
    return seen


def _faces_up(clock: float) -> bool:
    start, end = UPWARD
    return clock >= start or clock <= end
