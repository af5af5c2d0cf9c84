"""The job: all chosen plans together, shared things once, the order of work, the total with its range (E16, B9)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal

from service.engine.calendar import WorkCalendar
from service.engine.comings import share_yard, split_by_season
from service.engine.fork import said_price
from service.engine.joborder import Course, order_of_work, stage_days
from service.engine.jobrange import CAP, JobItem, job_range
from service.engine.neighbours import roof_area_of
from service.engine.option import fixed_line
from service.engine.outcome import (
    Clocks,
    Conditional,
    DefectAnswer,
    Job,
    Measure,
    Price,
    PriceLine,
)
from service.engine.plan import RISKY_KINDS
from service.engine.pricing import as_range, parts_of, price_line
from service.engine.rates import RateBook
from service.engine.score import OUT_ROWS
from service.engine.sharing import Part, share
from service.engine.site import Fixed, put_shared_for, visits_of
from service.engine.survey import Survey
from service.engine.wood import named_twice
from service.engine.words import Words
from service.engine.work import Work


def roll_up(
    items: Sequence[JobItem], answers: Sequence[DefectAnswer], survey: Survey, book: RateBook
) -> Job:
    """Roll all first plans up into one job; never the sum of stand-alone prices where something can be shared.

    Who is asked about first settles no tie: the same facts in another order make the same job (P1).
    """
    items = sorted(items, key=_facts_of) if len(items) > 1 else items
    parts = [
        Part(i.index, i.defect, i.inquiry.stated, i.inquiry.ranked[0], i.inquiry.setting.urgency, place=place)
        for place, i in enumerate(items)
    ]
    share_yard(parts)
    shared = share(parts)
    course = order_of_work(parts, book)
    comings = split_by_season(parts, course.site, book)
    if comings > 1:
        shared = share(parts)
        course = order_of_work(parts, book)
    alone = sum((i.option.whole.as_described for i in items), Decimal(0))
    if len(items) == 1:  # a job of one plan is that plan
        lines = list(items[0].option.lines)
    else:
        own = [line for part in parts for line in _own_lines(part, book)]
        around = _around(parts, own, comings, survey, book)
        lines = [*own, *around]
    total = sum((line.amount for line in lines), Decimal(0))
    if len(parts) > 1 and total > alone:
        # R22: a job is never charged more than its small jobs added.
        lines.append(_cap(alone - total, book))
        total = alone
    beside = [line for line in lines if line.part in ("shared", "contingency")]
    over = job_range(items, parts, beside, comings, book) if items else None
    whole = Price(total, as_range(over.quantiles(True, _worlds(items)) if over else None))
    clocks = _clocks(parts, items, course, book) if parts else None
    return Job(
        headline=headline_of(whole, clocks, comings, answers, Words(survey.units, book.currency)),
        complete=all(a.status == "priced" for a in answers), completeness=completeness_words(answers),
        chosen=_chosen(items), parts=parts_of(lines), lines=tuple(_gathered(lines, book)), shared=tuple(shared),
        total=whole, stand_alone_sum=alone, clocks=clocks, order=course.steps,
        while_access_stands=while_access_stands(items), wood_volume=_wood(items),
        wood_notes=named_twice([(i.index, i.option.wood) for i in items]),
        cautions=_cautions(answers), conditional=_conditional(items),
    )


def _facts_of(item: JobItem) -> tuple[str, ...]:
    """What was said of a place, whatever its number or name; places of which the same was said may change places."""
    d = item.defect
    told = (d.numbers, d.words, d.flags, d.many)
    group = item.inquiry.group
    return d.element, d.damage, *(repr(sorted(facts.items())) for facts in told), repr(d.causes), repr((d.count, group.pieces))


def _worlds(items: Sequence[JobItem]) -> int:
    return items[0].inquiry.worlds


def _chosen(items: Sequence[JobItem]) -> dict[int, tuple[str, ...]]:
    chosen: dict[int, tuple[str, ...]] = {}
    for item in items:
        chosen[item.index] = (*chosen.get(item.index, ()), item.option.method)
    return chosen


def completeness_words(answers: Sequence[DefectAnswer]) -> str:
    """Whether the total is the whole truth (S29)."""
    rejected = sum(a.status == "rejected" for a in answers)
    provisional = sum(a.status == "provisional" for a in answers)
    unanswered = sum(a.status != "rejected" and not any(f.options for f in a.findings) for a in answers)
    if not rejected and not provisional and not unanswered:
        return "complete"
    said = [f"{rejected} of {len(answers)} rejected"] if rejected else []
    said += [f"{provisional} provisional"] if provisional else []
    said += [f"{unanswered} without an option"] if unanswered else []
    return "incomplete: " + ", ".join(said)


def headline_of(
    whole: Price, clocks: Clocks | None, comings: int, answers: Sequence[DefectAnswer], words: Words
) -> str:
    """The one sentence on the whole job: what it comes to, what if nothing more is found, when it is over, what is missing."""
    if clocks is None:
        return "Nothing could be priced."
    priced = sum(any(f.options for f in a.findings) for a in answers)
    what = "One defect" if priced == 1 else f"{priced} defects together"
    text = f"{what}: {said_price(whole, words)}"
    if clocks.days_from_today > 0.0:
        text += f"; over by {clocks.finish.isoformat()}"
    if comings > 1:
        text += f"; the crew comes in {comings} seasons"
    missing = completeness_words(answers)
    return text if missing == "complete" else f"{text}; {missing}"


def _own_lines(part: Part, book: RateBook) -> list[PriceLine]:
    """Lines of one plan with what it shares taken off."""
    lines = []
    for k, charge in part.own():
        line = price_line(charge, book, None, part.factors[k])
        if line is not None:
            lines.append(line)
    return lines


def _around(
    parts: Sequence[Part], own: Sequence[PriceLine], comings: int, survey: Survey, book: RateBook
) -> list[PriceLine]:
    """Mobilisation of each season, travel, disposal, site management, contingency and tax of the whole job, once."""
    going = [p for p in parts if p.plan.stated is not None and visits_of(p.plan.stated)]
    if not going:
        return []
    before = float(sum((line.amount for line in own), Decimal(0)))
    days = sum(sum(stage_days(p)) for p in going)
    visits = max(visits_of(p.plan.stated) for p in going if p.plan.stated is not None) + comings - 1
    far = max(going, key=lambda p: float(p.case.distance_mi)).case
    work = Work(far.but(count=1, batch=1), 1.0)
    fixed = put_shared_for(work, days=days, before=before, visits=visits, comings=comings)
    lines = [line for c in work.charges if (line := price_line(c, book, None)) is not None]
    total = before + float(sum((line.amount for line in lines), Decimal(0))) + float(fixed[0].amount)
    fixed.extend(_rules(total, own, survey, book))
    return [*lines, *(fixed_line(one) for one in fixed if float(one.amount) > 0.004)]


def _rules(total: float, own: Sequence[PriceLine], survey: Survey, book: RateBook) -> list[Fixed]:
    """Site management above its threshold, contingency on the risk-bearing part, tax."""
    start = book.likely("terms", "site_management.from")
    manage = book.line("terms", "site_management.rate")
    managed = max(total - start, 0.0) * float(manage.likely)
    risk = book.line("terms", f"contingency.{survey.level}")
    risky = sum(
        float(line.amount)
        for line in own
        if line.part == "package" and book.line("resources", line.resource).kind in RISKY_KINDS
    )
    contingency = risky * float(risk.likely)
    tax = book.line("terms", "tax.rate")
    taxed = (total + managed + contingency) * float(tax.likely)
    return [
        Fixed("shared", "site_management", manage.what, managed, manage.region, float(manage.likely)),
        Fixed("contingency", "contingency", risk.what, contingency, risk.region, float(risk.likely)),
        Fixed("tax", "tax", tax.what, taxed, tax.region, float(tax.likely)),
    ]


def _cap(amount: Decimal, book: RateBook) -> PriceLine:
    return PriceLine(
        part="shared", step=None, resource=CAP, what="A job is never charged more than its small jobs added",
        quantity=Decimal(1), unit="each", rate=amount, markup=Decimal(0), amount=amount, region=book.region, norm=None,
    )


def _gathered(lines: Sequence[PriceLine], book: RateBook) -> list[PriceLine]:
    """Lines of one part and resource together: quantities and rounded amounts added up, labour named by its trade."""
    sums: dict[tuple[str, str, Decimal, Decimal], PriceLine] = {}
    for line in lines:
        key = (line.part, line.resource, line.rate, line.markup)
        old = sums.get(key)
        if old is None:
            what = book.line("resources", line.resource).what if line.norm else line.what
            sums[key] = line._replace(norm=None, step=None, what=what)
        else:
            sums[key] = old._replace(quantity=old.quantity + line.quantity, amount=old.amount + line.amount)
    return list(sums.values())


def _clocks(parts: Sequence[Part], items: Sequence[JobItem], course: Course, book: RateBook) -> Clocks:
    """The six clocks of the job: crew-days added, leads side by side, rooms and roofs once where they are shared."""
    calendar, begins, ends = WorkCalendar.of(book, parts[0].case.day), course.begins, course.ends
    days = [sum(stage_days(p)) for p in parts]
    alone = [i.option.clocks for i in items]
    kept = [min(d / a.crew_days, 1.0) if a.crew_days else 1.0 for d, a in zip(days, alone, strict=True)]

    def rooms() -> float:
        by_room: dict[str, float] = {}
        for item, keep, clocks in zip(items, kept, alone, strict=True):
            room = item.inquiry.stated.word("room") or f"{item.index}"
            by_room[room] = by_room.get(room, 0.0) + clocks.room_out_days * keep
        return max(by_room.values(), default=0.0)

    visit = book.likely("terms", "visit_least")
    wood = [float(math.ceil(max(p.wood_days, p.season_days) - 1e-9)) for p in parts]
    return Clocks(
        days_from_today=_up(ends), lead_days=max([*(c.lead_days for c in alone), *wood]),
        crew_days=_up(max(sum(days), visit if course.steps else 0.0), visit), calendar_days=_up(ends - begins),
        room_out_days=_up(rooms()), roof_open_days=_up(_roof_days(items, kept)),
        load_restricted_days=_up(_load_days(items, kept)),
        calendar_range=(_up(ends - begins), _up(max([ends - begins, *(c.calendar_range[1] for c in alone)]))),
        earliest_start=calendar.date_of(begins + 1e-6), finish=calendar.date_of(ends),
    )


def _load_days(items: Sequence[JobItem], kept: Sequence[float]) -> float:
    """Days on which something must not be loaded: added where one follows the other, side by side where shores stand."""
    days = [i.option.clocks.load_restricted_days for i in items]
    shored = [any(s.phase == "interim" and s.method == "temp_shore" for s in i.option.steps) for i in items]
    if not _one_by_one(items):
        return max(days, default=0.0)
    in_turn = sum(d * k for d, k, stands in zip(days, kept, shored, strict=True) if not stands)
    return max([in_turn, *(d for d, stands in zip(days, shored, strict=True) if stands)])


def _one_by_one(items: Sequence[JobItem]) -> bool:
    """Whether all places that must not be loaded are of one kind and done one after the other."""
    return len({OUT_ROWS.get(i.inquiry.stated.element.family, "room_day") for i in items}) == 1


def _roof_days(items: Sequence[JobItem], kept: Sequence[float]) -> float:
    """Days with a roof open: under one roof area the plans follow each other behind one opening and one dry-in."""
    by_area: dict[str, list[tuple[float, float]]] = {}
    for item, keep in zip(items, kept, strict=True):
        area = roof_area_of(item.defect) or f"{item.index}"
        by_area.setdefault(area, []).append((item.option.clocks.roof_open_days, keep))
    return max((sum(d * k for d, k in rows) * _overlap(rows) for rows in by_area.values()), default=0.0)


def _overlap(rows: Sequence[tuple[float, float]]) -> float:
    """Strip and re-lay are done once for all: the longest in full, each further one for half its days (J)."""
    days = [d for d, _ in rows]
    if sum(days) <= 0.0:
        return 1.0
    return (max(days) + (sum(days) - max(days)) / 2.0) / sum(days)


def _up(days: float, step: float = 0.25) -> float:
    return math.ceil(days / step - 1e-6) * step


def while_access_stands(items: Sequence[JobItem]) -> tuple[str, ...]:
    """Work worth doing while a scaffold, a lift or an open roof stands (B9, S12)."""
    said = []
    if any("access" in i.option.parts for i in items):
        said = [
            "While the access stands: look over the whole face at that height, probe every log end and purlin end in reach.",
            "While the access stands: seal upward checks, mend chinking or caulk, refinish that face, check gutter and flashing.",
        ]
    if any("roof_opening" in i.option.parts for i in items):
        said.append(
            "While the roof is open: probe every purlin, heel and rafter that comes to light; renew flashing and membrane."
        )
    return tuple(said)


def _wood(items: Sequence[JobItem]) -> tuple[Measure, ...]:
    feet = sum(piece.volume[1].value for i in items for piece in i.option.wood)
    return (Measure(feet * 12.0, "bd ft"), Measure(feet, "ft3")) if feet else ()


def _cautions(answers: Sequence[DefectAnswer]) -> tuple[str, ...]:
    codes = {c for a in answers for c in a.cautions}
    codes |= {c for a in answers for f in a.findings for o in f.options[:1] for c in o.cautions}
    return tuple(sorted(codes))


def _conditional(items: Sequence[JobItem]) -> tuple[Conditional, ...]:
    """Conditional costs of the job, each kind once at its dearest."""
    dearest: dict[str, Conditional] = {}
    for item in items:
        for one in item.option.conditional:
            if one.code not in dearest or one.price > dearest[one.code].price:
                dearest[one.code] = one
    return tuple(dearest[code] for code in sorted(dearest))


