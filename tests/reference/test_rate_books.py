"""The rate books of the fixtures: complete, in order, with a source on every line."""

from __future__ import annotations

import csv
import re
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

import pytest

from service.engine.rates import KINDS, SECTIONS
from service.reference import load_knowledge

RATES = Path(__file__).parents[2] / "fixtures" / "rates"
REGIONS = sorted(path.parent.name for path in RATES.glob("*/region.toml"))
HEADER = ["code", "unit", "low", "likely", "high", "kind", "source", "what"]

TRADE_FIGURES = [
    # common practice, no source: low, likely, high as the trade says them
    ("resources", "lead", "72", "95", "130"), ("resources", "helper", "40", "55", "75"),
    ("resources", "log_dry_10_12", "18", "34", "60"), ("resources", "slab_dry", "9", "14", "26"),
    ("resources", "epoxy_paste", "95", "140", "220"), ("resources", "borate_rod", "2", "3.5", "6"),
    ("resources", "roof_relay_metal", "14", "20", "38"), ("resources", "engineer_stamp", "1500", "2800", "6000"),
    ("resources", "cause.k09", "120", "220", "450"),
    ("resources", "fee.inplace_bypass.engineer", "1200", "2200", "4500"),
    ("norms", "face_veneer.per_ft", "1.2", "1.6", "2.4"), ("norms", "epoxy_fill.per_in3", "0.02", "0.028", "0.045"),
    ("norms", "dutchman.per_in2", "0.015", "0.025", "0.045"), ("norms", "log_partial.per_ft", "2.8", "4", "6"),
    ("norms", "sill_needle.fixed", "28", "40", "70"), ("norms", "chord_replace.each", "110", "180", "300"),
    ("norms", "scaffold.erect_per_ft2", "0.02", "0.03", "0.05"),
    ("norms", "growth.depth.told", "1.0", "1.5", "2.0"), ("norms", "growth.length.visited", "1.0", "1.3", "1.8"),
    ("lives", "dutchman.corrected", "15", "25", "40"), ("lives", "sill_needle.not_corrected", "7", "12", "20"),
    ("terms", "markup.material", "0.15", "0.30", "0.50"), ("terms", "contingency.visited", "0.12", "0.15", "0.20"),
    ("terms", "minimum_charge", "350", "550", "1000"), ("terms", "hours_per_day", "6.5", "6.5", "6.5"),
    ("waits", "cure.epoxy.min_temp", "50", "50", "50"), ("waits", "lead.log_dry", "2", "6", "10"),
    ("access", "scaffold.slope_multiplier", "1.2", "1.6", "2.5"),
]


class Row(NamedTuple):
    """One line of a file."""

    section: str
    code: str
    unit: str
    low: Decimal
    likely: Decimal
    high: Decimal
    kind: str
    source: str
    what: str


def rows_of(region: str) -> list[Row]:
    """All lines that stand in a region's folder."""
    rows = []
    for path in sorted((RATES / region).glob("*.csv")):
        section = path.stem.split("_")[0]
        if section == "stock":
            continue
        with path.open(encoding="utf-8", newline="") as file:
            lines = csv.DictReader(file)
            assert lines.fieldnames == HEADER, path
            for r in lines:
                low, likely, high = Decimal(r["low"]), Decimal(r["likely"]), Decimal(r["high"])
                rows.append(Row(section, r["code"], r["unit"], low, likely, high, r["kind"], r["source"], r["what"]))
    return rows


def about(region: str) -> dict[str, str]:
    """What region.toml says."""
    return tomllib.loads((RATES / region / "region.toml").read_text(encoding="utf-8"))


BASE = {(r.section, r.code): r for r in rows_of("base")}


@pytest.mark.parametrize("region", REGIONS)
def test_every_line_has_a_section_a_kind_a_unit_a_source_and_words(region: str) -> None:
    """A line that an operator cannot understand is no line."""
    for row in rows_of(region):
        assert row.section in SECTIONS
        assert row.kind in (KINDS if row.section == "resources" else ("",)), row
        assert all((row.unit, row.source, row.what)), row
        assert re.fullmatch(r"[a-z0-9_.]{1,80}", row.code), row


@pytest.mark.parametrize("region", REGIONS)
def test_low_likely_and_high_rise(region: str) -> None:
    """A PERT distribution has its mode between its ends."""
    for row in rows_of(region):
        assert row.low <= row.likely <= row.high, row


