"""What changed since a quote, over HTTP."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

import msgspec
from litestar import Response, post
from litestar.handlers import HTTPRouteHandler
from litestar.params import FromPath
from msgspec import UNSET, Struct

from service.application.effects import Alone, Effect, PlanKey
from service.application.quotes import QuoteDesk
from service.application.since import Since, SinceQuote
from service.application.since_words import summary
from service.engine.survey import Survey
from service.web import limits
from service.web import reading_shapes as shapes
from service.web.comparing_shapes import moved, piece
from service.web.convert import Converter, check_groups
from service.web.decoding import read_body
from service.web.http import JSON, Asked, check_json, freshness
from service.web.params import region_named
from service.web.present import Presenter, money
from service.web.problems import Fault, ProblemError, problem
from service.web.requests import RequestTypes
from service.web.since_shapes import (
    Changes,
    DefectMove,
    LineEffect,
    LineName,
    PlanEffect,
    PlanMove,
    QuoteMove,
    changes_request,
)
from service.web.units import Units

Ranked = tuple[tuple[str, str], ...]
"""Methods and variants of the plans for one group of alike pieces, the first one first."""


@dataclass(frozen=True, slots=True)
class SinceDoor:
    """Answers what changed since a quote.

    Attributes:
        sent: type of the question.
        today: the day that is meant where none is said.
    """

    since: SinceQuote
    desk: QuoteDesk
    converter: Converter
    sent: type[Struct]
    today: Callable[[], date]

    async def changes(self, request: Asked, region: str) -> Response[bytes]:
        """What moved between a quote's rates and those in force, and what it does to the quote."""
        region = region_named(region)
        check_json(request)
        asked: Any = read_body(await request.body(), self.sent)
        day = self.today() if asked.on is UNSET else asked.on
        survey = None if asked.request is UNSET else self._survey(region, asked, day)
        told = await self.since.since(region, asked.rates, day, survey)
        if told.effect is not None and survey is not None and not told.effect.before.plans and not told.effect.after.plans:
            raise await self._nothing_priced(region, asked, survey)
        units = Units(told.comparison.units)
        body = Changes(
            region, told.currency, day, told.then, told.now, summary(told), [moved(m) for m in told.comparison.lines],
            [piece(m, units) for m in told.comparison.sticks],
            [shapes.signature(s) for s in told.comparison.counts],
            None if told.effect is None or survey is None else _quote(told, told.effect, survey.priced_on),
        )
        return Response(
            msgspec.json.encode(body), status_code=200, media_type=JSON,
            headers=freshness(degraded=told.degraded, age_s=told.age_s),
        )

    def _survey(self, region: str, asked: Any, day: date) -> Survey:
        """The survey of the request that was quoted.

        Raises:
            ProblemError: 400 where it is a quote of another region or other rates.
        """
        sent, faults = asked.request, []
        if sent.region != region:
            faults.append(Fault(f"must be the region of the address, {region}.", "#/request/region", None))
        if sent.rates is not UNSET and sent.rates != asked.rates:
            faults.append(Fault("names other rates than `rates` beside the request.", "#/request/rates", None))
        if faults:
            raise ProblemError(problem("invalid-request", "The request is not the one of these rates.", errors=faults))
        survey = self.converter.survey(sent, day)
        check_groups(survey, limits.GROUPS, ("request", "defects"))
        return survey

    async def _nothing_priced(self, region: str, asked: Any, survey: Survey) -> ProblemError:
        """422: no defect can be priced under either rates."""
        quoted = await self.desk.quote(region, survey, asked.rates)
        presenter = Presenter(quoted.answer, asked.request)
        faults = [
            Fault(f"{s.value!r}: {s.wrong}. {s.right}", f"#/request{s.pointer.removeprefix('#')}", s.code)
            for d in quoted.answer.defects for s in presenter.slips(d) if s.fatal
        ]
        return ProblemError(problem("nothing-priced", "No defect of the request can be priced.", errors=faults[: limits.ERRORS]))


def _quote(told: Since, effect: Effect, priced_on: date) -> QuoteMove:
    then, now = effect.before.total, effect.after.total
    groups = dict.fromkeys(key[:2] for key in (*effect.before.plans, *effect.after.plans))
    names = {**effect.after.defects, **effect.before.defects}
    # Once for all groups: a job has up to hundreds of them, and thousands of plans to put in order.
    orders = effect.before.order(), effect.after.order()
    return QuoteMove(
        priced_on, money(then), money(now), money(now - then),
        [_group(effect, g, orders[0].get(g, ()), orders[1].get(g, ()), names[g[0]]) for g in groups],
        [_alone(alone, names) for alone in effect.alone], money(told.together or Decimal(0)),
        [LineName(*key) for key in told.left_out],
    )


def _group(effect: Effect, group: tuple[int, tuple[int, ...]], was: Ranked, now: Ranked, name: str) -> DefectMove:
    plans = [(*group, *plan) for plan in (*was, *(plan for plan in now if plan not in was))]
    return DefectMove(name, list(group[1]), was != now, was[:1] != now[:1], [_plan(effect, key) for key in plans])


def _plan(effect: Effect, key: PlanKey) -> PlanMove:
    then, now = effect.before.plans.get(key), effect.after.plans.get(key)
    one = then or now
    return PlanMove(
        method=key[2], variant=key[3], title=one.title if one else "", rank_then=then.rank if then else None,
        rank_now=now.rank if now else None, whole_then=money(then.whole) if then else None,
        whole_now=money(now.whole) if now else None, change=money(now.whole - then.whole) if then and now else None,
    )


def _alone(alone: Alone, names: dict[int, str]) -> LineEffect:
    plans = [
        PlanEffect(names[index], list(pieces), method, variant, money(change))
        for (index, pieces, method, variant), change in alone.plans.items()
    ]
    total = None if alone.missing else money(alone.total)
    return LineEffect(*alone.key, total, plans, alone.moves_ranks, alone.changes_first)


def since_routes(door: SinceDoor) -> list[HTTPRouteHandler]:
    """The address of what changed since a quote."""

    @post("/v1/regions/{region:str}/changes", status_code=200, opt={"scope": "rates:read"})
    async def read_changes(request: Asked, region: FromPath[str]) -> Response[bytes]:
        return await door.changes(request, region)

    return [read_changes]


def since_door(since: SinceQuote, desk: QuoteDesk, types: RequestTypes, today: Callable[[], date]) -> SinceDoor:
    """The door, with its type of question made once."""
    return SinceDoor(since, desk, Converter(types), changes_request(types), today)
