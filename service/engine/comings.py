"""How often the crew comes to a job, and what a place gives away: winters that split it, wood that serves once.

A plan that winter holds back is done in another season than those that are ready now: the crew mobilises again, and a
scaffold that both would use is put up again (E24). Work that waits for wood or an engineer alone waits with the rest.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from service.engine.rates import RateBook
from service.engine.schedule import LeadTime
from service.engine.sharing import Part
from service.engine.weather_wait import season_leads
from service.engine.wood import wait_for_wood
from service.engine.work import Work

SEASON = ("cold", "snow")
"""Codes of what a plan waits for that the season makes."""


class OnSite(NamedTuple):
    """A stretch of work on site: place of its plan among the parts, first and last day from the day of the prices."""

    part: int
    starts: float
    ends: float


def share_yard(parts: Sequence[Part]) -> None:
    """Give each stick to the first plan that needs it, what could give way first; the others wait for other wood.

    Wood that comes later may come into the winter: then the season is asked about again.
    """
    taken: Counter[str] = Counter()
    for part in sorted(parts, key=lambda p: (p.urgency, p.place)):
        if part.plan.stated is not None:
            part.wood_days, _ = wait_for_wood(part.plan.stated, taken)
            part.season_days = _season_after(part, part.plan.stated)


def _season_after(part: Part, work: Work) -> float:
    """Days until the season lets a plan begin whose wood comes later than it said itself; 0 where it comes in time (R12)."""
    leads = part.plan.decisions.leads if part.plan.decisions is not None else []
    if part.wood_days <= max((one.days for one in leads), default=0.0):
        return 0.0
    rest = [one for one in leads if one.code not in SEASON]
    anew = season_leads(
        part.case, part.plan.record, work, [*rest, LeadTime("wood", "", part.wood_days)], heated=part.plan.heated
    )
    return max((one.days for one in anew), default=0.0)


def split_by_season(parts: Sequence[Part], site: Sequence[OnSite], book: RateBook) -> int:
    """Number the comings of the crew to a job and give each plan its own.

    Args:
        parts: plans of the job.
        site: their work on site, as it was laid out.
        book: says from when on a wait is a long one.

    Returns:
        How often the crew comes; 1 where no winter lies between.
    """
    long_wait = book.likely("waits", "interim.long_wait")
    came, until = 0, None
    begun: set[int] = set()
    for stretch in sorted(site, key=lambda s: (s.starts, s.part)):
        gap = until is not None and stretch.starts - until > long_wait
        if gap and held_by_season(parts[stretch.part]):
            came += 1
        until = max(stretch.ends, until or 0.0)
        if stretch.part not in begun:
            begun.add(stretch.part)
            parts[stretch.part].coming = came
    return came + 1


def held_by_season(part: Part) -> bool:
    """Whether it is the season that a plan waits for last."""
    if part.season_days > 0.0:
        return part.season_days >= part.wood_days
    leads = part.plan.decisions.leads if part.plan.decisions is not None else []
    last = max(leads, key=lambda one: one.days, default=None)
    return last is not None and last.code in SEASON and last.days >= part.wood_days
