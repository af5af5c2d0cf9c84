"""Bytes to a request: straight into the structs when all is well; every fault named, with its place, when not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from itertools import islice
from typing import Any, TypeVar

import msgspec
from msgspec import inspect

from service.application.plain_text import unseen_in
from service.web import limits
from service.web.days import day_in
from service.web.doubled import doubled_in
from service.web.problems import Fault, ProblemError, problem
from service.web.quantities import QuantityError, read
from service.web.requests import REGION_FORM, REVISION_FORM, RequestTypes

CONTROL = re.compile(
    rb"\\(?:[bfnrt]|u(?:00[0189]|007[fF]|200[bB]|20[26]|[fF][eE][fF][fF]|[fF]{3}[9a-bA-B]))"
    rb"|[\x7f\xef]|\xc2[\x80-\x9f]|\xe2(?:\x80[\x8b\xa8-\xae]|\x81)"
)
"""Where a body may hold characters that cannot be seen, escaped or not: it is looked at again (control characters below
U+0020 come only escaped; what is wider here than what is refused costs time and no more)."""

Path = tuple[str | int, ...]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Wrong:
    """One fault of the form: where, and what is wrong with it."""

    path: Path
    detail: str


class RequestReader:
    """Reads bodies of one request type."""

    def __init__(self, types: RequestTypes) -> None:
        """Prepare the decoder and the tree of types for the slow path."""
        self._type = types.request
        self._decoder = msgspec.json.Decoder(types.request)
        self._tree = inspect.type_info(types.request)

    def read(self, body: bytes) -> Any:
        """The request.

        Raises:
            ProblemError: 400, with every fault and a pointer to it.
        """
        if not body.strip():
            raise ProblemError(problem("malformed-json", "The body is empty; a request is a JSON object."))
        try:
            request = self._decoder.decode(body)
        except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
            return self._again(body)
        if CONTROL.search(body) or doubled_in(body) or not _plain(request):
            return self._again(body)
        return request

    def faults(self, body: bytes) -> list[Wrong]:
        """All faults of the form of a body that is JSON."""
        return _first(_faults(body, msgspec.json.decode(body), self._tree))

    def _again(self, body: bytes) -> Any:
        """The slow path: JSON as it is, then every fault by name."""
        tree = _parse(body)
        wrong = _first(_faults(body, tree, self._tree))
        if wrong:
            raise invalid(wrong)
        # JSON Schema calls 5.0 a whole number; the strict decoder does not.
        return msgspec.convert(_whole(tree), self._type, strict=True)


def read_body(body: bytes, kind: type[T]) -> T:
    """A body of an edit, always by the slow path: edits are rare, and every form is held.

    Raises:
        ProblemError: 400, with every fault and a pointer to it.
    """
    if not body.strip():
        raise ProblemError(problem("malformed-json", "The body is empty; a request is a JSON object."))
    tree = _parse(body)
    wrong = _first(_faults(body, tree, _tree_of(kind)))  # type: ignore[arg-type]  # a class can be hashed
    if wrong:
        raise invalid(wrong)
    return msgspec.convert(_whole(tree), kind, strict=True)


@lru_cache(maxsize=64)
def _tree_of(kind: type) -> inspect.Type:
    """The tree of a type. Making it takes longer than reading most bodies."""
    return inspect.type_info(kind)


def invalid(wrong: list[Wrong]) -> ProblemError:
    """The problem that names these faults."""
    shown = [Fault(w.detail, pointer(w.path), None) for w in wrong[: limits.ERRORS]]
    more = f" The first {limits.ERRORS} are listed." if len(wrong) > limits.ERRORS else ""
    many = f"More than {limits.ERRORS}" if more else len(wrong)
    what = "1 field is" if len(wrong) == 1 else f"{many} fields are"
    return ProblemError(problem("invalid-request", f"{what} not in the form of the contract.{more}", errors=shown))


def _faults(body: bytes, tree: Any, kind: inspect.Type) -> Iterator[Wrong]:
    """Every fault of the form: names that stand twice, then the values."""
    yield from (Wrong(path, "stands twice in its object. Send it once.") for path in doubled_in(body))
    yield from _walk(tree, kind, ())


def _first(wrong: Iterator[Wrong]) -> list[Wrong]:
    """As many faults as are told, and one more: to find what tens of thousands of fields were meant to be takes seconds."""
    return list(islice(wrong, limits.ERRORS + 1))


def pointer(path: Path) -> str:
    """RFC 6901 pointer as a URI fragment."""
    return "#" + "".join("/" + _escaped(str(part)) for part in path)


def _escaped(part: str) -> str:
    # Deferred: only needed when something is wrong.
    from urllib.parse import quote

    return quote(part.replace("~", "~0").replace("/", "~1"), safe="~!$&'()*+,;=:@", errors="replace")


def _parse(body: bytes) -> Any:
    try:
        return msgspec.json.decode(body)
    except UnicodeDecodeError as fault:
        detail = f"The body is not UTF-8: byte {fault.start} of a text cannot be read."
    except RecursionError:
        detail = "The body is nested deeper than any request is."
    except msgspec.DecodeError as fault:
        detail = f"The body is not JSON: {fault}."
    raise ProblemError(problem("malformed-json", detail))


def _plain(request: Any) -> bool:
    """The forms and days that the decoder does not hold."""
    return (
        re.fullmatch(REGION_FORM, request.region) is not None
        and (request.rates is msgspec.UNSET or re.fullmatch(REVISION_FORM, request.rates) is not None)
        and (request.priced_on is msgspec.UNSET or _in_days(request.priced_on))
        and (request.wishes is msgspec.UNSET or request.wishes.latest is msgspec.UNSET or _in_days(request.wishes.latest))
        and all(c.on is msgspec.UNSET or _in_days(c.on) for d in request.defects if d.causes for c in d.causes)
    )


def _in_days(day: date) -> bool:
    return limits.FIRST_DAY <= day <= limits.LAST_DAY


def _whole(tree: Any) -> Any:
    """Floats without a fraction as whole numbers."""
    if isinstance(tree, dict):
        return {k: _whole(v) for k, v in tree.items()}
    if isinstance(tree, list):
        return [_whole(v) for v in tree]
    return int(tree) if isinstance(tree, float) and tree.is_integer() else tree


# ---- the slow path: a value against its type ---------------------------------------------------------------------------


def _walk(value: Any, kind: inspect.Type, path: Path, meta: inspect.Metadata | None = None) -> Iterator[Wrong]:
    """Every fault of a value."""
    match kind:
        case inspect.Metadata():
            yield from _walk(value, kind.type, path, kind)
        case inspect.UnionType():
            yield from _walk_union(value, kind, path)
        case inspect.StructType():
            yield from _walk_struct(value, kind, path)
        case inspect.ListType():
            yield from _walk_list(value, kind, path)
        case _:
            detail = _scalar(value, kind, meta)
            if detail:
                yield Wrong(path, detail)


def _walk_union(value: Any, kind: inspect.UnionType, path: Path) -> Iterator[Wrong]:
    """One value, or a list with one a piece, or null where that says something."""
    if value is None and any(isinstance(m, inspect.NoneType) for m in kind.types):
        return
    of_list = [m for m in kind.types if isinstance(_bare(m), inspect.ListType)]
    others = [m for m in kind.types if m not in of_list and not isinstance(m, inspect.NoneType)]
    if isinstance(value, list) and of_list:
        yield from _walk(value, of_list[0], path)
    else:
        yield from _walk(value, (others or of_list)[0], path)


def _bare(kind: inspect.Type) -> inspect.Type:
    return _bare(kind.type) if isinstance(kind, inspect.Metadata) else kind


def _walk_struct(value: Any, kind: inspect.StructType, path: Path) -> Iterator[Wrong]:
    if not isinstance(value, dict):
        yield Wrong(path, f"must be an object, not {_named(value)}.")
        return
    fields = {f.encode_name: f for f in kind.fields}
    for name, field in fields.items():
        if name in value:
            yield from _walk(value[name], field.type, (*path, name))
        elif field.required:
            yield Wrong((*path, name), "is missing.")
    for name in value:
        if name not in fields:
            yield Wrong((*path, name), f"is not a field of {kind.cls.__name__}.{_did_you_mean(name, fields)}")


def _did_you_mean(name: str, fields: dict[str, inspect.Field]) -> str:
    # Deferred: only needed when something is wrong.
    from difflib import get_close_matches

    near = get_close_matches(name, fields, n=2, cutoff=0.7)
    return f" Did you mean {' or '.join(near)}?" if near else ""


def _walk_list(value: Any, kind: inspect.ListType, path: Path) -> Iterator[Wrong]:
    if not isinstance(value, list):
        yield Wrong(path, f"must be a list, not {_named(value)}.")
        return
    if kind.min_length and len(value) < kind.min_length:
        yield Wrong(path, "must not be empty.")
    if kind.max_length is not None and len(value) > kind.max_length:
        yield Wrong(path, f"has {len(value)} entries; at most {kind.max_length} are taken.")
        return
    for k, one in enumerate(value):
        yield from _walk(one, kind.item_type, (*path, k))


def _scalar(value: Any, kind: inspect.Type, meta: inspect.Metadata | None) -> str:
    """What is wrong with a plain value; "" for nothing."""
    match kind:
        case inspect.StrType():
            return _text(value, kind, meta)
        case inspect.IntType():
            return _integer(value, kind)
        case inspect.FloatType():
            if isinstance(value, bool) or not isinstance(value, (int, float)):
                return f"must be a number, not {_named(value)}."
            return _bounds(value, kind)
        case inspect.BoolType():
            return "" if isinstance(value, bool) else f"must be true or false, not {_named(value)}."
        case inspect.LiteralType():
            known = isinstance(value, str) and value in kind.values
            return "" if known else f"must be one of {', '.join(map(str, kind.values))}, not {_named(value)}."
        case inspect.DateType():
            return _day(value)
    raise AssertionError(f"a request has no {kind}")


def _text(value: Any, kind: inspect.StrType, meta: inspect.Metadata | None) -> str:
    dimension = (meta.extra or {}).get("dimension") if meta else None
    if dimension:
        return _quantity(value, dimension)
    if not isinstance(value, str):
        return f"must be a text in quotation marks, not {_named(value)}."
    if kind.min_length and len(value) < kind.min_length:
        return "must not be empty."
    if kind.max_length is not None and len(value) > kind.max_length:
        return f"has {len(value)} characters; at most {kind.max_length} are taken."
    unseen = unseen_in(value)
    if unseen:
        return f"holds a control character ({unseen})."
    form = (meta.extra_json_schema or {}).get("pattern") if meta else None
    if form is None or _form(form).fullmatch(value):
        return ""
    words = (meta.extra or {}).get("form") if meta else None
    return f"must be {words}, not {_named(value)}." if words else f"is not of the form {form}."


@lru_cache(maxsize=64)
def _form(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern.removesuffix("$"))


def _quantity(value: Any, dimension: str) -> str:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        value = _figures(value)
    elif not isinstance(value, str):
        return f"must be a text with its unit, not {_named(value)}."
    try:
        read(value, dimension, "in" if dimension == "length" else "")
    except QuantityError as fault:
        return str(fault)
    return ""


def _figures(value: float) -> str:
    """A number in short, also one that is too long for a float."""
    try:
        return f"{value:g}"
    except OverflowError:
        return f"{str(value)[:8]}…"


def _in_full(bound: float) -> str:
    """A bound as people write it, in full."""
    return f"{bound:.0f}" if bound == int(bound) else f"{bound:g}"


def _integer(value: Any, kind: inspect.IntType) -> str:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or value != int(value):
        return f"must be a whole number, not {_named(value)}."
    return _bounds(value, kind)


def _bounds(value: float, kind: inspect.IntType | inspect.FloatType) -> str:
    if kind.ge is not None and value < kind.ge:
        return f"must be at least {_in_full(kind.ge)}."
    if kind.le is not None and value > kind.le:
        return f"must be at most {_in_full(kind.le)}."
    return ""


def _day(value: Any) -> str:
    if isinstance(value, str) and day_in(value):
        return ""
    return f"must be a day like 2026-05-04, from {limits.FIRST_DAY} to {limits.LAST_DAY}, not {_named(value)}."


def _named(value: Any) -> str:
    """A value in words, short."""
    match value:
        case None:
            return "null"
        case bool():
            return "true" if value else "false"
        case str():
            return repr(value if len(value) <= 40 else value[:40] + "…")
        case int() | float():
            return f"the number {_figures(value)}"
        case list():
            return "a list"
    return "an object"
