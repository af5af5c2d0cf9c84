"""Plan A and Plan B, both priced now, and the number that decides; and the sentences that are read to the owner."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import numpy as np

from service.engine.array import Number, Truth, any_of, commonest, minimum, share_of_worlds, truth_a_world
from service.engine.case import Case
from service.engine.choice import Candidate, costs_as_much
from service.engine.gates import Gates
from service.engine.inquiry import Inquiry
from service.engine.option import package_of, whole_of
from service.engine.outcome import Fork, Measure, Option, Price
from service.engine.pricing import cents, money
from service.engine.urgency import urgency_of
from service.engine.words import Words

OPEN_UP_FROM, OPEN_UP_TO = 0.15, 0.85
"""Opening up first pays while Plan B is neither unlikely nor sure (E14; common practice, no source)."""
CUTS = np.arange(1.0, 65.0) / 64.0
"""Depths that are tried between two others, as shares of the way."""
ROUNDS = 2
"""Of the search for the depth that decides: together finer than the sixteenth of an inch that is said."""
NOBODY_READS = Words("imperial")
"""For gates that are only asked whether they strike."""
NEARLY_ALL = 0.9
"""Share of the cases past Plan A that Plan B has to have, for the whole chance to be said of it (J)."""
NEARLY_SURE = 0.97
"""A share past this is not said in percent: nobody knows so much of a log that is closed (J)."""
SELDOM = 0.5
"""Share of the worlds in which a first plan does not fit, past which its reason says so (R13)."""
WORTH_A_FORK = 0.03
"""A Plan B less likely than this is left to the range."""


def fork_of(inquiry: Inquiry, one: Candidate) -> Fork | None:
    """The fork of the first plan, where it may not hold once it is opened up (E14)."""
    assert one.over is not None and one.stated is not None
    share = round(share_of_worlds(one.over.out), 4)
    other = follows(inquiry, one)
    if share < WORTH_A_FORK or other is None:
        return None
    plan_b, where_b = other
    points = package_of(plan_b).quantiles(where_b, inquiry.worlds)
    if points is None:
        return None
    price_a, price_b = money(_package(one)), money(points[1])
    threshold = depth_that_decides(inquiry.stated, one)
    share_b = repr(share)
    expected = cents(price_a * (1 - Decimal(share_b)) + price_b * Decimal(share_b))
    limit = inquiry.setting.words.length(threshold) if threshold is not None else ""
    decides = "depth" if threshold is not None else "what is found when it is opened"
    until = f"if it is sound by {limit}" if limit else "if it holds once it is opened"
    return Fork(
        plan_a=one.code, plan_b=plan_b.code, decides=decides,
        threshold=Measure(threshold, "in") if threshold is not None else None, probability_b=share, price_a=price_a,
        price_b=price_b, expected=expected,
        open_up_first=price_b >= 2 * price_a and OPEN_UP_FROM <= share <= OPEN_UP_TO,
        text=f"Plan A, {one.record.title.lower()}, {until}; otherwise Plan B, {plan_b.record.title.lower()}.",
    )


def follows(inquiry: Inquiry, one: Candidate) -> tuple[Candidate, Truth] | None:
    """What is first most often where a plan does not fit any more, and the worlds in which it is."""
    # The number is kept and not the plan, which holds the case: what points in no circle is gone as soon as it was answered.
    found = inquiry.stated.once(("follows", one.code, one.heated), lambda _: _follows(inquiry, one))
    return (inquiry.found[found[0]], found[1]) if found is not None else None


def _follows(inquiry: Inquiry, one: Candidate) -> tuple[int, Truth] | None:
    assert one.over is not None
    if not any_of(one.over.out):
        return None
    out = truth_a_world(one.over.out, inquiry.worlds)
    rest = inquiry.first[out & (inquiry.first >= 0)]
    if not rest.size:
        return None
    k, _ = commonest(rest)
    return k, out & (inquiry.first == k)


def _price_of_b(inquiry: Inquiry, one: Candidate) -> Decimal | None:
    """Middle of the whole price of Plan B, to be said beside the whole price of Plan A."""
    other = follows(inquiry, one)
    if other is None:
        return None
    return _price_where(inquiry, *other)


def _price_where(inquiry: Inquiry, one: Candidate, there: Truth) -> Decimal | None:
    """Middle of the whole price of a plan in some worlds."""
    if one.many is None:
        return None
    points = whole_of(one, inquiry.setting).quantiles(there, inquiry.worlds)
    return money(points[1]) if points is not None else None


def _package(one: Candidate) -> float:
    assert one.stated is not None
    return float(one.stated.spent.get("package", 0.0))


def depth_that_decides(case: Case, one: Candidate) -> float | None:
    """The depth at which the plan stops fitting, other things as stated; None where depth does not decide [in]."""
    low, high = float(case.depth_in), float(case.section_in)
    if not case.rotten or any_of(_out_at(case, one, low)):
        return None
    for _ in range(ROUNDS):
        cuts = low + (high - low) * CUTS
        out = truth_a_world(_out_at(case, one, cuts), cuts.size)
        if not out[-1]:
            return None
        k = int(out.argmax())
        low, high = float(cuts[k - 1]) if k else low, float(cuts[k])
    return round(low * 16.0) / 16.0


def _out_at(case: Case, one: Candidate, depth_in: Number) -> Truth:
    """Whether the plan is out at a depth, or at each of many."""
    gates = Gates(NOBODY_READS)
    one.method.fits(case.but(depth_in=depth_in, section_loss=minimum(depth_in / case.section_in, 1.0)), gates)
    return gates.out


def headline(inquiry: Inquiry, options: Sequence[Option]) -> str:
    """The one sentence that goes out when there is room for one."""
    words = inquiry.setting.words
    if not options:
        urgency = urgency_of(inquiry.stated)[1]
        if _too_late(inquiry):
            return f"Nothing can be finished by the latest date. {urgency}"
        return f"Nothing can be offered from what was said; somebody has to look at it. {urgency}"
    best = options[0]
    text = f"{_capital(best.title)}, {price_words(best, words)}"
    if inquiry.ranked[0].record.role == "interim" and _too_late(inquiry):
        return f"Nothing that lasts can be finished by the latest date. Until then: {best.title}, {price_words(best, words)}"
    likelier = _likelier(inquiry)
    if likelier is not None and likelier.code != best.method:
        share = share_of_worlds(inquiry.first == inquiry.found.index(likelier))
        cases = "nearly all" if share > NEARLY_SURE else f"{share:.0%}"
        about = _price_where(inquiry, likelier, inquiry.first == inquiry.found.index(likelier))
        price = f", about {words.price(about)}" if about is not None else ""
        more = f"More likely: {likelier.record.title.lower()}{price}, once it is opened up ({cases} of the cases)"
        return f"{more}. As described: {best.title}, {price_words(best, words)}"
    whole_b = _price_of_b(inquiry, inquiry.ranked[0]) if best.fork is not None else None
    mostly = _all_become_b(inquiry, inquiry.ranked[0])
    if best.fork is not None and whole_b is not None:
        other = inquiry.setting.knowledge.methods[best.fork.plan_b].title.lower()
        takes = f"Plan B, {other}," if mostly else f"more than that, most often {other},"
        text += f"; {one_in(best.fork.probability_b)} that it takes {takes} at about {words.price(whole_b)}"
    return text


def _too_late(inquiry: Inquiry) -> bool:
    """Whether the caller's latest date strikes something out (R12)."""
    return any(s.code == "R12" for c in inquiry.found for s in c.gates.struck)


