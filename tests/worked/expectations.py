"""What an answer has to be, read from the expectation files; every fault is reported, not only the first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Any

from tests.engine.cases import knowledge
from tests.worked.figures import Ask, number_of
from tests.worked.reading import Group, Reading

Json = Mapping[str, Any]
NO_LOW, NO_HIGH = "-1e12", "1e12"


def faults(body: Json, expected: Json, ask: Ask) -> list[str]:
    """Everything in which the answer to a request is not as expected."""
    answer = ask(body)
    found: list[str] = []
    for want in expected.get("defects", ()):
        for group in _groups(answer, want):
            where = f"defect {want['defect']} {list(group.found['pieces'])}"
            found += [f"{where}: {f}" for name, check in OF_GROUP.items() if name in want for f in check(group, want[name])]
            if "acceptable" in want:
                found += [f"{where}: {f}" for f in _nothing_else(group, {*want.get("first", ()), *want["acceptable"]})]
    found += [f for name, check in OF_JOB.items() if name in expected for f in check(answer, expected[name])]
    for want in expected.get("numbers", ()):
        found += _out_of_bounds(want, body, ask)
    return found


def _out_of_bounds(want: Json, body: Json, ask: Ask) -> Iterator[str]:
    value = number_of(want["of"], body, ask)
    if "per" in want:
        value /= number_of(want["per"], body, ask)
    if not Decimal(str(want.get("min", NO_LOW))) <= value <= Decimal(str(want.get("max", NO_HIGH))):
        yield f"{want['what']}: {float(value):.4g}, expected {want.get('min')} to {want.get('max')}"


def _groups(answer: Reading, want: Json) -> Iterator[Group]:
    for group in answer.groups(want["defect"]):
        if "pieces" not in want or set(want["pieces"]) & set(group.found["pieces"]):
            yield group


# ---- of one group of alike pieces ---------------------------------------------------------------------------------


def _first(group: Group, methods: Sequence[str]) -> Iterator[str]:
    """One of these methods is the first plan."""
    if group.first["method"] not in methods:
        yield f"first is {group.first['method']}, expected one of {methods}"


def _must_not_first(group: Group, methods: Sequence[str]) -> Iterator[str]:
    """None of these is the first plan."""
    if group.first["method"] in methods:
        yield f"{group.first['method']} is first"


def _phases(group: Group, methods: Sequence[str]) -> Iterator[str]:
    """Steps of these methods stand in the first plan, in this order."""
    steps = [step["method"] for step in group.first["steps"]]
    if not in_order(methods, steps):
        yield f"steps of the first plan are {list(dict.fromkeys(steps))}, expected {methods} in this order"


def _nothing_else(group: Group, methods: set[str]) -> Iterator[str]:
    """Nothing but these is offered, stop-gaps and comparisons aside."""
    for option in group.options:
        if not option["stop_gap"] and not option["comparison_only"] and option["method"] not in methods:
            yield f"{option['method']} is offered; only {sorted(methods)} may be"


def _must_not(group: Group, methods: Sequence[str]) -> Iterator[str]:
    """These are not among the options: struck out with a gate, or not applicable to such a member at all (R3)."""
    for method in methods:
        if method in group.offered:
            yield f"{method} is offered"
        elif method not in group.ruled_out and _applies(group, method):
            yield f"{method} is neither offered nor ruled out, although it applies to such a member"


def _offered(group: Group, methods: Sequence[str]) -> Iterator[str]:
    for method in methods:
        if method not in group.offered:
            yield f"{method} is not offered ({group.ruled_out.get(method, 'not thought of')})"


def _ruled_out(group: Group, gates: Mapping[str, str]) -> Iterator[str]:
    for method, gate in gates.items():
        if group.ruled_out.get(method) != gate:
            yield f"{method} is ruled out by {group.ruled_out.get(method)}, expected {gate}"


def _urgency(group: Group, classes: Sequence[str]) -> Iterator[str]:
    urgency = group.found["assessment"]["urgency"]
    if urgency not in classes:
        yield f"urgency is {urgency}, expected one of {classes}"


def _suspects(group: Group, places: Sequence[str]) -> Iterator[str]:
    suspects = group.found["assessment"]["suspects"]
    for place in places:
        if not any(place in one for one in suspects):
            yield f"{place} is not suspect; suspects are {suspects}"


def _says(group: Group, codes: Sequence[str]) -> Iterator[str]:
    """These cautions or escalations are given."""
    for code in codes:
        if code not in group.said:
            yield f"nothing is said of {code}; said is {sorted(group.said)}"


def _silent(group: Group, codes: Sequence[str]) -> Iterator[str]:
    """These are not given: they would frighten for nothing."""
    for code in codes:
        if code in group.said:
            yield f"{code} is said"


def _causes(group: Group, states: Mapping[str, str]) -> Iterator[str]:
    said = {cause["code"]: cause["state"] for cause in group.defect["causes"]}
    for code, state in states.items():
        if said.get(code) != state:
            yield f"cause {code} is {said.get(code)}, expected {state}"


def _asks(group: Group, facts: Sequence[str]) -> Iterator[str]:
    for fact in facts:
        if fact not in group.asked:
            yield f"{fact} is not asked for; asked is {group.asked}"


def _delays(group: Group, reasons: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """These plans are offered and wait for these reasons."""
    for method, waits in reasons.items():
        have = _waits_of(group, method)
        if have is None or not set(waits) <= have:
            yield f"{method} waits for {have}, expected {waits}"


def _no_delays(group: Group, reasons: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """These plans are offered and do not wait for these reasons."""
    for method, waits in reasons.items():
        have = _waits_of(group, method)
        if have is None or set(waits) & have:
            yield f"{method} waits for {have}, expected nothing of {waits}"


def _waits_of(group: Group, method: str) -> set[str] | None:
    option = group.option(method)
    return {delay["reason"] for delay in option["delays"]} if option else None


def _warranty(group: Group, given: bool) -> Iterator[str]:
    if group.first["warranty"] != given:
        yield f"warranty is {group.first['warranty']}"


def _waiver(group: Group, given: bool) -> Iterator[str]:
    if bool(group.first["waiver"]) != given:
        yield f"waiver is {group.first['waiver']!r}"


def _wood(group: Group, kinds: Mapping[str, int]) -> Iterator[str]:
    """These plans bring so many kinds of wood at least, or none."""
    for method, count in kinds.items():
        option = group.option(method)
        have = len(option["wood"]) if option else -1
        if have < count or (count == 0 and have != 0):
            yield f"{method} brings {have} kinds of wood, expected {count}"


OF_GROUP: Mapping[str, Callable[[Group, Any], Iterator[str]]] = {
    "first": _first, "must_not_first": _must_not_first, "phases": _phases, "must_not": _must_not, "offered": _offered,
    "ruled_out": _ruled_out, "urgency": _urgency, "suspects": _suspects, "says": _says, "silent": _silent,
    "causes": _causes, "asks": _asks, "delays": _delays, "no_delays": _no_delays, "warranty": _warranty,
    "waiver": _waiver, "wood": _wood,
}
"""What may be expected of a group; "acceptable" beside "first" says that nothing else is offered."""


# ---- of the whole answer ------------------------------------------------------------------------------------------


def _status(status: str) -> Callable[[Reading, Sequence[str]], Iterator[str]]:
    def check(answer: Reading, names: Sequence[str]) -> Iterator[str]:
        have = {defect["id"]: defect["status"] for defect in answer.defects}
        for name in names:
            if have[name] != status:
                yield f"{name} is {have[name]}, expected {status}"

    return check


def _slips(answer: Reading, words: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """The slips of these defects name the field and the value."""
    for defect in answer.defects:
        said = " ".join(str(slip) for slip in defect["slips"])
        for word in words.get(defect["id"], ()):
            if word not in said:
                yield f"the slips of {defect['id']} do not name {word}: {said}"


def _complete(answer: Reading, complete: bool) -> Iterator[str]:
    if answer.job["complete"] != complete:
        yield f"job is complete: {answer.job['complete']}"


def _job_says(answer: Reading, codes: Sequence[str]) -> Iterator[str]:
    for code in codes:
        if code not in answer.job["cautions"]:
            yield f"the job says nothing of {code}"


def _job_phases(answer: Reading, methods: Sequence[str]) -> Iterator[str]:
    """Steps of these methods stand in the order of work, in this order."""
    steps = [step["method"] for step in answer.job["order"]]
    if not in_order(methods, steps):
        yield f"the job's order is {steps}, expected {methods}"


def _one_at_a_time(answer: Reading, methods: Sequence[str]) -> Iterator[str]:
    """Several steps of such a method stand in the order of work, and no two overlap (R27)."""
    for method in methods:
        spans = sorted((s["starts_day"], s["ends_day"]) for s in answer.job["order"] if s["method"] == method)
        if len(spans) < 2 or any(later[0] < earlier[1] - 1e-6 for earlier, later in pairwise(spans)):
            yield f"{method} is not done one at a time: {spans}"


def _while_up(answer: Reading, wanted: bool) -> Iterator[str]:
    if bool(answer.job["while_access_stands"]) != wanted:
        yield f"worth doing while the access stands: {answer.job['while_access_stands']}"


OF_JOB: Mapping[str, Callable[[Reading, Any], Iterator[str]]] = {
    "rejected": _status("rejected"), "provisional": _status("provisional"), "priced": _status("priced"),
    "slips": _slips, "complete": _complete, "job_says": _job_says, "job_phases": _job_phases,
    "one_at_a_time": _one_at_a_time, "while_up": _while_up,
}
"""What may be expected of a whole answer."""


def in_order(wanted: Sequence[str], seen: Sequence[str]) -> bool:
    """Whether the wanted codes stand in what was seen, in their order."""
    rest = iter(seen)
    return all(any(code == want for code in rest) for want in wanted)


def _applies(group: Group, method: str) -> bool:
    """Whether a method can be thought of for such a member and such damage."""
    record = knowledge().methods[method]
    element, damage = group.defect["element"], group.defect["damage"]
    return element in record.elements and damage in record.damages
