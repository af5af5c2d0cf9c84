"""Quotas: how many requests a minute a key and an address may send, counted for all processes together.

The window is fixed: it begins with the minute of the counter's clock. Around a change of minutes a caller may so send
up to twice the quota within sixty seconds, which is simple, told in the headers, and enough against a flood.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from service.application.access import Caller

WINDOW_S = 60
"""Length of a window [s]."""
KEY, ADDRESS = "key", "address"
"""Names of the two policies, as callers see them."""
ROOM = 10_000
"""Most subjects that one process counts by itself while the counter is away."""


ALONE_S = 5.0
"""How long a process counts by itself after the common counter has failed [s]."""


class CounterAwayError(Exception):
    """The common counter does not answer."""


@dataclass(frozen=True, slots=True)
class Use:
    """What a window has seen of one subject.

    Attributes:
        used: requests in this window, this one included.
        left_s: seconds until the window ends, 1 to 60.
    """

    used: int
    left_s: int


@dataclass(frozen=True, slots=True)
class Allowance:
    """One policy as it stands for one request.

    Attributes:
        policy: KEY or ADDRESS.
        quota: requests a window.
        used: requests in this window, this one included.
        left_s: seconds until the window ends.
    """

    policy: str
    quota: int
    used: int
    left_s: int

    @property
    def remaining(self) -> int:
        """Requests that are left in this window."""
        return max(0, self.quota - self.used)

    @property
    def exceeded(self) -> bool:
        """Whether this request is one too many."""
        return self.used > self.quota


class Counter(Protocol):
    """Counts requests of subjects, for all processes together."""

    async def count(self, subjects: Sequence[str]) -> list[Use]:
        """Count one request for each subject. Raises CounterAwayError."""
        ...


@dataclass(slots=True)
class Quotas:
    """The quotas of the service.

    Attributes:
        counter: the common counter.
        seconds: a clock that never goes back, for counting alone while the counter is away.
        per_key: requests a minute for a key or person without a quota of its own; 0 for no limit.
        per_form_key: the same for keys of forms.
        per_address: requests a minute from one address with a form's key or with none; 0 for no limit.
    """

    counter: Counter
    seconds: Callable[[], float]
    per_key: int
    per_form_key: int
    per_address: int
    _alone: dict[str, int] = field(default_factory=dict)
    _minute: int = 0
    _alone_until: float = float("-inf")

    async def spend(self, caller: Caller, address: str) -> tuple[Allowance, ...]:
        """Count a request of a caller. Says how each policy that binds them stands."""
        limits = self._limits(caller, address)
        if not limits:
            return ()
        subjects = [subject for _, subject, _ in limits]
        uses = await self._count(subjects)
        return tuple(
            Allowance(policy, quota, use.used, use.left_s) for (policy, _, quota), use in zip(limits, uses, strict=True)
        )

    async def spend_refused(self, address: str) -> tuple[Allowance, ...]:
        """Count a request whose key is not valid: guessing costs what asking without a key costs."""
        return await self.spend(Caller("nobody", "", "", frozenset(), None), address)

    async def _count(self, subjects: Sequence[str]) -> list[Use]:
        """Count for all processes together; alone for a while after the common counter has failed."""
        if self.seconds() >= self._alone_until:
            try:
                return await self.counter.count(subjects)
            except CounterAwayError:
                # Nobody else waits for it so soon: a counter that hangs would hold up every request.
                self._alone_until = self.seconds() + ALONE_S
        return [self._count_alone(subject) for subject in subjects]

    def _limits(self, caller: Caller, address: str) -> list[tuple[str, str, int]]:
        limits = []
        if caller.sort != "nobody":
            usual = self.per_form_key if caller.sort == "form" else self.per_key
            limits.append((KEY, caller.who, caller.per_minute or usual))
        if caller.sort in ("nobody", "form"):
            limits.append((ADDRESS, f"address:{neighbourhood(address)}", self.per_address))
        return [limit for limit in limits if limit[2]]

    def _count_alone(self, subject: str) -> Use:
        """This process by itself: better a quota a process than none, or than no answer."""
        now = self.seconds()
        minute = int(now // WINDOW_S)
        if minute != self._minute or len(self._alone) > ROOM:
            self._alone.clear()
            self._minute = minute
        self._alone[subject] = self._alone.get(subject, 0) + 1
        return Use(self._alone[subject], max(1, round(WINDOW_S - now % WINDOW_S)))


def neighbourhood(address: str) -> str:
    """What counts as one address: an IPv4 address, or the /64 that one IPv6 customer has to draw from."""
    try:
        parsed = ipaddress.ip_address(address)
    except ValueError:
        return "unknown"
    if isinstance(parsed, ipaddress.IPv6Address):
        if parsed.ipv4_mapped:
            return str(parsed.ipv4_mapped)
        return str(ipaddress.ip_network((parsed, 64), strict=False).network_address) + "/64"
    return str(parsed)
