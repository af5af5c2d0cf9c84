"""What a piece of wood in a yard can be: every value that cannot be is named, with the likely slip."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal

from service.application.nonsense import Nonsense, meant
from service.application.stock import Known, Piece, plain
from service.engine.words import Words

CODE = re.compile(r"[a-z0-9_.]{1,80}", re.ASCII)
RESERVED = frozenset(("counts",))
"""Codes that stand for something else in the addresses of a yard."""
CUTS = ("round", "hewn", "flat", "rift", "quarter")
"""How a piece was cut: as it grew, hewn, or sawn with the rings flat, slanting or upright."""
SIZES_IN: Mapping[str, tuple[Decimal, Decimal]] = {"log": (Decimal(3), Decimal(48)), "": (Decimal("0.25"), Decimal(36))}
"""Thinnest and thickest that is met in a yard, of a log and of anything sawn (J) [in]."""
LENGTHS_FT = (Decimal("0.5"), Decimal(80))
"""Shortest and longest piece that is met in a yard (J) [ft]."""
THICK_SLIPS = {"millimetres": Decimal("25.4"), "centimetres": Decimal("2.54")}
"""What may have been typed in place of inches, and how many go into one."""
LONG_SLIPS = {"inches": Decimal(12), "centimetres": Decimal("30.48"), "millimetres": Decimal("304.8")}
"""What may have been typed in place of feet, and how many go into one."""
MOISTURE_PCT = (Decimal(0), Decimal(300))
"""Driest and wettest that wood can be; sapwood of light softwoods holds twice its own weight and more [%]."""
OLDEST = date(2000, 1, 1)
"""No reading is older."""


def nonsense(
    piece: Piece, known: Known, today: date, *, before: Piece | None = None, index: int = 0
) -> Iterator[Nonsense]:
    """Every value of a piece that cannot be, or is so unlikely that it must be a slip.

    Args:
        piece: the piece as it shall be.
        known: forms and species that there are.
        today: the day of the change.
        before: the piece as it was. What it was before is not questioned again: a hold may be over meanwhile, and a rule
            may have become stricter.
        index: which of several pieces it is, from 0.
    """
    if piece == before:
        return
    held = before is not None and (before.held_for, before.held_until) == (piece.held_for, piece.held_until)
    hold = () if held else _hold(piece, today)
    for name, reason in (
        *_words(piece, known), *_sizes(piece, known.words), *_reading(piece, today, known.words), *hold
    ):
        yield Nonsense(index, name, reason)


def _words(piece: Piece, known: Known) -> Iterator[tuple[str, str]]:
    if not CODE.fullmatch(piece.code) or piece.code in RESERVED:
        yield "code", f"{piece.code!r} must be 1 to 80 of a-z, 0-9, _ and . (and not {', '.join(sorted(RESERVED))})."
    if piece.form not in known.forms:
        yield "form", f"{piece.form!r} is no form that a repair asks for. There are {', '.join(known.forms)}."
    if piece.species not in known.species:
        right = meant(piece.species, known.species) or " softwood_unknown stands for one that nobody knows."
        yield "species", f"{piece.species!r} is no species of the catalogue.{right}"
    if piece.cut not in CUTS:
        yield "cut", f"{piece.cut!r} is no cut. There are {', '.join(CUTS)}."
    if not piece.where.strip():
        yield "where", "is empty. Say where the piece lies, so that somebody finds it."


def _sizes(piece: Piece, words: Words) -> Iterator[tuple[str, str]]:
    least, most = SIZES_IN.get(piece.form, SIZES_IN[""])
    if not least <= piece.section_in <= most:
        yield "section_in", _size_words(piece.section_in, (least, most), THICK_SLIPS, words)
    if piece.form == "log" and piece.second_in is not None:
        yield "second_in", "a log has one diameter. Leave it out, or call the piece a timber."
    if piece.form != "log" and piece.second_in is None:
        yield "second_in", "is missing. What is sawn has a thickness and a width."
    least, most = SIZES_IN[""]
    if piece.second_in is not None and not least <= piece.second_in <= most:
        yield "second_in", _size_words(piece.second_in, (least, most), THICK_SLIPS, words)
    least, most = (12 * end for end in LENGTHS_FT)
    if not least <= 12 * piece.length_ft <= most:
        yield "length_ft", _size_words(12 * piece.length_ft, (least, most), LONG_SLIPS, words)


def _size_words(value_in: Decimal, met: tuple[Decimal, Decimal], slips: Mapping[str, Decimal], words: Words) -> str:
    """What is wrong with a size, and which slip of the unit would explain it."""
    likely = next((f" Were it {name}?" for name, times in slips.items() if met[0] <= value_in / times <= met[1]), "")
    said, least, most = (words.length(float(v)) for v in (value_in, *met))
    return f"{said} is not met in a yard; {least} to {most} is.{likely if value_in > met[1] else ''}"


def _reading(piece: Piece, today: date, words: Words) -> Iterator[tuple[str, str]]:
    driest, wettest = MOISTURE_PCT
    if not driest <= piece.moisture_pct <= wettest:
        yield "moisture_pct", f"{plain(piece.moisture_pct)} % is not wood; {driest:f} to {wettest:f} % of its dry weight is."
    thin = min(piece.section_in, piece.second_in or piece.section_in)
    if piece.moisture_depth_in is not None and not 0 <= piece.moisture_depth_in <= thin:
        deep, thick = words.length(float(piece.moisture_depth_in)), words.length(float(thin))
        yield "moisture_depth_in", f"{deep} deep is not within a piece of {thick}."
    if piece.read_on is not None and not OLDEST <= piece.read_on <= today:
        yield "read_on", f"{piece.read_on} must be a day from {OLDEST} to today, {today}: a reading is of the past."


def _hold(piece: Piece, today: date) -> Iterator[tuple[str, str]]:
    if piece.held_for is not None and not piece.held_for.strip():
        yield "held_for", "is empty. Name the job, or leave it out to let the piece go."
    if piece.held_until is not None and piece.held_for is None:
        yield "held_until", "is given without the job. Say in held_for which job the piece is held for."
    if piece.held_until is not None and piece.held_until < today:
        yield "held_until", f"{piece.held_until} is over; today is {today}. Leave out hold and day to let the piece go."
