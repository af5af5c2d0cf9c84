"""Getting at the work and getting there: scaffold, lift or ropes, mobilisation, travel, disposal, the small job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.engine.array import Number, Truth, both, ceil, maximum, minimum, where
from service.engine.case import Case
from service.engine.modifiers import hours_factor
from service.engine.rates import RateBook
from service.engine.work import CARPENTER_HELPER, Stage, Wait, Work

PRICED_FOR_SCORE = ("package", "interim", "correction", "access")
"""Parts of the price that one plan's score counts (R29)."""
BY_SIZE = ("mobilisation", "dumpster")
"""What a job pays by its size: the one from half a day on, the other from a whole day on, none where it is small (R22)."""
CREW = 2
"""People who travel to a job."""
CALENDAR_TO_WORK = 7.0 / 5.0
"""Calendar days to a working day, weekends in: what stands on site is paid for through them."""
A_MONTH = 30.0
"""Days of a month's rent [d]."""
FINISHED = ("surface", "finish", "stain")
"""Kinds of damage that are mended on the whole face of a wall."""
BULKY = 2.0
"""Times the limit of a small job from which there is enough to throw away for a dumpster (J)."""


@dataclass(slots=True)
class Fixed:
    """An amount that is a rule and not a purchase: minimum charge, site management, contingency, tax."""

    part: str
    code: str
    what: str
    amount: Number
    region: str
    rate: float


def access_row(book: RateBook, code: str) -> float:
    """A number of the access section."""
    return book.likely("access", code)


def scaffold_area_ft2(book: RateBook, height_ft: Number, width_ft: Number) -> Number:
    """Face of scaffold: (height + 3 ft) x max(20 ft, width + 4 ft) (R23)."""
    wide = maximum(width_ft + access_row(book, "scaffold.extra_width"), access_row(book, "scaffold.least_width"))
    return (height_ft + access_row(book, "scaffold.extra_height")) * wide


def out_of_reach(case: Case) -> Truth:
    """Whether the work needs a way up (R23)."""
    return case.height_ft > access_row(case.book, "limit.ground")


def means_of_access(case: Case, work_days: float, wait_days: float = 0.0) -> str:
    """The cheapest safe way up in the world as stated: none, scaffold, boom or rope (G25, R23).

    Cures and drying keep a scaffold standing, and nobody on a lift.

    Ropes hang from above: whoever may work on them high up may do so lower down, so that higher is never cheaper (P3).
    """
    book = case.book
    height, slope = float(case.height_ft), float(case.slope_deg)
    if not out_of_reach(case):
        return "none"
    costs = {"scaffold": _cost(case, "scaffold", work_days, wait_days)}
    flat = slope <= access_row(book, "limit.boom_slope") and case.word("access") in ("", "drive_up")
    if flat and height <= access_row(book, "limit.boom_reach"):
        costs["boom"] = _cost(case, "boom", work_days)
    on_ropes = work_days * float(hours_factor(case, way_up="rope")) / float(hours_factor(case))
    if case.batch <= access_row(book, "limit.rope_spots") and not case.structural and on_ropes <= 1.0:
        costs["rope"] = _cost(case, "rope", on_ropes)
    return min(costs, key=lambda way: (costs[way], way))


def _cost(case: Case, way: str, work_days: float, wait_days: float = 0.0) -> float:
    trial = Work(case, 1.0)
    put_access(trial, way, work_days, wait_days)
    return sum(float(c.amount) for c in trial.charges)


def finished_ft2(case: Case) -> Number:
    """Face of a wall that is finished as a whole, all of which has to be reached; else 0 [ft2]."""
    return case.area_ft2 if case.damage.kind in FINISHED else 0.0


def width_of(case: Case) -> Number:
    """Width of the wall that the work takes [ft]; joints of more than a wall's length lie above each other in it."""
    width = case.length_in / 12.0
    if case.element.family != "seal":
        return width
    return minimum(width, access_row(case.book, "scaffold.longest_wall"))


