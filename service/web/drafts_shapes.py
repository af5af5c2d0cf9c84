"""Drafts on the wire: changes of lines in, drafts, their lines and their differences out."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.application import drafts as model
from service.application.draft_lines import TEXTS
from service.application.inheritance import Lines
from service.engine.rates import SECTIONS, Line
from service.web import limits
from service.web.answers import DecimalText
from service.web.reading_shapes import LineValue, Person, Ratio, person, ratio, value
from service.web.requests import CODE_WORDS, NO_CONTROL

Section = Literal["resources", "norms", "lives", "waits", "terms", "access", "weights", "climate"]
Kind = Literal["labour", "wood", "material", "hire", "subcontract", "fee", ""]
LineCode = Annotated[str, Meta(
    max_length=80, extra_json_schema={"x-ref": "LineCode", "pattern": "^[a-z0-9_.]{1,80}$"}, extra={"form": CODE_WORDS},
)]
Number = Annotated[str, Meta(
    max_length=24, extra_json_schema={"x-ref": "NumberText", "pattern": r"^-?[0-9]{1,12}(\.[0-9]{1,9})?$"},
    extra={"form": "a plain number with a point, such as 1500 or 12.50"},
)]
Unit = Annotated[str, Meta(
    min_length=1, max_length=TEXTS["unit"], extra_json_schema={"x-ref": "LineUnit", "pattern": NO_CONTROL},
)]
Source = Annotated[str, Meta(
    min_length=1, max_length=TEXTS["source"], extra_json_schema={"x-ref": "LineSource", "pattern": NO_CONTROL},
)]
What = Annotated[str, Meta(
    min_length=1, max_length=TEXTS["what"], extra_json_schema={"x-ref": "LineWhat", "pattern": NO_CONTROL},
)]
Note = Annotated[str, Meta(max_length=limits.NOTE_CHARACTERS, extra_json_schema={"x-ref": "Note", "pattern": NO_CONTROL})]


class WholeLine(Struct, frozen=True, forbid_unknown_fields=True):
    """A whole line of a draft: nothing of it is inherited.

    Attributes:
        unit: what the number counts; always the inherited line's.
        low: low end, decimal text.
        likely: likely value, decimal text.
        high: high end, decimal text.
        source: where the number comes from.
        what: in words.
        kind: kind of resource; left out or empty elsewhere.
        locked: whether no region below may override it. Left out: no.
    """

    unit: Unit
    low: Number
    likely: Number
    high: Number
    source: Source
    what: What
    kind: Kind | UnsetType = UNSET
    locked: bool | UnsetType = UNSET


class LinePatch(Struct, frozen=True, forbid_unknown_fields=True):
    """What changes of a line, as a merge patch. What is left out stays, null brings back what is inherited.

    Attributes:
        unit: what the number counts; always the inherited line's.
        low: low end, decimal text.
        likely: likely value, decimal text.
        high: high end, decimal text.
        kind: kind of resource; empty elsewhere.
        source: where the number comes from.
        what: in words.
        locked: whether no region below may override it.
    """

    unit: Unit | UnsetType | None = UNSET
    low: Number | UnsetType | None = UNSET
    likely: Number | UnsetType | None = UNSET
    high: Number | UnsetType | None = UNSET
    kind: Kind | UnsetType | None = UNSET
    source: Source | UnsetType | None = UNSET
    what: What | UnsetType | None = UNSET
    locked: bool | UnsetType | None = UNSET


class LineChange(Struct, frozen=True, forbid_unknown_fields=True):
    """What is done to one line. What is left out is as it was, or as it is inherited.

    Attributes:
        section: part of the book.
        code: code of the line.
        unit: what the number counts; always the inherited line's.
        low: low end, decimal text.
        likely: likely value, decimal text.
        high: high end, decimal text.
        kind: kind of resource; empty elsewhere.
        source: where the number comes from.
        what: in words.
        locked: whether no region below may override it.
        inherit: true takes the region's own line out, so that the inherited one counts again.
    """

    section: Section
    code: LineCode
    unit: Unit | UnsetType = UNSET
    low: Number | UnsetType = UNSET
    likely: Number | UnsetType = UNSET
    high: Number | UnsetType = UNSET
    kind: Kind | UnsetType = UNSET
    source: Source | UnsetType = UNSET
    what: What | UnsetType = UNSET
    locked: bool | UnsetType = UNSET
    inherit: bool | UnsetType = UNSET


class DraftRequest(Struct, frozen=True, forbid_unknown_fields=True):
    """A draft that is to be opened.

    Attributes:
        based_on: number of the published revision that it begins as a copy of. Left out: the one in force today.
        note: what it is for.
        lines: the first changes, made with it or not at all.
    """

    based_on: Annotated[int, Meta(ge=1, le=limits.WHOLE)] | UnsetType = UNSET
    note: Note | UnsetType = UNSET
    lines: Annotated[list[LineChange], Meta(max_length=limits.LINES)] | UnsetType = UNSET


class Draft(Struct, frozen=True):
    """A region's next book, not yet published.

    Attributes:
        id: number among all drafts.
        region: code of the region.
        version: counts its states; the entity tag is made of it.
        based_on: number of the revision that it began as a copy of; null for a region's first book.
        newest: number of the region's newest published revision; null for none.
        outdated: whether it rests neither on the newest revision nor on the one in force today: others have published since.
        who: id of who opened it, as the audit log has it.
        name: what people call them.
        note: what it is for.
        opened_at: when it was opened.
        changed_at: when it was changed last.
        lines: number of lines that the region holds itself in it.
        changes: number of lines by which it differs from the revision that it is based on.
        by: who opened it, by id and name.
    """

    id: int
    region: str
    version: int
    based_on: int | None
    newest: int | None
    outdated: bool
    who: str
    name: str
    note: str
    opened_at: Annotated[datetime, Meta(tz=True)]
    changed_at: Annotated[datetime, Meta(tz=True)]
    lines: int
    changes: int
    by: Person


class DraftMark(Struct, frozen=True):
    """What is read of an answer that was written with its draft: it may be as old as a repeat may be late."""

    id: int
    region: str
    version: int


class Drafts(Struct, frozen=True):
    """The open drafts of a region.

    Attributes:
        drafts: the oldest first.
    """

    drafts: list[Draft]


class DraftLine(Struct, frozen=True):
    """A line that the region holds itself in a draft.

    Attributes:
        section: part of the book.
        code: unique in its section.
        unit: what the number counts.
        low: low end, decimal text.
        likely: likely value, decimal text.
        high: high end, decimal text.
        kind: kind of resource, empty elsewhere.
        source: where the number comes from.
        what: in words.
        locked: whether no region below may override it.
    """

    section: str
    code: str
    unit: str
    low: DecimalText
    likely: DecimalText
    high: DecimalText
    kind: str
    source: str
    what: str
    locked: bool


class DraftLines(Struct, frozen=True):
    """A draft with the lines that the region holds itself in it.

    Attributes:
        draft: the draft.
        lines: by section and code.
    """

    draft: Draft
    lines: list[DraftLine]


class DraftMove(Struct, frozen=True):
    """A line that a draft moves.

    Attributes:
        section: part of the book.
        code: unique in its section.
        change: added (an own line where there was none), changed, or taken_out (inherited again).
        before: what counts with the revision that the draft is based on; null for nothing.
        after: what would count with the draft; null for nothing.
        inherited: what the region would inherit; null for nothing.
        ratio: likely value after over before; null where no ratio says anything.
        ratio_to_inherited: likely value after over the inherited one; null where no ratio says anything.
        locked_by: region above that locks the line, so that an own one counts for nothing; null for none.
        source_kept: whether its numbers move and its source does not, so that it still says where the old ones came from.
    """

    section: str
    code: str
    change: Literal["added", "changed", "taken_out"]
    before: LineValue | None
    after: LineValue | None
    inherited: LineValue | None
    ratio: Ratio
    ratio_to_inherited: Ratio
    locked_by: str | None
    source_kept: bool


class SetAside(Struct, frozen=True):
    """An own line of a draft that counts for nothing, because a region above has locked it since.

    Attributes:
        section: part of the book.
        code: unique in its section.
        locked_by: region above that locks it.
    """

    section: str
    code: str
    locked_by: str


class DraftDifference(Struct, frozen=True):
    """What a draft moves, over what the region inherits today.

    Attributes:
        draft: the draft.
        lines: lines that it moves, by section and code.
        set_aside: own lines that a region above has locked since the draft was opened: take them out before publishing.
    """

    draft: Draft
    lines: list[DraftMove]
    set_aside: list[SetAside]


def draft_view(d: model.Draft) -> Draft:
    """A draft on the wire."""
    return Draft(
        id=d.id, region=d.region, version=d.version, based_on=d.based_on, newest=d.newest, outdated=d.outdated, who=d.who,
        name=d.name, note=d.note, opened_at=d.opened_at, changed_at=d.changed_at, lines=d.lines, changes=d.changes,
        by=person(d.who, d.name),
    )


def line_view(x: Line) -> DraftLine:
    """A line of a draft on the wire."""
    return DraftLine(
        section=x.section, code=x.code, unit=x.unit, low=f"{x.low:f}", likely=f"{x.likely:f}", high=f"{x.high:f}",
        kind=x.kind, source=x.source, what=x.what, locked=x.locked,
    )


def in_order(lines: Lines) -> list[Line]:
    """Lines in the order in which people read a book."""
    return sorted(lines.values(), key=lambda x: (SECTIONS.index(x.section), x.code))


def difference_view(d: model.Differing) -> DraftDifference:
    """What a draft moves, on the wire."""
    aside = [SetAside(*key, locked_by=region) for key, region in d.set_aside]
    return DraftDifference(draft_view(d.draft), [_move(m) for m in d.moved], aside)


def _move(m: model.Moved) -> DraftMove:
    return DraftMove(
        section=m.key[0], code=m.key[1], change=m.how, before=value(m.before), after=value(m.after),
        inherited=value(m.above), ratio=ratio(m.ratio), ratio_to_inherited=ratio(m.ratio_to_above), locked_by=m.locked_by,
        source_kept=m.source_kept,
    )
