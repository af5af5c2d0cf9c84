"""Numbers of an answer that an expectation bounds, and prices that only the pricing function gives (R6)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from tests.worked.patches import patched
from tests.worked.prices import line_of, parts_priced
from tests.worked.reading import Reading, basis_of, money

Ask = Callable[[Mapping[str, Any]], Reading]


def number_of(want: Mapping[str, Any], body: Mapping[str, Any], ask: Ask) -> Decimal:
    """A number out of an answer, or a price that the pricing function gives.

    A number is `{"rate": [section, code]}`, `{"sum": [...]}`, `{"job": path}` or one of a plan's: `basis` (package, whole
    or a part), `clock`, `life` (likely), `wood` (volume_ft3, ready_in_days or a size in inches) or `resource` (sum of its
    lines). `patch` asks with changed facts, `only` for one defect alone, `by_function` prices what the answer does not.
    """
    if "sum" in want:
        return sum((number_of(one, body, ask) for one in want["sum"]), Decimal(0))
    if "rate" in want:
        return line_of(body["region"], *want["rate"]).likely
    changed = patched(body, want.get("patch", ()))
    if "only" in want:
        changed = {**changed, "defects": [changed["defects"][want["only"]]]}
    value = _priced(want, changed) if want.get("by_function") else _answered(want, ask(changed))
    return value / Decimal(str(want.get("divided_by", 1)))


def _priced(want: Mapping[str, Any], body: Mapping[str, Any]) -> Decimal:
    parts = parts_priced(
        body, want["method"], defect=want.get("defect", 0), piece=want.get("piece", 1),
        heated=want.get("variant") == "heated", rates=want.get("rates"),
    )
    if want["basis"] == "whole":
        return sum(parts.values(), Decimal(0))
    return parts.get(want["basis"], Decimal(0))


def _answered(want: Mapping[str, Any], answer: Reading) -> Decimal:
    if "job" in want:
        return _of_job(answer.job, want["job"])
    group = answer.group(want.get("defect", 0), want.get("piece", 1))
    option = group.option(want["method"], want.get("variant", "")) if "method" in want else group.first
    assert option is not None, f"{want['method']} is not offered: {group.ruled_out.get(want['method'])}"
    if "resource" in want:
        lines = (line for line in option["lines"] if line["resource"].startswith(want["resource"]))
        return sum((money(line["amount"]) for line in lines), Decimal(0))
    for name, read in OF_PLAN.items():
        if name in want:
            return read(option, want[name])
    raise ValueError(f"no such number: {want}")


def _of_job(job: Mapping[str, Any], path: str) -> Decimal:
    value: Any = job
    for key in path.split("."):
        value = value[key]
    return money(value)


def _wood(option: Mapping[str, Any], what: str) -> Decimal:
    pieces = option["wood"]
    if what == "volume_ft3":
        return sum(
            (money(v["value"]) for piece in pieces for v in piece["volume"] if v["unit"] == "ft3"), Decimal(0)
        )
    if what == "ready_in_days":
        return max((money(piece["ready_in_days"]) for piece in pieces), default=Decimal(0))
    return max((_inches(piece[what]) for piece in pieces), default=Decimal(0))


def _inches(quantity: Mapping[str, Any]) -> Decimal:
    return money(quantity["value"]) * {"in": 1, "ft": 12}[quantity["unit"]]


OF_PLAN: Mapping[str, Callable[[Mapping[str, Any], str], Decimal]] = {
    "clock": lambda option, name: money(option["clocks"][name]),
    "life": lambda option, name: money(option["life"][name][1]),
    "wood": _wood,
    "basis": basis_of,
}
"""Numbers of one plan."""
