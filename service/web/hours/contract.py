"""The part of the contract that is about hours."""

from __future__ import annotations

from msgspec import Struct

from service.web.contract_parts import DECIMAL_MARK, DRAFT, IF_MATCH, REGION, SHEET, change, json_body
from service.web.hours.shapes import (
    HoursDrift,
    HoursKept,
    HoursReports,
    HoursSent,
    SuggestionsTaken,
    SuggestionsWanted,
)
from service.web.openapi import IDEMPOTENCY_KEY, operation
from service.web.paging import CURSOR, LIMIT
from service.web.schemas import REF, Node

SHAPES: list[type[Struct]] = [HoursSent, HoursKept, HoursReports, HoursDrift, SuggestionsWanted, SuggestionsTaken]
TAG = "hours"


def paths() -> Node:
    """The addresses of hours."""
    return {
        "/v1/regions/{region}/hours": {"get": _list(), "post": _report()},
        "/v1/regions/{region}/hours/drift": {"get": operation(
            "readHoursDrift", TAG, "How hours run against the norms",
            "For each method of which there are reports: their mean, spread and count, the interval of the mean, what they say "
            "and cannot say, and what they suggest. Nothing changes by itself.",
            "HoursDrift", kept=True, parameters=[REGION, _since()], problems=("unknown-region", "books-unavailable"),
        )},
        "/v1/regions/{region}/drafts/{draft}/hours-suggestions": {"post": change(
            "takeHoursSuggestions", TAG, "Take what the hours suggest into a draft",
            "Changes the norms of the methods in the draft. A norm that the draft changes already, or that is locked above, is "
            "left and said.",
            answers={"200": "SuggestionsTaken"}, parameters=[REGION, DRAFT, {**IF_MATCH, "example": '"d12-3"'}],
            body=json_body("SuggestionsWanted"), problems=("unknown-draft", "out-of-date", "state-needed", "invalid-lines"),
            headers=("ETag",),
        )},
    }


def _report() -> Node:
    return change(
        "reportHours", TAG, "Report hours",
        "What one method of one job took, or a sheet of such reports, all or nothing. The same job, method and member is "
        "reported once; a report that was wrong is corrected by another, and both stay.",
        answers={"201": "HoursKept"}, parameters=[REGION, IDEMPOTENCY_KEY], body={**json_body("HoursSent"), **SHEET},
        problems=("reported-before", "implausible", "invalid-sheet", "create-under-way", "key-of-another-create"),
    )


def _list() -> Node:
    made = operation(
        "listHours", TAG, "Reports of hours", "The newest first, corrected ones too; as JSON or as a sheet.", "HoursReports",
        kept=True, parameters=[REGION, *_filters(), DECIMAL_MARK, LIMIT, CURSOR],
        problems=("unknown-region", "books-unavailable"),
    )
    made["responses"]["200"]["content"] |= SHEET
    made["responses"]["200"]["headers"] |= {"Link": {"$ref": "#/components/headers/Link"}}
    return made


def _filters() -> list[Node]:
    return [
        {"name": "method", "in": "query", "required": False, "description": "Only reports of this method.",
         "schema": {"$ref": REF + "Code"}, "example": "face_veneer"},
        {"name": "job", "in": "query", "required": False, "description": "Only reports of this job.",
         "schema": {"$ref": REF + "Text"}, "example": "the Alder house"},
    ]


def _since() -> Node:
    return {
        "name": "since", "in": "query", "required": False, "description": "Only work done since this day. Left out: all.",
        "schema": {"$ref": REF + "Day"}, "example": "2025-05-04",
    }
