"""The small answers, as an owner reads them: what only bridges the time, or is more than needed, is called so."""

from __future__ import annotations

import json
from datetime import date
from functools import lru_cache
from typing import Any

from service.engine.quote import quote
from service.engine.registry import all_methods
from service.web import answers
from service.web.ballpark import BallparkOption, ballpark_of
from service.web.convert import Converter
from service.web.decoding import RequestReader
from service.web.present import Presenter
from service.web.requests import request_types
from service.web.summary import SummaryOption, summary_of
from tests.engine.books import DAY, book
from tests.engine.cases import knowledge

WET_BAND = {
    "element": "under_window", "damage": "band", "section": "12 in", "depth": "4 in", "length": "8 ft", "width": "9 in",
    "inner_face": "sound", "moisture": "24 %", "clear_length": "24 ft", "height": "3 ft",
}


@lru_cache(maxsize=1)
def _door() -> tuple[RequestReader, Converter]:
    types = request_types(knowledge())
    return RequestReader(types), Converter(types)


def full_answer(**defect: Any) -> answers.Quote:
    """The full answer on one defect, as the service presents it."""
    reader, converter = _door()
    sent = reader.read(json.dumps(
        {"region": "base", "level": "visited", "units": "imperial", "priced_on": DAY.isoformat(), "defects": [defect]}
    ).encode())
    answer = quote(converter.survey(sent, date(2026, 1, 1)), book(), knowledge(), all_methods())
    return Presenter(answer, sent).quote("1", "0")


def small_options(full: answers.Quote) -> list[list[BallparkOption] | list[SummaryOption]]:
    """Options of the only defect, in each of the small answers."""
    return [ballpark_of(full).defects[0].options, summary_of(full).defects[0].options]


def test_a_stop_gap_and_a_comparison_are_called_so_in_every_view() -> None:
    full = full_answer(**WET_BAND)
    said = {(o.method, o.stop_gap, o.comparison_only) for o in full.defects[0].options}
    assert {stop_gap for _, stop_gap, _ in said} == {True, False}
    assert {compared for _, _, compared in said} == {True, False}
    for shown in small_options(full):
        assert {(o.method, o.stop_gap, o.comparison_only) for o in shown} <= said
        assert any(o.stop_gap for o in shown)
        assert any(o.comparison_only for o in shown)


def test_a_visitors_range_holds_the_range_behind_it() -> None:
    """Rounded outwards to two figures."""
    full = full_answer(**WET_BAND)
    behind = {o.method: o.whole.range for o in full.defects[0].options}
    for option in ballpark_of(full).defects[0].options:
        exact = behind[option.method]
        assert exact is not None
        assert float(option.price.low) <= float(exact.p10) <= float(exact.p90) <= float(option.price.high)
        for end in (option.price.low, option.price.high):
            assert len(end.split(".")[0].strip("0")) <= 2


def test_a_visitor_reads_what_decides_between_the_plans_and_no_exact_sum() -> None:
    full = full_answer(**WET_BAND)
    fork = full.defects[0].options[0].fork
    assert fork is not None
    shown = ballpark_of(full).defects[0].decides
    assert shown == fork.text
    assert "$" not in shown
    assert ballpark_of(full_answer(element="wall_mid", damage="check_down", clock=5.5)).defects[0].decides is None
