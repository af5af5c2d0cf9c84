"""Quotas on the wire: RateLimit and RateLimit-Policy (draft-ietf-httpapi-ratelimit-headers-11), and 429."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from service.application.quota import WINDOW_S, Allowance
from service.web.problems import Fault, ProblemError, problem

ALLOWANCES = "service.allowances"
"""Key of the headers that say how the quotas stand, in the ASGI scope."""


def fields(allowances: Sequence[Allowance]) -> dict[str, str]:
    """Both fields as structured lists: what the policies are, and what is left of each within how many seconds."""
    if not allowances:
        return {}
    return {
        "RateLimit-Policy": ", ".join(f'"{a.policy}";q={a.quota};w={WINDOW_S}' for a in allowances),
        "RateLimit": ", ".join(f'"{a.policy}";r={a.remaining};t={a.left_s}' for a in allowances),
    }


def check(allowances: Sequence[Allowance]) -> None:
    """Refuse a request that is one too many.

    Raises:
        ProblemError: 429, with the quota that is used up and when to come again.
    """
    over = [a for a in allowances if a.exceeded]
    if not over:
        return
    wait = max(a.left_s for a in over)
    faults = [Fault(f"{a.quota} requests a minute for one {a.policy}; all are used.", None, a.policy) for a in over]
    detail = " ".join(f.detail for f in faults) + f" Come again in {wait} s."
    headers: Mapping[str, str] = {"Retry-After": str(wait)}
    raise ProblemError(problem("quota-exceeded", detail, errors=faults, headers=headers))
