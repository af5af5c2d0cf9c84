"""One plan: interim works, cause corrections and one main method, composed for the world as stated and for all worlds.

What is decided (a shore now, a heated tent, the way up, the corrections in the price) is decided once, in the world as
stated, and the same scope is then dictated over the possible worlds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from service.engine.array import Number, any_of, maximum, where
from service.engine.case import Case
from service.engine.causes import CauseWork, correction_leads, put_corrections
from service.engine.escalations import letter_because
from service.engine.gates import Gates
from service.engine.hazards import disturbs, hazard_charges, laboratory_tests
from service.engine.knowledge import Knowledge, MethodRecord
from service.engine.method import Method
from service.engine.methods.interim import cover, heated_tent, shore
from service.engine.modifiers import hours_factor, keeps_quiet
from service.engine.schedule import LeadTime
from service.engine.site import (
    A_MONTH,
    Fixed,
    crew_days_of,
    means_of_access,
    out_of_reach,
    put_access,
    put_shared,
    site_days,
    site_waits,
    visits_of,
)
from service.engine.urgency import seat_soft
from service.engine.weather_wait import dry_in_warm_air, drying_days, season_leads
from service.engine.wood import wait_for_wood
from service.engine.words import Words
from service.engine.work import Work

QUIET = "Saws and hammers only outside the hours when somebody sleeps: evening sessions, signed with the owner beforehand."
"""Said where loud work has to wait for certain hours; what that costs is in the hours (D7)."""
LETTER = "lead.engineer_letter"
"""Row of the wait for an engineer's visit and letter."""
SHORING = (".shoring", ".needles")
"""Endings of rows of a method's own shoring."""
COVERED_IN_DAYS = 1.0
"""Days of a lift or of ropes for a cover (M26: an hour to four) [d]."""
RISKY_KINDS = ("labour", "wood", "hire")
"""Kinds of cost that carry the risk of the work: cutting, shoring, wood; not fees (E11)."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What every plan of one group has in common."""

    knowledge: Knowledge
    registry: Mapping[str, Method]
    words: Words
    urgency: str
    causes: tuple[CauseWork, ...]
    by_others: tuple[LeadTime, ...]
    latest_days: float | None
    all_causes: tuple[CauseWork, ...] = ()
    alone: bool = True


@dataclass(slots=True)
class Decisions:
    """What was decided in the world as stated.

    Attributes:
        letter: whether an engineer is paid to look though the method itself calls none.
        rises: whether the plan takes a way up wherever the work is out of reach; a shore stands on the ground.
    """

    heated: bool = False
    leads: list[LeadTime] = field(default_factory=list)
    shore_months: float = 0.0
    cover_months: float = 0.0
    letter: bool = False
    way_up: str = "none"
    rises: bool = False
    tent_days: float = 0.0
    visits: int = 1


def method_scope(case: Case, method: Method, *, heated: bool, way_up: str = "") -> Work:
    """The method's own scope, without anything around it."""
    work = Work(case, hours_factor(case, heated=heated, way_up=way_up))
    method.scope(case, work)
    if heated:
        dry_in_warm_air(work)
    return work


def decide(case: Case, own: Work, record: MethodRecord, setting: Setting, *, heated: bool) -> Decisions:
    """Decide the works around a method, from its own scope in the world as stated."""
    decisions = Decisions(heated=heated, visits=visits_of(own))
    decisions.leads = leads_of(case, record, own, setting)
    works = any(s.parts for s in own.stages)
    if record.role == "main" and letter_because(case, setting.urgency) and not _calls_an_engineer(own):
        decisions.letter = True
        decisions.leads.append(_from_row(case, LETTER))
    decisions.leads += season_leads(case, record, own, decisions.leads, heated=heated)
    if not works or setting.registry[record.code].holds_up:
        return decisions
    if record.role != "interim":
        _bridge(case, own, decisions, setting)
    waits = float(site_waits(own.stages))
    decisions.way_up, decisions.rises = means_of_access(case, float(site_days(own)), waits), True
    if heated:
        decisions.tent_days = _tent_days(case, own)
    return decisions


def _calls_an_engineer(own: Work) -> bool:
    """Whether a method waits for an engineer of its own in the world as stated."""
    return any("engineer" in row for row in own.leads)


