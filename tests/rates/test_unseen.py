"""Characters that cannot be seen are refused by name in every text that others read later, in a log, a sheet or a list.

What they are: Unicode Standard Annex 9 (section 2, explicit directional formatting) for those that turn text round; the
general category Cc of the Unicode Character Database for control characters. Their names are the standard's.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Any

import httpx
import pytest

from service.application.plain_text import unseen_in
from service.web.decoding import CONTROL
from tests.rates.drafting import CSV, DRAFTS, LEAD, WHOLE, faults, opened, tidy

REGION = "/v1/regions/kestrel-range"
TURNED = "Lead \u202eecirp wen\u202c"
NAMED = "U+202E, right-to-left override"
TURNING = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
"""Classes of characters, by the standard's names."""
EVERY = [chr(c) for c in range(0x110000) if not 0xD800 <= c < 0xE000]
COLUMNS = ("job", "done_on", "method", "element", "rates", "quoted_hours", "actual_hours", "crew", "note", "corrects")
PIECE = {
    "code": "kr_900", "form": "log", "section": "12 in", "length": "10 ft", "moisture": "14 %", "species": "douglas_fir",
    "cut": "boxed_heart", "where": "rack 1",
}


def test_everything_that_turns_text_round_or_controls_is_unseen() -> None:
    turning = {c for c in EVERY if unicodedata.bidirectional(c) in TURNING}
    controls = {c for c in EVERY if unicodedata.category(c) in {"Cc", "Zl", "Zp"}}
    assert len(turning) == 9
    assert [c for c in turning | controls if not unseen_in(f"a{c}b")] == []


def test_letters_marks_and_joiners_of_any_writing_can_be_seen() -> None:
    seen = {c for c in EVERY if unicodedata.category(c)[0] in "LMNPSZ" and unicodedata.category(c) not in {"Zl", "Zp"}}
    assert [c for c in seen | {"\u200c", "\u200d", "\u200e", "\u200f"} if unseen_in(c)] == []


def test_no_unseen_character_passes_a_body_by_the_short_way() -> None:
    unseen = [c for c in EVERY if unseen_in(c)]
    escapes = [f"\\u{ord(c):04x}" for c in unseen] + [f"\\u{ord(c):04X}" for c in unseen]
    raw = [c for c in unseen if ord(c) >= 0x20]
    assert [c for c in escapes + raw if not CONTROL.search(c.encode())] == []
    assert not CONTROL.search('{"id": "5 \u2013 6 \u201clog\u201d é ß 木"}'.encode())


@pytest.mark.parametrize("field", ["source", "what"])
async def test_texts_of_a_line_are_refused(office: httpx.AsyncClient, head_office: httpx.AsyncClient, field: str) -> None:
    answer = await office.post(DRAFTS, json={"lines": [{**LEAD, field: TURNED}]})
    assert NAMED in faults(answer, 400)[f"#/lines/0/{field}"]
    at, tag = await opened(office)
    cells = {"section": "resources", "code": "lead", **WHOLE, field: TURNED}
    sheet = ",".join(cells) + "\r\n" + ",".join(cells.values()) + "\r\n"
    told = await office.put(f"{at}/lines", content=sheet.encode(), headers={**CSV, **tag})
    assert [(e["row"], e["column"]) for e in told.json()["errors"]] == [(2, field)]
    assert NAMED in told.json()["errors"][0]["detail"]
    assert not re.search("[\u202a-\u202e]", told.json()["errors"][0]["value"])
    await tidy(head_office)


async def test_the_reason_of_a_publication_and_the_note_of_a_draft_are_refused(
    office: httpx.AsyncClient, head_office: httpx.AsyncClient
) -> None:
    assert NAMED in faults(await office.post(DRAFTS, json={"note": TURNED}), 400)["#/note"]
    at, tag = await opened(office)
    for why in (TURNED, TURNED[5:]):
        assert NAMED in faults(await office.post(f"{at}/publish", json={"why": why}, headers=tag), 400)["#/why"]
    assert NAMED in faults(await office.post(f"{REGION}/revisions/1/revert", json={"why": TURNED}), 400)["#/why"]
    await tidy(head_office)


async def test_the_name_of_a_key_is_refused(head_office: httpx.AsyncClient) -> None:
    wish = {"name": TURNED, "scopes": ["quote"], "regions": ["kestrel-range"]}
    assert NAMED in faults(await head_office.post("/v1/keys", json=wish), 400)["#/name"]


@pytest.mark.parametrize("field", ["where", "held_for"])
async def test_texts_of_a_piece_of_wood_are_refused(office: httpx.AsyncClient, field: str) -> None:
    assert NAMED in faults(await office.post(f"{REGION}/stock", json={**PIECE, field: TURNED}), 400)[f"#/{field}"]


async def test_the_job_that_a_piece_was_used_for_and_the_reason_of_a_count_are_refused(office: httpx.AsyncClient) -> None:
    tag = {"If-Match": (await office.get(f"{REGION}/stock")).headers["etag"]}
    used: dict[str, Any] = {"params": {"job": TURNED}, "headers": tag}
    assert (await office.delete(f"{REGION}/stock/kr_001", **used)).status_code == 400
    counted = await office.put(f"{REGION}/stock", json={"pieces": []}, params={"why": TURNED}, headers=tag)
    assert counted.status_code == 400
    assert "'why'" in counted.json()["detail"]


@pytest.mark.parametrize("field", ["job", "note"])
async def test_texts_of_a_report_of_hours_are_refused(office: httpx.AsyncClient, field: str) -> None:
    report = {
        "job": "Alder", "done_on": "2026-05-04", "method": "sister", "rates": "base@1", "quoted_hours": "10", "actual_hours": "9",
    }
    assert NAMED in faults(await office.post(f"{REGION}/hours", json={**report, field: TURNED}), 400)[f"#/{field}"]
    sent = dict.fromkeys(COLUMNS, "") | report | {field: TURNED}
    sheet = ",".join(sent) + "\r\n" + ",".join(sent.values()) + "\r\n"
    told = (await office.post(f"{REGION}/hours", content=sheet.encode(), headers=CSV)).json()["errors"]
    assert [(e["row"], e["column"]) for e in told if NAMED in e["detail"]] == [(2, field)]
