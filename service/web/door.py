"""The door: who asks, from where, how often, and whether they may. Before anything of the request is looked at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

from service.application.access import PUBLIC, Caller, Gate, Origins, nobody
from service.application.quota import Allowance, Quotas
from service.web.access import CALLER, authorize, identify
from service.web.http import ADDRESS, Asked, check_request
from service.web.problems import ProblemError, problem
from service.web.quota import ALLOWANCES, check, fields

ORIGIN = "service.origin"
"""Key of the website that may read the answer, in the ASGI scope."""


@dataclass(frozen=True, slots=True)
class Door:
    """What every request passes.

    Attributes:
        gate: tells callers apart.
        origins: websites that carry a form.
        quotas: how often callers may ask; None for as often as they like.
    """

    gate: Gate
    origins: Origins
    quotas: Quotas | None

    async def enter(self, request: Asked) -> None:
        """Let a request in, or refuse it: 401 before 429 before 403 before 404, and all of them before its form.

        Raises:
            ProblemError: with the reason.
        """
        # OPTIONS says which methods there are, to everybody: a browser asks before it may show a key.
        if request.method != "OPTIONS":
            await self._let_in(request)
        await check_request(request)

    async def _let_in(self, request: Asked) -> None:
        scope = cast("dict[str, object]", request.scope)
        origin = request.headers.get("origin")
        if request.route_handler.opt.get("scope") == PUBLIC:
            # Nobody is asked who they are: probes and pages answer also while keys cannot be checked.
            scope[CALLER] = nobody(frozenset())
            await self._name_website(scope, origin)
            return
        address = str(scope.get(ADDRESS, ""))
        try:
            caller = await identify(request, self.gate)
        except ProblemError:
            # A website's script must be able to read that its key has ended.
            await self._name_website(scope, origin)
            if self.quotas:
                self._count(request, await self.quotas.spend_refused(address))
            raise
        scope[CALLER] = caller
        if caller.sort == "form":
            _check_origin(caller, origin)
            scope[ORIGIN] = origin
        if self.quotas:
            self._count(request, await self.quotas.spend(caller, address))
        authorize(request, caller)

    async def _name_website(self, scope: dict[str, object], origin: str | None) -> None:
        """Let a website that carries a form read an answer in which nothing stands that is not for everybody."""
        if origin and await self.origins.listed(origin):
            scope[ORIGIN] = origin

    def _count(self, request: Asked, allowances: Sequence[Allowance]) -> None:
        """Say in the answer how the quotas stand, whatever it will be."""
        cast("dict[str, object]", request.scope)[ALLOWANCES] = fields(allowances)
        check(allowances)


def _check_origin(caller: Caller, origin: str | None) -> None:
    """A form's key works from its websites only. No proof - anybody can write the header - but no accident either.

    Raises:
        ProblemError: 403.
    """
    if origin is None or origin not in caller.origins:
        said = f"from {origin[:200]!r}" if origin else "without an Origin header"
        raise ProblemError(problem("origin-not-allowed", f"This key is for forms on its own websites; the request came {said}."))
