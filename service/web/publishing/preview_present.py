"""A preview from values to the wire."""

from __future__ import annotations

from collections.abc import Collection

from service.application.effects import Alone, Effect, PlanKey
from service.application.inheritance import LineKey
from service.application.preview import Job, Preview, left_out, together
from service.application.preview_words import summary
from service.application.reading import ratio_of
from service.engine.rates import SECTIONS
from service.web.present import money
from service.web.publishing import preview_shapes as shapes
from service.web.reading_shapes import ratio, value
from service.web.since_shapes import LineEffect, LineName, PlanEffect


def preview_of(region: str, draft: int, seen: Preview, reached: Collection[str]) -> shapes.Preview:
    """A preview on the wire.

    Args:
        region: the draft's region.
        draft: its id.
        seen: the preview.
        reached: regions below that the caller reaches; the others are not told of.
    """
    tried, book = seen.tried, seen.tried.before
    return shapes.Preview(
        region=region, draft=draft, of=book.region, effective=book.day, currency=book.currency, rates=book.revision,
        summary=summary(seen), lines=_lines(seen), jobs=[_job(job, effect) for job, effect in seen.jobs],
        below=[shapes.Reach(code, count) for code, count in seen.inherits.items() if code in reached],
        outdated=tried.outdated, faults=[fault.text for fault in tried.faults],
        to_confirm=[shapes.ToConfirm(q.token, q.text) for q in tried.questions],
    )


def _lines(seen: Preview) -> list[shapes.LinePreview]:
    found: dict[LineKey, list[tuple[Job, Alone]]] = {}
    for job, effect in seen.jobs:
        for alone in effect.alone:
            found.setdefault(alone.key, []).append((job, alone))
    read = [key for _, effect in seen.jobs for key in effect.used]
    made = []
    for key in sorted(seen.changed, key=lambda k: (SECTIONS.index(k[0]), k[1])):
        old, new = seen.changed[key]
        moves = [(abs(alone.total), job.code, alone.total) for job, alone in found.get(key, ()) if alone.total]
        most = max(moves, default=None)
        made.append(shapes.LinePreview(
            section=key[0], code=key[1], before=value(old), after=value(new), ratio=ratio(ratio_of(old, new)),
            jobs=read.count(key), largest_job=most[1] if most else None, largest_change=money(most[2]) if most else None,
        ))
    return made


def _job(job: Job, effect: Effect) -> shapes.JobPreview:
    before, after = effect.before, effect.after
    priced = before.missing is None and after.missing is None
    change = after.total - before.total
    return shapes.JobPreview(
        job=job.code, family=job.family, what=job.what,
        total_before=None if before.missing else money(before.total), total_after=None if after.missing else money(after.total),
        change=money(change) if priced else None,
        percent=round(float(change / before.total) * 100.0, 2) if priced and before.total else None,
        order_changes=effect.moves_ranks, first_changes=effect.changes_first,
        missing_before=_name(before.missing), missing_after=_name(after.missing), defects=_defects(effect),
        effects=[_effect(alone, effect) for alone in effect.alone if alone.total or alone.plans or alone.moves_ranks],
        together=money(together(effect)), not_alone=[LineName(*key) for key in left_out(effect)],
    )


def _defects(effect: Effect) -> list[shapes.DefectPreview]:
    names = _names(effect)
    orders = effect.before.order(), effect.after.order()
    made = []
    for group in dict.fromkeys((*orders[0], *orders[1])):
        index, pieces = group
        was, now = (order.get(group, ()) for order in orders)
        plans = [(index, pieces, *plan) for plan in (*was, *(plan for plan in now if plan not in was))]
        made.append(shapes.DefectPreview(
            defect=names[index], pieces=list(pieces), order_changes=was != now, first_changes=was[:1] != now[:1],
            first_before=effect.before.plans[index, pieces, *was[0]].title if was else None,
            first_after=effect.after.plans[index, pieces, *now[0]].title if now else None,
            plans=[_plan(key, effect) for key in plans],
        ))
    return made


def _plan(key: PlanKey, effect: Effect) -> shapes.PlanPreview:
    before, after = effect.before.plans.get(key), effect.after.plans.get(key)
    shown = before or after
    moves = [(abs(alone.plans[key]), alone.key) for alone in effect.alone if key in alone.plans]
    return shapes.PlanPreview(
        method=key[2], variant=key[3], title=shown.title if shown else "", rank_before=before.rank if before else None,
        rank_after=after.rank if after else None, whole_before=money(before.whole) if before else None,
        whole_after=money(after.whole) if after else None, change=money(after.whole - before.whole) if before and after else None,
        line=LineName(*max(moves)[1]) if moves else None,
    )


def _effect(alone: Alone, effect: Effect) -> LineEffect:
    names = _names(effect)
    plans = [
        PlanEffect(names[index], list(pieces), method, variant, money(change))
        for (index, pieces, method, variant), change in alone.plans.items()
    ]
    return LineEffect(
        *alone.key, None if alone.missing else money(alone.total), plans, alone.moves_ranks, alone.changes_first
    )


def _names(effect: Effect) -> dict[int, str]:
    return {**effect.after.defects, **effect.before.defects}


def _name(key: LineKey | None) -> LineName | None:
    return None if key is None else LineName(*key)
