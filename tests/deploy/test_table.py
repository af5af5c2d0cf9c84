"""The table of the first quote."""

from __future__ import annotations

from deploy.table import quote_table

OPTION = {
    "rank": 1,
    "title": "New face in dry wood",
    "method": "face_veneer",
    "package": {"as_described": "2312.00"},
    "whole": {"as_described": "13312.50", "range": {"p10": "1740.00", "p50": "2490.00", "p90": "3110.00"}},
    "clocks": {"calendar_days": 3.25, "lead_days": 14, "room_out_days": 0},
}
QUOTE = {
    "currency": "USD",
    "rates": "base@1",
    "defects": [
        {"id": "1", "status": "priced", "headline": "New face", "options": [OPTION]},
        {"id": "2", "status": "rejected", "headline": "Depth over diameter", "options": []},
    ],
}


def test_each_plan_is_a_row_with_its_prices_and_days() -> None:
    table = quote_table(QUOTE, 0.0123)
    (row,) = (line for line in table.splitlines() if "1." in line and "dry wood" in line)

    expected = "1. New face in dry wood 2,312.00 13,312.50 1,740.00 - 2,490.00 - 3,110.00 3.25 14 0"
    assert " ".join(row.split()) == expected
    assert "Answered in 12 ms, prices of base@1 in USD." in table


def test_a_defect_without_a_plan_says_so() -> None:
    assert "Defect 2 (rejected): Depth over diameter\n  no plan" in quote_table(QUOTE, 0.0)


def test_a_plan_without_a_range_has_a_dash_there() -> None:
    option = {**OPTION, "whole": {"as_described": "5.00", "range": None}}
    table = quote_table({**QUOTE, "defects": [{**QUOTE["defects"][0], "options": [option]}]}, 0.0)  # type: ignore[dict-item]

    (row,) = (line for line in table.splitlines() if "1." in line and "dry wood" in line)

    assert row.split()[-4:] == ["-", "3.25", "14", "0"]
