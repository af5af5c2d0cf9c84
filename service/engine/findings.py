"""The answer for one group of alike pieces: assessment, ranked options, what was ruled out, and what to ask."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from service.engine.array import any_of, commonest
from service.engine.assess import assess, urgency_under_load
from service.engine.case import Case
from service.engine.causes import causes_of, declined, most_likely_unreported, to_price, waits
from service.engine.cautions import hazard_conditionals
from service.engine.choice import (
    OVERLOADED,
    Candidate,
    by_usual_weights,
    candidates,
    compose_over,
    compose_stated,
    first_in_worlds,
    heated_twin,
    lets_down,
    order,
    settle,
    settle_over,
    weighs_as_usual,
)
from service.engine.fork import follows, fork_of, headline, why_words
from service.engine.gates import Gates
from service.engine.hazards import disturbs
from service.engine.inquiry import Inquiry
from service.engine.knowledge import Knowledge
from service.engine.method import Method
from service.engine.option import Uncertain, build_option, laid_out
from service.engine.outcome import Assessment, Findings, Option, RuledOut, Waiting
from service.engine.outlook import outlook
from service.engine.plan import Setting
from service.engine.questions import questions_of
from service.engine.rates import RateBook
from service.engine.schedule import LeadTime, timetable
from service.engine.survey import Defect, Survey
from service.engine.words import Words
from service.engine.worlds import Draw, Facts, Group, build_case, sobol

MOST_QUESTIONS = 3
"""More than three questions at a time are an insult to a man on a ladder (A4)."""


def inquire(
    survey: Survey, defect: Defect, group: Group, book: RateBook, knowledge: Knowledge,
    registry: Mapping[str, Method], *, adjacent_courses: int, alone: bool = True,
) -> Inquiry:
    """Look at one group in the world as stated and in all worlds, and rank what can be done."""
    table = sobol(knowledge.sobol)
    facts = Facts(survey, defect, group, book, knowledge, Draw(None))
    stated = build_case(facts, batch=defect.count, adjacent_courses=adjacent_courses)
    draw = Draw(table)
    many = build_case(
        Facts(survey, defect, group, book, knowledge, draw), batch=defect.count, adjacent_courses=adjacent_courses
    )
    words = Words(survey.units, book.currency)
    causes = causes_of(stated, knowledge)
    corrected = not declined(causes)
    setting = Setting(
        knowledge=knowledge, registry=registry, words=words,
        urgency=urgency_under_load(stated, words, knowledge)[0], causes=to_price(causes),
        by_others=tuple(waits(causes, survey.priced_on)), latest_days=_latest(survey), alone=alone, all_causes=causes,
    )
    found = candidates(stated, setting, corrected=corrected)
    settle(found)
    _meet_latest(stated, found, setting)
    worlds = int(table.shape[0])
    ranked, first = _rank(stated, many, found, setting, worlds)
    return Inquiry(group, stated, many, facts, draw, setting, causes, corrected, found, ranked, first, worlds)


def _latest(survey: Survey) -> float | None:
    """Days until the caller's latest date."""
    return float((survey.wishes.latest - survey.priced_on).days) if survey.wishes.latest else None


def _meet_latest(case: Case, found: Sequence[Candidate], setting: Setting) -> None:
    """Compose what is offered; strike out what cannot be done before the latest date, whatever heating does (R12)."""
    for one in found:
        if one.offered:
            compose_stated(case, one, setting)
    if setting.latest_days is None:
        return
    for one in found:
        if one.gates.forbidden or one.record.role == "interim":  # a shore for today is never too late
            continue
        if one.decisions is None:  # it may still be first in another world, where it would be as late
            compose_stated(case, one, setting)
        assert one.decisions is not None
        fixed = [lead for lead in one.decisions.leads if lead.code != "cold"]
        days = _days_in_all(case, one, fixed)
        if days > setting.latest_days:
            slow = max(fixed, key=lambda lead: lead.days, default=None)
            why = f"It takes {days:.0f} days in all"
            if slow is not None and slow.days > 0.0:
                why += f", {slow.days:.0f} of them before the work ({slow.text[:1].lower()}{slow.text[1:]})"
            one.gates.cannot("R12", True, f"Not possible by the latest date. {why}.")
            one.offered = False


