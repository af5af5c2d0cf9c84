"""Draws worlds at random: facts into a survey that knows everything, prices and norms into a rate book.

Nothing of the engine's own ranges is used: the quantiles are those of scipy's beta distribution, the points are
pseudo-random, and each world is handed on as plain, exact facts.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from zlib import crc32

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta

from service.engine.knowledge import FirstGuess, Knowledge
from service.engine.rates import Line, RateBook
from service.engine.survey import Defect, Span, Survey

Column = NDArray[np.float64]

COUNTED = frozenset({"course", "joists", "openings", "point_loads", "of", "treads"})
"""Facts that are counts: a world has a whole number of them."""
NOT_DRAWN = frozenset({"inner_face", "section_loss", "joist_spacing", "courses", "loose_length"})
"""Rows of the first guesses that are no number of the world: a chance, and what follows from other facts."""
INNER = "inner_face"
"""The one fact of these that is a yes or a no."""
TAKEN_AS_NEAR = ("truss",)
"""Families whose missing distance to a joint means that it is near, whatever the guess (R15)."""


def pert(low: float, likely: float, high: float, u: Column) -> Column:
    """PERT quantiles: the beta distribution with shape 4 (R19)."""
    if high <= low:
        return np.full_like(u, low)
    mode = (likely - low) / (high - low)
    quantiles: Column = low + (high - low) * beta.ppf(u, 1.0 + 4.0 * mode, 5.0 - 4.0 * mode)
    return quantiles


class FactDraws:
    """The facts of one defect in many drawn worlds."""

    def __init__(
        self, survey: Survey, book: RateBook, knowledge: Knowledge, count: int, rng: np.random.Generator,
        held: Mapping[str, Column] | None = None,
    ) -> None:
        """Draw every fact that the survey leaves open; one that is `held` has these values instead, a world each."""
        self.survey, self.book, self.knowledge, self.count, self.rng = survey, book, knowledge, count, rng
        self.defect: Defect = survey.defects[0]
        self.element = knowledge.elements[self.defect.element]
        self.damage = knowledge.damages[self.defect.damage]
        self.numbers: dict[str, Column] = {}
        self.held = held or {}
        for name in knowledge.facts:
            self._draw(name)
        self.seen = dict(self.numbers)
        self._grow()
        self.inner_soft = self._inner_face()
        if self.inner_soft is not None:
            if INNER in self.held:
                self.inner_soft = self.held[INNER] > 0.5
            self.seen[INNER] = self.inner_soft.astype(np.float64)

    def worlds(self) -> Iterator[Survey]:
        """One survey a world, every fact exact, cut out: nothing is left to grow."""
        for k in range(self.count):
            numbers = {n: (Span(float(v[k]), float(v[k])),) for n, v in self.numbers.items()}
            words = dict(self.defect.words)
            if self.inner_soft is not None:
                words["inner_face"] = ("soft" if self.inner_soft[k] else "sound",)
            yield replace(
                self.survey, level="cut_out", defects=(replace(self.defect, numbers=numbers, words=words),)
            )

    def _draw(self, name: str) -> None:
        if name in self.numbers or name in self.survey.house.numbers:
            return
        if name in self.held:
            self.numbers[name] = self.held[name]
            return
        if name in self.defect.numbers:
            said = self.defect.numbers[name][0]
            self.numbers[name] = said.low + (said.high - said.low) * self.rng.random(self.count)
            return
        if name in NOT_DRAWN:
            return
        near = name == "to_joint" and (self.element.family in TAKEN_AS_NEAR or self.element.code == "deck_ledger")
        guess = self._guess(name)
        if guess is None or near or (name == "depth" and self.damage.code == "through"):
            return
        drawn = pert(guess.low, guess.likely, guess.high, self.rng.random(self.count))
        if guess.of:
            self._draw(guess.of)
            drawn = drawn * self.numbers[guess.of]
        self.numbers[name] = np.round(drawn) if name in COUNTED else drawn

    def _guess(self, name: str) -> FirstGuess | None:
        """The first row that fits this member and this damage."""
        fits = (
            row
            for row in self.knowledge.first_guesses
            if row.fact == name
            and self.element.code in (row.elements or (self.element.code,))
            and self.element.family in (row.families or (self.element.family,))
            and self.damage.code in (row.damages or (self.damage.code,))
        )
        return next(fits, None)

    def _inner_face(self) -> NDArray[np.bool_] | None:
        """Whether the inner face is soft, where nobody looked and it may be: the deeper the rot, the likelier, up to a third."""
        words = self.defect.words
        looked = "inner_face" in words or words.get("side", ("",))[0] in ("top", "bottom", "both")
        guess = self._guess("inner_face")
        if looked or guess is None or not self.damage.decayed or self.damage.code == "through":
            return None
        chance = pert(guess.low, guess.likely, guess.high, self.rng.random(self.count))
        shallow = np.minimum(self.numbers["depth"] / self.numbers["section"] * 3.0, 1.0)
        soft: NDArray[np.bool_] = self.rng.random(self.count) < chance * shallow
        return soft

    def _grow(self) -> None:
        """Decay is larger than what showed, up to the size of the member and the next stop (R13)."""
        if not self.damage.decayed:
            return
        deeper, longer = self._growth("depth"), self._growth("length")
        if "depth" in self.numbers:
            self.numbers["depth"] = np.minimum(self.numbers["depth"] * deeper, self.numbers["section"])
        if "from_end" in self.numbers:
            self.numbers["from_end"] = self.numbers["from_end"] * deeper
        seen = self.numbers["length"]
        clear = self.numbers.get("clear_length", np.full(self.count, 1e6))
        self.numbers["length"] = np.minimum(seen * longer, np.maximum(clear, seen))
        for stop in ("stop_left", "stop_right"):
            if stop in self.numbers:
                more = (self.numbers["length"] - seen) / 2.0
                self.numbers[stop] = np.maximum(self.numbers[stop] - more, 0.0)

    def _growth(self, of: str) -> Column:
        row = self.book.line("norms", f"growth.{of}.{self.survey.level}")
        return pert(float(row.low), float(row.likely), float(row.high), self.rng.random(self.count))


def drawn_books(book: RateBook, count: int, rng: np.random.Generator) -> Iterator[RateBook]:
    """Rate books with drawn prices and norms: prices of one kind share their level, norms are independent (R19).

    Each line draws from numbers of its own, so that a row that is added to the book moves no other.
    """
    start = int(rng.integers(2**32))

    def own(name: str) -> Column:
        return np.random.default_rng([start, crc32(name.encode())]).random(count)

    levels = {kind: own(kind) for kind in sorted({line.kind for line in book.lines.values() if line.kind})}
    drawn: list[tuple[tuple[str, str], Line, Column]] = []
    for key, line in sorted(book.lines.items()):
        if line.low >= line.high or line.section not in ("resources", "norms") or line.code.startswith("growth."):
            continue
        u = levels[line.kind] if line.section == "resources" else own(f"{line.section} {line.code}")
        drawn.append((key, line, pert(float(line.low), float(line.likely), float(line.high), u)))
    for k in range(count):
        lines: dict[tuple[str, str], Line] = dict(book.lines)
        for key, line, values in drawn:
            lines[key] = _at(line, values[k])
        yield replace(book, lines=lines)


def _at(line: Line, value: float) -> Line:
    exact = Decimal(float(value))
    return Line(
        line.section, line.code, line.unit, exact, exact, exact, line.kind, line.region, line.source, line.what
    )

