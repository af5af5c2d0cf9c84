"""Writes numbers into sentences, in the units of the request."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal
from string import Formatter

import numpy as np

from service.engine.array import Number

EIGHTHS = ("", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8")
"""Marks of a tape between two inches."""
WITHOUT_ABOUT = (" a ", " in ", " outer ")
"""Words after which a rounded number stands alone."""
ARTICLE = (" a ", " A ")
"""The article before a number, which is `an` before eight, eighty, eleven and eighteen."""


def _inches(value_in: float) -> str:
    """Inches as they are read off a tape, to its nearest mark (J: 1/8 in); hundredths that somebody said stay."""
    marks = round(value_in * len(EIGHTHS))
    on_a_mark = abs(value_in * len(EIGHTHS) - marks) < 1e-6
    said = abs(value_in * 100.0 - round(value_in * 100.0)) < 1e-6  # hundredths
    if marks <= 0 or (said and not on_a_mark):
        return _number(value_in, 2)
    whole, part = divmod(marks, len(EIGHTHS))
    return " ".join(text for text in (str(whole) if whole else "", EIGHTHS[part]) if text)


def _begins_with_a_vowel(number: str) -> bool:
    """Whether a number is spoken with a vowel first: 8, 11 and 18, and whatever begins with 8."""
    whole = number.split(" ", 1)[0].split(".", 1)[0]
    return whole.startswith("8") or whole in ("11", "18")


def _number(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


@dataclass(frozen=True, slots=True)
class Words:
    """Fills templates such as "{depth:length} of rot" in imperial or metric units, and writes money in the book's currency."""

    units: str
    currency: str = "USD"

    def price(self, amount: Decimal) -> str:
        """Money as it is said: to three figures, no cents above ten."""
        value = float(amount)
        if abs(value) >= 1000.0:
            digits = len(str(int(abs(value)))) - 3
            value = round(value, -digits)
        shown = f"{value:,.0f}" if abs(value) >= 10.0 else f"{value:.2f}"
        return f"${shown}" if self.currency == "USD" else f"{self.currency} {shown}"

    def length(self, value_in: float) -> str:
        """A length given in inches."""
        if self.units == "metric":
            mm = value_in * 25.4
            return f"{_number(mm / 1000.0, 2)} m" if mm >= 1000.0 else f"{mm:.0f} mm"
        return f"{_number(value_in / 12.0, 1)} ft" if value_in >= 48.0 else f"{_inches(value_in)} in"

    def area(self, value_ft2: float) -> str:
        """An area given in square feet."""
        if self.units == "metric":
            return f"{_number(value_ft2 * 0.09290304, 1)} m2"
        return f"{_number(value_ft2, 0)} ft2"

    def volume(self, value_in3: float) -> str:
        """A volume given in cubic inches."""
        if self.units == "metric":
            return f"{_number(value_in3 * 0.016387064, 1)} litres"
        return f"{value_in3:,.0f} cubic inches"

    def temperature(self, value_degf: float) -> str:
        """A temperature given in degF."""
        if self.units == "metric":
            return f"{(value_degf - 32.0) / 1.8:.0f} degC"
        return f"{value_degf:.0f} degF"

    def load(self, value_lb: float) -> str:
        """A load given in pounds."""
        if self.units == "metric":
            return f"{_number(value_lb * 0.0044482216, 1)} kN"
        return f"{value_lb:,.0f} lb"

    def fill(self, template: str, values: Mapping[str, Number], rough: Collection[str] = ()) -> str:
        """The sentence with its numbers; over many worlds the first value stands for all.

        Args:
            template: the sentence.
            values: its numbers.
            rough: names of numbers that rest on a guess: they are rounded, and said with "about".
        """
        plain = {k: float(v.flat[0]) if isinstance(v, np.ndarray) else float(v) for k, v in values.items()}
        parts = []
        for text, name, spec, _ in Formatter().parse(template):
            parts.append(text)
            if name:
                guessed = name in rough and spec in ("length", "volume")
                value = self._roughly(plain[name], spec) if guessed and spec else plain[name]
                about = guessed and not text.endswith(WITHOUT_ABOUT)
                number = ("about " if about else "") + self._one(value, spec or "")
                if f" {text}".endswith(ARTICLE) and _begins_with_a_vowel(number):
                    parts[-1] = f"{text[:-1]}n "
                parts.append(number)
        said = "".join(parts)
        return said[:1].upper() + said[1:] if template.startswith("{") else said

    def _roughly(self, value: float, spec: str) -> float:
        """A number that nobody measured, rounded as one guesses (J)."""
        if spec == "volume" and value > 0.0:
            return round(value, 1 - math.floor(math.log10(value)))
        metric = self.units == "metric"
        # 1/4 in up to a foot, an inch up to four feet, half a foot beyond; 5 mm, 10 mm and 100 mm in metric.
        steps = (5.0 / 25.4, 10.0 / 25.4, 100.0 / 25.4) if metric else (0.25, 1.0, 6.0)
        step = steps[0] if value < 12.0 else steps[1] if value < 48.0 else steps[2]
        return max(round(value / step), 1) * step

    def _one(self, value: float, spec: str) -> str:
        match spec:
            case "length":
                return self.length(value)
            case "area":
                return self.area(value)
            case "volume":
                return self.volume(value)
            case "temperature":
                return self.temperature(value)
            case "load":
                return self.load(value)
            case "moisture":
                return f"{_number(value, 0)} %"
            case "percent":
                return f"{value * 100.0:.0f} %"
            case _:
                return _number(value, 2)
