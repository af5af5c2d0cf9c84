"""One world and many worlds read alike for posts, trusses, beams, decks and stairs."""

from __future__ import annotations

import random
from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest

from service.engine.case import Case
from service.engine.method import Method
from service.engine.methods import beams, decks, interim, posts, truss
from tests.engine.cases import make_case
from tests.engine.methods.readings import same_everywhere

METHODS = posts.METHODS + truss.METHODS + beams.METHODS + decks.METHODS + interim.METHODS
MEMBERS = (
    ("post_porch", "foot_rot"),
    ("post_interior", "soft_wood"),
    ("truss_bottom_chord", "joint_decay"),
    ("purlin", "end_rot"),
    ("girder", "band"),
    ("floor_joist", "termite_sub"),
    ("rafter_tail", "end_rot"),
    ("stringer", "foot_rot"),
    ("tread", "soft_wood"),
    ("deck_joist", "soft_wood"),
    ("deck_ledger", "through"),
    ("roof_deck", "soft_wood"),
    ("wall_mid", "pocket_deep"),
)
PLAIN = ("count", "batch", "year_built", "adjacent_courses")


def random_case(rng: random.Random) -> Case:
    """A member with stated facts drawn at random."""
    element, damage = rng.choice(MEMBERS)
    return make_case(
        element,
        damage,
        count=rng.choice([1, 2, 4, 6]),
        flags={"snow_country": rng.random() < 0.5},
        section=rng.uniform(4.0, 16.0),
        section_other=rng.uniform(1.5, 12.0),
        length=rng.uniform(1.0, 150.0),
        depth=rng.uniform(0.2, 4.0),
        width=rng.uniform(1.0, 6.0),
        from_end=rng.uniform(1.0, 40.0),
        post_height=rng.uniform(60.0, 120.0),
        load=rng.uniform(500.0, 9000.0),
        span=rng.uniform(6.0, 24.0),
        tail=rng.uniform(10.0, 40.0),
        moisture=rng.uniform(10.0, 30.0),
        opening_area=rng.uniform(50.0, 250.0),
        area=rng.uniform(20.0, 200.0),
        of=float(rng.randint(4, 16)),
        treads=float(rng.randint(0, 14)),
        height=rng.uniform(0.0, 20.0),
    )


def sampled(case: Case, worlds: int = 5) -> Case:
    """The same case with every number and truth as a column of worlds that are all alike."""
    columns: dict[str, Any] = {
        f.name: np.full(worlds, getattr(case, f.name), dtype=np.float64)
        for f in fields(case)
        if isinstance(getattr(case, f.name), float) and f.name not in PLAIN
    }
    truths: dict[str, Any] = {
        n: np.full(worlds, getattr(case, n)) for n in ("inner_soft", "live", "near_joint", "in_notch")
    }
    return replace(case, **columns, **truths)


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
def test_one_world_and_many_worlds_give_the_same_gates_and_prices(method: Method) -> None:
    rng = random.Random(method.code)
    for _ in range(15):
        case = random_case(rng)
        assert same_everywhere(method, case, sampled(case)), case.element.code


@pytest.mark.parametrize("method", METHODS, ids=lambda m: m.code)
def test_a_case_of_which_little_is_known_can_be_read_over_all_worlds(method: Method) -> None:
    for element, damage in MEMBERS:
        case = make_case(element, damage, many=True)
        assert same_everywhere(method, case, case), element
