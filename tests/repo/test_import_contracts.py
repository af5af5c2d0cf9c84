"""The import contracts hold, and each is shown to catch a fault planted in a copy of the tree."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import ROOT

LINT = "import sys; from importlinter.cli import lint_imports_command; sys.exit(lint_imports_command())"
LAYERS = "Imports point one way"
INSIDE = "Inside the engine"
CORE = "Engine and application know no HTTP, no SQL, no wire format"
WEB = "Web speaks no SQL"
STORAGE = "Storage speaks no HTTP"
CYCLES = "No import cycles between siblings anywhere"
USE_CASES = "Inside the application"
STORE = "Inside the store"
AREAS = "Areas of the web do not know each other"
IDENTITY = "Who a token is of knows no SQL, no web framework and no engine"

PLANTED = {
    "the engine imports the application inside a function": (
        "engine/rates.py",
        "def planted():\n    import service.application.ports\n",
        LAYERS,
    ),
    "the application imports the store": ("application/books.py", "import service.storage.books\n", LAYERS),
    "the web imports the store": ("web/__init__.py", "import service.storage.books\n", LAYERS),
    "the web imports the settings": ("web/__init__.py", "import service.settings\n", LAYERS),
    "the store imports the web": ("storage/database.py", "import service.web\n", LAYERS),
    "the store imports the reference data": ("storage/database.py", "import service.reference.load\n", LAYERS),
    "a module stands in no layer": ("helpers.py", "x = 1\n", LAYERS),
    "a price asks for a plan": ("engine/pricing.py", "def planted():\n    import service.engine.plan\n", INSIDE),
    "a method asks for the book of the job": ("engine/methods/logs.py", "import service.engine.job\n", INSIDE),
    "a formula asks for a case": ("engine/science/section.py", "import service.engine.case\n", INSIDE),
    "a module of the engine stands in no layer": ("engine/utils.py", "x = 1\n", INSIDE),
    "the engine imports SQLAlchemy": ("engine/rates.py", "import sqlalchemy\n", CORE),
    "the engine imports msgspec": ("engine/rates.py", "import msgspec\n", CORE),
    "the application imports Litestar for its types only": (
        "application/books.py",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import litestar\n",
        CORE,
    ),
    "the web imports SQLAlchemy": ("web/__init__.py", "import sqlalchemy\n", WEB),
    "the web imports asyncpg": ("web/__init__.py", "import asyncpg\n", WEB),
    "the store imports Litestar": ("storage/database.py", "import litestar\n", STORAGE),
    "values of a draft's lines ask for drafts": ("application/draft_lines.py", "import service.application.drafts\n", USE_CASES),
    "a module of the application stands in no layer": ("application/utils.py", "x = 1\n", USE_CASES),
    "lines ask for books": ("storage/lines.py", "import service.storage.books\n", STORE),
    "two ports of the store import each other": ("storage/hours.py", "import service.storage.stock\n", STORE),
    "a module of the store stands in no layer": ("storage/utils.py", "x = 1\n", STORE),
    "an area imports another": ("web/hours/__init__.py", "import service.web.drafts\n", AREAS),
    "an area imports another through what both share": ("web/sheets.py", "import service.web.keys\n", AREAS),
    "identity imports SQLAlchemy": ("identity/tokens.py", "import sqlalchemy\n", IDENTITY),
    "identity imports the engine inside a function": (
        "identity/claims.py",
        "def planted():\n    import service.engine.rates\n",
        IDENTITY,
    ),
    "two modules of the store import each other": (
        "storage/tables.py",
        "import service.storage.queries\n",
        CYCLES,
    ),
}


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    """Check the contracts of a tree."""
    command = [sys.executable, "-c", LINT, "--no-cache"]
    # A wide page, so that a contract's name and its verdict stand on one line.
    page = os.environ | {"COLUMNS": "200"}
    return subprocess.run(command, cwd=folder, env=page, capture_output=True, text=True, check=False)


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A copy of the service with its contracts."""
    shutil.copytree(ROOT / "service", tmp_path / "service", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def test_all_contracts_hold() -> None:
    done = lint(ROOT)

    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


@pytest.mark.parametrize("what", PLANTED)
def test_a_planted_fault_breaks_its_contract(copy: Path, what: str) -> None:
    name, fault, contract = PLANTED[what]
    path = copy / "service" / name
    with path.open("a", encoding="utf-8") as file:
        file.write(fault)
    done = lint(copy)

    assert done.returncode != 0
    (verdict,) = (
        line for line in done.stdout.splitlines() if line.startswith(contract) and line.endswith(("KEPT", "BROKEN"))
    )
    assert verdict.endswith("BROKEN")
