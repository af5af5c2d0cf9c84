"""Sheets: out to a spreadsheet and back without loss, and every fault of one that was filled in by hand is named."""

from __future__ import annotations

import csv
import io
from decimal import Decimal

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.web import limits
from service.web.cells import Cell, CellError, day, maybe, number, text, yes_no
from service.web.sheets import Column, Sheet, read, refused, write

COLUMNS = (
    Column("code", text), Column("price", number), Column("what", text), Column("read_on", maybe(day), needed=False),
    Column("locked", yes_no, needed=False),
)
NAMES = [c.name for c in COLUMNS]

HOSTILE = st.one_of(
    st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=30),
    st.text("=+-@'\"\t\r\n,; #a1\uff1d\u2212", max_size=8),
    st.sampled_from([
        "=1+1", "'=1+1", "''", "'", '"', '""', "#REF!", "'#REF!", " =x", "\r\n", "sep=;", "\ufeffx", "=cmd|' /C calc'!A0",
        "-2", "+1", "@SUM(A1)", "a,b", "a;b", " lead ", "#N/A", "Err:502", "\u2028", "\x1c=1", "\x0b",
    ]),
)
PRICES = st.decimals(min_value=-10**12 + 1, max_value=10**12 - 1, places=9) | st.decimals(-999, 999, places=2)


def _read(sheet: str | bytes, most_rows: int = 100) -> Sheet:
    return read(sheet.encode() if isinstance(sheet, str) else sheet, COLUMNS, key=("code",), most_rows=most_rows)


def _named(sheet: str | bytes) -> list[tuple[int, str, str]]:
    return [(f.row, f.column, f.reason) for f in _read(sheet).faults]


@given(st.lists(st.tuples(st.from_regex(r"[a-z0-9_.]{1,12}", fullmatch=True), PRICES, HOSTILE, st.none() | st.dates(),
                          st.booleans()), max_size=8, unique_by=lambda row: row[0]))
@pytest.mark.parametrize("comma", [False, True])
def test_what_is_written_is_read_back_as_it_was(comma: bool, rows: list[tuple[object, ...]]) -> None:  # the form of the sheet
    given_rows = [dict(zip(NAMES, row, strict=True)) for row in rows]
    sheet = _read(write(NAMES, given_rows, decimal_comma=comma))
    assert sheet.faults == ()
    assert [dict(row.values) for row in sheet.rows] == given_rows
    # Decimals that are equal may be typed in several ways; here the typing is kept too.
    assert [f"{row.values['price']:f}" for row in sheet.rows] == [f"{row['price']:f}" for row in given_rows]


@given(HOSTILE)
def test_no_text_that_goes_out_runs_as_a_formula(what: str) -> None:
    written = write(["what"], [{"what": what}]).decode()
    cell = list(csv.reader(io.StringIO(written, newline=""), strict=True))[1:]
    assert "".join(cell[0] if cell else [""])[:1] not in tuple("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")


