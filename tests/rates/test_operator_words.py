"""What an operator is told when something is wrong: what it is, in plain words, and what to do next."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import httpx
import msgspec
import pytest
from msgspec import inspect

from service.web import drafts_shapes
from service.web.hours import shapes as hours_shapes
from service.web.keys import shapes as key_shapes
from service.web.publishing import shapes as publishing_shapes
from service.web.requests import NO_CONTROL
from service.web.stock import shapes as stock_shapes
from tests.rates.conftest import ClientOf
from tests.rates.offices import Office, draft_of, held, in_days, new_office, price

SHEET = "section,code,unit,low,likely,high,kind,source,what,locked"


@pytest.fixture
async def shop(loaded_url: str, client_of: ClientOf) -> Office:
    return await new_office(loaded_url, client_of, held("lead", "90"), held("carpenter", "70"))


def details(answer: httpx.Response) -> list[str]:
    assert answer.headers["content-type"] == "application/problem+json"
    return [fault["detail"] for fault in answer.json()["errors"]]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"code": "log-dry", "likely": "30"}, "must be a code of small letters, digits, _ and points, such as "),
        ({"code": "lead", "likely": "12,50"}, "must be a plain number with a point, such as 1500 or 12.50, not '12,50'."),
        ({"code": "lead", "likely": 131}, "must be a text in quotation marks, not the number 131."),
        ({"code": "lead", "likely": "1,200.00"}, "must be a plain number with a point, such as 1500 or 12.50, not '1,200.00'."),
    ],
)
async def test_a_text_that_is_not_of_its_form_is_told_the_form_in_words(
    shop: Office, change: dict[str, Any], said: str
) -> None:
    answer = await shop.client.post(shop.path("drafts"), json={"lines": [{"section": "resources", **change}]})
    assert answer.status_code == 400
    (detail,) = details(answer)
    assert detail.startswith(said)


async def test_a_reason_of_spaces_is_told_what_is_wanted(shop: Office) -> None:
    answer = await shop.publish(await shop.draft(price("lead", "95")), why="  ")
    assert details(answer) == ["must be a text that begins with more than a space, not '  '."]


def patterned(kind: inspect.Type) -> Iterator[inspect.Metadata]:
    """Every text in a body whose form is a pattern that is more than "no control characters"."""
    match kind:
        case inspect.Metadata(type=inspect.StrType()):
            if kind.extra_json_schema and kind.extra_json_schema.get("pattern", NO_CONTROL) != NO_CONTROL:
                yield kind
        case inspect.Metadata():
            yield from patterned(kind.type)
        case inspect.StructType():
            for field in kind.fields:
                yield from patterned(field.type)
        case inspect.ListType():
            yield from patterned(kind.item_type)
        case inspect.UnionType():
            for one in kind.types:
                yield from patterned(one)


def test_every_form_in_a_body_of_an_edit_has_its_words() -> None:
    """A pattern is for programs: whoever reads the fault is told in words."""
    modules = (drafts_shapes, hours_shapes, key_shapes, publishing_shapes, stock_shapes)
    bodies = [
        kind for module in modules for kind in vars(module).values()
        if isinstance(kind, type) and issubclass(kind, msgspec.Struct) and kind.__struct_config__.forbid_unknown_fields
    ]
    found = [meta for body in bodies for meta in patterned(inspect.type_info(body))]
    assert len(found) > 10
    assert [meta.extra_json_schema for meta in found if not {"form", "dimension"} & (meta.extra or {}).keys()] == []


async def test_who_comes_second_is_told_how_to_go_on(shop: Office) -> None:
    first, second = await shop.draft(price("lead", "95")), await shop.draft(price("lead", "96"))
    await shop.published(first)
    told = (await shop.publish(second)).json()["detail"]
    assert "POST to the draft's rebase" in told


async def test_who_publishes_for_the_past_is_told_who_may(shop: Office) -> None:
    answer = await shop.publish(await shop.draft(price("lead", "95")), effective=in_days(-1))
    assert "only the head office may" in answer.json()["detail"]


async def test_what_the_questions_around_a_scheduled_revision_advise_can_be_done(shop: Office) -> None:
    later = in_days(30)
    await shop.published(await shop.draft(price("lead", "99")), effective=later)
    bringing = await shop.publish(await shop.draft(price("carpenter", "75"), based_on=2))
    carried = next(detail for detail in details(bringing) if "bring along" in detail)

    # Told on which revision to open it: it brings along nothing, and is told of the later one.
    alone = await shop.draft(price("carpenter", "75"), based_on=int(re.findall(r"based_on (\d+)", carried)[0]))
    (lost,) = details(await shop.publish(alone))
    assert "bring along" not in lost
    await shop.published(alone, confirmed=["until:2"])

    again = await shop.draft(price("carpenter", "75"), based_on=int(re.findall(r"based_on (\d+)", lost)[0]))
    await shop.published(again, effective=later)
    assert [await shop.likely("carpenter", day) for day in (None, later)] == ["75", "75"]
    assert [await shop.likely("lead", day) for day in (None, later)] == ["90", "99"]


async def test_a_lock_is_named_once_with_the_line(shop: Office, loaded_url: str, client_of: ClientOf) -> None:
    below = await new_office(loaded_url, client_of, held("finisher", "60"), parent=shop.code)
    await shop.published(await shop.draft({"section": "resources", "code": "lead", "locked": True}))
    answer = await below.client.post(below.path("drafts"), json={"lines": [price("lead", "97")]})
    assert answer.status_code == 409
    assert answer.json()["detail"] == (
        f"Code 'lead' is locked by {shop.code} and cannot be overridden. Leave it to be inherited."
    )


async def test_thousands_in_a_sheet_of_decimal_commas_are_put_right_with_a_comma(shop: Office) -> None:
    tag = await shop.draft()
    row = "resources,lead,h,60,1.090,00,1500,labour,J,Lead,no".replace(",", ";").replace("1.090;00", "1.090,00")
    answer = await shop.client.put(
        shop.path(f"drafts/{draft_of(tag)}/lines"), content=f"{SHEET.replace(',', ';')}\r\n{row}\r\n",
        headers={"Content-Type": "text/csv", "If-Match": tag},
    )
    (fault,) = answer.json()["errors"]
    assert (fault["row"], fault["column"], fault["value"]) == (2, "likely", "1.090,00")
    assert fault["detail"] == "has separators of thousands. Write 1500,00 in place of 1.500,00."


async def test_a_species_that_is_misspelt_is_offered_the_near_one(shop: Office) -> None:
    head = "code,form,section_in,second_in,length_ft,moisture_pct,moisture_depth_in,read_on,species,cut,where,held_for,held_until"
    there = await shop.client.get(shop.path("stock"))
    answer = await shop.client.put(
        shop.path("stock"), content=f"{head}\na_1,log,12,,24,13,6,2026-01-05,lodgpole_pine,round,shed,,\n",
        headers={"Content-Type": "text/csv", "If-Match": there.headers["etag"]},
    )
    (fault,) = answer.json()["errors"]
    assert fault["column"] == "species"
    assert "Did you mean lodgepole_pine" in fault["detail"]


async def test_a_method_that_there_is_not_is_told_so_and_not_that_nobody_reported_it(shop: Office) -> None:
    tag = await shop.draft()
    answer = await shop.client.post(
        shop.path(f"drafts/{draft_of(tag)}/hours-suggestions"), json={"methods": ["face_venere", "face_veneer"]},
        headers={"If-Match": tag},
    )
    assert answer.status_code == 200
    misspelt, unreported = (one["why"] for one in answer.json()["left"])
    assert misspelt.startswith("There is no such method. Did you mean face_veneer")
    assert unreported == "No report of it counts."


async def test_ratios_of_a_difference_have_six_digits_like_all_others(shop: Office) -> None:
    tag = await shop.draft(price("lead", "97"))
    told = (await shop.client.get(shop.path(f"drafts/{draft_of(tag)}/difference"))).json()
    assert [line["ratio"] for line in told["lines"]] == [1.07778]


async def test_who_publishes_twice_is_told_which_revision_the_draft_became(
    shop: Office, loaded_url: str, client_of: ClientOf
) -> None:
    tag = await shop.draft(price("lead", "97"))
    made = await shop.published(tag)
    again = await shop.publish(tag)
    assert again.status_code == 404
    assert f"it is revision {made['number']} of {shop.code}" in again.json()["detail"]
    # Another office is not told what became of it.
    other = await new_office(loaded_url, client_of, held("lead", "91"))
    assert "revision" not in (await other.publish(tag)).json()["detail"]


async def test_two_sides_of_a_comparison_that_do_not_fit_are_told_what_would(shop: Office) -> None:
    answer = await shop.client.get(shop.path("compare"), params={"from": f"base@1/{shop.code}@1", "to": "1"})
    assert answer.status_code == 400
    assert answer.json()["detail"] == (
        "Parameter 'to' must be of the same kind as from: both numbers of revisions, or both the text of rates."
    )
