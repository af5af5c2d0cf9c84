"""A quote as a table for people. Standard library only."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

WIDTH = 110
HEADINGS = ("", "plan", "package", "whole", "whole, 10-50-90 %", "days", "lead", "room out")


def quote_table(quote: Mapping[str, Any], took_s: float) -> str:
    """Every defect's ranked plans, one a row."""
    currency = quote["currency"]
    blocks = [_defect(defect, currency) for defect in quote["defects"]]
    return "\n\n".join([*blocks, f"Answered in {took_s * 1000:.0f} ms, prices of {quote['rates']} in {currency}."])


def _defect(defect: Mapping[str, Any], currency: str) -> str:
    head = textwrap.fill(f"Defect {defect['id']} ({defect['status']}): {defect['headline']}", WIDTH)
    rows = [_option(option) for option in defect["options"]]
    if not rows:
        return f"{head}\n  no plan"
    heads = tuple(f"{name} {currency}" if name in ("package", "whole") else name for name in HEADINGS)
    return f"{head}\n\n{_table([heads, *rows])}"


def _option(option: Mapping[str, Any]) -> tuple[str, ...]:
    whole, clocks = option["whole"], option["clocks"]
    spread = whole["range"]
    return (
        f"{option['rank']}.",
        textwrap.shorten(option["title"], 44, placeholder=" ..."),
        _money(option["package"]["as_described"]),
        _money(whole["as_described"]),
        # A plan that fits in no possible world has no range.
        " - ".join(_money(spread[name]) for name in ("p10", "p50", "p90")) if spread else "-",
        *(_days(clocks[name]) for name in ("calendar_days", "lead_days", "room_out_days")),
    )


def _money(text: str) -> str:
    whole, _, cents = text.partition(".")
    return f"{int(whole):,}" + (f".{cents}" if cents else "")


def _days(value: Any) -> str:
    """Days as a plain number, whether they come bare or with their unit."""
    number = value["value"] if isinstance(value, Mapping) else value
    return f"{number:g}"


def _table(rows: Sequence[tuple[str, ...]]) -> str:
    widths = [max(len(row[n]) for row in rows) for n in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [
            cell.ljust(width) if n < 2 else cell.rjust(width)
            for n, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    lines.insert(1, "  ".join("-" * width for width in widths))
    return textwrap.indent("\n".join(lines), "  ")
