"""The arithmetic that serves one figure and a sample of worlds alike."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.array import (
    acos,
    all_of,
    any_of,
    atan2,
    both,
    ceil,
    either,
    exp,
    floor,
    log,
    maximum,
    minimum,
    negate,
    sqrt,
    where,
)

figures = st.floats(-1e6, 1e6)
truths = st.booleans()


@given(figures, figures)
def test_larger_and_smaller_are_pythons_own_and_stay_floats(a: float, b: float) -> None:
    for ours, pythons in ((maximum, max), (minimum, min)):
        result = ours(a, b)
        assert type(result) is float
        assert result == pythons(a, b)
        np.testing.assert_array_equal(ours(np.array([a, b]), b), [pythons(a, b), b])
        np.testing.assert_array_equal(ours(a, np.array([b])), [pythons(a, b)])


@given(truths, figures, figures)
def test_a_choice_follows_its_condition(cond: bool, a: float, b: float) -> None:
    assert where(cond, a, b) == (a if cond else b)
    assert type(where(cond, a, b)) is float
    np.testing.assert_array_equal(where(np.array([cond, not cond]), a, b), [where(cond, a, b), where(not cond, a, b)])
    np.testing.assert_array_equal(where(cond, np.array([a, a]), b), [where(cond, a, b)] * 2)


@pytest.mark.parametrize(
    ("x", "up"), [(2.0, 2.0), (2.0 + 1e-10, 2.0), (2.0 + 1e-6, 3.0), (0.3 / 0.1, 3.0), (-0.5, 0.0)]
)
def test_rounding_up_forgives_what_arithmetic_left_over(x: float, up: float) -> None:
    assert ceil(x) == up
    assert type(ceil(x)) is float
    np.testing.assert_array_equal(ceil(np.array([x])), [up])


@given(truths, truths, truths)
def test_conditions_combine_as_in_logic(a: bool, b: bool, c: bool) -> None:
    assert both(a, b, c) is (a and b and c)
    assert either(a, b, c) is (a or b or c)
    assert negate(a) is (not a)
    column = np.array([a, not a])
    np.testing.assert_array_equal(both(b, column, c), [both(b, a, c), both(b, not a, c)])
    np.testing.assert_array_equal(either(column, b, c), [either(a, b, c), either(not a, b, c)])
    np.testing.assert_array_equal(negate(column), [not a, a])


def test_no_conditions_are_all_met_and_none_of_them_is() -> None:
    assert both() is True
    assert either() is False


@given(st.lists(truths, min_size=1))
def test_a_sample_is_asked_for_any_and_for_all(sample: list[bool]) -> None:
    assert any_of(np.array(sample)) is any(sample)
    assert all_of(np.array(sample)) is all(sample)
    assert any_of(sample[0]) is all_of(sample[0]) is sample[0]


@pytest.mark.parametrize(
    ("ours", "of_math", "x"),
    [
        (sqrt, math.sqrt, 2.0),
        (acos, math.acos, 0.3),
        (exp, math.exp, -1.5),
        (log, math.log, 7.0),
        (floor, math.floor, 2.9),
    ],
)
def test_functions_are_those_of_mathematics(
    ours: Callable[[Any], Any], of_math: Callable[[float], float], x: float
) -> None:
    assert ours(x) == of_math(x)
    assert type(ours(x)) is float
    np.testing.assert_allclose(ours(np.array([x, x])), [of_math(x)] * 2, rtol=1e-15)


def test_the_angle_of_a_point_is_that_of_mathematics() -> None:
    assert atan2(1.0, 1.0) == math.pi / 4.0
    np.testing.assert_allclose(atan2(np.array([1.0, 0.0]), 1.0), [math.pi / 4.0, 0.0])
