"""What changed since a quote, in a few sentences for people."""

from __future__ import annotations

from decimal import Decimal

from service.application.effects import STOCK, Effect
from service.application.history import Moved
from service.application.since import Since


def summary(told: Since) -> str:
    """The answer in a few sentences."""
    said = [_moved(told)]
    if told.effect is not None and said[0] != UNMOVED:
        said += _quote(told, told.effect)
    return " ".join(said)


UNMOVED = "Nothing has moved: the quote's rates are those in force."


def _moved(told: Since) -> str:
    if told.then == told.now:
        return UNMOVED
    lines = [m for m in told.comparison.lines if m.change != "reworded"]
    pieces = len(told.comparison.sticks)
    if not lines and not pieces:
        return "Rates were published since, but no number and no piece of the yard has moved."
    parts = [_count(len(lines), "line of the book", "lines of the book")] if lines else []
    parts += [_count(pieces, "piece of the yard", "pieces of the yard")] if pieces else []
    farthest = max(lines, key=_distance, default=None)
    named = "" if farthest is None or farthest.ratio is None else f" The largest move: {_named(farthest)}."
    return f"{' and '.join(parts)} moved since.{named}"


def _quote(told: Since, effect: Effect) -> list[str]:
    then, now = effect.before.total, effect.after.total
    if not effect.used:
        return ["This quote reads none of it: its price and its order stand."]
    said = []
    if then == now:
        said.append(f"The job stays at {_money(then)} {told.currency}.")
    else:
        share = f" ({float(now / then - 1):+.1%})" if then else ""
        said.append(f"The job goes from {_money(then)} to {_money(now)} {told.currency}{share}.")
        largest = effect.alone[0] if effect.alone and effect.alone[0].total else None
        if largest is not None:
            name = "wood in the yard" if largest.key == STOCK else "/".join(largest.key)
            said.append(f"By itself {name} does most: {_money(largest.total, signed=True)}.")
    said += _firsts(effect)
    if told.left_out:
        said.append(f"{_count(len(told.left_out), 'moved line', 'moved lines')} that it reads "
                    f"{'was' if len(told.left_out) == 1 else 'were'} not looked at alone.")
    return said


def _firsts(effect: Effect) -> list[str]:
    """First plans that are others now."""
    was, now = effect.before.first(), effect.after.first()
    changed = [group for group in was if group in now and was[group] != now[group]]
    said = []
    for group in changed[:3]:
        index, pieces = group
        old = effect.before.plans[index, pieces, *was[group]].title
        new = effect.after.plans[index, pieces, *now[group]].title
        said.append(f'First for defect {effect.before.defects[index]} is now "{new}" in place of "{old}".')
    if len(changed) > len(said):
        said.append(f"The first plan changes in {len(changed) - len(said)} more.")
    return said or ["No first plan changes."]


def _named(moved: Moved) -> str:
    return f"{'/'.join(moved.key)} {(moved.ratio or 1.0) - 1.0:+.1%}"


def _distance(moved: Moved) -> float:
    ratio = moved.ratio
    return 0.0 if ratio is None else abs(ratio - 1.0) if ratio >= 1.0 else 1.0 / ratio - 1.0


def _count(n: int, one: str, many: str) -> str:
    return f"{n} {one if n == 1 else many}"


def _money(amount: Decimal, *, signed: bool = False) -> str:
    return f"{amount:+,.2f}" if signed else f"{amount:,.2f}"
