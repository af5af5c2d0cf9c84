"""A broken file of reference data is refused in words that name the file, the row and the field."""

from __future__ import annotations

import shutil
from importlib.resources import files
from pathlib import Path

import pytest

from service.reference import ReferenceDataError, load_knowledge, load_species_aliases

FAULTS = [
    ("elements.toml", 'family = "sill"', 'family = "cellar"', "sill_log", "family", "'cellar' is not known"),
    ("elements.toml", 'title = "purlin"\n', "", "purlin", "title", "is missing"),
    ("elements.toml", "removable = false", "removable = 0", "keystone_log", "removable", "must be true or false"),
    ("damages.toml", 'kind = "movement"', 'kind = "sinking"', "sag", "kind", "'sinking' is not known"),
    ("causes.toml", 'correction = "gutter"', 'correction = "guter"', "K02", "correction", "'guter' is not known"),
    ("causes.toml", 'unit_fact = "opening"', 'unit_fact = "window"', "K09", "unit_fact", "'window' is not known"),
    ("causes.toml", "{ under_window = 4.0", "{ under_windo = 4.0", "K09", "evidence", "'under_windo' is not known"),
    ("causes.toml", "{ under_window = 4.0", "{ under_window = -4.0", "K09", "evidence", "must be above 0"),
    ("methods.toml", 'role = "interim"', 'role = "meanwhile"', "temp_shore", "role", "'meanwhile' is not known"),
    ("methods.toml", "match = 5", "match = 6", "borate_surface", "match", "6 must lie from 1 to 5"),
    ("methods.toml", 'number = "M06"', 'number = "M06"\nprice = 12', "dutchman", "price", "is not a field"),
    ("facts.toml", "low = 5\nhigh = 100", "low = 200\nhigh = 100", "moisture", "high", "is below low"),
    ("first_guesses.toml", "low = 8.0\nlikely = 10.0", "low = 12.0\nlikely = 10.0", "1", "likely", "must rise"),
    ("first_guesses.toml", 'fact = "section"', 'fact = "thickness"', "1", "fact", "'thickness' is not known"),
    ("species.toml", 'durability = "moderate"', 'durability = "good"', "douglas_fir_coast", "durability", "not known"),
    ("species.toml", "radial_pct = 4.8", "radial_pct = 8.8", "douglas_fir_coast", "radial_pct", "must lie from"),
    ("design_values.toml", "bending_psi = 1600.0", 'bending_psi = "high"', "1", "bending_psi", "must be a number"),
    ("cautions.toml", 'source = "J"', 'source = ""', "structural_provisional", "source", "must say where"),
    ("sobol_128x40.csv", "0.857142", "1.000000", "1", "", "between 0 and 1"),
    ("sobol_128x40.csv", "0.857142,", "", "1", "", "must be 40 numbers"),
]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the reference data that may be broken."""
    for entry in files("service.reference").iterdir():
        if entry.name.endswith((".toml", ".csv")):
            (tmp_path / entry.name).write_text(entry.read_text(encoding="utf-8"), encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(("file", "good", "bad", "row", "field", "words"), FAULTS)
def test_a_bad_value_is_named_with_its_file_row_and_field(
    folder: Path, file: str, good: str, bad: str, row: str, field: str, words: str
) -> None:
    """Whoever mistypes a value is told which one and what is wrong with it."""
    text = (folder / file).read_text(encoding="utf-8")
    assert good in text
    (folder / file).write_text(text.replace(good, bad, 1), encoding="utf-8")
    with pytest.raises(ReferenceDataError) as raised:
        load_knowledge(folder)
    fault = raised.value
    assert (fault.file, fault.row, fault.field) == (file, row, field)
    assert words in str(fault)


def test_a_missing_file_is_named(folder: Path) -> None:
    """A lost file is a fault of the data, not of Python."""
    (folder / "methods.toml").unlink()
    with pytest.raises(ReferenceDataError, match=r"methods\.toml.*the file is missing"):
        load_knowledge(folder)


def test_a_file_that_is_no_toml_is_named(folder: Path) -> None:
    """A slip of syntax names the file and where in it."""
    with (folder / "causes.toml").open("a", encoding="utf-8") as file:
        file.write("[K22\n")
    with pytest.raises(ReferenceDataError, match=r"causes\.toml.*is no TOML.*line"):
        load_knowledge(folder)


def test_a_short_table_of_worlds_is_refused(folder: Path) -> None:
    """Fewer points would change every range without a word."""
    path = folder / "sobol_128x40.csv"
    path.write_text("\n".join(path.read_text(encoding="ascii").splitlines()[:-1]), encoding="ascii")
    with pytest.raises(ReferenceDataError, match="must have 128 rows"):
        load_knowledge(folder)


def test_one_word_cannot_mean_two_species(folder: Path) -> None:
    """A word that two species claim is refused."""
    path = folder / "species.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('"jackpine"', '"lodgepole"'), encoding="utf-8")
    with pytest.raises(ReferenceDataError, match="'lodgepole' already means 'lodgepole_pine'"):
        load_species_aliases(folder)


def test_an_unbroken_copy_loads_as_the_package_does(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    """The loader reads what it is given, wherever it lies."""
    elsewhere = tmp_path_factory.mktemp("elsewhere") / "data"
    shutil.copytree(folder, elsewhere)
    assert load_knowledge(elsewhere) == load_knowledge()
