"""Critical path through a network of activities, in one world or in many at once.

Source: critical path method, e.g. Hillier and Lieberman, Introduction to Operations Research.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from service.engine.array import Number, Truth, all_of, any_of, maximum, minimum

_NO_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Activity:
    """One activity.

    Attributes:
        key: its name in the network.
        duration: how long it takes [any unit of time].
        predecessors: activities that end before it starts.
    """

    key: str
    duration: Number
    predecessors: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Times:
    """When an activity can and must take place [unit of the durations]."""

    earliest_start: Number
    earliest_finish: Number
    latest_start: Number
    latest_finish: Number

    @property
    def slack(self) -> Number:
        """How long it can slip without delaying the end."""
        return self.latest_start - self.earliest_start

    @property
    def is_critical(self) -> Truth:
        """Whether a delay of it delays the end."""
        return self.slack < _NO_SLACK


@dataclass(frozen=True, slots=True)
class Schedule:
    """Times of every activity, each after its predecessors.

    Attributes:
        length: time from the first start to the last finish [unit of the durations].
        times: times by activity, in an order in which they can be done.
    """

    length: Number
    times: Mapping[str, Times]

    @property
    def critical_path(self) -> tuple[str, ...]:
        """Activities critical in every world, in order."""
        return tuple(key for key, times in self.times.items() if all_of(times.is_critical))


def _in_order(activities: Mapping[str, Activity]) -> list[Activity]:
    """Activities, each after its predecessors and otherwise as given.

    Raises:
        ValueError: unknown predecessor or a cycle.
    """
    waiting = {key: len(activity.predecessors) for key, activity in activities.items()}
    followers: dict[str, list[str]] = {key: [] for key in activities}
    for activity in activities.values():
        for before in activity.predecessors:
            if before not in followers:
                raise ValueError(f"activity {activity.key!r} follows {before!r}, which is not in the network")
            followers[before].append(activity.key)
    ready = [key for key, count in waiting.items() if not count]
    for key in ready:
        for after in followers[key]:
            waiting[after] -= 1
            if not waiting[after]:
                ready.append(after)
    if len(ready) < len(activities):
        stuck = sorted(set(activities) - set(ready))
        raise ValueError(f"activities wait for each other in a cycle: {', '.join(stuck)}")
    return [activities[key] for key in ready]


def critical_path(activities: Iterable[Activity]) -> Schedule:
    """Return the earliest and latest times of every activity of a network.

    Args:
        activities: activities in any order; durations floats, or arrays of one length.

    Raises:
        ValueError: a name twice, an unknown predecessor, a cycle or a negative duration.

    Source: critical path method, forward and backward pass.
    """
    named: dict[str, Activity] = {}
    for activity in activities:
        if activity.key in named:
            raise ValueError(f"activity {activity.key!r} is in the network twice")
        if any_of(activity.duration < 0.0):
            raise ValueError(f"activity {activity.key!r} has a negative duration")
        named[activity.key] = activity
    order = _in_order(named)

    starts: dict[str, Number] = {}
    finishes: dict[str, Number] = {}
    length: Number = 0.0
    for activity in order:
        start: Number = 0.0
        for before in activity.predecessors:
            start = maximum(start, finishes[before])
        starts[activity.key] = start
        finishes[activity.key] = start + activity.duration
        length = maximum(length, finishes[activity.key])

    latest: dict[str, Number] = {activity.key: length for activity in order}
    for activity in reversed(order):
        must_start = latest[activity.key] - activity.duration
        for before in activity.predecessors:
            latest[before] = minimum(latest[before], must_start)

    return Schedule(
        length,
        {a.key: Times(starts[a.key], finishes[a.key], latest[a.key] - a.duration, latest[a.key]) for a in order},
    )
