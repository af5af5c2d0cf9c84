"""Who may ask what, in the contract: made from what each handler declares, so that the two cannot differ."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from litestar.handlers import HTTPRouteHandler

from service.application.access import PUBLIC

Node = dict[str, Any]

SCHEMES: Node = {
    "key": {
        "type": "http", "scheme": "bearer", "bearerFormat": "trk_server_… or trk_form_…",
        "description": "A key: Authorization: Bearer <key>. A server's key is secret; a form's key may stand in a website, is "
                       "bound to it, and allows quotes only.",
    },
    "keyHeader": {
        "type": "apiKey", "in": "header", "name": "X-API-Key",
        "description": "The same key, for clients that cannot set Authorization.",
    },
    "person": {
        "type": "http", "scheme": "bearer", "bearerFormat": "JWT",
        "description": "A token of the operator's identity provider (OpenID Connect, RFC 9068), where one is set. Scopes come "
                       "from its scope, scp or scopes, regions from its regions.",
    },
}
"""Ways to say who one is. A service in a closed network may open scopes to all who can reach it; these work there too."""
MET_AT_THE_DOOR = ("401", "403", "429", "503")
"""How every address that is not public may refuse: not known, not allowed, too often, or not to be found out now."""
_PARAMETER = re.compile(r"\{(\w+):\w+\}")


def scopes_of(routes: Iterable[HTTPRouteHandler]) -> dict[tuple[str, str], str]:
    """The scope that each path and method needs, as the contract writes them."""
    return {
        (_PARAMETER.sub(r"{\1}", path), str(method).lower()): route.opt["scope"]
        for route in routes for path in route.paths for method in route.http_methods
    }


def guarded(paths: Node, scopes: Mapping[tuple[str, str], str]) -> Node:
    """The paths of the contract, each operation with who may ask it and how it refuses others.

    Raises:
        KeyError: the contract has an operation that no handler serves.
    """
    return {
        path: {
            method: _guarded(operation, scopes[path, method]) if "operationId" in operation else operation
            for method, operation in item.items()
        }
        for path, item in paths.items()
    }


def _guarded(operation: Node, scope: str) -> Node:
    if scope == PUBLIC:
        return {**operation, "security": []}
    responses = {**operation["responses"], **{
        status: {"$ref": f"#/components/responses/Problem{status}"} for status in MET_AT_THE_DOOR
    }}
    return {
        **operation,
        "description": f"{operation['description']}\n\nNeeds the scope `{scope}`.",
        "security": [{name: [scope]} for name in SCHEMES],
        "responses": dict(sorted(responses.items())),
    }
