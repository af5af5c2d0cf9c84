"""Publishing on the wire: what is sent to publish, revert and rebase, and what comes back."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.application.judging import named
from service.application.plain_text import UNSEEN
from service.application.publishing import Published
from service.application.rebasing import Rebased
from service.web import limits
from service.web.reading_shapes import Person, person
from service.web.requests import Day

NOT_BLANK = f"^[^ {UNSEEN}][^{UNSEEN}]*$"
BLANK_WORDS = "a text that begins with more than a space"
LINE_FORM = "^[a-z]+/[a-z0-9_.]{1,80}$"
Reason = Annotated[str, Meta(
    min_length=1, max_length=limits.REASON_CHARACTERS, description="The reason, for everybody who reads the revision later.",
    examples=["Log price of this week"], extra_json_schema={"pattern": NOT_BLANK},
    extra={"form": BLANK_WORDS})]
Token = Annotated[str, Meta(
    min_length=1, max_length=limits.TOKEN_CHARACTERS, examples=["resources/lead=950/1280/1750 h"],
    extra_json_schema={"pattern": NOT_BLANK}, extra={"form": BLANK_WORDS})]
LineText = Annotated[str, Meta(
    max_length=100, examples=["resources/lead"], extra_json_schema={"pattern": LINE_FORM},
    extra={"form": "a section and a code, such as resources/lead"})]
Tokens = Annotated[list[Token], Meta(max_length=limits.DECISIONS)]
LineTexts = Annotated[list[LineText], Meta(max_length=limits.DECISIONS)]
Effective = Annotated[Day | UnsetType, Meta(
    description="First day in force. Left out: today, in UTC.", examples=["2026-05-04"])]
Confirmed = Annotated[Tokens | UnsetType, Meta(description="Tokens of a confirmation-needed problem, for what is meant.")]


class PublishRequest(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How a draft is to be published."""

    why: Reason
    effective: Effective = UNSET
    confirmed: Confirmed = UNSET


class RevertRequest(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How an earlier revision is to be published anew."""

    why: Reason
    effective: Effective = UNSET
    confirmed: Confirmed = UNSET
    newest: Annotated[int, Meta(
        ge=1, le=limits.WHOLE, description="Number of the newest revision that the caller knows of, so that nothing newer is "
        "taken back unseen. Left out: whichever it is.", examples=[7])] | UnsetType = UNSET


class RebaseRequest(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Which side stands, for lines that were changed on both."""

    keep: Annotated[LineTexts | UnsetType, Meta(description="Lines that stay as the draft has them.")] = UNSET
    take: Annotated[LineTexts | UnsetType, Meta(description="Lines that become as the newest revision has them.")] = UNSET


class PublishedRevision(Struct, frozen=True):
    """A revision that was published.

    Attributes:
        region: code of the region.
        number: counts from 1 in that region.
        effective: first day in force.
        until: first day on which a scheduled revision takes over; null for until further notice.
        next_number: number of that scheduled revision; null for none.
        rates: revision of the whole chain on the first day; a request can pin it.
        changed: how many lines differ from those that were in force on that day.
        left_out: lines of a revision gone back to that were left out, because a parent has locked them meanwhile.
        who: who signed it, by id.
        name: who signed it, as people call them.
        published_at: when.
        why: the reason.
        by: who signed it, by id and name.
        reverts_to: number of the revision gone back to; null for one that goes back to none.
    """

    region: str
    number: int
    effective: date
    until: date | None
    next_number: int | None
    rates: str
    changed: int
    left_out: list[str]
    who: str
    name: str
    published_at: Annotated[datetime, Meta(tz=True)]
    why: str
    by: Person
    reverts_to: int | None


class PublishedNumber(Struct, frozen=True):
    """What is read of an answer that was written with its change: it may be as old as a repeat may be late."""

    number: int


class RebasedDraft(Struct, frozen=True):
    """A draft that was moved onto the newest revision. Its ETag names its present state.

    Attributes:
        draft: id of the draft.
        was_on: number of the revision that it was based on; null for none.
        based_on: number of the revision that it is based on now; null for none.
        came: lines that others changed and that came along.
        kept: lines that stay as the draft has them, although others changed them too.
        left_out: lines that were taken out, because a parent has locked them meanwhile.
    """

    draft: int
    was_on: int | None
    based_on: int | None
    came: list[str]
    kept: list[str]
    left_out: list[str]


def published(done: Published) -> PublishedRevision:
    """A published revision on the wire."""
    s = done.signed
    return PublishedRevision(
        region=s.region, number=s.number, effective=s.effective, until=done.until, next_number=done.next_number,
        rates=done.rates, changed=done.changed, left_out=[named(key) for key in done.left_out], who=s.who, name=s.name,
        published_at=s.published_at, why=s.why, by=person(s.who, s.name), reverts_to=done.reverts_to,
    )


def rebased(draft: int, done: Rebased) -> RebasedDraft:
    """A draft that was moved, on the wire."""
    came, kept, left_out = ([named(key) for key in keys] for keys in (done.came, done.kept, done.left_out))
    return RebasedDraft(draft, done.was_on, done.based_on, came, kept, left_out)
