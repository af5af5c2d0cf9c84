"""POST /v1/quotes: bytes to a survey, an answer to bytes."""

from __future__ import annotations

import asyncio
import hashlib
from collections.abc import Callable
from datetime import date
from functools import partial
from typing import Any

import msgspec
from litestar import Response

from service.application.access import Caller
from service.application.ports import Quotes
from service.application.quotes import A_FEW
from service.engine import outcome
from service.engine.survey import Survey
from service.web import limits
from service.web.access import asker_of, check_region
from service.web.ballpark import ballpark_of
from service.web.convert import Converter, check_groups
from service.web.decoding import RequestReader, invalid
from service.web.http import JSON, Asked, check_json, freshness
from service.web.metrics import Metrics
from service.web.present import Presenter
from service.web.problems import Fault, ProblemError, problem
from service.web.quantities import QuantityError
from service.web.requests import RequestTypes
from service.web.summary import summary_of

ENGINE = "1.2.0"
"""Version of the engine that answers name. It changes whenever the same request with the same rates is answered otherwise."""


class QuoteDoor:
    """Takes requests for quotes."""

    def __init__(self, quotes: Quotes, types: RequestTypes, today: Callable[[], date], metrics: Metrics) -> None:
        """Prepare the way in and the way out."""
        self._quotes, self._today, self._metrics = quotes, today, metrics
        self._reader = RequestReader(types)
        self._converter = Converter(types)
        self._encoder = msgspec.json.Encoder()

    async def answer(self, request: Asked) -> Response[bytes]:
        """The quote for one request."""
        check_json(request)
        body = await request.body()
        sent, survey = self.understand(body)
        caller = asker_of(request).caller
        check_region(caller, sent.region)
        if caller.sort == "form":
            _check_form(sent)
        check_groups(survey, limits.FORM_GROUPS if caller.sort == "form" else limits.GROUPS)
        pin = None if sent.rates is msgspec.UNSET else sent.rates
        quoted = await self._quotes.quote(sent.region, survey, pin)
        presenter = Presenter(quoted.answer, sent)
        for defect in quoted.answer.defects:
            self._metrics.quoted(defect.status)
        if all(d.status == "rejected" for d in quoted.answer.defects):
            raise _nothing_priced(presenter, quoted.answer)
        write = partial(self._written, presenter, sent, survey, quoted.answer, caller)
        # Megabytes take a while to write, as they took a while to work out: nobody else waits for them.
        written = await asyncio.to_thread(write) if survey.most_groups > A_FEW else write()
        return Response(
            written, status_code=200, media_type=JSON, headers=freshness(degraded=quoted.degraded, age_s=quoted.age_s)
        )

    def understand(self, body: bytes) -> tuple[Any, Survey]:
        """The request and the survey that it describes.

        Raises:
            ProblemError: 400, with every fault.
        """
        sent = self._reader.read(body)
        try:
            return sent, self._converter.survey(sent, self._today())
        except QuantityError:
            raise invalid(self._reader.faults(body)) from None

    def _written(
        self, presenter: Presenter, sent: Any, survey: Survey, answer: outcome.Answer, caller: Caller
    ) -> bytes:
        full = presenter.quote(ENGINE, self._digest(survey, answer))
        if caller.sort == "form":
            # Whatever view was asked for: a public key shows no cost of ours.
            return self._encoder.encode(ballpark_of(full))
        return self._encoder.encode(summary_of(full) if sent.view == "summary" else full)

    def _digest(self, survey: Survey, answer: outcome.Answer) -> str:
        """SHA-256 of the request as it was understood: 3/4 in and 19.05 mm give the same."""
        said = (answer.region, answer.rates, answer.units, survey.level, survey.priced_on, survey.defects, survey.house,
                survey.wishes, *([survey.job] if survey.job else []))
        return hashlib.sha256(self._encoder.encode(said)).hexdigest()


def _check_form(sent: Any) -> None:
    """A form is answered by today's rates: other days and revisions would show everybody how the region's prices move.

    Raises:
        ProblemError: 403.
    """
    named = [name for name in ("rates", "priced_on") if getattr(sent, name) is not msgspec.UNSET]
    if named:
        why = "must be left out with a form's key: a form is answered by the rates of today."
        faults = [Fault(why, f"#/{name}", None) for name in named]
        raise ProblemError(problem("not-allowed", f"{' and '.join(named)} {why}", errors=faults))


def _nothing_priced(presenter: Presenter, answer: outcome.Answer) -> ProblemError:
    """422: every defect has a value that cannot be."""
    faults = [
        Fault(f"{s.value!r}: {s.wrong}. {s.right}", s.pointer, s.code)
        for d in answer.defects
        for s in presenter.slips(d)
        if s.fatal
    ]
    one = len(answer.defects) == 1
    detail = "The defect cannot be priced." if one else f"None of the {len(answer.defects)} defects can be priced."
    return ProblemError(problem("nothing-priced", detail, errors=faults[: limits.ERRORS]))
