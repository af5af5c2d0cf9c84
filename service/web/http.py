"""What every handler needs of HTTP: media types, parameters, conditional answers."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Callable, Mapping
from urllib.parse import parse_qsl

from litestar import Request, Response
from litestar.datastructures import State

from service.web.problems import Fault, ProblemError, problem

JSON = "application/json"
CSV = "text/csv"
RATES = "private, no-cache"
"""Cache-Control of rates: they may be kept, and are asked for anew each time."""
NO_STORE = {"Cache-Control": "no-store"}
"""Header of what is never kept: answers to changes, and drafts while they are worked on."""
MERGE_PATCH = "application/merge-patch+json"
"""Media type of a part of a thing that is laid over what is there (RFC 7396)."""
REQUEST_ID = "service.request_id"
"""Key of the request's id in the ASGI scope."""
ADDRESS = "service.address"
"""Key of the caller's network address in the ASGI scope."""

Asked = Request[object, object, State]
Check = Callable[[Mapping[str, str]], object]
"""Reads one query parameter from all of them; raises ProblemError where it is not in its form, or needed and left out."""

_WEIGHT = re.compile(r"q=(0(?:\.[0-9]{0,3})?|1(?:\.0{0,3})?)", re.ASCII)


async def check_request(request: Asked) -> None:
    """Refuse what no handler may see: forms that we do not write, parameters that are unknown, doubled or not in their form.

    Raises:
        ProblemError: 406 or 400.
    """
    opt = request.route_handler.opt
    if not media_asked(request):
        raise ProblemError(problem("not-acceptable", f"This address answers in {' or '.join(_written(request))} only."))
    _check_parameters(request, opt.get("parameters", {}))


def media_asked(request: Asked) -> str:
    """The media type, of those that the address writes, which the caller likes best; "" for none. The first of equals."""
    header = request.headers.get("accept", "")
    liked = {media: _weight(header, media) for media in _written(request)}
    best = max(liked, key=lambda media: liked[media])
    return best if liked[best] > 0.0 else ""


def _written(request: Asked) -> tuple[str, ...]:
    """The media types that the address writes, its own choice first."""
    media: str | tuple[str, ...] = request.route_handler.opt.get("media", JSON)
    return (media,) if isinstance(media, str) else media


def parameters(request: Asked) -> Mapping[str, str]:
    """The query parameters, each known and there once."""
    return dict(parse_qsl(request.scope["query_string"].decode("latin-1"), keep_blank_values=True))


def _check_parameters(request: Asked, known: Mapping[str, Check]) -> None:
    """Name every query parameter that cannot be used, all at once."""
    raw = request.scope["query_string"]
    names = [name for name, _ in parse_qsl(raw.decode("latin-1"), keep_blank_values=True)]
    asked = parameters(request)
    faults: list[Fault] = []
    for name in dict.fromkeys(names):
        shown = repr(name[:40])
        if name not in known:
            there = f"known: {', '.join(known)}" if known else "none is taken here"
            faults.append(Fault(f"{shown} is no parameter of this address ({there}).", None, "unknown_parameter"))
        elif names.count(name) > 1:
            faults.append(Fault(f"{shown} is given {names.count(name)} times; once is enough.", None, "repeated_parameter"))
    for name, check in known.items():
        if names.count(name) > 1:
            continue
        try:
            check(asked)
        except ProblemError as bad:
            faults += bad.trouble.errors
    if faults:
        raise ProblemError(problem("invalid-parameter", " ".join(f.detail for f in faults[:3]), errors=faults[:20]))


def _weight(header: str, media: str) -> float:
    """How much an Accept header likes a media type, 0 for not at all. The most telling range decides (RFC 9110, 12.5.1)."""
    if not header.strip():
        return 1.0
    kind = media.partition("/")[0]
    weighed: dict[str, float] = {}
    for one in header.split(","):
        name, *rest = (part.strip().lower() for part in one.split(";"))
        weights = [m[1] for part in rest if (m := _WEIGHT.fullmatch(part.replace(" ", "")))]
        weighed[name] = float(weights[0]) if weights else 1.0
    return next((weighed[n] for n in (media, f"{kind}/*", "*/*") if n in weighed), 0.0)


def check_json(request: Asked, kinds: tuple[str, ...] = (JSON,)) -> None:
    """Refuse a body that does not say that it is of one of these kinds (JSON), in UTF-8.

    Raises:
        ProblemError: 415.
    """
    given = request.headers.get("content-type", "")
    name, *rest = (part.strip().lower() for part in given.split(";"))
    charset = next((p.partition("=")[2].strip('" ') for p in rest if p.startswith("charset")), "utf-8")
    coding = request.headers.get("content-encoding", "identity").strip().lower()
    if name in kinds and charset in ("utf-8", "utf8", "") and coding in ("identity", ""):
        return
    said = f"Content-Type {given!r}" if given else "no Content-Type"
    if coding not in ("identity", ""):
        said += f" and Content-Encoding {coding!r}"
    raise ProblemError(problem(
        "unsupported-media-type", f"The body came with {said}; send {' or '.join(kinds)}.",
        headers={"Accept": ", ".join(kinds)},
    ))


def is_sheet(request: Asked) -> bool:
    """Whether the body says that it is a CSV sheet."""
    return request.headers.get("content-type", "").partition(";")[0].strip().lower() == CSV


def etag_of(body: bytes) -> str:
    """A strong entity tag of a body."""
    return f'"{hashlib.sha256(body).hexdigest()[:32]}"'


def freshness(*, degraded: bool, age_s: float) -> dict[str, str]:
    """Headers that say how fresh the knowledge is that these rates are the ones in force."""
    return {"Rates-Age": str(int(age_s)), "Rates-Degraded": "true" if degraded else "false"}


def conditional(
    request: Asked, body: bytes, *, etag: str, cache: str, media: str = JSON, headers: Mapping[str, str] | None = None
) -> Response[bytes]:
    """The body, or 304 where the caller has it already (weak comparison, RFC 9110, 13.1.2)."""
    given = {"ETag": etag, "Cache-Control": cache, "Vary": "Accept", **(headers or {})}
    known = {t.strip().removeprefix("W/") for t in request.headers.get("if-none-match", "").split(",")}
    if etag in known or known == {"*"}:
        return Response(b"", status_code=304, headers=given, media_type=media)
    return Response(body, headers=given, media_type=media)


def sheet(
    request: Asked, body: bytes, *, cache: str, etag: str = "", headers: Mapping[str, str] | None = None
) -> Response[bytes]:
    """A CSV sheet, or 304, with the digest of its bytes (RFC 9530), so that a cut-off download is seen."""
    answer = conditional(request, body, etag=etag or etag_of(body), cache=cache, media=CSV, headers=headers)
    if answer.status_code != 304:
        digest = base64.b64encode(hashlib.sha256(body).digest()).decode()
        answer.headers["Content-Digest"] = f"sha-256=:{digest}:"
    return answer
