"""The basket: standard jobs on which a change of rates is tried before it is published.

Facts only, written as a request is. Whether they are understood as one is for the reader of requests to say.
"""

from __future__ import annotations

import json
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from service.application.preview import StandardJob
from service.reference.tables import ReferenceDataError

FILE = "basket.json"
NOT_ITS_OWN = frozenset(("region", "priced_on", "rates", "view", "units"))
"""What the preview says for all jobs alike, so that none may say it for itself."""


def load_basket(folder: Traversable | None = None) -> tuple[StandardJob, ...]:
    """All jobs of the basket, in the order of the file.

    Args:
        folder: where the file lies; the one of this package where None.

    Raises:
        ReferenceDataError: a job that cannot be used, named.
    """
    try:
        jobs = json.loads((folder or files("service.reference")).joinpath(FILE).read_text(encoding="utf-8"))["jobs"]
    except (ValueError, KeyError, TypeError):
        jobs = None
    if not isinstance(jobs, list):
        raise ReferenceDataError(FILE, "", "jobs", "must be JSON with a list of jobs")
    done: dict[str, StandardJob] = {}
    for n, row in enumerate(jobs, start=1):
        job = _job(n, row)
        if job.code in done:
            raise ReferenceDataError(FILE, job.code, "code", "stands twice")
        done[job.code] = job
    if not done:
        raise ReferenceDataError(FILE, "", "jobs", "must not be empty")
    return tuple(done.values())


def _job(n: int, row: Any) -> StandardJob:
    named = str(row.get("code", n)) if isinstance(row, dict) else str(n)
    if not isinstance(row, dict) or row.keys() != {"code", "family", "what", "request"}:
        raise ReferenceDataError(FILE, named, "", "must have code, family, what, request and nothing else")
    for field in ("code", "family", "what"):
        if not isinstance(row[field], str) or not row[field].strip():
            raise ReferenceDataError(FILE, named, field, "must be a text")
    if not isinstance(row["request"], dict) or row["request"].keys() & NOT_ITS_OWN:
        raise ReferenceDataError(FILE, named, "request", f"must be an object without {', '.join(sorted(NOT_ITS_OWN))}")
    return StandardJob(row["code"], row["family"], row["what"], row["request"])
