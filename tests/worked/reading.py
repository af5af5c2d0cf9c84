"""Reads an answer off the wire: the few places where the tests must know its shape."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

Json = Mapping[str, Any]


@dataclass(frozen=True)
class Group:
    """The answer for alike pieces of one defect."""

    defect: Json
    found: Json

    @property
    def options(self) -> list[Json]:
        """Plans in rank order."""
        return list(self.found["options"])

    @property
    def offered(self) -> set[str]:
        """Methods among the plans."""
        return {option["method"] for option in self.options}

    @property
    def ruled_out(self) -> dict[str, str]:
        """Methods that were struck out, with their gates."""
        return {one["method"]: one["gate"] for one in self.found["ruled_out"]}

    @property
    def first(self) -> Json:
        """The first plan."""
        return self.options[0]

    def option(self, method: str, variant: str = "") -> Json | None:
        """The plan of a method, where it is offered."""
        return next((o for o in self.options if o["method"] == method and o["variant"] == variant), None)

    @property
    def said(self) -> set[str]:
        """Codes of all cautions and escalations."""
        return {
            *self.defect["cautions"], *self.first["cautions"], *(e["code"] for e in self.defect["escalations"]),
        }

    @property
    def asked(self) -> list[str]:
        """Facts that are asked for."""
        return [question["fact"] for question in self.found["questions"]]


@dataclass(frozen=True)
class Reading:
    """One answer."""

    body: Json

    @property
    def defects(self) -> list[Json]:
        """Answers by defect, in the order of the request."""
        return list(self.body["defects"])

    @property
    def job(self) -> Json:
        """The roll-up."""
        job: Json = self.body["job"]
        return job

    def groups(self, defect: int) -> list[Group]:
        """Groups of a defect; one where all pieces are alike."""
        one = self.defects[defect]
        if one["status"] == "rejected":
            return []
        return [Group(one, found) for found in one["groups"] or [one]]

    def group(self, defect: int = 0, piece: int = 1) -> Group:
        """The group of a piece."""
        return next(g for g in self.groups(defect) if piece in g.found["pieces"])

    def all_groups(self) -> Iterator[tuple[int, Group]]:
        """Every group with the place of its defect."""
        for k in range(len(self.defects)):
            for group in self.groups(k):
                yield k, group


def money(text: str | float | Decimal) -> Decimal:
    """An amount of an answer."""
    return Decimal(str(text))


def basis_of(option: Json, basis: str) -> Decimal:
    """A price of a plan: "package", "whole", or a part by name; 0 where it has no such part."""
    if basis in ("package", "whole"):
        return money(option[basis]["as_described"])
    return money(option["parts"].get(basis, 0))
