"""What the engine may do: compute. An allow-list, because a deny-list misses what nobody thought of."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

MAY_IMPORT = {
    "__future__",
    "bisect",
    "collections",
    "dataclasses",
    "datetime",
    "decimal",
    "enum",
    "fractions",
    "functools",
    "itertools",
    "math",
    "numpy",
    "operator",
    "statistics",
    "string",
    "types",
    "typing",
}
CLOCKS = {"now", "today", "utcnow", "fromtimestamp"}
OUTSIDE = {"open", "print", "input", "exec", "eval", "compile", "__import__", "breakpoint"}
NUMPY_OUTSIDE = {
    "random",
    "load",
    "save",
    "savez",
    "loadtxt",
    "savetxt",
    "genfromtxt",
    "fromfile",
    "memmap",
    "ctypeslib",
}


def impurities(engine: Path) -> list[str]:
    """Every place in the engine that does more than compute.

    Raises:
        FileNotFoundError: there is no engine to look at, which must not pass for a pure one.
    """
    files = sorted(engine.rglob("*.py"))
    if not files:
        raise FileNotFoundError(engine)
    found = []
    for path in files:
        tree = ast.parse(path.read_text(encoding="utf-8"), filename=str(path))
        for node in ast.walk(tree):
            found += [f"{path.relative_to(engine)}:{node.lineno}: {what}" for what in _faults(node)]  # type: ignore[attr-defined]
    return found


def _faults(node: ast.AST) -> Iterator[str]:
    match node:
        case ast.Import(names=names):
            yield from (f"imports {name.name}" for name in names if not _may_import(name.name))
        case ast.ImportFrom(level=level) if level:
            yield "imports relatively"
        case ast.ImportFrom(module=str(module)) if not _may_import(module):
            yield f"imports {module}"
        case ast.ImportFrom(module=str(module), names=names) if module.startswith("numpy"):
            yield from (f"imports numpy's {name.name}" for name in names if name.name in NUMPY_OUTSIDE)
        case ast.Attribute(attr=attr, value=value):
            if attr in CLOCKS:
                yield f"reads a clock: .{attr}"
            if attr in NUMPY_OUTSIDE and isinstance(value, ast.Name) and value.id in ("np", "numpy"):
                yield f"reaches outside through numpy.{attr}"
        case ast.Name(id=name) if name in OUTSIDE:
            yield f"reaches outside: {name}"


def _may_import(module: str) -> bool:
    top = module.partition(".")[0]
    return (
        module == "service.engine"
        or module.startswith("service.engine.")
        or (top in MAY_IMPORT and not module.startswith("numpy.random"))
    )
