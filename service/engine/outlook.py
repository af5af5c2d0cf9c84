"""What waiting does: how far the decay runs on each year, and what that does to the best plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.engine.array import Number, maximum, minimum, truth_a_world
from service.engine.case import Case
from service.engine.choice import Candidate, candidates, could_be_first, order, score_stated, settle
from service.engine.gates import Gates
from service.engine.outcome import Measure, Waiting
from service.engine.plan import Setting, put_around
from service.engine.pricing import money
from service.engine.site import Fixed
from service.engine.work import Work

UNSAFE = " That is said of the repair alone: the place is not used as before until it is done."
"""Said where something could give way meanwhile: what stays possible is no leave to wait."""
HORIZON_YEARS = 15
"""As far ahead as anybody can say anything about decay [yr]."""
DEARER = 1.01
"""Times the price of today from which waiting costs more (J)."""
AHEAD = np.arange(1.0, HORIZON_YEARS + 1.0)
"""The years ahead, one by one [yr]."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """The years ahead, and the year in which the best plan stops being possible."""

    waiting: tuple[Waiting, ...]
    ends_in: int | None
    words: str


def grown(case: Case, years: Number, depth_a_year: float, length_a_year: float) -> Case:
    """The same piece, as stated, after so many years of decay; never past the member or the next stop.

    Many years at once are looked at as many worlds are.
    """
    deeper = minimum(case.depth_in + years * depth_a_year, case.section_in)
    longer = maximum(minimum(case.length_in + years * length_a_year, case.clear_length_in), case.length_in)
    half = (longer - case.length_in) / 2.0
    return case.but(
        depth_in=deeper, length_in=longer,
        from_end_in=case.from_end_in + (years * length_a_year if case.from_end_in else 0.0),
        stop_left_in=maximum(case.stop_left_in - half, 0.0), stop_right_in=maximum(case.stop_right_in - half, 0.0),
        section_loss=deeper / case.section_in,
    )


def outlook(case: Case, best: Candidate, setting: Setting, spread: tuple[float, float], *, corrected: bool) -> Outlook:
    """Years ahead for the best plan.

    Args:
        case: in the world as stated.
        best: first plan today.
        setting: shared by the plans.
        spread: depth and length that decay gains in a year [in].
        corrected: whether the cause will be corrected when the work is done.
    """
    depth, length = spread
    if not case.rotten or (depth <= 0.0 and length <= 0.0):
        return Outlook((), None, "This does not get worse by itself in a way that can be foretold.")
    ends = _ends_in(grown(case, AHEAD, depth, length), best, setting)
    years = [1, 3] if ends is None else sorted({1, ends})
    seen = [_year(case, y, depth, length, setting, corrected=corrected) for y in years]
    rows = tuple(row for row in seen if row is not None)
    return Outlook(rows, ends, _words(best, ends, rows, setting))


def _ends_in(ahead: Case, best: Candidate, setting: Setting) -> int | None:
    """The first of the years ahead in which a plan does not fit any more."""
    gates = Gates(setting.words)
    best.method.fits(ahead, gates)
    out = truth_a_world(gates.out, AHEAD.size)
    return int(out.argmax()) + 1 if out.any() else None


def _year(
    case: Case, years: int, depth: float, length: float, setting: Setting, *, corrected: bool
) -> Waiting | None:
    """The first plan after so many years, and its whole price at today's rates."""
    then = grown(case, years, depth, length)
    offered = _may_be_first(then, setting, corrected=corrected)
    if not offered:
        return None
    for one in offered:
        score_stated(then, one, setting)
    first = order(offered, look_matters=case.flags.get("look_matters", True))[0]
    assert first.stated is not None and first.decisions is not None
    first.fixed = put_around(first.stated, first.decisions, setting)
    return Waiting(
        years, Measure(float(then.depth_in), "in"), Measure(float(then.length_in), "in"), first.code,
        money(whole_amount(first.stated, first.fixed)),
    )


def _may_be_first(then: Case, setting: Setting, *, corrected: bool) -> list[Candidate]:
    """Plans that may be first: a stop-gap never is where something lasts, and is asked about only where nothing does."""
    lasting = _offered(candidates(then, setting, corrected=corrected, lasting=True))
    if any(not c.comparison for c in lasting):
        return [c for c in lasting if could_be_first(c, lasting)]  # nor is a comparison, beside what lasts long enough
    return _offered(candidates(then, setting, corrected=corrected))


def _offered(found: Sequence[Candidate]) -> list[Candidate]:
    settle(found)
    return [c for c in found if c.offered]


def whole_amount(work: Work, fixed: Sequence[Fixed]) -> float:
    """Whole price at likely rates in the world as stated."""
    total = sum(float(amount) for amount in work.spent.values())
    return total + sum(float(one.amount) for one in fixed)


def _words(best: Candidate, ends: int | None, rows: tuple[Waiting, ...], setting: Setting) -> str:
    if best.record.role == "interim":
        return f"Nothing is mended by it ({best.record.title}): the decay goes on, and there is more to do each year."
    title = best.record.title[:1].upper() + best.record.title[1:]
    unsafe = UNSAFE if setting.urgency in ("U0", "U1") else ""
    if ends is None:
        same = f"It can be mended the same way years from now ({best.record.title})"
        assert best.stated is not None
        today = whole_amount(best.stated, best.fixed)
        then = "at about the same price, but the rot goes on into what it touches"
        if rows and float(rows[-1].whole) > today * DEARER:
            then = "but there is more to do each year"
        return f"{same}, {then}.{unsafe}"
    after = setting.knowledge.methods[rows[-1].method].title if rows else "something heavier"
    when = "within the year" if ends == 1 else f"in about {ends} years"
    return f"{title} will no longer do {when}; after that it is: {after.lower()}.{unsafe}"
