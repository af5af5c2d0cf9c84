"""Drafts over HTTP: opened, changed line by line or as a whole sheet, compared, thrown away."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, cast

import msgspec
from litestar import Response, delete, get, patch, post, put
from litestar.handlers import HTTPRouteHandler
from litestar.params import FromPath
from msgspec import UNSET, Struct

from service.application.draft_lines import Change, LineFault, RefusedLinesError
from service.application.drafts import Draft, Drafts
from service.web import cells, limits, sheets
from service.web import drafts_shapes as shapes
from service.web.access import asker_of
from service.web.area import Area
from service.web.conditions import check_digest, mark_named, once_of
from service.web.decoding import read_body
from service.web.drafts.contract import paths
from service.web.http import CSV, JSON, MERGE_PATCH, NO_STORE, RATES, Asked, check_json, media_asked, parameters, sheet
from service.web.line_faults import refused_lines
from service.web.params import DECIMAL, EMPTY, comma_wanted, draft_named, empty_meant, line_named, region_named
from service.web.problems import ProblemError, problem

DRAFTS = "/v1/regions/{region:str}/drafts"
DRAFT = f"{DRAFTS}/{{draft:str}}"
LINE = f"{DRAFT}/lines/{{section:str}}/{{code:str}}"
READ = {"scope": "rates:read"}
WRITE = {"scope": "rates:write"}


def _word(cell: cells.Cell) -> str:
    return cell.text.strip()


SHEET = (
    sheets.Column("section", _word), sheets.Column("code", _word), sheets.Column("unit", _word),
    sheets.Column("low", cells.number), sheets.Column("likely", cells.number), sheets.Column("high", cells.number),
    sheets.Column("kind", _word), sheets.Column("source", cells.text), sheets.Column("what", cells.text),
    sheets.Column("locked", cells.yes_no, needed=False),
)
"""Columns of a draft's sheet: the lines that the region holds itself."""


@dataclass(frozen=True, slots=True)
class DraftDoor:
    """Answers whoever works on drafts."""

    drafts: Drafts

    async def open(self, request: Asked, region: str) -> Response[bytes]:
        """Open a draft, with its first changes."""
        check_json(request)
        body = await request.body()
        sent = read_body(body, shapes.DraftRequest)
        changes = [] if sent.lines is UNSET else [_change(line) for line in sent.lines]
        try:
            made = await self.drafts.open(
                asker_of(request), region_named(region), based_on=None if sent.based_on is UNSET else sent.based_on,
                note="" if sent.note is UNSET else sent.note.strip(), changes=changes, once=once_of(request, body),
                written=lambda draft: msgspec.json.encode(shapes.draft_view(draft)),
            )
        except RefusedLinesError as refused:
            raise refused_lines(refused.faults, ("lines",)) from None
        said = msgspec.json.decode(made, type=shapes.DraftMark)
        where = {"Location": f"/v1/regions/{said.region}/drafts/{said.id}", "ETag": f'"d{said.id}-{said.version}"'}
        return Response(made, status_code=201, media_type=JSON, headers=where)

    async def all(self, region: str) -> Response[bytes]:
        """Open drafts of a region."""
        return _answer(shapes.Drafts([shapes.draft_view(d) for d in await self.drafts.all(region_named(region))]))

    async def one(self, region: str, draft: str) -> Response[bytes]:
        """One draft."""
        found = await self.drafts.one(*_named(region, draft))
        return _answer(shapes.draft_view(found.draft), found.draft)

    async def drop(self, request: Asked, region: str, draft: str) -> Response[None]:
        """Throw a draft away."""
        await self.drafts.drop(asker_of(request), *_named(region, draft), mark_named(request))
        return Response(None, status_code=204)

    async def lines(self, request: Asked, region: str, draft: str) -> Response[bytes]:
        """The region's own lines of a draft, as JSON or as a sheet."""
        comma = comma_wanted(parameters(request))
        found = await self.drafts.one(*_named(region, draft))
        own = [shapes.line_view(line) for line in shapes.in_order(found.lines)]
        if media_asked(request) == CSV:
            return sheet(request, _sheet(shapes.in_order(found.lines), comma=comma), cache=RATES, etag=_tag(found.draft))
        return _answer(shapes.DraftLines(shapes.draft_view(found.draft), own), found.draft)

    async def replace(self, request: Asked, region: str, draft: str) -> Response[bytes]:
        """Put a sheet in place of all own lines."""
        check_json(request, (CSV,))
        mark, place = mark_named(request), _named(region, draft)
        body = await request.body()
        check_digest(request, body)
        sent = sheets.read(body, SHEET, key=("section", "code"), most_rows=limits.LINES)
        lines = [_whole(row.values) for row in sent.rows]
        if not (lines or sent.faults or empty_meant(parameters(request))):
            there = await self.drafts.one(*place)
            if there.draft.mark == mark and there.lines:
                raise sheets.nothing_left(len(there.lines), "lines that the region holds itself")
        if sent.faults:
            found = await self.drafts.faults(*place, lines)
            raise sheets.refused([*_another_sheet(sent.faults), *sent.faults, *_cells(found, sent.rows, whole=False)])
        try:
            done = await self.drafts.replace(asker_of(request), *place, mark, lines)
        except RefusedLinesError as refused:
            raise sheets.refused(_cells(refused.faults, sent.rows, whole=True)) from None
        return _answer(shapes.difference_view(done), done.draft)

    async def difference(self, region: str, draft: str) -> Response[bytes]:
        """What a draft moves."""
        found = await self.drafts.difference(*_named(region, draft))
        return _answer(shapes.difference_view(found), found.draft)

    async def change_line(
        self, request: Asked, region: str, draft: str, key: tuple[str, str], sent: Struct, *, whole: bool
    ) -> Response[bytes]:
        """Put or patch one line."""
        change = Change(*key, _given(sent), whole=whole)
        try:
            done = await self.drafts.change(asker_of(request), *_named(region, draft), mark_named(request), [change])
        except RefusedLinesError as refused:
            raise refused_lines(refused.faults, None) from None
        return _answer(shapes.line_view(done.lines[key]), done.draft)

    async def inherit_line(self, request: Asked, region: str, draft: str, key: tuple[str, str]) -> Response[None]:
        """Take an own line out."""
        try:
            done = await self.drafts.change(
                asker_of(request), *_named(region, draft), mark_named(request), [Change(*key, inherit=True)]
            )
        except RefusedLinesError as refused:
            if refused.faults[0].code == "not_own":
                raise ProblemError(problem("unknown-line", refused.faults[0].reason)) from None
            raise refused_lines(refused.faults, None) from None
        return Response(None, status_code=204, headers={"ETag": _tag(done.draft)})


