"""Surveys whose ranges are held against drawn worlds: invented, each of another member."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.engine.survey import CauseSeen, House, Span, Survey
from tests.engine.cases import make_defect, make_survey

HOUSE = House(numbers={n: Span(v, v) for n, v in {"year_built": 2012.0, "wood_temperature": 65.0, "distance": 15.0}.items()})
"""Warm, near, and too new for old coatings: what varies is the damage and the work."""


def _wall_band() -> Survey:
    return make_survey(
        make_defect(
            "under_window", "band", depth=3.0, length=96.0, section=12.0, clear_length=288.0, width=9.0, moisture=23.0,
            height=3.0, openings=1.0, words={"side": "outer", "inner_face": "sound"},
            causes=[CauseSeen("K09", "in_price")],
        ),
        house=HOUSE,
    )


def _ballpark() -> Survey:
    return make_survey(
        make_defect("under_window", "soft_wood", length=96.0, causes=[CauseSeen("K09", "in_price")]), level="told",
        house=HOUSE,
    )


def _posts() -> Survey:
    return make_survey(
        make_defect(
            "post_porch", "foot_rot", count=4, section=8.0, from_end=(4.0, 9.0), height=0.5, words={"base": "slab"},
            causes=[CauseSeen("K11", "in_price")],
        ),
        house=HOUSE,
    )


def _sill() -> Survey:
    return make_survey(
        make_defect(
            "sill_log", "band", section=12.0, depth=(5.0, 8.0), length=(96.0, 150.0), clear_length=288.0, height=0.7
        ),
        house=HOUSE,
    )


def _tails() -> Survey:
    return make_survey(
        make_defect(
            "log_tail", "end_rot", count=8, section=11.0, from_end=(3.0, 9.0), tail=24.0, height=(4.0, 14.0)
        ),
        level="photos",
        house=HOUSE,
    )


def _few_tails() -> Survey:
    return make_survey(
        make_defect("log_tail", "end_rot", count=5, section=11.0, from_end=(3.0, 9.0), tail=24.0), level="photos",
        house=HOUSE,
    )


def _low_tails() -> Survey:
    return make_survey(
        make_defect("log_tail", "end_rot", count=3, section=11.0, from_end=(3.0, 9.0), tail=24.0, height=3.0),
        level="photos", house=HOUSE,
    )


def _caulk() -> Survey:
    return make_survey(make_defect("caulk_line", "seal_fail_adh", length=(240.0, 700.0), height=3.0), house=HOUSE)


def _pocket() -> Survey:
    return make_survey(
        make_defect(
            "wall_mid", "pocket_shallow", depth=1.5, length=8.0, width=6.0, section=11.0, height=4.0,
            words={"side": "outer", "inner_face": "sound"}, causes=[CauseSeen("K09", "corrected")],
        ),
        house=HOUSE,
    )


def _window_sill() -> Survey:
    return make_survey(
        make_defect(
            "buck_window", "soft_wood", depth=0.75, length=6.0, width=2.5, section=6.0, height=3.0, moisture=14.0,
            causes=[CauseSeen("K09", "corrected")],
        ),
        house=HOUSE,
    )


def _short_facing() -> Survey:
    return make_survey(
        make_defect(
            "wall_mid", "band", depth=3.5, length=26.0, section=10.0, clear_length=200.0, height=3.0, moisture=15.0,
            words={"side": "outer", "inner_face": "sound"}, causes=[CauseSeen("K09", "corrected")],
        ),
        level="opened", house=HOUSE,
    )


def _truss() -> Survey:
    return make_survey(
        make_defect("truss_bottom_chord", "pocket_deep", section=11.0, depth=(2.0, 3.0), length=20.0), house=HOUSE
    )


SURVEYS: Mapping[str, Survey] = {
    "a measured band in a wall": _wall_band(),
    "a ballpark with what it is and its length": _ballpark(),
    "four porch posts": _posts(),
    "a sill": _sill(),
    "eight log tails from photos": _tails(),
    "a truss chord": _truss(),
    "five log tails of unsaid height from photos": _few_tails(),
    "three log tails within reach from photos": _low_tails(),
    "twenty to sixty feet of caulk": _caulk(),
    "a pocket of a day's work": _pocket(),
    "one soft spot in a window sill": _window_sill(),
    "a short facing": _short_facing(),
}
"""The last six lie about the edges of half a day and of a whole day, where the hours decide between minimum
charge, mobilisation and disposal (R22)."""


def _told(element: str, damage: str, level: str = "told", **facts: Any) -> Survey:
    return make_survey(make_defect(element, damage, **facts), level=level, house=HOUSE)


RARELY_HIGH = "a check in a wall"
ASKED: Mapping[str, Survey] = {
    "a sill probed here and there": SURVEYS["a sill"],
    "a sill that nobody probed": _told(
        "sill_log", "band", "visited", section=12.0, clear_length=288.0, height=0.7, words={"inner_face": "sound"}
    ),
    "a soft wall log": _told("wall_mid", "soft_wood"),
    "a wall log of known size": _told("wall_low", "band", "visited", section=11.0, height=3.0, clear_length=240.0),
    "a log under a window": _told("under_window", "soft_wood", length=96.0),
    "a pocket high in a wall": _told("wall_high", "pocket_shallow", "visited", section=12.0, depth=2.0, width=6.0, length=12.0),
    "a plate log": _told("plate_log", "soft_wood"),
    "a header": _told("header_log", "soft_wood"),
    "log tails at a corner": _told("log_tail", "end_rot", "photos", count=3, section=11.0, tail=24.0),
    "a truss chord": _told("truss_bottom_chord", "soft_wood"),
    "a purlin end": _told("purlin", "end_rot", "visited", section=10.0, from_end=(2.0, 30.0), tail=24.0),
    "rafter tails at a roof edge": _told("rafter_tail", "end_rot", count=4),
    "a roof deck": _told("roof_deck", "soft_wood"),
    "a window buck": _told("buck_window", "soft_wood", "visited", section=6.0, depth=(0.3, 2.0)),
    "a deck": _told("deck", "soft_wood"),
    "deck joists": _told("deck_joist", "soft_wood", "visited", count=3),
    "a stringer": _told("stringer", "foot_rot"),
    "rail posts": _told("rail_post", "soft_wood", count=2),
    "log siding": _told("log_siding", "soft_wood"),
    "a caulk line": _told("caulk_line", "seal_fail_adh"),
    "a finish": _told("wall_mid", "finish_fail"),
    RARELY_HIGH: _told("wall_mid", "check_up"),
}
"""Half-known pieces of every family of members at which a missing fact is worth asking for."""
