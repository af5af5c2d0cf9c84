"""The way of a quote: survey, condition, candidates, scope, price, schedule, rank; defect by defect, then the job."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from service.engine.assess import behind_the_patch, overload_of, overload_words
from service.engine.causes import found as causes_found
from service.engine.cautions import defect_cautions, escalations_of
from service.engine.contradictions import (
    HEADER,
    SIDING,
    as_board,
    is_eaten,
    is_header,
    is_rotten,
    is_siding,
    is_split,
)
from service.engine.design_checks import unchecked_because
from service.engine.findings import findings_of, inquire, uncertain_costs
from service.engine.inquiry import Inquiry
from service.engine.job import roll_up
from service.engine.jobrange import JobItem
from service.engine.knowledge import Knowledge
from service.engine.method import Method
from service.engine.neighbours import adjacent_courses
from service.engine.outcome import Answer, DefectAnswer, Findings
from service.engine.rates import RateBook
from service.engine.sense import Checked, check_defect, check_house
from service.engine.survey import Defect, House, Survey
from service.engine.worlds import groups_of


@dataclass(frozen=True, slots=True)
class _Examined:
    """One defect with its inquiries."""

    checked: Checked
    inquiries: tuple[Inquiry, ...]
    answer: DefectAnswer


def quote(survey: Survey, book: RateBook, knowledge: Knowledge, registry: Mapping[str, Method]) -> Answer:
    """Answer a survey from one rate book. Same survey and same book: same answer, to the byte (R37).

    Args:
        survey: what was seen.
        book: prices of one region on one day.
        knowledge: reference data.
        registry: all repair methods.

    Returns:
        The answer: every defect priced or rejected with its reasons, and the job.

    Raises:
        MissingRateError: where the book lacks a line that the work needs.
    """
    house, house_slips = check_house(survey.house, knowledge, survey.units, survey.priced_on)
    survey = replace(survey, house=house)
    checks = [_look_over(defect, house, knowledge, survey.units) for defect in survey.defects]
    sound = [c.defect for c in checks if c.defect is not None]
    examined = [
        _examine(survey, defect, check, sound, book, knowledge, registry)
        for defect, check in zip(survey.defects, checks, strict=True)
    ]
    items = [
        JobItem(one.answer.index, one.checked.defect, inquiry, finding.options[0], uncertain_costs(inquiry, inquiry.ranked[0]))
        for one in examined
        if one.checked.defect is not None
        for inquiry, finding in zip(one.inquiries, one.answer.findings, strict=True)
        if finding.options
    ]
    answers = tuple(e.answer for e in examined)
    job = roll_up(items, answers, survey, book)
    used = {c for a in answers for c in _codes(a)} | set(job.cautions)
    return Answer(
        region=book.region, currency=book.currency, units=survey.units, level=survey.level, priced_on=survey.priced_on,
        rates=book.revision, house_slips=house_slips, defects=answers, job=job,
        caution_texts={c: knowledge.cautions[c].text for c in sorted(used)},
    )


def _look_over(defect: Defect, house: House, knowledge: Knowledge, units: str) -> Checked:
    """Check the sense of a defect, and what it goes on as.

    A log that is siding goes on as siding, one that spans an opening as a header, insects with a depth as soft wood with
    those insects in it, what crumbles as soft wood whatever it looks like, a check through a joint as a split (B2, B3, R8).
    """
    siding = is_siding(defect, knowledge)
    checked = check_defect(
        as_board(replace(defect, element=SIDING)) if siding else defect, knowledge, house=house, units=units
    )
    if siding:
        note = "Log siding on a frame is another trade: it is answered as a board and not as a log."
        checked = replace(checked, notes=(*checked.notes, note))
    if checked.defect is not None and is_header(checked.defect, knowledge):
        note = "The log spans an opening: it bends, and is answered as a header."
        checked = replace(checked, defect=replace(checked.defect, element=HEADER), notes=(*checked.notes, note))
    if checked.defect is not None and is_eaten(checked.defect):
        note = "The insects have left soft wood of a depth: it is answered as soft wood, and they are treated first."
        eaten = replace(
            checked.defect, damage="soft_wood", words={**checked.defect.words, "insects": (checked.defect.damage,)}
        )
        return replace(checked, defect=eaten, notes=(*checked.notes, note))
    if checked.defect is not None and is_rotten(checked.defect, knowledge):
        note = "It crumbles under the awl or is hollow: whatever it looks like, it is answered as soft wood."
        return replace(checked, defect=replace(checked.defect, damage="soft_wood"), notes=(*checked.notes, note))
    if checked.defect is None or not is_split(checked.defect, knowledge):
        return checked
    note = "The crack runs through a joint, a bolt line or both faces, or may: it is taken as a split."
    return replace(checked, defect=replace(checked.defect, damage="split"), notes=(*checked.notes, note))


def _examine(
    survey: Survey, sent: Defect, check: Checked, sound: list[Defect], book: RateBook, knowledge: Knowledge,
    registry: Mapping[str, Method],
) -> _Examined:
    defect = check.defect
    if defect is None:
        rejected = DefectAnswer(
            index=sent.index, id=sent.id, element=sent.element, damage=sent.damage, status="rejected", slips=check.slips,
            notes=check.notes, findings=(), causes=(), cautions=(), escalations=(),
        )
        return _Examined(check, (), rejected)
    courses = adjacent_courses(sound, sound.index(defect))
    inquiries = tuple(
        inquire(survey, defect, group, book, knowledge, registry, adjacent_courses=courses)
        for group in groups_of(defect)
    )
    findings: tuple[Findings, ...] = tuple(findings_of(i) for i in inquiries)
    first = inquiries[0]
    on_loads = dict.fromkeys(
        said
        for i in inquiries
        for said in (
            behind_the_patch(i.stated), unchecked_because(i.stated, knowledge),
            overload_words(i.stated, i.setting.words, knowledge),
        )
    )
    answer = DefectAnswer(
        index=defect.index, id=defect.id, element=defect.element, damage=defect.damage,
        status="provisional" if check.provisional else "priced", slips=check.slips,
        notes=(*check.notes, *(said for said in on_loads if said)), findings=findings,
        causes=causes_found(first.causes, book, first.stated), cautions=defect_cautions(first.stated),
        escalations=escalations_of(
            first.stated, knowledge, first.setting.urgency,
            overloaded=overload_of(first.stated, first.setting.words, knowledge) > 1.0,
        ),
    )
    return _Examined(check, inquiries, answer)


def _codes(answer: DefectAnswer) -> set[str]:
    """Codes of the cautions that an answer mentions."""
    codes = set(answer.cautions)
    for finding in answer.findings:
        for option in finding.options:
            codes.update(option.cautions)
    return codes
