"""What an answer was worked out with is gone as soon as it was given."""

from __future__ import annotations

import gc

import pytest

from service.engine.survey import Survey
from tests.engine.cases import make_defect, make_survey
from tests.engine.properties.asking import ask

HALF_KNOWN = (make_defect("under_window", "soft_wood", length=96.0), make_defect("post_porch", "foot_rot", section=8.0))


@pytest.mark.parametrize("survey", [make_survey(HALF_KNOWN[0]), make_survey(*HALF_KNOWN)], ids=["one", "job"])
def test_an_answer_leaves_nothing_behind_that_points_in_circles(survey: Survey) -> None:
    """A collector that comes seldom would let it pile up: a quarter of a megabyte an answer."""
    ask(survey)
    gc.collect()
    gc.disable()
    try:
        ask(survey)
        assert gc.collect() == 0
    finally:
        gc.enable()
