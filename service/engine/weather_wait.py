"""Waits that the season makes: wood too cold for what has to cure, snow on a roof that has to be opened (R12, G22).

The weather that counts is that of the day on which the crew can start, not of the day of the quote: wood that is ordered
in September arrives in November.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from service.engine.array import minimum
from service.engine.case import Case
from service.engine.knowledge import MethodRecord
from service.engine.schedule import LeadTime
from service.engine.season import days_until_snow_is_gone, days_until_warm, in_snow_season, later
from service.engine.work import Wait, Work
from service.engine.worlds import in_a_heated_house

FORECAST_DAYS = 14.0
"""How far ahead what was said of temperature and snow holds; from then on the climate of the region does (J) [d]."""
WARMTH = "Wait until the wood is warm enough to dry, and for the glue, filler or sealant"
"""Said of the wait for warmth."""
TEMPERATURES = frozenset(("wood_temperature", "forecast_low"))
"""Facts that say how cold the wood is."""
REAL_SNOW_PSF = 50.0
"""Ground snow from which a region counts as snow country where nobody said so (J) [psf]."""
ANYTHING = -1e9
"""Below every temperature: what has nothing to cure may be done in any cold [degF]."""


def season_leads(
    case: Case, record: MethodRecord, own: Work, leads: Sequence[LeadTime], *, heated: bool
) -> list[LeadTime]:
    """Waits for warmth and for a roof free of snow, each from day 0.

    Args:
        case: in the world as stated.
        record: of the main method.
        own: its own scope.
        leads: everything else that is waited for; the last of it says when the crew can start.
        heated: whether it is done in a heated tent, which waits for no warmth.
    """
    ready = max((one.days for one in leads), default=0.0)
    found = []
    if not heated:
        cold = cold_wait_days(case, own, ready)
        if cold > 0.0:
            found.append(LeadTime("cold", WARMTH, cold))
    snow = 0.0 if record.role == "interim" else snow_wait_days(case, own, max(ready, *(one.days for one in found), 0.0))
    if snow > 0.0:
        found.append(LeadTime("snow", "Wait until the roof is free of snow and none is forecast", snow))
    return found


def cold_wait_days(case: Case, own: Work, ready: float = 0.0) -> float:
    """Days until the wood is warm enough for everything that has to cure or dry; 0 where it is (R12, B7).

    Args:
        case: in the world as stated.
        own: the method's own scope.
        ready: days until the crew could start.
    """
    warmest = max((case.book.likely("waits", f"cure.{m}.min_temp") for m in own.cures), default=ANYTHING)
    wait = 0.0
    if float(case.cold_degf) < warmest:
        wait = max(float(days_until_warm(case.book, case.day, warmest)), FORECAST_DAYS if TEMPERATURES & case.known else 1.0)
    if in_a_heated_house(case.element, case.flags):
        return wait
    start = _start(case, max(ready, wait), said=bool(TEMPERATURES & case.known))
    if start and own.cures:
        # By then a glue or filler for the cold can be taken, where there is one.
        more = days_until_warm(case.book, start, max(_coldest(case, m) for m in own.cures))
        wait = max(ready, wait) + more if more else wait
    if drying_days(own) > 0.0:
        # Drying takes weeks: what counts is the climate, not the night that somebody measured.
        begins = later(case.day, max(ready, wait))
        more = days_until_warm(case.book, begins, case.book.likely("waits", "dry.min_temp"))
        wait = max(ready, wait) + more if more else wait
    return wait


def snow_wait_days(case: Case, own: Work, ready: float = 0.0) -> float:
    """Days until a roof may be opened, or a member that carries its snow be worked on; 0 outside the snow season (G22).

    Args:
        case: in the world as stated.
        own: the method's own scope.
        ready: days until the crew could start.
    """
    opens = any(getattr(part, "roof", 0.0) > 0.0 for stage in own.stages for part in stage.parts)
    bends = case.element.family == "truss" or case.element.code in ("purlin", "ridge")
    said = case.word("snow")
    if not (opens or (bends and (said in ("on_now", "forecast") or _in_snow_country(case)))):
        return 0.0
    wait = 0.0
    if said == "on_now" or (said != "none" and in_snow_season(case.book, case.day)):
        wait = float(max(days_until_snow_is_gone(case.book, case.day), 1 if said == "on_now" else 0))
    start = _start(case, max(ready, wait), said=bool(said))
    more = days_until_snow_is_gone(case.book, start) if start else 0
    return max(ready, wait) + more if more else wait


def _in_snow_country(case: Case) -> bool:
    """Whether roofs get real snow: as said, else by what lies on the ground of the region."""
    return case.flags.get("snow_country", case.book.likely("climate", "ground_snow") >= REAL_SNOW_PSF)


def dry_in_warm_air(work: Work) -> None:
    """In a heated tent wood dries in warm moving air: no longer than shallow wood takes there (B7)."""
    most = work.case.book.likely("waits", "dry.pocket_warm_air")
    for stage in work.stages:
        stage.parts = [
            replace(part, days=minimum(part.days, most), text=part.text.replace("under an open cover", "in the warm tent"))
            if isinstance(part, Wait) and part.kind == "drying" else part
            for part in stage.parts
        ]


def drying_days(own: Work) -> float:
    """Days for which wood dries before it is closed up, in the world as stated."""
    waits = (part for stage in own.stages for part in stage.parts if isinstance(part, Wait) and part.kind == "drying")
    return sum(float(part.days) for part in waits)


def _start(case: Case, days: float, *, said: bool) -> date | None:
    """The day on which the crew can start, where its weather is another than today's; else None.

    Args:
        case: in the world as stated.
        days: days until then.
        said: whether somebody said what the weather is, which holds for a while.
    """
    start = later(case.day, days)
    now = (start.year, start.month) == (case.day.year, case.day.month)
    return None if now or (said and days <= FORECAST_DAYS) else start


def _coldest(case: Case, material: str) -> float:
    """Coldest wood in which a material, or its make for the cold, cures [degF]."""
    rows = [f"cure.{m}.min_temp" for m in (material, f"{material}_cold")]
    return min(case.book.likely("waits", row) for row in rows if ("waits", row) in case.book.lines)
