"""From a composed candidate to an option that can be read: lines, price, clocks, wood, life, score."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from service.engine.array import Truth, negate, share_of_worlds, where
from service.engine.calendar import WorkCalendar
from service.engine.case import Case
from service.engine.causes import declined_titles
from service.engine.cautions import UNTIL_SIGNED, cautions_of, waiver_words
from service.engine.choice import Candidate
from service.engine.escalations import engineer_because
from service.engine.jobsize import EVERY_SIZE, Size, Whole, days_spread, sizes_of
from service.engine.outcome import (
    Conditional,
    FollowUp,
    Fork,
    Life,
    Option,
    Price,
    PriceLine,
    Unit,
)
from service.engine.plan import Decisions, Setting, compose_work, put_around
from service.engine.pricing import Spread, as_range, cents, money, parts_of, price_line
from service.engine.rates import RateBook
from service.engine.schedule import Timetable, delays_of, timetable
from service.engine.science.economics import single_present_value
from service.engine.score import as_score, score_terms
from service.engine.sealing import doses_of, joints_of
from service.engine.season import later
from service.engine.site import BY_SIZE, PRICED_FOR_SCORE, Fixed, visits_of
from service.engine.wood import pieces_of
from service.engine.work import Work

NOT_ITS_OWN = ("shared", "tax", "contingency")
"""Parts of the price that a plan pays only where it stands alone."""
SIGNS = {"lead.engineer_letter": 2, "lead.engineer_stamp": 3}
"""Who signs, by the wait that a scope brings where this very case needs more than the method does as a rule."""


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A conditional cost with the worlds in which it comes, and the resource that its price is of, where it is of one."""

    what: Conditional
    comes: Truth
    resource: str = ""


def lines_of(work: Work, fixed: Sequence[Fixed], first_step: Sequence[int | None]) -> tuple[PriceLine, ...]:
    """All lines of a plan in the world as stated, each rounded once."""
    book = work.case.book
    steps = dict(enumerate(first_step))
    lines = [line for c in work.charges if (line := price_line(c, book, steps.get(c.stage))) is not None]
    lines.extend(fixed_line(one) for one in fixed if float(one.amount) > 0.004)
    return tuple(lines)


def laid_out(one: Candidate) -> tuple[Timetable, tuple[PriceLine, ...]]:
    """Steps and lines of a composed candidate in the world as stated; worked out once a candidate."""
    if one.laid_out is None:
        assert one.stated is not None and one.decisions is not None
        days = timetable(one.stated, one.decisions.leads, one.stated.case.book)
        one.laid_out = days, lines_of(one.stated, one.fixed, days.first_step)
    return one.laid_out


def fixed_line(one: Fixed) -> PriceLine:
    """A line for an amount that is a rule."""
    amount = money(float(one.amount))
    return PriceLine(
        part=one.part, step=None, resource=one.code, what=one.what, quantity=Decimal(1), unit="each", rate=amount,
        markup=Decimal(0), amount=amount, region=one.region, norm=None,
    )


def own_spreads(one: Candidate) -> tuple[Spread, Spread]:
    """Price and days of what a plan pays itself, alone or in a job, over the worlds; worked out once a candidate."""
    if one.own is None:
        assert one.many is not None
        charges, book = one.many.charges, one.many.book
        own = Spread.of((c for c in charges if c.part not in NOT_ITS_OWN), book)
        one.own = own, days_spread(charges, one.many.stages, book)
    return one.own


def package_of(one: Candidate) -> Spread:
    """Spread of the package over the worlds."""
    assert one.many is not None
    if all(c.part == "package" or c.part in NOT_ITS_OWN for c in one.many.charges):
        return own_spreads(one)[0]
    return Spread.of((c for c in one.many.charges if c.part == "package"), one.many.book)


