"""Sentences of the trade in metric: the numbers that stand in them in inches, feet, pounds and degF are written anew.

The trade's sentences carry its own round numbers ("lap 12 in", "6 ft out"). What the engine works out is written in the
units of the request from the start; this is for the fixed words around it.
"""

from __future__ import annotations

import re
from fractions import Fraction

AMOUNT = r"\d+(?:,\d{3})*(?:\.\d+)?(?: \d+/\d+|/\d+)?"
LENGTHS = {"in": 25.4, "ft": 304.8}
"""Millimetres."""
SENTENCE = re.compile(rf"(?<![\w./])({AMOUNT})(?:( to | x |-)({AMOUNT}))? (in|ft|ft2|degF|lb)\b(?!\s*\d)")
PRESSURE = re.compile(rf"({AMOUNT}) lb a square foot\b")
LINE_LOAD = re.compile(rf"({AMOUNT}) to ({AMOUNT}) kip a foot\b")
FRACTION_OF_LENGTH = re.compile(rf"({AMOUNT}) in a foot\b")


def in_metric(text: str) -> str:
    """The sentence with its lengths, areas, loads and temperatures in metric, rounded as people say them.

    >>> in_metric("Cut 1 1/2 in past the rot, 6 to 12 in from the joint")
    'Cut 40 mm past the rot, 150 to 305 mm from the joint'
    >>> in_metric("1 in 3 that it becomes more")
    '1 in 3 that it becomes more'
    """
    text = FRACTION_OF_LENGTH.sub(lambda m: f"{_value(m[1]) / 12.0 * 1000.0:.0f} mm in a metre", text)
    text = LINE_LOAD.sub(lambda m: f"{_value(m[1]) * 14.5939:.0f} to {_value(m[2]) * 14.5939:.0f} kN a metre", text)
    text = PRESSURE.sub(lambda m: f"{_value(m[1]) * 0.04788026:.0f} kN a square metre", text)
    return SENTENCE.sub(_one, text)


def _one(found: re.Match[str]) -> str:
    first, joined, second, unit = found[1], found[2], found[3], found[4]
    numbers = [_value(n) for n in (first, second) if n]
    written, name = _metric(numbers, unit)
    return f"{joined or ''}".join(written) + f" {name}"


def _metric(numbers: list[float], unit: str) -> tuple[list[str], str]:
    """Numbers of one unit, all written in the same metric unit."""
    if unit in LENGTHS:
        mm = [n * LENGTHS[unit] for n in numbers]
        if max(mm) >= 1000.0 or (unit == "ft" and max(mm) >= 600.0):
            return [_plain(v / 1000.0, 1) for v in mm], "m"
        return [_plain(5.0 * round(v / 5.0) if v >= 25.0 else v, 0) for v in mm], "mm"
    if unit == "ft2":
        return [_plain(n * 0.09290304, 1) for n in numbers], "m2"
    if unit == "lb":
        return [_plain(n * 0.0044482216, 1) for n in numbers], "kN"
    return [_plain((n - 32.0) / 1.8, 0) for n in numbers], "degC"


def _value(said: str) -> float:
    whole, _, part = said.replace(",", "").partition(" ")
    return float(Fraction(whole) + (Fraction(part) if part else 0))


def _plain(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
