"""The worth of facts where coordinates do not vary or are alike: no fault, and nothing made up."""

from __future__ import annotations

import numpy as np
import pytest

from service.engine.worlds import sobol
from service.engine.worth import Column, shares_of
from tests.engine.cases import knowledge


def coordinates(count: int, worlds: int = 128) -> list[Column]:
    """So many coordinates of the first worlds."""
    table = sobol(knowledge().sobol)[:worlds]
    return [table[:, k] for k in range(count)]


def test_an_answer_that_is_no_everywhere_has_no_worth_and_takes_none_from_others() -> None:
    depth, height = coordinates(2)
    price = 1000.0 + 300.0 * depth + 100.0 * height
    alone = shares_of(price, {"depth": depth, "height": height})
    beside = shares_of(price, {"depth": depth, "height": height, "inner_face": np.zeros(128)})
    assert beside["inner_face"] == pytest.approx(0.0, abs=1e-9)
    assert [beside["depth"], beside["height"]] == pytest.approx([alone["depth"], alone["height"]], abs=1e-6)


def test_two_coordinates_that_are_alike_have_one_worth_between_them() -> None:
    depth, height = coordinates(2)
    price = 1000.0 + 300.0 * depth + 100.0 * height
    shares = shares_of(price, {"depth": depth, "again": depth.copy(), "height": height})
    assert shares["depth"] == pytest.approx(shares["again"], abs=1e-3)
    assert all(np.isfinite(share) and 0.0 <= share <= 1.0 for share in shares.values())


def test_more_terms_than_worlds_still_give_shares() -> None:
    many = coordinates(30, worlds=48)
    price = 1000.0 + 300.0 * many[0]
    shares = shares_of(price, {f"x{k}": column for k, column in enumerate(many)})
    assert all(np.isfinite(share) and 0.0 <= share <= 1.0 for share in shares.values())