def whole_of(one: Candidate, setting: Setting) -> Whole:
    """Spread of the whole without contingency, over the worlds; worked out once a candidate."""
    if one.whole is None:
        assert one.many is not None
        decisions, book = one.decisions or Decisions(), one.many.book
        rules = {rule.code: rule for rule in put_around(one.many, decisions, setting)}
        road = Spread.of((c for c in one.many.charges if c.part in NOT_ITS_OWN and c.resource not in BY_SIZE), book)
        own, days = own_spreads(one)
        work, more = own.join(road), Spread(0.0, {}, {})
        sizes: tuple[Size, ...] = (EVERY_SIZE,)
        if rules:
            rate = rules["tax"].rate if "tax" in rules else 0.0
            more.mean = rules["site_management"].amount * (1.0 + rate) + rules["contingency"].amount * rate
            work = work.times(1.0 + rate) if rate else work
            sizes = sizes_of(book, visits=max(visits_of(one.many), decisions.visits), taxed=1.0 + rate)
        one.whole = Whole(work, days, more, sizes)
    return one.whole


def conditional_spread(conditional: Sequence[Uncertain], book: RateBook) -> Spread:
    """Spread of what comes in some of the worlds only."""
    more = Spread(0.0, {}, {})
    for extra in conditional:
        price = where(extra.comes, float(extra.what.price), 0.0)
        more.add_price(price, book.tariff(extra.resource) if extra.resource else None)
    return more


def build_option(
    case: Case, one: Candidate, setting: Setting, *, rank: int, corrected: bool, worlds: int,
    conditional: Sequence[Uncertain], fork: Fork | None, otherwise: str | None, why: str,
) -> Option:
    """Everything that is said of one plan."""
    assert one.stated is not None and one.many is not None and one.decisions is not None and one.over is not None
    work, book, record = one.stated, case.book, one.record
    days, lines = laid_out(one)
    parts = parts_of(lines)
    holds = negate(one.over.out)
    package, whole = _prices(parts, one, setting, conditional, holds, worlds)
    pieces = pieces_of(work, setting.words)
    declined = declined_titles(setting.all_causes)
    calendar = WorkCalendar.of(book, case.day)
    life = _life(case, one, corrected=corrected)
    score_price = sum((parts.get(p, Decimal(0)) for p in ("package", "interim", "correction", "access")), Decimal(0))
    terms = score_terms(case, record, work, float(score_price), one.years)
    sign_off = max(record.sign_off, *(SIGNS.get(row, 0) for row in work.leads), 0)
    return Option(
        method=one.code, variant="heated" if one.heated else "", title=_title(one, days), rank=rank,
        comparison_only=one.comparison and rank > 1, stop_gap=_is_stop_gap(case, one),
        provisional=_provisional(case, sign_off), holds=share_of(holds), otherwise=otherwise, fork=fork,
        package=package, whole=whole, parts=parts, lines=lines, conditional=tuple(c.what for c in conditional),
        if_more=_if_more(case, one, setting), steps=days.steps, clocks=days.clocks,
        delays=delays_of(one.decisions.leads, calendar), wood=pieces, preservative=doses_of(work),
        joints=joints_of(work), life=life,
        cost_a_year=cents(whole.as_described / Decimal(repr(max(one.years, 1.0)))),
        cost_a_year_not_corrected=cents(whole.as_described / Decimal(repr(max(life.not_corrected[1], 1.0)))),
        life_cycle=None if _bridges(one) else _life_cycle(book, whole.as_described, max(one.years, 1.0)), score=as_score(terms),
        sign_off=sign_off, match=record.match, heritage=record.heritage,
        follow_up=_follow_up(one, days), price_good_until=_good_until(case, bool(pieces)),
        warranty=not declined and not _bridges(one), waiver=waiver_words(declined) if declined else None,
        cautions=cautions_of(case, record, work, one.heated),
        notes=tuple(dict.fromkeys(work.notes)), why=why,
    )


def _is_stop_gap(case: Case, one: Candidate) -> bool:
    """A method that lasts less than eight years (B9); a coat, a joint or a treatment is renewed by its nature."""
    return not one.lasting and one.code != "monitor" and (one.record.role == "interim" or case.rotten)


def _bridges(one: Candidate) -> bool:
    """Whether it mends nothing: nobody renews a shore or a cover for decades, or warrants it (M25, M26)."""
    return one.record.role == "interim" or one.code == "monitor"


def _prices(
    parts: dict[str, Decimal], one: Candidate, setting: Setting, conditional: Sequence[Uncertain], holds: Truth,
    worlds: int,
) -> tuple[Price, Price]:
    assert one.many is not None
    package, whole = package_of(one), whole_of(one, setting).and_more(conditional_spread(conditional, one.many.book))
    total = sum(parts.values(), Decimal(0))
    return (
        Price(parts.get("package", Decimal(0)), as_range(package.quantiles(holds, worlds))),
        Price(total, as_range(whole.quantiles(holds, worlds))),
    )


