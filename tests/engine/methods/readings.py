"""What tests of methods read off a scope: gates that struck, money by part, hours, wood, waits."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from service.engine.array import Number
from service.engine.case import Case
from service.engine.gates import CANNOT, MORE, Gates
from service.engine.method import Method
from service.engine.words import Words
from service.engine.work import Task, Wait, Work


def named(methods: Iterable[Method], code: str) -> Method:
    """The method of that code."""
    return next(m for m in methods if m.code == code)


def gates(method: Method, case: Case) -> Gates:
    """The gates of a method for a case."""
    gate = Gates(Words("imperial"))
    method.fits(case, gate)
    return gate


def forbidden_by(method: Method, case: Case) -> list[str]:
    """Codes of the gates that forbid it."""
    return [s.code for s in gates(method, case).struck if s.kind == CANNOT]


def too_much_by(method: Method, case: Case) -> list[str]:
    """Codes of the gates that call it more than the case needs."""
    return [s.code for s in gates(method, case).struck if s.kind == MORE]


def scope(method: Method, case: Case, factor: Number = 1.0) -> Work:
    """What it dictates at ground level in good weather."""
    work = Work(case, factor)
    method.scope(case, work)
    return work


def dictated(case: Case, dictate: Callable[[Case, Work], None]) -> Work:
    """What a plain function dictates."""
    work = Work(case, 1.0)
    dictate(case, work)
    return work


def money(work: Work, part: str = "package") -> Number:
    """Price of a part at likely norms and prices, in every world."""
    total: Number = 0.0
    for charge in work.charges:
        if charge.part == part:
            total = total + charge.amount
    return total


def hours(work: Work) -> float:
    """Person-hours at likely norms."""
    book = work.case.book
    return sum(
        float(c.units) * float(c.factor) * float(book.line("norms", c.norm).likely)
        for c in work.charges
        if c.norm and book.line("resources", c.resource).kind == "labour"
    )


def tasks(work: Work) -> list[Task]:
    """Steps in which people work."""
    return [p for s in work.stages for p in s.parts if isinstance(p, Task)]


def waits(work: Work) -> list[Wait]:
    """Steps in which nobody works."""
    return [p for s in work.stages for p in s.parts if isinstance(p, Wait)]


def bought(work: Work, resource: str) -> float:
    """Quantity of a resource for all pieces, before norms."""
    return sum(float(c.units) * float(c.factor) for c in work.charges if c.resource == resource)


def same_everywhere(method: Method, plain: Case, sampled: Case) -> bool:
    """Whether a case in which nothing is uncertain reads alike in one world and in many."""
    one, many = gates(method, plain), gates(method, sampled)
    if not (np.all(np.equal(many.out, one.out)) and np.all(np.equal(many.more, one.more))):
        return False
    first, all_of_them = scope(method, plain), scope(method, sampled)
    parts = {c.part for c in first.charges}
    return all(np.allclose(money(all_of_them, p), money(first, p), rtol=1e-9) for p in parts)
