"""Problems (RFC 9457): one table of kinds, one shape, one exception. Every status code above 399 stands here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Annotated

from msgspec import Meta, Struct

MEDIA_TYPE = "application/problem+json"


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of problem, with what its page says: what it means and what to do."""

    slug: str
    status: int
    title: str
    means: str
    remedy: str


KINDS: Mapping[str, Kind] = {
    k.slug: k
    for k in (
        Kind("malformed-json", 400, "The body is not JSON",
             "The body is empty, not UTF-8, not JSON, or nested deeper than any request is.",
             "Send one JSON object. Python's json.dumps and every browser's JSON.stringify write it rightly."),
        Kind("invalid-request", 400, "Fields are not in the form of the contract",
             "A field is unknown, missing, of the wrong type, too long, or a quantity without its unit.",
             "errors[] lists every such field with a pointer into the body, what is wrong and what would be right."),
        Kind("invalid-parameter", 400, "A query parameter cannot be used",
             "A query parameter is unknown, given twice, or not in its form.",
             "errors[] names each. Leave a parameter out to get its default."),
        Kind("key-needed", 401, "A key is needed", "The address is not open to everybody, and no key or token was shown.",
             "Send Authorization: Bearer <key>, or X-API-Key: <key>. Whoever runs the service makes keys."),
        Kind("key-not-known", 401, "The key or token is not valid",
             "It is mistyped, was revoked, has expired, or was never made here.",
             "Compare it with the one that was shown when it was made; ask whoever runs the service for a new one."),
        Kind("not-allowed", 403, "The key does not allow this", "The key or token is valid, but lacks the scope for this.",
             "Use a key with the scope that the detail names."),
        Kind("origin-not-allowed", 403, "The key is for another website",
             "A form's public key was used from a website that is not on its list, or not from a browser.",
             "Use the key on the websites that it was made for; a server uses a server key."),
        Kind("quota-exceeded", 429, "Too many requests",
             "A quota of the key or of the address is used up (the type that the draft registers for this is "
             "https://iana.org/assignments/http-problem-types#quota-exceeded).",
             "Wait the seconds of Retry-After. RateLimit says with every answer what is left."),
        Kind("unknown-region", 404, "No such region", "No region has this code, or the key is not bound to it.",
             "GET /v1/regions lists those that the key reaches."),
        Kind("unknown-revision", 404, "No such revision of the rates",
             "The pinned revision is not one that this region ever had.",
             "Use the text of `rates` of an earlier answer as it was, or leave it out for the one in force."),
        Kind("unknown-line", 404, "No such line", "The book has no line of this section and code.",
             "GET /v1/regions/{region}/lines lists those that it has."),
        Kind("no-book-in-force", 404, "No rates in force on that day",
             "The region is known, but no published book of it or of its parents was in force on that day.",
             "Ask for a later day."),
        Kind("unknown-key", 404, "No such key", "No key has this id, or it reaches regions that yours does not.",
             "GET /v1/keys lists those that your key reaches."),
        Kind("unknown-piece", 404, "No such piece of wood", "No piece of this mark is in the region's own yard today.",
             "GET /v1/regions/{region}/stock lists those that are; `from` says whose yard each is in."),
        Kind("unknown-draft", 404, "No such draft",
             "The region has no open draft of this id: it never had, or it was published or thrown away.",
             "GET /v1/regions/{region}/drafts lists those that are open."),
        Kind("not-found", 404, "Nothing is here", "No resource has this address.", "/openapi.json lists all addresses."),
        Kind("method-not-allowed", 405, "The method is not allowed here",
             "The address is right, the method is not.", "The Allow header lists the methods."),
        Kind("not-acceptable", 406, "No answer in that form",
             "The Accept header asks for a form in which this address does not answer.",
             "Accept application/json, or leave the header out."),
        Kind("body-too-large", 413, "The body is too large", "The body is longer than the published limit.",
             "Send fewer defects at a time. GET /v1/catalogue publishes all limits."),
        Kind("unsupported-media-type", 415, "The body is of the wrong kind",
             "The body has no Content-Type, another one than application/json, another character set than UTF-8, "
             "or a Content-Encoding.",
             "Send Content-Type: application/json and the bytes as they are."),
        Kind("invalid-header", 400, "A header cannot be used", "A header is not in its form, or too long.",
             "The detail names the header and its form."),
        Kind("out-of-date", 412, "It has changed meanwhile",
             "The If-Match header names another state than the one that is there: somebody was faster.",
             "Read it again (this answer's ETag is the present one), look at what changed, and send the change anew."),
        Kind("state-needed", 428, "Say which state you are changing",
             "A change must name the state that it is made to, so that nobody overwrites what they have not seen.",
             "Send If-Match with the ETag that reading the resource gave you."),
        Kind("create-under-way", 409, "This create is being worked on",
             "The same Idempotency-Key came a second time before the first request was answered.",
             "Wait a moment and send it again: the answer will be the first one's."),
        Kind("key-of-another-create", 422, "The Idempotency-Key stands for another create",
             "A request with another body or address was sent under this Idempotency-Key within the last 24 hours.",
             "Use a new key for a new create."),
        Kind("line-locked", 409, "A line is locked above", "A region above has locked a line: no book below may override it.",
             "errors[] names each such line and who locked it. Leave it out, so that it is inherited, or talk to them."),
        Kind("too-many-drafts", 409, "Too many open drafts", "The region has as many open drafts as it may have.",
             "Publish or delete one. GET /v1/regions/{region}/drafts lists them, the oldest first."),
        Kind("invalid-lines", 422, "The lines make no sense",
             "The form is right, but a line cannot be: low above likely, a code that nobody knows, another unit than above it.",
             "errors[] lists every fault with its place and what would be right. Nothing was changed."),
        Kind("invalid-sheet", 422, "The sheet cannot be taken over",
             "A cell, a row or the whole sheet is not in its form or makes no sense. Nothing of it was taken over.",
             "errors[] lists every such place with its row, its column, what stands there, why it cannot be and what would be "
             "right. Rows are numbered as a spreadsheet does, the names of the columns being row 1."),
        Kind("key-shown-once", 409, "The key was made, and shown, before",
             "This create was sent before under the same Idempotency-Key. The key that it made was shown then and is kept "
             "nowhere.",
             "Use the key of the first answer. If it is lost, revoke the key that Location names and make another."),
        Kind("key-not-rotated", 409, "The key cannot be rotated now",
             "The key is not valid any more, or has been rotated already: at most two are valid at a time.",
             "The detail says which keys there are. Revoke the one that is not needed, or make a new key."),
        Kind("no-key-secret", 409, "The service knows no keys", "It has no secret under which keys could be stored.",
             "Whoever runs the service sets SERVICE_KEY_SECRET."),
        Kind("key-refused", 422, "A key cannot be made so", "The form is right, but such a key makes no sense.",
             "errors[] lists every fault with its place and what would be right."),
        Kind("draft-outdated", 409, "Others have published since",
             "The draft is based on a revision that is neither the newest nor the one that it would take the place of.",
             "errors[] lists what moved since, by whom and why, and what the draft changes too (code moved_here_too). "
             "POST .../rebase moves the draft onto the newest revision; look at its difference and publish then."),
        Kind("rebase-conflicts", 409, "Lines were changed on both sides",
             "The draft and a newer revision changed the same lines in different ways. The draft is as it was.",
             "Send the request again with each of these lines in keep (the draft's value stands) or take (the newer one's)."),
        Kind("publish-refused", 409, "The lines may not be published",
             "Lines would leave a gap, override what is locked above, or are out of order. Nothing was published.",
             "errors[] lists every such line, and what would have to be confirmed besides. Change the draft."),
        Kind("confirmation-needed", 409, "Please confirm",
             "Something may be meant, and is more often a slip: a jump by a factor of ten, a price of zero, another unit, "
             "or a scheduled revision that will not have the change. Nothing was published.",
             "errors[] lists each with a token. Send the request again with the tokens of what is meant in confirmed. A token "
             "says yes to this one value; a later change is asked about again."),
        Kind("nothing-changes", 409, "Nothing would change",
             "What is to be published is what is in force on that day already.",
             "Change the draft, choose another day, or leave it."),
        Kind("backdated", 409, "The first day lies in the past",
             "Quotes have been given at the rates of that day. Only the head office may publish for it, with a reason.",
             "Leave effective out for today, or name a later day."),
        Kind("piece-there", 409, "There is a piece of this mark", "A piece of this mark is in the yard already.",
             "Give the new piece another mark, or change the one that is there with PATCH."),
        Kind("reported-before", 409, "These hours were reported before",
             "The same job, method and member was reported already, or the report that is to be corrected is not there.",
             "errors[] says which report stands. To put it right send another with `corrects` and its id."),
        Kind("implausible", 422, "A value cannot be", "The form is right, but a value cannot be, or is so unlikely that it must "
             "be a slip. Nothing was stored.",
             "errors[] lists every such value with its place, why it cannot be and what would be right."),
        Kind("nothing-priced", 422, "No defect can be priced",
             "The form is right, but no defect of the request makes sense: each has a value that cannot be.",
             "errors[] lists the values with the likely slip. As soon as one defect makes sense it is priced, and the "
             "others are reported beside it."),
        Kind("bad-request", 400, "The request cannot be understood", "The request is not well-formed HTTP.",
             "Send it through an ordinary client."),
        Kind("internal-error", 500, "Something is wrong on our side",
             "The service failed. It was logged under the request's id.",
             "Try again; tell the operator the request_id if it happens again."),
        Kind("incomplete-book", 503, "The rates of this region have a gap",
             "The region's book lacks a line that the work needs. There is no silent zero.",
             "The operator adds the line; another revision or another region may have it."),
        Kind("books-unavailable", 503, "No rates are at hand",
             "The database does not answer, and no book of this region was read before.",
             "Try again after the seconds of Retry-After."),
        Kind("gate-away", 503, "Whether the key is valid cannot be found out",
             "The database, or the identity provider that signs tokens, does not answer.",
             "Try again after the seconds of Retry-After."),
        Kind("not-stored", 503, "The change was not stored", "The database does not answer. Nothing of the change was kept.",
             "Send it again after the seconds of Retry-After."),
        Kind("outcome-unknown", 503, "Whether the change was stored is not known",
             "The database went away while it was storing the change: it is wholly there or wholly not.",
             "Send it again with the same Idempotency-Key, or read the resource: both tell what happened."),
        Kind("not-ready", 503, "Not ready", "The service cannot answer quotes yet.",
             "Try again after the seconds of Retry-After."),
    )
}
"""All kinds of problem, by the last part of their address."""

