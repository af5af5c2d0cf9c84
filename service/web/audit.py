"""Reading the audit log: who did what from where, for a region and for the head office, as JSON and as a sheet."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import UTC, datetime
from functools import partial
from typing import Annotated, Any

import msgspec
from litestar import Response, get
from litestar.handlers import HTTPRouteHandler
from litestar.params import FromPath
from msgspec import Meta, Struct

from service.application.audit import AuditEntry, AuditLog, AuditQuestion
from service.web import sheets
from service.web.access import asker_of
from service.web.area import Area
from service.web.contract_parts import DECIMAL_MARK, REGION
from service.web.days import FORM, day_in
from service.web.http import CSV, JSON, RATES, Asked, Check, conditional, etag_of, media_asked, parameters, sheet
from service.web.openapi import operation
from service.web.paging import CURSOR, LIMIT, bad_cursor, bad_parameter, next_page, page_of, paged
from service.web.params import CURSOR_FORM, DECIMAL, comma_wanted, cursor_of, place_of, region_named
from service.web.problems import ProblemError, problem
from service.web.schemas import Node

TAG = "audit"
SHEET_ROWS = 10_000
"""Most entries of one sheet; what is older is in the next."""
COLUMNS = tuple(field.name for field in fields(AuditEntry))
ACTION = re.compile(r"[a-z][a-z-]{0,39}(?:\.[a-z][a-z-]{0,39})?", re.ASCII)
WHO = re.compile(r"[^\x00-\x1f\x7f]{1,300}")
INSTANT = re.compile(
    FORM.pattern + r"T[0-9]{2}:[0-9]{2}:[0-9]{2}(?:\.[0-9]{1,6})?(?:Z|[+-][0-9]{2}:[0-9]{2})", re.ASCII
)
LARGEST = 2**63 - 1
"""Largest number that an entry may have."""


class Entry(Struct, frozen=True):
    """An entry of the audit log.

    Attributes:
        number: its place in the log. Some numbers are never given.
        at: when.
        region: region that it tells of; null for none.
        who: sort and id of the caller.
        name: what people call them.
        address: network address that the request came from; empty for the command line.
        request_id: id of the request, as in X-Request-Id.
        action: what was done, as noun.verb.
        subject: what it was done to, as a path.
        details: what else there is to know; a sheet has it as the text that the digest is over.
        previous: digest of the entry before; zeros for the first.
        digest: digest of this entry. Note the newest one elsewhere, and the command that walks the log finds a cut end.
    """

    number: Annotated[int, Meta(examples=[412])]
    at: datetime
    region: str | None
    who: Annotated[str, Meta(examples=["server:k3v9c0a1b2d4"])]
    name: str
    address: Annotated[str, Meta(examples=["192.0.2.1"])]
    request_id: str
    action: Annotated[str, Meta(examples=["revision.publish"])]
    subject: Annotated[str, Meta(examples=["kestrel-range/revisions/7"])]
    details: dict[str, Any]
    previous: Annotated[str, Meta(max_length=64)]
    digest: Annotated[str, Meta(max_length=64)]


class Entries(Struct, frozen=True):
    """A page of the audit log.

    Attributes:
        entries: the newest first.
        next_cursor: leads to older ones; null on the last page.
    """

    entries: list[Entry]
    next_cursor: str | None


@dataclass(frozen=True, slots=True)
class AuditDoor:
    """Answers whoever reads the audit log."""

    log: AuditLog

    async def read(self, request: Asked, region: str | None) -> Response[bytes]:
        """A page of entries of a region, or of all.

        Raises:
            ProblemError: 400, 403, 404.
        """
        if region is None and asker_of(request).caller.regions is not None:
            raise ProblemError(problem("not-allowed", "Only the head office reads the entries of all regions."))
        asked, as_sheet = parameters(request), media_asked(request) == CSV
        place = place_of(asked, (int,))
        before = None if place is None else int(place[0])
        if before is not None and not 0 < before <= LARGEST:
            raise bad_cursor()
        most = SHEET_ROWS if as_sheet and "limit" not in asked else page_of(asked, CURSOR_FORM).limit
        question = replace(_question(asked), region=None if region is None else region_named(region), before=before)
        found = await self.log.entries(replace(question, limit=most + 1))
        shown = found[:most]
        cursor = cursor_of(asked, (shown[-1].number,)) if len(found) > most else None
        if as_sheet:
            body = sheets.write(COLUMNS, [_row(entry) for entry in shown], decimal_comma=comma_wanted(asked))
            return sheet(request, body, cache=RATES, headers=next_page(request, cursor))
        body = msgspec.json.encode(Entries([_shown(entry) for entry in shown], cursor))
        return conditional(request, body, etag=etag_of(body), cache=RATES, headers=next_page(request, cursor))


def _question(asked: Mapping[str, str]) -> AuditQuestion:
    return AuditQuestion(
        action=_action(asked), who=_who(asked), since=_instant(asked, "since"), until=_instant(asked, "until")
    )


def _action(asked: Mapping[str, str]) -> str | None:
    action = asked.get("action")
    if action is not None and not ACTION.fullmatch(action):
        raise bad_parameter("action", "must be a noun and a verb like revision.publish, or a noun like revision")
    return action


def _who(asked: Mapping[str, str]) -> str | None:
    who = asked.get("who")
    if who is not None and not WHO.fullmatch(who):
        raise bad_parameter("who", "must be the sort and the id of a caller, as an entry has them")
    return who


def _instant(asked: Mapping[str, str], name: str) -> datetime | None:
    # A plus that was not escaped comes as a space.
    text = asked.get(name, "").replace(" ", "+")
    if name not in asked:
        return None
    try:
        if day := day_in(text):
            return datetime(day.year, day.month, day.day, tzinfo=UTC)
        if INSTANT.fullmatch(text) and day_in(text[:10]):
            return datetime.fromisoformat(text)
    except ValueError:
        pass
    raise bad_parameter(name, "must be a day like 2026-05-04 (its beginning in UTC) or a time like 2026-05-04T16:30:00Z")


FILTERS: Mapping[str, Check] = {
    "action": _action, "who": _who, "since": partial(_instant, name="since"), "until": partial(_instant, name="until"),
}


def _shown(entry: AuditEntry) -> Entry:
    said = {name: getattr(entry, name) for name in COLUMNS}
    return Entry(**{**said, "region": entry.region or None, "details": msgspec.json.decode(entry.details), "at": _utc(entry.at)})


def _row(entry: AuditEntry) -> dict[str, object]:
    row = {name: getattr(entry, name) for name in COLUMNS}
    return {**row, "at": _utc(entry.at).isoformat().replace("+00:00", "Z")}


def _utc(at: datetime) -> datetime:
    return at.astimezone(UTC)


# ---- the area ------------------------------------------------------------------------------------------------------------


def audit_area(log: AuditLog) -> Area:
    """The addresses of the audit log."""
    return Area(
        tag=TAG, about="Who did what from where. Entries are only ever added, each with the digest of the one before.",
        routes=_routes(AuditDoor(log)), paths=_paths(), shapes=[Entries],
    )


def _routes(door: AuditDoor) -> list[HTTPRouteHandler]:
    taken = {"parameters": {**FILTERS, **DECIMAL, **paged(CURSOR_FORM)}, "media": (JSON, CSV)}

    @get("/v1/regions/{region:str}/audit", opt={"scope": "rates:read", **taken})
    async def read_region_audit(request: Asked, region: FromPath[str]) -> Response[bytes]:
        return await door.read(request, region)

    @get("/v1/audit", opt={"scope": "admin", **taken})
    async def read_audit(request: Asked) -> Response[bytes]:
        return await door.read(request, None)

    return [read_region_audit, read_audit]


def _paths() -> Node:
    about = (
        "The newest first; JSON comes in pages. As text/csv the newest 10,000 come at once, and Link leads to older ones. An "
        "entry is written in the transaction of what it tells: both are kept or neither."
    )
    cursor = {**CURSOR, "schema": {"type": "string", "maxLength": 1000, "pattern": f"^{CURSOR_FORM}$"}}
    asked = [*_filters(), DECIMAL_MARK, LIMIT, cursor]
    return {
        "/v1/regions/{region}/audit": {"get": _with_sheet(operation(
            "readRegionAudit", TAG, "Who did what in a region", about, "Entries", kept=True, parameters=[REGION, *asked],
            problems=("unknown-region", "key-needed", "not-allowed", "books-unavailable")))},
        "/v1/audit": {"get": _with_sheet(operation(
            "readAudit", TAG, "Who did what anywhere", f"For the head office. {about}", "Entries", kept=True, parameters=asked,
            problems=("key-needed", "not-allowed", "books-unavailable")))},
    }


def _filters() -> list[Node]:
    def asked(name: str, description: str, example: str, **schema: object) -> Node:
        return {
            "name": name, "in": "query", "required": False, "description": description,
            "schema": {"type": "string", **schema}, "example": example,
        }

    form = f"^({FORM.pattern}|{INSTANT.pattern})$"
    return [
        asked("action", "What was done, as noun.verb; a noun alone for everything done to such things.", "revision.publish",
              maxLength=81, pattern=f"^{ACTION.pattern}$"),
        asked("who", "Sort and id of the caller.", "server:k3v9c0a1b2d4", minLength=1, maxLength=300),
        asked("since", "The first moment: a day (its beginning in UTC) or a time.", "2026-05-04", maxLength=32, pattern=form),
        asked("until", "The moment before which: a day or a time.", "2026-05-11T00:00:00Z", maxLength=32, pattern=form),
    ]


def _with_sheet(made: Node) -> Node:
    """The same entries as a sheet, and the header that leads to older ones."""
    found = made["responses"]["200"]
    found["content"][CSV] = {"schema": {"type": "string", "maxLength": 50_000_000}}
    found["headers"] = {**found["headers"], "Link": {"$ref": "#/components/headers/Link"}}
    return made