def _days_in_all(case: Case, one: Candidate, leads: Sequence[LeadTime]) -> float:
    """Days until a plan is finished, cures and drying in."""
    assert one.stated is not None
    return timetable(one.stated, leads, case.book).clocks.days_from_today


def _rank(
    stated: Case, many: Case, found: list[Candidate], setting: Setting, worlds: int
) -> tuple[list[Candidate], NDArray[np.int64]]:
    """Add heated twins, look at every candidate over the worlds, and rank the options; and say who is first in each world."""
    twins = [t for t in (heated_twin(c) for c in found if c.offered) if t is not None]
    for twin in twins:
        compose_stated(stated, twin, setting)
    if setting.latest_days is not None:
        _drop_late(stated, found, setting)
        _stand_in(found, twins)
    look = stated.flags.get("look_matters", True)
    everyone = [*found, *(twin for twin in twins if all(twin is not one for one in found))]
    for one in everyone:
        over = Gates(setting.words)
        one.method.fits(many, over)
        for no in one.gates.struck:  # a date or a load as stated holds in every world
            if no.code == OVERLOADED or (no.code == "R12" and not one.heated):
                over.cannot(no.code, True, no.template)
        one.over, one.lets_down_over = over, lets_down(many, one.method, one.record)
    settle_over(found, look_matters=look)
    for one in everyone:
        if one.offered or any_of(one.stands):
            compose_over(many, one, setting)
    first = first_in_worlds(found, worlds)
    _show_likelier(stated, many, found, setting, first)
    return order([c for c in everyone if c.offered], look_matters=look), first


def _show_likelier(
    stated: Case, many: Case, found: Sequence[Candidate], setting: Setting, first: NDArray[np.int64]
) -> None:
    """A replacement that is first in most worlds is shown with its price, though more than is needed as described (R6, R13).

    What is no replacement stays out: for the size as described its price would look cheaper than what does it (R6); the
    headline and the fork say what it comes to. So does a wall log that R6 itself keeps in.

    By the usual weights: what an owner weighs orders the plans and brings none in that was struck out (P10).
    """
    worlds = first.size
    if not weighs_as_usual(many.wishes):
        first = first_in_worlds([by_usual_weights(many, one) for one in found], worlds)
    k, times = commonest(first)
    if k < 0 or times * 2 <= worlds or found[k].offered or found[k].gates.forbidden:
        return
    if not found[k].record.is_replacement or any(no.code == "R6" for no in found[k].gates.struck):
        return
    found[k].offered = found[k].comparison = found[k].likelier = True
    compose_stated(stated, found[k], setting)


def _stand_in(found: list[Candidate], twins: Sequence[Candidate]) -> None:
    """Where only heat keeps the latest date, the heated twin is what stands in every world too."""
    heated = {twin.code: twin for twin in twins}
    for k, one in enumerate(found):
        if not one.offered and one.code in heated:
            found[k] = heated[one.code]


def _drop_late(case: Case, found: Sequence[Candidate], setting: Setting) -> None:
    """Plans that wait for warmth past the latest date go; their heated twins stay."""
    assert setting.latest_days is not None
    for one in found:
        if one.gates.forbidden or one.decisions is None or one.record.role == "interim":
            continue
        if _days_in_all(case, one, one.decisions.leads) > setting.latest_days:
            one.gates.cannot("R12", True, "Not by the latest date without heat: the wood stays too cold until then.")
            one.offered = False


