"""Preview over HTTP: what a draft would do to the standard jobs, or to the caller's own."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import msgspec
from litestar import Response, post
from litestar.handlers import HTTPRouteHandler
from litestar.params import FromPath
from msgspec import UNSET, Struct

from service.application.preview import MOST_GROUPS, Job, NotBelowError, Preview, PreviewDesk, StandardJob
from service.web import limits
from service.web.access import asker_of, check_region
from service.web.contract_parts import DRAFT, REGION, change, json_body
from service.web.convert import Converter
from service.web.decoding import read_body
from service.web.http import JSON, NO_STORE, Asked, check_json
from service.web.params import draft_named, region_named
from service.web.present import Presenter
from service.web.problems import Fault, ProblemError, problem
from service.web.publishing.preview_present import preview_of
from service.web.publishing.preview_shapes import preview_request
from service.web.requests import RequestTypes
from service.web.schemas import Node

TAG = "publishing"


@dataclass(frozen=True, slots=True)
class PreviewDoor:
    """Takes requests for previews.

    Attributes:
        sent: type of what is asked.
        basket: the standard jobs, each with its request as it was understood.
    """

    desk: PreviewDesk
    converter: Converter
    sent: type[Struct]
    basket: tuple[tuple[StandardJob, Any], ...]

    async def preview(self, request: Asked, region: str, draft: int) -> Response[bytes]:
        """What the draft would do."""
        caller = asker_of(request).caller
        asked: Any = None
        if body := await request.body():
            check_json(request)
            asked = read_body(body, self.sent)
        day = None if asked is None or asked.effective is UNSET else asked.effective
        of = region if asked is None or asked.of is UNSET else asked.of
        check_region(caller, of)
        own = None if asked is None or asked.requests is UNSET else asked.requests
        if own is not None:
            _check(own, of, day)
        try:
            seen = await self.desk.preview(region, draft, day, of, self._jobs(own))
        except NotBelowError as fault:
            below = [code for code in fault.below if caller.reaches(code)]
            raise _invalid(f"must be {region} or a region below it: {', '.join(below) or 'there is none'}.", "#/of") from None
        if own is not None:
            await self._check_priced(own, seen)
        reached = [code for code in seen.inherits if caller.reaches(code)]
        headers = {"ETag": f'"{seen.tried.mark}"', **NO_STORE}
        return Response(msgspec.json.encode(preview_of(region, draft, seen, reached)), media_type=JSON, headers=headers)

    async def _check_priced(self, own: Sequence[Any], seen: Preview) -> None:
        """Refuse requests of which nothing can be priced, as a quote does.

        Raises:
            ProblemError: 422, with every value that stands in the way.
        """
        faults = []
        for job, effect in seen.jobs:
            results = (effect.before, effect.after)
            if any(result.plans or result.missing for result in results):
                continue
            answer = await asyncio.to_thread(self.desk.price, job.survey, seen.tried.before)
            n = int(job.code) - 1
            presenter = Presenter(answer, own[n])
            faults += [
                Fault(f"{s.value!r}: {s.wrong}. {s.right}", f"#/requests/{n}{s.pointer.removeprefix('#')}", s.code)
                for d in answer.defects for s in presenter.slips(d) if s.fatal
            ]
        if faults:
            detail = "No defect of a request can be priced."
            raise ProblemError(problem("nothing-priced", detail, errors=faults[: limits.ERRORS]))

    def _jobs(self, own: Sequence[Any] | None) -> Callable[[date], list[Job]]:
        """The jobs on their day: the caller's own, or those of the basket."""

        def on(day: date) -> list[Job]:
            if own is None:
                return [Job(j.code, j.family, j.what, self.converter.survey(sent, day)) for j, sent in self.basket]
            jobs = [
                Job(str(n), "own jobs", f"request {n}", self.converter.survey(sent, day)) for n, sent in enumerate(own, start=1)
            ]
            _check_size(jobs)
            return jobs

        return on


def _check(requests: Sequence[Any], of: str, day: date | None) -> None:
    """Refuse requests that ask for another region, other rates or another day than the preview's.

    Raises:
        ProblemError: 422, with every fault.
    """
    faults = []
    for n, sent in enumerate(requests):
        if sent.region != of:
            faults.append(Fault(f"must be the region in which the jobs are priced, {of}.", f"#/requests/{n}/region", None))
        if sent.rates is not UNSET:
            faults.append(Fault("must be left out: the rates are the draft's.", f"#/requests/{n}/rates", None))
        if sent.priced_on is not UNSET and sent.priced_on != day:
            why = "must be left out: all jobs are priced on the first day of the draft."
            faults.append(Fault(why, f"#/requests/{n}/priced_on", None))
    if faults:
        raise _untried(faults)


def _check_size(jobs: Sequence[Job]) -> None:
    """Refuse jobs that would take too long: every group of alike pieces is as much work as a defect.

    Raises:
        ProblemError: 422.
    """
    groups = sum(job.survey.most_groups for job in jobs)
    if groups > MOST_GROUPS:
        said = f"fall into {groups} groups of alike pieces; at most {MOST_GROUPS} are taken."
        raise _untried([Fault(said, "#/requests", None)])


def _untried(faults: list[Fault]) -> ProblemError:
    return ProblemError(problem("implausible", "The requests cannot be tried on this draft.", errors=faults))


def _invalid(why: str, pointer: str) -> ProblemError:
    detail = "1 field is not in the form of the contract."
    return ProblemError(problem("invalid-request", detail, errors=[Fault(why, pointer, None)]))


def preview_door(desk: PreviewDesk, types: RequestTypes, basket: Sequence[StandardJob]) -> PreviewDoor:
    """The door, with the basket read as requests are.

    Raises:
        ProblemError: a job of the basket is not a request; every fault is named.
    """
    # A request wants a region; the survey that it becomes has none.
    read = [(job, read_body(msgspec.json.encode({"region": "any", **job.request}), types.request)) for job in basket]
    return PreviewDoor(desk, Converter(types), preview_request(types), tuple(read))


def preview_route(door: PreviewDoor) -> HTTPRouteHandler:
    """The address of previews."""

    @post("/v1/regions/{region:str}/drafts/{draft:str}/preview", status_code=200, opt={"scope": "rates:write"})
    async def preview_draft(request: Asked, region: FromPath[str], draft: FromPath[str]) -> Response[bytes]:
        region = region_named(region)
        return await door.preview(request, region, draft_named(draft))

    return preview_draft


def preview_paths() -> Node:
    """Its part of the contract."""
    operation = change(
        "previewDraft", TAG, "See what a draft would do",
        "The standard jobs, or the caller's own, under the rates in force on the first day and with the draft: every plan's "
        "price and rank, and which changed line did it. Nothing is stored; publishing gives these very prices.",
        answers={"200": "Preview"}, parameters=[REGION, DRAFT], body=json_body("PreviewRequest"),
        problems=("unknown-draft", "no-book-in-force", "books-unavailable", "implausible", "nothing-priced"), headers=("ETag",),
    )
    operation["requestBody"]["required"] = False
    return {"/v1/regions/{region}/drafts/{draft}/preview": {"post": operation}}
