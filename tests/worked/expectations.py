"""What an answer has to be, read from the expectation files; every fault is reported, not only the first.

An expectation has, for each defect: `first` (methods of which one is first), `phases` (methods of the first plan's steps,
in this order), `acceptable` (what else may be offered beside them), `must_not` (R3: not among the options, and struck out
with its gate or not applicable at all), `must_not_first`, `offered`, `ruled_out` (method to gate), `urgency`, `says`
(cautions and escalations), `silent` (codes that must not appear), `causes`, `delays`, `warranty`, `wood`.
For the whole: `numbers` (a number or a ratio, with its bounds), `rejected`, `provisional`, `dropped`, `complete`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from tests.engine.cases import knowledge
from tests.worked.patches import patched
from tests.worked.prices import line_of, parts_priced
from tests.worked.reading import Group, Reading, basis_of, money

Ask = Callable[[Mapping[str, Any]], Reading]


def faults(body: Mapping[str, Any], expected: Mapping[str, Any], ask: Ask) -> list[str]:
    """Everything in which the answer to a request is not as expected."""
    answer = ask(body)
    found: list[str] = []
    for want in expected.get("defects", ()):
        for group in _groups(answer, want):
            found += [f"defect {want['defect']} {list(group.found['pieces'])}: {f}" for f in _of_group(group, want)]
    found += _of_job(answer, expected)
    for want in expected.get("numbers", ()):
        value = number_of(want["of"], body, ask)
        if "per" in want:
            value /= number_of(want["per"], body, ask)
        low, high = Decimal(str(want.get("min", "-1e12"))), Decimal(str(want.get("max", "1e12")))
        if not low <= value <= high:
            found.append(f"{want['what']}: {float(value):.4g}, expected {want.get('min')} to {want.get('max')}")
    return found


def _groups(answer: Reading, want: Mapping[str, Any]) -> Iterator[Group]:
    for group in answer.groups(want["defect"]):
        if "pieces" not in want or set(want["pieces"]) & set(group.found["pieces"]):
            yield group


def _of_group(group: Group, want: Mapping[str, Any]) -> Iterator[str]:
    offered, out = group.offered, group.ruled_out
    if "first" in want and group.first["method"] not in want["first"]:
        yield f"first is {group.first['method']}, expected one of {want['first']}"
    if "phases" in want and not _in_order(want["phases"], [s["method"] for s in group.first["steps"]]):
        steps = list(dict.fromkeys(s["method"] for s in group.first["steps"]))
        yield f"steps of the first plan are {steps}, expected {want['phases']} in this order"
    if "acceptable" in want:
        allowed = {*want.get("first", ()), *want["acceptable"]}
        for option in group.options:
            if not option["stop_gap"] and not option["comparison_only"] and option["method"] not in allowed:
                yield f"{option['method']} is offered; only {sorted(allowed)} may be"
    for method in want.get("must_not", ()):
        if method in offered:
            yield f"{method} is offered"
        elif method not in out and _applies(group, method):
            yield f"{method} is neither offered nor ruled out, although it applies to such a member"
    for method in want.get("must_not_first", ()):
        if group.first["method"] == method:
            yield f"{method} is first"
    for method in want.get("offered", ()):
        if method not in offered:
            yield f"{method} is not offered ({out.get(method, 'not thought of')})"
    for method, gate in want.get("ruled_out", {}).items():
        if out.get(method) != gate:
            yield f"{method} is ruled out by {out.get(method)}, expected {gate}"
    yield from _of_words(group, want)


def _of_words(group: Group, want: Mapping[str, Any]) -> Iterator[str]:
    urgency = group.found["assessment"]["urgency"]
    if "urgency" in want and urgency not in want["urgency"]:
        yield f"urgency is {urgency}, expected one of {want['urgency']}"
    for code in want.get("says", ()):
        if code not in group.said:
            yield f"nothing is said of {code}; said is {sorted(group.said)}"
    for code in want.get("silent", ()):
        if code in group.said:
            yield f"{code} is said"
    causes = {c["code"]: c["state"] for c in group.defect["causes"]}
    for code, state in want.get("causes", {}).items():
        if causes.get(code) != state:
            yield f"cause {code} is {causes.get(code)}, expected {state}"
    for method, reasons in want.get("delays", {}).items():
        option = group.option(method)
        have = {d["reason"] for d in option["delays"]} if option else None
        if have is None or not set(reasons) <= have:
            yield f"{method} waits for {have}, expected {reasons}"
    for method, reasons in want.get("no_delays", {}).items():
        option = group.option(method)
        if option is None or {d["reason"] for d in option["delays"]} & set(reasons):
            yield f"{method} waits for {[d['reason'] for d in option['delays']] if option else 'ever'}"
    if "warranty" in want and group.first["warranty"] != want["warranty"]:
        yield f"warranty is {group.first['warranty']}"
    if "waiver" in want and bool(group.first["waiver"]) != want["waiver"]:
        yield f"waiver is {group.first['waiver']!r}"
    for method, count in want.get("wood", {}).items():
        option = group.option(method)
        have_pieces = len(option["wood"]) if option else -1
        if (have_pieces > 0) != (count > 0) or have_pieces < count:
            yield f"{method} brings {have_pieces} kinds of wood, expected {count}"


def _of_job(answer: Reading, expected: Mapping[str, Any]) -> Iterator[str]:
    status = {d["id"]: d["status"] for d in answer.defects}
    for name in ("rejected", "provisional", "priced"):
        for one in expected.get(name, ()):
            if status[one] != name:
                yield f"{one} is {status[one]}, expected {name}"
    for one, words in expected.get("slips", {}).items():
        slips = " ".join(str(s) for d in answer.defects if d["id"] == one for s in d["slips"])
        for word in words:
            if word not in slips:
                yield f"the slips of {one} do not name {word}: {slips}"
    if "complete" in expected and answer.job["complete"] != expected["complete"]:
        yield f"job is complete: {answer.job['complete']}"
    for code in expected.get("job_says", ()):
        if code not in answer.job["cautions"]:
            yield f"the job says nothing of {code}"
    phases = expected.get("job_phases")
    if phases and not _in_order(phases, [s["method"] for s in answer.job["order"]]):
        yield f"the job's order is {[s['method'] for s in answer.job['order']]}, expected {phases}"
    for method in expected.get("one_at_a_time", ()):
        spans = sorted((s["starts_day"], s["ends_day"]) for s in answer.job["order"] if s["method"] == method)
        if len(spans) < 2 or any(b[0] < a[1] - 1e-6 for a, b in zip(spans, spans[1:], strict=False)):
            yield f"{method} is not done one at a time: {spans}"


def _in_order(wanted: Sequence[str], seen: Sequence[str]) -> bool:
    """Whether the wanted codes stand in what was seen, in their order."""
    rest = iter(seen)
    return all(any(code == want for code in rest) for want in wanted)


def _applies(group: Group, method: str) -> bool:
    """Whether a method can be thought of for such a member and such damage."""
    record = knowledge().methods[method]
    element, damage = group.defect["element"], group.defect["damage"]
    return element in record.elements and damage in record.damages


def number_of(want: Mapping[str, Any], body: Mapping[str, Any], ask: Ask) -> Decimal:
    """A number out of an answer, or a price that the pricing function gives.

    A number is `{"rate": [section, code]}`, `{"sum": [...]}`, `{"job": path}`, `{"facts": path}` or one of a plan's:
    `basis` (package, whole or a part), `clock`, `life`, `wood` (volume_ft3, stock_ft, ready_in_days) or `rods`. `patch`
    asks with changed facts, `only` asks for one defect alone, `by_function` prices a method that the answer does not.
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
        value: Any = answer.job
        for key in want["job"].split("."):
            value = value.get(key, 0) if isinstance(value, Mapping) else 0
        return money(value)
    group = answer.group(want.get("defect", 0), want.get("piece", 1))
    option = group.option(want["method"], want.get("variant", "")) if "method" in want else group.first
    assert option is not None, f"{want['method']} is not offered: {group.ruled_out.get(want['method'])}"
    if "clock" in want:
        return money(option["clocks"][want["clock"]])
    if "life" in want:
        return money(option["life"][want["life"]][1])
    if "wood" in want:
        return _wood(option, want["wood"])
    if "resource" in want:
        lines = (line for line in option["lines"] if line["resource"].startswith(want["resource"]))
        return sum((money(line["amount"]) for line in lines), Decimal(0))
    return basis_of(option, want["basis"])


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
