"""At the door: who asks, whether they may, and which regions they reach. Before anything of the request is looked at.

Every handler declares `opt={"scope": ...}`. One that declares none answers nobody: a forgotten declaration must not
open a door.
"""

from __future__ import annotations

from typing import cast

from service.application.access import PUBLIC, Asker, Caller, Gate, NotKnownError
from service.web.http import ADDRESS, REQUEST_ID, Asked
from service.web.problems import ProblemError, Trouble, problem

CALLER = "service.caller"
"""Key of the caller in the ASGI scope."""
CHALLENGE = {"WWW-Authenticate": 'Bearer realm="rates"'}
"""What a caller is told who showed nothing (RFC 6750, 3)."""
REFUSED = {"WWW-Authenticate": f'{CHALLENGE["WWW-Authenticate"]}, error="invalid_token"'}
"""What a caller is told who showed something that is not valid."""


async def identify(request: Asked, gate: Gate) -> Caller:
    """Who asks.

    Raises:
        ProblemError: 401.
    """
    shown = _shown(request)
    try:
        return await gate.caller(shown)
    except NotKnownError as fault:
        detail = f"The key or token is not valid here: {fault}."
        raise ProblemError(problem("key-not-known", detail, headers=REFUSED)) from None


def authorize(request: Asked, caller: Caller) -> None:
    """Let a caller in who may have what they ask for, and say who it is from then on.

    Raises:
        ProblemError: 401, 403, or 404 for a region that they do not reach.
    """
    needed = request.route_handler.opt.get("scope", "")
    if needed != PUBLIC and not caller.may(needed):
        if caller.sort == "nobody":
            detail = "This address needs a key: send it as Authorization: Bearer <key>."
            raise ProblemError(problem("key-needed", detail, headers=CHALLENGE))
        raise ProblemError(problem("not-allowed", f"This needs the scope {needed or 'of nobody'}, which the key has not."))
    region = request.path_params.get("region")
    if isinstance(region, str):
        check_region(caller, region)


def check_region(caller: Caller, region: str) -> None:
    """Refuse a region that the caller does not reach, in the words for one that is not there.

    Raises:
        ProblemError: 404.
    """
    if not caller.reaches(region):
        raise ProblemError(unknown_region())


def unknown_region() -> Trouble:
    """404, alike for a region that is not there and for one that the caller does not reach."""
    detail = "There is no such region, or the key is not bound to it. GET /v1/regions lists those that are."
    return problem("unknown-region", detail)


def asker_of(request: Asked) -> Asker:
    """The caller at work, for the audit log."""
    scope = cast("dict[str, object]", request.scope)
    return Asker(cast("Caller", scope[CALLER]), str(scope.get(ADDRESS, "")), str(scope[REQUEST_ID]))


def _shown(request: Asked) -> str | None:
    """The key or token of the request: `Authorization: Bearer` or `X-API-Key`, once and not both.

    Raises:
        ProblemError: 401.
    """
    bearer = [v for n, v in request.scope["headers"] if n == b"authorization"]
    plain = [v for n, v in request.scope["headers"] if n == b"x-api-key"]
    if not bearer and not plain:
        return None
    if len(bearer) + len(plain) > 1:
        raise ProblemError(problem("key-not-known", "More than one key was sent; send one.", headers=CHALLENGE))
    if plain:
        return plain[0].decode("latin-1").strip()
    scheme, _, token = bearer[0].decode("latin-1").strip().partition(" ")
    if scheme.lower() != "bearer" or not token.strip():
        raise ProblemError(problem("key-not-known", "Authorization must read: Bearer <key>.", headers=CHALLENGE))
    return token.strip()
