"""The ranking names no method (R30): what a plan is worth follows from numbers and from its row, not from its name."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from service.reference import load_knowledge
from tests.conftest import ROOT

RANKING = ("choice.py", "score.py", "worth.py", "outlook.py", "pricing.py", "jobrange.py", "schedule.py", "worlds.py")


def named_in(source: str, codes: frozenset[str]) -> list[str]:
    """Codes of methods that stand as text in a module, its docstrings apart."""
    return [
        node.value
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value in codes
    ]


@pytest.mark.parametrize("module", RANKING)
def test_no_method_is_named_where_plans_are_ranked(module: str) -> None:
    codes = frozenset(load_knowledge().methods)
    path = Path(ROOT / "service" / "engine" / module)

    assert named_in(path.read_text(encoding="utf-8"), codes) == []


def test_a_name_that_is_planted_is_found() -> None:
    codes = frozenset(load_knowledge().methods)

    assert named_in('bonus = 5 if method == "face_veneer" else 0', codes) == ["face_veneer"]
