"""The price of one method for one case straight from the engine, for methods that an answer shows without a price (R6)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any

import msgspec

from service.engine.causes import causes_of, to_price
from service.engine.option import lines_of
from service.engine.plan import Setting, compose, decide, method_scope
from service.engine.pricing import parts_of
from service.engine.rates import Line, RateBook
from service.engine.registry import all_methods
from service.engine.sense import check_house
from service.engine.survey import Survey
from service.engine.urgency import urgency_of
from service.engine.words import Words
from service.engine.worlds import Draw, Facts, build_case, groups_of
from service.web.convert import Converter
from service.web.decoding import RequestReader
from service.web.requests import request_types
from tests.engine.books import book
from tests.engine.cases import knowledge


@lru_cache(maxsize=1)
def _door() -> tuple[RequestReader, Converter]:
    types = request_types(knowledge())
    return RequestReader(types), Converter(types)


def survey_of(body: Mapping[str, Any]) -> Survey:
    """The survey that a request describes."""
    reader, converter = _door()
    return converter.survey(reader.read(msgspec.json.encode(body)), date.fromisoformat(body["priced_on"]))


def line_of(region: str, section: str, code: str) -> Line:
    """One line of a region's book."""
    return book(region).line(section, code)


def parts_priced(
    body: Mapping[str, Any], method: str, *, defect: int = 0, piece: int = 1, heated: bool = False,
    rates: Mapping[str, str] | None = None,
) -> dict[str, Decimal]:
    """Price of a method by part, whether its gates allow it or not.

    Args:
        body: the request.
        method: code of the method.
        defect, piece: which defect, and which of its pieces.
        heated: in a heated tent.
        rates: resources that are bought at the price of another one.
    """
    survey = survey_of(body)
    prices = _swapped(book(body["region"], survey.priced_on), rates or {})
    house, _ = check_house(survey.house, knowledge())
    survey = replace(survey, house=house)
    sent = survey.defects[defect]
    group = next(g for g in groups_of(sent) if piece in g.pieces)
    case = build_case(
        Facts(survey, sent, group, prices, knowledge(), Draw(None)), batch=sent.count, adjacent_courses=1
    )
    registry = all_methods()
    setting = Setting(
        knowledge=knowledge(), registry=registry, words=Words("imperial"), urgency=urgency_of(case)[0],
        causes=to_price(causes_of(case, knowledge())), by_others=(), latest_days=None,
    )
    decisions = decide(
        case, method_scope(case, registry[method], heated=heated), knowledge().methods[method], setting, heated=heated
    )
    work, fixed = compose(case, registry[method], decisions, setting)
    return parts_of(lines_of(work, fixed, ()))


def _swapped(prices: RateBook, rates: Mapping[str, str]) -> RateBook:
    lines = dict(prices.lines)
    for code, other in rates.items():
        own, instead = lines["resources", code], lines["resources", other]
        lines["resources", code] = replace(own, low=instead.low, likely=instead.likely, high=instead.high)
    return replace(prices, lines=lines)
