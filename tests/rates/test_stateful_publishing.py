"""Several clients at once on one region's drafts: no update is lost, whatever they do in whichever order.

A batch of requests is sent at the same moment. What the answers say happened is put into a simple model, in the order of
the numbers that were given; then the service must show just what the model holds.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from typing import Any

import httpx
from hypothesis import HealthCheck, Phase, note, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test
from sqlalchemy import select

from service.application.access import SCOPES
from service.bootstrap import create_app
from service.storage.keys import make_key
from service.storage.tables import region
from tests.conftest import bare_engine
from tests.rates.conftest import SECRET, living, settings_for
from tests.rates.offices import FIRST_DAY, Office, draft_of, held, in_days, price
from tests.rates.test_publish import kind, tokens
from tests.storage.factory import new_region, publish_book

CODES = ("lead", "carpenter", "helper")
DAYS = (0, 10, 20)
CLIENTS = 3
Values = dict[str, int]
Before = tuple[dict[str, tuple[str, int]], int]
"""States of the drafts, and the number of the newest revision, before a batch."""


@dataclass
class Held:
    """A draft as the model has it."""

    tag: str
    base: int
    values: Values


@dataclass
class Model:
    """What the region must hold.

    Attributes:
        revisions: own lines of each published revision; the first is number 1.
        starts: day (from today) -> number of the revision that was last put in force from it.
        drafts: open drafts by id.
    """

    revisions: list[Values] = field(default_factory=lambda: [{"lead": 90}])
    starts: dict[int, int] = field(default_factory=lambda: {-1: 1})
    drafts: dict[str, Held] = field(default_factory=dict)

    def in_force(self, day: int) -> int:
        return self.starts[max(start for start in self.starts if start <= day)]

    def states(self) -> dict[str, tuple[str, int]]:
        """Entity tag and base of each open draft."""
        return {draft: (there.tag, there.base) for draft, there in self.drafts.items()}

    def put(self, values: Values, day: int) -> None:
        self.revisions.append(dict(values))
        self.starts[day] = len(self.revisions)

    def rebased(self, draft: Held, onto: int) -> Values:
        """The draft's changes on another revision; where both changed a line the draft's stands."""
        base, theirs = self.revisions[draft.base - 1], self.revisions[onto - 1]
        merged = {code: (theirs if draft.values.get(code) == base.get(code) else draft.values).get(code) for code in CODES}
        return {code: value for code, value in merged.items() if value is not None}


class World:
    """A service with three clients, and new regions on demand, all on one event loop."""

    def __init__(self, url: str) -> None:
        self.url, self.runner = url, asyncio.Runner()
        self.app = create_app(settings_for(url))
        self.life = living(self.app)
        self.clients: list[httpx.AsyncClient] = []

    def run(self, work: Awaitable[Any]) -> Any:
        async def wait() -> Any:
            return await work

        return self.runner.run(wait())

    async def begin(self) -> None:
        await self.life.__aenter__()
        engine = bare_engine(self.url)
        for n in range(CLIENTS):
            async with engine.begin() as connection:
                key = await make_key(
                    connection, SECRET.encode(), sort="server", name=f"client {n}", scopes=SCOPES, regions=None, origins=(),
                    per_minute=0, made_by="tests",
                )
            transport = httpx.ASGITransport(app=self.app, raise_app_exceptions=False)
            headers = {"Authorization": f"Bearer {key.text}"}
            self.clients.append(httpx.AsyncClient(transport=transport, base_url="http://rates.test", headers=headers))
        await engine.dispose()

    async def end(self) -> None:
        for client in self.clients:
            await client.aclose()
        await self.life.__aexit__(None, None, None)

    async def new_region(self) -> list[Office]:
        """A new region below the base, as each of the clients sees it."""
        engine = bare_engine(self.url)
        async with engine.begin() as connection:
            base = (await connection.execute(select(region.c.id).where(region.c.code == "base"))).scalar_one()
            region_id, code = await new_region(connection, base)
            await publish_book(connection, region_id, held("lead", "90"), effective=FIRST_DAY)
        await engine.dispose()
        return [Office(code, region_id, client) for client in self.clients]


@dataclass
class Done:
    """What one client did, and what it was told."""

    act: str
    draft: str = ""
    day: int = 0
    number: int = 0
    code: str = ""
    value: int | None = None
    answer: httpx.Response | None = None

    def __str__(self) -> str:
        """As a note beside a failure."""
        said = "" if self.answer is None else f"{self.answer.status_code} {self.answer.text[:300]}"
        return f"{self.act} {self.draft or self.number or ''} {self.code} {self.value or ''}: {said}"

    @property
    def status(self) -> int:
        assert self.answer is not None
        return self.answer.status_code


ACTS = st.fixed_dictionaries({
    "act": st.sampled_from(["open", "open", "change", "change", "publish", "publish", "publish", "delete", "rebase", "revert"]),
    "who": st.integers(0, CLIENTS - 1), "which": st.integers(0, 5), "code": st.sampled_from(CODES),
    "gone": st.booleans(), "day": st.sampled_from(DAYS),
})


class Publishing(RuleBasedStateMachine):
    """Clients at work on one region."""

    world: World

    @initialize()
    def a_region(self) -> None:
        self.offices: list[Office] = self.world.run(self.world.new_region())
        self.model, self.counter = Model(), 100

    @rule(acts=st.lists(ACTS, min_size=1, max_size=5))
    def at_once(self, acts: list[dict[str, Any]]) -> None:
        """A few requests at the same moment."""
        known = {draft: there.tag for draft, there in self.model.drafts.items()}
        done: list[Done] = self.world.run(self._together([self._act(act, known) for act in acts]))
        for one in done:
            note(str(one))
        self._take(done)

    async def _together(self, work: list[Awaitable[Done]]) -> list[Done]:
        return list(await asyncio.gather(*work))

    def _act(self, act: dict[str, Any], known: dict[str, str]) -> Awaitable[Done]:
        office = self.offices[act["who"]]
        drafts = sorted(known, key=int)
        draft = drafts[act["which"] % len(drafts)] if drafts else ""
        if act["act"] in ("open", "revert") or not draft:
            return self._revert(office, act) if act["act"] == "revert" else self._open(office, act)
        steps: dict[str, Callable[[], Awaitable[Done]]] = {
            "change": lambda: self._change(office, draft, known[draft], act),
            "publish": lambda: self._publish(office, draft, known[draft], act["day"]),
            "delete": lambda: self._delete(office, draft, known[draft]),
            "rebase": lambda: self._rebase(office, draft, known[draft]),
        }
        return steps[act["act"]]()

    async def _open(self, office: Office, act: dict[str, Any]) -> Done:
        value = self._fresh()
        body = {"lines": [price(act["code"], str(value))]}
        answer = await office.client.post(office.path("drafts"), json=body)
        return Done("open", code=act["code"], value=value, answer=answer)

    async def _change(self, office: Office, draft: str, tag: str, act: dict[str, Any]) -> Done:
        path = office.path(f"drafts/{draft}/lines/resources/{act['code']}")
        if act["gone"]:
            return Done("change", draft, code=act["code"], answer=await office.client.delete(path, headers={"If-Match": tag}))
        value, headers = self._fresh(), {"If-Match": tag, "Content-Type": "application/merge-patch+json"}
        body = {"low": "60", "likely": str(value), "high": "300"}
        answer = await office.client.patch(path, json=body, headers=headers)
        return Done("change", draft, code=act["code"], value=value, answer=answer)

    def _fresh(self) -> int:
        """A value that was never there: a change that changes nothing would not be one."""
        self.counter += 1
        return self.counter

    async def _publish(self, office: Office, draft: str, tag: str, day: int) -> Done:
        body: dict[str, Any] = {"effective": in_days(day)}
        answer = await office.publish(tag, **body)
        if answer.status_code == 409 and kind(answer) == "confirmation-needed":
            answer = await office.publish(tag, **body, confirmed=tokens(answer))
        return Done("publish", draft, day=day, answer=answer)

    async def _delete(self, office: Office, draft: str, tag: str) -> Done:
        answer = await office.client.delete(office.path(f"drafts/{draft}"), headers={"If-Match": tag})
        return Done("delete", draft, answer=answer)

    async def _rebase(self, office: Office, draft: str, tag: str) -> Done:
        answer = await office.rebase(tag)
        if answer.status_code == 409 and kind(answer) == "rebase-conflicts":
            answer = await office.rebase(tag, keep=tokens(answer))
        return Done("rebase", draft, answer=answer)

    async def _revert(self, office: Office, act: dict[str, Any]) -> Done:
        number = act["which"] % len(self.model.revisions) + 1
        answer = await office.revert(number, effective=in_days(act["day"]))
        if answer.status_code == 409 and kind(answer) == "confirmation-needed":
            answer = await office.revert(number, effective=in_days(act["day"]), confirmed=tokens(answer))
        return Done("revert", number=number, day=act["day"], answer=answer)

    # ---- what the answers say -------------------------------------------------------------------------------------------

    def _take(self, done: list[Done]) -> None:
        """Put what happened into the model, publications in the order of their numbers."""
        before = self.model.states(), len(self.model.revisions)
        states: dict[str, list[Done]] = {}
        for one in done:
            assert one.status < 500, one.answer
            if one.draft and one.status < 300 and self._is_new_state(one):
                states.setdefault(one.draft, []).append(one)
        assert all(len(some) == 1 for some in states.values()), "one state of a draft was changed twice"
        published = [one for one in done if one.status == 201 and one.act in ("publish", "revert")]
        for one in sorted(published, key=self._number):
            self._take_publication(one)
        for one in done:
            if one not in published:
                self._take_other(one, before, alone=len(done) == 1)

    def _is_new_state(self, one: Done) -> bool:
        """Whether a change of a draft used its state up; a rebase onto what it is based on does not."""
        assert one.answer is not None
        return one.act != "rebase" or one.answer.headers["etag"] != self.model.drafts[one.draft].tag

    def _number(self, one: Done) -> int:
        assert one.answer is not None
        return int(one.answer.json()["number"])

    def _take_publication(self, one: Done) -> None:
        model, newest = self.model, len(self.model.revisions)
        assert self._number(one) == newest + 1, "a number was left out or given twice"
        if one.act == "revert":
            model.put(model.revisions[one.number - 1], one.day)
            return
        draft = model.drafts.pop(one.draft)
        assert draft.base in (newest, model.in_force(one.day)), "published over what nobody had seen"
        assert draft.values != model.revisions[model.in_force(one.day) - 1], "published what was in force"
        model.put(draft.values, one.day)

    def _take_other(self, one: Done, before: Before, *, alone: bool) -> None:
        assert one.answer is not None
        model, draft = self.model, self.model.drafts.get(one.draft)
        match one.act, one.status:
            case "open", 201:
                made = one.answer.json()
                base = int(made["based_on"])
                model.drafts[draft_of(one.answer.headers["etag"])] = Held(
                    one.answer.headers["etag"], base, {**model.revisions[base - 1], one.code: one.value or 0}
                )
            case "change", 200 | 204 if draft is not None:
                if one.value is None:
                    del draft.values[one.code]
                else:
                    draft.values[one.code] = one.value
                draft.tag = one.answer.headers["etag"]
            case "delete", 204:
                del model.drafts[one.draft]
            case "rebase", 200 if one.answer.headers["etag"] == before[0][one.draft][0]:
                # It was on the newest already: nothing of it was used up, so another may have changed it at the same moment.
                assert not alone or (draft is not None and draft.base == len(model.revisions))
            case "rebase", 200 if draft is not None:
                onto = int(one.answer.json()["based_on"])
                draft.values, draft.base, draft.tag = model.rebased(draft, onto), onto, one.answer.headers["etag"]
            case _, _:
                self._take_refusal(one, draft, before, alone=alone)

    def _take_refusal(self, one: Done, draft: Held | None, before: Before, *, alone: bool) -> None:
        """A refusal has a reason: in the model, or in what another client did at the same moment."""
        assert one.answer is not None
        model, why = self.model, kind(one.answer)
        if why in ("out-of-date", "unknown-draft"):
            assert not alone, "refused without another change"
        elif why == "draft-outdated":
            # It was, before one of the others moved it.
            states, newest = before
            assert states[one.draft][1] != newest or len(model.revisions) > newest
        elif why in ("rebase-conflicts", "confirmation-needed"):
            assert not alone, "what was asked about was answered"
        elif why == "nothing-changes":
            values = model.revisions[one.number - 1] if one.act == "revert" else draft.values if draft else {}
            assert not alone or values == model.revisions[model.in_force(one.day) - 1]
        elif one.act == "change":
            # Nobody takes out a line that the draft does not hold.
            assert one.value is None and (not alone or (draft is not None and one.code not in draft.values)), one.answer.text
        else:
            raise AssertionError(f"{one.act}: {one.answer.text}")

    # ---- what the service shows -----------------------------------------------------------------------------------------

    @invariant()
    def the_service_shows_what_the_model_holds(self) -> None:
        if hasattr(self, "model"):
            self.world.run(self._compare())

    async def _compare(self) -> None:
        office, model = self.offices[0], self.model
        for day in DAYS:
            book = (await office.client.get(f"/v1/regions/{office.code}", params={"on": in_days(day)})).json()
            own = {line["code"]: int(line["likely"]) for line in book["lines"] if line["from"] == office.code}
            assert own == model.revisions[model.in_force(day) - 1], day
            assert book["rates"].endswith(f"{office.code}@{model.in_force(day)}")
        revisions = (await office.client.get(office.path("revisions"))).json()["revisions"]
        assert [one["revision"]["number"] for one in revisions] == [*range(len(model.revisions), 0, -1)]
        assert [one["state"] for one in revisions].count("in_force") == 1
        drafts = (await office.client.get(office.path("drafts"))).json()["drafts"]
        assert {str(one["id"]): f'"d{one["id"]}-{one["version"]}"' for one in drafts} == {
            draft: there.tag for draft, there in model.drafts.items()
        }
        for draft, there in model.drafts.items():
            lines = (await office.client.get(office.path(f"drafts/{draft}/lines"))).json()["lines"]
            assert {line["code"]: int(line["likely"]) for line in lines} == there.values


def test_no_update_is_lost_whatever_several_clients_do_at_once(loaded_url: str) -> None:
    world = World(loaded_url)
    world.run(world.begin())
    try:
        machine = type("Machine", (Publishing,), {"world": world})
        # Not shrunk: who comes first differs from run to run.
        run_state_machine_as_test(machine, settings=settings(
            max_examples=8, stateful_step_count=10, phases=[Phase.explicit, Phase.generate], deadline=None,
            suppress_health_check=list(HealthCheck),
        ))
    finally:
        world.run(world.end())
        world.runner.close()
