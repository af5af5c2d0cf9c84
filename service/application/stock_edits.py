"""Edits of a yard: each makes the next count from the present one, or says what keeps it from being made."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from service.application.nonsense import Nonsense, NonsenseError
from service.application.stock import (
    Edit,
    Edited,
    Known,
    Piece,
    PieceThereError,
    Yard,
    YardChangedError,
    count_tag,
    plain,
    told,
)
from service.application.stock_sense import nonsense

ALIKE_IN = Decimal("0.0001")
"""Sizes that differ by less are the same, written in other units [in]."""


def whole_count(sent: Sequence[Piece], seen: str, known: Known, today: date, why: str) -> Edit:
    """An edit that puts a whole count in place of the one that was seen (its tag, or what its tag begins with)."""

    def edit(yard: Yard) -> Edited:
        check_count(seen, yard)
        before = {piece.code: piece for piece in yard.pieces}
        pieces = [_kept(piece, before.get(piece.code)) for piece in sent]
        wrong = [
            f for k, p in enumerate(pieces) for f in nonsense(p, known, today, before=before.get(p.code), index=k)
        ]
        wrong += _twice(pieces)
        if wrong:
            raise NonsenseError(sorted(wrong, key=lambda f: f.index))
        ordered = tuple(sorted(pieces, key=lambda p: p.code))
        return Edited(ordered, "stock.count", "", why or "whole count", {"pieces": len(ordered)})

    return edit


def come_in(piece: Piece, known: Known, today: date) -> Edit:
    """An edit that adds a piece which came in."""

    def edit(yard: Yard) -> Edited:
        if any(p.code == piece.code for p in yard.pieces):
            raise PieceThereError(piece.code)
        _must_make_sense(piece, known, today)
        return Edited(_with(yard, piece), "stock.add", piece.code, f"{piece.code} came in", told(piece))

    return edit


def alter(code: str, seen: str, changes: Mapping[str, Any], known: Known, today: date) -> Edit:
    """An edit that changes fields of one piece: holds it, lets it go, takes a new reading, moves it, cuts it."""

    def edit(yard: Yard) -> Edited:
        old = yard.piece(code)
        if seen != old.tag:
            check_count(seen, yard, present=old.tag)
        new = _kept(replace(old, **_whole(changes, today)), old)
        _must_make_sense(new, known, today, before=old)
        names = [name for name in Piece.__slots__ if getattr(new, name) != getattr(old, name)]
        details = {"from": {n: told(old)[n] for n in names}, "to": {n: told(new)[n] for n in names}}
        return Edited(_with(yard, new), "stock.alter", code, _altered_words(new, names), details)

    return edit


def use_up(code: str, seen: str, job: str) -> Edit:
    """An edit that takes a piece out because it was used, and for which job."""

    def edit(yard: Yard) -> Edited:
        old = yard.piece(code)
        if seen != old.tag:
            check_count(seen, yard, present=old.tag)
        left = tuple(p for p in yard.pieces if p.code != code)
        why = f"{code} used for {job}" if job else f"{code} taken out"
        return Edited(left, "stock.use", code, why, {"job": job, **told(old)})

    return edit


def check_count(seen: str, yard: Yard, present: str = "") -> None:
    """Hold that the count that was seen is the present one.

    A tag of a count is its number and, after a dash, what tells apart the forms in which it was read; the number decides.

    Raises:
        YardChangedError: with the tag of the present state.
    """
    found = re.fullmatch(r'"y([0-9]{1,9})(?:-[0-9a-f]+)?"', seen)
    if found is None or int(found[1]) != yard.number:
        raise YardChangedError(present or count_tag(yard.number))


def _whole(changes: Mapping[str, Any], today: date) -> dict[str, Any]:
    """Changes with what follows from them: a new hold has no day of the old one, a new reading no depth of the old one."""
    follows: dict[str, Any] = {}
    if "held_for" in changes:
        follows["held_until"] = None
    if "moisture_pct" in changes:
        follows |= {"moisture_depth_in": None, "read_on": today}
    return {**follows, **changes}


def _kept(new: Piece, old: Piece | None) -> Piece:
    """The new piece, with sizes as they were typed before where they are only written in other units."""
    if old is None:
        return new
    kept: dict[str, Any] = {}
    for name, inches in (("section_in", 1), ("second_in", 1), ("moisture_depth_in", 1), ("length_ft", 12)):
        one, other = getattr(old, name), getattr(new, name)
        if one is not None and other is not None and abs(one - other) * inches < ALIKE_IN:
            kept[name] = one
    return replace(new, **kept)


def _twice(pieces: Sequence[Piece]) -> Iterator[Nonsense]:
    first: dict[str, int] = {}
    for k, piece in enumerate(pieces):
        if first.setdefault(piece.code, k) != k:
            yield Nonsense(k, "code", f"{piece.code!r} stands twice, first as piece {first[piece.code] + 1}. Keep one.")


def _must_make_sense(piece: Piece, known: Known, today: date, before: Piece | None = None) -> None:
    wrong = list(nonsense(piece, known, today, before=before))
    if wrong:
        raise NonsenseError(wrong)


def _with(yard: Yard, piece: Piece) -> tuple[Piece, ...]:
    others = (p for p in yard.pieces if p.code != piece.code)
    return tuple(sorted((*others, piece), key=lambda p: p.code))


def _altered_words(piece: Piece, names: Sequence[str]) -> str:
    """What was done to a piece, in a few words."""
    said = []
    if "held_for" in names or "held_until" in names:
        until = f" until {piece.held_until}" if piece.held_until else ""
        said.append(f"held for {piece.held_for}{until}" if piece.held_for else "let go")
    if {"moisture_pct", "moisture_depth_in", "read_on"} & set(names):
        said.append(f"read at {plain(piece.moisture_pct)} %")
    if "where" in names:
        said.append(f"moved to {piece.where}")
    if {"section_in", "second_in", "length_ft", "form", "species", "cut"} & set(names):
        said.append("described anew")
    return f"{piece.code} {', '.join(said) or 'as it was'}"
