"""From what stands in the way of a publication to a problem that says so, line by line."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from service.application.judging import in_words, named
from service.application.publishing import (
    BackdatedError,
    ConfirmationNeededError,
    DraftOutdatedError,
    Moved,
    NothingChangesError,
    PublishRefusedError,
    Question,
    UnknownNumberError,
)
from service.application.rebasing import Conflict, ConflictsError
from service.web import limits
from service.web.problems import Fault, Trouble, problem

REBASE = "POST to the draft's rebase moves it onto the newest revision; then publish it again."


def _outdated(e: DraftOutdatedError) -> Trouble:
    by = "; ".join(
        f"revision {s.number} by {s.name or s.who} on {s.published_at:%Y-%m-%d %H:%M} UTC ({s.why})" for s in e.since[-5:]
    )
    earlier = f" The last 5 of {len(e.since)} are named." if len(e.since) > 5 else ""
    base = "no revision" if e.base is None else f"revision {e.base}"
    detail = f"The draft is based on {base}. Since then: {by}.{earlier} {_counted(e.moved)} {REBASE}"
    return problem("draft-outdated", detail, errors=[_moved(m) for m in e.moved[: limits.ERRORS]])


def _counted(moved: Sequence[Moved]) -> str:
    here_too = sum(m.here_too for m in moved)
    lines = "1 line moved" if len(moved) == 1 else f"{len(moved)} lines moved"
    return f"{lines}, {here_too} of which the draft changes too."


def _moved(m: Moved) -> Fault:
    also = " The draft changes it too." if m.here_too else ""
    detail = f"{named(m.key)}: {in_words(m.before)} became {in_words(m.after)} in revision {m.by.number}.{also}"
    return Fault(detail, None, "moved_here_too" if m.here_too else "moved")


def _refused(e: PublishRefusedError) -> Trouble:
    faults = [Fault(f.text, None, f.code.replace("-", "_")) for f in e.faults]
    what = "1 line stands" if len(faults) == 1 else f"{len(faults)} lines stand"
    more = f" {_asked(e.questions)} besides." if e.questions else ""
    faults += [_question(q) for q in e.questions]
    return problem("publish-refused", f"{what} in the way.{more}", errors=faults[: limits.DECISIONS])


def _needed(e: ConfirmationNeededError) -> Trouble:
    detail = f"{_asked(e.questions)}. Send the request again with the tokens of what is meant in confirmed."
    return problem("confirmation-needed", detail, errors=[_question(q) for q in e.questions[: limits.DECISIONS]])


def _asked(questions: Sequence[Question]) -> str:
    return "1 thing has to be confirmed" if len(questions) == 1 else f"{len(questions)} things have to be confirmed"


def _question(q: Question) -> Fault:
    return Fault(q.text, None, "confirm", token=q.token)


def _nothing(e: NothingChangesError) -> Trouble:
    return problem("nothing-changes", f"On {e.day} revision {e.number} is in force, and it holds the same lines.")


def _backdated(e: BackdatedError) -> Trouble:
    detail = f"effective is {e.day}, and today is {e.today}: quotes have been given at the rates of that day. "
    detail += "Publish for today or later; only the head office may publish for a day that is past."
    return problem("backdated", detail, errors=[Fault(f"must not be before {e.today}.", "#/effective", "backdated")])


def _number(e: UnknownNumberError) -> Trouble:
    return problem("unknown-revision", f"{e.region} has published no revision {e.number}.")


def _conflicts(e: ConflictsError) -> Trouble:
    faults = [_conflict(c) for c in e.conflicts]
    faults += [
        Fault(f"{named(key)} was not changed on both sides, or stands in keep and in take.", None, "not_in_conflict")
        for key in e.unasked
    ]
    one = len(e.conflicts) == 1
    detail = f"{len(e.conflicts)} {'line was' if one else 'lines were'} changed on both sides and not decided."
    return problem("rebase-conflicts", detail, errors=faults[: limits.DECISIONS])


def _conflict(c: Conflict) -> Fault:
    detail = (
        f"{named(c.key)}: it was {in_words(c.base)}; the draft has {in_words(c.draft)}, the newest revision "
        f"{in_words(c.newest)}. Name it in keep or in take."
    )
    return Fault(detail, None, "conflict", token=named(c.key))


PUBLISHING: Mapping[type[Exception], Callable[..., Trouble]] = {
    DraftOutdatedError: _outdated,
    PublishRefusedError: _refused,
    ConfirmationNeededError: _needed,
    NothingChangesError: _nothing,
    BackdatedError: _backdated,
    UnknownNumberError: _number,
    ConflictsError: _conflicts,
}
"""What may stand in the way of a publication."""
