"""Timber-design checks of what is left of a member, where the load was said, each with its assumptions (R34).

They put a number to "how bad"; they never call anything adequate, and an engineer signs or does not (R31).
"""

from __future__ import annotations

import math

from service.engine.array import Number
from service.engine.case import Case
from service.engine.knowledge import DesignValues, Knowledge
from service.engine.outcome import Check, Measure
from service.engine.remains import COMPRESSED, Remains, remains_of
from service.engine.science.timber_design import (
    COLUMN_C_ROUND,
    COLUMN_C_SAWN,
    EDITION,
    GREATEST_SLENDERNESS,
    WET_SERVICE_TIMBER,
    StressCheck,
    bearing_check,
    bending_check,
    bending_compression_ratio,
    bending_tension_ratio,
    column_buckling_psi,
    column_stability_factor,
    compression_check,
    load_duration_factor,
    shear_check,
    size_factor_timber,
    tension_check,
)
from service.engine.words import Words
from service.engine.worlds import CANTILEVERS

GRADE = "no2"
"""Grade taken where nobody graded the piece (R34)."""
DRY_SERVICE_PCT = 19.0
"""Moisture above which the wet service factors hold (NDS Supplement, table 4D) [%]."""
LEAST_TIMBER_IN = 5.0
"""Smallest side of a timber; sawn joists and rafters have design tables of their own [in]."""
STRINGER_IN = 2.0
"""A timber deeper than its width by more than this is a beam or stringer, else a post (NDS Supplement) [in]."""
NOTHING_IN2 = 0.01
"""Area below which nothing is left to check [in2]."""
_STEPS = 60


def checks_of(case: Case, left: Remains, knowledge: Knowledge, words: Words) -> tuple[Check, ...]:
    """Checks for the member's work in the world as stated; none where its load or its size was not said.

    Args:
        case: in the world as stated.
        left: section that is left.
        knowledge: for the design values of the species group.
        words: writes lengths and loads.
    """
    values = _values(case, knowledge)
    small = min(float(case.section_in), float(case.other_in)) < LEAST_TIMBER_IN
    if values is None or small or float(left.rest.area_in2) < NOTHING_IN2 or "section" not in case.known:
        return ()
    point = "load" in case.known and float(case.load_lb) > 0.0
    loaded = point or ("line_load" in case.known and float(case.line_load_plf) > 0.0)
    match case.element.role:
        case "bending" | "people" if loaded and "span" in case.known:
            return _beam(case, left, values, words)
        # A member that is pushed buckles between points that nobody gave: no check of it would say anything true.
        case "tension" if point and case.element.code not in COMPRESSED:
            return (_tie(case, left, values, words),)
        case "column" if point:
            return (_column(case, left, values, words),)
        case "bearing" if loaded and not _on_a_seat(case):
            return (_bearing(case, left, values, words),)
        case _:
            return ()


def unchecked_because(case: Case, knowledge: Knowledge) -> str:
    """Why a member whose load was said gets no check of its stress, or "" where it gets one or nobody said a load."""
    element = case.element
    point = "load" in case.known and float(case.load_lb) > 0.0
    loaded = point or ("line_load" in case.known and float(case.line_load_plf) > 0.0)
    if not loaded or element.role not in ("bending", "people", "tension", "column", "bearing"):
        return ""
    small = min(float(case.section_in), float(case.other_in)) < LEAST_TIMBER_IN
    left = remains_of(case)
    reasons = (
        ("section" not in case.known, f"nobody said how thick the {element.name} is"),
        (small, "sawn members thinner than a timber have design tables of their own"),
        (left is not None and float(left.rest.area_in2) < NOTHING_IN2, "nothing is left that could carry"),
        (_values(case, knowledge) is None, "no design values are held for such a piece"),
        (element.role in ("bending", "people") and "span" not in case.known, "nobody said how far it spans"),
        (element.code in COMPRESSED, "it is pushed, and nobody said where it is held"),
        (element.role in ("tension", "column") and not point, "the load on the piece itself was not said"),
        (element.role == "bearing" and _on_a_seat(case), "the seat itself is soft, and no width is left to bear on"),
    )
    why = next((why for holds, why in reasons if holds), "")
    return f"The stress was not checked: {why}." if why else ""


def _on_a_seat(case: Case) -> bool:
    """Whether the face is soft on which the load lands or the log stands: then no width of it bears (R31)."""
    return case.rotten and case.word("side") in ("top", "bottom")


def _values(case: Case, knowledge: Knowledge) -> DesignValues | None:
    stringer = not case.round and float(case.section_in) > float(case.other_in) + STRINGER_IN
    use = "beams_stringers" if stringer else "posts_timbers"
    return knowledge.design_values.get((case.species.design_group, use, GRADE))


