"""Which methods can be offered for one group, and in which order, in the world as stated and in every possible world.

A method is out where a gate forbids it. One that is more than the case needs comes in only where nothing lighter that
lasts holds (R6); a replacement beside a lighter method that lasts is offered for comparison. A method that lasts less than
eight years is a stop-gap and stands behind whatever lasts longer (B9).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from service.engine.array import Number, Truth, both, either, negate, one_a_world, truth_a_world, where
from service.engine.assess import overload_of
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.jobsize import Whole
from service.engine.knowledge import Knowledge, MethodRecord
from service.engine.method import Method
from service.engine.outcome import PriceLine
from service.engine.plan import Decisions, Setting, compose_work, decide, method_scope, put_around
from service.engine.pricing import Spread
from service.engine.schedule import Timetable
from service.engine.score import life_years, priced_amount, score_terms, total_of_terms
from service.engine.site import Fixed
from service.engine.survey import Wishes
from service.engine.urgency import SURFACES
from service.engine.work import Work

LASTING_YEARS = 8.0
"""A method that lasts less is a named stop-gap (B9; common practice, no source) [yr]."""
HALF = 0.5
"""Share of a member past which too little is left to carry (R26)."""
MOVED = ("split", "sag", "crush", "joint_decay")
"""Damage whose depth says nothing of what the member still carries."""
STILL_CARRIES = "Half of it and more is sound and it still carries: it needs no shore."
OVERLOADED = "R31"
TOO_LITTLE = "The stated load is more than what is left may carry: it cannot stay as it is."
BEHIND = 1e7
"""Puts a class of plans behind another in the order of scores."""


@dataclass(slots=True)
class Candidate:
    """A method that may be thought of for a group, and what became of it.

    Attributes:
        gates: in the world as stated. over: over all worlds.
        skin: whether it is the surface that is mended: no finish lasts eight years, and none is a stop-gap for that.
        lets_down: whether it is a stop-gap that takes no load off a member of which too little is left to carry.
        stands, totals, behind: the worlds in which it may be first, its score there, and what puts it behind its class.
        offered, comparison: whether it is among the options, and only for comparison.
        needless: whether it is more than is needed, whatever the date: something lighter that lasts fits.
        likelier: whether it is offered only because it is first in most worlds; it never goes before what holds as stated.
        stated, many: scope in the world as stated and over all worlds, where it was composed.
        laid_out: its steps and its lines, where somebody asked for them.
        own: spread of what it pays itself and of its days over all worlds, where somebody asked for it.
        whole: spread of all that is paid, where somebody asked for its range.
    """

    method: Method
    record: MethodRecord
    heated: bool
    years: float
    gates: Gates
    over: Gates | None = None
    skin: bool = False
    lets_down: Truth = False
    lets_down_over: Truth = False
    offered: bool = False
    comparison: bool = False
    needless: bool = False
    likelier: bool = False
    decisions: Decisions | None = None
    stated: Work | None = None
    fixed: Sequence[Fixed] = ()
    many: Work | None = None
    laid_out: tuple[Timetable, tuple[PriceLine, ...]] | None = None
    own: tuple[Spread, Spread] | None = None
    whole: Whole | None = None
    total: float = 0.0
    totals: Number = 0.0
    behind: Number = 0.0
    stands: Truth = False

    @property
    def code(self) -> str:
        """Code of the method."""
        return self.record.code

    @property
    def lasting(self) -> bool:
        """Whether it is more than a stop-gap."""
        return self.years >= LASTING_YEARS

    @property
    def enough(self) -> bool:
        """Whether nothing heavier is needed beside it (R6)."""
        return self.lasting or (self.skin and self.record.role != "interim")

    @property
    def light(self) -> bool:
        """Whether it repairs for good without taking the member out."""
        return self.lasting and not self.record.is_replacement


def applicable(case: Case, knowledge: Knowledge, registry: Mapping[str, Method]) -> list[tuple[Method, MethodRecord]]:
    """Methods that can be thought of for such a member and such damage: the first and cheapest screen."""
    thinkable = knowledge.methods_for(case.element, case.damage)
    found = []
    for code, method in registry.items():
        if code not in thinkable or not method.alone:
            continue
        record = knowledge.methods[code]
        title = method.title_of(case) if method.title_of else ""
        found.append((method, _titled(record, title) if title else record))
    return found


@lru_cache(maxsize=256)
def _titled(record: MethodRecord, title: str) -> MethodRecord:
    """A method under what it is called on such a member."""
    return replace(record, title=title)


def years_of(case: Case, method: Method, record: MethodRecord, *, corrected: bool) -> float:
    """Likely life; watching counts one year (R29)."""
    if record.role == "interim":
        return 1.0
    return life_years(case.book, method.life_row(case), corrected=corrected)


def candidates(case: Case, setting: Setting, *, corrected: bool, lasting: bool = False) -> list[Candidate]:
    """Ask the gates of every applicable method in the world as stated, or only of those that last."""
    found = []
    for method, record in applicable(case, setting.knowledge, setting.registry):
        if lasting and years_of(case, method, record, corrected=corrected) < LASTING_YEARS:
            continue
        gates = Gates(setting.words)
        method.fits(case, gates)
        if method.holds_up:
            gates.more_than_it_needs("R26", not asks_to_be_held(case, setting.urgency), STILL_CARRIES)
        if method.leaves_as_is:
            gates.cannot(OVERLOADED, overload_of(case, setting.words, setting.knowledge) > 1.0, TOO_LITTLE)
        years = years_of(case, method, record, corrected=corrected)
        skin = case.damage.kind in SURFACES
        found.append(Candidate(method, record, False, years, gates, skin=skin, lets_down=lets_down(case, method, record)))
    return found


def asks_to_be_held(case: Case, urgency: str) -> bool:
    """Whether a member is held up in the world as stated: more than half is gone, it moved, or its use is restricted (R26)."""
    gone = float(case.share_gone) > HALF and not case.in_the_tail_only
    return gone or case.damage.code in MOVED or urgency in ("U0", "U1")


def lets_down(case: Case, method: Method, record: MethodRecord) -> Truth:
    """Whether a stop-gap takes no load off a member that carries and of which more than half is gone (R26)."""
    carries = case.rotten and (case.element.structural or bool(case.bears)) and not case.flag("ornamental_only")
    if record.role != "interim" or method.holds_up or not carries or case.damage.code == "end_rot":
        return False
    return True if case.damage.code in ("through", "crush") else case.share_gone > HALF


def settle(found: Sequence[Candidate]) -> None:
    """Decide in the world as stated who is offered, and who only for comparison (R6)."""
    allowed = [c for c in found if not c.gates.forbidden]
    fitting = [c for c in allowed if not c.gates.struck]
    lasting = any(c.enough for c in fitting)
    light = any(c.light for c in fitting)
    for one in found:
        fits = not one.gates.struck
        one.offered = fits or (not one.gates.forbidden and not lasting)
        one.needless = not one.offered and not one.gates.forbidden
        one.comparison = one.offered and fits and one.record.is_replacement and light


def costs_as_much(one: Candidate, offered: Sequence[Candidate]) -> bool:
    """Whether a stop-gap costs as much as a repair that lasts, which it would only put off."""
    if one.record.role != "interim" or one.stated is None:
        return False
    repairs = [c for c in offered if c.light and not c.method.leaves_as_is and c.stated is not None]
    least = min((float(priced_amount(c.stated)) for c in repairs if c.stated is not None), default=None)
    return least is not None and float(priced_amount(one.stated)) >= least


def settle_over(found: Sequence[Candidate], *, look_matters: bool) -> None:
    """The same decision in every world: who stands in it, and what stands behind what."""
    fits = [_fits_over(one) for one in found]
    pairs = list(zip(found, fits, strict=True))
    lasting = either(*(f for one, f in pairs if one.enough))
    light = either(*(f for one, f in pairs if one.light))
    plain = either(*(f for one, f in pairs if one.lasting and not one.record.changes_look))
    for one, here in pairs:
        if one.over is None:
            continue
        one.stands = either(here, both(negate(one.over.out), negate(lasting)))
        one.behind = where(both(one.record.is_replacement, light, here), BEHIND, 0.0)
        if one.record.changes_look and look_matters:
            one.behind = one.behind + where(plain, BEHIND / 4.0, 0.0)
        one.behind = one.behind + where(one.lets_down_over, BEHIND / 2.0, 0.0)


def _fits_over(one: Candidate) -> Truth:
    """The worlds in which nothing forbids a method and it is not more than is needed."""
    return negate(either(one.over.out, one.over.more)) if one.over is not None else False


def compose_stated(case: Case, one: Candidate, setting: Setting) -> None:
    """Compose a candidate in the world as stated and score it."""
    score_stated(case, one, setting)
    assert one.stated is not None and one.decisions is not None
    one.fixed = put_around(one.stated, one.decisions, setting)


def score_stated(case: Case, one: Candidate, setting: Setting) -> None:
    """Compose the work of a candidate in the world as stated and score it, without what stands around it."""
    own = method_scope(case, one.method, heated=one.heated)
    one.decisions = decide(case, own, one.record, setting, heated=one.heated)
    one.stated = compose_work(case, one.method, one.decisions, setting, own)
    terms = score_terms(case, one.record, one.stated, priced_amount(one.stated), one.years)
    one.total = float(total_of_terms(terms))


def compose_over(case: Case, one: Candidate, setting: Setting) -> None:
    """Compose the work of a candidate over all worlds and score it there.

    The works around it are those that were decided in the world as stated; of a method that is not offered there, those
    that are decided in the middle one, by depth, of the worlds in which it stands.
    """
    if one.decisions is None:
        there = case.in_world(_middle_world(case, one.stands))
        own = method_scope(there, one.method, heated=one.heated)
        one.decisions = decide(there, own, one.record, setting, heated=one.heated)
    one.many = compose_work(case, one.method, one.decisions, setting)
    terms = score_terms(case, one.record, one.many, priced_amount(one.many), one.years)
    one.totals = total_of_terms(terms)


def weighs_as_usual(wishes: Wishes) -> bool:
    """Whether an owner weighs everything as usual."""
    return wishes == Wishes(latest=wishes.latest)


def by_usual_weights(case: Case, one: Candidate) -> Candidate:
    """A candidate as it would be scored in each world for an owner who weighs everything as usual."""
    if one.many is None:
        return one
    usual = replace(case, wishes=Wishes(latest=case.wishes.latest))
    terms = score_terms(usual, one.record, one.many, priced_amount(one.many), one.years)
    return replace(one, totals=total_of_terms(terms))


def _middle_world(case: Case, stands: Truth) -> int:
    """Number of the middle one by depth of the worlds in which something stands."""
    worlds = next((value.size for value in vars(case).values() if isinstance(value, np.ndarray)), 1)
    standing = np.flatnonzero(truth_a_world(stands, worlds))
    by_depth = np.argsort(one_a_world(case.depth_ratio, worlds)[standing], kind="stable")
    return int(standing[by_depth[by_depth.size // 2]])


def heated_twin(one: Candidate) -> Candidate | None:
    """The same method now, in a heated tent, where it would otherwise wait for warmth (R12)."""
    if one.decisions is None or not any(lead.code == "cold" for lead in one.decisions.leads):
        return None
    return replace(one, heated=True, decisions=None, stated=None, fixed=(), laid_out=None, comparison=one.comparison)


def order(offered: Sequence[Candidate], *, look_matters: bool) -> list[Candidate]:
    """Options in rank order.

    Ties: fewer visits, then less sound wood removed, then the code (R29).
    """
    lasting = any(c.lasting and not c.comparison for c in offered)
    promoted = {id(c) for c in offered if c.comparison and not c.likelier and _beats_repair(c, offered)}

    def key(one: Candidate) -> tuple[int, float, int, float, str, bool]:
        band = 0
        if one.comparison and id(one) not in promoted:
            band = 2
        elif not one.lasting and lasting:
            band = 3
        elif one.record.changes_look and look_matters and _twin(one, offered):
            band = 1
        if id(one) in promoted:
            band = -1
        if one.lets_down:
            band += 1
        work = one.stated
        assert work is not None
        visits = one.decisions.visits if one.decisions else 0
        return band, round(one.total, 6), visits, round(float(work.sound_wood_ft3), 6), one.code, one.heated

    return sorted(offered, key=key)


def _twin(one: Candidate, offered: Sequence[Candidate]) -> bool:
    """Whether a like-for-like plan that lasts stands beside a variant that changes the look (R7)."""
    return any(not c.record.changes_look and c.lasting and not c.comparison for c in offered if c is not one)


def could_be_first(one: Candidate, offered: Sequence[Candidate]) -> bool:
    """Whether a plan may stand first, told before anything is priced; a comparison only by G24."""
    return not one.comparison or any(
        c.light and not c.comparison and c.years < one.years / 2.0 for c in offered
    )


def _beats_repair(replacement: Candidate, offered: Sequence[Candidate]) -> bool:
    """G24: a repair that costs over 60 % of the replacement and lasts less than half as long does not go first."""
    repairs = [c for c in offered if c.light and not c.comparison]
    if not repairs:
        return False
    best = min(repairs, key=lambda c: c.total)
    assert best.stated is not None and replacement.stated is not None
    repair, whole = float(priced_amount(best.stated)), float(priced_amount(replacement.stated))
    return repair > 0.6 * whole and best.years < replacement.years / 2.0


def first_in_worlds(found: Sequence[Candidate], worlds: int) -> NDArray[np.int64]:
    """Index of the candidate that is first in each world; -1 where none stands."""
    table = np.full((len(found), worlds), np.inf)
    lasting_anywhere = np.zeros(worlds, dtype=np.bool_)
    for one in found:
        if one.lasting and one.many is not None:
            lasting_anywhere |= one.stands
    for k, one in enumerate(found):
        if one.many is None:
            continue
        totals = one.totals + one.behind
        if not one.lasting:
            totals = totals + np.where(lasting_anywhere, 2.0 * BEHIND, 0.0)
        table[k] = np.where(one.stands, totals, np.inf)
    best: NDArray[np.int64] = table.argmin(axis=0).astype(np.int64)
    best[~np.isfinite(table.min(axis=0))] = -1
    return best