BY_STATUS: Mapping[int, str] = {
    400: "bad-request", 404: "not-found", 405: "method-not-allowed", 413: "body-too-large", 415: "unsupported-media-type",
}
"""Which kind stands for a status that the framework gave."""

RETRY_AFTER_S = 5
"""What Retry-After says where a later try may help [s]."""


class Fault(Struct, frozen=True):
    """One thing that is wrong. In a sheet it has a row, and a column and a value where it is one cell's."""

    detail: Annotated[str, Meta(description="What is wrong and what would be right, for people.", examples=["has no unit."])]
    pointer: Annotated[
        str | None,
        Meta(description="JSON pointer into the body (RFC 6901, as a URI fragment); null for a query parameter and a cell.",
             examples=["#/defects/0/depth"]),
    ]
    code: Annotated[str | None, Meta(description="Stable code, where there is one.", examples=["depth_over_section"])]
    row: Annotated[
        int | None, Meta(description="Row of a sheet, the first is 1; 0 for all of it; null where there is none.", examples=[7])
    ] = None
    column: Annotated[str | None, Meta(description="Column of a sheet; null for a whole row.", examples=["likely"])] = None
    value: Annotated[str | None, Meta(description="What stands in a cell, shortened; null for none.", examples=["12,50"])] = None
    token: Annotated[
        str | None,
        Meta(description="Send it in `confirmed` to say that this is meant; null where that would not help.",
             examples=["resources/lead=950/1280/1750 h"]),
    ] = None