@pytest.mark.parametrize("region", REGIONS)
def test_a_line_stands_once_in_a_region(region: str) -> None:
    """No line is stated twice, in one file or in two."""
    keys = [(row.section, row.code) for row in rows_of(region)]
    assert sorted(keys) == sorted(set(keys))


@pytest.mark.parametrize("region", [r for r in REGIONS if r != "base"])
def test_a_region_only_overrides_lines_of_the_base_book_in_their_unit(region: str) -> None:
    """A new code in a region would be a slip: nothing reads it; another unit would be read wrongly."""
    for row in rows_of(region):
        assert (row.section, row.code) in BASE, row
        base = BASE[row.section, row.code]
        assert (row.unit, row.kind) == (base.unit, base.kind), row


@pytest.mark.parametrize("region", REGIONS)
def test_a_region_with_other_money_than_its_parent_states_every_price_again(region: str) -> None:
    """Prices of two currencies never mix."""
    parent = about(region)["parent"]
    if not parent or about(parent)["currency"] == about(region)["currency"]:
        return
    own = {(row.section, row.code) for row in rows_of(region)}
    prices = {key for key in BASE if key[0] == "resources"}
    prices |= {("terms", "minimum_charge"), ("terms", "site_management.from"), ("weights", "room_day")}
    assert prices - own == set()


@pytest.mark.parametrize("figure", TRADE_FIGURES, ids=lambda f: f"{f[0]}/{f[1]}")
def test_the_base_book_says_what_the_trade_says(figure: tuple[str, str, str, str, str]) -> None:
    """Figures of common practice stand unchanged."""
    section, code, low, likely, high = figure
    row = BASE[section, code]
    assert (row.low, row.likely, row.high) == (Decimal(low), Decimal(likely), Decimal(high))


@pytest.mark.parametrize("method", sorted(load_knowledge().methods))
def test_every_method_has_hours_and_lives(method: str) -> None:
    """A method without a row cannot be priced or ranked."""
    assert any(s == "norms" and c.startswith(f"{method}.") for s, c in BASE), "no hours"
    corrected, not_corrected = BASE["lives", f"{method}.corrected"], BASE["lives", f"{method}.not_corrected"]
    assert corrected.likely >= not_corrected.likely, "correcting the cause would shorten the life"


def test_every_price_that_a_cause_or_a_species_names_is_in_the_base_book() -> None:
    """Reference data and rate book agree on their codes."""
    knowledge = load_knowledge()
    for cause in knowledge.causes.values():
        assert not cause.price_line or ("resources", cause.price_line) in BASE, cause.code
    for species in knowledge.species.values():
        assert not species.premium or ("terms", species.premium) in BASE, species.code


@pytest.mark.parametrize("region", REGIONS)
def test_the_climate_of_a_region_is_a_whole_year(region: str) -> None:
    """Twelve months of temperature, rain and humidity, each within nature's limits."""
    rows = {row.code: row for row in rows_of(region) if row.section == "climate"}
    for month in range(1, 13):
        assert -40 < rows[f"temp.month{month:02}"].likely < 110
        assert 0 <= rows[f"rain_days.month{month:02}"].low <= rows[f"rain_days.month{month:02}"].likely <= 31
        assert 0 < rows[f"rh.month{month:02}"].likely < 100


def test_rows_of_own_judgement_are_the_ones_that_the_readme_lists() -> None:
    """Whoever reads the list knows which numbers nobody vouches for."""
    text = (RATES / "README.md").read_text(encoding="utf-8")
    listed: dict[str, set[str]] = {}
    for part in re.split(r"^### ", text.split("## Rows that are our own judgement")[1], flags=re.MULTILINE)[1:]:
        listed[part.split("\n", 1)[0].strip()] = set(re.findall(r"^- `([a-z0-9_.]+)`$", part, flags=re.MULTILINE))
    judged: dict[str, set[str]] = {}
    for (section, code), row in BASE.items():
        if row.source == "J" or row.source.endswith(" J"):
            judged.setdefault(section, set()).add(code)
    assert listed == judged


@pytest.mark.parametrize("region", REGIONS)
def test_the_yard_holds_species_and_sizes_that_exist(region: str) -> None:
    """Stock of an unknown species or without a size would never be matched."""
    species = load_knowledge().species
    with (RATES / region / "stock.csv").open(encoding="utf-8", newline="") as file:
        for stick in csv.DictReader(file):
            assert stick["species"] in species, stick
            for size in ("section_in", "length_ft", "moisture_pct"):
                assert float(stick[size]) > 0.0, stick
