"""Preview on the wire: what is asked, and what a draft would do to each job."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

import msgspec
from msgspec import UNSET, Meta, Struct, UnsetType

from service.application.preview import MOST_JOBS
from service.web import limits
from service.web.answers import Money
from service.web.reading_shapes import LineValue, Ratio
from service.web.requests import REGION_FORM, REGION_WORDS, Day, RequestTypes
from service.web.since_shapes import LineEffect, LineName

Percent = Annotated[float | None, Meta(examples=[3.1])]


class PlanPreview(Struct, frozen=True):
    """A plan under the rates in force and with the draft.

    Attributes:
        method: code of the main method.
        variant: heated for the plan that works now in a heated tent, else empty.
        title: in words.
        rank_before: its rank; null where it is not offered.
        rank_after: its rank with the draft; null where it is not offered any more.
        whole_before: whole price as described; null where it is not offered.
        whole_after: the same with the draft; null where it is not offered any more.
        change: after less before; null where it is not offered under both.
        line: the changed line that does most of it, looked at alone; null where none moves the price by itself.
    """

    method: str
    variant: str
    title: str
    rank_before: int | None
    rank_after: int | None
    whole_before: Money | None
    whole_after: Money | None
    change: Money | None
    line: LineName | None


class DefectPreview(Struct, frozen=True):
    """Alike pieces of one defect, before and after.

    Attributes:
        defect: the defect, as the request calls it.
        pieces: numbers of the pieces, from 1.
        order_changes: whether plans change places, come or go.
        first_changes: whether another plan is first.
        first_before: the first plan, in words; null for none.
        first_after: the first plan with the draft; null for none.
        plans: every plan of either, in the order before; those that come in are last.
    """

    defect: str
    pieces: list[int]
    order_changes: bool
    first_changes: bool
    first_before: str | None
    first_after: str | None
    plans: list[PlanPreview]


class JobPreview(Struct, frozen=True):
    """A job before and after.

    Attributes:
        job: its name: a standard job's code, or the number of the caller's own request from 1.
        family: the sort of work.
        what: in words.
        total_before: total as described; null where it cannot be priced.
        total_after: the same with the draft; null where it cannot be priced any more.
        change: after less before; null where one of them cannot be priced.
        percent: the change in percent of before; null where that says nothing.
        order_changes: whether plans change places, come or go.
        first_changes: whether another plan is first anywhere.
        missing_before: the line that keeps it from being priced; null for none.
        missing_after: the line that keeps it from being priced with the draft; null for none.
        defects: the plans of every group of alike pieces.
        effects: what each changed line does alone, the largest change first. Lines that do nothing are left out.
        together: what is left of the change: lines that work through each other, and those not looked at alone.
        not_alone: changed lines that the job reads and that were not looked at alone, because there were too many.
    """

    job: str
    family: str
    what: str
    total_before: Money | None
    total_after: Money | None
    change: Money | None
    percent: Percent
    order_changes: bool
    first_changes: bool
    missing_before: LineName | None
    missing_after: LineName | None
    defects: list[DefectPreview]
    effects: list[LineEffect]
    together: Money
    not_alone: list[LineName]


class LinePreview(Struct, frozen=True):
    """A line that counts otherwise with the draft.

    Attributes:
        section: part of the book.
        code: unique in its section.
        before: what counts; null for nothing.
        after: what would count; null for nothing.
        ratio: likely value after over before; null where no ratio says anything.
        jobs: how many of the jobs read it.
        largest_job: the job whose total it moves most by itself; null where it moves none.
        largest_change: what it adds to that job's total; null where it moves none.
    """

    section: str
    code: str
    before: LineValue | None
    after: LineValue | None
    ratio: Ratio
    jobs: int
    largest_job: str | None
    largest_change: Money | None


class Reach(Struct, frozen=True):
    """A region below the draft's.

    Attributes:
        region: code of the region.
        lines: how many lines that the draft moves count there too, because nothing between overrides them.
    """

    region: str
    lines: int


class ToConfirm(Struct, frozen=True):
    """Something that publishing will ask about.

    Attributes:
        token: what to send in `confirmed` to say that it is meant.
        text: what it is.
    """

    token: str
    text: str


class Preview(Struct, frozen=True):
    """What a draft would do if it were published for a day.

    Attributes:
        region: code of the draft's region.
        draft: id of the draft. The answer's ETag names its state: publish that one.
        of: region in which the jobs are priced.
        effective: the day.
        currency: currency of all money, ISO 4217.
        rates: revision of the chain in force on the day.
        summary: the answer in a sentence.
        lines: lines that would count otherwise where the jobs are priced.
        jobs: the jobs, the largest move first.
        below: regions below the draft's, parents before children.
        outdated: whether others have published since, so that the draft has to be moved onto the newest revision first.
        faults: what would keep it from being published, in words.
        to_confirm: what publishing would ask about.
    """

    region: str
    draft: int
    of: str
    effective: date
    currency: str
    rates: str
    summary: str
    lines: list[LinePreview]
    jobs: list[JobPreview]
    below: list[Reach]
    outdated: bool
    faults: list[str]
    to_confirm: list[ToConfirm]


def preview_request(types: RequestTypes) -> type[Struct]:
    """The type of what is asked: it may hold requests for quotes."""
    day: Any = Annotated[Day | UnsetType, Meta(
        description="First day on which the draft would be in force. Left out: today, in UTC.", examples=["2026-05-04"])]
    of: Any = Annotated[
        Annotated[str, Meta(
            min_length=1, max_length=limits.CODE_CHARACTERS, extra_json_schema={"x-ref": "RegionCode", "pattern": REGION_FORM},
            extra={"form": REGION_WORDS},
        )] | UnsetType,
        Meta(description="Region in which the jobs are priced, one below the draft's. Left out: the draft's.",
             examples=["kestrel-range"])]
    listed: Any = Annotated[list[types.request], Meta(min_length=1, max_length=MOST_JOBS)]  # type: ignore[name-defined]  # made at run time
    requests: Any = Annotated[listed | UnsetType, Meta(
        description="Jobs of the caller's own, as requests for quotes of that region without `rates`. All are priced on the "
        "first day. Left out: the basket of standard jobs.")]
    return msgspec.defstruct(
        "PreviewRequest", [("effective", day, UNSET), ("of", of, UNSET), ("requests", requests, UNSET)], frozen=True,
        forbid_unknown_fields=True, kw_only=True, module=__name__,
        namespace={"__doc__": "What a draft is to be tried on."},
    )
