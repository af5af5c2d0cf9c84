"""No short request costs long work: what a list of one value a piece multiplies is counted before anything is worked out."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

from service.web import limits
from tests.rates.conftest import ClientOf

SITE = "https://www.example.com"


def of_own_kind(pieces: int) -> dict[str, Any]:
    """A defect of which every piece is a case of its own."""
    return {
        "element": "post_porch", "damage": "foot_rot", "from_end": [f"{k + 10} mm" for k in range(pieces)],
        "section": "10 in",
    }


def asked(pieces: int) -> dict[str, Any]:
    """A request with so many pieces, all of them different."""
    full, rest = divmod(pieces, limits.PIECES)
    defects = [of_own_kind(limits.PIECES)] * full + ([of_own_kind(rest)] if rest else [])
    return {"region": "kestrel-range", "defects": defects}


def faults(answer: httpx.Response, status: int) -> list[tuple[str, str]]:
    assert answer.status_code == status, answer.text
    return [(e["pointer"], e["detail"]) for e in answer.json()["errors"]]


async def test_more_unlike_pieces_than_are_taken_are_refused(office: httpx.AsyncClient) -> None:
    answer = await office.post("/v1/quotes", json=asked(limits.GROUPS + 1))
    [(pointer, detail)] = faults(answer, 400)
    assert pointer == "#/defects"
    assert f"{limits.GROUPS + 1} groups" in detail


async def test_alike_pieces_count_once(office: httpx.AsyncClient) -> None:
    alike = {"element": "post_porch", "damage": "foot_rot", "from_end": ["3 in"] * limits.PIECES, "section": "10 in"}
    answer = await office.post("/v1/quotes", json={"region": "kestrel-range", "defects": [alike] * 3})
    assert answer.status_code == 200, answer.text


async def test_a_form_asks_about_a_few_places(client_of: ClientOf) -> None:
    form = await client_of(["quote"], ["kestrel-range"], sort="form", origins=[SITE])
    form.headers["Origin"] = SITE
    few = await form.post("/v1/quotes", json=asked(limits.FORM_GROUPS))
    assert few.status_code == 200, few.text
    [(pointer, detail)] = faults(await form.post("/v1/quotes", json=asked(limits.FORM_GROUPS + 1)), 400)
    assert pointer == "#/defects"
    assert f"at most {limits.FORM_GROUPS} " in detail


async def test_what_changed_since_a_quote_is_bounded_alike(office: httpx.AsyncClient) -> None:
    rates = (await office.get("/v1/regions/kestrel-range")).json()["rates"]
    body = {"rates": rates, "request": asked(limits.GROUPS + 1)}
    [(pointer, _)] = faults(await office.post("/v1/regions/kestrel-range/changes", json=body), 400)
    assert pointer == "#/request/defects"


@pytest.mark.parametrize("jobs", [1, 2])
async def test_jobs_of_a_preview_are_bounded_together(office: httpx.AsyncClient, jobs: int) -> None:
    draft = (await office.post("/v1/regions/kestrel-range/drafts", json={})).json()["id"]
    body = {"requests": [asked(102 // jobs)] * jobs}
    [(pointer, detail)] = faults(await office.post(f"/v1/regions/kestrel-range/drafts/{draft}/preview", json=body), 422)
    assert pointer == "#/requests"
    assert "102 groups" in detail


async def test_faults_are_looked_for_until_enough_are_found(
    office: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a misspelt field was meant to be is worked out for those only that are told."""
    import difflib

    real, looked_up = difflib.get_close_matches, []

    def counted(word: str, *others: Any, **more: Any) -> list[str]:
        looked_up.append(word)
        return real(word, *others, **more)

    monkeypatch.setattr(difflib, "get_close_matches", counted)
    defect = {f"lenght{k}": 1 for k in range(5_000)}
    answer = await office.post("/v1/quotes", json={"region": "kestrel-range", "defects": [defect]})
    assert len(faults(answer, 400)) == limits.ERRORS
    assert 0 < len(looked_up) <= limits.ERRORS + 1