def _all_become_b(inquiry: Inquiry, one: Candidate) -> bool:
    """Whether nearly all worlds in which a plan does not fit have the same plan after it."""
    other = follows(inquiry, one)
    if other is None or one.over is None:
        return False
    out = truth_a_world(one.over.out, inquiry.worlds)
    return float(np.count_nonzero(other[1])) >= NEARLY_ALL * float(np.count_nonzero(out))


def price_words(option: Option, words: Words) -> str:
    """A whole price as it is said: the middle with its range, and what it comes to if nothing more is found."""
    return said_price(option.whole, words)


def said_price(whole: Price, words: Words) -> str:
    """The same of any price."""
    exact = words.price(whole.as_described)
    span = whole.range
    if span is None or words.price(span.p10) == words.price(span.p90):
        return exact
    if whole.as_described > span.p90:  # the range holds no contingency (R18)
        return f"{exact} with contingency ({words.price(span.p10)} to {words.price(span.p90)} without)"
    text = f"about {words.price(span.p50)} ({words.price(span.p10)} to {words.price(span.p90)})"
    if span.p10 <= whole.as_described <= span.p90:
        return text
    return f"{text}; {exact} if it is no larger than described"


def one_in(share: float) -> str:
    """A share as people say it."""
    if share >= 0.4:
        return f"{share:.0%} likely"
    return f"1 in {max(round(1.0 / share), 2)}"


