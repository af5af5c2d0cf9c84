"""Ranking in money a year (R29): what a plan costs over its life, and what its disturbance is worth.

No method's name and no fact of a particular case stands here (R30). The weights are rows of the rate book, the owner's
wishes scale the terms.
"""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from service.engine.array import Number, maximum
from service.engine.case import Case
from service.engine.knowledge import MethodRecord
from service.engine.outcome import Score, Term
from service.engine.pricing import money
from service.engine.rates import RateBook
from service.engine.site import PRICED_FOR_SCORE, crew_days_of, visits_of
from service.engine.work import Stage, Task, Wait, Work

HERITAGE_STEPS = {"A": 0.0, "B": 1.0, "C": 2.0, "X": 3.0}
"""Steps of heritage standing from liked to avoid."""
OUT_ROWS = {"post": "porch_day", "stair": "stair_day", "deck": "deck_day", "guard": "deck_day"}
"""Row of the weights for a day on which a member of this family must not be used."""


def days_out(work: Work) -> tuple[Number, Number, Number]:
    """Days that a room, a roof and a load-bearing place are out of use."""
    room: Number = 0.0
    roof: Number = 0.0
    load: Number = 0.0
    for stage in work.stages:
        if stage.phase == "interim":
            continue
        for part in stage.parts:
            if not (part.room or part.roof or part.load):
                continue
            days = part.days if isinstance(part, Wait) else _task_days(work, stage, part)
            if part.room:
                room = room + part.room * days
            if part.roof:
                roof = roof + part.roof * days
            if part.load:
                load = load + part.load * days
    return room, roof, load


def _task_days(work: Work, stage: Stage, part: Task) -> Number:
    return crew_days_of(stage, stage.hours, work.case.book) * part.share


def life_years(book: RateBook, row: str, *, corrected: bool) -> float:
    """Likely life [yr] for the state of the cause."""
    state = "corrected" if corrected else "not_corrected"
    return book.likely("lives", f"{row}.{state}")


def score_terms(
    case: Case, record: MethodRecord, work: Work, priced: Number, years: float
) -> list[tuple[str, str, Number]]:
    """Terms of the score in money a year, in this world or in each: (code, words, amount).

    Args:
        priced: package, interim, correction and access [money].
        years: likely life, 1 for watching and for interim works.
    """
    wishes, worth = case.wishes, case.once("worth", _worth)
    per = 1.0 / max(years, 1.0)
    match_steps = max(5 - record.match, 0) * worth.seen
    heritage_steps = HERITAGE_STEPS[record.heritage] * worth.listed
    out = wishes.time_out_of_use
    room, roof, load = days_out(work)
    return [
        ("price", "price over its likely life", priced * per * wishes.lifetime_cost),
        # As usual or less it counts nothing beside the price a year: nobody likes a plan for being dear.
        ("first_cost", "money needed now", priced * worth.first_cost * max(wishes.first_cost - 1.0, 0.0)),
        ("rooms", "days without the room", room * worth.room_day * per * out),
        ("roof", "days with the roof open", roof * worth.roof_day * per * out),
        ("use", "days without porch, stair or floor", load * worth.use_day * per * out),
        ("visits", "visits", visits_of(work) * worth.visit * per),
        ("sound_wood", "sound wood cut away", maximum(work.sound_wood_ft3, 0.0) * worth.sound_wood * per),
        ("match", "how it will look", match_steps * worth.match_step * wishes.look),
        ("heritage", "old fabric lost", heritage_steps * worth.heritage_step * wishes.heritage),
    ]


class _Worth(NamedTuple):
    """What one of each is worth for this member, from the weights of the book; and how much of a step counts there."""

    first_cost: float
    room_day: float
    roof_day: float
    use_day: float
    visit: float
    sound_wood: float
    match_step: float
    heritage_step: float
    seen: float
    listed: float


def _worth(case: Case) -> _Worth:
    rows = (
        "first_cost", "room_day", "roof_day", OUT_ROWS.get(case.element.family, "room_day"), "visit", "sound_wood",
        "match_step", "heritage_step", f"share.{case.word('visibility') or 'seen'}",
        f"share.heritage_{case.word('heritage') or 'none'}",
    )
    return _Worth(*(case.book.likely("weights", row) for row in rows))


def priced_amount(work: Work) -> Number:
    """What the score counts as the price: package, interim, correction and access, at likely rates."""
    total: Number = 0.0
    for part in PRICED_FOR_SCORE:
        if part in work.spent:
            total = total + work.spent[part]
    return total


def total_of_terms(terms: list[tuple[str, str, Number]]) -> Number:
    """Sum of the terms."""
    total: Number = 0.0
    for _, _, amount in terms:
        total = total + amount
    return total


def as_score(terms: list[tuple[str, str, Number]]) -> Score:
    """Terms in money, each rounded once; the total is their sum."""
    rounded = tuple(Term(code, what, money(float(amount))) for code, what, amount in terms if float(amount) != 0.0)
    return Score(rounded, sum((t.amount for t in rounded), Decimal(0)))
