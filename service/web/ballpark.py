"""The answer for a form's public key: what a visitor of a website may see.

A public key can be copied by anybody, so its answers hold no line, rate, hour or exact sum: rounded ranges, how urgent
it is, how long it takes, and what to be careful with.
"""

from __future__ import annotations

from datetime import date
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from msgspec import Struct

from service.web import answers, limits
from service.web.summary import cautions_shown

FIGURES = 2
"""Significant figures of a rounded price. One answer tells no rate; many of them narrow one down, which the key's quota slows."""


class RoundedRange(Struct, frozen=True, gc=False):
    """A price as a visitor may see it: the 10 % point rounded down and the 90 % point rounded up, to two figures.

    Attributes:
        low: low end.
        high: high end.
    """

    low: answers.Money
    high: answers.Money


class BallparkOption(Struct, frozen=True, gc=False):
    """One way to repair it.

    Attributes:
        method: code of the main method.
        title: in words.
        stop_gap: whether it only bridges the time until the repair.
        comparison_only: whether it is more than is needed as it was described, and shown beside the others for comparison.
        price: rounded range of the whole price.
        days_from_today: until all is over, in days.
        room_out_days: days without the room.
        likely: share of the possible cases in which it still fits once opened up, in tenths.
    """

    method: str
    title: str
    stop_gap: bool
    comparison_only: bool
    price: RoundedRange
    days_from_today: int
    room_out_days: int
    likely: float


class BallparkQuestion(Struct, frozen=True, gc=False):
    """What is worth asking.

    Attributes:
        fact: name of the fact.
        ask: how to ask.
        because: why it is asked.
    """

    fact: str
    ask: str
    because: str


class BallparkDefect(Struct, frozen=True, gc=False):
    """One defect.

    Attributes:
        id: the caller's id, or its number from 1.
        pieces: numbers of the pieces, from 1; a defect whose pieces differ has an answer for each group of alike ones.
        status: priced, provisional or rejected.
        urgency: U0 today, U1 within weeks, U2 this season, U3 can wait; null where nothing could be priced.
        urgency_words: the sentence to read to the owner; null where nothing could be priced.
        slips: values that cannot be, or that were left out.
        options: ways to repair it, the first one first.
        decides: what decides between the first plan and a heavier one once it is opened; null where nothing does.
        questions: what is worth asking.
        see_first: who else must look, and before what.
        cautions: codes, its own and those of the ways shown, spelled out in `caution_texts`.
    """

    id: str
    pieces: list[int]
    status: str
    urgency: str | None
    urgency_words: str | None
    slips: list[answers.Slip]
    options: list[BallparkOption]
    decides: str | None
    questions: list[BallparkQuestion]
    see_first: list[str]
    cautions: list[str]


class Ballpark(Struct, frozen=True, gc=False):
    """What a form's visitor gets: no firm price, and none of the rates behind it.

    Attributes:
        region: region that would do the work.
        currency: currency of all money, ISO 4217.
        units: units of the answer.
        priced_on: day of the prices.
        defects: one answer a defect, or a group of alike pieces, in the order of the request.
        job: rounded range of the whole job; null where nothing is priced.
        complete: whether every defect is in it.
        caution_texts: code of a caution, and its text.
        words: what kind of price this is.
    """

    region: str
    currency: str
    units: str
    priced_on: date
    defects: list[BallparkDefect]
    job: RoundedRange | None
    complete: bool
    caution_texts: dict[str, str]
    words: str


WORDS = (
    "A ballpark from a few words, not an offer: nobody has looked at the building. A repair that carries load, works at "
    "height, or meets old paint or old preservatives is decided on site, by local codes and licensed practice."
)


def ballpark_of(quote: answers.Quote) -> Ballpark:
    """What a visitor may see of a full answer."""
    defects = [one for d in quote.defects for one in _defect(d)]
    said = {code for d in defects for code in d.cautions}
    return Ballpark(
        region=quote.region, currency=quote.currency, units=quote.units, priced_on=quote.priced_on, defects=defects,
        job=rounded(quote.job.range), complete=quote.job.complete, words=WORDS,
        caution_texts={code: text for code, text in quote.caution_texts.items() if code in said},
    )


def rounded(spread: answers.PriceRange | None) -> RoundedRange | None:
    """A range outwards to two figures."""
    if spread is None:
        return None
    return RoundedRange(_to_figures(spread.p10, ROUND_FLOOR), _to_figures(spread.p90, ROUND_CEILING))


def _to_figures(money: str, way: str) -> str:
    amount = Decimal(money)
    if not amount:
        return "0.00"
    step = Decimal(1).scaleb(amount.adjusted() - FIGURES + 1)
    return f"{(amount / step).to_integral_value(rounding=way) * step:.2f}"


def _defect(d: answers.DefectAnswer) -> list[BallparkDefect]:
    shown: list[answers.Group | answers.DefectAnswer] = [*d.groups] or [d]
    return [
        BallparkDefect(
            id=d.id, pieces=one.pieces, status=d.status, urgency=one.assessment.urgency if one.assessment else None,
            urgency_words=one.assessment.urgency_words if one.assessment else None, slips=d.slips,
            options=_options(one.options), decides=_decides(one.options),
            questions=[BallparkQuestion(q.fact, q.ask, q.because) for q in one.questions],
            see_first=[e.text for e in d.escalations], cautions=cautions_shown(d),
        )
        for one in shown
    ]


def _decides(options: list[answers.Option]) -> str | None:
    fork = options[0].fork if options else None
    return fork.text if fork else None


def _options(options: list[answers.Option]) -> list[BallparkOption]:
    found = []
    for o in options[: limits.SUMMARY_OPTIONS]:
        price = rounded(o.whole.range)
        if price is not None:
            found.append(BallparkOption(
                method=o.method, title=o.title, stop_gap=o.stop_gap, comparison_only=o.comparison_only, price=price,
                days_from_today=-int(-o.clocks.days_from_today // 1),
                room_out_days=-int(-o.clocks.room_out_days // 1), likely=round(o.holds, 1),
            ))
    return found
