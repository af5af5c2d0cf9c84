"""The part of the contract that is about drafts."""

from __future__ import annotations

from service.application.drafts import MOST_DRAFTS
from service.web import limits
from service.web.contract_parts import CODE, DECIMAL_MARK, DRAFT, EMPTY_MEANT, IF_MATCH, REGION, SECTION
from service.web.http import CSV, JSON, MERGE_PATCH
from service.web.openapi import IDEMPOTENCY_KEY, IF_NONE_MATCH, operation, own_headers, refused
from service.web.schemas import REF, Node

TAGGED: Node = {"ETag": {"$ref": "#/components/headers/ETag"}}
READING = ("unknown-region", "unknown-draft", "key-needed", "not-allowed", "books-unavailable")
CHANGING = ("bad-request", "not-acceptable", "internal-error", "unknown-region", "unknown-draft", "key-needed", "not-allowed",
            "out-of-date", "state-needed", "not-stored", "line-locked", "invalid-lines", "body-too-large",
            "unsupported-media-type")
SHEET = (
    "section,code,unit,low,likely,high,kind,source,what,locked\r\n"
    "resources,lead,h,70,82.50,95,labour,payroll 2026,Lead restorer,no\r\n"
)
DIGEST: Node = {
    "name": "Content-Digest", "in": "header", "required": False,
    # No example: it would be another body's.
    "description": "SHA-256 of the body, sha-256=:<base64>: (RFC 9530). Where it is sent, a body that was cut off is refused.",
    "schema": {"type": "string"},
}
PATCH = {"likely": "19.40", "source": "mill's list of 4 May"}


def paths() -> Node:
    """Paths of drafts, their lines and their differences."""
    drafts = "/v1/regions/{region}/drafts"
    return {
        drafts: {"get": _list(), "post": _open()},
        drafts + "/{draft}": {"get": _read(), "delete": _drop()},
        drafts + "/{draft}/lines": {"get": _lines(), "put": _replace()},
        drafts + "/{draft}/lines/{section}/{code}": {"put": _put(), "patch": _patch(), "delete": _inherit()},
        drafts + "/{draft}/difference": {"get": operation(
            "readDraftDifference", "drafts", "What a draft moves",
            "Every line by which it differs from the revision that it is based on, over what the region inherits today.",
            "DraftDifference", parameters=[REGION, DRAFT], problems=READING)},
    }


def _list() -> Node:
    return operation(
        "listDrafts", "drafts", "Open drafts of a region", f"At most {MOST_DRAFTS}, the oldest first.", "Drafts",
        parameters=[REGION], problems=tuple(slug for slug in READING if slug != "unknown-draft"),
    )


def _read() -> Node:
    made = operation("readDraft", "drafts", "A draft", "Its state, and whether it is outdated.", "Draft",
                     parameters=[REGION, DRAFT], problems=READING)
    made["responses"]["200"]["headers"] |= TAGGED
    return made


def _open() -> Node:
    headers = {**own_headers(), **TAGGED, "Location": {"$ref": "#/components/headers/Location"}}
    week = {"note": "This week's log price", "lines": [{"section": "resources", "code": "log_dry_10_12", **PATCH}]}
    return {
        "operationId": "openDraft", "tags": ["drafts"], "summary": "Open a draft",
        "description": "It begins as a copy of the revision in force today, or of another one, without what is locked "
                       "above. First changes can come with it: then a change takes two calls, this one and publish.",
        "parameters": [REGION, IDEMPOTENCY_KEY],
        "requestBody": _body("DraftRequest", JSON, {"empty": {}, "one line": week}),
        "responses": {
            "201": {"description": "The draft.", "headers": headers, "content": {JSON: {"schema": {"$ref": REF + "Draft"}}}},
            **refused(*CHANGING, "too-many-drafts", "unknown-revision"),
        },
    }


def _drop() -> Node:
    return _change("deleteDraft", "Throw a draft away", "Its lines are gone; published revisions are not touched.", None, None)


def _lines() -> Node:
    made = operation("readDraftLines", "drafts", "Lines that the region holds itself in a draft",
                     "As JSON, or as a sheet for a spreadsheet, which PUT takes back.", "DraftLines",
                     parameters=[REGION, DRAFT, DECIMAL_MARK, IF_NONE_MATCH], problems=READING)
    made["responses"]["200"]["headers"] |= TAGGED
    made["responses"]["200"]["content"][CSV] = {"schema": {"type": "string", "maxLength": limits.BODY_BYTES}, "example": SHEET}
    made["responses"]["304"] = {"description": "The caller has the sheet already.", "headers": {**own_headers(), **TAGGED}}
    return made


def _replace() -> Node:
    body = {
        "required": True,
        "description": "A sheet with a first row of column names: UTF-8; commas, semicolons or tabs; in a sheet with "
                       f"semicolons a comma is a decimal comma. At most {limits.LINES} rows and {limits.BODY_BYTES} bytes.",
        "content": {CSV: {"schema": {"type": "string", "maxLength": limits.BODY_BYTES}, "example": SHEET}},
    }
    made = _change("replaceDraftLines", "Put a whole sheet in place of all own lines",
                   "All or nothing: every bad cell is named with its row, column, value and reason. A line that is not in "
                   "the sheet is inherited again.", body, "DraftDifference")
    made["parameters"] += [EMPTY_MEANT, DIGEST]
    return made


def _put() -> Node:
    whole = {"unit": "h", "low": "70", "likely": "82.50", "high": "95", "kind": "labour", "source": "payroll 2026",
             "what": "Lead restorer, sell rate"}
    return _change("putDraftLine", "Put a whole line", "The region holds the line itself from then on.",
                   _body("WholeLine", JSON, {"lead": whole}), "DraftLine", one=True)


def _patch() -> Node:
    body = _body("LinePatch", MERGE_PATCH, {"log price": PATCH})
    return _change("patchDraftLine", "Change a line",
                   "A merge patch (RFC 7396): what is left out stays, or is taken from the inherited line; null brings back "
                   "what is inherited.", body, "DraftLine", one=True)


def _inherit() -> Node:
    return _change("inheritDraftLine", "Inherit a line again",
                   "The region's own line is taken out. Refused where nothing above holds the line.", None, None, one=True)


def _body(shape: str, media: str, values: dict[str, object]) -> Node:
    return {
        "required": True, "description": "As the schema says; an unknown field is refused.",
        "content": {media: {
            "schema": {"$ref": REF + shape},
            "examples": {name: {"summary": name, "value": value} for name, value in values.items()},
        }},
    }


def _change(name: str, summary: str, description: str, body: Node | None, shape: str | None, *, one: bool = False) -> Node:
    """An operation that changes a draft: with an answer of a shape, or with none."""
    headers = {**own_headers(), **TAGGED}
    done = {"description": summary + ".", "headers": headers}
    problems = [slug for slug in CHANGING if body or slug not in ("body-too-large", "unsupported-media-type")]
    made: Node = {
        "operationId": name, "tags": ["drafts"], "summary": summary, "description": description,
        "parameters": [REGION, DRAFT, *([SECTION, CODE] if one else []), IF_MATCH],
        "responses": {
            **({"200": done | {"content": {JSON: {"schema": {"$ref": REF + shape}}}}} if shape else {"204": done}),
            **refused(*problems, *(["unknown-line"] if one else [])),
        },
    }
    return made | ({"requestBody": body} if body else {})
