"""An area of the API: its handlers and its part of the published contract, kept side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from litestar.handlers import HTTPRouteHandler
from msgspec import Struct


@dataclass(frozen=True, slots=True)
class Area:
    """What one area adds to the application.

    Attributes:
        tag, about: name of the area in the contract, and what it is for.
        routes: its handlers; each declares `opt={"scope": ...}`.
        paths: its paths in the form of OpenAPI 3.1.
        shapes: its structs that go over the wire, for the contract's schemas.
    """

    tag: str
    about: str
    routes: Sequence[HTTPRouteHandler]
    paths: dict[str, Any]
    shapes: Sequence[type[Struct]]
