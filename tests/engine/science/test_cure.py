"""Epoxy cure at temperature (E18; common practice, no source)."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.science.cure import epoxy_cure_hours


def test_a_day_at_70_degrees_is_52_hours_at_50() -> None:
    assert epoxy_cure_hours(24.0, 70.0) == 24.0
    assert epoxy_cure_hours(24.0, 50.0) == pytest.approx(52.0, abs=0.5)


@given(st.floats(50.0, 72.0), st.floats(1.0, 100.0))
def test_eighteen_degrees_colder_takes_twice_as_long(degf: float, hours: float) -> None:
    assert epoxy_cure_hours(hours, degf) == pytest.approx(2.0 * epoxy_cure_hours(hours, degf + 18.0))


@pytest.mark.parametrize("degf", [49.9, 90.1, -10.0])
def test_no_time_is_promised_where_epoxy_may_never_cure(degf: float) -> None:
    with pytest.raises(ValueError, match="50 to 90"):
        epoxy_cure_hours(24.0, degf)
    with pytest.raises(ValueError, match="50 to 90"):
        epoxy_cure_hours(24.0, np.array([70.0, degf]))


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    agree(epoxy_cure_hours, [24.0, 24.0, 72.0], [50.0, 70.0, 90.0])
