"""Critical paths against two published networks and against `networkx`."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.science.network import Activity, critical_path

TAYLOR = {
    "1-2": (7, (), (0, 7, 2, 9, 2)),
    "1-3": (10, (), (0, 10, 0, 10, 0)),
    "2-4": (6, ("1-2",), (7, 13, 9, 15, 2)),
    "3-4": (5, ("1-3",), (10, 15, 10, 15, 0)),
    "3-5": (4, ("1-3",), (10, 14, 14, 18, 4)),
    "4-5": (3, ("2-4", "3-4"), (15, 18, 15, 18, 0)),
    "5-6": (2, ("3-5", "4-5"), (18, 20, 18, 20, 0)),
}
"""Taylor, Introduction to Management Science, ch. 8 solutions: duration, predecessors, then ES, EF, LS, LF, slack."""

RELIABLE_CONSTRUCTION = {
    "A": (2, ""),
    "B": (4, "A"),
    "C": (10, "B"),
    "D": (6, "C"),
    "E": (4, "C"),
    "F": (5, "E"),
    "G": (7, "D"),
    "H": (9, "EG"),
    "I": (7, "C"),
    "J": (8, "FI"),
    "K": (4, "J"),
    "L": (5, "J"),
    "M": (2, "H"),
    "N": (6, "KL"),
}
"""Hillier and Lieberman, Reliable Construction example (from memory): duration in weeks and predecessors."""


@st.composite
def networks(draw: st.DrawFn) -> list[Activity]:
    count = draw(st.integers(1, 12))
    durations = draw(st.lists(st.floats(0.0, 30.0), min_size=count, max_size=count))
    activities = []
    for n, duration in enumerate(durations):
        before = draw(st.sets(st.integers(0, n - 1), max_size=3)) if n else set()
        activities.append(Activity(str(n), duration, tuple(str(b) for b in sorted(before))))
    return draw(st.permutations(activities))


def test_every_time_is_that_of_the_published_table() -> None:
    schedule = critical_path(Activity(key, float(days), before) for key, (days, before, _) in TAYLOR.items())
    assert schedule.length == 20.0
    assert schedule.critical_path == ("1-3", "3-4", "4-5", "5-6")
    for key, (_, _, printed) in TAYLOR.items():
        t = schedule.times[key]
        assert (t.earliest_start, t.earliest_finish, t.latest_start, t.latest_finish, t.slack) == printed


def test_a_published_construction_job_takes_44_weeks() -> None:
    schedule = critical_path(Activity(k, float(d), tuple(before)) for k, (d, before) in RELIABLE_CONSTRUCTION.items())
    assert schedule.length == 44.0
    assert schedule.critical_path == tuple("ABCEFJLN")
    assert {k: t.slack for k, t in schedule.times.items() if t.slack} == {
        "D": 4,
        "G": 4,
        "H": 4,
        "M": 4,
        "I": 2,
        "K": 1,
    }


@given(networks())
def test_the_length_is_the_longest_path_that_networkx_finds(activities: list[Activity]) -> None:
    graph = nx.DiGraph()
    for a in activities:
        graph.add_edge((a.key, "start"), (a.key, "end"), weight=a.duration)
        for before in a.predecessors:
            graph.add_edge((before, "end"), (a.key, "start"), weight=0.0)
    assert critical_path(activities).length == pytest.approx(nx.dag_longest_path_length(graph), abs=1e-9)


@given(networks())
def test_nothing_starts_before_what_it_follows_and_slack_is_never_negative(activities: list[Activity]) -> None:
    schedule = critical_path(activities)
    for a in activities:
        t = schedule.times[a.key]
        assert t.slack >= -1e-9
        assert t.latest_finish <= schedule.length
        for before in a.predecessors:
            assert t.earliest_start >= schedule.times[before].earliest_finish
            assert t.latest_start >= schedule.times[before].latest_finish - 1e-9


@given(networks(), st.data())
def test_a_delay_within_slack_does_not_delay_the_end(activities: list[Activity], data: st.DataObject) -> None:
    schedule = critical_path(activities)
    late = data.draw(st.sampled_from(activities))
    slack = max(schedule.times[late.key].slack, 0.0)  # a rounding error of slack is none
    for extra, longer in ((slack, 0.0), (slack + 1.0, 1.0)):
        slower = [Activity(a.key, a.duration + extra * (a is late), a.predecessors) for a in activities]
        assert critical_path(slower).length == pytest.approx(schedule.length + longer, abs=1e-6)


@given(networks())
def test_the_order_given_does_not_change_the_times(activities: list[Activity]) -> None:
    again = critical_path(reversed(activities))
    for key, times in critical_path(activities).times.items():
        assert again.times[key] == times


def test_many_worlds_at_once_are_each_world_alone() -> None:
    worlds = np.array([0.0, 5.0, 9.0])
    activities = [
        Activity("cut", 2.0),
        Activity("dry", worlds, ("cut",)),
        Activity("mill", 6.0),
        Activity("fit", 1.0, ("dry", "mill")),
    ]
    schedule = critical_path(activities)
    for n, days in enumerate(worlds):
        alone = critical_path(
            [Activity(a.key, float(days) if a.key == "dry" else a.duration, a.predecessors) for a in activities]
        )
        assert isinstance(alone.length, float)
        assert isinstance(schedule.length, np.ndarray)
        assert schedule.length[n] == alone.length
        for key, times in alone.times.items():
            assert np.broadcast_to(schedule.times[key].slack, 3)[n] == times.slack
    assert schedule.critical_path == ("fit",)


def test_no_work_takes_no_time() -> None:
    assert critical_path([]).length == 0.0


@pytest.mark.parametrize(
    ("activities", "message"),
    [
        ([Activity("a", 1.0, ("b",)), Activity("b", 1.0, ("a",)), Activity("c", 1.0)], "cycle: a, b"),
        ([Activity("a", 1.0, ("a",))], "cycle: a"),
        ([Activity("a", 1.0, ("b",))], "'a' follows 'b'"),
        ([Activity("a", 1.0), Activity("a", 2.0)], "'a' is in the network twice"),
        ([Activity("a", -1.0)], "'a' has a negative duration"),
    ],
)
def test_a_network_that_cannot_be_worked_is_refused_by_name(activities: list[Activity], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        critical_path(activities)
