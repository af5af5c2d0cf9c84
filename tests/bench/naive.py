"""The naive way to a range: choose anew in one drawn world after the other, each of plain numbers."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from service.engine.causes import causes_of, declined, to_price, waits
from service.engine.choice import candidates, compose_stated, order, settle
from service.engine.knowledge import Knowledge
from service.engine.method import Method
from service.engine.plan import Setting
from service.engine.rates import RateBook
from service.engine.survey import Survey
from service.engine.urgency import urgency_of
from service.engine.words import Words
from service.engine.worlds import Draw, Facts, build_case, groups_of
from tests.engine.montecarlo.drawing import FactDraws


def first_in_each(
    survey: Survey, book: RateBook, knowledge: Knowledge, registry: Mapping[str, Method], worlds: int
) -> list[str]:
    """Method that is first in each of so many drawn worlds, prices as they stand; "" where none is offered."""
    drawn = FactDraws(survey, book, knowledge, worlds, np.random.default_rng(1))
    return [_first(world, book, knowledge, registry) for world in drawn.worlds()]


def _first(world: Survey, book: RateBook, knowledge: Knowledge, registry: Mapping[str, Method]) -> str:
    """Method that is first in one world."""
    defect = world.defects[0]
    facts = Facts(world, defect, groups_of(defect)[0], book, knowledge, Draw(None))
    case = build_case(facts, batch=defect.count, adjacent_courses=1)
    causes = causes_of(case, knowledge)
    setting = Setting(
        knowledge=knowledge, registry=registry, words=Words(world.units), urgency=urgency_of(case)[0],
        causes=to_price(causes), by_others=tuple(waits(causes, world.priced_on)), latest_days=None, all_causes=causes,
    )
    found = candidates(case, setting, corrected=not declined(causes))
    settle(found)
    offered = [one for one in found if one.offered]
    for one in offered:
        compose_stated(case, one, setting)
    ranked = order(offered, look_matters=case.flags.get("look_matters", True))
    return ranked[0].code if ranked else ""
