"""Allowable-stress checks of sawn timbers: adjustment factors, beams, columns and both together.

Source: ANSI/AWC National Design Specification for Wood Construction (NDS) 2018, allowable stress design, as
transcribed; single items from memory say so. Visibly decayed wood counts as no capacity: pass the section left.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from service.engine.array import Number, both, maximum, sqrt, where

EDITION = "ANSI/AWC NDS 2018, allowable stress design"
"""Edition that every check here follows, to be printed beside its result."""

LOAD_DURATION: Mapping[str, float] = MappingProxyType(
    {
        "dead": 0.9,
        "live": 1.0,
        "snow": 1.15,
        "construction": 1.25,
        "wind": 1.6,
        "earthquake": 1.6,
        "impact": 2.0,
    }
)
"""Load duration factor C_D by the kind of load (NDS 2018, table 2.3.2)."""

WET_SERVICE_TIMBER: Mapping[str, float] = MappingProxyType(
    {"fb": 1.0, "ft": 1.0, "fv": 1.0, "fc_perp": 0.67, "fc": 0.91, "e": 1.0, "e_min": 1.0}
)
"""Wet service factor C_M of timbers 5x5 and larger above 19 % moisture (NDS Supplement, table 4D, from memory)."""

COLUMN_C_SAWN = 0.80
"""Column factor c of sawn lumber (NDS 2018, 3.7.1.5)."""

COLUMN_C_ROUND = 0.85
"""Column factor c of round poles and piles (NDS 2018, 3.7.1.5, from memory)."""

COLUMN_C_GLULAM = 0.90
"""Column factor c of glued laminated timber (NDS 2018, 3.7.1.5, from memory)."""

GREATEST_SLENDERNESS = 50.0
"""Slenderness not to be exceeded, of columns in service and of beams (NDS 2018, 3.7.1.4 and 3.3.3.7)."""

_BEAM_C = 0.95
_SIZE_LIMIT_IN = 12.0
_TINY = 1e-9


@dataclass(frozen=True, slots=True)
class StressCheck:
    """One stress set against its allowable value.

    Attributes:
        stress: name of the stress, such as ``bending``.
        clause: clause of `EDITION` that asks for the check.
        actual_psi: stress from the load [psi].
        allowable_psi: adjusted design value [psi].
    """

    stress: str
    clause: str
    actual_psi: Number
    allowable_psi: Number

    @property
    def ratio(self) -> Number:
        """Stress over allowable [1]; above 1 the check fails."""
        return self.actual_psi / maximum(self.allowable_psi, _TINY)


def load_duration_factor(loads: Iterable[str]) -> float:
    """Return C_D of a combination: that of its load of shortest duration [1].

    Args:
        loads: kinds of load that act together, keys of `LOAD_DURATION`, at least one.

    Raises:
        KeyError: unknown kind of load.
        ValueError: no load.

    Source: NDS 2018, table 2.3.2 and appendix B.
    """
    return max(LOAD_DURATION[load] for load in loads)


def size_factor_timber(depth_in: Number) -> Number:
    """Return C_F on the bending value of a timber [1], below 1 only past 12 in of depth.

    Args:
        depth_in: depth of the timber [in].

    Source: NDS Supplement 2018, table 4D.
    """
    factor: Number = (_SIZE_LIMIT_IN / maximum(depth_in, _SIZE_LIMIT_IN)) ** (1.0 / 9.0)
    return factor


def _stability_factor(strength_ratio: Number, c: float) -> Number:
    """Blend of yielding and buckling that C_P and C_L share [1]."""
    half = (1.0 + strength_ratio) / (2.0 * c)
    return half - sqrt(maximum(half * half - strength_ratio / c, 0.0))


def column_buckling_psi(e_min_psi: Number, slenderness: Number) -> Number:
    """Return the critical buckling value F_cE [psi].

    Args:
        e_min_psi: adjusted modulus for stability [psi].
        slenderness: effective length over least depth, above 0 [1].

    Source: NDS 2018, 3.7.1.5.
    """
    return 0.822 * e_min_psi / (slenderness * slenderness)


def column_stability_factor(
    fc_star_psi: Number, e_min_psi: Number, slenderness: Number, c: float = COLUMN_C_SAWN
) -> Number:
    """Return C_P of a column [1].

    Args:
        fc_star_psi: compression value with every factor but C_P [psi].
        e_min_psi: adjusted modulus for stability [psi].
        slenderness: effective length over depth in the direction of buckling, up to `GREATEST_SLENDERNESS` [1].
        c: column factor, `COLUMN_C_SAWN` and its like [1].

    Source: NDS 2018, eq. 3.7-1.
    """
    return _stability_factor(column_buckling_psi(e_min_psi, slenderness) / fc_star_psi, c)


def beam_effective_length_in(unsupported_length_in: Number, depth_in: Number, *, load_at_centre: bool) -> Number:
    """Return the effective length for lateral buckling of a simple beam [in].

    Args:
        unsupported_length_in: distance between points held sideways [in].
        depth_in: depth of the beam [in].
        load_at_centre: one load at mid-span instead of a uniform one.

    Source: NDS 2018, table 3.3.3; the row for spans under 7 depths from memory.
    """
    short, slope = (1.80, 1.37) if load_at_centre else (2.06, 1.63)
    return where(
        unsupported_length_in < 7.0 * depth_in,
        short * unsupported_length_in,
        slope * unsupported_length_in + 3.0 * depth_in,
    )


def beam_slenderness(effective_length_in: Number, width_in: Number, depth_in: Number) -> Number:
    """Return the slenderness R_B of a beam [1], not to exceed `GREATEST_SLENDERNESS`.

    Args:
        effective_length_in: effective length for lateral buckling [in].
        width_in: width of the beam [in].
        depth_in: depth of the beam [in].

    Source: NDS 2018, eq. 3.3-5.
    """
    return sqrt(effective_length_in * depth_in) / width_in


def beam_stability_factor(fb_star_psi: Number, e_min_psi: Number, slenderness: Number) -> Number:
    """Return C_L of a beam [1]; a beam held sideways along its length has 1 instead.

    Args:
        fb_star_psi: bending value with every factor but C_L [psi].
        e_min_psi: adjusted modulus for stability [psi].
        slenderness: R_B, above 0 [1].

    Source: NDS 2018, eq. 3.3-6.
    """
    buckling = 1.20 * e_min_psi / (slenderness * slenderness)
    return _stability_factor(buckling / fb_star_psi, _BEAM_C)


def bending_check(moment_in_lb: Number, modulus_in3: Number, allowable_psi: Number) -> StressCheck:
    """Set the bending stress against its adjusted design value.

    Args:
        moment_in_lb: bending moment [in lb].
        modulus_in3: section modulus that governs, of the section left [in3].
        allowable_psi: adjusted bending value [psi].

    Source: NDS 2018, 3.3.1 and 3.3.2.
    """
    return StressCheck("bending", "3.3.1", moment_in_lb / maximum(modulus_in3, _TINY), allowable_psi)


def shear_check(shear_lb: Number, area_in2: Number, allowable_psi: Number, *, is_round: bool = False) -> StressCheck:
    """Set the greatest shear stress along the grain against its adjusted design value.

    Args:
        shear_lb: shear force [lb].
        area_in2: area left [in2].
        allowable_psi: adjusted shear value [psi].
        is_round: round section (4V/3A) instead of a rectangle (3V/2A).

    Source: NDS 2018, eq. 3.4-2 for rectangles; Wood Handbook (2010) ch. 9 for round sections.
    """
    peak = 4.0 / 3.0 if is_round else 1.5
    return StressCheck("shear", "3.4.2", peak * shear_lb / maximum(area_in2, _TINY), allowable_psi)


def bearing_check(load_lb: Number, bearing_area_in2: Number, allowable_psi: Number) -> StressCheck:
    """Set the stress across the grain under a bearing against its adjusted design value.

    Args:
        load_lb: load through the bearing [lb].
        bearing_area_in2: sound area that bears [in2].
        allowable_psi: adjusted value of compression across the grain, without C_D [psi].

    Source: NDS 2018, 3.10.2.
    """
    return StressCheck("bearing across the grain", "3.10.2", load_lb / maximum(bearing_area_in2, _TINY), allowable_psi)


def compression_check(load_lb: Number, area_in2: Number, allowable_psi: Number) -> StressCheck:
    """Set the compression along the grain against its adjusted design value.

    Args:
        load_lb: axial load [lb].
        area_in2: area left [in2].
        allowable_psi: adjusted compression value, C_P included [psi].

    Source: NDS 2018, 3.6.3.
    """
    return StressCheck("compression", "3.6.3", load_lb / maximum(area_in2, _TINY), allowable_psi)


def tension_check(load_lb: Number, net_area_in2: Number, allowable_psi: Number) -> StressCheck:
    """Set the tension along the grain against its adjusted design value.

    Args:
        load_lb: axial load [lb].
        net_area_in2: net area left [in2].
        allowable_psi: adjusted tension value [psi].

    Source: NDS 2018, 3.8.1.
    """
    return StressCheck("tension", "3.8.1", load_lb / maximum(net_area_in2, _TINY), allowable_psi)


def bending_tension_ratio(
    tension_psi: Number, ft_psi: Number, bending_psi: Number, fb_star_psi: Number, fb_stable_psi: Number
) -> Number:
    """Return the greater of the two interaction ratios of bending with tension [1]; above 1 the check fails.

    Args:
        tension_psi: tension stress [psi].
        ft_psi: adjusted tension value [psi].
        bending_psi: bending stress [psi].
        fb_star_psi: bending value with every factor but C_L, Fb* [psi].
        fb_stable_psi: bending value with every factor but C_V, Fb** [psi].

    Source: NDS 2018, eq. 3.9-1 and 3.9-2.
    """
    together = tension_psi / ft_psi + bending_psi / fb_star_psi
    return maximum(together, (bending_psi - tension_psi) / fb_stable_psi)


def bending_compression_ratio(
    compression_psi: Number, fc_psi: Number, bending_psi: Number, fb_psi: Number, buckling_psi: Number
) -> Number:
    """Return the interaction ratio of bending in one plane with compression [1]; above 1 the check fails.

    Past the buckling value it becomes very large rather than negative.

    Args:
        compression_psi: compression stress [psi].
        fc_psi: adjusted compression value, C_P included [psi].
        bending_psi: bending stress [psi].
        fb_psi: adjusted bending value, C_L included [psi].
        buckling_psi: F_cE in the plane of bending [psi].

    Source: NDS 2018, eq. 3.9-3 with bending in one plane.
    """
    axial = compression_psi / fc_psi
    amplified = fb_psi * maximum(1.0 - compression_psi / buckling_psi, _TINY)
    buckled = both(compression_psi >= buckling_psi, bending_psi <= 0.0)
    return where(buckled, 1.0 / _TINY, axial * axial + bending_psi / amplified)


def governing_ratio(*checks: StressCheck) -> Number:
    """Return the greatest ratio of several checks [1].

    Args:
        checks: at least one check.
    """
    worst = checks[0].ratio
    for check in checks[1:]:
        worst = maximum(worst, check.ratio)
    return worst
