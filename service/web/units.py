"""Units of an answer: the engine's for imperial, their metric twins for metric. Price lines keep the book's units."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from math import isfinite

from service.engine.outcome import Bracket, Measure
from service.web.answers import Quantity, QuantityRange
from service.web.wording import in_metric

INCH_MM = 25.4
FOOT_M = 0.3048
POUND_N = 4.4482216152605
"""1 in, 1 ft and 1 lb of force: international yard and pound agreement, 1959; standard gravity, CGPM 1901."""
GALLON_L = 3.785411784
"""US gallon of 231 in3 in litres: 231 x 2.54^3 / 1000."""

Twin = tuple[str, Callable[[float], float], int]
"""Name of the metric unit, how to get there, and decimals worth showing."""


def _times(factor: float) -> Callable[[float], float]:
    return lambda value: value * factor


METRIC: Mapping[str, Twin] = {
    "in": ("mm", _times(INCH_MM), 2),
    "ft": ("m", _times(FOOT_M), 3),
    "in2": ("cm2", _times(2.54**2), 2),
    "ft2": ("m2", _times(FOOT_M**2), 3),
    "in3": ("cm3", _times(2.54**3), 1),
    "in4": ("cm4", _times(2.54**4), 1),
    "ft3": ("m3", _times(FOOT_M**3), 4),
    # A board foot is 1 ft x 1 ft x 1 in.
    "bd ft": ("m3", _times(FOOT_M**3 / 12.0), 4),
    "gal": ("L", _times(GALLON_L), 2),
    "fl oz": ("mL", _times(GALLON_L * 1000.0 / 128.0), 0),
    "lb": ("kN", _times(POUND_N / 1000.0), 3),
    "lb/ft": ("kN/m", _times(POUND_N / FOOT_M / 1000.0), 3),
    "psf": ("kPa", _times(POUND_N / FOOT_M**2 / 1000.0), 3),
    "psi": ("MPa", _times(POUND_N / INCH_MM**2), 3),
    "degF": ("degC", lambda value: (value - 32.0) / 1.8, 1),
    "mi": ("km", _times(1.609344), 2),
}
"""Metric twins of the engine's units. Every other unit (h, d, yr, %, deg, each) is the same in both."""

DIGITS = 3
"""Decimals of numbers in the engine's own units."""


class Units:
    """Writes measures in one system of units."""

    def __init__(self, system: str) -> None:
        """Choose "imperial" or "metric"."""
        self._twins: Mapping[str, Twin] = METRIC if system == "metric" else {}

    def words(self, text: str) -> str:
        """A sentence of the trade, its numbers in the units of the answer."""
        return in_metric(text) if self._twins else text

    def quantity(self, value: float, unit: str) -> Quantity:
        """A number of the engine, in the units of the answer."""
        value, unit, digits = self._in(float(value), unit)
        return Quantity(round(value, digits), unit)

    def measure(self, m: Measure) -> Quantity:
        """A measure of the engine, in the units of the answer."""
        return self.quantity(m.value, m.unit)

    def bracket(self, b: Bracket) -> QuantityRange:
        """Low, likely and high, in the units of the answer."""
        low, unit, digits = self._in(float(b.low), b.unit)
        likely, high = self._in(float(b.likely), b.unit)[0], self._in(float(b.high), b.unit)[0]
        return QuantityRange(round(low, digits), round(likely, digits), round(high, digits), unit)

    def volumes(self, some: Iterable[Measure]) -> list[Quantity]:
        """The same wood in each unit of volume that the answer's units have: one in metric, two otherwise."""
        written: dict[str, Quantity] = {}
        for m in some:
            q = self.measure(m)
            written[q.unit] = q
        return list(written.values())

    def _in(self, value: float, unit: str) -> tuple[float, str, int]:
        if not isfinite(value):
            raise ValueError(f"{value} {unit} in an answer")
        twin = self._twins.get(unit)
        return (value, unit, DIGITS) if twin is None else (twin[1](value), twin[0], twin[2])
