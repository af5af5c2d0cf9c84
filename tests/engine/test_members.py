"""What carries is mended as much as it lost, by the trade's own order, and priced open until somebody has signed.

Limits: common practice, no source (B2, B3, B8, G04, G14, G24, M00, M06, M16 to M19, M22); from the rulings R6, R9, R31.
"""

from __future__ import annotations

from typing import Any

import pytest

from service.engine.outcome import DefectAnswer, Findings, Option
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import Defect
from tests.engine.books import book
from tests.engine.cases import knowledge, make_defect, make_survey


def answered(defect: Defect) -> DefectAnswer:
    return quote(make_survey(defect), book(), knowledge(), all_methods()).defects[0]


def found(element: str, damage: str, **facts: Any) -> Findings:
    return answered(make_defect(element, damage, **facts)).findings[0]


def offered(one: Findings) -> list[str]:
    return [o.method for o in one.options]


def option(one: Findings, method: str) -> Option:
    return next(o for o in one.options if o.method == method)


@pytest.mark.parametrize("element", ["rafter", "floor_joist", "deck_joist"])
def test_a_split_joist_or_rafter_gets_a_new_one_beside_it_and_stays(element: str) -> None:
    one = found(element, "split", section=9.25, section_other=1.5, span=14.0)
    assert offered(one)[0] == "sister"
    assert "beam_replace" not in offered(one)


def test_what_goes_first_is_not_called_a_mere_comparison() -> None:
    """G24 puts a replacement first where a repair costs most of it and lasts less than half as long."""
    for element in ("rafter", "purlin", "wall_mid", "under_window", "post_porch", "girder"):
        for damage in ("split", "soft_wood", "mech_damage"):
            one = found(element, damage, section=8.0, section_other=8.0, depth=4.5, length=30.0)
            assert not one.options[0].comparison_only, (element, damage)


def test_char_that_ate_into_a_header_is_not_watched() -> None:
    deep = found("header_log", "fire_char", section=12.0, depth=2.5, length=24.0, span=6.0)
    skin = found("header_log", "fire_char", section=12.0, depth=0.25, length=24.0, span=6.0)
    assert "monitor" not in offered(deep)
    assert "monitor" in offered(skin)


@pytest.mark.parametrize("element", ["wall_mid", "header_log", "plate_log"])
def test_a_charred_skin_is_scraped_back_and_no_log_is_faced_or_renewed_for_it(element: str) -> None:
    one = found(element, "fire_char", section=12.0, depth=0.25, length=48.0, width=8.0)
    assert set(offered(one)) == {"clean_leave", "monitor"}


def test_a_new_deck_joist_lasts_as_long_as_a_new_deck_and_not_as_a_beam() -> None:
    joists = found("deck_joist", "soft_wood", section=9.25, section_other=1.5, depth=6.0, length=60.0, of=16.0, count=12)
    new, deck = option(joists, "beam_replace"), option(joists, "deck_replace")
    assert new.life == deck.life
    indoors = found("floor_joist", "through", section=9.25, section_other=1.5, length=60.0, span=12.0)
    assert option(indoors, "beam_replace").life.corrected == (40.0, 60.0, 90.0)


def test_a_deck_of_which_most_joists_are_soft_is_renewed_as_a_deck() -> None:
    joists = found("deck_joist", "soft_wood", section=9.25, section_other=1.5, depth=6.0, length=60.0, of=16.0, count=12)
    assert offered(joists)[0] == "deck_replace"
