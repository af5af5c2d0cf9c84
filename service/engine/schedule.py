"""Steps in order, their network, and the six clocks that are never added together (R25 to R28).

Everything that has to be over before the crew arrives runs side by side from day 0: wood, engineer, permit, season, and a
shore or cover that holds the place meanwhile. On site the steps follow one another; people work on working days, cures
and drying run through.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.engine.calendar import WorkCalendar
from service.engine.outcome import Clocks, Delay, Step
from service.engine.rates import RateBook
from service.engine.site import crew_days_of
from service.engine.work import Stage, Task, Wait, Work

SITE_PHASES = ("correction", "access", "main", "finish")
HELD_UP = ("beam", "header", "truss")
"""Families under which a shore stands while what they carry stays in use: it must not be loaded until the main work is
done. A porch on its shores is another matter: it carries (J)."""


@dataclass(frozen=True, slots=True)
class LeadTime:
    """Something to wait for, running from day 0 [calendar days].

    Attributes:
        holds: what it holds up: "correction" (whoever stops the water) or "main".
    """

    code: str
    text: str
    days: float
    holds: str = "main"


@dataclass(frozen=True, slots=True)
class Timetable:
    """The computed network: steps with their days, the clocks, and the step at which each stage starts."""

    steps: tuple[Step, ...]
    clocks: Clocks
    first_step: tuple[int | None, ...]


@dataclass(slots=True)
class _Node:
    phase: str
    method: str
    text: str
    crew: tuple[str, ...]
    hours: float
    work_days: float
    wait_days: float
    after: list[int]
    hold: bool
    drying: bool
    room: float
    roof: float
    load: float
    early: bool = False
    starts: float = 0.0
    ends: float = 0.0


def timetable(work: Work, leads: Sequence[LeadTime], book: RateBook) -> Timetable:
    """Lay out a plan on the calendar.

    Args:
        work: scope in the world as stated.
        leads: what has to be waited for.
        book: for the working calendar.
    """
    calendar = WorkCalendar.of(book, work.case.day)
    nodes, first_step = _nodes(work, leads)
    _forward(nodes, calendar)
    critical = _critical(nodes)
    steps = tuple(
        Step(
            n=k + 1, phase=node.phase, method=node.method, text=node.text, crew=node.crew, hours=round(node.hours, 2),
            after=tuple(p + 1 for p in node.after), starts_day=round(node.starts, 2), ends_day=round(node.ends, 2),
            critical=k in critical, hold_point=node.hold,
        )
        for k, node in enumerate(nodes)
    )
    held = _held_up_days(nodes) if work.case.element.family in HELD_UP else 0.0
    return Timetable(steps, _clocks(nodes, leads, calendar, book, held), tuple(first_step))


def _nodes(work: Work, leads: Sequence[LeadTime]) -> tuple[list[_Node], list[int | None]]:
    """Nodes of the network: interim first, then leads, then the site in order.

    Where a crew comes early to shore or cover, it stops the water on the same visit, so that the wood dries while
    everything else is waited for (B9: water first); else the corrections open the main visit.
    """
    nodes: list[_Node] = []
    first: list[int | None] = [None] * len(work.stages)

    def put(phase: str, after: list[int], *, early: bool = False, climbs: bool | None = None) -> list[int]:
        for index, stage in enumerate(work.stages):
            if stage.phase != phase or not stage.parts or climbs is (not stage.climbs):
                continue
            first[index] = len(nodes) + 1
            for part in stage.parts:
                nodes.append(_node(stage, part, float(stage.hours), work.case.book, after, early=early))
                after = [len(nodes) - 1]
        return after

    alone = all(stage.phase in ("interim", "access") for stage in work.stages if stage.parts)
    climbing = any(stage.climbs for stage in work.stages)
    # Whoever covers a place high up needs the way up first, and it stands until the work is done; no shore waits for it.
    interim = put("interim", [], climbs=False)
    if climbing:
        interim = put("interim", put("access", interim, early=not alone), climbs=True)
    holds: dict[str, list[int]] = {"correction": [], "main": []}
    for lead in leads:
        if lead.days > 0.0:
            nodes.append(_lead_node(lead))
            holds[lead.holds].append(len(nodes) - 1)
    water_first = bool(interim)
    before = [*interim, *holds["correction"], *([] if water_first else holds["main"])]
    after = put("correction", before, early=water_first)
    after = sorted({*after, *interim, *holds["main"]})
    for phase in SITE_PHASES[1:]:
        after = after if climbing and phase == "access" else put(phase, after)
    return nodes, first


def _lead_node(lead: LeadTime) -> _Node:
    return _Node(
        phase="lead", method=lead.code, text=lead.text, crew=(), hours=0.0, work_days=0.0, wait_days=lead.days, after=[],
        hold=False, drying=False, room=0.0, roof=0.0, load=0.0,
    )


def _node(
    stage: Stage, part: Task | Wait, hours: float, book: RateBook, after: list[int], *, early: bool
) -> _Node:
    work_hours, days, wait, hold, drying = 0.0, 0.0, 0.0, False, False
    if isinstance(part, Wait):
        wait, drying = float(part.days), part.kind == "drying"
    else:
        work_hours, hold = hours * part.share, part.hold
        days = float(crew_days_of(stage, work_hours, book))
    return _Node(
        phase=stage.phase, method=stage.method, text=part.text, crew=stage.crew if days else (), hours=work_hours,
        work_days=days, wait_days=wait, after=list(after), hold=hold, drying=drying, room=part.room, roof=part.roof,
        load=part.load, early=early,
    )


def _forward(nodes: list[_Node], calendar: WorkCalendar) -> None:
    """Earliest start and end of every node; nodes stand in an order in which predecessors come first."""
    for node in nodes:
        start = max((nodes[p].ends for p in node.after), default=0.0)
        if node.work_days > 0.0:
            node.starts = calendar.next_start(start)
            node.ends = calendar.after_work(node.starts, node.work_days)
        else:
            node.starts, node.ends = start, start + node.wait_days


def _critical(nodes: Sequence[_Node]) -> set[int]:
    """Nodes that drive the end: back from the last one along the predecessor that ends last."""
    if not nodes:
        return set()
    at: int | None = max(range(len(nodes)), key=lambda k: (nodes[k].ends, k))
    found: set[int] = set()
    while at is not None:
        found.add(at)
        at = max(nodes[at].after, key=lambda k: nodes[k].ends, default=None)
    return found


def _held_up_days(nodes: Sequence[_Node]) -> float:
    """Days from the interim shore to the end of the main work, in which the member must not be loaded [calendar days].

    Of the interim works a shore is what keeps people out from under it; a cover keeps out nobody.
    """
    shored = [n.ends for n in nodes if n.phase == "interim" and (n.room > 0.0 or n.load > 0.0)]
    relieved = [n.ends for n in nodes if n.phase == "main"]
    return max(max(relieved) - max(shored), 0.0) if shored and relieved else 0.0


def _clocks(
    nodes: Sequence[_Node], leads: Sequence[LeadTime], calendar: WorkCalendar, book: RateBook, held_up_days: float
) -> Clocks:
    site = [n for n in nodes if n.phase in SITE_PHASES and not n.early]
    if all(n.phase == "access" for n in site):
        site = [n for n in nodes if n.phase in ("interim", "access")]
    step = book.likely("terms", "crew_day_step")
    lead = max((one.days for one in leads), default=0.0)
    begins = min((n.starts for n in site), default=0.0)
    end = max((n.ends for n in nodes), default=0.0)
    span = max((n.ends for n in site), default=0.0) - begins
    dry = sum(n.wait_days for n in site if n.drying)

    def out(which: str) -> float:
        days = sum(getattr(n, which) * (n.work_days + n.wait_days) for n in nodes if n.phase in ("main", "finish"))
        return _up(days, step)

    start, finish = calendar.date_of(begins + 1e-6), calendar.date_of(end)
    return Clocks(
        days_from_today=_up(end, step), lead_days=float(math.ceil(lead - 1e-9)),
        crew_days=_up(sum(n.work_days for n in site if n.phase != "access"), step), calendar_days=_up(span, step),
        room_out_days=out("room"), roof_open_days=out("roof"), load_restricted_days=max(out("load"), _up(held_up_days, step)),
        calendar_range=(_up(span - dry / 2.0, step), _up(span + 2.0 * dry, step)),
        earliest_start=start, finish=max(start, finish),
    )


def _up(days: float, step: float) -> float:
    """Days rounded up to a step of the calendar."""
    return math.ceil(days / step - 1e-6) * step


def delays_of(leads: Sequence[LeadTime], calendar: WorkCalendar) -> tuple[Delay, ...]:
    """What a plan waits for, each with its date (R12)."""
    return tuple(
        Delay(one.code, float(math.ceil(one.days - 1e-9)), calendar.date_of(one.days), one.text)
        for one in leads
        if one.days > 0.0
    )
