"""Hours over HTTP: what jobs really took, how that runs against the norms, and what of it goes into a draft."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NoReturn

import msgspec
from litestar import Response, get, post
from litestar.handlers import HTTPRouteHandler
from litestar.params import FromPath
from msgspec import UNSET

from service.application.draft_lines import RefusedLinesError
from service.application.hours import NewReport, Report, ReportedBeforeError
from service.application.hours_desk import HoursDesk
from service.application.nonsense import Nonsense, NonsenseError
from service.web import limits
from service.web.access import asker_of
from service.web.area import Area
from service.web.conditions import check_digest, mark_named, once_of
from service.web.decoding import pointer, read_body
from service.web.hours import contract
from service.web.hours.shapes import HoursKept, HoursReports, HoursSent, SuggestionsWanted
from service.web.hours.views import SheetRead, drift_view, report_of, report_view, reports_in, sheet_of, taken_view
from service.web.http import (
    CSV,
    JSON,
    NO_STORE,
    RATES,
    Asked,
    check_json,
    conditional,
    etag_of,
    is_sheet,
    media_asked,
    parameters,
    sheet,
)
from service.web.line_faults import refused_lines
from service.web.paging import next_page, page_of, paged
from service.web.params import (
    DECIMAL,
    LARGE_NUMBER,
    comma_wanted,
    day_check,
    day_of,
    draft_named,
    region_named,
    text_check,
    text_of,
)
from service.web.problems import Fault, ProblemError, problem
from service.web.sheets import CellFault, refused

FILTERS = {name: text_check(name) for name in ("method", "job")}
EMPTY = CellFault(0, "", "", "The sheet has no report. Its first row names the columns, every other one is a report.")


def hours_area(desk: HoursDesk) -> Area:
    """The addresses of hours."""
    return Area(
        tag="hours", about="Hours that jobs really took, and what they say of the norms.",
        routes=[_reporting(desk), *_reading(desk), _suggesting(desk)], paths=contract.paths(),
        shapes=contract.SHAPES,
    )


def _reporting(desk: HoursDesk) -> HTTPRouteHandler:
    @post("/v1/regions/{region:str}/hours", status_code=201, opt={"scope": "rates:write"})
    async def report_hours(request: Asked, region: FromPath[str]) -> Response[bytes]:
        check_json(request, (JSON, CSV))
        body = await request.body()
        check_digest(request, body)
        read: SheetRead | None = None
        if is_sheet(request):
            read = reports_in(body)
            reports: Sequence[NewReport] = read.reports
            if read.faults or not reports:
                found = await desk.nonsense(region_named(region), reports)
                raise refused([*read.faults, *(read.fault(one) for one in found)] or [EMPTY])
        else:
            reports = [report_of(read_body(body, HoursSent))]
        try:
            made = await desk.report(asker_of(request), region_named(region), reports, once_of(request, body), _kept)
        except NonsenseError as fault:
            _refuse("implausible", fault.faults, read)
        except ReportedBeforeError as fault:
            _refuse("reported-before", fault.faults, read)
        return Response(made, status_code=201, media_type=JSON, headers=NO_STORE)

    return report_hours


def _reading(desk: HoursDesk) -> list[HTTPRouteHandler]:
    @get("/v1/regions/{region:str}/hours",
         opt={"scope": "rates:read", "parameters": {**FILTERS, **DECIMAL, **paged(LARGE_NUMBER.pattern)}, "media": (JSON, CSV)})
    async def list_hours(request: Asked, region: FromPath[str]) -> Response[bytes]:
        asked = parameters(request)
        page = page_of(asked, LARGE_NUMBER.pattern)
        wanted = {name: text_of(asked, name) for name in FILTERS if name in asked}
        below = None if page.after is None else int(page.after)
        found = await desk.room.page(region_named(region), wanted, below, page.limit + 1)
        shown = found[: page.limit]
        cursor = str(shown[-1].id) if len(found) > page.limit else None
        headers = next_page(request, cursor)
        if media_asked(request) == CSV:
            return sheet(request, sheet_of(shown, comma=comma_wanted(asked)), cache=RATES, headers=headers)
        body = msgspec.json.encode(HoursReports([report_view(r) for r in shown], cursor))
        return conditional(request, body, etag=etag_of(body), cache=RATES, headers=headers)

    @get("/v1/regions/{region:str}/hours/drift", opt={"scope": "rates:read", "parameters": {"since": day_check("since")}})
    async def read_drift(request: Asked, region: FromPath[str]) -> Response[bytes]:
        since = parameters(request).get("since")
        day = None if since is None else day_of(since, desk.today, "since")
        found, book = await desk.drift(region_named(region), day)
        body = msgspec.json.encode(drift_view(found, book))
        return conditional(request, body, etag=etag_of(body), cache=RATES)

    return [list_hours, read_drift]


def _suggesting(desk: HoursDesk) -> HTTPRouteHandler:
    @post("/v1/regions/{region:str}/drafts/{draft:str}/hours-suggestions", status_code=200, opt={"scope": "rates:write"})
    async def take_suggestions(request: Asked, region: FromPath[str], draft: FromPath[str]) -> Response[bytes]:
        check_json(request)
        mark, number = mark_named(request), draft_named(draft)
        sent = read_body(await request.body(), SuggestionsWanted)
        methods = None if sent.methods is UNSET else sent.methods
        since = None if sent.since is UNSET else sent.since
        try:
            taken = await desk.suggest(asker_of(request), region_named(region), number, mark, methods, since)
        except RefusedLinesError as fault:
            raise refused_lines(fault.faults, None) from None
        view = taken_view(taken)
        headers = {"ETag": view.etag, **NO_STORE}
        return Response(msgspec.json.encode(view), status_code=200, media_type=JSON, headers=headers)

    return take_suggestions


def _kept(made: tuple[Report, ...]) -> bytes:
    return msgspec.json.encode(HoursKept([report_view(r) for r in made]))


def _refuse(slug: str, faults: Sequence[Nonsense], read: SheetRead | None) -> NoReturn:
    """The problem that names every value that cannot be, each with its place."""
    if read is not None:
        raise refused([read.fault(one) for one in faults]) from None
    errors = [Fault(one.reason, pointer((one.name,)), None) for one in faults[: limits.ERRORS]]
    raise ProblemError(problem(slug, "The report was not kept.", errors=errors)) from None
