"""What a missing fact is worth, from made-up outcomes over the engine's own worlds whose shares are known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.worlds import sobol
from service.engine.worth import BESIDE, CUTS, FEWEST_A_SIDE, Column, changes_first, price_swing, share_of_facts, shares_of
from tests.engine.cases import knowledge


def worlds() -> dict[str, Column]:
    """A dozen coordinates of the worlds."""
    table = sobol(knowledge().sobol)
    return {f"x{k}": table[:, k] for k in range(12)}


def test_a_line_has_the_share_of_its_variance() -> None:
    x = worlds()
    shares = shares_of(3.0 * x["x1"] + 1.0 * x["x2"], x)
    assert shares["x1"] == pytest.approx(0.9, abs=0.03)
    assert shares["x2"] == pytest.approx(0.1, abs=0.03)


@pytest.mark.parametrize("place", [0.08, 0.2, 0.5, 0.7, 0.9])
def test_a_jump_has_its_whole_share_wherever_it_comes(place: float) -> None:
    """A way up from a height on: nine tenths of the variance at its place, a tenth of something else.

    Near an end few worlds lie between the place and the next one that is looked at, which then make a sixth of it.
    """
    x = worlds()
    jump, other = (x["x3"] > place).astype(np.float64), x["x5"]
    outcome = jump / jump.std() + other / other.std() / 3.0
    shares = shares_of(outcome, x)
    assert shares["x3"] == pytest.approx(0.9, abs=0.08 if 0.1 < place < 0.9 else 0.15)
    assert max(share for name, share in shares.items() if name not in ("x3", "x5")) < 0.05


def test_a_yes_has_the_share_of_the_step_between_yes_and_no() -> None:
    x = worlds()
    soft = (x["x7"] < 0.25 * (0.5 + x["x1"])).astype(np.float64)
    shares = shares_of(5.0 * soft + x["x2"], {**x, "x7": soft})
    assert shares["x7"] == pytest.approx(25.0 * soft.var() / (25.0 * soft.var() + 1.0 / 12.0), abs=0.05)


def test_a_fact_that_is_the_same_in_all_worlds_and_two_that_go_together_are_no_trouble() -> None:
    x = worlds()
    shares = shares_of(x["x1"] + (x["x2"] > 0.5), {**x, "never": np.zeros(128), "twin": x["x1"]})
    assert shares["never"] == pytest.approx(0.0, abs=1e-6)
    assert np.isfinite(list(shares.values())).all()
    assert max(shares["x1"], shares["twin"]) > 0.02


@given(st.integers(0, 2**32 - 1), st.booleans())
def test_noise_is_given_to_no_fact(seed: int, skewed: bool) -> None:
    """A look at 17 places along 12 coordinates must not find jumps in nothing."""
    noise = np.random.default_rng(seed).standard_normal(128)
    shares = shares_of(np.exp(noise / 2.0) if skewed else noise, worlds())
    assert max(shares.values()) < 0.3
    assert sum(shares.values()) / len(shares) < 0.06


def test_what_a_jump_has_beside_a_line_and_a_parabola_is_what_is_left_when_both_are_fitted() -> None:
    u = (np.arange(20000) + 0.5) / 20000
    curve = np.column_stack([np.ones_like(u), u, u * u])
    for place, beside in zip(CUTS, BESIDE, strict=True):
        jump = (u > place).astype(np.float64)
        left = jump - curve @ np.linalg.lstsq(curve, jump, rcond=None)[0]
        assert left.var() == pytest.approx(beside, abs=1e-4)


def test_what_prices_add_in_every_world_is_no_fact() -> None:
    mean = np.array([1.0, 3.0, 1.0, 3.0])
    assert share_of_facts(mean, np.full(4, 3.0)) == pytest.approx(0.25)
    assert share_of_facts(mean, np.zeros(4)) == 1.0
    assert share_of_facts(np.ones(4), np.zeros(4)) == 0.0


def test_a_handful_of_worlds_tells_nothing_of_an_answer() -> None:
    few = np.zeros(128)
    few[: FEWEST_A_SIDE - 1] = 1.0
    assert price_swing(100.0 + 900.0 * few, few) == 0.0
    assert not changes_first(few.astype(np.int64), few)
    few[FEWEST_A_SIDE - 1] = 1.0
    assert price_swing(100.0 + 900.0 * few, few) == pytest.approx(9.0)
    assert changes_first(few.astype(np.int64), few)