def share_of(truth: Truth) -> float:
    """Share of the worlds in which something holds."""
    return round(share_of_worlds(truth), 4)


def _title(one: Candidate, days: Timetable) -> str:
    waits = {lead.code for lead in one.decisions.leads} if one.decisions else set()
    if one.heated:
        return f"{one.record.title}, now, in a heated tent"
    if "cold" in waits:
        return f"{one.record.title}, once it is warm (from {days.clocks.earliest_start.isoformat()})"
    if "snow" in waits:
        return f"{one.record.title}, once the snow is gone (from {days.clocks.earliest_start.isoformat()})"
    return one.record.title


def _provisional(case: Case, sign_off: int) -> bool:
    """No structural price is firm before sign-off, and none before the place was seen (R31).

    R31 asks for a signature, not for an engineer's: a member in bending or tension, a post, one that carries people, a
    deck, or one that an engineer has to look at keeps its price open until whoever signs (B2, B6) has signed. A log that
    lies in a wall has its neighbours to stand on, and the lead has seen it.
    """
    carries = case.structural or case.element.role in UNTIL_SIGNED
    return sign_off >= 2 or case.level in ("told", "photos") or carries or bool(engineer_because(case))


def _life(case: Case, one: Candidate, *, corrected: bool) -> Life:
    def years(state: str) -> tuple[float, float, float]:
        line = case.book.line("lives", f"{one.method.life_row(case)}.{state}")
        return float(line.low), float(line.likely), float(line.high)

    return Life(years("corrected"), years("not_corrected"), "corrected" if corrected else "not_corrected")


def _life_cycle(book: RateBook, whole: Decimal, years: float) -> Decimal:
    """Present value of doing it again whenever it is worn out, over the horizon (NIST Handbook 135)."""
    rate = book.likely("terms", "discount_rate")
    horizon = book.likely("terms", "horizon")
    factor, at = 0.0, 0.0
    while at < horizon:
        factor += float(single_present_value(rate, at))
        at += years
    return cents(whole * Decimal(repr(factor)))


def _follow_up(one: Candidate, days: Timetable) -> tuple[FollowUp, ...]:
    return tuple(
        FollowUp(later(days.clocks.finish, months * 30.4375), f"Look again: {one.record.title.lower()}")
        for months in one.record.look_again_months
    )


def _good_until(case: Case, has_wood: bool) -> date:
    """Until when the price is good: by level of information, shorter where wood is in it (A3)."""
    days = case.book.likely("terms", f"validity.{case.level}")
    if has_wood and days:
        days = min(days, case.book.likely("terms", "validity.wood"))
    return case.day + timedelta(days=int(days))


def _if_more(case: Case, one: Candidate, setting: Setting) -> tuple[Unit, ...]:
    """What one more foot, or one more piece, costs: the plan composed again with it."""
    assert one.stated is not None and one.decisions is not None
    base = _charged(one.stated)
    units = []
    metric = setting.words.units == "metric"
    step_in = 1000.0 / 25.4 if metric else 12.0
    room = float(case.clear_length_in) - float(case.length_in)
    if room >= step_in:
        longer = case.once("longer", lambda case: _longer(case, step_in))
        more = _charged(compose_work(longer, one.method, one.decisions, setting)) - base
        if more > 0.005:
            what = "more length of decay" if case.rotten else "more length of it"
            units.append(Unit(what, "m" if metric else "ft", money(float(more))))
    another = case.once("another", lambda case: case.but(count=case.count + 1, batch=case.batch + 1))
    more = _charged(compose_work(another, one.method, one.decisions, setting)) - base
    if more > 0.005:
        units.append(Unit("another one like it", "each", money(float(more))))
    return tuple(units)


def _longer(case: Case, step_in: float) -> Case:
    """The same piece with so much more decay towards the right."""
    return case.but(
        length_in=case.length_in + step_in,
        stop_right_in=case.stop_right_in - step_in if case.stop_right_in > step_in else 0.0,
    )


def _charged(work: Work) -> float:
    """Price of the work, charge by charge."""
    return sum((float(c.amount) for c in work.charges if c.part in PRICED_FOR_SCORE), 0.0)
