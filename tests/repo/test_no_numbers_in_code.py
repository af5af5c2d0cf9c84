"""No price, hour, life or consumption stands in Python code: each is a row of the rate book.

What is looked for in the engine:

- a `Decimal` of anything but 0, 1 and what money is rounded to;
- a wait whose days are a number; labour or a purchase whose amount is a number that counts no pieces;
- a row of labour, purchase, lead, cure or book that the base book does not have;
- a constant that is called an hour, a price, a cost, a wage, a fee or a markup.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Collection, Iterator
from pathlib import Path

import pytest

from tests.engine.books import book

ENGINE = Path(__file__).resolve().parents[2] / "service" / "engine"
Rows = Collection[tuple[str, str]]
ROUNDING = {"0", "1", "0.01", "0.0001"}
SECTION_OF = {"labour": "norms", "labour_first": "norms", "buy": "resources", "lead": "waits"}
MONEY = re.compile(r"(?:^|_)(hours?|prices?|costs?|wages?|fees?|usd|markups?)(?:_|$)", re.IGNORECASE)

NO_PRICE = {
    "MOVES_PRICE": "the share by which a missing fact must move a price to be asked for",
    "first_cost": "a neutral weight of the owner's",
    "lifetime_cost": "a neutral weight of the owner's",
}
"""Names that sound like money and are none, each with what it is."""


def _number(node: ast.expr) -> float | None:
    """A number that stands in the code, whatever arithmetic is done with it; None where a name takes part."""
    names = [n for n in ast.walk(node) if isinstance(n, ast.Name | ast.Attribute | ast.Call)]
    values = [n.value for n in ast.walk(node) if isinstance(n, ast.Constant) and isinstance(n.value, int | float)]
    return float(values[0]) if values and not names and not isinstance(values[0], bool) else None


def _said(node: ast.Constant) -> str:
    """What a constant says."""
    return node.value if isinstance(node.value, str) else repr(node.value)


def _pattern(node: ast.expr) -> str | None:
    """A row's code as a pattern: what is filled in may be anything; None where the code is worked out elsewhere."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return re.escape(node.value)
    if isinstance(node, ast.JoinedStr):
        return "".join(re.escape(str(p.value)) if isinstance(p, ast.Constant) else r"[a-z0-9_.]+" for p in node.values)
    return None


def _missing(section: str, node: ast.expr, rows: Rows) -> str | None:
    """The row that the book does not have, or None."""
    pattern = _pattern(node)
    if pattern is None or any(s == section and re.fullmatch(pattern, code) for s, code in rows):
        return None
    return f"no row {section}/{ast.unparse(node)}"


def _call(node: ast.Call, rows: Rows) -> Iterator[str | None]:
    name = node.func.attr if isinstance(node.func, ast.Attribute) else node.func.id if isinstance(node.func, ast.Name) else ""
    args = node.args
    if name == "Decimal" and args and isinstance(args[0], ast.Constant) and _said(args[0]) not in ROUNDING:
        yield f"a Decimal of {_said(args[0])}"
    if name == "wait" and len(args) > 2 and _number(args[2]):
        yield f"a wait of {_number(args[2]):g} days"
    if name in ("likely", "line") and len(args) == 2 and isinstance(args[0], ast.Constant):
        yield _missing(_said(args[0]), args[1], rows)
    if not isinstance(node.func, ast.Attribute) or not args:
        return
    if name in SECTION_OF:
        yield _missing(SECTION_OF[name], args[0], rows)
    if name == "labour_first" and len(args) > 1:
        yield _missing("norms", args[1], rows)
    if name == "cure" and isinstance(args[0], ast.Constant):
        yield _missing("waits", ast.Constant(f"cure.{_said(args[0])}.min_temp"), rows)
    if name in ("labour", "buy") and len(args) > 1:
        amount = _number(args[1])
        if amount is not None and not amount.is_integer():
            yield f"{name} of {amount:g}"


def _constant(node: ast.Assign | ast.AnnAssign) -> Iterator[str]:
    targets = node.targets if isinstance(node, ast.Assign) else [node.target]
    for target in targets:
        named = isinstance(target, ast.Name) and target.id not in NO_PRICE and MONEY.search(target.id)
        if named and node.value is not None and _number(node.value):
            yield f"{ast.unparse(target)} is a number"


def numbers_in_code(folder: Path, rows: Rows) -> list[str]:
    """Every place where a number of the rate book stands in code, or a row is asked for that is not there.

    Raises:
        FileNotFoundError: there is no code to look at, which must not pass for code without numbers.
    """
    files = sorted(folder.rglob("*.py"))
    if not files:
        raise FileNotFoundError(folder)
    found = []
    for path in files:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"), filename=str(path))):
            faults: list[str | None] = []
            if isinstance(node, ast.Call):
                faults = list(_call(node, rows))
            elif isinstance(node, ast.Assign | ast.AnnAssign):
                faults = list(_constant(node))
            found += [f"{path.relative_to(folder)}:{node.lineno}: {fault}" for fault in faults if fault]  # type: ignore[attr-defined]
    return found


def test_no_price_hour_or_life_stands_in_the_engine() -> None:
    assert numbers_in_code(ENGINE, book().lines.keys()) == []


@pytest.mark.parametrize(
    ("planted", "said"),
    [
        ("rate = Decimal('65.00')", "a Decimal of 65.00"),
        ("work.wait('cure', 'Glue sets', 2.0)", "a wait of 2 days"),
        ("work.wait('cure', 'Glue sets', 48.0 / 24.0)", "a wait of 48 days"),
        ("work.labour('face_veneer.per_ft', 1.75)", "labour of 1.75"),
        ("work.buy('borate_rod', 0.5)", "buy of 0.5"),
        ("work.labour('face_veneer.by_guess')", "no row norms/'face_veneer.by_guess'"),
        ("work.buy('moon_dust')", "no row resources/'moon_dust'"),
        ("work.labour_first('temp_shore.first', 'temp_shore.nth')", "no row norms/'temp_shore.nth'"),
        ("work.lead('lead.whim')", "no row waits/'lead.whim'"),
        ("work.cure('custard')", "no row waits/'cure.custard.min_temp'"),
        ("book.likely('terms', f'luck.{level}')", "no row terms/f'luck.{level}'"),
        ("HOURS_PER_FOOT = 1.5", "HOURS_PER_FOOT is a number"),
        ("SLAB_PRICE: float = 42.0", "SLAB_PRICE is a number"),
    ],
)
def test_a_planted_number_is_found(tmp_path: Path, planted: str, said: str) -> None:
    (tmp_path / "planted.py").write_text(f"def scope(case, work, book):\n    {planted}\n", encoding="utf-8")
    found = numbers_in_code(tmp_path, book().lines.keys())
    assert any(fault == f"planted.py:2: {said}" for fault in found), found


@pytest.mark.parametrize(
    "sound",
    [
        "work.labour('face_veneer.per_ft', case.length_in / 12.0)",
        "work.labour(f'{method}.fixed')",
        "work.labour('borate_rods.per_rod', 2.0)",
        "work.wait('cure', 'Glue sets', book.likely('waits', 'cure.epoxy.next') / 24.0)",
        "total = Decimal(0)",
    ],
)
def test_what_a_method_dictates_by_rows_passes(tmp_path: Path, sound: str) -> None:
    (tmp_path / "sound.py").write_text(sound + "\n", encoding="utf-8")
    assert numbers_in_code(tmp_path, book().lines.keys()) == []


def test_an_empty_folder_is_not_taken_for_code_without_numbers(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        numbers_in_code(tmp_path, book().lines.keys())
