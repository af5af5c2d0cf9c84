"""The network of a plan: leads side by side, the site one after another, people on working days, cures on every day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import networkx as nx
import pytest

from service.engine.outcome import Step
from service.engine.rates import RateBook
from service.engine.schedule import LeadTime, Timetable, timetable
from service.engine.work import LEAD_CARPENTER, Work
from tests.engine.books import book, with_line
from tests.engine.cases import make_case

MONDAY = date(2026, 6, 15)
FRIDAY = date(2026, 6, 19)
A_DAY = 6.5
"""Working hours of a man-day on site (R25)."""


def dry_book() -> RateBook:
    """A book in which rain takes no time."""
    return with_line(book(), "waits", "weather.lost_share", 0.0)


def site(day: date = MONDAY, hours: Sequence[float] = (6.5, 13.0), cure_days: float = 0.0) -> Work:
    """One stage of two people: a task, a cure, a task; hours are those of each task."""
    work = Work(replace(make_case(rates=dry_book()), day=day), 1.0)
    work.stage("face_veneer", LEAD_CARPENTER)
    norm = "face_veneer.fixed"
    work.labour(norm, sum(hours) / dry_book().likely("norms", norm))
    work.task("cut", hours[0] / sum(hours))
    if cure_days:
        work.wait("cure", "cure", cure_days)
    work.task("close", hours[1] / sum(hours))
    return work


def plan(work: Work, *leads: tuple[str, float]) -> Timetable:
    return timetable(work, [LeadTime(code, code, days) for code, days in leads], dry_book())


def step(days: Timetable, text: str) -> Step:
    return next(s for s in days.steps if s.text == text)


def test_leads_run_side_by_side_from_day_nought() -> None:
    days = plan(site(), ("wood", 14.0), ("engineer", 21.0), ("permit", 7.0))
    assert {s.starts_day for s in days.steps if s.phase == "lead"} == {0.0}
    assert days.clocks.lead_days == 21.0
    assert step(days, "cut").starts_day == 21.0


def test_work_on_site_follows_one_after_another() -> None:
    days = plan(site())
    assert step(days, "close").after == (step(days, "cut").n,)
    assert step(days, "close").starts_day == step(days, "cut").ends_day


def test_crew_days_are_hours_over_crew_and_working_day() -> None:
    """19.5 person-hours of two people are 1.5 days."""
    assert plan(site()).clocks.crew_days == 1.5


def test_hours_of_a_stage_are_shared_out_over_its_tasks() -> None:
    days = plan(site())
    assert (step(days, "cut").hours, step(days, "close").hours) == pytest.approx((6.5, 13.0), abs=0.01)


def test_a_cure_runs_over_the_weekend_and_people_do_not_work_on_it() -> None:
    days = plan(site(day=FRIDAY, hours=(13.0, 13.0), cure_days=1.0))
    assert (step(days, "cut").starts_day, step(days, "cut").ends_day) == (0.0, 1.0)
    assert (step(days, "cure").starts_day, step(days, "cure").ends_day) == (1.0, 2.0)
    assert (step(days, "close").starts_day, step(days, "close").ends_day) == (3.0, 4.0)
    assert days.clocks.calendar_days == 4.0
    assert days.clocks.finish == date(2026, 6, 22)


def test_the_calendar_is_never_shorter_than_the_cure() -> None:
    assert plan(site(cure_days=9.0)).clocks.calendar_days >= 9.0


def test_a_plan_that_waits_for_nothing_has_no_lead() -> None:
    clocks = plan(site()).clocks
    assert clocks.lead_days == 0.0
    assert clocks.earliest_start == MONDAY


def test_the_end_is_the_longest_path_through_the_network() -> None:
    """Against networkx; from Monday to Friday, so that working days and calendar days are the same."""
    leads = (("wood", 1.0), ("engineer", 2.0))
    days = plan(site(hours=(6.5, 13.0), cure_days=0.5), *leads)
    lengths = {"wood": 1.0, "engineer": 2.0, "cut": 6.5 / 2 / A_DAY, "cure": 0.5, "close": 13.0 / 2 / A_DAY}
    network = nx.DiGraph()
    for one in days.steps:
        network.add_edge(f"{one.n} starts", f"{one.n} ends", weight=lengths[one.text])
        for before in one.after:
            network.add_edge(f"{before} ends", f"{one.n} starts", weight=0.0)
    assert max(s.ends_day for s in days.steps) == pytest.approx(nx.dag_longest_path_length(network), abs=0.01)
    path = {int(node.split()[0]) for node in nx.dag_longest_path(network)}
    assert {s.n for s in days.steps if s.critical} == path


def test_what_does_not_drive_the_end_is_not_critical() -> None:
    days = plan(site(), ("wood", 14.0), ("engineer", 21.0))
    assert step(days, "engineer").critical
    assert not step(days, "wood").critical