def drafts_area(drafts: Drafts) -> Area:
    """The addresses of drafts."""
    door = DraftDoor(drafts)
    return Area(
        tag="drafts",
        about="A region's next book while it is worked on. Every change names the state that it is made to (If-Match).",
        routes=[*_whole_drafts(door), *_all_lines(door), *_one_line(door)], paths=paths(),
        shapes=[
            shapes.DraftRequest, shapes.WholeLine, shapes.LinePatch, shapes.Draft, shapes.Drafts, shapes.DraftLine,
            shapes.DraftLines, shapes.DraftDifference,
        ],
    )


def _whole_drafts(door: DraftDoor) -> list[HTTPRouteHandler]:
    @post(DRAFTS, opt=WRITE)
    async def open_draft(request: Asked, region: FromPath[str]) -> Response[bytes]:
        return await door.open(request, region)

    @get(DRAFTS, opt=READ)
    async def list_drafts(region: FromPath[str]) -> Response[bytes]:
        return await door.all(region)

    @get(DRAFT, opt=READ)
    async def read_draft(region: FromPath[str], draft: FromPath[str]) -> Response[bytes]:
        return await door.one(region, draft)

    @delete(DRAFT, opt=WRITE, status_code=204)
    async def delete_draft(request: Asked, region: FromPath[str], draft: FromPath[str]) -> Response[None]:
        return await door.drop(request, region, draft)

    return [open_draft, list_drafts, read_draft, delete_draft]


def _all_lines(door: DraftDoor) -> list[HTTPRouteHandler]:
    @get(f"{DRAFT}/lines", opt={**READ, "parameters": DECIMAL, "media": (JSON, CSV)})
    async def read_draft_lines(request: Asked, region: FromPath[str], draft: FromPath[str]) -> Response[bytes]:
        return await door.lines(request, region, draft)

    @put(f"{DRAFT}/lines", opt={**WRITE, "parameters": EMPTY})
    async def replace_draft_lines(request: Asked, region: FromPath[str], draft: FromPath[str]) -> Response[bytes]:
        return await door.replace(request, region, draft)

    @get(f"{DRAFT}/difference", opt=READ)
    async def read_draft_difference(region: FromPath[str], draft: FromPath[str]) -> Response[bytes]:
        return await door.difference(region, draft)

    return [read_draft_lines, replace_draft_lines, read_draft_difference]


