"""The same request said differently: in metric units, with its defects turned round, with one number moved a little."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from copy import deepcopy
from decimal import Decimal
from typing import Any

EXACT: Mapping[str, tuple[Decimal, str]] = {
    "in": (Decimal("25.4"), "mm"),
    "ft": (Decimal("0.3048"), "m"),
    "mi": (Decimal("1.609344"), "km"),
    "ft2": (Decimal("0.09290304"), "m2"),
    "kip": (Decimal("4.4482216152605"), "kN"),
}
"""International yard and pound agreement, 1959; a kip is 1000 lb of force at standard gravity (CGPM 1901)."""
QUANTITY = re.compile(r"(?P<numbers>[0-9][0-9./ -]*?) (?P<unit>in|ft|ft2|mi|kip|degF|deg|%)")
NUMBER = re.compile(r"\d+(?:\.\d+)?(?:/\d+)?")
DAY_OR_NAME = ("priced_on", "region", "level", "id", "code", "by", "on", "wall", "roof_area")


def turned_round(body: Mapping[str, Any]) -> dict[str, Any]:
    """The same defects, the last one first; each keeps the name it has, or gets its old place as a name."""
    named = [{"id": str(k + 1), **defect} for k, defect in enumerate(body["defects"])]
    return {**body, "defects": named[::-1]}


def in_metric(body: Mapping[str, Any]) -> dict[str, Any]:
    """The same facts in metric units, answered in the units of the first request."""
    changed: dict[str, Any] = deepcopy(dict(body))
    for pointer, text in quantities(body):
        _put(changed, pointer, _metric(text))
    return {**changed, "units": "imperial"}


def nudged(body: Mapping[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """The request with one quantity moved by 1 % up or down; of a list every value alike."""
    fields = dict.fromkeys(re.sub(r"/\d+$", "", p) if _in_list(p) else p for p, _ in quantities(body))
    for field in fields:
        for step, factor in (("up", Decimal("1.01")), ("down", Decimal("0.99"))):
            changed = deepcopy(dict(body))
            for pointer, text in quantities(body):
                if pointer == field or (_in_list(pointer) and pointer.startswith(f"{field}/")):
                    _put(changed, pointer, _scaled(text, factor))
            yield field, step, changed


def quantities(body: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Every quantity of a request with its pointer."""
    return [(p, v) for p, v in _leaves(body, "") if isinstance(v, str) and QUANTITY.fullmatch(v)]


def _in_list(pointer: str) -> bool:
    """Whether a pointer leads to one of several values of a fact (and not to a whole defect)."""
    return pointer.rsplit("/", 1)[-1].isdigit()


def _leaves(node: Any, pointer: str) -> Iterator[tuple[str, Any]]:
    if isinstance(node, Mapping):
        for key, value in node.items():
            if key not in DAY_OR_NAME:
                yield from _leaves(value, f"{pointer}/{key}")
    elif isinstance(node, list):
        for k, value in enumerate(node):
            yield from _leaves(value, f"{pointer}/{k}")
    else:
        yield pointer, node


def _put(document: Any, pointer: str, value: str) -> None:
    *way, last = pointer.split("/")[1:]
    for key in way:
        document = document[int(key)] if isinstance(document, list) else document[key]
    document[int(last) if isinstance(document, list) else last] = value


def _metric(text: str) -> str:
    found = QUANTITY.fullmatch(text)
    assert found is not None, text
    unit = found["unit"]
    if unit == "degF":
        return f"{_rewritten(found['numbers'], lambda x: (x - 32) / Decimal('1.8'))} degC"
    if unit not in EXACT:
        return text
    factor, metric = EXACT[unit]
    return f"{_rewritten(found['numbers'], lambda x: x * factor)} {metric}"


def _scaled(text: str, factor: Decimal) -> str:
    found = QUANTITY.fullmatch(text)
    assert found is not None, text
    return f"{_rewritten(found['numbers'], lambda x: x * factor)} {found['unit']}"


def _rewritten(numbers: str, change: Callable[[Decimal], Decimal]) -> str:
    """Each number of a text, changed; a range keeps its hyphen."""
    return NUMBER.sub(lambda found: _plain(change(Decimal(found[0]))), numbers)


def _plain(value: Decimal) -> str:
    """A number with the six decimals that a request may have."""
    return f"{value.quantize(Decimal('1e-6')).normalize():f}"
