"""Equilibrium moisture and meter readings against published values.

Points come from table 4-2 of the Wood Handbook (FPL-GTR-190, 2010), as transcribed, and from a published calculator
of the same equation; the table is rounded to 0.1 and both are held to the tolerance beside each.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.science.moisture import (
    equilibrium_moisture_degc_pct,
    equilibrium_moisture_pct,
    meter_corrected_pct,
    sorption_humidity,
    sorption_moisture_pct,
)

degf = st.floats(30.0, 130.0)
humidity = st.floats(0.05, 0.95)


@pytest.mark.parametrize(
    ("temperature_degf", "relative_humidity", "moisture_pct", "tolerance"),
    [
        pytest.param(70.0, 0.25, 5.3, 0.15, id="calculator by dry basis, rounded"),
        pytest.param(70.0, 0.60, 11.1, 0.15, id="calculator by dry basis, rounded (2)"),
        pytest.param(70.0, 0.84, 17.6, 0.15, id="calculator by dry basis, rounded (3)"),
        pytest.param(70.0, 0.87, 19.0, 0.15, id="calculator by dry basis, rounded (4)"),
        pytest.param(70.0, 0.40, 7.7, 0.1, id="Wood Handbook table 4-2, 21.1 degC row"),
        pytest.param(70.0, 0.65, 12.0, 0.1, id="Wood Handbook table 4-2, 65 %"),
    ],
)
def test_fahrenheit_form_gives_published_equilibrium_moisture(
    temperature_degf: float, relative_humidity: float, moisture_pct: float, tolerance: float
) -> None:
    assert equilibrium_moisture_pct(temperature_degf, relative_humidity) == pytest.approx(moisture_pct, abs=tolerance)


@pytest.mark.parametrize(
    ("temperature_degc", "relative_humidity", "moisture_pct"),
    [
        pytest.param(21.1, 0.40, 7.7, id="Wood Handbook table 4-2, 21.1 degC row"),
        pytest.param(21.0, 0.65, 12.0, id="Wood Handbook table 4-2, 21 degC and 65 %"),
    ],
)
def test_celsius_form_gives_the_printed_table(
    temperature_degc: float, relative_humidity: float, moisture_pct: float
) -> None:
    assert equilibrium_moisture_degc_pct(temperature_degc, relative_humidity) == pytest.approx(moisture_pct, abs=0.1)


@given(degf, humidity)
def test_both_unit_forms_of_the_equation_agree_to_a_tenth_of_a_point(t: float, h: float) -> None:
    assert equilibrium_moisture_pct(t, h) == pytest.approx(equilibrium_moisture_degc_pct((t - 32.0) / 1.8, h), abs=0.11)


@pytest.mark.parametrize(("degc", "h"), [(20.0, 0.5), (20.0, 0.8), (21.1, 0.65)])
def test_the_newer_fit_agrees_with_the_older_one_at_room_temperature(degc: float, h: float) -> None:
    """Two fits to one body of measurements; 0.6 point is allowed between them at 20 degC, more in the cold."""
    assert sorption_moisture_pct(degc, h) == pytest.approx(equilibrium_moisture_degc_pct(degc, h), abs=0.6)


@given(degf, st.floats(0.0, 0.97), st.floats(0.001, 0.02))
def test_damper_air_makes_wetter_wood(t: float, h: float, more: float) -> None:
    assert equilibrium_moisture_pct(t, h + more) > equilibrium_moisture_pct(t, h)
    assert sorption_moisture_pct((t - 32.0) / 1.8, h + more) > sorption_moisture_pct((t - 32.0) / 1.8, h)


@given(st.floats(45.0, 120.0), humidity, st.floats(1.0, 10.0))
def test_warmer_air_of_the_same_humidity_makes_drier_wood(t: float, h: float, warmer: float) -> None:
    assert equilibrium_moisture_pct(t + warmer, h) < equilibrium_moisture_pct(t, h)


@given(st.floats(-5.0, 60.0), humidity)
def test_humidity_from_moisture_undoes_moisture_from_humidity(degc: float, h: float) -> None:
    assert sorption_humidity(degc, sorption_moisture_pct(degc, h)) == pytest.approx(h, rel=1e-9)


def test_dry_air_leaves_no_water_in_wood() -> None:
    assert equilibrium_moisture_pct(70.0, 0.0) == 0.0
    assert sorption_moisture_pct(20.0, 0.0) == 0.0
    assert sorption_humidity(20.0, 0.0) == 0.0


@pytest.mark.parametrize("h", [1.0, 1.2, -0.01])
def test_humidity_must_be_a_fraction_below_one(h: float) -> None:
    for form in (equilibrium_moisture_pct, equilibrium_moisture_degc_pct, sorption_moisture_pct):
        with pytest.raises(ValueError, match="relative humidity"):
            form(20.0, h)
    with pytest.raises(ValueError, match="relative humidity"):
        equilibrium_moisture_pct(70.0, np.array([0.5, h]))


def test_negative_moisture_has_no_humidity() -> None:
    with pytest.raises(ValueError, match="never negative"):
        sorption_humidity(20.0, -1.0)


def test_a_meter_reads_cold_wood_a_point_low_for_every_15_to_20_degrees() -> None:
    """Common practice, no source: about 1 point low per 15-20 degF under 70 degF."""
    assert 1.0 <= meter_corrected_pct(18.0, 50.0) - 18.0 <= 20.0 / 15.0
    assert 2.0 <= meter_corrected_pct(18.0, 30.0) - 18.0 <= 40.0 / 15.0


@pytest.mark.parametrize("wood_degf", [70.0, 95.0])
def test_a_meter_in_warm_wood_is_taken_at_its_word(wood_degf: float) -> None:
    assert meter_corrected_pct(18.0, wood_degf) == 18.0


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    agree(equilibrium_moisture_pct, [30.0, 70.0, 130.0], [0.0, 0.5, 0.98])
    agree(equilibrium_moisture_degc_pct, [0.0, 20.0, 50.0], [0.0, 0.5, 0.98])
    agree(sorption_moisture_pct, [0.0, 20.0, 50.0], [0.0, 0.5, 0.98])
    agree(sorption_humidity, [0.0, 20.0, 50.0], [0.0, 12.0, 25.0])
    agree(meter_corrected_pct, [12.0, 18.0, 30.0], [20.0, 70.0, 90.0])
