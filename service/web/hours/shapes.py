"""Hours on the wire: reports, how they run, and what they suggest."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.web import limits
from service.web.answers import DecimalText
from service.web.drafts_shapes import Note
from service.web.reading_shapes import Person
from service.web.requests import REVISION_FORM, REVISION_WORDS, Code, Day, Text, Whole

Hours = Annotated[
    str,
    Meta(max_length=22, extra_json_schema={"x-ref": "Hours", "pattern": r"^[0-9]{1,12}(\.[0-9]{1,9})?$"},
         extra={"form": "a plain number of hours with a point, such as 12.5"}),
]
Revision = Annotated[
    str,
    Meta(min_length=1, max_length=limits.REVISION_CHARACTERS, extra_json_schema={"x-ref": "Revision", "pattern": REVISION_FORM},
         extra={"form": REVISION_WORDS}),
]


class HoursSent(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What a job took, beside what was quoted: one method of one job."""

    job: Annotated[Text, Meta(description="The office's name of the job.", examples=["the Alder house"])]
    done_on: Annotated[Day, Meta(description="When the work was done.", examples=["2026-05-04"])]
    method: Annotated[Code, Meta(description="Method of the catalogue.", examples=["face_veneer"])]
    element: Annotated[Code | UnsetType, Meta(description="Member of the catalogue.", examples=["under_window"])] = UNSET
    rates: Annotated[Revision, Meta(description="`rates` of the quote, as it was.", examples=["base@1/kestrel-range@1"])]
    quoted_hours: Annotated[
        Hours, Meta(description="Person-hours quoted: `hours` of the plan's steps of this method, added.", examples=["12.5"])
    ]
    actual_hours: Annotated[Hours, Meta(description="Person-hours that it took.", examples=["15.0"])]
    crew: Annotated[Whole | UnsetType, Meta(description="How many people worked.", examples=[2])] = UNSET
    note: Annotated[Note | UnsetType, Meta(description="What a reader should know.", examples=["rain on the second day"])] = UNSET
    corrects: Annotated[
        Whole | UnsetType, Meta(description="Id of the report that this one takes the place of.", examples=[17])
    ] = UNSET
    counts: Annotated[
        bool | UnsetType, Meta(description="false takes back the report that is corrected. Left out: true.", examples=[True])
    ] = UNSET


class SuggestionsWanted(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Which suggestions to take into the draft."""

    methods: Annotated[
        Annotated[list[Code], Meta(min_length=1, max_length=limits.PIECES)] | UnsetType,
        Meta(description="Methods. Left out: all that the hours suggest something for.", examples=[["face_veneer"]]),
    ] = UNSET
    since: Annotated[
        Day | UnsetType, Meta(description="Only work done since this day counts. Left out: all.", examples=["2025-05-04"])
    ] = UNSET


class HoursReport(Struct, frozen=True):
    """A report of hours.

    Attributes:
        id: its number.
        job: the office's name of the job.
        done_on: when the work was done.
        method: method of the catalogue.
        element: member of the catalogue; null where nobody said.
        rates: revision by which the hours were quoted.
        quoted_hours: person-hours quoted [h].
        actual_hours: person-hours that it took [h].
        crew: how many people worked; null where nobody said.
        note: what a reader should know.
        corrects: id of the report that it takes the place of; null for a first report.
        corrected_by: id of the report that took its place; null for none.
        counts: whether it counts.
        reported_at: when it was reported.
        who: who reported it, as people call them.
        by: who reported it, by id and name; in a sheet the id is the column `who_id`.
    """

    id: int
    job: str
    done_on: date
    method: str
    element: str | None
    rates: str
    quoted_hours: DecimalText
    actual_hours: DecimalText
    crew: int | None
    note: str
    corrects: int | None
    corrected_by: int | None
    counts: bool
    reported_at: datetime
    who: str
    by: Person


class HoursReports(Struct, frozen=True):
    """A page of reports.

    Attributes:
        reports: the newest first.
        next_cursor: where the next page begins; null on the last.
    """

    reports: list[HoursReport]
    next_cursor: str | None


class HoursKept(Struct, frozen=True):
    """Reports that were kept.

    Attributes:
        reports: in the order in which they were sent.
    """

    reports: list[HoursReport]


class OddReport(Struct, frozen=True):
    """A report that stands apart from the others of its method. It counts all the same.

    Attributes:
        id: its number.
        job: the job.
        ratio: hours taken over hours that today's norms would quote.
    """

    id: int
    job: str
    ratio: float


class NormSuggestion(Struct, frozen=True):
    """A norm as it is, and as the hours suggest.

    Attributes:
        code: code of the line in the section norms.
        unit: what it counts.
        from_region: region whose line it is today.
        low: low end today.
        likely: likely value today.
        high: high end today.
        suggested_low: low end as suggested.
        suggested_likely: likely value as suggested.
        suggested_high: high end as suggested.
    """

    code: str
    unit: str
    from_region: str
    low: DecimalText
    likely: DecimalText
    high: DecimalText
    suggested_low: DecimalText
    suggested_likely: DecimalText
    suggested_high: DecimalText


class MethodDrift(Struct, frozen=True):
    """How the hours of one method run against the norms in force.

    Attributes:
        method: code of the method.
        count: reports that count.
        first: day of the oldest work.
        last: day of the newest work.
        ratio: geometric mean of hours taken over hours that today's norms would quote.
        spread: geometric standard deviation: two jobs of three lie between ratio over spread and ratio times spread.
        ratio_low: low end of the 95 % interval of the ratio; null where one report says nothing of it.
        ratio_high: high end; null likewise.
        verdict: too_few, none_shown, over or under.
        says: what the reports say.
        cannot_say: what they do not.
        odd: reports that stand apart.
        factor: by what its norms would be multiplied; null where nothing is suggested.
        weight: weight of the reports in that factor; the rest is the book's.
        suggestion: its norms as they would be; empty where nothing is suggested.
    """

    method: str
    count: int
    first: date
    last: date
    ratio: float
    spread: float
    ratio_low: float | None
    ratio_high: float | None
    verdict: str
    says: str
    cannot_say: str
    odd: list[OddReport]
    factor: float | None
    weight: float
    suggestion: list[NormSuggestion]


class HoursDrift(Struct, frozen=True):
    """How a region's hours run.

    Attributes:
        region: code of the region.
        rates: revision whose norms they are held against.
        methods: by code.
        note: what to mind, in words.
    """

    region: str
    rates: str
    methods: list[MethodDrift]
    note: str


class TakenNorm(Struct, frozen=True):
    """A norm that was taken into the draft.

    Attributes:
        method: code of the method.
        code: code of the line in the section norms.
        factor: by what it was multiplied.
        low: low end now.
        likely: likely value now.
        high: high end now.
    """

    method: str
    code: str
    factor: float
    low: DecimalText
    likely: DecimalText
    high: DecimalText


class LeftNorm(Struct, frozen=True):
    """What was not taken, and why.

    Attributes:
        method: code of the method.
        code: code of the line; null for the whole method.
        why: why.
    """

    method: str
    code: str | None
    why: str


class SuggestionsTaken(Struct, frozen=True):
    """What was taken into a draft.

    Attributes:
        draft: number of the draft.
        etag: the draft's new state.
        taken: norms that were taken.
        left: what was not.
    """

    draft: int
    etag: str
    taken: list[TakenNorm]
    left: list[LeftNorm]