def put_access(
    work: Work, way: str, work_days: Number, wait_days: Number = 0.0, *, width_ft: Number | None = None,
    face_ft2: Number | None = None,
) -> None:
    """Dictate the access into a scope, as its own part of the price; nothing where the work is within reach from the ground.

    Args:
        work: scope to dictate it into.
        way: scaffold, boom or rope.
        work_days: crew-days of the work.
        wait_days: cures and drying meanwhile, in calendar days.
        width_ft: of the wall that the work takes, that of the damage where none is given.
        face_ft2: of the wall that is finished, that of the case where none is given.
    """
    if way == "none":
        return
    case, book = work.case, work.case.book
    needed = where(out_of_reach(case), 1.0, 0.0)
    work.part = "access"
    work.stage("access", CARPENTER_HELPER, phase="access")
    if way == "scaffold":
        area = scaffold_area_ft2(book, case.height_ft, width_of(case) if width_ft is None else width_ft)
        area = maximum(area, finished_ft2(case) if face_ft2 is None else face_ft2)
        steep = case.slope_deg > access_row(book, "limit.scaffold_slope")
        area = needed * where(steep, area * access_row(book, "scaffold.slope_multiplier"), area)
        work.labour("scaffold.erect_per_ft2", area, once=True, on_site=False)
        months = ceil((work_days * CALENDAR_TO_WORK + wait_days) / A_MONTH)
        work.buy("scaffold_rent", area * maximum(months, access_row(book, "scaffold.least_months")), once=True)
        work.task("Put up the scaffold, tag it, and strike it afterwards; fall protection from 6 ft", 1.0)
    elif way == "boom":
        days = needed * ceil(work_days)
        work.buy("boom_haul", needed, once=True)
        work.buy("boom_day", where(days < 3.0, days, 0.0), once=True)
        work.buy("boom_week", where(days < 3.0, 0.0, ceil(days / 5.0)), once=True)
    else:
        work.buy("rope_day", needed * ceil(work_days), once=True)
    work.part = "package"


def crew_days_of(stage: Stage, hours: Number, book: RateBook) -> Number:
    """Days that a stage keeps its crew."""
    a_day = book.likely("terms", "hours_per_day")
    return hours / (len(stage.crew) * a_day) if stage.crew else 0.0 * hours


def site_days(work: Work) -> Number:
    """Crew-days on site in all."""
    total: Number = 0.0
    for stage in work.stages:
        total = total + crew_days_of(stage, stage.hours, work.case.book)
    return total


def site_waits(stages: Sequence[Stage]) -> Number:
    """Cures, drying and weather of these stages, one after the other [calendar days]."""
    total: Number = 0.0
    for stage in stages:
        for part in stage.parts:
            if isinstance(part, Wait):
                total = total + part.days
    return total


def visits_of(work: Work) -> int:
    """Times that a crew has to come: once, and once more for each stage that needs a return."""
    phases = {s.phase for s in work.stages if s.parts}
    first = 1 if phases - {"interim", "access"} else 0
    return first + sum(1 for s in work.stages if s.return_visit) + (1 if "interim" in phases else 0)


def put_shared(work: Work, *, visits: int) -> list[Fixed]:
    """What a plan that stands alone pays beside its work; see `put_shared_for`."""
    before: Number = 0.0
    for amount in work.spent.values():
        before = before + amount
    return put_shared_for(work, days=site_days(work), before=before, visits=visits)


def put_shared_for(
    work: Work, *, days: Number, before: Number, visits: int, comings: int = 1, people: int = CREW
) -> list[Fixed]:
    """Mobilisation, travel and disposal; a small job pays at least the minimum charge in their place (R22).

    Args:
        work: scope to dictate them into.
        days: crew-days on site.
        before: price of the work itself.
        visits: times that the crew comes.
        comings: seasons in which it sets up (E16: mobilisation per phase).
        people: people who travel.
    """
    case, book = work.case, work.case.book
    small: Truth = both(days < book.likely("terms", "minimum_charge.up_to"), visits <= 1)
    work.part = "shared"
    travel_from = len(work.charges)
    put_travel(work, case.distance_mi, visits=visits, people=people, days=days)
    for charge in work.charges[travel_from:]:
        before = before + charge.amount
    full = where(small, 0.0, 1.0)
    work.buy("mobilisation", full * comings, once=True)
    bulky = days >= book.likely("terms", "minimum_charge.up_to") * BULKY
    work.buy("dumpster", where(bulky, full, 0.0), once=True)
    work.part = "package"
    row = book.line("terms", "minimum_charge")
    top_up = where(small, maximum(float(row.likely) - before, 0.0), 0.0)
    return [Fixed("shared", "minimum_charge", row.what, top_up, row.region, float(row.likely))]


def put_travel(work: Work, miles: Number, *, visits: int, people: int, days: Number) -> None:
    """Travel of a crew (E15): paid time on the road, truck, lodging and per diem where it stays overnight."""
    book = work.case.book

    def term(code: str) -> float:
        return book.likely("terms", code)

    far = miles > term("travel.local_miles")
    if far is False:
        return  # near by no travel is charged
    hours_one_way = miles / term("travel.speed")
    stays = both(far, hours_one_way >= term("travel.lodging_from"))
    day_count = ceil(days)
    trips = where(stays, float(visits), maximum(day_count, float(visits)))
    paid = where(far, 2.0 * hours_one_way * trips * term("travel.paid_share"), 0.0)
    for trade in ("lead", "carpenter")[:people]:
        work.buy(trade, paid, once=True)
    work.buy("truck_mile", where(far, 2.0 * miles * trips, 0.0), once=True)
    nights = where(stays, maximum(day_count - 1.0, 0.0) * people, 0.0)
    work.buy("lodging", nights, once=True)
    work.buy("per_diem", where(stays, day_count * people, 0.0), once=True)
