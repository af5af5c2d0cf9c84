"""All repair methods. A new family of methods is one module in `methods` and one name here."""

from __future__ import annotations

from types import ModuleType

from service.engine.method import Method
from service.engine.methods import (
    beams,
    boards,
    corrections,
    decks,
    facing,
    fill,
    frames,
    interim,
    leave,
    logs,
    notch,
    posts,
    seal,
    sill,
    surface,
    tails,
    truss,
)

MODULES: tuple[ModuleType, ...] = (
    surface, fill, facing, seal, boards, tails, notch, logs, sill, frames, posts, leave, beams, truss, decks,
    interim, corrections,
)


def all_methods() -> dict[str, Method]:
    """Methods by code, in the order of the handbook of methods.

    Raises:
        ValueError: where two modules claim one code.
    """
    found: dict[str, Method] = {}
    for module in MODULES:
        for method in module.METHODS:
            if method.code in found:
                raise ValueError(f"{method.code} stands in two modules")
            found[method.code] = method
    return found
