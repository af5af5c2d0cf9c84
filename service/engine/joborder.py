"""The order of a job's work (B9) on one crew's calendar: water first, then structure bottom up, then skins, then finish.

One crew is one resource; while a cure or drying runs it works elsewhere. What must be one at a time (G26: neighbouring
courses, posts, trusses under one roof) is a precedence between plans.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from service.engine.calendar import WorkCalendar
from service.engine.comings import OnSite
from service.engine.neighbours import number, same_roof, side_by_side, stretch_of, wall_of
from service.engine.outcome import JobStep
from service.engine.rates import RateBook
from service.engine.sharing import Part, face_of
from service.engine.site import crew_days_of
from service.engine.work import Stage, Task, Wait

CARRIES_FIRST = {"truss": 0, "beam": 1, "rafter": 1, "tail": 1, "roof_deck": 2}
"""Under one roof area: trusses, then what lies on them, then the deck that closes it (B9)."""
AFTER_WOOD = {"spot_refinish": 1, "wall_refinish": 1, "check_seal": 2, "recaulk": 2, "rechink": 2}
"""On one wall: wood, then blasting and stain, then sealant and chink; the last coat of the stain over these (B9)."""
LEDGER = "ledger_rebuild"
"""Comes off before the wall that it hides (B9, M30)."""
FACES = ("wall", "sill", "header", "notch", "tail", "frame", "siding", "seal")
"""Families that make up the face of a wall."""
URGENT = {"U0": 0, "U1": 1}
"""Shored, covered and mended before the others: stay off or shore today, then restrict and repair within weeks (R14)."""
PHASE_ORDER = {"interim": 0, "correction": 1, "access": 2, "main": 3, "finish": 4}


@dataclass(slots=True)
class _Item:
    """One stage of one plan, to be laid on the calendar."""

    part: int
    rank: tuple[float, ...]
    stage: Stage
    steps: list[Task | Wait]
    days: list[float]
    ready: float
    after: list[int]
    at: int = 0
    time: float = 0.0
    starts: float | None = None
    ends: float = 0.0
    serves: list[int] = field(default_factory=list)


@dataclass(slots=True)
class _Plans:
    """Where the main work of each plan begins and ends among the items, and where a coat is ready to be sealed over."""

    first: dict[int, int] = field(default_factory=dict)
    last: dict[int, int] = field(default_factory=dict)
    stained: dict[int, int] = field(default_factory=dict)


class Course(NamedTuple):
    """Steps of a job in order, first day of the main work, last day, and what is done on site when [calendar days]."""

    steps: tuple[JobStep, ...] = ()
    begins: float = 0.0
    ends: float = 0.0
    site: tuple[OnSite, ...] = ()


def order_of_work(parts: Sequence[Part], book: RateBook) -> Course:
    """Lay out the steps of the job, in calendar days from the day of the prices."""
    items = _items(parts) if parts else []
    if not items:
        return Course()
    calendar = WorkCalendar.of(book, parts[0].case.day)
    _lay_out(items, calendar)
    ranked = sorted(range(len(items)), key=lambda k: (items[k].starts or 0.0, items[k].rank, k))
    place = {k: n for n, k in enumerate(ranked, start=1)}
    steps = tuple(
        JobStep(
            n=place[k], phase=items[k].stage.phase, method=items[k].stage.method,
            defects=_serves(parts, items[k]), text=_text(items[k]), starts_day=round(items[k].starts or 0.0, 2),
            ends_day=round(items[k].ends, 2), after=tuple(sorted(place[a] for a in items[k].after)),
        )
        for k in ranked
    )
    site = [i for i in items if i.stage.phase not in ("interim", "correction")] or items
    begins = min((i.starts or 0.0 for i in site), default=0.0)
    stretches = tuple(OnSite(i.part, i.starts or 0.0, i.ends) for i in site)
    return Course(steps, begins, max(i.ends for i in items), stretches)


def _serves(parts: Sequence[Part], item: _Item) -> tuple[int, ...]:
    """Defects that a step serves: its own, and those of the plans that share it."""
    return tuple(sorted({parts[p].index for p in (item.part, *item.serves)}))


def _text(item: _Item) -> str:
    return next((p.text for p in item.steps), item.stage.method.replace("_", " "))


def stage_days(part: Part) -> list[float]:
    """Crew-days of each stage after sharing."""
    assert part.plan.stated is not None
    work, book = part.plan.stated, part.case.book
    hours = [0.0] * len(work.stages)
    for k, charge in enumerate(work.charges):
        if charge.norm:
            hours[charge.stage] += float(charge.hours) * part.factors[k]
    return [float(crew_days_of(s, h, book)) for s, h in zip(work.stages, hours, strict=True)]


def _items(parts: Sequence[Part]) -> list[_Item]:
    items: list[_Item] = []
    plans = _Plans()
    standing: dict[tuple[str, int], int] = {}
    elsewhere: list[tuple[int, Stage]] = []
    for p, part in enumerate(parts):
        assert part.plan.stated is not None
        face, before = (face_of(part.defect), part.coming), list[int]()
        ready, lead = _ready_days(part)
        staged = sorted(
            zip(part.plan.stated.stages, stage_days(part), strict=True), key=lambda z: PHASE_ORDER[z[0].phase]
        )
        for stage, total in staged:
            if not stage.parts:
                continue
            if _is_done_elsewhere(part, stage):
                elsewhere.append((p, stage))
                continue
            rises = stage.phase == "access"
            if rises and face in standing:
                _join(items[standing[face]], p, total, lead)
                before = [*before, standing[face]]
                continue
            for steps in _at_the_last_coat(parts, part, stage):
                days = [float(x.days) if isinstance(x, Wait) else total * x.share for x in steps]
                after = [] if rises else before
                items.append(_Item(p, _rank(part, stage), stage, steps, days, ready.get(stage.phase, lead), after))
                at = plans.last[p] = len(items) - 1
                before = [*before, at] if rises else [at]
                if rises:
                    standing[face] = at
                elif stage.phase == "main":
                    plans.first.setdefault(p, at)
                    if len(steps) < len(stage.parts):
                        plans.stained.setdefault(p, at)
    _wait_for_others(parts, items, elsewhere)
    _one_at_a_time(parts, items, plans)
    return items


def _at_the_last_coat(parts: Sequence[Part], part: Part, stage: Stage) -> list[list[Task | Wait]]:
    """The steps of a stage, in two where joints beside it are sealed before its last coat (B9, M39)."""
    cut = next((n for n, step in enumerate(stage.parts) if isinstance(step, Task) and step.over_seals), 0)
    if not cut or not any(_finish_waits(part, other) for other in parts if other is not part):
        return [stage.parts]
    return [stage.parts[:cut], stage.parts[cut:]]


def _ready_days(part: Part) -> tuple[dict[str, float], float]:
    """Days until each phase of a plan can begin, and until the main work can."""
    assert part.plan.stated is not None and part.plan.decisions is not None
    leads = part.plan.decisions.leads
    ready = {"interim": 0.0}
    if any(s.phase == "interim" and s.parts for s in part.plan.stated.stages):
        # Whoever comes to shore or cover stops the water on the same visit.
        ready["correction"] = max((one.days for one in leads if one.holds == "correction"), default=0.0)
    return ready, lead_days_of(part)


def lead_days_of(part: Part) -> float:
    """Days until the main work of a plan can begin: the longest of its waits, that for wood that others left, its season."""
    assert part.plan.decisions is not None
    return max([part.wood_days, part.season_days, *(one.days for one in part.plan.decisions.leads)])


def _wait_for_others(parts: Sequence[Part], items: list[_Item], elsewhere: Sequence[tuple[int, Stage]]) -> None:
    """A leak that another plan mends, a shore or cover that it sets, comes before the wood of this plan too (G23)."""
    for p, stage in elsewhere:
        by = parts[p].done_by.get(_place_of(parts[p], stage))
        mine = next((i for i in items if i.part == p and i.stage.phase not in ("interim", "correction", "access")), None)
        for k, item in enumerate(items):
            if parts[item.part] is by and (item.stage.phase, item.stage.method) == (stage.phase, stage.method):
                item.serves.append(p)
                if mine is not None and stage.phase in ("interim", "correction"):
                    mine.after.append(k)


def _place_of(part: Part, stage: Stage) -> int:
    assert part.plan.stated is not None
    return next(k for k, one in enumerate(part.plan.stated.stages) if one is stage)


def _join(scaffold: _Item, part: int, days: float, ready: float) -> None:
    """One way up serves all plans of a face: it is put up for the first of them, with the hours of all."""
    scaffold.serves.append(part)
    scaffold.days[0] += days
    scaffold.ready = min(scaffold.ready, ready)


def _is_done_elsewhere(part: Part, stage: Stage) -> bool:
    """Whether another plan of the job already does everything in this stage: one cause is corrected once."""
    at = _place_of(part, stage)
    own = [k for k, c in part.own() if c.stage == at]
    return bool(own) and all(part.factors[k] == 0.0 for k in own)


def _rank(part: Part, stage: Stage) -> tuple[float, ...]:
    """Order of work: phase, then what could give way today, then structure before skins, then bottom up (R14, B9)."""
    urgent = float(URGENT.get(part.urgency, len(URGENT)))
    structure = 0.0 if part.plan.record.is_replacement or part.plan.record.sign_off >= 2 else 1.0
    course = number(part.defect, "course")
    height = number(part.defect, "height") or 0.0
    return float(PHASE_ORDER[stage.phase]), urgent, structure, course if course is not None else height / 1.0, float(part.place)


def _one_at_a_time(parts: Sequence[Part], items: list[_Item], plans: _Plans) -> None:
    """G26, R27: the lower course, post or truss is finished and loaded before the next is cut.

    Every reason to wait points the way of `_rank_of`, so that no plan ever waits for itself.
    """
    ranks = [(*_rank_of(part), p) for p, part in enumerate(parts)]
    on_site = [(q, parts[q]) for q in sorted(plans.first)]
    last = max((AFTER_WOOD.get(part.plan.code, 0) for part in parts), default=0)
    for p, one in enumerate(parts):
        if p not in plans.last:
            continue
        before_finish = AFTER_WOOD.get(one.plan.code, 0) < last
        for q, other in on_site:
            if p == q:
                continue
            in_turn = (ranks[p] < ranks[q] and _must_wait(one, other)) or _hides(one, other)
            finishes = before_finish and _finish_waits(one, other)
            if finishes and p in plans.stained and not in_turn:
                items[plans.first[q]].after.append(plans.stained[p])
                items[plans.last[p]].after.append(plans.last[q])
            elif in_turn or finishes:
                items[plans.first[q]].after.append(plans.last[p])


def _hides(one: Part, other: Part) -> bool:
    """A ledger comes off before the wall that it hides is worked on (B9, M30)."""
    if one.plan.code != LEDGER or other.case.element.family not in FACES or not wall_of(one.defect):
        return False
    here, there = stretch_of(one.defect), stretch_of(other.defect)
    beside = here is not None and there is not None and not here.overlaps(there)
    return wall_of(one.defect) == wall_of(other.defect) and not beside


def _finish_waits(one: Part, other: Part) -> bool:
    """Never finish before wood, never sealant before blasting (B9); where no wall was named, it may be the same one."""
    if AFTER_WOOD.get(one.plan.code, 0) >= AFTER_WOOD.get(other.plan.code, 0):
        return False
    if one.case.element.family not in FACES or other.case.element.family not in FACES:
        return False
    walls = wall_of(one.defect), wall_of(other.defect)
    return not all(walls) or walls[0] == walls[1]


def _rank_of(part: Part) -> tuple[float, float, float, float, int]:
    """Order among plans that follow each other: wood before finish, what hides before what it hides, then bottom up.

    Between these, what carries goes before what it carries.
    """
    course = number(part.defect, "course")
    level = course if course is not None else float(part.case.height_ft)  # a course is about a foot
    carries = CARRIES_FIRST.get(part.case.element.family, len(CARRIES_FIRST))
    finish, behind = AFTER_WOOD.get(part.plan.code, 0), part.plan.code != LEDGER
    return float(finish), float(behind), float(carries), level, part.place


def _must_wait(one: Part, other: Part) -> bool:
    heavy = one.plan.record.sign_off >= 1 and other.plan.record.sign_off >= 1
    truss = one.defect.element.startswith("truss") and other.defect.element.startswith("truss")
    posts = one.defect.element == other.defect.element and one.defect.element.startswith("post")
    closes = other.case.element.family == "roof_deck" and one.case.element.family in CARRIES_FIRST
    roof = same_roof(one.defect, other.defect) and ((one.opens_roof() and other.opens_roof()) or closes)
    beside = heavy and side_by_side(one.defect, other.defect)
    row = truss and same_roof(one.defect, other.defect)
    return roof or beside or _over_each_other(one, other) or row or posts


def _over_each_other(one: Part, other: Part) -> bool:
    """Two pieces of one wall that both come out, one over the other: the lower carries before the upper is cut (G26)."""
    if not all(p.plan.record.is_replacement and p.case.element.family in FACES and wall_of(p.defect) for p in (one, other)):
        return False
    here, there = stretch_of(one.defect), stretch_of(other.defect)
    beside = here is not None and there is not None and not here.overlaps(there)
    return wall_of(one.defect) == wall_of(other.defect) and not beside


def _lay_out(items: list[_Item], calendar: WorkCalendar) -> None:
    """List scheduling: the crew goes to whatever is ready first, ends what it has begun, ties in the order of work."""
    crew_free = 0.0
    turn = {k: place for place, k in enumerate(sorted(range(len(items)), key=lambda k: (items[k].rank, k)))}
    waits_for = [set(item.after) for item in items]
    ready = {k: _ready_at(items, k) for k, others in enumerate(waits_for) if not others}
    while ready:
        k = min(ready, key=lambda n: (max(ready[n], crew_free), items[n].at == 0, turn[n]))
        item = items[k]
        start = max(ready[k], item.time)
        if isinstance(item.steps[item.at], Wait):
            item.starts = start if item.starts is None else item.starts
            item.time = start + item.days[item.at]
        else:
            begin = calendar.next_start(max(start, crew_free))
            item.starts = begin if item.starts is None else item.starts
            item.time = crew_free = calendar.after_work(begin, item.days[item.at])
        item.at += 1
        if item.at < len(item.days):
            ready[k] = item.time
            continue
        item.ends = item.time
        del ready[k]
        for n, others in enumerate(waits_for):
            if k in others:
                others.remove(k)
                if not others:
                    ready[n] = _ready_at(items, n)


def _ready_at(items: list[_Item], k: int) -> float:
    """When an item may begin, all that it waits for being done."""
    item = items[k]
    return max([item.ready, *(items[a].ends for a in item.after)])
