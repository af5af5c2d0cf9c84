"""Moisture content of wood: what the air brings it to, and what a meter says.

Sources: USDA Forest Products Laboratory, Wood Handbook, FPL-GTR-190 (2010) and
FPL-GTR-282 (2021), chapter 4.
"""

from __future__ import annotations

from service.engine.array import Number, any_of, either, exp, log, maximum

FIBRE_SATURATION_PCT = 30.0
"""Moisture content at which cell walls are full and lumens empty [%] (Wood Handbook ch. 4, usual approximation)."""

METER_REFERENCE_DEGF = 70.0
"""Wood temperature at which resistance meters are calibrated [degF] (common practice, no source)."""

METER_DEGF_A_POINT = 17.5
"""Cooling that lowers a meter's reading by one point [degF]: 15 to 20 (common practice, no source)."""

_KELVIN = 273.15
_GLASS_A = -0.000612
_GLASS_B = 2.43
_GLASS_C = 0.0577
_GLASS_D = 0.430
_WATER_CRITICAL_K = 647.1


def _require_humidity(relative_humidity: Number) -> None:
    if any_of(either(relative_humidity < 0.0, relative_humidity >= 1.0)):
        raise ValueError("relative humidity is a fraction from 0 up to, but not including, 1")


def _hailwood_horrobin_pct(h: Number, w: Number, k: Number, k1: Number, k2: Number) -> Number:
    """Two-hydrate sorption isotherm, the frame of both unit forms of equation 4-5 [%]."""
    kh = k * h
    first = k1 * kh
    second = k1 * k2 * kh * kh
    return 1800.0 / w * (kh / (1.0 - kh) + (first + 2.0 * second) / (1.0 + first + second))


def equilibrium_moisture_pct(temperature_degf: Number, relative_humidity: Number) -> Number:
    """Return the moisture content wood comes to in steady air [%].

    Args:
        temperature_degf: dry-bulb temperature, fitted from 30 to 130 [degF].
        relative_humidity: fraction, 0 <= h < 1 [1].

    Raises:
        ValueError: humidity outside 0 <= h < 1.

    Source: Wood Handbook (2010) eq. 4-5 with the Fahrenheit constants (from memory; they agree with the transcribed
    Celsius constants to 0.1 point from 30 to 140 degF).
    """
    _require_humidity(relative_humidity)
    t = temperature_degf
    return _hailwood_horrobin_pct(
        relative_humidity,
        330.0 + 0.452 * t + 0.00415 * t * t,
        0.791 + 0.000463 * t - 0.000000844 * t * t,
        6.34 + 0.000775 * t - 0.0000935 * t * t,
        1.09 + 0.0284 * t - 0.0000904 * t * t,
    )


def equilibrium_moisture_degc_pct(temperature_degc: Number, relative_humidity: Number) -> Number:
    """Return the moisture content wood comes to in steady air [%], from degrees Celsius.

    Args:
        temperature_degc: dry-bulb temperature, fitted from -1 to 55 [degC].
        relative_humidity: fraction, 0 <= h < 1 [1].

    Raises:
        ValueError: humidity outside 0 <= h < 1.

    Source: Wood Handbook (2010) eq. 4-5, as transcribed. One transcription in circulation prints the last
    constant of K as 2.73e-7, a misprint for 2.73e-6.
    """
    _require_humidity(relative_humidity)
    t = temperature_degc
    return _hailwood_horrobin_pct(
        relative_humidity,
        349.0 + 1.29 * t + 0.0135 * t * t,
        0.805 + 0.000736 * t - 0.00000273 * t * t,
        6.27 - 0.00938 * t - 0.000303 * t * t,
        1.91 + 0.0407 * t - 0.000293 * t * t,
    )


def _glass_slope(temperature_k: Number) -> Number:
    return _GLASS_A * temperature_k * (1.0 - temperature_k / _WATER_CRITICAL_K) ** _GLASS_B


def _glass_exponent(temperature_k: Number) -> Number:
    exponent: Number = _GLASS_C * temperature_k**_GLASS_D
    return exponent


def sorption_moisture_pct(temperature_degc: Number, relative_humidity: Number) -> Number:
    """Return the equilibrium moisture content by the newer, invertible fit [%].

    A different fit from equation 4-5: within 0.6 point of it at room temperature, up to 2 points above it in the cold.

    Args:
        temperature_degc: dry-bulb temperature [degC].
        relative_humidity: fraction, 0 <= h < 1 [1].

    Raises:
        ValueError: humidity outside 0 <= h < 1.

    Source: Wood Handbook (2021) eq. 4-6 (Glass et al. 2014), as transcribed.
    """
    _require_humidity(relative_humidity)
    t = temperature_degc + _KELVIN
    moisture: Number = 100.0 * (_glass_slope(t) * log(1.0 - relative_humidity)) ** _glass_exponent(t)
    return moisture


def sorption_humidity(temperature_degc: Number, moisture_pct: Number) -> Number:
    """Return the relative humidity that holds wood at a moisture content [fraction], the inverse of equation 4-6.

    Args:
        temperature_degc: dry-bulb temperature [degC].
        moisture_pct: moisture content, at or above 0 [%].

    Raises:
        ValueError: negative moisture content.

    Source: Wood Handbook (2021) eq. 4-7 (Glass et al. 2014), as transcribed.
    """
    if any_of(moisture_pct < 0.0):
        raise ValueError("moisture content is never negative")
    t = temperature_degc + _KELVIN
    return 1.0 - exp((moisture_pct / 100.0) ** (1.0 / _glass_exponent(t)) / _glass_slope(t))


def meter_corrected_pct(reading_pct: Number, wood_temperature_degf: Number) -> Number:
    """Return the moisture content behind a resistance meter's reading in cold wood [%].

    Cold wood resists more and so reads drier than it is; warm wood is left as read, on the safe side.
    Readings above fibre saturation are not quantitative, corrected or not.

    Args:
        reading_pct: what the meter shows without its own temperature correction [%].
        wood_temperature_degf: temperature of the wood, not of the air [degF].

    Source: common practice, no source: about 1 point low per 15 to 20 degF under 70 degF.
    """
    return reading_pct + maximum(METER_REFERENCE_DEGF - wood_temperature_degf, 0.0) / METER_DEGF_A_POINT
