"""The engine only computes: no clock, no chance, no files, no network, no framework."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import ROOT
from tests.repo.purity import impurities

FAULTS = {
    "import sqlalchemy": "imports sqlalchemy",
    "import os": "imports os",
    "import random": "imports random",
    "import time": "imports time",
    "from pathlib import Path": "imports pathlib",
    "from service.application import ports": "imports service.application",
    "from service import settings": "imports service",
    "from service.enginery import x": "imports service.enginery",
    "from . import rates": "imports relatively",
    "import numpy.random": "imports numpy.random",
    "from numpy import random": "imports numpy's random",
    "from numpy.random import default_rng": "imports numpy.random",
    "import numpy as np\nx = np.random.rand()": "reaches outside through numpy.random",
    "import numpy as np\nx = np.load('f')": "reaches outside through numpy.load",
    "from datetime import date\ndef f(): return date.today()": "reads a clock: .today",
    "from datetime import datetime\nx = datetime.now()": "reads a clock: .now",
    "def f():\n    import socket": "imports socket",
    "def f(): return open('x')": "reaches outside: open",
    "def f(): print('x')": "reaches outside: print",
    "f = open": "reaches outside: open",
    "x = __import__('os')": "reaches outside: __import__",
    "x = eval('1')": "reaches outside: eval",
    "import importlib": "imports importlib",
}
FINE = """
from __future__ import annotations
import math
from datetime import date, timedelta
from decimal import Decimal
import numpy as np
from numpy.typing import NDArray
from service.engine import rates
from service.engine.rates import Line
x = 0.1 + float(Decimal("0.2")) + math.pi
"""


def test_the_engine_only_computes() -> None:
    assert impurities(ROOT / "service" / "engine") == []


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_impurity_is_found_with_its_place(tmp_path: Path, fault: str) -> None:
    (tmp_path / "planted.py").write_text(fault + "\n", encoding="utf-8")
    found = impurities(tmp_path)

    assert len(found) == 1
    assert found[0].startswith("planted.py:")
    assert FAULTS[fault] in found[0]


def test_plain_computing_is_fine(tmp_path: Path) -> None:
    (tmp_path / "fine.py").write_text(FINE, encoding="utf-8")

    assert impurities(tmp_path) == []


def test_an_engine_without_files_is_a_fault(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        impurities(tmp_path)
