"""Borate stoichiometry against `molmass`, which works formulas out from its own table of the elements."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula

from service.engine.science.borate import (
    ANHYDROUS_OCTABORATE,
    ANHYDROUS_OCTABORATE_TO_BORIC_ACID,
    BORAX,
    BORIC_ACID,
    BORIC_OXIDE,
    BORON,
    OCTABORATE,
    BoronCompound,
    boric_acid_equivalent_g,
    conversion_factor,
    dose_kg,
    retention_kg_m3,
    rod_mass_kg,
    rods_for_dose,
    rods_for_volume,
)

COMPOUNDS = {
    "B": BORON,
    "H3BO3": BORIC_ACID,
    "B2O3": BORIC_OXIDE,
    "Na2B8O13(H2O)4": OCTABORATE,
    "Na2B8O13": ANHYDROUS_OCTABORATE,
    "Na2B4O7(H2O)10": BORAX,
}


@pytest.mark.parametrize(("formula", "compound"), COMPOUNDS.items())
def test_molar_masses_are_those_of_the_elements(formula: str, compound: BoronCompound) -> None:
    """molmass, within 0.02 %: boron's atomic weight itself is only known to that."""
    known = Formula(formula)
    assert compound.molar_mass_g == pytest.approx(known.mass, rel=2e-4)
    assert compound.boron_atoms == known.composition()["B"].count


@pytest.mark.parametrize(("source", "target"), [(s, t) for s in COMPOUNDS for t in COMPOUNDS if s != t])
def test_conversion_keeps_the_boron(source: str, target: str) -> None:
    boron_from = Formula(source).composition()["B"].fraction
    boron_to = Formula(target).composition()["B"].fraction
    assert conversion_factor(COMPOUNDS[source], COMPOUNDS[target]) == pytest.approx(boron_from / boron_to, rel=3e-4)


def test_octaborate_holds_a_fifth_of_boron() -> None:
    """Trade texts print 20 to 20.9 %, as transcribed; the tetrahydrate holds a little more by formula."""
    assert conversion_factor(OCTABORATE, BORON) == pytest.approx(0.2095, abs=0.001)


def test_a_fused_rod_is_worth_a_fifth_more_than_the_same_mass_of_powder() -> None:
    powder = conversion_factor(OCTABORATE, BORIC_ACID)
    assert ANHYDROUS_OCTABORATE_TO_BORIC_ACID / powder == pytest.approx(1.21, abs=0.005)
    assert boric_acid_equivalent_g(100.0) > boric_acid_equivalent_g(100.0, powder)


@pytest.mark.parametrize(("pcf", "metric"), [(0.17, 2.72), (0.28, 4.49)])
def test_retentions_in_both_units(pcf: float, metric: float) -> None:
    """AWPA UC1/UC2 retentions, 1 pcf = 16.0185 kg/m3: two decimals."""
    assert retention_kg_m3(pcf) == pytest.approx(metric, abs=0.006)


@given(st.floats(0.001, 1.0), st.floats(0.1, 8.0))
def test_the_dose_put_in_brings_the_loading_asked_for(wood_m3: float, target: float) -> None:
    for product in (ANHYDROUS_OCTABORATE, OCTABORATE, BORIC_ACID):
        dose = dose_kg(wood_m3, target, product)
        assert dose * conversion_factor(product, BORIC_ACID) / wood_m3 == pytest.approx(target)
        assert dose_kg(wood_m3, target, product, 0.5) == pytest.approx(2.0 * dose)


def test_a_log_to_be_loaded_with_boric_acid_takes_just_that() -> None:
    """Mass balance: 300 mm x 0.5 m is 0.03534 m3; at 2 kg/m3 that is 70.7 g."""
    wood = math.pi * 0.15**2 * 0.5
    assert 1000.0 * dose_kg(wood, 2.0, BORIC_ACID) == pytest.approx(70.7, abs=0.05)


def test_a_rod_of_water_density_weighs_its_volume() -> None:
    """1/2 x 3 in is 0.589 in3, 9.65 cm3."""
    assert 1000.0 * rod_mass_kg(0.5, 3.0, 1.0) == pytest.approx(9.65, abs=0.01)


def test_rods_are_whole_and_hold_at_least_the_dose() -> None:
    assert rods_for_dose(0.049, 0.020) == 3.0
    assert rods_for_dose(0.060, 0.020) == 3.0
    assert rods_for_dose(0.0, 0.020) == 0.0


def test_one_rod_serves_a_quarter_cubic_foot() -> None:
    """E5, common practice, no source: one 1/2 x 3 rod per about 0.25 ft3 of at-risk wood."""
    assert rods_for_volume(0.25) == 1.0
    assert rods_for_volume(0.26) == 2.0


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    agree(boric_acid_equivalent_g, [0.0, 10.0, 200.0])
    agree(dose_kg, [0.01, 0.03, 0.2], [0.5, 2.0, 4.84])
    agree(rod_mass_kg, [0.5, 0.3], [3.0, 2.0], [2.0, 2.1])
    agree(rods_for_dose, [0.0, 0.06, 0.061], [0.02, 0.02, 0.02])
    agree(rods_for_volume, [0.0, 0.25, 1.1])