class Problem(Struct, frozen=True):
    """What went wrong (RFC 9457). Programs switch on `type`; the texts are for people."""

    type: Annotated[
        str, Meta(description="Address of a page about this kind of problem.", examples=["/problems/invalid-request"])
    ]
    title: Annotated[str, Meta(description="The kind of problem in words.")]
    status: Annotated[int, Meta(description="The status code.", examples=[400])]
    detail: Annotated[str, Meta(description="This problem in words.")]
    instance: Annotated[str, Meta(description="Path that was asked.", examples=["/v1/quotes"])]
    request_id: Annotated[str, Meta(description="Id of the request, as in the X-Request-Id header.")]
    errors: Annotated[list[Fault], Meta(description="Every fault, with its place. Empty where there is no more to say.")]


@dataclass(frozen=True, slots=True)
class Trouble:
    """A problem before it has an address and a request id."""

    kind: Kind
    detail: str
    errors: Sequence[Fault] = ()
    headers: Mapping[str, str] = field(default_factory=dict)

    def problem(self, *, base: str, path: str, request_id: str) -> Problem:
        """The problem as it is sent."""
        return Problem(
            type=f"{base}/problems/{self.kind.slug}", title=self.kind.title, status=self.kind.status, detail=self.detail,
            instance=path, request_id=request_id, errors=list(self.errors),
        )


class ProblemError(Exception):
    """Raised by the web layer where a request ends in a problem."""

    def __init__(self, trouble: Trouble) -> None:
        """Keep the trouble."""
        super().__init__(f"{trouble.kind.slug}: {trouble.detail}")
        self.trouble = trouble


def problem(
    slug: str, detail: str, *, errors: Sequence[Fault] = (), headers: Mapping[str, str] | None = None
) -> Trouble:
    """A problem of a kind, in words."""
    kind = KINDS[slug]
    given = dict(headers or {})
    if kind.status == 503:
        given.setdefault("Retry-After", str(RETRY_AFTER_S))
    return Trouble(kind, detail, errors, given)
