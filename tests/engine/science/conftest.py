"""What the checks of the formulas share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
import pytest


def _figures(result: Any) -> list[Any]:
    if is_dataclass(result):
        return [getattr(result, field.name) for field in fields(result)]
    return list(result) if isinstance(result, tuple) else [result]


@pytest.fixture
def agree() -> Callable[..., None]:
    """A check that a formula gives the same for a whole sample as for each of its members, and floats for floats."""

    def check(formula: Callable[..., Any], *columns: list[float]) -> None:
        whole = _figures(formula(*(np.array(column) for column in columns)))
        for n, row in enumerate(zip(*columns, strict=True)):
            for one, many in zip(_figures(formula(*row)), whole, strict=True):
                assert type(one) in (float, bool)
                assert isinstance(many, np.ndarray)
                np.testing.assert_allclose(many[n], one, rtol=1e-12, atol=1e-12)

    return check
