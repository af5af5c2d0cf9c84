"""What is wrong with lines of a draft, as a problem with the place of each fault."""

from __future__ import annotations

from collections.abc import Sequence

from service.application.draft_lines import LineFault
from service.web import cells, limits
from service.web.decoding import Path, pointer
from service.web.problems import Fault, ProblemError, problem


def refused_lines(faults: Sequence[LineFault], base: Path | None) -> ProblemError:
    """The problem that names what is wrong with lines.

    Args:
        faults: what is wrong.
        base: where the list of changes stands in the body; None where the body is one line's.
    """
    slug = "line-locked" if any(fault.code == "line_locked" for fault in faults) else "invalid-lines"
    more = f" The first {limits.ERRORS} are listed." if len(faults) > limits.ERRORS else ""
    what = _sentence(faults[0]) if len(faults) == 1 else f"{len(faults)} things are wrong with the lines.{more}"
    listed = [Fault(f.reason, _pointer(f, base), f.code) for f in faults[: limits.ERRORS]]
    return ProblemError(problem(slug, what, errors=listed))


def _sentence(fault: LineFault) -> str:
    """A fault that stands alone: with its field and its value where its reason says neither."""
    if fault.reason[0].isupper():
        return fault.reason
    value = f" {cells.shown(fault.value)!r}" if fault.value else ""
    return f"{fault.field.capitalize()}{value} {fault.reason}"


def _pointer(fault: LineFault, base: Path | None) -> str | None:
    if base is None:
        return None if fault.field in ("", "section", "code") else pointer((fault.field,))
    place: Path = () if fault.place is None else (fault.place, *([fault.field] if fault.field else []))
    return pointer((*base, *place))
