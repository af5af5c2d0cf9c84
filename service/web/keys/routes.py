"""Keys over HTTP: made, listed, rotated, taken back. The text of a key is in the answer that made it and nowhere else."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

import msgspec
from litestar import Response, delete, get, post
from litestar.handlers import HTTPRouteHandler
from litestar.params import FromPath
from msgspec import UNSET, UnsetType

from service.application.keys import KeyDesk, KeyRecord, KeyWish, KeyWishError, Made, Path, UnknownKeyError, faults_of
from service.web.access import asker_of
from service.web.area import Area
from service.web.conditions import once_of
from service.web.decoding import read_body
from service.web.http import JSON, NO_STORE, RATES, Asked, check_json, conditional, etag_of, parameters
from service.web.keys.shapes import EVERYWHERE, Key, KeyRequest, Keys, NewKey, ReplacedKey, Rotation
from service.web.openapi import IDEMPOTENCY_KEY, operation, own_headers, refused
from service.web.paging import CURSOR, LIMIT, next_page, page_of, paged
from service.web.schemas import REF, Node

KEY_ID = "[a-z0-9]{12}"


def keys_area(desk: KeyDesk) -> Area:
    """The addresses of keys."""
    return Area(
        tag="keys", about="Keys of machines. An administrator of a region makes keys for it, with no more than they hold.",
        routes=[*_reading(desk), *_making(desk), _taking_back(desk)], paths=_paths(),
        shapes=[KeyRequest, Rotation, Key, NewKey, Keys],
    )


def _reading(desk: KeyDesk) -> list[HTTPRouteHandler]:
    @get("/v1/keys", opt={"scope": "admin", "parameters": paged(KEY_ID)})
    async def list_keys(request: Asked) -> Response[bytes]:
        page = page_of(parameters(request), KEY_ID)
        found = await desk.several(asker_of(request).caller, page.after, page.limit + 1)
        shown = found[: page.limit]
        cursor = shown[-1].id if len(found) > page.limit else None
        body = msgspec.json.encode(Keys([Key(**_fields(desk, record)) for record in shown], cursor))
        return conditional(request, body, etag=etag_of(body), cache=RATES, headers=next_page(request, cursor))

    @get("/v1/keys/{key:str}", opt={"scope": "admin"})
    async def read_key(request: Asked, key: FromPath[str]) -> Response[bytes]:
        record = await desk.one(asker_of(request).caller, _id(key))
        body = msgspec.json.encode(Key(**_fields(desk, record)))
        return conditional(request, body, etag=etag_of(body), cache=RATES)

    return [list_keys, read_key]


def _making(desk: KeyDesk) -> list[HTTPRouteHandler]:
    @post("/v1/keys", opt={"scope": "admin"})
    async def make_key(request: Asked) -> Response[bytes]:
        check_json(request)
        body = await request.body()
        made = await desk.make(asker_of(request), _wish(read_body(body, KeyRequest), desk.now()), once_of(request, body))
        return _shown_once(desk, made)

    @post("/v1/keys/{key:str}/rotate", opt={"scope": "admin"})
    async def rotate_key(request: Asked, key: FromPath[str]) -> Response[bytes]:
        body = await request.body()
        asked = Rotation()
        if body:
            check_json(request)
            asked = read_body(body, Rotation)
        old_ends_at, expires_at = _instants(old_ends_at=asked.old_ends_at, expires_at=asked.expires_at)
        made = await desk.rotate(asker_of(request), _id(key), old_ends_at, expires_at, once_of(request, body))
        return _shown_once(desk, made)

    return [make_key, rotate_key]


def _taking_back(desk: KeyDesk) -> HTTPRouteHandler:
    @delete("/v1/keys/{key:str}", status_code=204, opt={"scope": "admin"})
    async def revoke_key(request: Asked, key: FromPath[str]) -> None:
        await desk.revoke(asker_of(request), _id(key))

    return revoke_key


def _id(key: str) -> str:
    if not re.fullmatch(KEY_ID, key):
        raise UnknownKeyError(key)
    return key


def _wish(sent: KeyRequest, now: datetime) -> KeyWish:
    faults: list[tuple[Path, str]] = []
    regions = None if set(sent.regions) == {EVERYWHERE} else tuple(code for code in sent.regions if code != EVERYWHERE)
    if regions is not None and EVERYWHERE in sent.regions:
        faults.append((("regions",), 'must be codes, or "*" alone.'))
    expires_at = _instant("expires_at", sent.expires_at, faults)
    wish = KeyWish(
        sort="server" if sent.sort is UNSET else sent.sort, name=sent.name, scopes=tuple(sent.scopes), regions=regions,
        origins=() if sent.origins is UNSET else tuple(sent.origins),
        per_minute=0 if sent.per_minute is UNSET else sent.per_minute, expires_at=expires_at,
    )
    if faults:
        # Whoever mends these must not meet the others only then.
        raise KeyWishError(*faults, *faults_of(wish, now))
    return wish


def _instants(**texts: str | UnsetType) -> list[datetime | None]:
    """The times that were sent, None for one that was left out. Raises KeyWishError with every one that is none."""
    faults: list[tuple[Path, str]] = []
    found = [_instant(name, text, faults) for name, text in texts.items()]
    if faults:
        raise KeyWishError(*faults)
    return found


def _instant(name: str, text: str | UnsetType, faults: list[tuple[Path, str]]) -> datetime | None:
    if text is UNSET:
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        faults.append(((name,), f"no calendar has {text}."))
        return None


def _fields(desk: KeyDesk, record: KeyRecord) -> dict[str, Any]:
    wish = record.wish
    return {
        "id": record.id, "owner": record.owner, "sort": wish.sort, "name": wish.name, "scopes": list(wish.scopes),
        "regions": [EVERYWHERE] if wish.regions is None else list(wish.regions), "origins": list(wish.origins),
        "per_minute": wish.per_minute, "valid": record.lives(desk.now()), "made_at": record.made_at, "made_by": record.made_by,
        "expires_at": wish.expires_at, "revoked_at": record.revoked_at, "last_used_at": record.last_used_at,
    }


def _shown_once(desk: KeyDesk, made: Made) -> Response[bytes]:
    replaces = None
    if made.old is not None:
        ends = made.old.wish.expires_at
        replaces = None if ends is None else ReplacedKey(made.old.id, ends)
    body = msgspec.json.encode(NewKey(**_fields(desk, made.record), key=made.text, replaces=replaces))
    headers = {"Location": f"/v1/keys/{made.record.id}", **NO_STORE}
    return Response(body, status_code=201, media_type=JSON, headers=headers)


# ---- the contract --------------------------------------------------------------------------------------------------------


def _paths() -> Node:
    key = {
        "name": "key", "in": "path", "required": True, "description": "Id of the key.",
        "schema": {"type": "string", "pattern": f"^{KEY_ID}$", "maxLength": 12}, "example": "k3v9c0a1b2d4",
    }
    cursor = {**CURSOR, "schema": {"type": "string", "pattern": f"^{KEY_ID}$", "maxLength": 12}}
    listing = operation(
        "listKeys", "keys", "Keys", "Those that reach no region but the caller's own. Never a key's text.", "Keys", kept=True,
        parameters=[LIMIT, cursor], problems=("unknown-key", "books-unavailable"),
    )
    listing["responses"]["200"]["headers"] |= {"Link": {"$ref": "#/components/headers/Link"}}
    rotation = _creating(
        "rotateKey", "Rotate a key",
        "Makes a key that takes its place, with the same name, scopes, regions and websites. Both are valid until the old "
        "one ends; more than two at a time are not.", "Rotation", "unknown-key",
    )
    return {
        "/v1/keys": {"get": listing, "post": _creating(
            "makeKey", "Make a key", "For regions that the caller reaches, with scopes that the caller holds.", "KeyRequest",
            "unknown-region",
        )},
        "/v1/keys/{key}": {
            "get": operation(
                "readKey", "keys", "A key", "Without its text.", "Key", kept=True, parameters=[key],
                problems=("unknown-key", "books-unavailable"),
            ),
            "delete": {
                "operationId": "revokeKey", "tags": ["keys"], "summary": "Take a key back",
                "description": "At once, in every process. One that was taken back stays so.", "parameters": [key],
                "responses": {
                    "204": {"description": "It is not valid any more.", "headers": own_headers()},
                    **refused("bad-request", "not-acceptable", "unknown-key", "internal-error", "not-stored"),
                },
            },
        },
        "/v1/keys/{key}/rotate": {"post": {**rotation, "parameters": [key, *rotation["parameters"]]}},
    }


def _creating(name: str, summary: str, description: str, body: str, missing: str) -> Node:
    whole = body == "KeyRequest"
    return {
        "operationId": name, "tags": ["keys"], "summary": summary,
        "description": f"{description} The answer shows the key, this once: sent again under the same Idempotency-Key it is "
                       "answered 409 with the address of the key that was made.",
        "parameters": [IDEMPOTENCY_KEY],
        "requestBody": {
            "required": whole, "description": "What the key is for." if whole else "When which key ends.",
            "content": {JSON: {"schema": {"$ref": REF + body}}},
        },
        "responses": {
            "201": {
                "description": "The key, with its text.",
                "headers": {**own_headers(), "Location": {"$ref": "#/components/headers/Location"}},
                "content": {JSON: {"schema": {"$ref": REF + "NewKey"}}},
            },
            **refused("bad-request", "not-acceptable", missing, "body-too-large", "unsupported-media-type", "key-shown-once",
                      "key-refused", "internal-error", "not-stored"),
        },
    }
