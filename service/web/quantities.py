"""Quantities of a request (R35): text with its unit in, the engine's unit out.

Lengths are whole nanometres from here on (1 in = 25 400 000 nm), so that 3/4 in and 19.05 mm are the same depth.
Everything is worked out in fractions; one float is made at the very end.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from service.engine.survey import Span

MOST_CHARACTERS = 40
"""Longest text of a quantity."""

NANOMETRES = {
    "in": Fraction(25_400_000),
    "ft": Fraction(304_800_000),
    "mm": Fraction(1_000_000),
    "cm": Fraction(10_000_000),
    "m": Fraction(1_000_000_000),
}
"""Units of length in nanometres. The foot of 0.3048 m: international yard and pound agreement, 1959."""


@dataclass(frozen=True, slots=True)
class Dimension:
    """What can be measured, and in which units it may be stated.

    Attributes:
        name: name of the dimension, as in the facts.
        title: name of its shape in the published contract.
        units: unit -> how many of the first one, or for temperatures (factor, zero) of that unit in degF.
        examples: texts that are right.
    """

    name: str
    title: str
    units: Mapping[str, tuple[Fraction, Fraction]]
    examples: tuple[str, ...]


def _scale(**factors: str) -> dict[str, tuple[Fraction, Fraction]]:
    return {unit.replace("_per_", "/"): (Fraction(text), Fraction(0)) for unit, text in factors.items()}


_PERCENT = {"%": (Fraction(1), Fraction(0))}

DIMENSIONS: Mapping[str, Dimension] = {
    d.name: d
    for d in (
        Dimension(
            "length", "Length", {u: (f, Fraction(0)) for u, f in NANOMETRES.items()},
            ("3 in", "3/4 in", "1 1/2 in", "3-4 in", "8 ft", "8 ft 6 in", "75 mm"),
        ),
        # 1 ft = 0.3048 m and 1 in = 25.4 mm, squared.
        Dimension("area", "Area", _scale(ft2="1", in2="1/144", m2="100000000/9290304"), ("60 ft2", "5.5 m2")),
        Dimension(
            "temperature", "Temperature", {"degF": (Fraction(1), Fraction(0)), "degC": (Fraction(9, 5), Fraction(32))},
            ("62 degF", "-10-5 degC"),
        ),
        Dimension("moisture", "Percent", _PERCENT, ("23 %", "19-24 %")),
        Dimension("percent", "Percent", _PERCENT, ("23 %", "19-24 %")),
        # 1 lb = 0.45359237 kg (agreement of 1959) x 9.80665 m/s2 (standard gravity, CGPM 1901) = 4.4482216152605 N.
        Dimension(
            "load", "Load",
            _scale(lb="1", kip="1000", N="10000000000000/44482216152605", kN="10000000000000000/44482216152605"),
            ("4.5 kip", "1800 lb", "20 kN"),
        ),
        Dimension(
            "line_load", "LineLoad",
            {
                "lb/ft": (Fraction(1), Fraction(0)),
                "kip/ft": (Fraction(1000), Fraction(0)),
                "N/m": (Fraction(3048 * 10**9, 44482216152605), Fraction(0)),
                "kN/m": (Fraction(3048 * 10**12, 44482216152605), Fraction(0)),
            },
            ("250 lb/ft", "3.6 kN/m"),
        ),
        Dimension(
            "pressure", "Pressure",
            {
                "psf": (Fraction(1), Fraction(0)),
                # lb/ft2 in Pa: 4.4482216152605 N over 0.09290304 m2.
                "kPa": (Fraction(9290304 * 10**8, 44482216152605), Fraction(0)),
            },
            ("40 psf", "2.5 kPa"),
        ),
        Dimension("angle", "Angle", _scale(deg="1"), ("27 deg",)),
        Dimension("distance", "Distance", _scale(mi="1", km="1000000/1609344"), ("120 mi", "35 km")),
        Dimension("duration", "Duration", _scale(h="1", min="1/60"), ("2.5 h", "90 min")),
    )
}
"""All dimensions, by name. The factors are exact."""

_ENGINE_LENGTHS = {"in": NANOMETRES["in"], "ft": NANOMETRES["ft"]}

_UNICODE = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_DECIMAL = r"[0-9]{1,7}(?:\.[0-9]{1,6})?"
_FRACTION = r"(?:[0-9]{1,3}/[1-9][0-9]{0,2}|[½¼¾⅛⅜⅝⅞])"
_MIXED = rf"[0-9]{{1,4}}(?: {_FRACTION}|[½¼¾⅛⅜⅝⅞])"
_WHOLE = rf"(?:{_MIXED}|{_DECIMAL})"
_NUMBER = rf"(?:{_WHOLE}|{_FRACTION})"
_TO = r" ?(?:-|–|to) ?"
# "1-1/2 in" is how the trade writes one and a half: a range may not end in a bare fraction unless it starts with one.
_RANGE = rf"(?:{_FRACTION}{_TO}{_NUMBER}|{_WHOLE}{_TO}{_WHOLE}|{_NUMBER})"


def pattern_of(dimension: str) -> str:
    """The form of a quantity as a regular expression that Python and ECMAScript read alike."""
    units = "|".join(DIMENSIONS[dimension].units)
    plain = rf"{_RANGE} ?(?:{units})"
    if dimension == "length":
        return rf"^-?(?:{plain}|[0-9]{{1,5}} ?ft {_NUMBER} ?in)$"
    return rf"^-?(?:{plain})$"


_FORMS = {name: re.compile(pattern_of(name)) for name in DIMENSIONS}
_ENDS = re.compile(rf"({_NUMBER})(?:{_TO}({_NUMBER}))? ?([A-Za-z%][A-Za-z0-9/%]*)")
_FEET_AND_INCHES = re.compile(rf"([0-9]{{1,5}}) ?ft ({_NUMBER}) ?in")


class QuantityError(ValueError):
    """A quantity that cannot be read: what is wrong with it, and what would be right."""


@lru_cache(maxsize=4096)
def read(text: str, dimension: str, unit: str) -> Span:
    """The quantity in the engine's unit, as one number or a range.

    Args:
        text: as it was sent, "3-4 in".
        dimension: a key of DIMENSIONS.
        unit: the engine's unit of that dimension.

    Raises:
        QuantityError: with what is wrong and what would be right.
    """
    if len(text) > MOST_CHARACTERS or not _FORMS[dimension].fullmatch(text):
        raise QuantityError(explain(text, dimension))
    negative, bare = text.startswith("-"), text.removeprefix("-")
    both = _FEET_AND_INCHES.fullmatch(bare)
    if both:
        first = second = NANOMETRES["ft"] * int(both[1]) + NANOMETRES["in"] * _number(both[2])
    else:
        ends = _ENDS.fullmatch(bare)
        assert ends is not None, text
        factor, zero = DIMENSIONS[dimension].units[ends[3]]
        first = _number(ends[1]) * factor * (-1 if negative else 1) + zero
        second = _number(ends[2]) * factor + zero if ends[2] else first
        negative = False
    low, high = sorted((-first, -second) if negative else (first, second))
    return Span(_engine(low, dimension, unit), _engine(high, dimension, unit))


def _engine(value: Fraction, dimension: str, unit: str) -> float:
    if dimension == "length":
        return float(Fraction(round(value)) / _ENGINE_LENGTHS[unit])
    return float(value)


def _number(text: str) -> Fraction:
    if text[-1] in _UNICODE:
        return Fraction(text[:-1].strip() or 0) + Fraction(_UNICODE[text[-1]])
    return sum((Fraction(part) for part in text.split(" ")), Fraction(0))


# ---- what is wrong with a text that cannot be read ---------------------------------------------------------------------

_MEANT = {
    "inch": "in", "inches": "in", '"': "in", "″": "in", "feet": "ft", "foot": "ft", "'": "ft", "′": "ft", "F": "degF",
    "°F": "degF", "C": "degC", "°C": "degC", "°": "deg", "pct": "%", "percent": "%", "lbs": "lb", "plf": "lb/ft",
    "sqft": "ft2", "sf": "ft2", "miles": "mi", "hours": "h", "hr": "h", "hrs": "h", "degrees": "deg", "lb/ft2": "psf",
}
_TAIL = re.compile(r"[A-Za-z%°'\"′″][A-Za-z0-9/%]*$")
_LONELY = re.compile(rf"^-?{_RANGE}$")
_HYPHENED = re.compile(r"([0-9]+) ?[-–] ?([0-9]+/[0-9]+)")
_FOOT_DASH = re.compile(r"ft ?[-–] ?[0-9]")


def explain(text: str, dimension: str) -> str:
    """What is wrong with a text that is no quantity of that dimension, and what would be right."""
    want = DIMENSIONS[dimension]
    right = f"Write it like {_listed([repr(e)[1:-1] for e in want.examples[:3]])}."
    if len(text) > MOST_CHARACTERS:
        return f"is longer than {MOST_CHARACTERS} characters. {right}"
    if any(ord(c) < 32 or ord(c) == 127 for c in text):
        return f"holds a control character. {right}"
    if not text.strip():
        return f"is empty. {right} Leave it out if nobody measured it."
    if text != text.strip():
        return f"begins or ends with a space. {right}"
    if _LONELY.match(text):
        return f"has no unit. Add one of {', '.join(want.units)}: {right[0].lower()}{right[1:]}"
    return _wrong_unit(text, want, right) or _wrong_number(text, right)


def _wrong_unit(text: str, want: Dimension, right: str) -> str:
    tail = _TAIL.search(text)
    unit = tail[0] if tail else ""
    if not unit or unit in want.units:
        return ""
    owner = next((d for d in DIMENSIONS.values() if unit in d.units), None)
    if owner is not None:
        name = owner.title.lower() if owner.name != "line_load" else "load by the foot"
        return f"is not {_article(want.name)}: {unit!r} measures {name}. {right}"
    meant = _MEANT.get(unit, unit.lower())
    hint = f" Write {meant!r}." if meant in want.units else ""
    return f"has a unit that is not known here, {unit!r}.{hint} Known: {', '.join(want.units)}. {right}"


def _wrong_number(text: str, right: str) -> str:
    hyphened = _HYPHENED.search(text)
    if hyphened:
        whole, part = hyphened[1], hyphened[2]
        return f"can be read two ways. Write '{whole} {part}' for the one number. {right}"
    if _FOOT_DASH.search(text):
        return (
            "can be read as a range or as feet and inches. Write feet and inches with a space, '8 ft 6 in', and the unit of "
            f"a range once, '8-9 ft'. {right}"
        )
    if re.search(r"[0-9]{8}|\.[0-9]{7}", text):
        return f"has more digits than anybody can measure. {right}"
    if re.search(r"nan|inf|[0-9][eE][-+]?[0-9]", text, re.IGNORECASE):
        return f"is not a plain number. {right}"
    if "," in text:
        return f"has a comma. Use a point for decimals and nothing for thousands. {right}"
    if "/0" in text:
        return f"is divided by nothing. {right}"
    return f"cannot be read. {right}"


def _article(dimension: str) -> str:
    name = dimension.replace("_", " ").replace("moisture", "percentage").replace("percent ", "percentage ")
    return f"an {name}" if name[0] in "aeiou" else f"a {name}"


def _listed(texts: list[str]) -> str:
    quoted = [f"'{t}'" for t in texts]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"
