"""Publishing over HTTP: a draft becomes a revision, an earlier revision comes back, a draft moves onto a newer revision."""

from __future__ import annotations

import msgspec
from litestar import Response, post
from litestar.handlers import HTTPRouteHandler
from litestar.params import FromPath
from msgspec import UNSET, UnsetType

from service.application.inheritance import LineKey
from service.application.publishing import Press, Publication, Published
from service.application.rebasing import Choice, Rebaser
from service.web.access import asker_of
from service.web.area import Area
from service.web.conditions import mark_named, once_of
from service.web.contract_parts import DRAFT, IF_MATCH, NUMBER, REGION, change, json_body
from service.web.decoding import read_body
from service.web.http import JSON, NO_STORE, Asked, check_json
from service.web.openapi import IDEMPOTENCY_KEY
from service.web.params import draft_named, number_named, region_named
from service.web.publishing import shapes
from service.web.publishing.preview import TAG, PreviewDoor, preview_paths, preview_route
from service.web.publishing.preview_shapes import Preview
from service.web.publishing.shapes import (
    PublishedNumber,
    PublishedRevision,
    PublishRequest,
    RebasedDraft,
    RebaseRequest,
    RevertRequest,
)
from service.web.schemas import Node

AREA = "Drafts become revisions, with a day, a reason and a name. Nothing is changed in place."


def publishing_area(press: Press, rebaser: Rebaser, previews: PreviewDoor) -> Area:
    """The addresses of publishing."""
    return Area(
        tag=TAG, about=AREA, routes=[preview_route(previews), _publish(press), _revert(press), _rebase(rebaser)],
        paths=preview_paths() | _paths(),
        shapes=[previews.sent, Preview, PublishRequest, RevertRequest, RebaseRequest, PublishedRevision, RebasedDraft],
    )


def _publish(press: Press) -> HTTPRouteHandler:
    @post("/v1/regions/{region:str}/drafts/{draft:str}/publish", opt={"scope": "rates:publish"})
    async def publish_draft(request: Asked, region: FromPath[str], draft: FromPath[str]) -> Response[bytes]:
        region = region_named(region)
        number = draft_named(draft)
        check_json(request)
        mark = mark_named(request)
        body = await request.body()
        sent = read_body(body, PublishRequest)
        made = await press.publish(
            asker_of(request), region, number, mark, _publication(sent), once_of(request, body), _said
        )
        return _created(region, made)

    return publish_draft


def _revert(press: Press) -> HTTPRouteHandler:
    @post("/v1/regions/{region:str}/revisions/{number:str}/revert", opt={"scope": "rates:publish"})
    async def revert_to_revision(request: Asked, region: FromPath[str], number: FromPath[str]) -> Response[bytes]:
        region = region_named(region)
        wanted = number_named(number)
        check_json(request)
        body = await request.body()
        sent = read_body(body, RevertRequest)
        seen = None if sent.newest is UNSET else sent.newest
        made = await press.revert(
            asker_of(request), region, wanted, seen, _publication(sent), once_of(request, body), _said
        )
        return _created(region, made)

    return revert_to_revision


def _rebase(rebaser: Rebaser) -> HTTPRouteHandler:
    @post("/v1/regions/{region:str}/drafts/{draft:str}/rebase", status_code=200, opt={"scope": "rates:write"})
    async def rebase_draft(request: Asked, region: FromPath[str], draft: FromPath[str]) -> Response[bytes]:
        region = region_named(region)
        number = draft_named(draft)
        mark = mark_named(request)
        sent = RebaseRequest()
        if body := await request.body():
            check_json(request)
            sent = read_body(body, RebaseRequest)
        choice = Choice(_lines(sent.keep), _lines(sent.take))
        done = await rebaser.rebase(asker_of(request), region, number, mark, choice)
        headers = {"ETag": f'"{done.mark}"', **NO_STORE}
        return Response(msgspec.json.encode(shapes.rebased(number, done)), media_type=JSON, headers=headers)

    return rebase_draft


def _publication(sent: PublishRequest | RevertRequest) -> Publication:
    return Publication(
        effective=None if sent.effective is UNSET else sent.effective, why=sent.why,
        confirmed=frozenset() if sent.confirmed is UNSET else frozenset(sent.confirmed),
    )


def _lines(texts: list[str] | UnsetType) -> frozenset[LineKey]:
    if texts is UNSET:
        return frozenset()
    pairs = (text.split("/") for text in texts)
    return frozenset((section, code) for section, code in pairs)


def _said(done: Published) -> bytes:
    return msgspec.json.encode(shapes.published(done))


def _created(region: str, body: bytes) -> Response[bytes]:
    """The answer as it was written with the change, now or when the same create was sent before."""
    number = msgspec.json.decode(body, type=PublishedNumber).number
    headers = {"Location": f"/v1/regions/{region}/revisions/{number}", **NO_STORE}
    return Response(body, status_code=201, media_type=JSON, headers=headers)


# ---- the contract --------------------------------------------------------------------------------------------------------


CHECKS = ("publish-refused", "confirmation-needed", "draft-outdated", "nothing-changes", "backdated", "create-under-way",
          "key-of-another-create", "no-book-in-force")


def _paths() -> Node:
    rebase = change(
        "rebaseDraft", TAG, "Move a draft onto the newest revision",
        "What the draft changed stays, what others changed comes along. Lines that were changed on both sides are asked about: "
        "each is named in `keep` or in `take`, or nothing is moved.",
        answers={"200": "RebasedDraft"}, parameters=[REGION, DRAFT, IF_MATCH], body=json_body("RebaseRequest"),
        problems=("unknown-draft", "out-of-date", "state-needed", "rebase-conflicts"), headers=("ETag",),
    )
    rebase["requestBody"]["required"] = False
    return {
        "/v1/regions/{region}/drafts/{draft}/publish": {"post": change(
            "publishDraft", TAG, "Publish a draft",
            "Checked, numbered, signed, frozen and put in force in one step, from `effective` until the next scheduled "
            "revision. What may be a slip is asked about: send it again with the tokens of what is meant.",
            answers={"201": "PublishedRevision"}, parameters=[REGION, DRAFT, IF_MATCH, IDEMPOTENCY_KEY],
            body=json_body("PublishRequest"), problems=("unknown-draft", "out-of-date", "state-needed", *CHECKS),
            headers=("Location",),
        )},
        "/v1/regions/{region}/revisions/{number}/revert": {"post": change(
            "revertToRevision", TAG, "Go back to an earlier revision",
            "A new revision with the lines of an earlier one, checked like any other.",
            answers={"201": "PublishedRevision"}, parameters=[REGION, NUMBER, IDEMPOTENCY_KEY],
            body=json_body("RevertRequest"), problems=("unknown-revision", *CHECKS), headers=("Location",),
        )},
        "/v1/regions/{region}/drafts/{draft}/rebase": {"post": rebase},
    }
