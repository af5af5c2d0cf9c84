"""What a line of a draft must be, and what changes make of lines."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.application.draft_lines import (
    FIELDS,
    MOST_LINES,
    OFFERED,
    Change,
    Ground,
    LineFault,
    RefusedLinesError,
    changed,
    replaced,
)
from service.application.drafts import difference
from service.application.inheritance import LineKey, Lines, laid_over
from service.engine.rates import KINDS, Line

LEAD, FIXED = ("resources", "lead"), ("norms", "log_partial.fixed")
HOLD: dict[str, Any] = {"unit": "h", "source": "test", "what": "words", "kind": "labour"}


def line(key: LineKey = LEAD, likely: str = "10", region: str = "base", **changed_to: Any) -> Line:
    """A plain line; of a norm where the key says so."""
    values = {**HOLD, "low": Decimal(5), "likely": Decimal(likely), "high": Decimal(20), **changed_to}
    values["kind"] = changed_to.get("kind", "labour" if key[0] == "resources" else "")
    return Line(*key, region=region, **values)


def held(*lines: Line) -> dict[LineKey, Line]:
    return {(x.section, x.code): x for x in lines}


def ground(own: Lines | None = None, base: Lines | None = None, above: Lines | None = None, *, top: bool = False) -> Ground:
    """An office below a base that holds `lead` and a norm; it holds no line itself unless told so."""
    own = own or {}
    there = held(line(), line(FIXED)) if above is None else above
    return Ground("office", own, own if base is None else base, {} if top else there, top)


def whole(key: LineKey = LEAD, **changed_to: Any) -> Change:
    given_fields = {n: getattr(line(key), n) for n in FIELDS if n != "locked"} | changed_to
    return Change(*key, {n: v for n, v in given_fields.items() if v != "left out"}, whole=True)


def refused(on: Ground, *changes: Change) -> tuple[LineFault, ...]:
    with pytest.raises(RefusedLinesError) as faults:
        changed(on, changes)
    return faults.value.faults


def test_fields_that_are_not_given_are_inherited() -> None:
    own = changed(ground(), [Change(*LEAD, {"likely": Decimal("12.50")})])
    assert own == held(line(likely="12.50", region="office"))


def test_fields_that_are_not_given_stay_where_the_region_has_the_line_itself() -> None:
    mine = line(likely="12", region="office", what="ours", locked=True)
    own = changed(ground(held(mine)), [Change(*LEAD, {"low": Decimal(6)})])
    assert own[LEAD] == line(likely="12", region="office", what="ours", locked=True, low=Decimal(6))


def test_a_whole_line_keeps_nothing_of_what_was_there() -> None:
    mine = line(likely="12", region="office", locked=True)
    assert changed(ground(held(mine)), [whole()])[LEAD] == line(region="office")
    assert [f.field for f in refused(ground(held(mine)), whole(what="left out", high="left out", kind="left out"))] == [
        "high", "kind", "what",
    ]


def test_a_lock_above_is_not_taken_for_ones_own() -> None:
    above = held(line(FIXED, locked=False), line())
    assert changed(ground(above=above), [Change(*LEAD, {"likely": Decimal(11)})])[LEAD].locked is False


@pytest.mark.parametrize(("given_fields", "field", "code"), [
    ({"low": Decimal(11)}, "low", "order"), ({"high": Decimal(9)}, "high", "order"), ({"low": Decimal(-1)}, "low", "negative"),
    ({"likely": Decimal("NaN")}, "likely", "bad_number"), ({"high": Decimal("Infinity")}, "high", "bad_number"),
    ({"high": Decimal(10) ** 12}, "high", "bad_number"), ({"low": Decimal("0.0000000001")}, "low", "bad_number"),
    ({"likely": Decimal("-Infinity")}, "likely", "bad_number"), ({"likely": Decimal("sNaN")}, "likely", "bad_number"),
    ({"unit": "d"}, "unit", "wrong_unit"), ({"unit": " "}, "unit", "empty"), ({"kind": ""}, "kind", "bad_kind"),
    ({"kind": "magic"}, "kind", "bad_kind"), ({"what": ""}, "what", "empty"), ({"what": "x" * 301}, "what", "too_long"),
    ({"source": "a\nb"}, "source", "control_character"), ({"source": "a\x85b"}, "source", "control_character"),
    ({"source": "\ud800"}, "source", "control_character"), ({"what": "x\0"}, "what", "control_character"),
])
def test_a_field_that_cannot_be_is_named(given_fields: dict[str, Any], field: str, code: str) -> None:
    for change in (Change(*LEAD, given_fields), whole(**given_fields)):
        (fault,) = refused(ground(), change)
        assert (fault.place, fault.field, fault.code) == (0, field, code)


def test_the_right_unit_is_named() -> None:
    (fault,) = refused(ground(), Change(*LEAD, {"unit": "d"}))
    assert "must be h, as base has it" in fault.reason


def test_the_top_region_keeps_its_units_too() -> None:
    (fault,) = refused(ground(held(line()), top=True), Change(*LEAD, {"unit": "d"}))
    assert fault.code == "wrong_unit"


@pytest.mark.parametrize(("section", "unit", "may"), [
    ("norms", "h", False), ("waits", "degF", True), ("climate", "degF", True), ("climate", "%", False),
    ("terms", "fraction", False), ("terms", "fraction", True), ("lives", "yr", False),
])
def test_only_temperatures_and_markups_may_be_below_zero(section: str, unit: str, may: bool) -> None:
    key = (section, "markup.wood" if may and section == "terms" else "some.code")
    own = held(line(key, likely="1", unit=unit, low=Decimal(1), high=Decimal(1)))
    on, change = ground(above=own), Change(*key, {"low": Decimal("-0.5")})
    if may:
        assert changed(on, [change])[key].low == Decimal("-0.5")
    else:
        assert [f.code for f in refused(on, change)] == ["negative"]


def test_a_kind_stands_at_resources_only() -> None:
    (fault,) = refused(ground(), Change(*FIXED, {"kind": "labour"}))
    assert (fault.field, fault.code) == ("kind", "bad_kind")
    assert changed(ground(), [Change(*FIXED, {"kind": ""})])[FIXED].kind == ""


@pytest.mark.parametrize(("key", "code"), [
    (("wages", "lead"), "unknown_section"), (("resources", "Lead"), "bad_code"), (("resources", "lead\n"), "bad_code"),
    (("resources", "x" * 81), "bad_code"), (("resources", "leed"), "unknown_code"), (("norms", "lead"), "unknown_code"),
])
def test_a_line_that_nobody_knows_is_refused(key: LineKey, code: str) -> None:
    (fault,) = refused(ground(), whole(key))
    assert fault.code == code


def test_codes_near_an_unknown_one_are_offered() -> None:
    assert "Did you mean lead?" in refused(ground(), whole(("resources", "leed")))[0].reason
    assert "log_partial.fixed" in refused(ground(), Change("norms", "fixed"))[0].reason
    assert "one of resources" in refused(ground(), Change("norms", "lead"))[0].reason


def test_a_line_that_only_the_region_has_stays_known_to_it() -> None:
    own = held(line(("resources", "ice_climber"), region="office"))
    change = Change("resources", "ice_climber", {"likely": Decimal(11)})
    assert changed(ground(own), [change])["resources", "ice_climber"].likely == 11


def test_a_line_that_is_locked_above_can_be_taken_out_and_nothing_else() -> None:
    on = ground(held(line(region="office")), above=held(line(locked=True)))
    (fault,) = refused(on, Change(*LEAD, {"likely": Decimal(11)}))
    assert fault.code == "line_locked" and "locked by base" in fault.reason
    assert changed(on, [Change(*LEAD, inherit=True)]) == {}


def test_what_would_be_missing_everywhere_is_not_taken_out() -> None:
    top = ground(held(line(), line(FIXED)), top=True)
    assert [f.code for f in refused(top, Change(*LEAD, inherit=True))] == ["gap"]
    new = Ground("base", held(line()), {}, {}, top=True)
    assert changed(new, [Change(*LEAD, inherit=True)]) == {}
    with pytest.raises(RefusedLinesError, match="gap"):
        replaced(top, [whole()])


def test_a_line_that_the_region_does_not_have_cannot_be_taken_out() -> None:
    assert [f.code for f in refused(ground(), Change(*LEAD, inherit=True))] == ["not_own"]


def test_nothing_else_is_said_of_a_line_that_is_to_be_inherited() -> None:
    change = Change(*LEAD, {"likely": Decimal(11)}, inherit=True)
    assert [(f.field, f.code) for f in refused(ground(held(line(region="office"))), change)] == [
        ("inherit", "inherit_and_fields"),
    ]


def test_thousands_of_unknown_codes_are_all_named_and_near_ones_offered_for_the_first() -> None:
    faults = refused(ground(), *(whole(("resources", f"lead{n}")) for n in range(MOST_LINES)))
    assert len(faults) == MOST_LINES
    assert ["Did you mean" in fault.reason for fault in faults] == [n < OFFERED for n in range(MOST_LINES)]


def test_all_faults_of_all_changes_are_named_and_none_is_made() -> None:
    faults = refused(ground(), whole(low=Decimal(11), unit="d"), whole(("norms", "x")), whole(), Change(*FIXED, inherit=True))
    assert [(f.place, f.field) for f in faults] == [(0, "unit"), (0, "low"), (1, "code"), (2, "code"), (3, "code")]


def test_null_brings_back_what_is_inherited_and_is_refused_where_nothing_is() -> None:
    mine = held(line(likely="12", region="office", what="ours", locked=True))
    back = changed(ground(mine), [Change(*LEAD, {"likely": None, "what": None, "locked": None})])
    assert back[LEAD] == line(region="office")
    top = ground(held(line()), top=True)
    assert [(f.field, f.code) for f in refused(top, Change(*LEAD, {"likely": None}))] == [("likely", "nothing_inherited")]


def test_a_number_that_is_written_in_another_way_is_no_change() -> None:
    mine = line(likely="12.50", region="office")
    own = changed(ground(held(mine)), [whole(likely=Decimal("12.5"))])
    assert str(own[LEAD].likely) == "12.50"


def test_a_region_holds_so_many_lines_and_no_more() -> None:
    changes = [whole(("norms", f"n{n}")) for n in range(MOST_LINES + 1)]
    assert [(f.place, f.code) for f in refused(ground(top=True), *changes)] == [(None, "too_many_lines")]
    assert len(changed(ground(top=True), changes[1:])) == MOST_LINES


# ---- properties ------------------------------------------------------------------------------------------------------------

KEYS = [(section, code) for section in ("resources", "norms") for code in ("lead", "helper", "a.b")]
BAD = st.sampled_from([Decimal("NaN"), Decimal("1e20"), Decimal("1e-12"), Decimal(-1), Decimal(8), None])


def _number(low: int, high: int) -> st.SearchStrategy[Decimal | None]:
    good = st.decimals(low, high, places=1)
    return st.one_of(good, good, good, good, BAD)


WORDS = st.sampled_from(["words", " more words ", "words", "", "a\tb", None])
FIELD: dict[str, st.SearchStrategy[Any]] = {
    "unit": st.sampled_from(["h", "h", " h ", "d", "", None]), "low": _number(0, 6), "likely": _number(6, 19),
    "high": _number(19, 30), "locked": st.booleans() | st.none(), "source": WORDS, "what": WORDS,
}
ODD = st.fixed_dictionaries({}, optional=FIELD | {"kind": st.sampled_from([*KINDS, "", "x", None])})
EVEN = st.fixed_dictionaries({}, optional={n: FIELD[n] for n in ("low", "likely", "high", "locked")})
GIVEN = st.one_of(EVEN, EVEN, ODD)
SELDOM = st.sampled_from([False, False, False, False, True])


def _change(key: LineKey, said: dict[str, Any], *, whole: bool, inherit: bool) -> Change:
    return Change(key[0], key[1], said, whole=whole, inherit=inherit)


CHANGES = st.lists(
    st.builds(_change, st.sampled_from([*KEYS * 2, ("norms", "nowhere")]), GIVEN, whole=SELDOM, inherit=SELDOM),
    min_size=1, max_size=3,
)
LINES = st.lists(st.sampled_from(KEYS), unique=True).flatmap(
    lambda keys: st.tuples(*(st.builds(line, st.just(key), st.sampled_from(["6", "10", "19"]), locked=st.booleans())
                             for key in keys)).map(lambda lines: held(*lines)))


@given(LINES, LINES, LINES, CHANGES, st.booleans())
def test_whatever_is_asked_lines_that_come_out_could_be_published(
    own: Lines, base: Lines, above: Lines, changes: list[Change], top: bool
) -> None:
    on = Ground("office", own, base, {} if top else above, top)
    try:
        made = changed(on, changes)
    except RefusedLinesError as refusal:
        places = [fault.place for fault in refusal.faults]
        made = dict(own)
    else:
        places = []
    assert all(place is not None and 0 <= place < len(changes) for place in places)
    for key, x in made.items():
        if own.get(key) != x:
            assert x.low.is_finite() and x.low <= x.likely <= x.high and x.low >= 0
            assert (x.kind in KINDS) == (x.section == "resources")
            assert x.unit and x.what and x.source and x.region == "office"
            assert not (key in on.above and on.above[key].locked)
            assert on.model(key) is None or on.model(key).unit == x.unit  # type: ignore[union-attr]  # it is there
    assert all(key in made or not on.leaves_gap(key) for key in own)


@given(LINES, LINES, LINES)
def test_a_difference_is_what_leads_from_one_book_to_the_other(base: Lines, own: Lines, above: Lines) -> None:
    moved = difference(base, own, above)
    assert {m.key for m in moved} == {key for key in {*base, *own} if base.get(key) != own.get(key)}
    was, becomes = laid_over(above, base), laid_over(above, own)
    for m in moved:
        assert (m.before, m.after) == (was.get(m.key), becomes.get(m.key))
        assert (m.how == "added") == (m.key not in base)
        assert (m.how == "taken_out") == (m.key not in own)


@given(LINES, LINES, LINES)
def test_a_line_that_is_locked_on_top_counts_whatever_is_below(top: Lines, middle: Lines, last: Lines) -> None:
    counts = laid_over(laid_over(top, middle), last)
    for key, x in top.items():
        if x.locked:
            assert counts[key] is x
    for key, x in last.items():
        above = laid_over(top, middle).get(key)
        assert (counts[key] is x) == (above is None or not above.locked or above is x)


@given(LINES, LINES)
def test_putting_back_what_is_there_changes_nothing(own: Lines, above: Lines) -> None:
    free = {key: x for key, x in own.items() if not (key in above and above[key].locked)}
    on = Ground("base", free, free, above, top=True)
    lines = [Change(*key, {n: getattr(x, n) for n in FIELDS}, whole=True) for key, x in free.items()]
    assert replaced(on, lines) == free
