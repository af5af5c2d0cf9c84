"""The decay climate index, its zones, and a run over daily weather records.

Zones: Whole Building Design Guide, after Scheffer (1971). Weather: NOAA daily records of Seattle 2012-2015, as shipped
with `vega_datasets`.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from vega_datasets import data

from service.engine.science.decay_climate import decay_zone, scheffer_index, scheffer_index_degc

months = st.lists(st.tuples(st.floats(-20.0, 110.0), st.floats(0.0, 31.0)), min_size=12, max_size=12)


def test_a_wet_mild_city_is_of_moderate_hazard_as_published() -> None:
    """Scheffer (1971) and Carll (2009) put Seattle near 50 (order of magnitude, from memory), in the moderate zone."""
    weather = data.seattle_weather()
    weather["degf"] = (weather.temp_max + weather.temp_min) / 2.0 * 1.8 + 32.0
    weather["wet"] = weather.precipitation >= 0.254
    by_month = weather.groupby([weather.date.dt.year, weather.date.dt.month]).agg({"degf": "mean", "wet": "sum"})
    normal = by_month.groupby(level=1).mean()
    index = scheffer_index([float(v) for v in normal.degf], [float(v) for v in normal.wet])
    assert index == pytest.approx(50.0, rel=0.25)
    assert decay_zone(float(index)) == "moderate"


def test_twelve_months_of_65_degrees_and_13_wet_days_make_120() -> None:
    """By the definition: 12 x 30 x 10 / 30."""
    assert scheffer_index([65.0] * 12, [13.0] * 12) == pytest.approx(120.0)


@given(months)
def test_degrees_celsius_give_the_same_index(year: list[tuple[float, float]]) -> None:
    degf = [t for t, _ in year]
    days = [d for _, d in year]
    degc = [(t - 32.0) / 1.8 for t in degf]
    assert scheffer_index_degc(degc, days) == pytest.approx(scheffer_index(degf, days), rel=1e-9, abs=1e-9)


@given(months, st.integers(0, 11))
def test_a_frozen_or_rainless_month_adds_nothing(year: list[tuple[float, float]], month: int) -> None:
    degf = [t for t, _ in year]
    days = [d for _, d in year]
    frozen = [*degf[:month], 35.0, *degf[month + 1 :]]
    rainless = [*days[:month], 3.0, *days[month + 1 :]]
    assert scheffer_index(frozen, days) == pytest.approx(scheffer_index(degf, rainless), abs=1e-9)
    assert 0.0 <= scheffer_index(frozen, days) <= scheffer_index(degf, days) + 1e-9


@pytest.mark.parametrize(
    ("index", "zone"),
    [(0.0, "low"), (34.9, "low"), (35.0, "moderate"), (65.0, "moderate"), (65.1, "high"), (150.0, "high")],
)
def test_zones_part_at_35_and_65(index: float, zone: str) -> None:
    assert decay_zone(index) == zone


def test_a_detail_that_stays_wet_is_worse_than_its_climate() -> None:
    assert decay_zone(30.0, 2.0) == "moderate"
    assert decay_zone(30.0, 2.5) == "high"


def test_ground_contact_is_high_in_any_climate() -> None:
    """Whole Building Design Guide: ground contact, splash and trapped water count as high."""
    assert decay_zone(2.0, ground_contact=True) == "high"


def test_a_year_has_twelve_months() -> None:
    with pytest.raises(ValueError, match="twelve months"):
        scheffer_index([60.0] * 11, [10.0] * 11)


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    agree(lambda t, d: scheffer_index([t] * 12, [d] * 12), [20.0, 50.0, 80.0], [10.0, 2.0, 15.0])
    assert isinstance(scheffer_index([np.array([50.0])] * 12, [np.array([9.0])] * 12), np.ndarray)
