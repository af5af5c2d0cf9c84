"""What a line of a draft must be, and how changes of lines are made. All that is wrong is named at once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from difflib import get_close_matches

from service.application.inheritance import LineKey, Lines
from service.application.line_sense import nonsense
from service.application.plain_text import unseen_in
from service.engine.rates import KINDS, SECTIONS, Line

NUMBERS = ("low", "likely", "high")
TEXTS: Mapping[str, int] = {"unit": 20, "source": 200, "what": 300}
"""Texts of a line, and how long each may be [characters]."""
FIELDS = ("unit", *NUMBERS, "kind", "source", "what", "locked")
MOST_LINES = 3_000
"""Most lines that a region holds itself."""
CODE = re.compile(r"[a-z0-9_.]{1,80}", re.ASCII)
OFFERED = 100
"""Faults after which no near codes are looked for: that takes milliseconds each, and a list is cut off long before."""
DIGITS_BEFORE, DIGITS_AFTER = 12, 9
"""Most digits of a number before and after its point."""


@dataclass(frozen=True, slots=True)
class Change:
    """What is to be done to one line.

    Attributes:
        section, code: the line.
        given: field -> what it is to be; None for what is inherited. Fields that are not given stay as they are, or are
            taken from the inherited line where the region holds none itself.
        whole: the fields that are not given are not taken from anywhere: this is the whole line.
        inherit: take the region's own line out, so that the inherited one counts again.
    """

    section: str
    code: str
    given: Mapping[str, str | bool | Decimal | None] = field(default_factory=dict)
    whole: bool = False
    inherit: bool = False

    @property
    def key(self) -> LineKey:
        """Section and code."""
        return self.section, self.code


@dataclass(frozen=True, slots=True)
class LineFault:
    """What is wrong with a change.

    Attributes:
        place: which change, from 0; None where no one change is wrong: a line that is missing, lines that are too many.
        field: field of the line; "" for all of it.
        code: stable code.
        value: what stands there; "" where nothing does.
        reason: what is wrong and what would be right, in a sentence.
    """

    place: int | None
    field: str
    code: str
    value: str
    reason: str


class RefusedLinesError(ValueError):
    """Changes that were not made, none of them, with all that is wrong with them."""

    def __init__(self, faults: Sequence[LineFault]) -> None:
        """Keep the faults."""
        super().__init__("; ".join(fault.reason for fault in faults[:3]))
        self.faults = tuple(faults)


@dataclass(frozen=True, slots=True)
class Ground:
    """What the lines of a draft rest on.

    Attributes:
        region: code of the region.
        own: lines that the region holds itself in the draft, as it stands.
        base: those that it holds in the revision that the draft is based on.
        above: lines that it inherits.
        top: whether nothing is above it, so that new lines may be made here.
    """

    region: str
    own: Lines
    base: Lines
    above: Lines
    top: bool

    def model(self, key: LineKey) -> Line | None:
        """The line whose unit counts: the inherited one, or the one that was published before."""
        return self.above.get(key) or self.base.get(key)

    def leaves_gap(self, key: LineKey) -> bool:
        """Whether nothing would be left if the region held no such line: not so for one that is new in this draft."""
        return key in self.base and key not in self.above


def changed(ground: Ground, changes: Sequence[Change]) -> dict[LineKey, Line]:
    """The region's own lines after these changes.

    A number that is written in another way, 12.5 for 12.50, is no change.

    Raises:
        RefusedLinesError: with every fault.
    """
    own = dict(ground.own)
    faults: list[LineFault] = list(_repeated(changes))
    for place, change in enumerate(changes):
        if change.inherit:
            faults += _cannot_inherit(ground, place, change)
            # Taken out all the same, so that what follows is judged as it would be.
            own.pop(change.key, None)
            continue
        found = [*_cannot_stand(ground, place, change, offer=len(faults) < OFFERED)]
        line = None if found else _line(ground, place, change, found)
        faults += found
        if line is not None and own.get(change.key) != line:
            own[change.key] = line
    if len(own) > MOST_LINES:
        why = f"The region would hold {len(own)} lines of its own; it may hold {MOST_LINES}."
        faults.append(LineFault(None, "", "too_many_lines", "", why))
    if faults:
        raise RefusedLinesError(sorted(faults, key=lambda f: f.place or 0))
    return own


def replaced(ground: Ground, lines: Sequence[Change]) -> dict[LineKey, Line]:
    """The region's own lines when these whole ones stand in place of all.

    Raises:
        RefusedLinesError: with every fault; a line that would be missing everywhere is one.
    """
    there = {line.key for line in lines}
    gone = [key for key in ground.own if key not in there and ground.leaves_gap(key)]
    faults = [_gap(None, key) for key in gone]
    try:
        made = changed(ground, [*lines, *(Change(*key, inherit=True) for key in ground.own if key not in there)])
    except RefusedLinesError as refused:
        own = [fault for fault in refused.faults if fault.place is None or fault.place < len(lines)]
        raise RefusedLinesError([*own, *faults]) from None
    if faults:
        raise RefusedLinesError(faults)
    return made


def _repeated(changes: Iterable[Change]) -> Iterator[LineFault]:
    seen: set[LineKey] = set()
    for place, change in enumerate(changes):
        if change.key in seen:
            name = "/".join(change.key)
            yield LineFault(place, "code", "repeated_line", name, f"{name} stands twice. Keep one of them.")
        seen.add(change.key)


def _cannot_inherit(ground: Ground, place: int, change: Change) -> Iterator[LineFault]:
    if change.given:
        why = "Nothing else is said of a line that is to be inherited: leave the other fields out, or inherit."
        yield LineFault(place, "inherit", "inherit_and_fields", "", why)
    elif change.key not in ground.own:
        why = f"{ground.region} holds no line {'/'.join(change.key)} itself, so there is none to take out."
        yield LineFault(place, "code", "not_own", change.code, why)
    elif ground.leaves_gap(change.key):
        yield _gap(place, change.key)


def _gap(place: int | None, key: LineKey) -> LineFault:
    name = "/".join(key)
    why = f"Without {name} there would be a gap: no region above holds it. Keep the line, or change its numbers."
    return LineFault(place, "code", "gap", name, why)


def _cannot_stand(ground: Ground, place: int, change: Change, *, offer: bool) -> Iterator[LineFault]:
    """Why the region may hold no such line at all; with codes that are near an unknown one where that is on offer."""
    section, code = change.key
    if section not in SECTIONS:
        yield LineFault(place, "section", "unknown_section", section, f"is no section. There are {', '.join(SECTIONS)}.")
    elif not CODE.fullmatch(code):
        yield LineFault(place, "code", "bad_code", code, "is not made of a-z, 0-9, _ and ., at most 80 of them.")
    elif (above := ground.above.get(change.key)) is not None and above.locked:
        why = f"is locked by {above.region} and cannot be overridden. Leave it to be inherited."
        yield LineFault(place, "code", "line_locked", code, why)
    elif not ground.top and ground.model(change.key) is None:
        yield LineFault(place, "code", "unknown_code", code, _no_such(ground, section, code, offer=offer))


def _no_such(ground: Ground, section: str, code: str, *, offer: bool) -> str:
    why = f"is no line of {section}. Only the head office makes new ones."
    if not offer:
        return why
    known = {*ground.above, *ground.base}
    codes = sorted(c for s, c in known if s == section)
    parts = [c for c in codes if code in re.split(r"[._]", c)]
    near = list(dict.fromkeys([*get_close_matches(code, codes, n=3, cutoff=0.75), *parts]))[:5]
    elsewhere = [s for s in SECTIONS if (s, code) in known]
    if elsewhere:
        return f"{why} It is one of {' and '.join(elsewhere)}."
    return f"{why} Did you mean {' or '.join(near)}?" if near else why


def _line(ground: Ground, place: int, change: Change, faults: list[LineFault]) -> Line | None:
    """The line as it would be; None where something is wrong with it, which goes to `faults`."""
    model = ground.model(change.key)
    values = _fields_after(ground, change)
    taken_away = [name for name, value in change.given.items() if value is None and name not in values]
    found = [
        *((name, "missing", "", "is missing.") for name in FIELDS if name not in values and name not in taken_away),
        *((name, "nothing_inherited", "", "cannot be null: no region above holds the line.") for name in taken_away),
        *_wrong_texts(values), *_wrong_kind(change.section, values), *_wrong_unit(model, values),
        *_wrong_numbers(change.key, values),
    ]
    faults += [LineFault(place, *fault) for fault in found]
    return None if found else Line(change.section, change.code, region=ground.region, **values)  # type: ignore[arg-type]  # each was looked at


def _fields_after(ground: Ground, change: Change) -> dict[str, object]:
    """The fields of the line as it would be: those given, over those that it has or inherits. What is missing is left out."""
    empty: dict[str, object] = {"locked": False} | ({} if change.section == "resources" else {"kind": ""})
    # A lock is its own book's: it is never inherited.
    inherited = _fields(ground.above.get(change.key)) | empty
    before = ground.own.get(change.key)
    values = empty if change.whole else _fields(before) if before else _fields(ground.model(change.key)) | empty
    values = values | {name: value for name, value in change.given.items() if value is not None}
    for name in (name for name, value in change.given.items() if value is None):
        values.pop(name, None)
        if name in inherited:
            values[name] = inherited[name]
    return {name: value.strip() if isinstance(value, str) else value for name, value in values.items()}


def _fields(line: Line | None) -> dict[str, object]:
    return {} if line is None else {name: getattr(line, name) for name in FIELDS}


Found = tuple[str, str, str, str]
"""Field, code, value and reason of a fault."""


def _wrong_texts(values: Mapping[str, object]) -> Iterator[Found]:
    for name, most in TEXTS.items():
        text = values.get(name)
        if not isinstance(text, str):
            continue
        if not text:
            yield name, "empty", "", "is empty."
        elif len(text) > most:
            yield name, "too_long", text, f"has {len(text)} characters; at most {most} are taken."
        elif unseen := unseen_in(text):
            yield name, "control_character", text, f"holds a control character, such as a line break or a tab ({unseen})."
        elif any(0xD800 <= ord(c) < 0xE000 for c in text):
            yield name, "control_character", text, "holds half of a character."


def _wrong_kind(section: str, values: Mapping[str, object]) -> Iterator[Found]:
    kind = str(values.get("kind", ""))
    if section == "resources" and "kind" in values and kind not in KINDS:
        yield "kind", "bad_kind", kind, f"of a resource must be one of {', '.join(KINDS)}."
    if section != "resources" and kind:
        yield "kind", "bad_kind", kind, f"stands at resources only; leave it empty in {section}."


def _wrong_unit(model: Line | None, values: Mapping[str, object]) -> Iterator[Found]:
    unit = values.get("unit")
    if model is not None and isinstance(unit, str) and unit and unit != model.unit:
        why = f"must be {model.unit}, as {model.region} has it: what is worked out counts on it. Convert the numbers."
        yield "unit", "wrong_unit", unit, why


def _wrong_numbers(key: LineKey, values: Mapping[str, object]) -> Iterator[Found]:
    numbers = {name: value for name in NUMBERS if isinstance(value := values.get(name), Decimal)}
    for name, number in numbers.items():
        if not _plain(number):
            why = f"must be a number with at most {DIGITS_BEFORE} digits before the point and {DIGITS_AFTER} after it."
            yield name, "bad_number", str(number)[:40], why
            return
        for code, why in nonsense(*key, str(values.get("unit")), number):
            yield name, code, f"{number:f}", why
    if len(numbers) == len(NUMBERS):
        low, likely, high = (numbers[name] for name in NUMBERS)
        if low > likely:
            yield "low", "order", f"{low:f}", f"must not be above likely, {likely:f}."
        if high < likely:
            yield "high", "order", f"{high:f}", f"must not be below likely, {likely:f}."


def _plain(number: Decimal) -> bool:
    if not number.is_finite():
        return False
    exponent = number.as_tuple().exponent
    after = max(0, -exponent) if isinstance(exponent, int) else 0
    return number.adjusted() < DIGITS_BEFORE and after <= DIGITS_AFTER
