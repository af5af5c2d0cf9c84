"""Every plan's lines, steps, clocks and wood agree with one another, whatever was asked."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from decimal import ROUND_HALF_UP, Decimal

import networkx as nx
from hypothesis import given

from service.engine.outcome import Option
from service.engine.survey import Survey
from tests.engine.books import book
from tests.engine.cases import knowledge
from tests.engine.properties.asking import ask, findings, options, tries
from tests.engine.properties.strategies import surveys

CENT = Decimal("0.01")


def kind(resource: str) -> str:
    """Kind of a resource of the base book; "" for an amount that is a rule."""
    line = book().lines.get(("resources", resource))
    return line.kind if line else ""


def hours_of_lines(option: Option) -> float:
    """Hours on site that are paid for; the hours of looking again are paid now and lie in the future (R25)."""
    return sum(
        float(line.quantity) for line in option.lines
        if line.norm and not line.norm.startswith("monitor.") and kind(line.resource) == "labour"
    )


def main_visit(option: Option) -> tuple[str, ...]:
    """Phases of the main visit: corrections come on an early visit where a crew shores or covers anyway."""
    phases = {step.phase for step in option.steps}
    if "interim" not in phases:
        return ("correction", "access", "main", "finish")
    later = ("access", "main", "finish")
    # A cover high up that stands alone has a way up: putting it up and covering is then the visit.
    return later if phases & {"main", "finish"} else ("interim", "access")


def numbers_in(what: object) -> Iterator[float | Decimal]:
    """Every number anywhere inside a value."""
    if isinstance(what, bool | str) or what is None:
        return
    if isinstance(what, int | float | Decimal):
        yield what
    elif is_dataclass(what) and not isinstance(what, type):
        for one in fields(what):
            yield from numbers_in(getattr(what, one.name))
    elif isinstance(what, dict):
        for value in what.values():
            yield from numbers_in(value)
    elif isinstance(what, tuple | list):
        for value in what:
            yield from numbers_in(value)


@tries(40)
@given(surveys())
def test_every_plausible_case_has_at_least_one_plan(survey: Survey) -> None:
    answer = ask(survey)
    assert [d.status for d in answer.defects if d.status == "rejected"] == []
    for found in findings(answer):
        assert found.options, f"{answer.defects[0].element}, {answer.defects[0].damage}: {found.ruled_out}"


@tries(70)
@given(surveys(most=2))
def test_no_number_of_an_answer_is_undefined_or_without_end(survey: Survey) -> None:
    for number in numbers_in(ask(survey)):
        assert math.isfinite(number)


@tries(70)
@given(surveys())
def test_parts_are_sums_of_rounded_lines_and_add_up_to_the_whole(survey: Survey) -> None:
    for option in options(ask(survey)):
        for line in option.lines:
            exact = line.quantity * line.rate * (1 + line.markup)
            assert line.amount == exact.quantize(CENT, rounding=ROUND_HALF_UP), line
        for part, amount in option.parts.items():
            assert amount == sum(line.amount for line in option.lines if line.part == part)
        assert option.whole.as_described == sum(option.parts.values(), Decimal(0))
        assert option.package.as_described == option.parts.get("package", Decimal(0))


@tries(50)
@given(surveys())
def test_people_are_never_marked_up_and_things_always_are(survey: Survey) -> None:
    for option in options(ask(survey)):
        for line in option.lines:
            what = kind(line.resource)
            if what in ("labour", "fee", ""):
                assert line.markup == 0
            else:
                assert line.markup == book().lines["terms", f"markup.{what}"].likely


@tries(70)
@given(surveys())
def test_hours_that_are_paid_are_the_hours_of_the_steps(survey: Survey) -> None:
    for option in options(ask(survey)):
        steps = sum(step.hours for step in option.steps)
        least = 0.005 * len(option.steps) + 0.0001 * len(option.lines)
        assert math.isclose(hours_of_lines(option), steps, abs_tol=least + 1e-6), option.method


@tries(50)
@given(surveys())
def test_crew_days_follow_from_the_hours_of_the_steps(survey: Survey) -> None:
    a_day = book().likely("terms", "hours_per_day")
    for option in options(ask(survey)):
        phases = main_visit(option)
        days = sum(
            s.hours / (len(s.crew) * a_day) for s in option.steps
            if s.phase in phases and s.phase != "access" and s.crew
        )
        assert days - 0.01 <= option.clocks.crew_days <= days + 0.26, option.method
        assert option.clocks.crew_days % 0.25 == 0


@tries(70)
@given(surveys())
def test_wood_is_paid_for_where_it_is_listed_and_only_there(survey: Survey) -> None:
    """P7: what brings wood says its size, volume and moisture; what brings none lists none."""
    for option in options(ask(survey)):
        paid = [line for line in option.lines if kind(line.resource) == "wood" and line.part == "package"]
        assert bool(paid) == bool(option.wood), option.method
        if knowledge().methods[option.method].needs_dry_wood:
            assert option.wood, option.method
        for piece in option.wood:
            for size in (piece.thickness, piece.width, piece.length, piece.stock_length, *piece.volume):
                assert size.value > 0.0, (option.method, piece)
            assert piece.stock_length.value >= piece.length.value
            assert piece.moisture_max.value <= 19.0
            assert piece.count >= 1


@tries(70)
@given(surveys())
def test_no_calendar_is_shorter_than_its_cure_nor_its_lead_than_its_wood(survey: Survey) -> None:
    """P13, with every wait counted."""
    for option in options(ask(survey)):
        clocks = option.clocks
        waits = [s.ends_day - s.starts_day for s in option.steps if not s.crew and s.phase in main_visit(option)]
        assert clocks.calendar_days + 0.01 >= max(waits, default=0.0)
        assert clocks.lead_days >= max((p.ready_in_days for p in option.wood), default=0.0)
        assert clocks.days_from_today + 0.26 >= clocks.lead_days
        assert clocks.days_from_today + 0.01 >= max((s.ends_day for s in option.steps), default=0.0)
        assert clocks.calendar_range[0] <= clocks.calendar_days <= clocks.calendar_range[1]
        assert survey.priced_on <= clocks.earliest_start <= clocks.finish


@tries(70)
@given(surveys())
def test_no_step_starts_before_those_that_it_waits_for_are_over(survey: Survey) -> None:
    for option in options(ask(survey)):
        network = nx.DiGraph((before, step.n) for step in option.steps for before in step.after)
        assert nx.is_directed_acyclic_graph(network)
        at = {step.n: step for step in option.steps}
        assert list(at) == list(range(1, len(at) + 1))
        for step in option.steps:
            assert step.starts_day <= step.ends_day
            for before in step.after:
                assert at[before].ends_day <= step.starts_day + 0.011, (option.method, step)
        if option.steps:
            assert at[max(at, key=lambda n: at[n].ends_day)].ends_day in {s.ends_day for s in option.steps if s.critical}


@tries(50)
@given(surveys())
def test_scores_add_up_and_put_the_options_in_order(survey: Survey) -> None:
    for found in findings(ask(survey)):
        assert [o.rank for o in found.options] == list(range(1, len(found.options) + 1))
        for option in found.options:
            assert option.score.total == sum((t.amount for t in option.score.terms), Decimal(0))


@tries(70)
@given(surveys())
def test_ranges_are_in_order_and_shares_are_shares(survey: Survey) -> None:
    for option in options(ask(survey)):
        assert 0.0 <= option.holds <= 1.0
        for price in (option.package, option.whole):
            assert price.as_described >= 0
            if price.range is not None:
                assert 0 <= price.range.p10 <= price.range.p50 <= price.range.p90
        assert (option.whole.range is None) == (option.holds == 0.0), option.method
        if option.steps:
            assert option.whole.as_described > 0, option.method
        for extra in option.conditional:
            assert 0.0 <= extra.probability <= 1.0


@tries(50)
@given(surveys())
def test_lives_are_in_order_and_a_mended_cause_never_shortens_one(survey: Survey) -> None:
    """P6, first half."""
    for option in options(ask(survey)):
        for years in (option.life.corrected, option.life.not_corrected):
            assert 0.0 < years[0] <= years[1] <= years[2]
        for mended, open_ in zip(option.life.corrected, option.life.not_corrected, strict=True):
            assert mended >= open_, option.method


@tries(40)
@given(surveys())
def test_a_declined_cause_shows_in_life_and_warranty(survey: Survey) -> None:
    """P6, second half."""
    refused = any(c.state == "declined" for c in survey.defects[0].causes)
    for option in options(ask(survey)):
        assert option.life.used == ("not_corrected" if refused else "corrected")
        bridges = option.method in ("temp_shore", "temp_cover", "monitor")
        assert option.warranty is (not bridges and not refused)
        assert (option.life_cycle is None) is bridges
        assert (option.waiver is not None) is refused
