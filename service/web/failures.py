"""From an exception to a problem: the one table of who answers what."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import cast

import msgspec
from litestar import Response
from litestar.exceptions import HTTPException

from service.application.access import GateAwayError
from service.application.drafts import OutdatedDraftError, TooManyDraftsError, UnknownBaseError, UnknownDraftError
from service.application.keys import (
    BeyondError,
    BeyondRegionsError,
    KeyShownError,
    KeyWishError,
    NoSecretError,
    NotRotatedError,
    UnknownKeyError,
)
from service.application.ports import (
    BooksUnavailableError,
    NoBookError,
    NotStoredError,
    OnceConflictError,
    OutcomeUnknownError,
    UnknownRegionError,
    UnknownRevisionError,
)
from service.application.stock import PieceMissingError, PieceThereError, YardChangedError
from service.engine.rates import MissingRateError
from service.web import limits
from service.web.access import unknown_region
from service.web.conditions import out_of_date
from service.web.decoding import pointer
from service.web.http import REQUEST_ID, Asked
from service.web.problems import BY_STATUS, KINDS, MEDIA_TYPE, Fault, ProblemError, Trouble, problem
from service.web.publishing.problems import PUBLISHING

LOG = logging.getLogger("service.web")
KEPT_HEADERS = ("allow", "retry-after")
"""Headers of the framework's own refusals that go on."""


def _region(e: UnknownRegionError) -> Trouble:
    there = f"There are {', '.join(e.known)}." if e.known else "There are none."
    return problem("unknown-region", f"No region {e.region!r}. {there}",
                   errors=[Fault(f"is no region. {there}", "#/region", "unknown_region")])


def _no_book(e: NoBookError) -> Trouble:
    return problem("no-book-in-force", f"On {e.day} no published book is in force for {', '.join(e.without)}.")


def _revision(e: UnknownRevisionError) -> Trouble:
    return problem("unknown-revision", f"Revision {e.revision!r}: {e.why}.",
                   errors=[Fault(f"{e.why}.", "#/rates", "unknown_revision")])


def _away(_: BooksUnavailableError) -> Trouble:
    return problem("books-unavailable", "The database does not answer, and no book of this region was read before.")


def _gate(e: GateAwayError) -> Trouble:
    return problem("gate-away", f"The key or token cannot be checked now: {e}.")


def _wish(e: KeyWishError) -> Trouble:
    faults = [Fault(detail, pointer(path), None) for path, detail in e.faults]
    what = "1 thing is" if len(faults) == 1 else f"{len(faults)} things are"
    return problem("key-refused", f"{what} wrong with the key.", errors=faults[: limits.ERRORS])


def _beyond(e: BeyondError) -> Trouble:
    return problem("not-allowed", f"Nobody gives a key more than they hold: {e}.")


def _beyond_regions(_: BeyondRegionsError) -> Trouble:
    return unknown_region()


def _no_key(_: UnknownKeyError) -> Trouble:
    return problem("unknown-key", "There is no such key, or it reaches regions that yours does not.")


def _not_rotated(e: NotRotatedError) -> Trouble:
    return problem("key-not-rotated", f"Not rotated: {e}.")


def _shown(e: KeyShownError) -> Trouble:
    detail = f"Key {e.id} was made under this Idempotency-Key and shown then."
    return problem("key-shown-once", detail, headers={"Location": f"/v1/keys/{e.id}"})


def _no_secret(_: NoSecretError) -> Trouble:
    return problem("no-key-secret", "This service has no secret for keys, so it can make none.")


def _not_stored(_: NotStoredError) -> Trouble:
    return problem("not-stored", "The database does not answer. Nothing was stored; send the change again.")


def _outcome(_: OutcomeUnknownError) -> Trouble:
    return problem("outcome-unknown", "The database went away while it stored the change. It is wholly there or wholly not.")


def _once(e: OnceConflictError) -> Trouble:
    if e.running:
        return problem("create-under-way", f"The create under the Idempotency-Key {e.key!r} is being worked on.")
    return problem("key-of-another-create", f"The Idempotency-Key {e.key!r} stands for another create.")


