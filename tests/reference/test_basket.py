"""The basket of standard jobs: understood as requests are, priced in every demo region, and not one-sided."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import msgspec
import pytest

from service.application.preview import StandardJob
from service.reference.basket import load_basket
from service.reference.tables import ReferenceDataError
from service.web.convert import Converter
from service.web.decoding import RequestReader
from service.web.problems import ProblemError
from service.web.publishing.preview import preview_door
from service.web.requests import request_types
from tests.engine.books import DAY, book
from tests.engine.cases import knowledge
from tests.engine.pricing_desk import priced

TYPES = request_types(knowledge())


@pytest.mark.parametrize("region", ["base", "kestrel-range", "heron-bayou", "sollavik"])
def test_every_standard_job_is_priced_in_every_region(region: str) -> None:
    reader, converter = RequestReader(TYPES), Converter(TYPES)
    for job in load_basket():
        sent = reader.read(msgspec.json.encode({"region": region, **job.request}))
        answer = priced(converter.survey(sent, DAY), book(region))
        for defect in answer.defects:
            assert (defect.status, defect.slips) == ("priced", ()), job.code
            assert all(finding.options for finding in defect.findings), job.code
        assert answer.job.total.as_described > 0


def test_the_jobs_are_of_many_sorts_of_work() -> None:
    jobs = load_basket()
    reader, converter = RequestReader(TYPES), Converter(TYPES)
    firsts = set()
    for job in jobs:
        answer = priced(converter.survey(reader.read(msgspec.json.encode({"region": "x", **job.request})), DAY), book())
        firsts |= {finding.options[0].method for defect in answer.defects for finding in defect.findings}
    assert len(jobs) >= 12
    assert len({job.family for job in jobs}) >= 10
    assert len(firsts) >= 12


def test_a_job_that_is_no_request_is_refused_when_the_service_is_built() -> None:
    wrong = StandardJob("x", "wall logs", "x", {"defects": [{"element": "wall_low", "damage": "through", "depth": "3"}]})
    with pytest.raises(ProblemError) as refused:
        preview_door(None, TYPES, [wrong])  # type: ignore[arg-type]  # it is not asked
    assert refused.value.trouble.errors[0].pointer == "#/defects/0/depth"


def _job(**changed: Any) -> dict[str, Any]:
    return {"code": "a", "family": "wall logs", "what": "a wall", "request": {"defects": []}, **changed}


@pytest.mark.parametrize(("jobs", "says"), [
    ([], "must not be empty"),
    ([_job(), _job()], "stands twice"),
    ([_job(family=" ")], "family"),
    ([{"code": "a"}], "nothing else"),
    ([_job(request={"region": "base", "defects": []})], "must be an object without"),
    ([_job(request=[])], "must be an object without"),
    (["a"], "nothing else"),
])
def test_a_broken_basket_is_named(tmp_path: Path, jobs: list[Any], says: str) -> None:
    (tmp_path / "basket.json").write_text(json.dumps({"jobs": jobs}), encoding="utf-8")
    with pytest.raises(ReferenceDataError, match=says):
        load_basket(tmp_path)


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"jobs": 3}', "\xff"])
def test_a_basket_that_is_none_is_named(tmp_path: Path, text: str) -> None:
    (tmp_path / "basket.json").write_text(text, encoding="latin-1")
    with pytest.raises(ReferenceDataError, match="jobs"):
        load_basket(tmp_path)