def depth_is_guessed(case: Case) -> bool:
    """Whether the decay was taken as deep as it usually is, because nobody said."""
    told = "depth" in case.known or "section_loss" in case.known
    return case.rotten and case.damage.code != "through" and not told


def _service(case: Case) -> tuple[bool, float]:
    """Whether the wood is wet, and the load duration factor."""
    return float(case.moisture_pct) > DRY_SERVICE_PCT, load_duration_factor(("dead", _shortest_load(case)))


def _shortest_load(case: Case) -> str:
    """Kind of the load of shortest duration: snow only on a roof where snow is known, else occupancy."""
    snow = case.flag("snow_country") or case.word("snow") in ("on_now", "forecast")
    roof = case.element.family == "truss" or case.element.code in ("purlin", "ridge", "rafter", "post_porch")
    return "snow" if roof and snow else "live"


def _assumptions(case: Case, values: DesignValues, words: Words, *more: str) -> tuple[str, ...]:
    wet, duration = _service(case)
    known = "" if "species" in case.words else ", species not known"
    return (
        f"species group {values.group.replace('_', ' ')}, {values.use.replace('_', ' ')} ({case.species.title}{known})",
        "grade No.2 assumed, nobody has graded it",
        *(("round, as it stands",) if case.round else ()),
        f"moisture factor: {'wet, above' if wet else 'dry, up to'} {DRY_SERVICE_PCT:.0f} % in service"
        + ("" if "moisture" in case.known else " (nobody has read it)"),
        f"load duration factor {duration:g} (dead and {_shortest_load(case)} load)",
        f"{EDITION}; {values.source}",
        *_loads(case, words),
        "visibly decayed wood counts as nothing",
        *(("how deep it goes is assumed, nobody has measured it",) if depth_is_guessed(case) else ()),
        *more,
        "provisional until an engineer has signed it off",
    )


def _loads(case: Case, words: Words) -> tuple[str, ...]:
    said = []
    if "load" in case.known:
        said.append(f"load as stated: {words.load(float(case.load_lb))}")
    if "line_load" in case.known:
        said.append(f"load as stated: {words.load(float(case.line_load_plf))} a foot")
    return tuple(said)


def _check(
    name: str, one: StressCheck, ratio: float, assumptions: tuple[str, ...], *, clause: str | None = None
) -> Check:
    return Check(
        name, Measure(float(one.actual_psi), "psi"), Measure(float(one.allowable_psi), "psi"), ratio,
        (f"clause {clause or one.clause}", *assumptions),
    )


def _beam(case: Case, left: Remains, values: DesignValues, words: Words) -> tuple[Check, ...]:
    """Bending and shear where each is greatest, as a simple beam or as a cantilever."""
    span_in, line, point = float(case.span_ft) * 12.0, 0.0, 0.0
    if "line_load" in case.known:
        line = float(case.line_load_plf) / 12.0
    if "load" in case.known:
        point = float(case.load_lb)
    _, duration = _service(case)
    if case.element.code in CANTILEVERS:
        moment, shear_lb = line * span_in**2 / 2.0 + point * span_in, line * span_in + point
        how = f"sticks out {words.length(span_in)}, any single load at its tip"
    else:
        moment, shear_lb = line * span_in**2 / 8.0 + point * span_in / 4.0, line * span_in / 2.0 + point / 2.0
        clear = "clear_length" in case.known and float(case.clear_length_in) == span_in
        taken = " (its clear length)" if clear else ""
        how = f"simple beam over {words.length(span_in)}{taken}, any single load at mid-span"
    size = float(size_factor_timber(case.section_in))
    allowed = values.bending_psi * duration * size * WET_SERVICE_TIMBER["fb"]
    bending = bending_check(moment, left.rest.modulus_in3, allowed)
    shear = shear_check(
        shear_lb, left.rest.area_in2, values.shear_psi * duration * WET_SERVICE_TIMBER["fv"], is_round=case.round
    )
    more = (
        f"{how}; the weakest section where the stress is greatest",
        "held sideways along its length",
        f"size factor {size:.2f}",
    )
    assumptions = _assumptions(case, values, words, *more)
    return (
        _check("bending", bending, float(bending.ratio), assumptions),
        _check("shear", shear, float(shear.ratio), assumptions),
    )