def _one_line(door: DraftDoor) -> list[HTTPRouteHandler]:
    @put(LINE, opt=WRITE)
    async def put_draft_line(
        request: Asked, region: FromPath[str], draft: FromPath[str], section: FromPath[str], code: FromPath[str]
    ) -> Response[bytes]:
        key = line_named(section, code)
        check_json(request)
        sent = read_body(await request.body(), shapes.WholeLine)
        return await door.change_line(request, region, draft, key, sent, whole=True)

    @patch(LINE, opt=WRITE)
    async def patch_draft_line(
        request: Asked, region: FromPath[str], draft: FromPath[str], section: FromPath[str], code: FromPath[str]
    ) -> Response[bytes]:
        key = line_named(section, code)
        check_json(request, (MERGE_PATCH, JSON))
        sent = read_body(await request.body(), shapes.LinePatch)
        return await door.change_line(request, region, draft, key, sent, whole=False)

    @delete(LINE, opt=WRITE, status_code=204)
    async def delete_draft_line(
        request: Asked, region: FromPath[str], draft: FromPath[str], section: FromPath[str], code: FromPath[str]
    ) -> Response[None]:
        return await door.inherit_line(request, region, draft, line_named(section, code))

    return [put_draft_line, patch_draft_line, delete_draft_line]


# ---- in and out ----------------------------------------------------------------------------------------------------------


def _named(region: str, draft: str) -> tuple[str, int]:
    """Region and number of a draft in a path.

    Raises:
        ProblemError: 404.
    """
    return region_named(region), draft_named(draft)


def _tag(draft: Draft) -> str:
    return f'"{draft.mark}"'


def _answer(body: Struct, draft: Draft | None = None) -> Response[bytes]:
    """An answer, with the tag of the draft's state. It is never 304: whether a draft is outdated is no part of its state."""
    tag = {} if draft is None else {"ETag": _tag(draft)}
    return Response(msgspec.json.encode(body), media_type=JSON, headers={**NO_STORE, "Vary": "Accept", **tag})


def _given(sent: Struct) -> dict[str, str | bool | Decimal | None]:
    """The fields of a line that were sent, numbers as numbers."""
    fields = {name: getattr(sent, name) for name in sent.__struct_fields__ if name not in ("section", "code", "inherit")}
    return {
        name: Decimal(said) if name in ("low", "likely", "high") and said is not None else said
        for name, said in fields.items() if said is not UNSET
    }


def _change(sent: shapes.LineChange) -> Change:
    return Change(sent.section, sent.code, _given(sent), inherit=sent.inherit is True)


def _whole(values: Mapping[str, object]) -> Change:
    given = {name: said for name, said in values.items() if name not in ("section", "code")}
    return Change(str(values["section"]), str(values["code"]), cast("Any", given), whole=True)


def _another_sheet(faults: Sequence[sheets.CellFault]) -> list[sheets.CellFault]:
    """A word to whoever sends the sheet of the whole book: taken as it is, it would leave nothing to be inherited."""
    if not any(fault.row == 1 and fault.column == "standing" for fault in faults):
        return []
    why = "This is a sheet of the whole book, inherited lines and all. A draft takes its own lines, as its address gives them."
    return [sheets.CellFault(1, "", "", why)]


def _sheet(lines: Sequence[Any], *, comma: bool) -> bytes:
    names = [column.name for column in SHEET]
    return sheets.write(names, ({name: getattr(line, name) for name in names} for line in lines), decimal_comma=comma)


def _cells(faults: Sequence[LineFault], rows: Sequence[sheets.Row], *, whole: bool) -> list[sheets.CellFault]:
    """Faults of lines by their cells; of lines that are not there, by none, and only where the sheet is whole."""
    return [
        sheets.CellFault(0 if f.place is None else rows[f.place].number, f.field, cells.shown(f.value), f.reason)
        for f in faults if whole or f.place is not None
    ]
