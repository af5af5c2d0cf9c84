"""Conditions of a change: the state that it is made to (If-Match), and the name that makes a create happen once."""

from __future__ import annotations

import base64
import hashlib
import re

from service.application.access import Once
from service.web.http import Asked
from service.web.problems import ProblemError, Trouble, problem

KEY_FORM = re.compile(r"[A-Za-z0-9._:~-]{1,100}", re.ASCII)
DIGEST_FORM = re.compile(r"(?:^|,)\s*sha-256=:([A-Za-z0-9+/=]*):", re.ASCII)
TAG_FORM = re.compile(r"\"[\x21\x23-\x7e]{0,100}\"", re.ASCII)


def state_named(request: Asked) -> str:
    """The entity tag of If-Match: the state that the caller has seen. `*` and lists are not taken: one state is changed.

    Raises:
        ProblemError: 428 without one; 400 for one that is not in its form; 412 for a weak one (RFC 9110, 13.1.1).
    """
    given = request.headers.get("if-match", "").strip()
    if not given:
        raise ProblemError(problem("state-needed", "Send If-Match with the ETag of what you read."))
    if given.startswith("W/"):
        raise ProblemError(problem("out-of-date", "A weak entity tag never matches in If-Match."))
    if not TAG_FORM.fullmatch(given):
        raise ProblemError(problem("invalid-header", 'If-Match must be one entity tag in quotes, like "d12-3".'))
    return given


def mark_named(request: Asked) -> str:
    """The state of a draft that If-Match names, as drafts call it. Raises ProblemError: see `state_named`."""
    return state_named(request)[1:-1]


def check_state(named: str, present: str) -> None:
    """Refuse a change to a state that is no longer there.

    Raises:
        ProblemError: 412, with the present entity tag.
    """
    if named != present:
        raise ProblemError(out_of_date(present))


def out_of_date(present: str) -> Trouble:
    """412, with the present entity tag."""
    return problem("out-of-date", f"It is now {present}.", headers={"ETag": present})


def check_digest(request: Asked, body: bytes) -> None:
    """Refuse a body of which something was lost on the way: where the caller sent its digest, it must be this one's.

    Raises:
        ProblemError: 400 where the SHA-256 of Content-Digest (RFC 9530) is another one's. Other digests are not looked at.
    """
    given = DIGEST_FORM.search(request.headers.get("content-digest", ""))
    if given and given[1] != base64.b64encode(hashlib.sha256(body).digest()).decode():
        raise ProblemError(problem("invalid-header", "The body is not the one that Content-Digest was taken of; send it again."))


def once_of(request: Asked, body: bytes) -> Once | None:
    """The create that Idempotency-Key names, quoted or not; None without the header.

    Raises:
        ProblemError: 400 for a key that is not in its form.
    """
    given = request.headers.get("idempotency-key")
    if given is None:
        return None
    key = given.strip()
    key = key[1:-1] if len(key) >= 2 and key[0] == key[-1] == '"' else key
    if not KEY_FORM.fullmatch(key):
        detail = "Idempotency-Key must be 1 to 100 letters, digits or . _ : ~ -, for instance a UUID."
        raise ProblemError(problem("invalid-header", detail))
    said = f"{request.method} {request.scope['path']} {request.headers.get('if-match', '')}\n".encode()
    asked = request.scope["query_string"] + b"\n" if request.scope["query_string"] else b""
    return Once(key, hashlib.sha256(said + asked + body).digest())
