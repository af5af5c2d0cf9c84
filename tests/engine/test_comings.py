"""How often the crew comes: a winter splits a job in two, a wait for wood does not; a stick of the yard serves once."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from service.engine.outcome import Answer
from service.engine.rates import RateBook, Stick
from service.engine.survey import Defect
from tests.engine.books import book
from tests.engine.cases import FT, make_defect, make_survey
from tests.engine.properties.asking import ask
from tests.engine.properties.strategies import numbered

OCTOBER = date(2026, 10, 5)
JUNE = date(2026, 6, 15)
MOUNTAINS = "kestrel-range"
"""A region with a real winter."""


def ridge() -> Defect:
    """Timber and steel that come in winter, under a roof that is then under snow."""
    words = {"roof_area": "north"}
    return make_defect("ridge", "soft_wood", depth=3.0, length=36.0, section=12.0, height=16.0, words=words)


def purlin_tail(height: float = 16.0) -> Defect:
    """A tail under the same roof that is trimmed and capped this week."""
    words, flags = {"roof_area": "north"}, {"ornamental_only": True}
    return make_defect(
        "rafter_tail", "end_rot", from_end=3.0, tail=30.0, section=8.0, height=height, words=words, flags=flags
    )


def posts() -> Defect:
    """Feet that are spliced this week."""
    return make_defect("post_porch", "foot_rot", count=3, from_end=5.0, section=8.0, post_height=8.0 * FT)


def rails() -> Defect:
    """Guard posts that are renewed this week."""
    return make_defect("rail_post", "foot_rot", count=2, from_end=3.0, height=4.0)


def job(*defects: Defect, day: date, rates: RateBook | None = None) -> Answer:
    return ask(make_survey(*numbered(defects), day=day), rates or book(MOUNTAINS, day))


def mobilisations(answer: Answer) -> float:
    return sum(float(line.quantity) for line in answer.job.lines if line.resource == "mobilisation")


def scaffolds(answer: Answer) -> float:
    return sum(float(line.quantity) for line in answer.job.lines if line.resource == "scaffold_rent")


def test_a_job_that_winter_splits_pays_for_setting_up_twice_and_says_so() -> None:
    """E16: mobilisation per phase; E24: the penalty of two seasons."""
    split = job(ridge(), posts(), day=OCTOBER)
    whole = job(ridge(), posts(), day=JUNE)
    assert (mobilisations(split), mobilisations(whole)) == (2.0, 1.0)
    assert "; the crew comes in 2 seasons" in split.job.headline
    assert "seasons" not in whole.job.headline


def test_a_job_that_winter_splits_is_still_never_dearer_than_its_small_jobs() -> None:
    """R22, P4."""
    for answer in (job(ridge(), posts(), day=OCTOBER), job(ridge(), purlin_tail(), posts(), day=OCTOBER)):
        dearest = max(d.findings[0].options[0].whole.as_described for d in answer.defects)
        assert dearest <= answer.job.total.as_described <= answer.job.stand_alone_sum


def test_the_second_season_is_in_the_range_of_the_job_too() -> None:
    defects, free = (ridge(), posts(), rails(), rails()), book(MOUNTAINS, OCTOBER)
    two = job(*defects, day=OCTOBER)
    lines = dict(free.lines)
    row = lines["resources", "mobilisation"]
    lines["resources", "mobilisation"] = replace(row, low=row.low + 1000, likely=row.likely + 1000, high=row.high + 1000)
    dearer = job(*defects, day=OCTOBER, rates=replace(free, lines=lines))
    assert two.job.total.range is not None
    assert dearer.job.total.range is not None
    taxed = 1.0 + free.likely("terms", "tax.rate")
    managed = 1.0 + free.likely("terms", "site_management.rate")
    moved = float(dearer.job.total.range.p50 - two.job.total.range.p50)
    assert moved == pytest.approx(2000.0 * taxed * managed, rel=0.02)


def test_a_wait_for_an_engineer_or_for_wood_alone_is_no_second_season() -> None:
    """Whoever waits for wood alone is worked on with the rest; nobody sets up twice for it."""
    log = make_defect("wall_low", "through", length=60.0, section=12.0, clear_length=20 * FT, height=2.0)
    answer = job(log, posts(), day=JUNE, rates=book("base", JUNE))
    assert answer.job.clocks is not None
    assert answer.job.clocks.lead_days > 30.0
    assert mobilisations(answer) == 1.0


def test_a_scaffold_that_both_seasons_use_is_put_up_in_each() -> None:
    """E24: shared access again."""
    split, whole = job(ridge(), purlin_tail(), day=OCTOBER), job(ridge(), purlin_tail(), day=JUNE)
    assert scaffolds(split) > scaffolds(whole)
    assert sum(step.phase == "access" for step in split.job.order) == 2
    assert sum(step.phase == "access" for step in whole.job.order) == 1


def test_the_wood_of_the_second_of_two_places_that_want_one_stick_is_waited_for() -> None:
    """G17, R26: no lead is shorter than its wood where the wood is not at hand."""
    stick = Stick(
        code="L-7", form="log", section_in=12.0, second_in=None, length_in=12 * FT, moisture_pct=15.0, moisture_depth_in=4.0,
        read_on=None, species="softwood_unknown", cut="dead standing", where="shed", held_for=None, region="base",
    )
    one, other = (
        make_defect(
            "wall_low", "through", length=60.0, section=12.0, clear_length=20 * FT, height=2.0, words={"wall": wall}
        )
        for wall in ("E", "W")
    )
    rates, supply = book("base", JUNE), book().likely("waits", "lead.log_dry") * 7.0
    for sticks, first_waits, last_waits in ((0, True, True), (1, False, True), (2, False, False)):
        yard = tuple(replace(stick, code=f"L-{n}") for n in range(sticks))
        answer = job(one, other, day=JUNE, rates=replace(rates, yard=yard))
        starts = sorted(step.starts_day for step in answer.job.order if step.method == "log_partial")
        assert [day >= supply for day in starts] == [first_waits, last_waits]
        assert answer.job.clocks is not None
        assert (answer.job.clocks.lead_days >= supply) == last_waits


def test_wood_that_comes_into_the_frost_because_its_stick_was_taken_waits_for_spring() -> None:
    """R12: what seals its joints waits for warmth on the day on which it can start, not on the day of the quote."""
    day = date(2026, 9, 15)
    stick = Stick(
        code="L-7", form="log", section_in=12.0, second_in=None, length_in=12 * FT, moisture_pct=15.0, moisture_depth_in=4.0,
        read_on=None, species="softwood_unknown", cut="dead standing", where="shed", held_for=None, region="base",
    )
    one, other = (
        make_defect(
            "wall_low", "through", length=60.0, section=12.0, clear_length=20 * FT, height=2.0, words={"wall": wall}
        )
        for wall in ("E", "W")
    )
    last = {}
    for sticks in (1, 2):
        yard = tuple(replace(stick, code=f"L-{n}") for n in range(sticks))
        answer = job(one, other, day=day, rates=replace(book(MOUNTAINS, day), yard=yard))
        last[sticks] = max(step.starts_day for step in answer.job.order if step.method == "log_partial")
        assert answer.job.clocks is not None
        assert (answer.job.clocks.lead_days > 180.0) == (sticks == 1)
        assert mobilisations(answer) == (2.0 if sticks == 1 else 1.0)
    assert last[1] > 180.0, "not before April"
    assert last[2] < 30.0
