"""Stated ranges and shares agree with worlds drawn one by one.

Tolerances: 2400 draws leave a standard error of about 0.7 % on the 10 and 90 % prices and of 1 point on a share, 128
points of the engine's own worlds about 1 % and 1.4 points. With three seeds every point lay within 4 %, and that and 5
points on a share are held (3 % held for one seed of 1200 draws and not for the next). With 6000 draws packages
lie within 1 %. Where a cost comes or does not come (a cause nobody reported, a scaffold) a price has two humps and a point
between them says little: there the stated point may instead lie within 4 points of its own probability. Prices and norms
alone are held more closely in `test_lines`.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from service.engine.findings import inquire
from service.engine.outcome import Findings, Range
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.worlds import groups_of
from tests.engine.books import book
from tests.engine.cases import knowledge
from tests.engine.montecarlo.drawing import Column
from tests.engine.montecarlo.outcomes import Outcomes, drawn
from tests.engine.montecarlo.surveys import SURVEYS

DRAWS, SEED = 2400, 20260615
PRICE, SHARE, PROBABILITY = 0.04, 0.05, 0.04
WIDER = {("a ballpark with what it is and its length", "log_partial"): 0.06}
"""Whole prices that are held less closely: part of a log holds in a fifth of the worlds, which are 26 of the engine's 128, and
its shore is decided in the world as stated and belongs to the plan that is offered; a drawn world that is deeper, or waits
longer, has another. Measured: 5.1 % low at the 90 % point."""

every_survey = pytest.mark.parametrize("name", SURVEYS)


@cache
def _stated(name: str) -> tuple[Findings, dict[str, float]]:
    """What the engine says of a survey, and the share of its worlds in which each method is first."""
    survey = SURVEYS[name]
    findings = quote(survey, book(), knowledge(), all_methods()).defects[0].findings[0]
    group = groups_of(survey.defects[0])[0]
    looked = inquire(survey, survey.defects[0], group, book(), knowledge(), all_methods(), adjacent_courses=1)
    first = {one.code: float((looked.first == k).mean()) for k, one in enumerate(looked.found)}
    return findings, {code: share for code, share in first.items() if share}


@cache
def _drawn(name: str) -> Outcomes:
    """What became of the same survey in drawn worlds; every method that may be first is priced."""
    findings, first = _stated(name)
    watched = sorted({o.method for o in findings.options} | set(first))
    return drawn(SURVEYS[name], book(), knowledge(), all_methods(), watched, count=DRAWS, seed=SEED)


def _differs(stated: Range, prices: Column, allowed: float = PRICE) -> list[str]:
    """Points of a range that lie neither near the drawn price nor near their own probability."""
    held = prices[~np.isnan(prices)]
    wrong = []
    for at, point in ((0.1, stated.p10), (0.5, stated.p50), (0.9, stated.p90)):
        value, price = float(point), float(np.quantile(held, at))
        below = float((held < value).mean())
        if abs(value - price) > allowed * price and abs(below - at) > PROBABILITY:
            wrong.append(f"{at:.0%} point stated {value:.0f}, drawn {price:.0f}; {below:.0%} lie below")
    return wrong


@every_survey
def test_the_package_range_is_that_of_drawn_worlds(name: str) -> None:
    findings, outcomes = _stated(name)[0], _drawn(name)
    for option in findings.options:
        if not option.stop_gap and option.package.range is not None:
            assert not _differs(option.package.range, outcomes.package[option.method]), option.method


@every_survey
def test_the_whole_range_is_that_of_drawn_worlds(name: str) -> None:
    findings, outcomes = _stated(name)[0], _drawn(name)
    for option in findings.options:
        if not option.stop_gap and option.whole.range is not None:
            allowed = WIDER.get((name, option.method), PRICE)
            assert not _differs(option.whole.range, outcomes.whole[option.method], allowed), option.method


@every_survey
def test_a_plan_holds_in_the_stated_share_of_drawn_worlds(name: str) -> None:
    findings, outcomes = _stated(name)[0], _drawn(name)
    for option in findings.options:
        assert option.holds == pytest.approx(outcomes.share_held(option.method), abs=SHARE), option.method


@every_survey
def test_a_method_is_first_in_the_stated_share_of_drawn_worlds(name: str) -> None:
    first, outcomes = _stated(name)[1], _drawn(name)
    for method in {*first, *outcomes.first} - {""}:
        assert first.get(method, 0.0) == pytest.approx(outcomes.share_first(method), abs=SHARE), method


def test_the_comparison_notices_a_range_that_is_off() -> None:
    """A range moved by a tenth is told from the drawn one."""
    name = "a measured band in a wall"
    option, prices = _stated(name)[0].options[0], _drawn(name).package
    stated = option.package.range
    assert stated is not None
    moved = Range(*(point * 11 / 10 for point in (stated.p10, stated.p50, stated.p90)))
    assert len(_differs(moved, prices[option.method])) == 3