def _letter(work: Work) -> None:
    """The engineer's visit and letter, in the worlds where the method does not pay one by itself."""
    paid: Number = 0.0
    for charge in work.charges:
        if "engineer" in charge.resource:
            paid = paid + charge.units
    work.buy("engineer_letter", where(paid > 0.0, 0.0, 1.0), once=True)
    work.lead(LETTER)


def _bridge(case: Case, own: Work, decisions: Decisions, setting: Setting) -> None:
    """A shore and a cover over a long wait (R26), and a shore at once where something could move or a seat is cut into."""
    longest = max((one.days for one in decisions.leads), default=0.0)
    long_wait = longest > case.book.likely("waits", "interim.long_wait")
    season = longest > case.book.likely("waits", "interim.open_wait")
    months = max(longest / 30.0, 1.0)
    carries = case.element.structural or case.element.family in ("wall", "sill")
    deep = float(case.share_gone) > 0.5 and not case.in_the_tail_only
    restricted = setting.urgency in ("U0", "U1")
    failing = case.rotten or case.damage.kind in ("split", "mechanical")
    # What stood for years stands some weeks more; what moves or is restricted does not wait for long.
    waits = (restricted and long_wait) or (deep and season)
    needs_shore = (carries and waits and failing) or (setting.urgency == "U0" and case.element.structural)
    needs_shore = needs_shore or _cuts_under_load(case, own)
    if needs_shore and _can_bridge(case, "temp_shore", setting):
        decisions.shore_months = months
    if season and case.rotten and _can_bridge(case, "temp_cover", setting):
        decisions.cover_months = months


def _cuts_under_load(case: Case, own: Work) -> bool:
    """Whether wood is let in where something lands, by a method that takes no load off by itself (M06, R32)."""
    holds = any((charge.norm or charge.resource).endswith(SHORING) for charge in own.charges)
    return case.rotten and bool(seat_soft(case)) and bool(own.needs) and not holds


def _can_bridge(case: Case, code: str, setting: Setting) -> bool:
    """Whether an interim work can be thought of for such a member and such damage, and no gate strikes it out."""
    record, gates = setting.knowledge.methods[code], Gates(setting.words)
    if case.element.code not in record.elements or (record.damages and case.damage.code not in record.damages):
        return False
    setting.registry[code].fits(case, gates)
    return not gates.struck


def _tent_days(case: Case, own: Work) -> float:
    """Days of a heated tent: preheat, and drying meanwhile, the work under it, and until its glues may be left."""
    preheat = case.book.likely("waits", "cure.tent_preheat") / 24.0
    cures = [case.book.likely("waits", f"cure.{m}.tent") for m in own.cures]
    return max(preheat, drying_days(own)) + float(site_days(own)) + max(cures, default=0.0)


def leads_of(case: Case, record: MethodRecord, own: Work, setting: Setting) -> list[LeadTime]:
    """Everything but the season that has to be over before the main work, each from day 0 (R12, R25)."""
    lab = ("lead.lab",) if record.role == "main" and own.stages and laboratory_tests(case) else ()
    first = correction_leads(setting.causes, record.code)
    leads = [_from_row(case, row, "correction") for row in first]
    leads += [_from_row(case, row) for row in dict.fromkeys((*own.leads, *lab)) if row not in first]
    touches = any(stage.parts for stage in own.stages)
    if case.heritage and record.role == "main" and touches:
        leads.append(_from_row(case, "lead.consent"))
    days, what = wait_for_wood(own)
    if days > 0.0:
        leads.append(LeadTime("wood", f"Wait for {what}", days))
    if record.role != "interim":  # a cover is for the time until others have stopped the water
        leads.extend(setting.by_others)
    return leads


def _from_row(case: Case, row: str, holds: str = "main") -> LeadTime:
    line = case.book.line("waits", row)
    return LeadTime(row.removeprefix("lead."), line.what, float(line.likely) * 7.0, holds)


def compose(case: Case, method: Method, decisions: Decisions, setting: Setting) -> tuple[Work, list[Fixed]]:
    """Dictate a whole plan: interim, corrections, main method, access and what a plan that stands alone pays.

    Args:
        case: in the world as stated or in all worlds.
        method: the main method.
        decisions: taken in the world as stated.
        setting: what the plans of the group share.

    Returns:
        The scope, and the amounts that are rules.
    """
    work = compose_work(case, method, decisions, setting)
    return work, put_around(work, decisions, setting)