def _tie(case: Case, left: Remains, values: DesignValues, words: Words) -> Check:
    """Tension with the bending of a load that passes beside the middle of what is left."""
    _, duration = _service(case)
    load = float(case.load_lb)
    allowed = values.tension_psi * duration * WET_SERVICE_TIMBER["ft"]
    tension = tension_check(load, left.rest.area_in2, allowed)
    bent = bending_check(load * left.eccentricity_in, left.rest.modulus_in3, _bending_psi(case, values))
    ratio = bending_tension_ratio(
        tension.actual_psi, allowed, bent.actual_psi, bent.allowable_psi, bent.allowable_psi
    )
    more = ("net area without bolt holes", f"load off the middle by {words.length(left.eccentricity_in)}")
    return _check(
        "tension with bending", tension, float(ratio), _assumptions(case, values, words, *more), clause="3.9.1"
    )


def _bending_psi(case: Case, values: DesignValues) -> float:
    """Adjusted bending value of a timber held sideways [psi]."""
    _, duration = _service(case)
    return values.bending_psi * duration * float(size_factor_timber(case.section_in)) * WET_SERVICE_TIMBER["fb"]


def _column(case: Case, left: Remains, values: DesignValues, words: Words) -> Check:
    """Compression with buckling about the weaker axis, and the bending of a load that stays where it was."""
    wet, duration = _service(case)
    load, height = float(case.load_lb), float(case.post_height_in)
    in_plane = height / _equal_depth_in(left.rest.inertia_in4, left.rest.area_in2)
    slenderness = max(in_plane, height / _equal_depth_in(left.rest.inertia_side_in4, left.rest.area_in2))
    crushing = values.compression_psi * duration * (WET_SERVICE_TIMBER["fc"] if wet else 1.0)
    c = COLUMN_C_ROUND if case.round else COLUMN_C_SAWN
    stable = float(column_stability_factor(crushing, values.modulus_min_psi, slenderness, c))
    axial = compression_check(load, left.rest.area_in2, crushing * stable)
    buckling = float(column_buckling_psi(values.modulus_min_psi, in_plane))
    holds = _column_holds_lb(left, crushing * stable, _bending_psi(case, values), buckling)
    taken = "" if "post_height" in case.known else " (taken, not measured)"
    more = [
        f"height {words.length(height)}{taken}, both ends held and free to turn",
        f"slenderness {slenderness:.0f} from the lesser radius of gyration of what is left, column factor {stable:.2f}",
        f"load off the middle by {words.length(left.eccentricity_in)}",
        "ratio: the load over the load at which compression with bending is just used up",
    ]
    ratio = load / holds
    if slenderness > GREATEST_SLENDERNESS:
        more.append(f"past slenderness {GREATEST_SLENDERNESS:.0f}, which the standard does not allow")
        ratio = max(ratio, slenderness / GREATEST_SLENDERNESS)
    return _check("column", axial, ratio, _assumptions(case, values, words, *more), clause="3.9.2")


def _equal_depth_in(inertia_in4: Number, area_in2: Number) -> float:
    """Depth of the rectangle with the same radius of gyration [in]."""
    return math.sqrt(12.0 * float(inertia_in4) / float(area_in2))


def _column_holds_lb(left: Remains, compression_psi: float, bending_psi: float, buckling_psi: float) -> float:
    """Load beside the middle at which the interaction of compression with bending reaches 1, by halving [lb].

    Past buckling the interaction itself says nothing, so the load that uses it up is what is compared.

    Source: NDS 2018, eq. 3.9-3 with bending in one plane.
    """
    area, modulus, lever = float(left.rest.area_in2), left.modulus_in3, left.eccentricity_in
    low, high = 0.0, compression_psi * area
    for _ in range(_STEPS):
        load = (low + high) / 2.0
        used = bending_compression_ratio(
            load / area, compression_psi, load * lever / modulus, bending_psi, buckling_psi
        )
        low, high = (load, high) if float(used) < 1.0 else (low, load)
    return high


def _bearing(case: Case, left: Remains, values: DesignValues, words: Words) -> Check:
    """Bearing across the grain on the thickness that is left."""
    wet, _ = _service(case)
    width = float(case.section_in) - left.lost_in
    allowed = values.compression_perp_psi * (WET_SERVICE_TIMBER["fc_perp"] if wet else 1.0)
    if "line_load" in case.known:
        one = bearing_check(case.line_load_plf, 12.0 * width, allowed)
        more = f"a foot of wall bears on all of the {words.length(width)} that are left; on a narrow seat it bears on less"
    else:
        one = bearing_check(case.load_lb, width * width, allowed)
        more = f"the load lands on a square of the {words.length(width)} that are left"
    return _check("bearing across the grain", one, float(one.ratio), _assumptions(case, values, words, more))
