"""What changed lines do to a job: its plans under both books, and each changed line alone in the old one.

Both books go through the one way in which quotes are priced, so that what is shown here is what a quote will say.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from service.engine.outcome import Answer
from service.engine.rates import Line, MissingRateError, RateBook
from service.engine.survey import Survey

Key = tuple[str, str]
"""Section and code of a line."""
PlanKey = tuple[int, tuple[int, ...], str, str]
"""A plan of a job: index of its defect, its pieces, its main method, its variant."""
Priced = Callable[[Survey, RateBook], Answer]
"""The one way in which a survey is priced."""

STOCK: Key = ("stock", "count")
"""Stands for the count of the yard, which is swapped as a whole: quotes look for a piece that fits, not for a code."""
NOTHING = Decimal("0.00")


@dataclass(frozen=True, slots=True)
class Place:
    """A plan as one book has it: rank among the plans for its pieces, and its whole price as described."""

    rank: int
    whole: Decimal
    title: str


@dataclass(frozen=True, slots=True)
class Result:
    """A job under one book.

    Attributes:
        plans: every plan that is offered.
        total: the job's total as described.
        missing: section and code of the line that the book lacks, so that nothing can be priced; None where all is there.
        defects: what the caller calls the defects, by index.
        spent: resource or norm -> money that the job's price lines name it for.
    """

    plans: Mapping[PlanKey, Place]
    total: Decimal
    missing: Key | None = None
    defects: Mapping[int, str] = field(default_factory=dict)
    spent: Mapping[Key, Decimal] = field(default_factory=dict)

    def order(self) -> dict[tuple[int, tuple[int, ...]], tuple[tuple[str, str], ...]]:
        """Methods and variants in the order of their ranks, for each group of alike pieces."""
        order: dict[tuple[int, tuple[int, ...]], list[tuple[str, str]]] = {}
        for index, pieces, method, variant in sorted(self.plans, key=lambda k: (k[0], k[1], self.plans[k].rank)):
            order.setdefault((index, pieces), []).append((method, variant))
        return {group: tuple(methods) for group, methods in order.items()}

    def first(self) -> dict[tuple[int, tuple[int, ...]], tuple[str, str]]:
        """The first plan of each group of alike pieces."""
        return {group: methods[0] for group, methods in self.order().items()}


@dataclass(frozen=True, slots=True)
class Alone:
    """A changed line, or the count of the yard, swapped into the old book by itself.

    Attributes:
        key: the line, or STOCK.
        total: what it adds to the job's total.
        plans: what it adds to each plan's whole price; plans that it does not move are left out.
        moves_ranks, changes_first: whether plans change places, come or go, and whether a first plan does.
        missing: the line that the old book then lacks, so that nothing can be priced and the rest says nothing.
    """

    key: Key
    total: Decimal
    plans: Mapping[PlanKey, Decimal]
    moves_ranks: bool
    changes_first: bool
    missing: Key | None = None


@dataclass(frozen=True, slots=True)
class Effect:
    """What the changed lines do to one job.

    Attributes:
        before, after: the job under the old book and under the new one.
        used: changed lines that the job reads; STOCK among them where the yard has changed.
        alone: those that were looked at alone, the largest effect first.
    """

    before: Result
    after: Result
    used: frozenset[Key]
    alone: tuple[Alone, ...]

    @property
    def moves_ranks(self) -> bool:
        """Whether plans change places, come or go."""
        return self.before.order() != self.after.order()

    @property
    def changes_first(self) -> bool:
        """Whether another plan is first for any of the pieces."""
        return self.before.first() != self.after.first()


def changed_lines(before: Mapping[Key, Line], after: Mapping[Key, Line]) -> dict[Key, tuple[Line | None, Line | None]]:
    """Lines whose numbers, unit or kind differ between two books, with what each has."""
    keys = sorted(before.keys() | after.keys())
    pairs = {key: (before.get(key), after.get(key)) for key in keys}
    return {key: pair for key, pair in pairs.items() if _value(pair[0]) != _value(pair[1])}


def effects(surveys: list[Survey], before: RateBook, after: RateBook, priced: Priced, *, runs: int) -> list[Effect]:
    """What the lines that differ between two books do to each job.

    Args:
        surveys: the jobs.
        before, after: two books of one region and day.
        priced: prices a survey by a book.
        runs: most quotes that are worked out to look at lines alone. Lines that are likely to do most go first; what is
            left out shows only in the effect of all lines together.
    """
    changed = changed_lines(before.lines, after.lines)
    if before.yard != after.yard:
        changed[STOCK] = (None, None)
    pairs = [_pair(survey, before, after, changed.keys(), priced) for survey in surveys]
    looked_at = [(key, n) for n, (_, _, used) in enumerate(pairs) for key in used]
    wanted = sorted(looked_at, key=lambda one: (-_likely_effect(one[0], changed[one[0]], pairs[one[1]][0]), one))
    alone: list[list[Alone]] = [[] for _ in surveys]
    for key, n in wanted:
        old, new, used = pairs[n]
        if len(used) == 1:
            alone[n].append(_alone(key, old, new))
        elif runs > 0:
            runs -= 1
            alone[n].append(_alone(key, old, _run(surveys[n], _with(before, after, key), priced)))
    return [
        Effect(old, new, used, tuple(sorted(found, key=lambda a: (-abs(a.total), a.key))))
        for (old, new, used), found in zip(pairs, alone, strict=True)
    ]


def _pair(
    survey: Survey, before: RateBook, after: RateBook, changed: Collection[Key], priced: Priced
) -> tuple[Result, Result, frozenset[Key]]:
    """A job under both books, and the changed lines that it reads under either."""
    reads = _Reads(before.lines), _Reads(after.lines)
    old = _run(survey, replace(before, lines=reads[0]), priced)
    used = frozenset(key for key in changed if key in reads[0].seen or key == STOCK)
    if not used and old.missing is None:
        # The same lines read in the same order give the same answer: nothing of it can move.
        return old, old, used
    new = _run(survey, replace(after, lines=reads[1]), priced)
    return old, new, used.union(key for key in changed if key in reads[1].seen)


class _Reads(Mapping[Key, Line]):
    """Lines of a book that remember which of them were read."""

    def __init__(self, lines: Mapping[Key, Line]) -> None:
        self._lines = lines
        self.seen: set[Key] = set()

    def __getitem__(self, key: Key) -> Line:
        self.seen.add(key)
        return self._lines[key]

    def __iter__(self) -> Iterator[Key]:
        self.seen.update(self._lines)
        return iter(self._lines)

    def __len__(self) -> int:
        return len(self._lines)


def _run(survey: Survey, book: RateBook, priced: Priced) -> Result:
    try:
        answer = priced(survey, book)
    except MissingRateError as gap:
        return Result({}, NOTHING, (gap.section, gap.code))
    plans = {
        (defect.index, finding.pieces, option.method, option.variant):
            Place(option.rank, option.whole.as_described, option.title)
        for defect in answer.defects
        for finding in defect.findings
        for option in finding.options
    }
    spent: dict[Key, Decimal] = {}
    for line in answer.job.lines:
        for key in (("resources", line.resource), ("norms", line.norm or "")):
            spent[key] = spent.get(key, NOTHING) + line.amount
    names = {defect.index: defect.id or str(defect.index + 1) for defect in answer.defects}
    return Result(plans, answer.job.total.as_described, None, names, spent)


def _alone(key: Key, old: Result, new: Result) -> Alone:
    if new.missing is not None:
        return Alone(key, NOTHING, {}, moves_ranks=True, changes_first=True, missing=new.missing)
    moves = {
        plan: new.plans[plan].whole - place.whole
        for plan, place in old.plans.items()
        if plan in new.plans and new.plans[plan].whole != place.whole
    }
    return Alone(key, new.total - old.total, moves, old.order() != new.order(), old.first() != new.first())


def _with(before: RateBook, after: RateBook, key: Key) -> RateBook:
    """The old book with one line of the new one, or without a line that is gone, or with the new count of the yard."""
    if key == STOCK:
        return replace(before, yard=after.yard)
    others = {k: v for k, v in before.lines.items() if k != key}
    line = after.lines.get(key)
    return replace(before, lines=others if line is None else {**others, key: line})


def _value(line: Line | None) -> tuple[object, ...] | None:
    return None if line is None else (line.unit, line.low, line.likely, line.high, line.kind)


def _likely_effect(key: Key, change: tuple[Line | None, Line | None], old: Result) -> float:
    """A guess at what a line does to a job: how much it changed, times the money that it is named for.

    What stands at no price line (tax, lives, weights) may work on all of it.
    """
    size = _size(*change)
    named = key[0] in ("resources", "norms")
    return size if size == float("inf") else size * float(old.spent.get(key, NOTHING) if named else old.total)


def _size(old: Line | None, new: Line | None) -> float:
    """How much a line changed, as a share; a line that comes, goes or leaves zero counts as much as can be."""
    if old is None or new is None or old.likely == 0:
        return float("inf")
    ends = [(o, n) for o, n in ((old.low, new.low), (old.likely, new.likely), (old.high, new.high)) if o]
    return max(abs(float(n / o) - 1.0) for o, n in ends)