@given(st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_no_bytes_break_the_reading(body: bytes) -> None:
    sheet = _read(body)
    assert sheet.faults or b"code" in body.lower()


@given(st.text(st.sampled_from("code,price;what\t\r\n\"'=1.5-\ufeff"), max_size=120))
def test_what_looks_like_a_sheet_breaks_nothing_either(rest: str) -> None:
    sheet = _read("code,price,what\r\n" + rest)
    assert all(fault.reason.endswith((".", "?")) for fault in sheet.faults)


def test_a_sheet_with_decimal_commas_has_semicolons_and_says_that_it_is_utf_8() -> None:
    """Without the mark a spreadsheet takes the letter for two others; that a mark stands first is common practice, no source."""
    row = {"code": "lead", "price": Decimal("1234.50"), "what": "1.5; p\u00e5 s\u00f8le", "read_on": None, "locked": True}
    said = 'code;price;what;read_on;locked\r\nlead;1234,50;"1.5; p\u00e5 s\u00f8le";;yes\r\n'
    assert write(NAMES, [row], decimal_comma=True) == b"\xef\xbb\xbf" + said.encode()


def test_lines_end_as_the_standard_says_and_numbers_have_points() -> None:
    """RFC 4180, section 2: records end with CRLF; fields with commas or quotes are quoted, quotes within are doubled."""
    row = {"code": "lead", "price": Decimal("12.50"), "what": 'the "lead", first', "read_on": None, "locked": True}
    assert write(NAMES, [row]) == b'code,price,what,read_on,locked\r\nlead,12.50,"the ""lead"", first",,yes\r\n'


@pytest.mark.parametrize("sheet", [
    "code,price,what\r\nlead,12.50,foreman\r\n",
    "code,price,what\nlead,12.50,foreman",
    "code,price,what\rlead,12.50,foreman\r",
    "\ufeffcode,price,what\r\nlead,12.50,foreman\r\n",
    "code;price;what\r\nlead;12,50;foreman\r\n",
    "code;price;what\r\nlead;12.50;foreman\r\n",
    "\ufeffsep=;\r\ncode;price;what\r\nlead;12,50;foreman\r\n",
    "code\tprice\twhat\r\nlead\t12.50\tforeman\r\n",
    "what,code,price\r\nforeman,lead,12.50\r\n",
    '"Code"," PRICE ","what"\r\n"lead"," 12.50 ","foreman"\r\n',
    "code,price,what,,\r\n\r\n,,,,\r\nlead,12.50,foreman,,\r\n,,,\r\n",
], ids=["as written", "line feeds", "carriage returns", "byte-order mark", "semicolons", "semicolons and points",
        "separator named", "tabs", "other order", "all in quotes", "empty lines and columns"])
def test_a_spreadsheets_habits_are_met(sheet: str) -> None:
    found = _read(sheet)
    assert found.faults == ()
    assert [dict(row.values) for row in found.rows] == [{"code": "lead", "price": Decimal("12.50"), "what": "foreman"}]
    assert str(found.rows[0].values["price"]) == "12.50"


@pytest.mark.parametrize(("cell", "said"), [
    ("12,50", "has a comma"), ("1,500.00", "thousands"), ("1 500", "thousands"), ("1'500.00", "thousands"),
    ("1\u00a0500,00", "thousands"), ("1,500,000", "thousands"), ("=1+1", "formula"), ("#REF!", "no value"),
    ("#DIV/0!", "no value"), ("Err:502", "no value"), ("", "empty"), ("twelve", "plain decimal"), ("$12", "plain decimal"),
    ("12%", "plain decimal"), ("1e3", "plain decimal"), ("NaN", "plain decimal"), ("Infinity", "plain decimal"),
    ("\u0661\u0662", "plain decimal"), ("+5", "plain decimal"), ("1234567890123", "12 digits"), ("0.1234567891", "9 after"),
    ("1_000", "plain decimal"), ("--5", "plain decimal"), ("1.", "plain decimal"), (".5", "plain decimal"),
])
def test_a_number_that_is_none_is_named_with_its_place_and_what_would_be_right(cell: str, said: str) -> None:
    body = write(["code", "what"], []).decode().replace("what", "price,what") + f'lead,"{cell}",x\r\n'
    (fault,) = _read(body).faults
    assert (fault.row, fault.column, fault.value) == (2, "price", cell.replace("\u00a0", "\ufffd"))
    assert said in fault.reason


@pytest.mark.parametrize(("cell", "said"), [("1.500", "two ways"), ("1.500,00", "thousands"), ("1,5,0", "plain decimal")])
def test_with_semicolons_what_may_be_thousands_is_asked_about(cell: str, said: str) -> None:
    ((row, column, reason),) = _named(f"code;price;what\r\nlead;{cell};x\r\n")
    assert (row, column) == (2, "price") and said in reason


def test_with_semicolons_less_than_one_is_no_question() -> None:
    (row,) = _read("code;price;what\r\nlead;0.125;x\r\n").rows
    assert row.values["price"] == Decimal("0.125")


def test_every_fault_of_every_row_is_named() -> None:
    faults = _named("code,price,what,locked\r\nlead,x,a,maybe\r\nhelper,1,b,no\r\nlead,2,c,no\r\nfoo,3\r\nbar,=A1,d,yes\r\n")
    assert [(row, column) for row, column, _ in faults] == [(2, "price"), (2, "locked"), (4, "code"), (5, ""), (6, "price")]
    assert "Rows 2 and 4" in faults[2][2]
    assert "2 cells where 4" in faults[3][2]


def test_a_decimal_comma_that_makes_two_cells_is_guessed() -> None:
    ((row, column, reason),) = _named("code,price,what\r\nlead,12,50,foreman\r\n")
    assert (row, column) == (2, "") and "12.50" in reason


@pytest.mark.parametrize(("header", "column", "said"), [
    ("code,price", "what", "missing"), ("code,prize,what", "prize", "Did you mean price"),
    ("code,price,what,price", "price", "twice"), ("code,price,what,colour", "colour", "There are code, price"),
    ("code,price,what" + ",x" * 200_000, "", "names 200003 columns"),
    ("a;b;c", "a", "no column"), ("lead,12.50,foreman", "lead", "no column"),
])
def test_a_first_row_that_does_not_name_the_columns_is_refused(header: str, column: str, said: str) -> None:
    faults = _named(f"{header}\r\nlead,1,x\r\n")
    assert any(row == 1 and name == column and said in reason for row, name, reason in faults)
    assert all(row == 1 for row, _, _ in faults)


@pytest.mark.parametrize(("body", "row", "said"), [
    (b"", 0, "empty"), (b" \r\n", 0, "empty"), ("code,price".encode("utf-16"), 0, "UTF-16"),
    ("code,price".encode("utf-16-be"), 0, "UTF-16"), (b"PK\x03\x04rest", 0, "workbook"),
    ("code,price,what\r\nlead,1,\u00fcber".encode("latin-1"), 2, "not UTF-8"), (b"code,price,what\r\nlead,1,a\0b", 2, "NUL"),
    (b'code,price,what\r\nlead,1,"never closed\r\nfoo,2,x', 2, "taken apart"),
    (b'code,price,what\r\nlead,1,"a"b\r\n', 2, "taken apart"),
    (b"code,price,what\r\nlead,1," + b"x" * 5001, 2, "5001 characters"),
    (b"code,price,what\r\nlead,1," + b"x" * 200_000, 2, "taken apart"),
])
def test_what_is_no_sheet_is_named(body: bytes, row: int, said: str) -> None:
    (fault,) = _read(body).faults
    assert fault.row == row and said in fault.reason


def test_more_rows_than_are_taken_are_refused() -> None:
    sheet = _read("code,price,what\r\n" + "".join(f"c{n},1,x\r\n" for n in range(5)), most_rows=3)
    assert [(f.row, f.reason) for f in sheet.faults] == [(5, "The sheet has more than 3 rows.")]


def test_a_day_is_read_in_one_form_only() -> None:
    assert day(Cell("2026-01-31")).isoformat() == "2026-01-31"
    for wrong in ("31.1.2026", "3/4/2026", "2026-02-30", "20260131", "2026-W05-6"):
        with pytest.raises(CellError):
            day(Cell(wrong))


def test_a_refused_sheet_lists_the_first_faults_and_counts_them_all() -> None:
    faults = _read("code,price,what\r\n" + "".join(f"c{n},x,y\r\n" for n in range(150)), most_rows=1000).faults
    trouble = refused(faults).trouble
    assert trouble.kind.status == 422
    assert "150 faults" in trouble.detail and len(trouble.errors) == limits.ERRORS
    first = msgspec.to_builtins(trouble.errors[0])
    assert (first["row"], first["column"], first["value"]) == (2, "price", "x")
