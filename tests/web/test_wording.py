"""Sentences of the trade in metric."""

from __future__ import annotations

import pytest

from service.web.wording import in_metric


@pytest.mark.parametrize(
    ("said", "metric"),
    [
        ("Cut 1 1/2 in past the rot, 6 to 12 in from the joint", "Cut 40 mm past the rot, 150 to 305 mm from the joint"),
        ("fall protection from 6 ft", "fall protection from 1.8 m"),
        ("slope 1/16 in a foot", "slope 5 mm in a metre"),
        ("a dry day above 40 degF", "a dry day above 4 degC"),
        ("pads for 9,000 lb", "pads for 40 kN"),
        ("at most 1,500 lb a square foot", "at most 72 kN a square metre"),
        ("a stacked wall carries 1 to 3 kip a foot", "a stacked wall carries 15 to 44 kN a metre"),
        ("more than 20 ft2 outside", "more than 1.9 m2 outside"),
    ],
)
def test_round_numbers_of_the_trade_are_said_in_metric(said: str, metric: str) -> None:
    """By the inch of 25.4 mm, the foot of 304.8 mm and the pound-force of 4.448 N, rounded as people say them."""
    assert in_metric(said) == metric


@pytest.mark.parametrize("said", ["1 in 3 that it becomes more", "let in a patch", "in 5 years", "M12 in place of M07"])
def test_the_word_in_is_not_always_an_inch(said: str) -> None:
    assert in_metric(said) == said
