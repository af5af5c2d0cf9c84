"""Rates line by line on the wire: what counts and from whom, revisions, edits."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Annotated

from msgspec import Meta, Struct, field

from service.application.history import Change, Edit, InForce, Revision
from service.application.reading import Placed, Signed, Standing
from service.engine.rates import Line
from service.web.answers import DecimalText


class Person(Struct, frozen=True):
    """Who did something: a person, or a key.

    Attributes:
        id: sort and id, as the audit log has them.
        name: what people call them.
    """

    id: str
    name: str


def person(who: str, name: str) -> Person:
    """Who did something, on the wire; one without a name is called by the id."""
    return Person(who, name or who)


Ratio = Annotated[float | None, Meta(examples=[1.12])]


class Signature(Struct, frozen=True):
    """A published revision and who answers for it.

    Attributes:
        region: region whose book, or whose count of the yard, it is.
        number: counts from 1 in that region.
        effective: first day on which it was to be in force.
        published_at: when it was published.
        who: id of who signed it, as the audit log has it.
        name: what people call them.
        why: their reason.
        by: who signed it, by id and name.
    """

    region: str
    number: int
    effective: date
    published_at: Annotated[datetime, Meta(tz=True)]
    who: str
    name: str
    why: str
    by: Person


class LineValue(Struct, frozen=True):
    """What one book says of a line.

    Attributes:
        unit: what the number counts.
        low: low end, decimal text.
        likely: likely value, decimal text.
        high: high end, decimal text.
        kind: kind of resource, empty elsewhere.
        source: where the number comes from.
        what: in words.
        locked: whether no region below may override it.
        from_region: region whose line it is.
    """

    unit: str
    low: DecimalText
    likely: DecimalText
    high: DecimalText
    kind: str
    source: str
    what: str
    locked: bool
    from_region: str = field(name="from")


class EffectiveLine(Struct, frozen=True):
    """A line that counts in a region, and what it stands in place of.

    Attributes:
        section: part of the book.
        code: unique in its section.
        standing: own (nothing is above it), inherited, overridden (own in place of an inherited one) or locked above.
        value: what counts.
        inherited: for an overridden line, what would count without it; else null.
        ratio: likely value over the inherited one; null where nothing is overridden, and where no ratio says anything.
        set_aside: the region's own line that a lock above keeps from counting; null for none.
    """

    section: str
    code: str
    standing: Standing
    value: LineValue
    inherited: LineValue | None
    ratio: Ratio
    set_aside: LineValue | None


class Lines(Struct, frozen=True):
    """A page of the effective book of a region.

    Attributes:
        region: code of the region.
        currency: currency of all money, ISO 4217.
        day: the day.
        rates: revision of the whole chain; all pages are of this one.
        total: how many lines were asked for, on all pages.
        lines: the lines of this page.
        next_cursor: what `cursor` of the next page is; null on the last one.
    """

    region: str
    currency: str
    day: date
    rates: str
    total: int
    lines: list[EffectiveLine]
    next_cursor: str | None


class ChainMember(Struct, frozen=True):
    """One book of the chain, and what it says of a line.

    Attributes:
        revision: the revision of that book in the chain.
        value: its own line; null where it has none.
        counts: whether it is the one that counts.
        because: why it counts or does not, in words.
    """

    revision: Signature
    value: LineValue | None
    counts: bool
    because: str


class LineInChain(Struct, frozen=True):
    """A line through the whole chain of books.

    Attributes:
        region: code of the region.
        currency: currency of all money, ISO 4217.
        day: the day.
        rates: revision of the whole chain.
        line: what counts.
        chain: every book of the chain, the top first.
    """

    region: str
    currency: str
    day: date
    rates: str
    line: EffectiveLine
    chain: list[ChainMember]


class LineEdit(Struct, frozen=True):
    """What one revision did to one line of its own book.

    Attributes:
        section: part of the book.
        code: unique in its section.
        change: added, taken_out, changed, or reworded where no number, unit or kind differs.
        old: the line in the revision before; null where it was not there.
        new: the line in this revision; null where it is not there.
        ratio: new likely value over the old one; null where no ratio says anything.
        revision: the revision, and who signed it.
    """

    section: str
    code: str
    change: Change
    old: LineValue | None
    new: LineValue | None
    ratio: Ratio
    revision: Signature


class LineHistory(Struct, frozen=True):
    """Revisions of a region and its parents in which a line changed, the newest first.

    Attributes:
        region: code of the region.
        edits: the edits of this page.
        next_cursor: what `cursor` of the next page is; null on the last one.
    """

    region: str
    edits: list[LineEdit]
    next_cursor: str | None


class Days(Struct, frozen=True):
    """Days on which a revision is or was in force.

    Attributes:
        since: the first day.
        until: the day after the last one; null for no end yet.
    """

    since: date
    until: date | None


class RevisionRow(Struct, frozen=True):
    """A published revision of a region's own book.

    Attributes:
        revision: its number, and who signed it.
        state: in_force, scheduled, past, or replaced where another one took all its days before they came.
        days: when it is or was in force.
        based_on: number of the revision that it was edited from; null for the first.
        lines: how many lines it holds.
        added: lines that the revision with the number before had not.
        changed: lines that differ from it.
        taken_out: lines that it had and this one has not.
        reverts_to: number of the revision that it goes back to; null for one that goes back to none.
    """

    revision: Signature
    state: InForce
    days: list[Days]
    based_on: int | None
    lines: int
    added: int
    changed: int
    taken_out: int
    reverts_to: int | None


class Revisions(Struct, frozen=True):
    """A page of a region's own revisions, the newest first.

    Attributes:
        region: code of the region.
        revisions: the revisions of this page.
        next_cursor: what `cursor` of the next page is; null on the last one.
    """

    region: str
    revisions: list[RevisionRow]
    next_cursor: str | None


class RevisionWithEdits(Struct, frozen=True):
    """A revision, and what it did to the lines of the one before.

    Attributes:
        row: the revision.
        edits: lines that it added, changed or took out.
    """

    row: RevisionRow
    edits: list[LineEdit]


def signature(s: Signed) -> Signature:
    """Who answers for a revision, on the wire."""
    return Signature(s.region, s.number, s.effective, s.published_at, s.who, s.name, s.why, person(s.who, s.name))


def value(line: Line | None) -> LineValue | None:
    """What a book says of a line, on the wire."""
    return None if line is None else _value(line)


def effective(p: Placed) -> EffectiveLine:
    """A line that counts, on the wire."""
    shown = p.inherited if p.standing == "overridden" else None
    return EffectiveLine(
        p.line.section, p.line.code, p.standing, _value(p.line), value(shown), ratio(p.ratio), value(p.set_aside)
    )


def edit(e: Edit) -> LineEdit:
    """An edit on the wire."""
    return LineEdit(*e.key, e.change, value(e.old), value(e.new), ratio(e.ratio), signature(e.signed))


def row(r: Revision, day: date) -> RevisionRow:
    """A revision on the wire, as it stands on a day."""
    return RevisionRow(
        signature(r.signed), r.on(day), [Days(since, until) for since, until in r.days], r.based_on, r.lines, r.added,
        r.changed, r.taken_out, r.reverts_to,
    )


def ratio(of: float | Decimal | None) -> float | None:
    """A ratio with six digits."""
    return None if of is None else float(f"{of:.6g}")


def _value(line: Line) -> LineValue:
    return LineValue(
        line.unit, f"{line.low:f}", f"{line.likely:f}", f"{line.high:f}", line.kind, line.source, line.what, line.locked,
        line.region,
    )