def _likelier(inquiry: Inquiry) -> Candidate | None:
    """The plan that is first in more than half of the worlds (R13)."""
    standing = inquiry.first[inquiry.first >= 0]
    if not standing.size:
        return None
    k, worlds = commonest(standing)
    return inquiry.found[k] if worlds * 2 > inquiry.worlds else None


def why_words(inquiry: Inquiry, one: Candidate, rank: int) -> str:
    """Why a plan ranks where it does, to be read to the owner."""
    words = inquiry.setting.words
    a_year, years = words.price(money(one.total)), years_words(one.years)
    if rank == 1 and not one.lasting:
        return _first_but_short(inquiry, one, a_year, years)
    if rank == 1:
        rest = [c for c in inquiry.ranked[1:] if c.code != one.code and (c.lasting or not one.lasting)]
        if not rest:
            return f"The only way that lasts for what was described: about {a_year} a year, disturbance counted."
        other = rest[0]
        if other.total < one.total and other.record.changes_look:
            return (
                f"First of what keeps the look: about {a_year} a year over {years}, disturbance counted. "
                f"{_capital(other.record.title)} costs {words.price(money(other.total))} a year, but looks different afterwards."
            )
        seldom = one.over is not None and share_of_worlds(one.over.out) > SELDOM
        first = "First only if nothing more is found" if seldom else "First"
        return (
            f"{first}: about {a_year} a year over {years}, disturbance counted, against "
            f"{words.price(money(other.total))} a year for {other.record.title.lower()}."
        )
    return _why_behind(inquiry, one, a_year, years)


def _why_behind(inquiry: Inquiry, one: Candidate, a_year: str, years: str) -> str:
    """Why a plan stands behind the first."""
    words, best = inquiry.setting.words, inquiry.ranked[0]
    if one.comparison:
        return f"Shown for comparison: more than is needed where {best.record.title.lower()} holds. About {a_year} a year."
    if one.code == "monitor":
        return f"To watch it costs about {a_year} a year, and the work may still come."
    if costs_as_much(one, inquiry.ranked):
        return f"A stop-gap for about {years} that costs as much as a repair: only where nobody can begin one in time."
    if not one.lasting and (one.record.role == "interim" or inquiry.stated.rotten):
        return f"A stop-gap for about {years}: about {a_year} a year, and the work is still to come."
    if not one.lasting:
        return f"Does it for about {years}: about {a_year} a year, disturbance counted."
    if one.total < best.total and one.record.changes_look:
        return (
            f"Costs less, about {a_year} a year over {years}, disturbance counted, but changes how the building looks: "
            f"first where that does not matter, before {best.record.title.lower()} at {words.price(money(best.total))}."
        )
    return (
        f"Holds, but costs about {a_year} a year over {years}, disturbance counted, against "
        f"{words.price(money(best.total))} for {best.record.title.lower()}."
    )


def _first_but_short(inquiry: Inquiry, one: Candidate, a_year: str, years: str) -> str:
    """A first plan that does not last: watching, what has to be done again in its nature, or a stop-gap."""
    if one.code == "monitor":
        return f"Nothing has to be mended now: to watch it costs about {a_year} a year."
    if one.record.role == "interim":
        return f"Nothing that lasts can be done as things stand: a stop-gap for about {years}, about {a_year} a year."
    if not inquiry.stated.rotten:
        return f"What such damage asks for: it is good for about {years}, about {a_year} a year, disturbance counted."
    return f"Nothing offered here lasts: good for about {years}, about {a_year} a year, disturbance counted."


def _capital(text: str) -> str:
    """A sentence begins with a capital."""
    return text[:1].upper() + text[1:]


def years_words(years: float) -> str:
    """A life as it is said."""
    return "a year" if years == 1.0 else f"{years:g} years"