def compose_work(
    case: Case, method: Method, decisions: Decisions, setting: Setting, own: Work | None = None
) -> Work:
    """The work of a plan alone: all that its score counts, without what a plan that stands alone pays beside it.

    Args:
        case, method, decisions, setting: as in `compose`.
        own: the method's own scope where it was dictated before; it is taken over and not to be used again.
    """
    heated, way_up = decisions.heated, decisions.way_up
    if way_up == "rope":
        own = None  # its hours were taken down before anybody knew that the crew hangs on ropes
    work = Work(case, own.factor if own else hours_factor(case, heated=heated, way_up=way_up))
    if decisions.shore_months:
        work.part = "interim"
        shore(case, work, decisions.shore_months)
    if decisions.cover_months:
        work.part = "interim"
        cover(case, work, decisions.cover_months)
    if setting.causes:
        work.part = "correction"
        put_corrections(work, setting.causes, setting.knowledge, setting.registry, main=method.code)
    work.part = "package"
    before = len(work.stages)
    work.take_in(own if own is not None else method_scope(case, method, heated=heated, way_up=way_up))
    if decisions.letter:
        _letter(work)
    main_days, waits = _days_of_stages(work, before), site_waits(work.stages[before:])
    if disturbs(setting.knowledge.methods[method.code].role, work):
        hazard_charges(work)
    if decisions.tent_days:
        heated_tent(case, work, decisions.tent_days)
    if keeps_quiet(case) and not case.flag("vacant"):
        work.note(QUIET)
    _put_ways_up(work, decisions, main_days, waits)
    return work


def _put_ways_up(work: Work, decisions: Decisions, main_days: Number, waits: Number) -> None:
    """The way up for the main work, and for the cover that comes weeks before it: a scaffold stands from then on."""
    way_up = _way_up(work.case, decisions)
    if not decisions.cover_months:
        put_access(work, way_up, main_days, waits)
    elif way_up == "scaffold":
        put_access(work, way_up, main_days, waits + decisions.cover_months * A_MONTH)
    else:
        put_access(work, way_up, main_days, waits)
        put_access(work, way_up, COVERED_IN_DAYS)


def put_around(work: Work, decisions: Decisions, setting: Setting) -> list[Fixed]:
    """Dictate what a plan that stands alone pays beside its work."""
    return _around(work, decisions) if setting.alone and decisions.visits else []


def _way_up(case: Case, decisions: Decisions) -> str:
    """The way up that was decided; a scaffold in the worlds where the work is higher than was thought."""
    if decisions.way_up == "none" and decisions.rises and any_of(out_of_reach(case)):
        return "scaffold"
    return decisions.way_up


def _days_of_stages(work: Work, first: int) -> Number:
    """Crew-days of the stages from `first` on."""
    total: Number = 0.0
    for stage in work.stages[first:]:
        total = total + crew_days_of(stage, stage.hours, work.case.book)
    return total


def _around(work: Work, decisions: Decisions) -> list[Fixed]:
    """Contingency, mobilisation, travel, disposal or the minimum charge, site management and tax."""
    book = work.case.book
    contingency = contingency_of(work)
    fixed = put_shared(work, visits=max(visits_of(work), decisions.visits))
    total: Number = fixed[0].amount
    for amount in work.spent.values():
        total = total + amount
    start = book.likely("terms", "site_management.from")
    manage = book.line("terms", "site_management.rate")
    over = maximum(total - start, 0.0)
    fixed.append(
        Fixed("shared", "site_management", manage.what, over * float(manage.likely), manage.region, float(manage.likely))
    )
    tax = book.line("terms", "tax.rate")
    if tax.likely:
        taxed = total + over * float(manage.likely) + contingency.amount
        fixed.append(Fixed("tax", "tax", tax.what, taxed * float(tax.likely), tax.region, float(tax.likely)))
    fixed.append(contingency)
    return fixed


def contingency_of(work: Work) -> Fixed:
    """Contingency on the risk-bearing part of the package, by level of information (R20, E11)."""
    book = work.case.book
    row = book.line("terms", f"contingency.{work.case.level}")
    base: Number = 0.0
    if row.likely:
        for charge in work.charges:
            if charge.part == "package" and book.tariff(charge.resource).kind in RISKY_KINDS:
                base = base + charge.amount
    return Fixed("contingency", "contingency", row.what, base * float(row.likely), row.region, float(row.likely))