def _no_piece(e: PieceMissingError) -> Trouble:
    return problem("unknown-piece", f"No piece of this mark is in the yard of {e.region}.")


def _piece_there(e: PieceThereError) -> Trouble:
    return problem("piece-there", f"There is a piece {e.code!r} in the yard already.",
                   errors=[Fault("is the mark of another piece.", "#/code", "piece_there")])


def _yard_changed(e: YardChangedError) -> Trouble:
    return out_of_date(e.tag)


def _gap(e: MissingRateError) -> Trouble:
    LOG.error("the rate book has a gap: %s", e)
    return problem("incomplete-book", f"The book of {e.region} has no line {e.section}/{e.code} on {e.day}.")


def _draft(e: UnknownDraftError) -> Trouble:
    if e.published_as is not None:
        return problem("unknown-draft", f"Draft {e.draft} is no draft any more: it is revision {e.published_as} of {e.region}.")
    return problem("unknown-draft", f"{e.region} has no such open draft: it never had, or it was thrown away.")


def _draft_state(e: OutdatedDraftError) -> Trouble:
    return out_of_date(f'"{e.present}"')


def _base(e: UnknownBaseError) -> Trouble:
    newest = "The region has published none." if e.newest is None else f"The newest is {e.newest}."
    return problem("unknown-revision", f"The region has no published revision {e.number}. {newest}",
                   errors=[Fault(f"is no published revision. {newest}", "#/based_on", "unknown_revision")])


def _many(e: TooManyDraftsError) -> Trouble:
    return problem("too-many-drafts", str(e))


def _ours(e: ProblemError) -> Trouble:
    return e.trouble


def _framework(e: HTTPException) -> Trouble:
    kind = KINDS.get(BY_STATUS.get(e.status_code, ""))
    if kind is None:
        return problem("bad-request" if e.status_code < 500 else "internal-error", "The request was refused.")
    detail = kind.means
    if kind.slug == "body-too-large":
        detail = f"The body is longer than {limits.BODY_BYTES} bytes."
    headers = {k: v for k, v in (e.headers or {}).items() if k.lower() in KEPT_HEADERS}
    return problem(kind.slug, detail, headers=headers)


TABLE: dict[type[Exception], Callable[..., Trouble]] = {
    ProblemError: _ours,
    UnknownRegionError: _region,
    NoBookError: _no_book,
    UnknownRevisionError: _revision,
    BooksUnavailableError: _away,
    GateAwayError: _gate,
    NotStoredError: _not_stored,
    OutcomeUnknownError: _outcome,
    OnceConflictError: _once,
    KeyWishError: _wish,
    BeyondError: _beyond,
    BeyondRegionsError: _beyond_regions,
    UnknownKeyError: _no_key,
    NotRotatedError: _not_rotated,
    KeyShownError: _shown,
    NoSecretError: _no_secret,
    PieceMissingError: _no_piece,
    PieceThereError: _piece_there,
    YardChangedError: _yard_changed,
    UnknownDraftError: _draft,
    OutdatedDraftError: _draft_state,
    UnknownBaseError: _base,
    TooManyDraftsError: _many,
    **PUBLISHING,
    MissingRateError: _gap,
    HTTPException: _framework,
}


def handler(base: str) -> Callable[[Asked, Exception], Response[bytes]]:
    """The exception handler of an application whose public address is `base`."""

    def answer(request: Asked, fault: Exception) -> Response[bytes]:
        request_id = cast("dict[str, str]", request.scope)[REQUEST_ID]
        known = next((make for kind, make in TABLE.items() if isinstance(fault, kind)), None)
        if known is None:
            LOG.error("request %s failed", request_id, exc_info=fault)
            trouble = problem("internal-error", "The service failed; it was logged under the request_id.")
        else:
            trouble = known(fault)
        body = trouble.problem(base=base, path=request.scope["path"], request_id=request_id)
        return Response(
            msgspec.json.encode(body), status_code=trouble.kind.status, media_type=MEDIA_TYPE,
            headers=dict(trouble.headers),
        )

    return answer
