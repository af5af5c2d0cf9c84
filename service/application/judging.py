"""What may be published: gaps, locks, and the jumps that are asked about. Pure rules."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from service.application.inheritance import LineKey, Lines, is_locked
from service.application.money_lines import in_other_money, is_money
from service.application.publishing import (
    ConfirmationNeededError,
    Fault,
    NothingChangesError,
    PublishRefusedError,
    Question,
    Situation,
)
from service.engine.rates import Line

JUMP = 10
"""A number that becomes so many times another one, or so small a part of it, is asked about."""


def differing(one: Lines, other: Lines) -> tuple[LineKey, ...]:
    """Lines that two own books do not have alike, in order. Numbers are compared by value: 12.5 is 12.50."""
    return tuple(sorted(key for key in one.keys() | other.keys() if one.get(key) != other.get(key)))


def judge(situation: Situation, confirmed: frozenset[str]) -> tuple[LineKey, ...]:
    """Whether these lines may be published.

    Returns:
        The lines that differ from those in force on that day.

    Raises:
        NothingChangesError, PublishRefusedError, ConfirmationNeededError.
    """
    changed = differing(situation.in_force, situation.lines)
    if not changed:
        raise NothingChangesError(situation.number, situation.day)
    faults = [*_gaps(situation), *_locked(situation), *_out_of_order(situation), *_other_money(situation)]
    questions = [q for q in (*_jumps(situation, changed), *_beside(situation)) if q.token not in confirmed]
    if faults:
        raise PublishRefusedError(faults, questions)
    if questions:
        raise ConfirmationNeededError(questions)
    return changed


def named(key: LineKey) -> str:
    """A line by its name."""
    return f"{key[0]}/{key[1]}"


def plain(number: Decimal) -> str:
    """A number without an exponent and without zeros that say nothing."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def in_words(line: Line | None) -> str:
    """A line's numbers and unit."""
    if line is None:
        return "as inherited"
    return f"{plain(line.low)} / {plain(line.likely)} / {plain(line.high)} {line.unit}"


# ---- faults ------------------------------------------------------------------------------------------------------------


def _gaps(situation: Situation) -> list[Fault]:
    """Lines that are in force and would stand nowhere any more: whatever needs them could not be priced."""
    there = situation.above.keys() | situation.lines.keys()
    return [
        Fault("gap", key, f"{named(key)} would stand nowhere any more: nothing above this region has it.")
        for key in sorted(situation.in_force.keys() - there)
    ]


def _locked(situation: Situation) -> list[Fault]:
    return [
        Fault("line-locked", key, f"{named(key)} is locked by {situation.above[key].region}; take it out to inherit it.")
        for key in sorted(situation.lines)
        if is_locked(situation.above, key)
    ]


def _out_of_order(situation: Situation) -> list[Fault]:
    return [
        Fault("out-of-order", key, f"{named(key)}: low, likely and high must rise, they are {in_words(line)}.")
        for key, line in sorted(situation.lines.items())
        if not line.low <= line.likely <= line.high
    ]


def _other_money(situation: Situation) -> list[Fault]:
    """Money that would be read as another currency: inherited across one, or locked so that a region below must inherit it."""
    lines, above, other = situation.lines, situation.above, situation.other
    inherited = [
        Fault("other-money", key, f"{named(key)} would be inherited from {above[key].region}, whose money is another. Put the "
                                  "region's own price there.")
        for key in in_other_money(above, lines, other)
    ]
    locks = [] if not other.below else [
        key for key, line in sorted(lines.items())
        if line.locked and is_money(key, line.unit) and not is_locked(situation.in_force, key)
    ]
    below = ", ".join(sorted(other.below))
    return inherited + [
        Fault("other-money", key, f"{named(key)} cannot be locked: it is money, and {below} has another.")
        for key in locks
    ]


# ---- questions ---------------------------------------------------------------------------------------------------------


def _jumps(situation: Situation, changed: Sequence[LineKey]) -> list[Question]:
    """Changed lines that jump against what is in force, or against the parents' value."""
    asked = []
    for key in changed:
        own, above = situation.lines.get(key), situation.above.get(key)
        new = own or above
        if new is None:
            continue
        # An own line below a lock counts for nothing already.
        before = above if above is not None and above.locked else situation.in_force.get(key) or above
        reasons = [] if before is None else _reasons(new, before, "in force")
        if own is not None and above is not None and above != before:
            reasons += _reasons(new, above, f"of {above.region}")
        if reasons:
            token = f"{named(key)}={in_words(own).replace(' / ', '/')}"
            asked.append(Question(token, f"{named(key)}, {new.what}: {'; '.join(reasons)}."))
    return asked


def _reasons(new: Line, old: Line, whose: str) -> list[str]:
    if new.unit != old.unit:
        return [f"its unit is {new.unit}, that {whose} is {old.unit}"]
    ends = (("low", new.low, old.low), ("likely", new.likely, old.likely), ("high", new.high, old.high))
    jumps = [(name, n, o) for name, n, o in ends if o != 0 and not abs(o) < abs(n) * JUMP < abs(o) * JUMP * JUMP]
    if not jumps:
        return []
    # One of the three says it all; the likely value where it is among them.
    name, n, o = next((jump for jump in jumps if jump[0] == "likely"), jumps[0])
    if n == 0:
        return [f"{name} is zero, where {plain(o)} is {whose}"]
    if abs(n) > abs(o):
        return [f"{name} {plain(n)} is {abs(n / o):.3g} times the {plain(o)} {whose}"]
    return [f"{name} {plain(n)} is one {abs(o / n):.3g}th of the {plain(o)} {whose}"]


def _beside(situation: Situation) -> list[Question]:
    """What a revision does beside what its draft changed, because others are scheduled."""
    asked = []
    own = differing(situation.base, situation.lines)
    carried = [key for key in differing(situation.in_force, situation.lines) if key not in own]
    if carried and situation.base_number != situation.number:
        number, hint = "no revision", ""
        if situation.number is not None:
            number = f"revision {situation.number}"
            hint = f" A draft that is opened with based_on {situation.number} brings along nothing."
        asked.append(Question(
            f"carries:{situation.base_number}-over-{situation.number}",
            f"The draft is based on revision {situation.base_number}, while {number} is in force on {situation.day}: it would "
            f"bring along {_listed(carried)}, which it does not change itself.{hint}",
        ))
    later = situation.later
    if later is not None:
        lost = [key for key in own if later.lines.get(key) != situation.lines.get(key)]
        if lost:
            asked.append(Question(
                f"until:{later.number}",
                f"On {later.since} revision {later.number} takes over and does not hold what the draft changes: "
                f"{_listed(lost)}. If it shall stay, publish it for that day too, from a draft that is opened with based_on "
                f"{later.number}.",
            ))
    return asked


def _listed(keys: Sequence[LineKey]) -> str:
    shown = ", ".join(named(key) for key in keys[:5])
    return shown if len(keys) <= 5 else f"{shown} and {len(keys) - 5} more"
