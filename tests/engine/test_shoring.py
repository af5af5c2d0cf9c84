"""A shore stands before anything is cut, and nothing makes a shore wait (R14, R26, R32)."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from service.engine.outcome import Option
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import Defect, House
from tests.engine.books import book
from tests.engine.cases import knowledge, make_defect, make_survey

CUTS = (
    "saw plumb", "cut the", "cut back", "out in", "take out", "take the rot", "chord out", "beam out", "ledger off", "post out",
    "sister tight",
)
SHORES = ("shore", "needle", "prop", "jacks", "temporary beam", "take the load off")


def options_of(defect: Defect, house: House | None = None, day: date = date(2026, 7, 10)) -> tuple[Option, ...]:
    survey = make_survey(defect, house=house, day=day)
    return quote(survey, book(), knowledge(), all_methods()).defects[0].findings[0].options


def test_a_shore_does_not_wait_for_the_snow_to_go() -> None:
    """The snow is why it is shored today; only the roof stays closed until the snow is gone (G22)."""
    chord = make_defect("truss_bottom_chord", "soft_wood", section=10, depth=5, to_joint=4)
    options = options_of(chord, House(words={"snow": "on_now"}), date(2026, 12, 10))
    alone = next(o for o in options if o.method == "temp_shore")
    assert alone.clocks.lead_days == 0
    assert "snow" in {d.reason for o in options if o.method == "steel_plates" for d in o.delays}


@pytest.mark.parametrize(("element", "method"), [
    ("sill_log", "sill_needle"), ("wall_low", "log_partial"), ("purlin", "beam_replace"), ("girder", "beam_replace"),
    ("truss_bottom_chord", "chord_replace"), ("post_porch", "post_replace"), ("deck_ledger", "ledger_rebuild"),
    ("notch", "notch_rebuild"), ("floor_joist", "sister"), ("keystone_log", "inplace_bypass"),
])
def test_a_shore_stands_before_anything_that_carries_is_cut(element: str, method: str) -> None:
    far = {"truss_bottom_chord": {"length": 96.0}, "floor_joist": {"section_other": 1.5, "depth": 2.0}}
    sizes: dict[str, Any] = {"section": 10.0, "depth": 6.5, "length": 60.0, "span": 12.0, **far.get(element, {})}
    found = [o for o in options_of(make_defect(element, "soft_wood", **sizes)) if o.method == method]
    assert found, f"{method} is offered on {element}"
    for option in found:
        main = [s for s in option.steps if s.method == method]
        texts = [s.text.lower() for s in main]
        cut = next(i for i, text in enumerate(texts) if any(word in text for word in CUTS))
        shored = next(i for i, text in enumerate(texts) if any(word in text for word in SHORES))
        assert shored <= cut, texts


@pytest.mark.parametrize("element", ["stair", "stringer", "floor_joist", "deck_joist"])
def test_nothing_that_carries_people_or_bends_has_a_firm_price(element: str) -> None:
    for option in options_of(make_defect(element, "soft_wood", section=9.25, depth=0.5, length=12)):
        assert option.provisional, option.method


def test_who_signs_follows_the_case_and_not_only_the_method() -> None:
    """A spliced end is the lead's to sign, and the engineer's where it carries (M10)."""
    def splice(*bears: str) -> Option:
        tail = make_defect("log_tail", "end_rot", bears=bears, section=12, from_end=10, tail=20)
        return next(o for o in options_of(tail) if o.method == "end_splice")

    loaded, free = splice("porch"), splice()
    assert (loaded.sign_off, loaded.provisional) == (3, True)
    assert free.sign_off == 1


@pytest.mark.parametrize(("to_joint", "signs"), [(10.0, 2), (10.5, 1)])
def test_a_tail_renewed_within_its_own_size_of_a_bearing_takes_an_engineer_s_letter(to_joint: float, signs: int) -> None:
    """Sign-off 2 within 1 D of the bearing (M23, G15)."""
    purlin = make_defect("purlin", "end_rot", section=10, from_end=12, to_joint=to_joint)
    assert next(o for o in options_of(purlin) if o.method == "tail_renew").sign_off == signs
