"""What is gathered while a defect is looked over: slips, notes, and the facts that can be used."""

from __future__ import annotations

from service.engine.knowledge import Knowledge
from service.engine.outcome import Slip
from service.engine.survey import Defect, Span
from service.engine.words import Words


class Look:
    """One defect under the eye.

    Attributes:
        numbers, words, many: facts that can be used; what cannot is taken out.
        slips: bad values. notes: what was noticed. provisional: whether a contradiction has to be cleared up.
    """

    def __init__(self, defect: Defect, knowledge: Knowledge, write: Words) -> None:
        """Begin with everything that was said."""
        self.defect, self.knowledge, self.write = defect, knowledge, write
        self.numbers: dict[str, tuple[Span, ...]] = dict(defect.numbers)
        self.words: dict[str, tuple[str, ...]] = dict(defect.words)
        self.many: dict[str, tuple[str, ...]] = dict(defect.many)
        self.slips: list[Slip] = []
        self.notes: list[str] = []
        self.provisional = False

    @property
    def fatal(self) -> bool:
        """Whether a slip rejects the defect."""
        return any(s.fatal for s in self.slips)

    def slip(self, name: str, value: str, wrong: str, right: str, code: str, piece: int | None = None) -> None:
        """A slip that the price cannot survive."""
        self.slips.append(Slip(self._path(name, piece), value, wrong, right, code, fatal=True))

    def drop(self, name: str, value: str, wrong: str, right: str, code: str, piece: int | None = None) -> None:
        """A fact that is taken out; the defect is priced without it."""
        self.slips.append(Slip(self._path(name, piece), value, wrong, right, code, fatal=False))
        self.numbers.pop(name, None)
        self.words.pop(name, None)

    def unsure(self, note: str) -> None:
        """A contradiction that was settled towards the worse, said, and makes the answer provisional."""
        self.notes.append(note)
        self.provisional = True

    def span(self, name: str, piece: int = 0) -> Span | None:
        """What can be used of a number for one piece."""
        spans = self.numbers.get(name)
        if not spans:
            return None
        return spans[piece] if len(spans) > 1 else spans[0]

    def word(self, name: str) -> tuple[str, ...]:
        """What can be used of a word; empty where nothing was said."""
        return self.words.get(name, ())

    def _path(self, name: str, piece: int | None) -> tuple[str | int, ...]:
        spans = self.defect.numbers.get(name, ())
        return (name, piece) if piece is not None and len(spans) > 1 else (name,)