def findings_of(inquiry: Inquiry) -> Findings:
    """Write down what was found."""
    stated, setting = inquiry.stated, inquiry.setting
    assessment = assess(stated, setting.words, setting.knowledge)
    options = _options(inquiry)
    if inquiry.ranked:
        spread = (assessment.spread_a_year[0].value, assessment.spread_a_year[1].value)
        ahead = outlook(stated, inquiry.ranked[0], setting, spread, corrected=inquiry.corrected)
        assessment = _with_outlook(assessment, ahead.waiting, ahead.ends_in, ahead.words)
    return Findings(
        pieces=inquiry.group.pieces, headline=headline(inquiry, options), facts=tuple(inquiry.facts.used),
        assessment=assessment, options=tuple(options), ruled_out=ruled_out_of(inquiry),
        questions=questions_of(inquiry, _on_top(inquiry), MOST_QUESTIONS),
    )


def _with_outlook(assessment: Assessment, waiting: tuple[Waiting, ...], ends: int | None, words: str) -> Assessment:
    return replace(assessment, waiting=waiting, best_plan_ends_in_years=ends, waiting_words=words)


def _options(inquiry: Inquiry) -> list[Option]:
    options = []
    for rank, one in enumerate(inquiry.ranked, start=1):
        fork = fork_of(inquiry, one) if rank == 1 else None
        options.append(
            build_option(
                inquiry.stated, one, inquiry.setting, rank=rank, corrected=inquiry.corrected,
                worlds=inquiry.worlds, conditional=uncertain_costs(inquiry, one), fork=fork,
                otherwise=_otherwise(inquiry, one), why=why_words(inquiry, one, rank),
            )
        )
    return options


def uncertain_costs(inquiry: Inquiry, one: Candidate) -> tuple[Uncertain, ...]:
    """Conditional costs of a plan: hazards of an unknown age, and the likeliest cause nobody reported (R16, R17)."""
    return inquiry.stated.once(("uncertain", one.code, one.heated), lambda stated: _uncertain_costs(stated, inquiry, one))


def _uncertain_costs(stated: Case, inquiry: Inquiry, one: Candidate) -> tuple[Uncertain, ...]:
    assert one.stated is not None
    column, cause_column = inquiry.draw.at("hazard_lead"), inquiry.draw.at("cause")
    labour, likely = _package_labour(one), most_likely_unreported(inquiry.causes, stated)
    hazards = hazard_conditionals(stated, labour, stated.book) if disturbs(one.record.role, one.stated) else ()
    extra = [Uncertain(c, column < c.probability) for c in hazards]
    if likely is not None:
        bought_as = inquiry.setting.knowledge.causes[likely.code].price_line
        extra.append(Uncertain(likely, cause_column < likely.probability, bought_as))
    return tuple(extra)


def _on_top(inquiry: Inquiry) -> tuple[Uncertain, ...]:
    """Conditional costs of the first plan, as the job counts them."""
    return uncertain_costs(inquiry, inquiry.ranked[0]) if inquiry.ranked else ()


def _package_labour(one: Candidate) -> Decimal:
    """Labour of the package, to which containment adds."""
    assert one.stated is not None
    book, (_, lines) = one.stated.book, laid_out(one)
    amounts = (line.amount for line in lines if line.part == "package" and book.tariff(line.resource).labour)
    return sum(amounts, Decimal(0))


def _otherwise(inquiry: Inquiry, one: Candidate) -> str | None:
    """What is first in the worlds where this plan does not fit any more."""
    other = follows(inquiry, one)
    return other[0].code if other is not None else None


def ruled_out_of(inquiry: Inquiry) -> tuple[RuledOut, ...]:
    """Every applicable method that was struck out, with the first gate that struck it; never a price (R6)."""
    rows = []
    offered, known = {c.code for c in inquiry.ranked}, inquiry.stated.known
    for one in inquiry.found:
        if one.offered or one.code in offered:
            continue
        struck = one.gates.struck
        # A latest date is no news of what nobody needs here whatever the date.
        worst = next((s for s in struck if s.kind == "cannot" and not one.needless), struck[0] if struck else None)
        if worst is not None:
            rows.append(RuledOut(one.code, one.record.title, worst.code, worst.kind, worst.why_as_far_as(known)))
    return tuple(rows)
