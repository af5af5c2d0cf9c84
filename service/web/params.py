"""What the addresses of rates take in their paths and queries, and cursors for lists that are asked for in many ways.

A cursor is opaque to callers. It holds the place where the page ended, and a digest of the question, so that it is not taken
on to another one.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import partial

from service.application.plain_text import UNSEEN
from service.engine.rates import SECTIONS
from service.web import limits
from service.web.access import unknown_region
from service.web.days import day_in
from service.web.http import Check
from service.web.paging import bad_cursor, bad_parameter, page_of
from service.web.problems import ProblemError, problem
from service.web.requests import REGION_FORM, REVISION_FORM

CURSOR_FORM = "[A-Za-z0-9_-]{1,1000}"
LINE_CODE = re.compile(r"[a-z0-9_.]{1,80}", re.ASCII)
NUMBER = re.compile(r"[1-9][0-9]{0,8}", re.ASCII)
LARGE_NUMBER = re.compile(r"[1-9][0-9]{0,17}", re.ASCII)
"""Of a draft, or of a report of hours: one row of numbers for all regions."""
NOT_WRITTEN = re.compile(rf"[{UNSEEN}]|[\ud800-\udfff]")
"""What no text may hold: characters that cannot be seen, and halves of a character."""

DECIMALS = ("point", "comma")
MEANT = "meant"

Place = tuple[str | int, ...]


def region_named(region: str) -> str:
    """The region of a path, if it has the form of one.

    Raises:
        ProblemError: 404.
    """
    if not re.fullmatch(REGION_FORM, region, re.ASCII) or len(region) > limits.CODE_CHARACTERS:
        raise ProblemError(unknown_region())
    return region


def line_named(section: str, code: str) -> tuple[str, str]:
    """The line of a path, if it has the form of one.

    Raises:
        ProblemError: 404.
    """
    if section not in SECTIONS:
        raise ProblemError(problem("unknown-line", f"A book has no such section; it has {', '.join(SECTIONS)}."))
    if not LINE_CODE.fullmatch(code):
        raise ProblemError(problem("unknown-line", "No line has such a code: lower-case letters, digits, _ and . only."))
    return section, code


def number_named(number: str) -> int:
    """The number of a revision in a path.

    Raises:
        ProblemError: 404.
    """
    if not NUMBER.fullmatch(number):
        raise ProblemError(problem("unknown-revision", "The region has no such revision; revisions count 1, 2, 3."))
    return int(number)


def draft_named(draft: str) -> int:
    """The number of a draft in a path.

    Raises:
        ProblemError: 404.
    """
    if not LARGE_NUMBER.fullmatch(draft):
        raise ProblemError(problem("unknown-draft", "Drafts are numbered; GET .../drafts lists those that are open."))
    return int(draft)


def text_check(name: str) -> Check:
    """What a short text of the query must be (see `text_of`)."""
    return partial(text_of, name=name)


def day_check(name: str = "on") -> Check:
    """What a day of the query must be (see `day_of`)."""
    return lambda asked: day_of(asked.get(name), lambda: limits.FIRST_DAY, name)


def revision_check(name: str = "rates") -> Check:
    """What a revision of the query must be (see `revision_of`)."""
    return lambda asked: revision_of(asked.get(name), name)


def text_of(asked: Mapping[str, str], name: str) -> str:
    """A short text of the query; "" where it is left out.

    Raises:
        ProblemError: 400.
    """
    said = asked.get(name, "").strip()
    if len(said) > limits.TEXT_CHARACTERS or NOT_WRITTEN.search(said):
        raise bad_parameter(name, f"must be at most {limits.TEXT_CHARACTERS} characters without control characters")
    return said


def day_of(text: str | None, today: Callable[[], date], name: str = "on") -> date:
    """The day of a parameter, `on` unless it has another name; left out: today.

    Raises:
        ProblemError: 400.
    """
    if text is None:
        return today()
    day = day_in(text)
    if day is None:
        raise bad_parameter(name, f"must be a day like 2026-05-04, from {limits.FIRST_DAY} to {limits.LAST_DAY}")
    return day


def revision_of(text: str | None, name: str = "rates") -> str | None:
    """A parameter that names a revision; None where it is left out.

    Raises:
        ProblemError: 400.
    """
    # A plus that was not escaped comes as a space, which no revision has.
    text = None if text is None else text.replace(" ", "+")
    if text is not None and not (re.fullmatch(REVISION_FORM, text) and len(text) <= limits.REVISION_CHARACTERS):
        raise bad_parameter(name, "must be a revision like base@1/kestrel-range@1, as an answer gave it")
    return text


def choice_of(asked: Mapping[str, str], name: str, known: Sequence[str]) -> str:
    """A parameter that takes one of a few words; "" where it is left out.

    Raises:
        ProblemError: 400.
    """
    given = asked.get(name)
    if given is not None and given not in known:
        raise bad_parameter(name, f"must be one of {', '.join(known)}")
    return given or ""


def comma_wanted(asked: Mapping[str, str]) -> bool:
    """Whether a sheet is wanted with decimal commas (`decimal=comma`). JSON always has points.

    Raises:
        ProblemError: 400.
    """
    return choice_of(asked, "decimal", DECIMALS) == "comma"


DECIMAL: Mapping[str, Check] = {"decimal": comma_wanted}
"""The query parameter of every address that answers with a sheet."""


def empty_meant(asked: Mapping[str, str]) -> bool:
    """Whether a sheet without rows is meant to take out whatever is there (`empty=meant`).

    Raises:
        ProblemError: 400.
    """
    return choice_of(asked, "empty", (MEANT,)) == MEANT


EMPTY: Mapping[str, Check] = {"empty": empty_meant}
"""The query parameter of every address that takes a sheet in place of what is there."""


def cursor_of(asked: Mapping[str, str], place: Place) -> str:
    """The cursor of the page after a place."""
    said = json.dumps([_question(asked), *place], separators=(",", ":")).encode()
    return base64.urlsafe_b64encode(said).decode().rstrip("=")


def place_of(asked: Mapping[str, str], kinds: tuple[type, ...]) -> Place | None:
    """The place that the parameter `cursor` names, its parts of these kinds; None where it is left out.

    Raises:
        ProblemError: 400 for a cursor that was not given here, or to another question.
    """
    given = page_of(asked, CURSOR_FORM).after
    if given is None:
        return None
    try:
        read = json.loads(base64.b64decode(given + "=" * (-len(given) % 4), altchars=b"-_", validate=True))
    except (ValueError, RecursionError):
        raise bad_cursor() from None
    if not isinstance(read, list) or [type(part) for part in read] != [str, *kinds]:
        raise bad_cursor()
    if read[0] != _question(asked):
        raise bad_parameter("cursor", "goes on with another question: send the other parameters as they were")
    return tuple(read[1:])


def _question(asked: Mapping[str, str]) -> str:
    others = sorted((name, value) for name, value in asked.items() if name not in ("cursor", "limit"))
    return hashlib.sha256(json.dumps(others).encode()).hexdigest()[:12]
