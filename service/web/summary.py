"""The small view of an answer, for forms and phones: shapes, and how they are cut from the full one."""

from __future__ import annotations

from datetime import date

from msgspec import Struct

from service.web import answers, limits


class SummaryClocks(Struct, frozen=True, gc=False):
    """Clocks that an owner asks for, in days.

    Attributes:
        days_from_today: until all is over.
        lead_days: longest wait before work.
        calendar_days: from the first day of work to the last.
        room_out_days: days without the room.
    """

    days_from_today: float
    lead_days: float
    calendar_days: float
    room_out_days: float


class SummaryOption(Struct, frozen=True, gc=False):
    """One plan, short.

    Attributes:
        method: code of the main method.
        title: in words.
        stop_gap: whether it only bridges the time until the repair.
        comparison_only: whether it is more than is needed as it was described, and shown beside the others for comparison.
        package: range of the package part; null where the plan fits in no world.
        whole: whole price as described.
        whole_range: range of the whole price.
        clocks: how long it takes.
        holds: share of the possible worlds in which it still fits once opened up.
    """

    method: str
    title: str
    stop_gap: bool
    comparison_only: bool
    package: answers.PriceRange | None
    whole: answers.Money
    whole_range: answers.PriceRange | None
    clocks: SummaryClocks
    holds: float


class SummaryGroup(Struct, frozen=True, gc=False):
    """Alike pieces, short.

    Attributes:
        pieces: numbers of the pieces, from 1.
        headline: the answer in a sentence.
        urgency: U0 today, U1 within weeks, U2 this season, U3 can wait.
        options: the first plans.
        questions: what to ask.
    """

    pieces: list[int]
    headline: str
    urgency: str
    options: list[SummaryOption]
    questions: list[answers.Question]


class SummaryDefect(Struct, frozen=True, gc=False):
    """One defect, short.

    Attributes:
        id: the caller's id, or its number from 1.
        status: priced, provisional or rejected.
        headline: the answer in a sentence.
        urgency: U0 today, U1 within weeks, U2 this season, U3 can wait; null where nothing could be priced or pieces differ.
        slips: values that cannot be, or that were left out.
        options: the first plans.
        questions: what to ask.
        groups: alike pieces, where pieces differ.
        cautions: codes, its own and those of the plans shown, spelled out in the catalogue.
    """

    id: str
    status: str
    headline: str
    urgency: str | None
    slips: list[answers.Slip]
    options: list[SummaryOption]
    questions: list[answers.Question]
    groups: list[SummaryGroup]
    cautions: list[str]


class SummaryJob(Struct, frozen=True, gc=False):
    """The job, short.

    Attributes:
        headline: the answer in a sentence.
        complete: whether every defect is in the total.
        total: total as described.
        range: range of the total; null where nothing is priced.
        days_from_today: until all is over; null where nothing is priced.
    """

    headline: str
    complete: bool
    total: answers.Money
    range: answers.PriceRange | None
    days_from_today: float | None


class Summary(Struct, frozen=True, gc=False):
    """The answer, short.

    Attributes:
        region: region whose rates were used.
        currency: currency of all money, ISO 4217.
        units: units of the answer.
        level: how well it is known.
        priced_on: day of the prices.
        rates: revision that was used.
        engine: version of the engine.
        input_digest: SHA-256 of the request as it was understood.
        defects: one answer a defect, in the order of the request.
        job: all of them together.
    """

    region: str
    currency: str
    units: str
    level: str
    priced_on: date
    rates: str
    engine: str
    input_digest: str
    defects: list[SummaryDefect]
    job: SummaryJob


def summary_of(quote: answers.Quote) -> Summary:
    """The small view of a full answer."""
    clocks = quote.job.clocks
    return Summary(
        region=quote.region, currency=quote.currency, units=quote.units, level=quote.level, priced_on=quote.priced_on,
        rates=quote.rates, engine=quote.engine, input_digest=quote.input_digest,
        defects=[_defect(d) for d in quote.defects],
        job=SummaryJob(
            headline=quote.job.headline, complete=quote.job.complete, total=quote.job.total, range=quote.job.range,
            days_from_today=clocks.days_from_today if clocks else None,
        ),
    )


def _defect(d: answers.DefectAnswer) -> SummaryDefect:
    return SummaryDefect(
        id=d.id, status=d.status, headline=d.headline, urgency=d.assessment.urgency if d.assessment else None,
        slips=d.slips, options=_options(d.options), questions=d.questions,
        groups=[
            SummaryGroup(g.pieces, g.headline, g.assessment.urgency, _options(g.options), g.questions) for g in d.groups
        ],
        cautions=cautions_shown(d),
    )


def cautions_shown(d: answers.DefectAnswer) -> list[str]:
    """The cautions of a defect and of its plans that are shown: no plan goes out without what must be said with it."""
    plans = [o for options in (d.options, *(g.options for g in d.groups)) for o in options[: limits.SUMMARY_OPTIONS]]
    return list(dict.fromkeys([*d.cautions, *(code for o in plans for code in o.cautions)]))


def _options(options: list[answers.Option]) -> list[SummaryOption]:
    return [
        SummaryOption(
            method=o.method, title=o.title, stop_gap=o.stop_gap, comparison_only=o.comparison_only,
            package=o.package.range, whole=o.whole.as_described,
            whole_range=o.whole.range,
            clocks=SummaryClocks(
                o.clocks.days_from_today, o.clocks.lead_days, o.clocks.calendar_days, o.clocks.room_out_days
            ),
            holds=o.holds,
        )
        for o in options[: limits.SUMMARY_OPTIONS]
    ]
