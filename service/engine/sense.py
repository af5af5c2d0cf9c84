"""Does what was said make sense: sizes that cannot be, readings no meter gives, facts that contradict each other.

A bad value that the price needs rejects its defect, with the likely slip; a bad meter reading is dropped, said, and the
defect priced without it; of two facts that contradict each other the worse holds, and the answer is provisional (R36).
Nothing is ever clamped.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from service.engine.contradictions import resolve
from service.engine.knowledge import FactRecord, Knowledge
from service.engine.likeness import near_codes
from service.engine.looking import Look
from service.engine.outcome import Slip
from service.engine.survey import Defect, House, Span, WoodOnHand
from service.engine.words import Words

DROPPED = frozenset(("moisture", "moisture_depth"))
"""Readings without which a defect can be priced all the same."""
MOST_PIECES = 200
"""Alike pieces of one defect (B1; common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Checked:
    """A defect that was looked at.

    Attributes:
        defect: with what cannot be used taken out; None where it cannot be priced.
        slips: bad values, each with its path inside the defect.
        notes: what was noticed and what was made of it, in sentences.
        provisional: whether its price stands on a contradiction that somebody has to clear up.
    """

    defect: Defect | None
    slips: tuple[Slip, ...]
    notes: tuple[str, ...]
    provisional: bool


def check_defect(
    defect: Defect, knowledge: Knowledge, house: House | None = None, units: str = "imperial"
) -> Checked:
    """Look a defect over before anything is worked out from it.

    Args:
        defect: as it was sent.
        knowledge: members, damage, and the plausible limits of facts.
        house: for the temperature of the wood that a meter was stuck into.
        units: units in which the slips are written.
    """
    look = Look(defect, knowledge, Words(units))
    _codes(look)
    if look.fatal:
        return Checked(None, tuple(look.slips), (), provisional=False)
    _pieces(look)
    for name, spans in defect.numbers.items():
        record = knowledge.facts.get(name)
        if record is not None:
            _limits(look, name, spans, record)
    _choices(look)
    if _set_aside(look):
        resolve(look, house or House())
    if look.fatal:
        return Checked(None, tuple(look.slips), tuple(look.notes), provisional=False)
    wood = _wood(defect.wood, look)
    causes = tuple(c for k, c in enumerate(defect.causes) if _cause_known(look, k, c.code))
    cleaned = replace(
        defect, numbers=look.numbers, words=look.words, many=look.many, wood=wood, causes=causes
    )
    return Checked(cleaned, tuple(look.slips), tuple(look.notes), look.provisional)


def check_house(
    house: House, knowledge: Knowledge, units: str = "imperial", priced_on: date | None = None
) -> tuple[House, tuple[Slip, ...]]:
    """Look over the facts that all defects share; what cannot be is dropped and said, and counts as not stated.

    Args:
        house: as it was sent.
        knowledge: the plausible limits of facts.
        units: units in which the slips are written.
        priced_on: day of the prices, against which the month of the work is held.
    """
    words = Words(units)
    slips: list[Slip] = []
    numbers: dict[str, Span] = {}
    for name, span in house.numbers.items():
        record = knowledge.facts.get(name)
        slip = _outside(words, (name,), span, record, fatal=False, high=record.high) if record else None
        if slip is None:
            numbers[name] = span
        else:
            slips.append(slip)
    kept = {}
    for name, word in house.words.items():
        allowed = _allowed(knowledge, name)
        if allowed and word not in allowed:
            slips.append(_unknown_word((name,), word, allowed))
        else:
            kept[name] = word
    slips += _month_of_work(words, numbers, priced_on) if priced_on else []
    return replace(house, numbers=numbers, words=kept), tuple(slips)


def _month_of_work(words: Words, numbers: Mapping[str, Span], priced_on: date) -> list[Slip]:
    """A month that is not that of the day of the prices: the cold is of the one, the waits are counted from the other."""
    month = numbers.get("month")
    if month is None or "wood_temperature" in numbers or int(month.middle) == priced_on.month:
        return []
    right = (
        "The wood is taken as cold as in the month; what has to be waited for is counted from the day of the prices. "
        "Give the day on which the work may begin as that day, or leave the month out."
    )
    said = say(words, month, "")
    return [Slip(("month",), said, f"not the month of {priced_on.isoformat()}", right, "month_against_day", fatal=False)]


def _set_aside(look: Look) -> bool:
    """Take out what cannot be, so that the other facts are held against each other all the same: every slip is told at once.

    Returns whether they can be: without a count that could be, nobody knows how many pieces there are.
    """
    for slip in look.slips:
        if slip.fatal:
            name = str(slip.path[0])
            look.numbers.pop(name, None)
            look.words.pop(name, None)
    return 1 <= look.defect.count <= MOST_PIECES


# ---- codes and counts --------------------------------------------------------------------------------------------


def _codes(look: Look) -> None:
    """Member and damage must be known, and such damage must be possible on such a member."""
    defect, known = look.defect, look.knowledge
    element, damage = known.elements.get(defect.element), known.damages.get(defect.damage)
    if element is None:
        ask = "Which part of the building is it? " + _families(known)
        right = _suggest(defect.element, known.elements, ask)
        look.slip("element", defect.element, _missing(defect.element, "member"), right, "unknown_element")
    if damage is None:
        ask = "What does it look like? One of " + ", ".join(sorted(known.damages)) + "."
        right = _suggest(defect.damage, known.damages, ask)
        look.slip("damage", defect.damage, _missing(defect.damage, "damage"), right, "unknown_damage")
    if element is not None and damage is not None and element.family not in damage.families:
        can = sorted(code for code, one in known.damages.items() if element.family in one.families)
        look.slip(
            "damage", defect.damage, f"{damage.title} is not damage that the {element.title} can have",
            f"For this member one of {', '.join(can)}; or it is another member.", "damage_not_on_member",
        )


def _missing(said: str, what: str) -> str:
    return f"{said!r} is not a {what} that is known here" if said.strip() else f"no {what} is named"


def _suggest(said: str, known: Mapping[str, object], ask: str) -> str:
    near = near_codes(said, known)
    return f"Did you mean {' or '.join(near)}? {ask}" if near else ask


def _families(known: Knowledge) -> str:
    first: dict[str, list[str]] = {}
    for code, element in known.elements.items():
        first.setdefault(element.family, []).append(code)
    return " ".join(f"{family.replace('_', ' ')}: {', '.join(codes)}." for family, codes in first.items())


def _pieces(look: Look) -> None:
    """As many values as pieces, and no more damaged pieces than there are."""
    defect = look.defect
    if not 1 <= defect.count <= MOST_PIECES:
        look.slip(
            "count", str(defect.count), f"a defect has 1 to {MOST_PIECES} alike pieces",
            "Say how many pieces are damaged; split a longer list into several defects.", "count_out_of_range",
        )
    for name, values in (*defect.numbers.items(), *defect.words.items()):
        each = len(values) > 1 or name in defect.listed
        if each and len(values) != defect.count:
            look.slip(
                name, f"{len(values)} values", f"a list has one value a piece, and there are {defect.count} pieces",
                f"Give one value for all pieces, or {defect.count} in their order.", "list_length",
            )
    spans = defect.numbers.get("of", ())
    if spans and defect.count > min(s.high for s in spans):
        most = f"{min(s.high for s in spans):g}"
        look.slip(
            "of", most, f"{defect.count} pieces are damaged and there are only {most} in all",
            "Probably swapped: `count` is the damaged ones, `of` all of that kind.", "count_over_of",
        )


# ---- limits ------------------------------------------------------------------------------------------------------


def _limits(look: Look, name: str, spans: tuple[Span, ...], record: FactRecord) -> None:
    """Every value of a fact within its plausible limits."""
    element = look.knowledge.elements.get(look.defect.element)
    fatal = name not in DROPPED
    for k, span in enumerate(spans):
        path = (name, k) if len(spans) > 1 else (name,)
        slip = _outside(look.write, path, span, record, fatal=fatal, high=record.high_of(element))
        if slip is not None:
            look.slips.append(slip)
            if not fatal:
                look.numbers.pop(name, None)


def _outside(
    words: Words, path: tuple[str | int, ...], span: Span, record: FactRecord, *, fatal: bool, high: float | None
) -> Slip | None:
    """The slip of a value outside its limits, or None."""
    low = record.low
    below = low is not None and span.low < low
    above = high is not None and span.high > high
    if not below and not above:
        return None
    said = say(words, span, record.unit)
    if record.dimension == "moisture":
        return Slip(
            path, said, "no pin meter reads that in wood; it reads 5 to 100 %, and past 30 it only means wet",
            "Read again with insulated pins in the wood that stays; this reading was not used.", "moisture_impossible",
            fatal,
        )
    if record.dimension == "year":
        right = f"A year from {low:g} to {high:g}; this one was not used, so that old coatings count as not known."
        return Slip(path, said, "not a year in which a house was built", right, "year_out_of_range", fatal)
    if span.low <= 0.0 and below:
        right = f"Probably {say(words, Span(-span.high, -span.low), record.unit)}." if span.high < 0.0 else (
            "Measure it, or leave it out: it then counts as not known."
        )
        wrong = "a size is never negative" if span.low < 0.0 else "a size is never zero"
        return Slip(path, said, wrong, right, "not_positive", fatal)
    ends = (low if low is not None else 0.0, high if high is not None else span.high)
    right = f"Usual is {say(words, Span(*ends), record.unit)}: look at the unit again."
    return Slip(path, said, "too little to be true" if below else "too much to be true", right, "out_of_range", fatal)


def say(words: Words, span: Span, unit: str) -> str:
    """A value as text, in the units of the request."""
    def one(value: float) -> str:
        match unit:
            case "in":
                return words.length(value)
            case "ft":
                return words.length(value * 12.0)
            case "ft2":
                return words.area(value)
            case "degF":
                return words.temperature(value)
            case "lb":
                return words.load(value)
            case _:
                return f"{value:g} {unit}".strip()

    return one(span.low) if span.is_exact else f"{one(span.low)} to {one(span.high)}"


# ---- words and wood ----------------------------------------------------------------------------------------------


def _allowed(knowledge: Knowledge, name: str) -> tuple[str, ...]:
    if name == "species":
        return tuple(knowledge.species)
    record = knowledge.facts.get(name)
    return record.choices if record else ()


def _choices(look: Look) -> None:
    """Codes that are not on the list are dropped and said."""
    for name, said in look.defect.words.items():
        allowed = _allowed(look.knowledge, name)
        bad = [w for w in said if allowed and w not in allowed]
        if bad:
            look.slips.append(_unknown_word((name,), bad[0], allowed))
            look.words.pop(name, None)
    for name, codes in look.defect.many.items():
        allowed = _allowed(look.knowledge, name)
        for word in codes:
            if allowed and word not in allowed:
                look.slips.append(_unknown_word((name,), word, allowed))
        look.many[name] = tuple(w for w in codes if not allowed or w in allowed)


def _unknown_word(path: tuple[str | int, ...], word: str, allowed: tuple[str, ...]) -> Slip:
    near = near_codes(word, allowed)
    right = f"Did you mean {' or '.join(near)}? " if near else f"One of {', '.join(sorted(allowed))}. "
    right += "It counts as not stated."
    return Slip(path, word, "not a word that is known here", right, "unknown_word", fatal=False)


def _cause_known(look: Look, k: int, code: str) -> bool:
    if code in look.knowledge.causes:
        return True
    right = f"One of {', '.join(look.knowledge.causes)}. It was left out."
    look.slips.append(Slip(("causes", k), code, "not a cause that is known here", right, "unknown_cause", fatal=False))
    return False


def _wood(pieces: tuple[WoodOnHand, ...], look: Look) -> tuple[WoodOnHand, ...]:
    """Wood on hand with sizes that can be."""
    kept = []
    for k, piece in enumerate(pieces):
        if piece.section_in > 0.0 and piece.length_in > 0.0 and piece.count > 0:
            kept.append(piece)
            continue
        said = f"{look.write.length(piece.section_in)} x {look.write.length(piece.length_in)}"
        right = "Measure it again; it was not counted."
        look.slips.append(Slip(("wood", k), said, "a piece of wood has a size", right, "not_positive", fatal=False))
    return tuple(kept)
